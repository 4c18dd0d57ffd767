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
from operator import getitem, or_

from keygen.core.memo import RECENT, Memo
from keygen.core.model import Rules
from keygen.core.packing import Packing
from keygen.core.sorting import Closed, Sorted
from keygen.core.states import Box


def members(bits: int) -> Iterator[int]:
    """Return the numbers in a bit set, lowest first."""
    while bits:
        low = bits & -bits
        yield low.bit_length() - 1
        bits ^= low


class Inverted(Packing):
    """The index of one set of rules, whose states it packs.

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
        super().__init__(full)
        self.definitions = definitions
        self._universe, self._lessens = universe, lessens
        self.every_type = (1 << len(definitions)) - 1
        self.every_box = (1 << len(universe)) - 1
        self._types_at = self.offsets[-1]
        self._loose_at = self._types_at + len(definitions)
        self._boxes_at = self._loose_at + len(definitions)
        self.allowed = tuple(
            self.pack(tuple(limits.get(i, mask) for i, mask in enumerate(full)))
            for limits in definitions
        )
        self._criteria = tuple(
            tuple((i, self.offsets[i], m, full[i] & ~m) for i, m in limits.items())
            for limits in definitions
        )
        self._hafts = tuple(self.flags_of(haft.intersection(limits)) for limits in definitions)
        self.hafted = sum(1 << t for t, flags in enumerate(self._hafts) if flags)
        self.having = tuple(Memo(partial(self._having, i)) for i in range(len(full)))
        self.words = tuple(Memo(partial(self._word, i)) for i in range(len(full)))
        self._words_aside = tuple(Memo(partial(self._word_aside, i)) for i in range(len(full)))
        self.pieces = tuple(self._pieces(limits) for limits in definitions)
        self._eights = tuple(
            Memo(partial(self._of_eight, n)) for n in range(-(-len(universe) // 8))
        )
        self._exceeding = tuple(Memo(partial(self._exceed, i)) for i in range(len(full)))
        self.union: Memo[int, int] = Memo(lambda boxes: self._joined(boxes) & self.every_state)
        self._reached: Memo[int, int] = Memo(lambda boxes: self._joined(boxes) >> self._types_at)
        self._weighed = Memo(self._weigh)
        self._sorted = Memo(self._sort, RECENT)

    def word(self, known: Sequence[int]) -> int:
        """Return what some states say of everything, given as one mask an attribute."""
        return self.joined(self.words, known, 0)

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
        that is allowed. Where all that is known is allowed, every box has one that is both.

        Args:
            number: of the type.
            states: what is known, packed.
            boxes: boxes that show some of these states of every attribute.
        """
        boxes &= self.pieces[number]
        having = self.having
        for i, at, allowed, beyond in self._criteria[number]:
            known = states >> at
            if known & beyond:
                boxes &= having[i][known & allowed]
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
            if self._hafts[t] & ~self.flagged(states & ~self.allowed[t]):
                return True
        return False

    def outgrown(self, attribute: int, mask: int) -> int:
        """Return the types that a piece exceeds in something that rework only lessens.

        This counts even where the attribute is set aside.
        """
        return self._exceeding[attribute][mask & -mask] if attribute in self._lessens else 0

    def sort(self, known: Box, aside: frozenset[int] = frozenset()) -> Sorted:
        """Hold all types against a piece.

        Args:
            known: the states still possible, one mask an attribute.
            aside: attributes not weighed.
        """
        return self._sorted[known, aside]

    def sort_all(self, closed: Closed) -> Sorted:
        """Hold all types against a piece of which everything is weighed, given what follows."""
        return self._held(closed, closed.states)

    def excluded_twice(self, known: Box, aside: frozenset[int] = frozenset()) -> int:
        """Return the types against which two attributes of a piece speak or more, each by itself.

        Args:
            known: the states still possible, one mask an attribute.
            aside: attributes not weighed.
        """
        once = twice = 0
        for mask, whole, words in zip(known, self.full, self._weighed[aside][0], strict=True):
            if mask != whole:
                word = words[mask]
                twice |= once & word
                once |= word
        return twice >> self._types_at & self.every_type

    def _having(self, i: int, mask: int) -> int:
        return sum(1 << b for b, box in enumerate(self._universe) if box[i] & mask)

    def _pieces(self, limits: Mapping[int, int]) -> int:
        boxes = self.every_box
        for i, allowed in limits.items():
            boxes &= self.having[i][allowed]
        return boxes

    def _joined(self, boxes: int) -> int:
        """Return all states that some boxes show and, above them, the types that they can meet."""
        eights = boxes.to_bytes(len(self._eights), "little")
        return reduce(or_, map(getitem, self._eights, eights), 0)

    def _of_eight(self, n: int, boxes: int) -> int:
        """Return the same of some of the eight boxes from number `8 * n`."""
        joined = 0
        for b in members(boxes << 8 * n):
            types = sum(1 << t for t, pieces in enumerate(self.pieces) if pieces >> b & 1)
            joined |= self.pack(self._universe[b]) | types << self._types_at
        return joined

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

    def _exceed(self, i: int, lowest: int) -> int:
        return sum(
            1 << t for t, limits in enumerate(self.definitions) if limits.get(i, lowest) < lowest
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
        word = self.joined(tables, known, 0)
        closed = Closed(word, self.boxes(word), self.every_state & ~word)
        return self._held(closed, weighed & ~word)

    def _held(self, closed: Closed, weighed: int) -> Sorted:
        word, boxes, states = closed
        fitting = self.fitting(word, boxes, self.every_type)
        return Sorted(states, weighed, boxes, fitting, fitting & word >> self._loose_at)


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
