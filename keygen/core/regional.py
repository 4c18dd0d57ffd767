"""A key to the types of one region, computed from their definitions.

A couplet asks one attribute and shares out the states that can still arrive there. A type whose
definition allows both leads goes both ways, and so comes out at several places.

Definitions are wide and overlap. A key that went on until all that can be parted is parted would
need hundreds of couplets, in some regions thousands, most of them to part a few leftovers once
more. So a key has no more couplets than the region has types; they are spent where they cut most,
and the key ends in *groups*. In a group each type stands with what its definition still asks there:
whoever crosses off what the piece does not show keeps the types whose whole definition it meets.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import reduce
from heapq import heappop, heappush
from itertools import pairwise, permutations
from math import log2
from operator import or_
from typing import NamedTuple

from keygen.core.applies import conditional
from keygen.core.model import Attribute, Criterion, Rules
from keygen.core.states import Box, merge, narrow, spread

LEAST = 0.15  # bits by which a couplet has to cut the types that arrive, or it is not asked
BROKEN = 0.02  # taken off the worth of a question for each run of states beyond two (see `_runs`)
SHOULDER, SIZE, BLADE = 0.9, 0.8, 0.5  # the worth of a bit against one seen of haft or base


@dataclass(frozen=True)
class RegionalLead:
    """The states that a lead names, and the number of the couplet or else group it leads to."""

    states: int
    couplet: int = 0
    group: int = 0


@dataclass(frozen=True)
class RegionalCouplet:
    """A question about one attribute (by index). Its leads point forward to higher numbers."""

    number: int
    attribute: int
    leads: tuple[RegionalLead, RegionalLead]


@dataclass(frozen=True)
class Group:
    """An end of the key: the types that can arrive, each with what is left to check.

    Attributes:
        types: by id, the criteria that some piece arriving here does not meet, each with the
            states that are both allowed and able to arrive; none where nothing is left to check.
        covered: pairs of ids: every piece of the first that arrives here is one of the second too.
    """

    number: int
    types: Mapping[str, tuple[Criterion, ...]]
    covered: frozenset[tuple[str, str]]


@dataclass(frozen=True)
class RegionalKey:
    """A key to the types of a region; `start` leads to its first couplet, or its only group."""

    region: str
    start: RegionalLead
    couplets: tuple[RegionalCouplet, ...]
    groups: tuple[Group, ...]


class _Split(NamedTuple):
    """A question: position of its attribute in a node, the states of each lead, bits it cuts."""

    place: int
    sides: tuple[int, int]
    cuts: float


@dataclass
class _Node:
    """A place in the growing key: what can arrive, over the attributes not yet settled there.

    It is the end of a way until it is `split`; then `onward` are the nodes of the two leads.
    """

    attributes: tuple[int, ...]
    pieces: Mapping[str, tuple[Box, ...]]
    weight: float = 0.0
    split: _Split | None = None
    onward: list[_Node] = field(default_factory=list)


def regional_key(rules: Rules, region: str) -> RegionalKey:
    """Return a key to the types known in a region.

    A type without a record for the region is not in it; a region without types gives an empty key.
    """
    kinds = rules.in_region(region)
    if not kinds:
        return RegionalKey(region, RegionalLead(0), (), ())
    return _numbered(region, _Growth(rules, region).grown())


class _Growth:
    """A key while it grows: nodes that have the same left to settle are one node."""

    def __init__(self, rules: Rules, region: str) -> None:
        kinds = rules.in_region(region)
        self._attributes = rules.attributes
        self._none = rules.once(conditional)
        self._most = len(kinds)
        self._allowed = {k.id: {c.attribute: c.allowed for c in k.defined_by} for k in kinds}
        self._nodes: dict[object, _Node] = {}
        self._waiting: list[tuple[float, int, _Node, _Split]] = []
        asked = tuple(sorted({i for limits in self._allowed.values() for i in limits}))
        pieces = {k.id: [tuple(box[i] for i in asked) for box in rules.pieces[k.id]] for k in kinds}
        self._start = self._node(asked, pieces, float(len(kinds)))

    def grown(self) -> tuple[_Node, Mapping[str, Mapping[int, int]]]:
        """Return the first node of the grown key, and what each type allows."""
        for _ in range(self._most):
            if not self._waiting:
                break
            _, _, node, split = heappop(self._waiting)
            node.split, place = split, split.place
            reach = [spread(boxes)[place] for boxes in node.pieces.values()]
            for side in split.sides:
                share = sum((m & side).bit_count() / m.bit_count() for m in reach) / len(reach)
                pieces = _narrowed(node.pieces, place, side)
                node.onward.append(self._node(node.attributes, pieces, share * node.weight))
        return self._start, self._allowed

    def _node(
        self, attributes: Sequence[int], pieces: Mapping[str, Sequence[Box]], weight: float
    ) -> _Node:
        """Return the node for what arrives, which may be there already."""
        left = self._unsettled(attributes, pieces)
        over = tuple(attributes[k] for k in left)
        bare = {
            name: merge(tuple(box[k] for k in left) for box in boxes)
            for name, boxes in pieces.items()
        }
        key = (over, frozenset((name, frozenset(boxes)) for name, boxes in bare.items()))
        node = self._nodes.get(key)
        if node is None:
            node = self._nodes[key] = _Node(over, bare)
            split = self._best(node)
            if split:
                heappush(self._waiting, (-weight * split.cuts, len(self._nodes), node, split))
        node.weight += weight
        return node

    def _unsettled(
        self, attributes: Sequence[int], pieces: Mapping[str, Sequence[Box]]
    ) -> list[int]:
        """Return the positions of attributes in which something arriving fails some definition."""
        arriving = spread(box for boxes in pieces.values() for box in boxes)
        return [
            k
            for k, i in enumerate(attributes)
            if any(arriving[k] & ~self._allowed[name].get(i, arriving[k]) for name in pieces)
        ]

    def _best(self, node: _Node) -> _Split | None:
        """Return the question that cuts the types most for its worth; None if none cuts enough.

        What resharpening changes is asked only where nothing else cuts; size is not counted to it,
        because a fragment shows whether a piece was a small one. What does not apply to every piece
        that arrives is not asked.
        """
        count = len(node.pieces)
        reach = [spread(boxes) for boxes in node.pieces.values()]
        found = []
        for place, i in enumerate(node.attributes):
            shown = Counter(box[place] for box in reach)
            arriving = reduce(or_, shown)
            if arriving & self._none.get(i, 0):
                continue
            firm, worth = _worth(self._attributes[i])
            for sides in _halves(arriving):
                cuts = log2(count) - sum(_left(shown, side) for side in sides) / count
                if cuts >= LEAST:
                    value = worth * cuts * (1 - BROKEN * (_runs(arriving, sides[0]) - 2))
                    split = _Split(place, sides, cuts)
                    found.append(((firm, value, -place, -sides[0]), split))
        return max(found)[1] if found else None


def _narrowed(
    pieces: Mapping[str, tuple[Box, ...]], place: int, side: int
) -> dict[str, tuple[Box, ...]]:
    """Return the pieces that take a lead; types without any are left out."""
    narrowed = {
        name: tuple(box for whole in boxes if (box := narrow(whole, {place: side})) is not None)
        for name, boxes in pieces.items()
    }
    return {name: boxes for name, boxes in narrowed.items() if boxes}


def _left(shown: Mapping[int, int], side: int) -> float:
    """Return the bits left to settle on one side, weighed by the types that go there.

    Args:
        shown: how many types can show a set of states.
    """
    there = {mask: n for mask, n in shown.items() if mask & side}
    share = sum(n * (mask & side).bit_count() / mask.bit_count() for mask, n in there.items())
    return share * log2(sum(there.values()))


def _worth(attribute: Attribute) -> tuple[bool, float]:
    """Return whether an attribute is firm, and the worth of a bit seen of it."""
    if attribute.stability == "haft":
        return True, SHOULDER if attribute.part == "shoulder" else 1.0
    return (True, SIZE) if attribute.lessens else (False, BLADE)


def _halves(mask: int) -> Iterator[tuple[int, int]]:
    """Yield every way to share out states between two leads; the lowest goes to the first."""
    first = mask & -mask
    rest = mask & ~first
    part = rest
    while part:  # every part of the rest but the empty one goes to the second lead
        yield mask & ~part, part
        part = (part - 1) & rest


def _runs(mask: int, side: int) -> int:
    """Return in how many runs, in the vocabulary's order, states fall to the two leads."""
    falls = [bool(side >> b & 1) for b in range(mask.bit_length()) if mask >> b & 1]
    return 1 + sum(one is not other for one, other in pairwise(falls))


