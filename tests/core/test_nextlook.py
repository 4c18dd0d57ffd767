"""Facts about the next look, held against calls made anew for every further observation."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Sequence

import pytest

from keygen.core.call import call
from keygen.core.infer import Contradiction, close
from keygen.core.model import Rules
from keygen.core.nextlook import NextLook, looks, lost_look, next_look
from keygen.core.prospect import Prospect
from keygen.core.states import Box, narrow, spread
from keygen.core.until import settled
from keygen.rulebase.figures import definition

PARTIAL = 2000  # partial specimens held against brute force
BATCHES = 20
ALIKE = 6  # so many types of one haft style are weighed at a time, or calls take minutes


def some_alike(rules: Rules, rng: random.Random) -> tuple[Rules, str]:
    """Return the rules with only a few types, of one style of haft, and a region that has them."""
    region = rng.choice(list(rules.regions))
    style = rules.index["haft_style"]
    first = rng.choice(rules.in_region(region))
    alike = [
        kind
        for kind in rules.in_region(region)
        if definition(rules, kind)[style] & definition(rules, first)[style]
    ]
    if len(alike) < ALIKE:
        return some_alike(rules, rng)
    chosen = rng.sample(alike, ALIKE)
    return dataclasses.replace(rules, types={kind.id: kind for kind in chosen}), region


def partial(rules: Rules, rng: random.Random, intact: float = 0.8) -> Box:
    """Return a piece of some type of which much was seen, some of it left between states.

    Such a share of the pieces was seen not to be made over.
    """
    kinds = [kind for kind, pieces in rules.pieces.items() if pieces]
    box = rng.choice(rules.pieces[rng.choice(kinds)])
    share = rng.choice((0.4, 0.6, 0.8))
    masks = list(rules.full)
    for i, mask in enumerate(box):
        if rng.random() < share:
            doubt = rng.choice((0, 0, 0, rng.randrange(rules.full[i] + 1)))
            masks[i] = rng.choice([1 << b for b in range(8) if mask >> b & 1]) | doubt
    if rng.random() < intact:
        masks[rules.index["reworked_as"]] = rules.mask("reworked_as", "none")
        masks[rules.index["resharpening"]] = rules.mask("resharpening", "none", "light")
    try:
        return close(rules, masks)
    except Contradiction:
        return partial(rules, rng, intact)


def by_calling(rules: Rules, region: str, known: Box) -> dict[int, tuple[float, int]]:
    """Weigh every further observation by making the call anew for each state.

    Every candidate is equally likely, and so is each state after which it would still be listed.
    """
    now = call(rules, region, known).candidates
    limits = {i: mask for i, mask in enumerate(known) if mask != rules.full[i]}
    still = [box for whole in rules.universe if (box := narrow(whole, limits))]
    found = {}
    for i, attribute in enumerate(rules.attributes):
        states = [bit for bit in attribute.bits.values() if known[i] & bit]
        if len(states) < 2 or attribute.stability == "record":
            continue
        lists = []
        for bit in states:
            after = spread(box for whole in still if (box := narrow(whole, {i: bit})))
            lists.append({j.type for j in call(rules, region, after).candidates})
        shown = [[names for names in lists if judgement.type in names] for judgement in now]
        shown = [some for some in shown if some]
        leaves = sum(sum(map(len, some)) / len(some) for some in shown) / max(len(shown), 1)
        worst = max((len(names) for some in shown for names in some), default=0)
        found[i] = (leaves, worst)
    return found


@pytest.mark.parametrize("batch", range(BATCHES))
def test_looks_equal_brute_force(rules: Rules, batch: int) -> None:
    """On random partial specimens every look has the figures of calls made anew, and none lacks."""
    rng = random.Random(f"looks {batch}")
    rules, region = some_alike(rules, rng)
    held = 0
    while held < PARTIAL // BATCHES:
        known = partial(rules, rng)
        count = len(call(rules, region, known).candidates)
        if count < 2:
            assert looks(rules, region, known) == ()
            continue
        held += 1
        assert_as_called(rules, region, known, count)


def assert_as_called(rules: Rules, region: str, known: Box, count: int) -> None:
    """Hold the looks of a piece with so many candidates against calls made anew."""
    found = {look.attribute: (look.leaves, look.at_worst) for look in looks(rules, region, known)}
    brute = by_calling(rules, region, known)
    wanted = {i: figures for i, figures in brute.items() if figures[0] < count - 1e-9}
    assert found.keys() == wanted.keys()
    for i, (leaves, worst) in wanted.items():
        assert found[i][0] == pytest.approx(leaves)
        assert found[i][1] == worst


def entangled(rules: Rules, rng: random.Random) -> Rules:
    """Return the rules over a few boxes, where states of the blade go with others at random."""
    formed = [i for i, a in enumerate(rules.attributes) if a.stability != "record"]
    blade = [i for i in formed if rules.attributes[i].stability == "blade"]
    boxes = []
    for box in rng.sample(rules.universe, 40):
        masks = list(box)
        for i in (*rng.sample(blade, 4), *rng.sample(formed, 2)):
            masks[i] = masks[i] & rng.randrange(rules.full[i] + 1) or masks[i]
        boxes.append(tuple(masks))
    few = dataclasses.replace(rules, universe=tuple(boxes))
    return few if any(few.pieces.values()) else entangled(rules, rng)


def test_looks_hold_whatever_goes_with_what(rules: Rules) -> None:
    """Figures are those of calls anew where much follows from what is set aside, or sets aside."""
    rng = random.Random("entangled")
    held = aside = together = brought = 0
    while held < 800:
        few, region = some_alike(rules, rng)
        few = entangled(few, rng)
        for known in (partial(few, rng, intact=0.2) for _ in range(20)):
            if (count := len(call(few, region, known).candidates)) < 2:
                continue
            assert_as_called(few, region, known, count)
            held += 1
            after = Prospect.of(few, region, known)
            aside += bool(after.aside)
            together += after.boxes != after.found.boxes
            brought += bool(after.outlook().brought)
    assert min(aside, together, brought) > 12


def test_looks_are_ranked(rules: Rules) -> None:
    """The best look leaves fewest on average; every look listed cuts the candidates."""
    masks = list(rules.full)
    masks[rules.index["haft_style"]] = rules.mask("haft_style", "stemmed")
    known = close(rules, masks)
    found = looks(rules, "central_texas", known)
    leaves = [look.leaves for look in found]
    assert len(found) > 5
    assert leaves == sorted(leaves)
    assert leaves[-1] < len(call(rules, "central_texas", known).candidates)


def test_the_flute_parts_the_two(rules: Rules) -> None:
    """With fluting left open between a fluted type and its unfluted double, look at the flute."""
    masks = list(definition(rules, rules.types["cumberland"]))
    for name in ("fluting", "flute_length"):
        masks[rules.index[name]] = rules.full[rules.index[name]]
    known = close(rules, masks)
    best = next_look(looks(rules, "tennessee_valley", known))
    assert best is not None
    assert rules.attributes[best.attribute].id in ("fluting", "flute_length")


def test_what_cannot_be_seen_is_passed_over(rules: Rules) -> None:
    """The next look is one that can be made; a better one that cannot is told apart."""
    masks = list(rules.full)
    masks[rules.index["haft_style"]] = rules.mask("haft_style", "stemmed")
    known = close(rules, masks)
    haft = frozenset(i for i, a in enumerate(rules.attributes) if a.part in ("haft", "base"))
    found = looks(rules, "central_texas", known, haft)
    best, lost = next_look(found), lost_look(found)
    assert best is not None
    assert lost is not None
    assert best.attribute not in haft
    assert lost.attribute in haft
    assert lost.leaves <= best.leaves
    assert lost_look(looks(rules, "central_texas", known)) is None


def test_one_candidate_needs_no_look(rules: Rules) -> None:
    """With one candidate or none there is no look, however much is open."""
    counts = set()
    for kind in rules.types.values():
        region, known = kind.records[0].region, definition(rules, kind)
        count = len(call(rules, region, known).candidates)
        if count < 2:
            counts.add(count)
            assert looks(rules, region, known) == ()
    assert 1 in counts


def test_a_drill_can_bring_a_type_back(rules: Rules) -> None:
    """Small for a Savannah River, a piece can be one if it proves to have been made over."""
    masks = list(definition(rules, rules.types["savannah_river"]))
    masks[rules.index["size_class"]] = rules.mask("size_class", "small")
    after = Prospect.of(rules, "carolina_piedmont", close(rules, masks))
    number = [*rules.types].index("savannah_river")
    tool = rules.index["reworked_as"]
    assert not after.now >> number & 1
    assert after.left_by([{tool: rules.mask("reworked_as", "drill")}]) >> number & 1
    assert not after.left_by([{tool: rules.mask("reworked_as", "none")}]) >> number & 1


def outcome(rules: Rules, region: str, known: Sequence[int]) -> tuple[str, frozenset[str]]:
    """Return status and types of the call."""
    made = call(rules, region, known)
    return made.status, frozenset(made.types)


def further(rules: Rules, known: Box, over: frozenset[int], rng: random.Random) -> Box:
    """Observe more of a piece that is still possible, in what can still be observed."""
    boxes = [b for b in rules.universe if all(x & y for x, y in zip(b, known, strict=True))]
    box = rng.choice(boxes)
    share = rng.random()
    masks = list(known)
    for i, mask in enumerate(known):
        states = [1 << b for b in range(8) if box[i] & mask & (1 << b)]
        if i not in over and rng.random() < share:
            masks[i] = rng.choice(states)
    return close(rules, masks)


def most_seen(rules: Rules, rng: random.Random) -> tuple[str, Box, frozenset[int]]:
    """Return a piece of a type, most of it seen, and the attributes that cannot be seen of it."""
    kind = rng.choice(list(rules.types.values()))
    box = rng.choice(rules.pieces[kind.id])
    parts = rng.choice([(), (), ("blade", "tip"), ("base",), ("shoulder", "blade", "tip")])
    over = {i for i, a in enumerate(rules.attributes) if a.part in parts}
    masks = list(rules.full)
    for i, mask in enumerate(box):
        if i not in over and rng.random() < 0.97:
            masks[i] = rng.choice([1 << b for b in range(8) if mask >> b & 1])
        elif rng.random() < 0.3:
            over.add(i)
    if rng.random() < 0.7:
        masks[rules.index["reworked_as"]] = rules.mask("reworked_as", "none")
        masks[rules.index["resharpening"]] = rules.mask("resharpening", "none")
    try:
        return rng.choice(kind.records).region, close(rules, masks), frozenset(over)
    except Contradiction:
        return most_seen(rules, rng)


def test_settled_is_never_wrong(rules: Rules) -> None:
    """If a call is settled no further observation changes it; if not, some other one can."""
    rng = random.Random("settled")
    told, open_, unproven = 0, 0, 0
    for _ in range(120):
        region, known, over = most_seen(rules, rng)
        now = outcome(rules, region, known)
        if settled(rules, region, known, over):
            told += 1
            for _ in range(12):
                assert outcome(rules, region, further(rules, known, over, rng)) == now
        else:
            open_ += 1
            unproven += all(
                outcome(rules, region, further(rules, known, over, rng)) == now for _ in range(40)
            )
    assert told > 15
    assert open_ > 12
    assert unproven <= open_ / 5  # rare combinations that forty draws need not meet


def test_a_look_knows_whether_it_can_be_made() -> None:
    """The next look is the first that can be made, the lost one only ever the first of all."""
    seen, gone = NextLook(1, 2.0, 3), NextLook(2, 1.0, 1, visible=False)
    assert (next_look((gone, seen)), lost_look((gone, seen))) == (seen, gone)
    assert (next_look((seen, gone)), lost_look((seen, gone))) == (seen, None)
    assert (next_look((gone,)), lost_look(())) == (None, None)


def test_what_is_only_on_record_is_no_look(rules: Rules) -> None:
    """An attribute that records the state of a piece is not looked for, though it would cut."""
    masks = list(rules.full)
    masks[rules.index["haft_style"]] = rules.mask("haft_style", "stemmed")
    known = close(rules, masks)
    every = [look.attribute for look in looks(rules, "ozarks", known)]
    best = every[0]
    recorded = [
        dataclasses.replace(a, stability="record") if i == best else a
        for i, a in enumerate(rules.attributes)
    ]
    others = dataclasses.replace(rules, attributes=tuple(recorded))
    assert [look.attribute for look in looks(others, "ozarks", known)] == every[1:]
