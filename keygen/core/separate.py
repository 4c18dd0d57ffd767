"""What can part two types: every observation, the blade alone, size alone, or only the context.

Two definitions are held against each other over the universe of pieces that the key can describe
(`Rules.universe`), so a pair that no criterion parts one by one can still be parted by what goes
together on one piece.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from itertools import combinations

from keygen.core.chronology import cal_bp, read_curve
from keygen.core.model import Criterion, Rules, Type
from keygen.core.states import Box, narrow, spread


class Relation(Enum):
    """How the pieces that meet one definition lie to those that meet another, closest first."""

    SAME = "same"
    CONTAINED = "contained"
    OVERLAPPING = "overlapping"
    PARTED = "parted"


class Kind(Enum):
    """What parts a pair of types in a region, the hardest pairs first.

    - `same`: nothing; both definitions are met by exactly the same pieces.
    - `context`: only the context; the same pieces, but ages in the region (in cal BP) that share no
      year.
    - `contained`: every piece of one meets the other's definition too, some not the other way.
    - `size`: only size; leave the size class out of both definitions and the two lie closer, from
      parted to overlapping, from overlapping to contained, or from contained to same.
    - `weak`: only blade, finish and size; leave them out and the like is true.
    - `overlapping`: the haft, on some pieces; others meet both definitions.
    - `parted`: the haft, on every piece.
    """

    SAME = "same"
    CONTEXT = "context"
    CONTAINED = "contained"
    SIZE = "size"
    WEAK = "weak"
    OVERLAPPING = "overlapping"
    PARTED = "parted"


# The kinds of pair in which a whole type can never be told from the other by what is seen of it.
INSEPARABLE = frozenset({Kind.SAME, Kind.CONTEXT, Kind.CONTAINED})
SIZE = "size_class"


@dataclass(frozen=True)
class Form:
    """The pieces that meet a definition, or the part of it that is weighed.

    `reach` holds, attribute by attribute, every state that one of them can show.
    """

    limits: Mapping[int, int]
    boxes: tuple[Box, ...]
    reach: Box

    def within(self, other: Form) -> bool:
        """Tell whether every piece of this form meets the other definition."""
        return all(not self.reach[i] & ~mask for i, mask in other.limits.items())

    def meets(self, other: Form) -> bool:
        """Tell whether some piece meets both definitions."""
        if not all(a & b for a, b in zip(self.reach, other.reach, strict=True)):
            return False
        limits = tuple(other.limits.items())
        return any(all(box[i] & mask for i, mask in limits) for box in self.boxes)


@dataclass(frozen=True)
class Pair:
    """Two types of one region.

    `first` is the one whose pieces are contained in the other's, where the kind is `contained`.
    `tells_first` are the attributes of which one observation can show that a piece of `first` is
    no `second`; `tells_second` the other way round.
    """

    first: str
    second: str
    kind: Kind
    tells_first: tuple[int, ...]
    tells_second: tuple[int, ...]


def form(rules: Rules, kind: Type, weighed: Callable[[Criterion], bool] | None = None) -> Form:
    """Return the pieces that meet a type's definition, or those of its criteria that are weighed.

    Args:
        weighed: tells whether a criterion counts; all of them if not given.
    """
    limits = {c.attribute: c.allowed for c in kind.defined_by if weighed is None or weighed(c)}
    boxes = tuple(box for whole in rules.universe if (box := narrow(whole, limits)) is not None)
    return Form(limits, boxes, spread(boxes))


def relation(one: Form, other: Form) -> Relation:
    """Return how two forms lie to each other."""
    inside, outside = one.within(other), other.within(one)
    if inside and outside:
        return Relation.SAME
    if inside or outside:
        return Relation.CONTAINED
    return Relation.OVERLAPPING if one.meets(other) else Relation.PARTED


def tells(one: Form, other: Form) -> tuple[int, ...]:
    """Return the attributes of which one observation can show that a piece of `one` is no `other`.

    Two definitions can be parted by several observations together and by none of them alone; then
    there is nothing to list.
    """
    return tuple(i for i, mask in sorted(other.limits.items()) if one.reach[i] & ~mask)


def pairs(rules: Rules, region: str) -> tuple[Pair, ...]:
    """Return every pair of types known in a region with what parts it, the hardest first."""
    kinds = rules.in_region(region)
    size = rules.index.get(SIZE)

    def haft(criterion: Criterion) -> bool:
        return rules.attributes[criterion.attribute].stability == "haft"

    def but_size(criterion: Criterion) -> bool:
        return criterion.attribute != size

    whole, firm, sizeless = (
        {kind.id: form(rules, kind, weighed) for kind in kinds}
        for weighed in (None, haft, but_size)
    )
    found = []
    for one, other in combinations(kinds, 2):
        a, b = one.id, other.id
        named = _kind(
            relation(whole[a], whole[b]),
            relation(sizeless[a], sizeless[b]),
            relation(firm[a], firm[b]),
        )
        if named is Kind.SAME and _ages_apart(rules, one, other, region):
            named = Kind.CONTEXT
        if named is Kind.CONTAINED and not whole[a].within(whole[b]):
            a, b = b, a
        found.append(Pair(a, b, named, tells(whole[a], whole[b]), tells(whole[b], whole[a])))
    order = {kind: i for i, kind in enumerate(Kind)}
    return tuple(sorted(found, key=lambda pair: (order[pair.kind], pair.first, pair.second)))


def told(rules: Rules, pair: Pair) -> tuple[str, ...]:
    """Return the tells that stand in the look-alikes of either type, each text once."""
    return recorded(rules, pair.first, pair.second)


def recorded(rules: Rules, one: str, other: str) -> tuple[str, ...]:
    """Return the tells that anybody wrote down for two types (by id), each text once."""
    texts = (
        alike.tell
        for own, its_like in ((one, other), (other, one))
        for alike in rules.types[own].look_alikes
        if rules.names.get(alike.type) == its_like
    )
    return tuple(dict.fromkeys(texts))


def tell_missing(rules: Rules, pair: Pair) -> bool:
    """Tell whether nothing parts a pair and nobody wrote down what an analyst would look at."""
    return pair.kind in INSEPARABLE and not told(rules, pair)


def _kind(whole: Relation, sizeless: Relation, firm: Relation) -> Kind:
    """Name a pair after its relation on all criteria, on all but size, and on the haft alone."""
    rank = list(Relation).index
    if rank(sizeless) < rank(whole):
        return Kind.SIZE
    return Kind.WEAK if rank(firm) < rank(whole) else Kind(whole.value)


def _ages_apart(rules: Rules, one: Type, other: Type, region: str) -> bool:
    """Tell whether the ages in a region share no year; unknown, and so false, without a curve."""
    first, second = one.record(region), other.record(region)
    if first is None or second is None or rules.curve is None:
        return False
    curve = read_curve(rules.curve)
    return cal_bp(first.dates, curve).overlap(cal_bp(second.dates, curve)) <= 0