def _numbered(region: str, grown: tuple[_Node, Mapping[str, Mapping[int, int]]]) -> RegionalKey:
    """Return the grown key with couplets and groups numbered so that every lead points forward."""
    start, allowed = grown
    backwards: list[_Node] = []
    seen: set[int] = set()

    def visit(node: _Node) -> None:
        if id(node) not in seen:
            seen.add(id(node))
            for other in reversed(node.onward):
                visit(other)
            backwards.append(node)

    visit(start)
    forks = [(node, node.split) for node in reversed(backwards) if node.split]
    ends = [node for node in reversed(backwards) if not node.split]
    forked = {id(node): n for n, (node, _) in enumerate(forks, 1)}
    ended = {id(node): n for n, node in enumerate(ends, 1)}

    def lead(node: _Node, states: int = 0) -> RegionalLead:
        return RegionalLead(states, forked.get(id(node), 0), ended.get(id(node), 0))

    couplets = []
    for number, (node, split) in enumerate(forks, 1):
        one, other = map(lead, node.onward, split.sides)
        couplets.append(RegionalCouplet(number, node.attributes[split.place], (one, other)))
    groups = tuple(_group(number, node, allowed) for number, node in enumerate(ends, 1))
    return RegionalKey(region, lead(start), tuple(couplets), groups)


def _group(number: int, node: _Node, allowed: Mapping[str, Mapping[int, int]]) -> Group:
    reach = {name: spread(boxes) for name, boxes in node.pieces.items()}
    arriving = spread(reach.values())
    left = {
        name: tuple(
            Criterion(i, there & states)
            for i, there in zip(node.attributes, arriving, strict=True)
            if there & ~(states := allowed[name].get(i, there))
        )
        for name in sorted(reach)
    }
    covered = frozenset(
        (one, other)
        for one, other in permutations(left, 2)
        if all(
            not shown & ~allowed[other].get(i, shown)
            for i, shown in zip(node.attributes, reach[one], strict=True)
        )
    )
    return Group(number, left, covered)
