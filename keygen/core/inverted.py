"""The inverted index: from states to the pieces and types that can show them, as bit sets.

Every judgement of the core is read off it. State `s` of all states, type `t` of the rules and box
`b` of the universe are the bits `1 << s`, `1 << t`, `1 << b`. What one observation says of all of
them is one number, a *word*: the states that it denies, the types that it speaks against, and the
boxes that it leaves out stand side by side in it. The words of a piece are joined with `|`, and the
piece is held against all types of all regions at once.

Each table is filled as it is asked for. The sets of states of one attribute are few; what is kept
of whole pieces is limited, so that a long table of pieces takes no more memory than a short one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial, reduce
from itertools import accumulate
from operator import or_
from typing import NamedTuple

from keygen.core.memo import RECENT, Memo
from keygen.core.model import Rules
from keygen.core.states import Box


class Sorted(NamedTuple):
    """All types held against one piece.

    Attributes:
        states: the states still possible, packed; what is set aside counts as not known.
        weighed: those of them that are weighed, without what is set aside.
        boxes: the boxes of the universe that these states leave.
        fitting: the types that nothing speaks against, alone or together: consistent or possible.
        once: those with exactly one criterion against them.
        clashing: those whose criteria fit one by one but not together.
    """

    states: int
    weighed: int
    boxes: int
    fitting: int
    once: int
    clashing: int


def members(bits: int) -> Iterator[int]:
    """Return the numbers in a bit set, lowest first."""
    while bits:
        low = bits & -bits
        yield low.bit_length() - 1
        bits ^= low


class Inverted:
    """The index of one set of rules.

    Args:
        full: the mask of all states, by attribute.
        universe: all pieces that the key can describe, as boxes.
        definitions: what each type allows, as masks by attribute.
        haft: the attributes that define a haft.
        lessens: the attributes that can only move toward their first state by rework.

    Attributes:
        words: by attribute, the word of each set of states. From the lowest bit up it holds the
            states denied; the types that allow none of the rest; the types that a box can meet in
            part without having a piece that does (see `ways`); the boxes without these states.
        offsets: by attribute, the number of its first state.
        owners: by state, its attribute.
        having: by attribute, the boxes that show one of some states.
        pieces: the boxes in which some piece meets a type, by its number.
        allowed: what each type allows, packed.
        hafted: the types that are defined by something of the haft.
        union: all states that some boxes show, packed.
    """

    def __init__(
        self,
        full: Box,
        universe: Sequence[Box],
        definitions: Sequence[Mapping[int, int]],
        haft: frozenset[int],
        lessens: frozenset[int],
    ) -> None:
        self.full, self.definitions = full, definitions
        self._universe, self._lessens = universe, lessens
        self.offsets = tuple(accumulate((m.bit_length() for m in full), initial=0))
        self.owners = tuple(i for i, mask in enumerate(full) for _ in range(mask.bit_length()))
        self.every_state = (1 << self.offsets[-1]) - 1
        self.every_type = (1 << len(definitions)) - 1
        self.every_box = (1 << len(universe)) - 1
        self._types_at = self.offsets[-1]
        self._loose_at = self._types_at + len(definitions)
        self._boxes_at = self._loose_at + len(definitions)
        self._packed = tuple(self.pack(box) for box in universe)
        self.allowed = tuple(
            self.pack(tuple(limits.get(i, mask) for i, mask in enumerate(full)))
            for limits in definitions
        )
        self._haft_fields = tuple(
            tuple(full[i] << self.offsets[i] for i in limits if i in haft) for limits in definitions
        )
        self.hafted = sum(1 << t for t, fields in enumerate(self._haft_fields) if fields)
        self.having = tuple(Memo(partial(self._having, i)) for i in range(len(full)))
        self.words = tuple(Memo(partial(self._word, i)) for i in range(len(full)))
        self._words_aside = tuple(Memo(partial(self._word_aside, i)) for i in range(len(full)))
        self.pieces = tuple(self._pieces(limits) for limits in definitions)
        self.union = Memo(self._unite)
        self._reached = Memo(self._reach)
        self._weighed = Memo(self._weigh)
        self._sorted = Memo(self._sort, RECENT)

    def pack(self, box: Box) -> int:
        """Return a box as one set of states: those of attribute `i` begin at bit `offsets[i]`."""
        return sum(mask << at for mask, at in zip(box, self.offsets, strict=False))

    def unpack(self, states: int) -> Box:
        """Return a set of states as a box."""
        return tuple([states >> at & m for at, m in zip(self.offsets, self.full, strict=False)])

    def word(self, known: Sequence[int]) -> int:
        """Return what some states say of everything, given as one mask an attribute."""
        word = 0
        for mask, whole, words in zip(known, self.full, self.words, strict=True):
            if mask != whole:
                word |= words[mask]
        return word

    def boxes(self, word: int) -> int:
        """Return the boxes of the universe that a word leaves."""
        return self.every_box & ~(word >> self._boxes_at)

    def fitting(self, word: int, boxes: int, among: int) -> int:
        """Return the types of which some piece meets the whole definition and what a word says.

        Args:
            word: what is said of the piece.
            boxes: the boxes that it leaves.
            among: the types to be held against it.
        """
        fitting = self._reached[boxes] & ~(word >> self._types_at) & among
        if loose := fitting & (word >> self._loose_at):
            states = self.every_state & ~word
            for t in members(loose):
                if not self.ways(t, states, boxes):
                    fitting ^= 1 << t
        return fitting

    def ways(self, number: int, states: int, boxes: int) -> int:
        """Return those of some boxes that have a piece which meets a type and shows some states.

        Criterion by criterion: a box with several states can have one that is known and another one
        that is allowed.
        """
        boxes &= self.pieces[number]
        for i, allowed in self.definitions[number].items():
            boxes &= self.having[i][states >> self.offsets[i] & allowed]
        return boxes

    def consistent(self, types: int, states: int) -> int:
        """Return those of some fitting types of which everything is met by states weighed."""
        met, allowed = 0, self.allowed
        while types:
            one = types & -types
            types ^= one
            if not states & ~allowed[one.bit_length() - 1]:
                met |= one
        return met

    def rests_on_haft(self, types: int, states: int) -> bool:
        """Tell whether states that are weighed meet something that defines the haft of a type."""
        while types:
            t = types.bit_length() - 1
            types ^= 1 << t
            outside = states & ~self.allowed[t]
            for field in self._haft_fields[t]:
                if not outside & field:
                    return True
        return False

    def outgrown(self, attribute: int, mask: int) -> int:
        """Return the types that a piece exceeds in something that rework only lessens.

        This counts even where the attribute is set aside.
        """
        if attribute not in self._lessens:
            return 0
        lowest = mask & -mask
        return sum(
            1 << t
            for t, limits in enumerate(self.definitions)
            if limits.get(attribute, lowest) < lowest
        )

    def sort(self, known: Box, aside: frozenset[int] = frozenset()) -> Sorted:
        """Hold all types against a piece.

        Args:
            known: the states still possible, one mask an attribute.
            aside: attributes not weighed.
        """
        return self._sorted[known, aside]

    def _having(self, i: int, mask: int) -> int:
        return sum(1 << b for b, box in enumerate(self._universe) if box[i] & mask)

    def _pieces(self, limits: Mapping[int, int]) -> int:
        boxes = self.every_box
        for i, allowed in limits.items():
            boxes &= self.having[i][allowed]
        return boxes

    def _unite(self, boxes: int) -> int:
        return reduce(or_, (self._packed[b] for b in members(boxes)), 0)

    def _reach(self, boxes: int) -> int:
        return sum(1 << t for t, pieces in enumerate(self.pieces) if pieces & boxes)

    def _word(self, i: int, mask: int) -> int:
        having, against, loose = self.having[i], 0, 0
        for t, limits in enumerate(self.definitions):
            allowed = limits.get(i, mask)
            if not mask & allowed:
                against |= 1 << t
            elif having[allowed] & having[mask] & ~having[allowed & mask]:
                loose |= 1 << t
        return (
            (self.full[i] & ~mask) << self.offsets[i]
            | against << self._types_at
            | loose << self._loose_at
            | (self.every_box & ~having[mask]) << self._boxes_at
        )

    def _word_aside(self, i: int, mask: int) -> int:
        return self.outgrown(i, mask) << self._types_at

    def _weigh(self, aside: frozenset[int]) -> tuple[tuple[Memo[int, int], ...], int]:
        """Return the tables of words where something is set aside, and the states weighed."""
        words = tuple(
            self._words_aside[i] if i in aside else words for i, words in enumerate(self.words)
        )
        return words, self.pack(tuple(m * (i not in aside) for i, m in enumerate(self.full)))

    def _sort(self, piece: tuple[Box, frozenset[int]]) -> Sorted:
        known, aside = piece
        tables, weighed = self._weighed[aside]
        word = twice = 0
        for mask, whole, words in zip(known, self.full, tables, strict=True):
            if mask != whole:
                says = words[mask]
                twice |= word & says
                word |= says
        boxes = self.boxes(word)
        fitting = self.fitting(word, boxes, self.every_type)
        against = word >> self._types_at & self.every_type
        return Sorted(
            states=self.every_state & ~word,
            weighed=weighed & ~word,
            boxes=boxes,
            fitting=fitting,
            once=against & ~(twice >> self._types_at),
            clashing=self.every_type & ~against & ~fitting,
        )


def inverted(rules: Rules) -> Inverted:
    """Return the index of some rules, which is made when it is first asked for."""
    return rules.once(_invert)


def numbers(rules: Rules) -> Mapping[str, int]:
    """Return the number of each type by its id."""
    return rules.once(_numbers)


def known_in(rules: Rules, region: str) -> int:
    """Return the types known in a region under their own name, as a set of types."""
    return rules.once(_by_region).get(region, 0)


def _invert(rules: Rules) -> Inverted:
    attributes = tuple(enumerate(rules.attributes))
    return Inverted(
        rules.full,
        rules.universe,
        tuple({c.attribute: c.allowed for c in kind.defined_by} for kind in rules.types.values()),
        frozenset(i for i, attribute in attributes if attribute.stability == "haft"),
        frozenset(i for i, attribute in attributes if attribute.lessens),
    )


def _numbers(rules: Rules) -> Mapping[str, int]:
    return {name: t for t, name in enumerate(rules.types)}


def _by_region(rules: Rules) -> Mapping[str, int]:
    return {
        region: sum(1 << numbers(rules)[kind.id] for kind in rules.in_region(region))
        for region in rules.regions
    }
