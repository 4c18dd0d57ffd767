"""Cells that hold states of an attribute: a term, several terms, a code of the house, a question.

A word of the thesaurus that says several things at once ("square-stemmed") says all of them, in
whichever of their columns it stands; between several terms, only what all of them speak of.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property, reduce
from operator import or_

from keygen.collection.model import Column
from keygen.collection.said import NOTHING, Remark, Said, no_state, refused
from keygen.collection.short import Short
from keygen.core.infer import close
from keygen.core.model import ABSENT, PRESENT
from keygen.core.observe import How, Observation
from keygen.core.states import is_single
from keygen.errors import KeygenError, nearest
from keygen.rulebase.thesaurus import plain
from keygen.specimens.terms import Lexicon

Limits = Mapping[int, int]
Words = Mapping[str, Sequence[str]]
CODES = (
    "A mapping says what the codes of this column are short for; "
    "`keygen table FILE --suggest-mapping` drafts it."
)
_SEVERAL = re.compile(r"\s*[/,;|]\s*|\s+(?:or|to)\s+", re.IGNORECASE)
_ITEMS = re.compile(r"\s*[/,;|+&]\s*|\s+and\s+", re.IGNORECASE)
_MEASURED = re.compile(r"\s*\(measured\)$")
_FIGURE = re.compile(r"\(?\d+(?:[.,]\d+)?\s*(?:mm|cm|in|g)?\)?\+?")
_YES, _NO = frozenset(("yes", "present")), frozenset(("no", "absent"))
_MARKS = {"y": PRESENT, "x": PRESENT, "true": PRESENT, "1": PRESENT, "+": PRESENT} | {
    "n": ABSENT,
    "false": ABSENT,
    "0": ABSENT,
}


class StatedCells:
    """Reads the cells of one column that holds states."""

    def __init__(self, lexicon: Lexicon, column: Column) -> None:
        self.lexicon = lexicon
        self.column = column
        self.name = column.target
        self.known = _known(lexicon, self.name) if self.name else {}
        self.folded = _folded(column.codes)

    @cached_property
    def short(self) -> Short:
        """Return what guesses at the codes of this column."""
        return Short(self.lexicon, self.name, self.limits)

    def read(self, text: str) -> Said:
        """Return what a cell says."""
        if not text:
            return NOTHING
        coded = self._coded(text)
        if coded is not None:
            return coded
        if not self.name:
            return self._unknown(text)
        whole = self.limits(text)
        if whole is not None:
            return self._found(whole)
        word = no_state(text)
        if word:
            return self._no_state(text, word)
        return self._several(text)

    def _code(self, text: str) -> Words | None:
        found = self.column.codes.get(text)
        return self.folded.get(text.casefold()) if found is None else found

    def _coded(self, text: str) -> Said | None:
        """Return what a code says, or several between the sign that stands between codes."""
        whole = self._code(text)
        if whole is not None:
            return _observed(self.lexicon, [whole])
        if not self.column.split:
            return None
        parts = [part.strip() for part in text.split(self.column.split)]
        found = []
        for part in filter(None, parts):
            words = self._code(part)
            if words is None and plain(part) in self.known:
                words = {self.name: (part,)}
            if words is None:
                return self._unknown(part)
            found.append(words)
        return _observed(self.lexicon, found)

    def limits(self, word: str) -> Limits | None:
        """Return what one word leaves; what it says of other attributes too, if that is certain."""
        bare = plain(word)
        if bare not in self.known:
            return self._akin(bare)
        entry = self.lexicon.thesaurus.get(bare)
        if entry is None or bare in self.lexicon.words.get(self.name, ()):
            return self.known[bare]
        own = self.known[bare].keys()
        return join([limits for limits in entry.means if own & limits.keys()])

    def _akin(self, bare: str) -> Limits | None:
        """Return what a word says that belongs to one other attribute of the same group.

        Only if it settles the attribute of this column: a haft that is "corner-notched" is notched.
        Of single words only the other attribute's own terms count; short ones may be codes.
        """
        rules = self.lexicon.rules
        others = [name for name, words in self.lexicon.words.items() if bare in words]
        own = rules.index.get(self.name)
        if len(others) != 1 or own is None or others[0] in rules.many:
            return None
        if " " not in bare and bare not in self.lexicon.own[others[0]]:
            return None
        said = self.lexicon.words[others[0]][bare]
        if rules.attributes[own].group != rules.attributes[rules.index[others[0]]].group:
            return None
        follows = close(rules, [said.get(i, full) for i, full in enumerate(rules.full)])[own]
        return {**said, own: follows} if is_single(follows) else None

    def _found(self, limits: Limits, how: str = "") -> Said:
        observed = {
            i: Observation(mask, "seen" if is_single(mask) else "unsure")
            for i, mask in limits.items()
        }
        for i in self._items():
            observed.setdefault(i, Observation(ABSENT, "seen"))
        if how == "measured":
            observed = {i: Observation(o.mask, "measured") for i, o in observed.items()}
        return Said(tuple(observed.items()))

    def _items(self) -> Iterable[int]:
        return self.lexicon.items.get(self.name, {}).values()

    def _no_state(self, text: str, word: str) -> Said:
        if word == "empty":
            return NOTHING
        if "." in self.name and text == "-":
            remedy = "Write absent or missing, or give the code in a mapping."
            return refused("'-' can mean absent or not to be seen", remedy)
        rules = self.lexicon.rules
        indices = tuple(self._items()) or (rules.index[self.name],)
        how: How = "missing" if word == "missing" else "unsure"
        return Said(tuple((i, Observation(rules.full[i], how)) for i in indices))

    def _several(self, text: str) -> Said:
        text = " ".join(text.split())  # also because these patterns are slow on long gaps
        bare = _MEASURED.sub("", text)
        if bare != text and (limits := self.limits(bare)) is not None:
            return self._found(limits, "measured")
        if self.name in self.lexicon.rules.many:
            return self._listed(text)
        parts = [part for part in _SEVERAL.split(bare) if part]
        found = [self.limits(part) for part in parts]
        if parts and None not in found:
            how = "measured" if bare != text else ""
            return self._found(join([limits for limits in found if limits is not None]), how)
        if text.endswith("?") and self.limits(text.rstrip("? ")) is not None:
            index = self.lexicon.rules.index[self.name]
            unsure = Observation(self.lexicon.rules.full[index], "unsure")
            what = f"{text!r} doubts its own state and is read as unsure"
            remedy = "Write the states that it can be, as in straight/expanding."
            return Said(((index, unsure),), remarks=(Remark(what, remedy, "warning"),))
        bad = next((p for p, limits in zip(parts, found, strict=True) if limits is None), text)
        return self._unknown(bad)

    def _listed(self, text: str) -> Said:
        """Return what a list of items says: those named are present, the others absent.

        `heat?` leaves an item open, a `?` by itself every item that is not named.
        """
        observed: dict[int, Observation] = {}
        rest: Observation | None = Observation(ABSENT, "seen")
        parts = [part for part in _ITEMS.split(text) if part]
        for part in parts:
            if part == "?":
                rest = None
                continue
            limits = self.limits(part.rstrip("? "))
            if limits is None:
                return self._unknown(part)
            if len(parts) > 1 and all(mask == ABSENT for mask in limits.values()):
                return refused(f"{text!r} says both none and something")
            for i, mask in limits.items():
                both = part.endswith("?")
                full = self.lexicon.rules.full[i]
                observed[i] = Observation(full, "unsure") if both else Observation(mask, "seen")
        if rest is not None:
            for i in self._items():
                observed.setdefault(i, rest)
        return Said(tuple(observed.items()))

    def _unknown(self, text: str) -> Said:
        """Return that a word is not known here, with what would be."""
        told = self.name or self.column.name
        codes = tuple(self.column.codes)
        allowed = (*codes, *(self.lexicon.ids(self.name) if self.name else ()))
        others = [n for n, words in self.lexicon.words.items() if plain(text) in words]
        if self.name and not codes and self.short.meant(text):
            return refused(f"{text!r} is not a state of {told}", CODES)
        remedy = "" if others else nearest(plain(text), {*codes, *self.known})
        if not remedy.startswith("Did you mean"):
            remedy = "Allowed: " + ", ".join(allowed) + "."
        if _FIGURE.fullmatch(text) and "length" in self.name:
            remedy += " A column of figures needs a unit in its header, as in 'stem length (mm)'."
        if others and len(others) <= 3:
            remedy = f"It is a state of {' and '.join(others)}. {remedy}"
        return refused(f"{text!r} is not a state of {told}", remedy)


def join(several: Sequence[Limits]) -> dict[int, int]:
    """Return what holds whichever of several sets of limits does."""
    shared = set.intersection(*(set(limits) for limits in several)) if several else set()
    return {i: reduce(or_, (limits[i] for limits in several)) for i in sorted(shared)}


def observed_always(lexicon: Lexicon, words: Words) -> Said:
    """Return what holds for every row.

    Raises:
        KeygenError: a word is not known.
    """
    found: dict[int, Observation] = {}
    for name, some in words.items():
        found.update(lexicon.observe(name, list(some)))
    return Said(tuple(found.items()))


def _observed(lexicon: Lexicon, codes: Sequence[Words]) -> Said:
    """Return what one or several codes say together."""
    found: dict[int, Observation] = {}
    for name in dict.fromkeys(target for code in codes for target in code):
        if name not in lexicon.rules.many and any(name not in code for code in codes):
            continue
        words = list(dict.fromkeys(word for code in codes for word in code.get(name, ())))
        if name not in lexicon.rules.many and "?" in words:
            words = ["?"]
        try:
            found.update(lexicon.observe(name, words))
        except KeygenError as error:
            return refused(error.problems[0].what, error.problems[0].remedy)
    return Said(tuple(found.items()))


def _folded(codes: Mapping[str, Words]) -> dict[str, Words]:
    """Return codes without letter case, where no two differ by case alone."""
    folded: dict[str, list[Words]] = {}
    for code, words in codes.items():
        folded.setdefault(code.casefold(), []).append(words)
    return {code: several[0] for code, several in folded.items() if len(several) == 1}


def _known(lexicon: Lexicon, name: str) -> dict[str, Limits]:
    """Return the words of an attribute or item, with yes and no where they can mean one thing."""
    known = dict(lexicon.known(name))
    if name in lexicon.rules.many:
        return {**dict.fromkeys(_NO, known["none"]), **known}
    index = lexicon.rules.index[name]
    attribute = lexicon.rules.attributes[index]
    if attribute.item_of:
        words = _MARKS | dict.fromkeys(_YES, PRESENT) | dict.fromkeys(_NO, ABSENT)
    elif "none" in attribute.bits:
        none = attribute.bits["none"]
        words = dict.fromkeys(_YES, attribute.full & ~none) | dict.fromkeys(_NO, none)
    else:
        words = {}
    return {**{word: {index: mask} for word, mask in words.items()}, **known}
