"""From the words of the trade to attributes and sets of states.

Letter case, hyphens, underscores, spaces and brackets make no difference: `Corner-notched`,
`corner_notched` and `corner notched` are one word. The exact words of the vocabulary and the wider
ones of the thesaurus are looked up together. A word that serves several attributes ("excurvate")
yields all of them; which one is meant is for the caller to settle.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from keygen.core.model import ABSENT, PRESENT, Rules, Word
from keygen.core.observe import Observation
from keygen.core.states import is_single
from keygen.errors import KeygenError, Problem, nearest
from keygen.rulebase.aliases import attribute_aliases
from keygen.rulebase.thesaurus import plain, state_words, terms_of

UNSURE = ("?", "unsure")
MISSING = ("-", "missing")
_OR = re.compile(r"\s*[/,|]\s*|\s+or\s+")


def alternatives(words: str) -> tuple[str, ...]:
    """Split `straight/excurvate`, `straight, excurvate` or `straight or excurvate`."""
    return tuple(word for word in _OR.split(" ".join(words.split())) if word)


def fault(code: str, what: str, remedy: str = "") -> KeygenError:
    """Return an error whose place the caller knows better."""
    return KeygenError(Problem("", 0, 0, code, what, remedy))


@dataclass(frozen=True)
class Meaning:
    """What words can mean: the id of an attribute, and the masks that they leave, by index.

    `own` tells that they are the vocabulary's term itself, not another word for it.
    """

    name: str
    limits: Mapping[int, int]
    own: bool = False


@dataclass(frozen=True)
class Lexicon:
    """The words of one edition of the rules."""

    rules: Rules

    @cached_property
    def labels(self) -> Mapping[str, str]:
        """Return the label of every attribute by its id; kind `many` under its own id too."""
        return {**self.rules.many, **{a.id: a.label for a in self.rules.attributes}}

    @cached_property
    def aliases(self) -> Mapping[str, str]:
        """Return the id of the attribute that each plain id of an earlier edition leads to."""
        return {plain(old): now for old, now in attribute_aliases(self.rules).items()}

    @cached_property
    def items(self) -> Mapping[str, Mapping[str, int]]:
        """Return the attribute index of each item, by ids of `many` attribute and item."""
        found: dict[str, dict[str, int]] = {name: {} for name in self.rules.many}
        for i, attribute in enumerate(self.rules.attributes):
            if attribute.item_of:
                found[attribute.item_of][attribute.id.partition(".")[2]] = i
        return found

    @cached_property
    def words(self) -> Mapping[str, Mapping[str, Mapping[int, int]]]:
        """Return what each word for a state leaves, by attribute id and plain word."""
        found: dict[str, dict[str, dict[int, int]]] = {}
        for i, attribute in enumerate(self.rules.attributes):
            name = attribute.item_of or attribute.id
            known = found.setdefault(name, {})
            for word, mask in state_words(attribute).items():
                if not (attribute.item_of and word in ("absent", "present")):
                    known[word] = {**known.get(word, {}), i: mask}
        for name, items in self.items.items():
            none = dict.fromkeys(items.values(), ABSENT)
            for word in ("none", f"no {plain(self.labels[name])}"):
                found.setdefault(name, {})[word] = none
        return found

    @cached_property
    def own(self) -> Mapping[str, frozenset[str]]:
        """Return the terms themselves, without other words for them, by attribute id."""
        found: dict[str, frozenset[str]] = {}
        for attribute in self.rules.attributes:
            name = attribute.item_of or attribute.id
            terms = frozenset(word for state in attribute.states for word in terms_of(state))
            found[name] = found.get(name, frozenset()) | terms
        return found

    @cached_property
    def thesaurus(self) -> Mapping[str, Word]:
        """Return the entry of the thesaurus by each plain form of a word that stands by itself."""
        words = (word for word in self.rules.thesaurus if not word.named)
        return {plain(form): word for word in words for form in (word.word, *word.also)}

    @cached_property
    def _wider(self) -> Mapping[str, Mapping[str, Mapping[int, int]]]:
        """Return what each word of the thesaurus leaves of an attribute that it speaks of."""
        found: dict[str, dict[str, dict[int, int]]] = {}
        words = ((form, word) for word in self.rules.thesaurus for form in (word.word, *word.also))
        for form, entry in words:
            word = plain(form)
            for limits in entry.means:
                for i, mask in limits.items():
                    attribute = self.rules.attributes[i]
                    known = found.setdefault(attribute.item_of or attribute.id, {})
                    masks = known.setdefault(word, {})
                    masks[i] = masks.get(i, 0) | mask
        return found

    def exact(self, name: str, state: str) -> tuple[str, ...]:
        """Return the words that mean exactly one state (or item), its own term first."""
        if name in self.rules.many and state == "none":
            return ("none", f"no {self.labels[name]}")
        item = self.items.get(name, {}).get(state)
        index = self.rules.index[name] if item is None else item
        attribute = self.rules.attributes[index]
        mask = attribute.bits[state] if item is None else PRESENT
        own = attribute.within(mask)[0]
        wider = [
            form
            for entry in self.rules.thesaurus
            if entry.means == ({index: mask},)
            for form in (entry.word, *entry.also)
        ]
        return tuple(dict.fromkeys((own.term, *own.also, *wider)))

    def attributes(self, words: str) -> tuple[str, ...]:
        """Return the ids of the attributes that words can stand for, best first.

        An id, earlier id or label names one attribute; a part of one ("base") can name several.
        """
        wanted = plain(words)
        exact = [n for n, label in self.labels.items() if wanted in (plain(n), plain(label))]
        if exact or wanted in self.aliases:
            return tuple(exact or [self.aliases[wanted]])
        parts = set(wanted.split())
        return tuple(
            name
            for name in self.words
            if parts <= {*plain(name).split(), *plain(self.labels[name]).split()}
        )

    def attribute(self, words: str) -> str:
        """Return the id of the one attribute that is meant.

        Raises:
            KeygenError: the words name no attribute, or several.
        """
        found = self.attributes(words)
        if len(found) == 1:
            return found[0]
        if found:
            raise fault("K310", f"{words!r} can be several attributes", one_of(found))
        near = nearest(plain(words).replace(" ", "_"), self.labels) or "See `keygen types --terms`."
        raise fault("K310", f"the attribute {words!r} is not known", near)

    def states(self, name: str, words: Iterable[str]) -> dict[int, int]:
        """Return the masks that words for states of one attribute leave.

        Raises:
            KeygenError: a word is not a state of this attribute.
        """
        limits: dict[int, int] = {}
        known = self.known(name)
        for word in words:
            found = known.get(plain(word))
            if found is None:
                raise fault("K311", f"{word!r} is not a state of {name}", self._meant(name, word))
            for i, mask in found.items():
                limits[i] = limits.get(i, 0) | mask
        return limits

    def _meant(self, name: str, word: str) -> str:
        """Return what helps where a word is no state of an attribute."""
        wanted = plain(word)
        allowed = "Allowed: " + ", ".join(self.ids(name)) + "."
        if others := [n for n in self.words if wanted and wanted in self.words[n]]:
            return f"It is a state of {' and '.join(others[:3])}. {allowed}"
        near = nearest(wanted, self.known(name)) if wanted else ""
        return near if near.startswith("Did you mean") else allowed

    def known(self, name: str) -> Mapping[str, Mapping[int, int]]:
        """Return the words for the states of one attribute or item, and what each leaves.

        Of a word of the thesaurus that says more, only what concerns this attribute is meant.
        """
        if name in self.words:
            return {**self._wider.get(name, {}), **self.words[name]}
        index = self.rules.index[name]  # an item, such as damage.heat
        words = state_words(self.rules.attributes[index]).items()
        return {word: {index: mask} for word, mask in words}

    def ids(self, name: str) -> tuple[str, ...]:
        """Return the ids of the states of an attribute; of its items and `none` for a `many`."""
        if name in self.rules.many:
            return ("none", *self.items[name])
        return tuple(self.rules.attributes[self.rules.index[name]].bits)

    def observe(self, name: str, words: Sequence[str]) -> dict[int, Observation]:
        """Return the observations that words make for one attribute.

        `?` says that somebody looked and could decide nothing, `missing` that it cannot be seen.
        For an attribute of kind `many` the words are all that is present: what is not named is
        absent, unless `?` stands among the words, which leaves it open.

        Args:
            name: an id as `attribute` returns it.
            words: one or more words for states.

        Raises:
            KeygenError: no word is given, or one is not known, or they cannot stand together.
        """
        if not words:
            raise fault("K311", f"no state is given for {name}", one_of(self.ids(name)))
        many = self.items.get(name)
        everything = tuple(many.values()) if many else (self.rules.index[name],)
        if len(words) == 1 and words[0] in UNSURE:
            return {i: Observation(self.rules.full[i], "unsure") for i in everything}
        if len(words) == 1 and words[0] in MISSING:
            return {i: Observation(self.rules.full[i], "missing") for i in everything}
        named = [word for word in words if not (many and word in UNSURE)]
        nothing = dict.fromkeys(everything, ABSENT)
        if many and len(named) > 1:
            known = self.known(name)
            if none := next((w for w in named if known.get(plain(w)) == nothing), ""):
                raise fault("K311", f"{none!r} and something else of {name} cannot both hold")
        limits = self.states(name, named)
        if many and len(named) == len(words):
            limits = {**nothing, **limits}
        return {
            i: Observation(mask, "seen" if is_single(mask) else "unsure")
            for i, mask in limits.items()
        }

    def find(self, words: str) -> tuple[Meaning, ...]:
        """Return all that words typed at a prompt can mean: nothing, one thing or several.

        `excurvate`, `straight or excurvate`, `base excurvate` and `base_shape=excurvate` are all
        understood.

        Raises:
            KeygenError: words with `=` name an attribute or a state that is not known.
        """
        if "=" in words:
            left, _, right = words.partition("=")
            name = self.attribute(left)
            return (Meaning(name, self.states(name, alternatives(right) or ("",))),)
        entry = self.thesaurus.get(plain(words))
        wider = tuple(self._meaning(limits) for limits in entry.means) if entry else ()
        whole = self._among(tuple(self.words), words)
        if whole or wider:
            return (*whole, *wider)
        parts = words.split()
        for cut in range(1, len(parts)):
            left, right = " ".join(parts[:cut]), " ".join(parts[cut:])
            found = self._among(self.attributes(left), right, wider=True)
            found = found or self._among(self.attributes(right), left, wider=True)
            if found:
                return found
        return ()

    def _meaning(self, limits: Mapping[int, int]) -> Meaning:
        first = self.rules.attributes[next(iter(limits))]
        return Meaning(first.item_of or first.id, limits)

    def _among(self, names: Iterable[str], words: str, wider: bool = False) -> tuple[Meaning, ...]:
        found = []
        for name in names:
            known = self.known(name) if wider else self.words[name]
            whole = known.get(plain(words))
            each = [known.get(plain(word)) for word in alternatives(words)]
            if whole is not None:
                found.append(Meaning(name, whole, plain(words) in self.own.get(name, ())))
            elif len(each) > 1 and name not in self.rules.many and None not in each:
                found.append(Meaning(name, self.states(name, alternatives(words))))
        return tuple(found)

    def told(self, meaning: Meaning) -> str:
        """Return a meaning as one writes it: `haft_style=lanceolate with ears=flared`."""
        parts = []
        for i, mask in meaning.limits.items():
            attribute = self.rules.attributes[i]
            if attribute.item_of:
                name, _, item = attribute.id.partition(".")
                states = item if mask == PRESENT else "none"
            else:
                name, states = attribute.id, ",".join(attribute.ids(mask))
            parts.append(f"{name}={states}")
        return " with ".join(dict.fromkeys(parts))

    def near(self, words: str) -> str:
        """Return a sentence naming the known term most like some words, or nothing."""
        exact = {word for known in self.words.values() for word in known}
        return nearest(plain(words), exact | self.thesaurus.keys())


def one_of(words: Sequence[str]) -> str:
    """Return the sentence that lists what is allowed."""
    return "One of: " + ", ".join(words) + "."
