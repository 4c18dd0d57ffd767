"""Asking only until the call is settled: which couplet next, and when no other can matter.

The couplets on portion and damage come first, in the key's order: they say what the piece can still
show. After them the couplet is asked that leaves the fewest candidates on average, weighed like the
next look; of those that leave the same, the one that bears on the most open criteria.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from keygen.core.call import Status, status_of
from keygen.core.infer import gone_parts, is_open
from keygen.core.inverted import inverted, known_in, members
from keygen.core.model import Couplet, Rules
from keygen.core.prospect import Prospect
from keygen.core.ready import ready_types
from keygen.core.rework import blade, rework_signs, set_aside
from keygen.core.sorting import Sorted
from keygen.core.states import Box, complement, is_single, narrow
from keygen.core.walk import Position, may_be_asked, next_couplet

Outcome = tuple[Status, frozenset[str]]


def couplet_until_call(rules: Rules, region: str, position: Position) -> Couplet | None:
    """Return the couplet to ask next on the way to the call.

    None if the call is settled, or the key has ended.
    """
    first = next_couplet(rules, position)
    if first is None or on_record(rules, first):
        return first
    over = beyond(rules, position)
    if settled(rules, region, position.known, over):
        return None
    prospect = Prospect.of(rules, region, position.known)
    weight = _criteria_open(prospect, over)
    best, found = first, (float("inf"), 0, 0)
    for couplet in may_be_asked(rules, position):
        bearing = sum(weight.get(i, 0) for i in couplet.attributes)
        if bearing:
            left = [prospect.left_by(lead.leaves) for lead in couplet.leads]
            average = round(_on_average(prospect.now, left), 9)
            rank = (average, -bearing, rules.order[couplet.id])
            if rank < found:
                best, found = couplet, rank
    return best


def on_record(rules: Rules, couplet: Couplet) -> bool:
    """Tell whether a couplet only records the state of the piece: handling, portion, damage."""
    return all(rules.attributes[i].stability == "record" for i in couplet.attributes)


def _on_average(now: int, left: Sequence[int]) -> float:
    """Return how many candidates are left on average, each lead of a candidate equally likely."""
    weights = [0.0, 0.0]
    every = now & (left[0] | left[1])
    for kind in members(every):
        open_leads = [side for side in (0, 1) if left[side] >> kind & 1]
        for side in open_leads:
            weights[side] += 1 / len(open_leads) / every.bit_count()
    return sum(weight * mask.bit_count() for weight, mask in zip(weights, left, strict=True))


def _criteria_open(prospect: Prospect, beyond: frozenset[int]) -> dict[int, int]:
    """Return how many candidates have a criterion open on what can still be asked, by attribute.

    If none has, all that is left to learn is whether the blade was made over.
    """
    count: dict[int, int] = {}
    kinds = ready_types(prospect.rules)
    for k in prospect.ways:
        for c in kinds[k].kind.defined_by:
            if (
                c.attribute not in prospect.aside | beyond
                and prospect.known[c.attribute] & ~c.allowed
            ):
                count[c.attribute] = count.get(c.attribute, 0) + 1
    return count or dict.fromkeys((i for i, _ in rework_signs(prospect.rules)), 1)


def beyond(rules: Rules, position: Position) -> frozenset[int]:
    """Return the attributes on which no couplet that can still be asked bears.

    A couplet that was passed, whose part is gone, of which a lead is ruled out, or to which no way
    leads any more cannot be asked.
    """
    known = position.known
    gone = gone_parts(rules, known)
    passed = {p.couplet for p in position.trail}
    reached = {branch.at for branch in position.branches}
    within: set[int] = set()
    for name in sorted(rules.couplets, key=rules.order.__getitem__):
        couplet = rules.couplets[name]
        open_leads = [lead for lead in couplet.leads if is_open(lead, known)]
        if name in reached:
            reached |= {lead.go for lead in open_leads}
            if name not in passed and couplet.part not in gone and len(open_leads) > 1:
                within |= couplet.attributes
    return frozenset(range(len(rules.attributes))) - within


def settled(
    rules: Rules,
    region: str,
    known: Sequence[int],
    beyond: frozenset[int] = frozenset(),
    measured: frozenset[int] = frozenset(),
) -> bool:
    """Tell whether no further observation can change the call: its status or its types.

    Held against every piece that is still possible, box by box, with the blade weighed and, if
    rework is not ruled out, with the blade set aside. True is certain. False is right but for rare
    pieces with a blade set aside or a criterion that only follows; then a question more is asked.

    Args:
        known: the states still possible, closed over the key.
        beyond: attributes that will not be observed any further.
        measured: attributes whose states were measured rather than judged by eye.
    """
    if all(i in beyond or is_single(mask) for i, mask in enumerate(known)):
        return True
    known = tuple(known)
    index = inverted(rules)
    boxes = index.boxes(index.word(known))
    aside = set_aside(rules, known, measured)
    now = _steady(rules, region, known, boxes, aside, beyond)
    if now is None or aside or not _may_be_made_over(rules, known, boxes, beyond):
        return now is not None
    return now == _steady(rules, region, known, boxes, blade(rules) - measured, beyond)


def _may_be_made_over(rules: Rules, known: Box, boxes: int, beyond: frozenset[int]) -> bool:
    """Tell whether a further observation may show that the blade was made over."""
    having = inverted(rules).having
    return any(
        boxes & ~having[i][known[i] & spared] if i in beyond else known[i] & ~spared
        for i, spared in rework_signs(rules)
    )


def _steady(
    rules: Rules,
    region: str,
    known: Box,
    boxes: int,
    aside: frozenset[int],
    beyond: frozenset[int],
) -> Outcome | None:
    """Return the call if every piece that is still possible gives the same, else None.

    What is set aside stays so. A type that is excluded can then not come back.
    """
    index, here = inverted(rules), known_in(rules, region)
    found = index.sort(known, aside)
    listed = found.fitting & here
    if not all(_kept(rules, t, known, boxes, aside, beyond, found) for t in members(listed)):
        return None
    consistent = index.consistent(listed, found.weighed)
    status, reason = status_of(index, listed, bool(consistent), found.weighed)
    if reason == "haft_unknown":
        hafts = (c for t in members(listed) for c in _open(rules, t, known, aside) if c[2])
        if any(boxes & ~index.having[i][rest] for i, rest, _ in hafts):
            return None
        return status, frozenset()
    if status == "cf.":
        met = boxes
        for i, rest, _ in _open(rules, listed.bit_length() - 1, known, aside):
            met &= ~index.having[i][rest]
        if met:
            return None
    kinds = ready_types(rules)
    return status, frozenset(kinds[t].kind.id for t in members(listed))


def _open(
    rules: Rules, number: int, known: Box, aside: frozenset[int]
) -> Iterator[tuple[int, int, bool]]:
    """Return what is open of a type: attribute, the states outside it, whether it is of the haft.

    Of a piece that shows none of these states it is met.
    """
    for i, allowed in inverted(rules).definitions[number].items():
        rest = known[i] & ~allowed
        if rest and i not in aside:
            yield i, rest, rules.attributes[i].stability == "haft"


def _kept(
    rules: Rules,
    number: int,
    known: Box,
    boxes: int,
    aside: frozenset[int],
    beyond: frozenset[int],
    found: Sorted,
) -> bool:
    """Tell whether a type stays listed whatever else is observed."""
    index = inverted(rules)
    limits = index.definitions[number]
    for i, allowed in limits.items():
        if i in beyond:
            continue
        if i not in aside and known[i] & ~allowed:
            return False
        most = 1 << known[i].bit_length() - 1
        if i in aside and rules.attributes[i].lessens and allowed < most:
            return False
    if not aside and not found.weighed & ~index.allowed[number]:
        return True
    asked = [i for i in range(len(known)) if i not in beyond and i not in aside]
    weighed = {i: mask for i, mask in enumerate(known) if i not in aside}
    allowed_too = {i: mask & weighed.get(i, mask) for i, mask in limits.items()}
    ways = [
        way
        for b in members(index.ways(number, found.states, found.boxes))
        if (way := narrow(rules.universe[b], {**weighed, **allowed_too}))
    ]
    rest = [i for i in sorted(beyond) if i not in aside] if aside else []
    whole = dict(enumerate(known))
    return all(
        _covered(
            tuple(box[i] for i in asked),
            [tuple(way[i] for i in asked) for way in ways if all(box[i] & way[i] for i in rest)],
        )
        for b in members(boxes)
        if (box := narrow(rules.universe[b], whole))
    )


def _covered(part: Box, ways: Sequence[Box]) -> bool:
    """Tell whether every combination of states in a part lies in one of some ways."""
    for way in ways:
        if all(a & b for a, b in zip(part, way, strict=True)):
            outside = complement(part, dict(enumerate(way)))
            return all(
                _covered(narrowed, ways)
                for limits in outside
                if (narrowed := narrow(part, limits)) is not None
            )
    return False
