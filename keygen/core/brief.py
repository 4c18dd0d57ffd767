"""Calls in brief, for whole tables: status and types, without the reasons.

The sets of types that `call` judges one by one are all that a table of calls needs. Each text that
a column holds is read once, as a word of the inverted index; the words of a row are joined, and
most rows are called without a list of their states ever being made.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial, reduce
from operator import getitem, or_
from typing import NamedTuple

from keygen.core.call import Reason, Status, status_of
from keygen.core.examine import settle
from keygen.core.infer import Contradiction
from keygen.core.inverted import inverted, known_in, members
from keygen.core.measure import Reading
from keygen.core.memo import RECENT, Memo
from keygen.core.model import Rules
from keygen.core.rework import rework_signs, set_aside
from keygen.core.states import Box

Reader = Callable[[str], Mapping[int, int]]  # a cell's text as masks by attribute


class Brief(NamedTuple):
    """A call without its reasons: the candidates by id, in the order of the rules.

    An untyped piece has candidates too, if nothing of its haft was seen.
    """

    status: Status
    reason: Reason
    consistent: tuple[str, ...]
    possible: tuple[str, ...]


def brief(rules: Rules, region: str, known: Box, measured: frozenset[int] = frozenset()) -> Brief:
    """Return in brief what `call` says of the same piece.

    Args:
        rules: the rules to call by.
        region: id of the region.
        known: the states still possible, one mask an attribute.
        measured: attributes whose states were measured rather than judged by eye.
    """
    found = inverted(rules).sort(known, set_aside(rules, known, measured))
    return rules.once(_Briefs).of(found.fitting & known_in(rules, region), found.weighed)


class _Briefs:
    """Calls in brief of the types that fit a piece, by the states that are weighed."""

    def __init__(self, rules: Rules) -> None:
        self._index, self._types = inverted(rules), tuple(rules.types)
        self._ids = Memo(self._named)

    def of(self, fitting: int, weighed: int) -> Brief:
        """Return the call in brief."""
        consistent = self._index.consistent(fitting, weighed)
        status, reason = status_of(self._index, fitting, bool(consistent), weighed)
        return Brief(status, reason, self._ids[consistent], self._ids[fitting ^ consistent])

    def _named(self, types: int) -> tuple[str, ...]:
        return tuple([self._types[t] for t in members(types)])


class Cells:
    """Calls in brief straight from the cells of a table.

    Args:
        rules: the rules to call by.
        columns: what reads the cells of each column; asked once for each text. A cell that says
            nothing leaves all states, or names no attribute.
    """

    def __init__(self, rules: Rules, columns: Sequence[Reader]) -> None:
        self._rules, self._index, self._briefs = rules, inverted(rules), rules.once(_Briefs)
        self._columns = tuple(Memo(partial(self._word, read)) for read in columns)
        self._here = {region: known_in(rules, region) for region in rules.regions}
        self._spared = tuple(mask << self._index.offsets[i] for i, mask in rework_signs(rules))
        self._called = Memo(self._call, RECENT)

    def call(
        self, cells: Sequence[str], region: str, readings: Mapping[str, Reading] | None = None
    ) -> Brief:
        """Return the call of one row in brief.

        Args:
            cells: one text a column.
            region: id of the region.
            readings: measurements by id (mm, g or degrees).

        Raises:
            Contradiction: no piece that the key can describe has the states of the row together.
            ValueError: there are more or fewer cells than columns.
        """
        if len(cells) != len(self._columns):
            raise ValueError(f"{len(cells)} cells for {len(self._columns)} columns")
        word = reduce(or_, map(getitem, self._columns, cells), 0)
        if not readings:
            return self._called[word, region]
        settled = settle(self._rules, word, readings)
        return brief(self._rules, region, settled.known, frozenset(settled.derived))

    def _word(self, read: Reader, text: str) -> int:
        masks = list(self._rules.full)
        for i, mask in read(text).items():
            masks[i] &= mask
        return self._index.word(masks)

    def _call(self, row: tuple[int, str]) -> Brief:
        word, region = row
        boxes = self._index.boxes(word)
        if not boxes:
            raise Contradiction("no piece can have these states together")
        states = self._index.union[boxes] & ~word
        for spared in self._spared:
            if not states & spared:  # the blade was made over, and is set aside
                return brief(self._rules, region, self._index.unpack(states))
        fitting = self._index.fitting(word, boxes, self._here.get(region, 0))
        return self._briefs.of(fitting, states)
