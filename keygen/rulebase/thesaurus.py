"""rules/thesaurus.yaml into the model, and the proofs of it.

A word has one place. What means exactly one state stands under `also` in the vocabulary; what is
older, regional, wider, or says several things at once stands in the thesaurus.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, get_args

from keygen.core.basis import Basis
from keygen.core.model import PRESENT, Attribute, Rules, State, Word
from keygen.core.states import narrow
from keygen.errors import Problem

if TYPE_CHECKING:
    from keygen.rulebase.vocabulary import Vocabulary
    from keygen.rulebase.yamlio import Document


def plain(words: str) -> str:
    """Return words in the form in which they are compared: no case, hyphens or brackets."""
    return " ".join(re.sub(r"[-_\s()]+", " ", words.casefold()).split())


def terms_of(state: State) -> frozenset[str]:
    """Return the plain forms of a state's own term, with and without what stands in brackets."""
    short = re.sub(r"\([^)]*\)", "", state.term)
    return frozenset({plain(state.term), plain(short)} - {""})


def state_words(attribute: Attribute) -> dict[str, int]:
    """Return every plain word that means exactly one state or item of an attribute, as masks.

    A word of two states of the same attribute leaves both.
    """
    words: dict[str, int] = {}
    for state in attribute.states:
        ids_and_words = map(plain, (state.id, *state.also, *state.aliases))
        for word in {*terms_of(state), *ids_and_words} - {""}:
            words[word] = words.get(word, 0) | attribute.bits[state.id]
    if attribute.item_of:
        words[plain(attribute.id.partition(".")[2])] = PRESENT
    return words


def read_thesaurus(
    document: Document, vocabulary: Vocabulary, problems: list[Problem]
) -> tuple[Word, ...]:
    """Read the thesaurus. A meaning with an unknown attribute or state is noted as K221."""
    from keygen.rulebase.fields import Fields
    from keygen.rulebase.vocabulary import read_limits

    top = Fields(document, problems)
    words = []
    owners: dict[str, str] = {}
    for word, entry in top.children("words"):
        means = []
        for meaning in entry.items("means"):
            meaning.problems = []
            limits = read_limits(meaning, vocabulary)
            if not meaning.values:
                meaning.fault("K003", f"a meaning of {word!r} names no state")
            problems += [
                p._replace(code="K221" if p.code == "K005" else p.code) for p in meaning.problems
            ]
            means.append(limits)
        if not means:
            entry.fault("K003", f"{word!r} has no meaning", (), "Give 'means'.")
        basis: Any = entry.choice("basis", get_args(Basis), "common")
        also = entry.texts("also")
        for form in (word, *also):
            if owners.setdefault(plain(form), word) != word:
                what = f"the word {form!r} is also under {owners[plain(form)]!r}"
                entry.fault("K006", what, (), "Join the two; several meanings go under 'means'.")
        words.append(
            Word(
                word=word,
                means=tuple(means),
                used=entry.text("used"),
                basis=basis,
                sources=entry.texts("sources"),
                also=also,
                note=entry.text("note", ""),
                named=entry.flag("named", False),
            )
        )
        entry.done()
    top.done()
    return tuple(words)


def thesaurus_problems(rules: Rules, document: Document) -> Iterator[Problem]:
    """Prove that no word contradicts the vocabulary, and that each meaning can occur.

    A word may be an exact word of one attribute and mean something else of another ("bevelled"
    edges of haft and of blade); of one and the same attribute it has to mean one thing.
    """
    exact: dict[str, dict[int, int]] = {}
    for i, attribute in enumerate(rules.attributes):
        for word, mask in state_words(attribute).items():
            exact.setdefault(word, {})[i] = mask
    for entry in rules.thesaurus:
        place = ("words", entry.word)
        for form in (entry.word, *entry.also):
            known = exact.get(plain(form), {})
            for i in sorted({i for limits in entry.means for i in limits} & known.keys()):
                attribute = rules.attributes[i]
                states = "/".join(attribute.ids(known[i]))
                what = f"{form!r} is already an exact word for {attribute.id} {states}"
                remedy = "Keep it here or under 'also' in the vocabulary, not both."
                yield document.problem(place, "K222", what, remedy)
        for limits in entry.means:
            if not any(narrow(box, limits) for box in rules.universe):
                names = " and ".join(rules.attributes[i].id for i in limits)
                what = f"no piece can be what {entry.word!r} means: {names} do not go together"
                yield document.problem(place, "K224", what, "Name states that the key allows.")
