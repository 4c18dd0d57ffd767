"""Sentences kept by what they depend on, so that what was said once is not worked out again.

A phrasebook holds the sentences of one register under one set of rules and one folder of templates.
Each slot draws its grounds from a piece, and sentences are kept by those; only what is a piece's
own is rendered anew. Every description goes through here, whether of one piece or of a million, and
what is kept is limited, so memory stays flat.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any, NamedTuple

from keygen.core.examine import Examination
from keygen.core.memo import Memo
from keygen.core.model import Rules
from keygen.prose.facts import Fact, Own, Page, Slot, Values


class Sentence(NamedTuple):
    """A sentence and what it rests on.

    `about` are attribute ids, `measures` measurement ids, `details` fields of the record, `types`
    type ids and `sources` source keys.
    """

    slot: str
    text: str
    about: tuple[str, ...] = ()
    measures: tuple[str, ...] = ()
    details: tuple[str, ...] = ()
    types: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


KEPT = 1 << 14  # grounds of one slot, with their sentences
Paragraphs = tuple[tuple[Sentence, ...], ...]
Made = tuple[tuple[Sentence, ...], tuple[Fact, ...]]  # of a slot: one of the two is empty
Render = Callable[[Values], str]


class Phrasebook:
    """The sentences of one register.

    Args:
        paragraphs: the slots of the register, paragraph by paragraph.
        slots: the grounds and facts of each slot.
        renderer: returns what renders the template of a slot.
        finish: makes a sentence of what a template gave.
    """

    def __init__(
        self,
        rules: Rules,
        paragraphs: Sequence[Sequence[str]],
        slots: Mapping[str, Slot],
        renderer: Callable[[str], Render],
        finish: Callable[[str], str],
    ) -> None:
        self._rules = rules
        self._finish = finish
        self._render = Memo(renderer)
        self._memos = list[Memo[Any, Made]]()
        self._paragraphs = [
            [
                (slot.grounds, self._kept(slot) if slot.again else partial(self._made, slot))
                for slot in map(slots.__getitem__, names)
            ]
            for names in paragraphs
        ]

    @property
    def kept(self) -> int:
        """Return how many sentences of the slot with the most of them are kept now."""
        return max(map(len, self._memos))

    def told(self, examinations: Sequence[Examination]) -> list[Paragraphs]:
        """Return the sentences about some pieces, paragraph by paragraph.

        All pieces are told of one slot after the other, which is a good deal quicker than one piece
        after the other.

        Raises:
            KeygenError: a template cannot be used.
        """
        pages = [Page(self._rules, found) for found in examinations]
        owns = [Own(self._rules, found.piece) for found in examinations]
        told: list[list[tuple[Sentence, ...]]] = [[] for _ in pages]
        for slots in self._paragraphs:
            parts: list[list[Sentence]] = [[] for _ in pages]
            for grounds, made in slots:
                keys = [grounds(page) for page in pages]
                for key, own, part in zip(keys, owns, parts, strict=True):
                    if key is not None:
                        sentences, facts = made(key)
                        part += sentences
                        for fact in facts:
                            if sentence := self._worded(fact, fact.of(own)):
                                part.append(sentence)
            for whole, part in zip(told, parts, strict=True):
                whole.append(tuple(part))
        return [tuple(whole) for whole in told]

    def _kept(self, slot: Slot) -> Callable[[Any], Made]:
        """Return what makes the sentences of a slot, or finds them if they were made before."""
        self._memos.append(Memo(partial(self._made, slot), KEPT))
        return self._memos[-1].__getitem__

    def _made(self, slot: Slot, grounds: object) -> Made:
        """Return the sentences for some grounds; facts, where they need what is a piece's own."""
        facts = tuple(slot.facts(self._rules, grounds))
        if any(fact.fill for fact in facts):
            return (), facts
        return tuple([s for fact in facts if (s := self._worded(fact, fact.values))]), ()

    def _worded(self, fact: Fact, values: Values) -> Sentence | None:
        """Return the sentence of a fact; None where its template has nothing to say."""
        text = self._finish(self._render[fact.slot](values))
        if not text:
            return None
        return Sentence(
            fact.slot, text, fact.about, fact.measures, fact.details, fact.types, fact.sources
        )
