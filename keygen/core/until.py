"""Asking only until the call is settled: which couplet next, and when no other can matter.

The couplets on portion and damage come first, in the key's order: they say what the piece can still
show. After them the couplet is asked that leaves the fewest candidates on average, weighed like the
next look; of those that leave the same, the one that bears on the most open criteria.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from keygen.core.call import Status, judge, rework_signs, set_aside, weighed_limits
from keygen.core.infer import gone_parts, is_open
from keygen.core.model import Couplet, Rules, Type
from keygen.core.nextlook import Prospect
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
    for kind in range(every.bit_length()):
        if every >> kind & 1:
            open_leads = [side for side in (0, 1) if left[side] >> kind & 1]
            for side in open_leads:
                weights[side] += 1 / len(open_leads) / every.bit_count()
    return sum(weight * mask.bit_count() for weight, mask in zip(weights, left, strict=True))


def _criteria_open(prospect: Prospect, beyond: frozenset[int]) -> dict[int, int]:
    """Return how many candidates have a criterion open on what can still be asked, by attribute.

    If none has, all that is left to learn is whether the blade was made over.
    """
    count: dict[int, int] = {}
    for k in prospect.ways:
        for c in prospect.kinds[k].defined_by:
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
    limits = {i: m for i, m in enumerate(known) if m != rules.full[i]}
    boxes = tuple(box for whole in rules.universe if (box := narrow(whole, limits)))
    aside = set_aside(rules, known, measured)
    now = _steady(rules, region, known, boxes, aside, beyond)
    if now is None or aside or not _may_be_made_over(rules, boxes, beyond):
        return now is not None
    blade = frozenset(
        i for i, a in enumerate(rules.attributes) if a.stability == "blade" and i not in measured
    )
    return now == _steady(rules, region, known, boxes, blade, beyond)


def _may_be_made_over(rules: Rules, boxes: Sequence[Box], beyond: frozenset[int]) -> bool:
    """Tell whether a further observation may show that the blade was made over."""
    return any(
        any(not box[i] & spared if i in beyond else box[i] & ~spared for box in boxes)
        for i, spared in rework_signs(rules)
    )


def _steady(
    rules: Rules,
    region: str,
    known: Sequence[int],
    boxes: Sequence[Box],
    aside: frozenset[int],
    beyond: frozenset[int],
) -> Outcome | None:
    """Return the call if every piece that is still possible gives the same, else None.

    What is set aside stays so. A type that is excluded can then not come back.
    """
    judged = [(kind, judge(rules, kind, known, None, aside)) for kind in rules.in_region(region)]
    listed = [(kind, found) for kind, found in judged if not found.against]
    if not all(
        _kept(rules, kind, known, boxes, aside, beyond, bool(found.open)) for kind, found in listed
    ):
        return None
    types = frozenset(kind.id for kind, _ in listed)
    met = [c for _, found in listed for c in found.met]
    if listed and not any(rules.attributes[c.attribute].stability == "haft" for c in met):
        hafts = [
            c
            for _, found in listed
            for c in found.open
            if rules.attributes[c.attribute].stability == "haft"
        ]
        if any(not box[c.attribute] & ~c.allowed for c in hafts for box in boxes):
            return None
        return "untyped", frozenset()
    if len(listed) != 1:
        return ("either" if listed else "untyped"), types
    left_open = listed[0][1].open
    if not left_open:
        return "assigned", types
    if any(all(not box[c.attribute] & ~c.allowed for c in left_open) for box in boxes):
        return None
    return "cf.", types


def _kept(
    rules: Rules,
    kind: Type,
    known: Sequence[int],
    boxes: Iterable[Box],
    aside: frozenset[int],
    beyond: frozenset[int],
    open_: bool,
) -> bool:
    """Tell whether a type stays listed whatever else is observed."""
    for c in kind.defined_by:
        if c.attribute in beyond:
            continue
        if c.attribute not in aside and known[c.attribute] & ~c.allowed:
            return False
        most = 1 << known[c.attribute].bit_length() - 1
        may_outgrow = rules.attributes[c.attribute].lessens and c.allowed < most
        if c.attribute in aside and may_outgrow:
            return False
    if not open_ and not aside:
        return True
    asked = [i for i in range(len(known)) if i not in beyond and i not in aside]
    limits = weighed_limits(rules, known, aside)
    ways = [way for piece in rules.pieces[kind.id] if (way := narrow(piece, limits))]
    rest = [i for i in sorted(beyond) if i not in aside] if aside else []
    return all(
        _covered(
            tuple(box[i] for i in asked),
            [tuple(way[i] for i in asked) for way in ways if all(box[i] & way[i] for i in rest)],
        )
        for box in boxes
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
