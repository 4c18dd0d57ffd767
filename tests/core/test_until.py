"""Facts about asking until the call is settled, held against calls made for all that is left."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Iterator, Sequence
from itertools import chain, combinations, product

import pytest

from keygen.core.call import call
from keygen.core.infer import Contradiction, close, gone_parts
from keygen.core.model import Couplet, Criterion, Lead, Rules
from keygen.core.prospect import Prospect
from keygen.core.rework import rework_signs, set_aside
from keygen.core.states import Box, is_single, narrow, spread
from keygen.core.until import beyond, couplet_until_call, on_record, settled
from keygen.core.walk import Answer, Position, Term, may_be_asked, next_couplet, replay, start, take
from tests.core.test_nextlook import outcome, partial, some_alike


def pieces_left(rules: Rules, known: Sequence[int], lead: Lead) -> list[Box]:
    """Return the pieces of the universe, as boxes, that are known and fit a lead."""
    whole = dict(enumerate(known))
    still = [box for every in rules.universe if (box := narrow(every, whole))]
    return [box for some in still for limits in lead.leaves if (box := narrow(some, limits))]


def listed_after(rules: Rules, region: str, known: Box, lead: Lead) -> set[str]:
    """Return the types of which a piece is left after a lead; by the call if it was made over."""
    left = pieces_left(rules, known, lead)
    if not left:
        return set()
    if set_aside(rules, spread(left), frozenset()):
        return {j.type for j in call(rules, region, spread(left)).candidates}
    return {
        kind.id
        for kind in rules.in_region(region)
        if any(all(box[c.attribute] & c.allowed for c in kind.defined_by) for box in left)
    }


def test_what_a_lead_leaves(rules: Rules) -> None:
    """After a lead those types are listed of which some piece is left, blade made over or not."""
    rng = random.Random("leads")
    made_over = fewer = 0
    for _ in range(12):
        some, region = some_alike(rules, rng)
        for _ in range(5):
            known = partial(some, rng)
            prospect = Prospect.of(some, region, known)
            names = [*some.types]
            for couplet in rng.sample(list(some.couplets.values()), 12):
                for lead in couplet.leads:
                    found = prospect.left_by(lead.leaves)
                    wanted = listed_after(some, region, known, lead)
                    assert {n for t, n in enumerate(names) if found >> t & 1} == wanted
                    made_over += bool(prospect.aside and wanted)
                    fewer += found != prospect.now
    assert min(made_over, fewer) > 30


def test_a_state_that_is_ruled_out_leaves_nothing(rules: Rules) -> None:
    """Of what a piece cannot show no type would be listed."""
    known = list(rules.full)
    style = rules.index["haft_style"]
    known[style] = rules.mask("haft_style", "stemmed")
    prospect = Prospect.of(rules, "ozarks", close(rules, known))
    assert prospect.left_by([{style: rules.mask("haft_style", "notched")}]) == 0
    assert prospect.left_by([{style: rules.mask("haft_style", "stemmed")}]) == prospect.now > 0


def plain_choice(rules: Rules, region: str, position: Position) -> str:
    """Weigh every couplet that may be asked by the candidates that its leads leave."""
    known, over = position.known, beyond(rules, position)
    candidates = {j.type for j in call(rules, region, known).candidates}
    aside = set_aside(rules, known, frozenset())
    open_: list[int] = [
        c.attribute
        for name in candidates
        for c in rules.types[name].defined_by
        if known[c.attribute] & ~c.allowed and c.attribute not in aside | over
    ] or [i for i, _ in rework_signs(rules)]
    ranked = []
    for couplet in may_be_asked(rules, position):
        bearing = sum(i in couplet.attributes for i in open_)
        lists = [listed_after(rules, region, known, lead) for lead in couplet.leads]
        shares = [
            sum(len(names) for names in lists if name in names) / sum(name in n for n in lists)
            for name in candidates
            if any(name in names for names in lists)
        ]
        average = round(sum(shares) / len(shares), 9) if shares else 0.0
        if bearing:
            ranked.append((average, -bearing, rules.order[couplet.id], couplet.id))
    first = next_couplet(rules, position)
    assert first is not None
    return min(ranked)[-1] if ranked else first.id


def test_the_couplet_that_leaves_fewest(rules: Rules) -> None:
    """The couplet asked is the one that leaves fewest candidates on average, or none is asked."""
    rng = random.Random("until")
    asked = stopped = 0
    for _ in range(5):
        some, region = some_alike(rules, rng)
        whole = rng.choice(some.pieces[rng.choice(list(some.types))])
        box = tuple(1 << rng.choice([b for b in range(12) if mask >> b & 1]) for mask in whole)
        position, recorded = start(some), False
        while coming := next_couplet(some, position):
            couplet = couplet_until_call(some, region, position)
            if on_record(some, coming):
                assert couplet == coming
            else:
                done = settled(some, region, position.known, beyond(some, position))
                assert (couplet is None) == done
                if done:
                    stopped += 1
                    break
                assert couplet is not None
                assert couplet.id == plain_choice(some, region, position)
                asked += 1
            assert couplet is not None
            position = take(some, position, truly(rng, couplet, coming, box))
            recorded = recorded or on_record(some, coming)
        assert recorded
    assert asked > 40
    assert stopped


def truly(rng: random.Random, couplet: Couplet, coming: Couplet, piece: Box) -> Answer:
    """Answer as is true of a piece; unsure one time in ten, and where the couplet is not for it."""
    fits = [x.letter for x in couplet.leads if any(narrow(piece, limits) for limits in x.leaves)]
    choice = fits[0] if fits and rng.random() < 0.9 else "?"
    return Answer(couplet.id, choice, couplet != coming)


def test_nothing_is_asked_at_the_end(small_rules: Rules) -> None:
    """At the end of the key no couplet is left, whatever the call."""
    position = start(small_rules)
    while couplet := next_couplet(small_rules, position):
        position = take(small_rules, position, Answer(couplet.id, "-"))
    assert couplet_until_call(small_rules, "hills", position) is None


def test_couplets_on_record(small_rules: Rules) -> None:
    """Portion and damage record the state of the piece; haft, base and blade are its form."""
    recorded = {c.id for c in small_rules.couplets.values() if on_record(small_rules, c)}
    assert recorded == {"whole", "which_end", "any_damage", "tip_snapped", "heated"}


def test_what_can_be_asked_no_more(small_rules: Rules) -> None:
    """Beyond are the attributes of couplets passed, ruled out, off every way, or of parts gone."""

    def over(*steps: Answer | Term) -> set[str]:
        found = beyond(small_rules, replay(small_rules, steps))
        return {small_rules.attributes[i].id for i in found}

    damage = {"damage.tip_snap", "damage.heat"}
    haft = {"haft_style", "stem_shape", "base_shape"}
    style = small_rules.index["haft_style"]
    straight = small_rules.mask("base_shape", "straight")
    assert over() == set()
    assert over(Answer("whole", "a")) == {"portion"}
    plain = (Answer("whole", "a"), Answer("any_damage", "a"))
    assert over(*plain) == {"portion", *damage}
    assert over(*plain, Answer("haft_set_off", "?")) == {"portion", *damage, "haft_style"}
    assert over(*plain, Answer("haft_set_off", "b")) == {
        "portion", *damage, "haft_style", "stem_shape"
    }  # fmt: skip
    named = Term(style, small_rules.mask("haft_style", "lanceolate"))
    assert over(named) == {"haft_style", "stem_shape"}
    assert over(Term(small_rules.index["base_shape"], straight)) == {"base_shape"}
    assert over(Answer("base_line", "?", ahead=True)) == set()  # the hollow is still asked
    assert over(Answer("whole", "b"), Answer("which_end", "b")) == {"portion", *haft}
    assert over(Answer("whole", "b"), Answer("which_end", "a")) == {"portion", "blade_shape"}


def looked_at(rules: Rules, known: Box, over: frozenset[int]) -> Iterator[Box]:
    """Yield what follows from every further observation of single states, alone and together."""
    open_ = [i for i, mask in enumerate(known) if not is_single(mask) and i not in over]
    for some in chain.from_iterable(combinations(open_, n) for n in range(1, len(open_) + 1)):
        states = [[1 << b for b in range(12) if known[i] >> b & 1] for i in some]
        for chosen in product(*states):
            masks = list(known)
            for i, bit in zip(some, chosen, strict=True):
                masks[i] = bit
            try:
                yield close(rules, masks)
            except Contradiction:
                continue


def nearly_seen(rules: Rules, rng: random.Random) -> tuple[str, Box, frozenset[int]]:
    """Return a piece with a few attributes open, some of them beyond what will be observed."""
    kind = rng.choice(list(rules.types.values()))
    box = rng.choice(rules.pieces[kind.id])
    masks = [rng.choice([1 << b for b in range(12) if mask >> b & 1]) for mask in box]
    told = [i for i, a in enumerate(rules.attributes) if a.stability != "record"]
    signs = [i for i, _ in rework_signs(rules)]
    bearing = [c.attribute for c in kind.defined_by]
    open_ = {*rng.sample(told, 1), rng.choice(bearing)}
    size = rng.random()
    if size < 0.35:
        open_.add(rng.choice(signs))
    elif size < 0.85:
        for i, spared in rework_signs(rules):
            masks[i] = spared & -spared
    if rng.random() < 0.3:
        open_.add(rules.index["size_class"])
    for i in open_:
        masks[i] = rules.full[i]
    over = frozenset(i for i in open_ if rng.random() < 0.3)
    try:
        known = close(rules, masks)
    except Contradiction:
        return nearly_seen(rules, rng)
    return rng.choice(kind.records).region, known, over


def test_settled_against_every_further_look(rules: Rules) -> None:
    """A call that is told to be settled is left alone by all that can be seen; others are not."""
    rng = random.Random("every look")
    told = changed = unproven = 0
    for _ in range(220):
        region, known, over = nearly_seen(rules, rng)
        now = outcome(rules, region, known)
        others = [outcome(rules, region, then) != now for then in looked_at(rules, known, over)]
        if settled(rules, region, known, over):
            told += bool(others)
            assert not any(others)
        elif any(others):
            changed += 1
        else:
            unproven += 1
    assert min(told, changed) > 30
    assert unproven <= 8


def haft_unseen(rules: Rules, rng: random.Random) -> tuple[str, Box, frozenset[int]]:
    """Return a piece seen but for its haft, of which little can still be observed."""
    kind = rng.choice(list(rules.types.values()))
    box = rng.choice(rules.pieces[kind.id])
    masks, over = list(rules.full), set()
    for i, attribute in enumerate(rules.attributes):
        if attribute.stability != "haft":
            masks[i] = rng.choice([1 << b for b in range(12) if box[i] >> b & 1])
        elif rng.random() < 0.9:
            over.add(i)
    for i, spared in rework_signs(rules):
        masks[i] = spared & -spared
    try:
        known = close(rules, masks)
    except Contradiction:
        return haft_unseen(rules, rng)
    return rng.choice(kind.records).region, known, frozenset(over)


def test_settled_where_no_haft_was_seen(rules: Rules) -> None:
    """Without a haft a piece stays untyped, unless what is still seen can tell of the haft."""
    rng = random.Random("no haft")
    told = changed = 0
    for _ in range(60):
        region, known, over = haft_unseen(rules, rng)
        now = outcome(rules, region, known)
        others = [outcome(rules, region, then) != now for then in looked_at(rules, known, over)]
        if settled(rules, region, known, over):
            told += 1
            assert not any(others)
        changed += any(others)
    assert min(told, changed) > 5


@pytest.mark.parametrize("region", ["hills", "coast"])
def test_settled_on_every_piece_of_the_small_rules(small_rules: Rules, region: str) -> None:
    """Under the small rules a call is settled exactly if no further observation changes it."""
    rng = random.Random(region)
    told = changed = unproven = 0
    for _ in range(150):
        box = rng.choice(small_rules.universe)
        masks = [
            m & -m if rng.random() < 0.6 else w for m, w in zip(box, small_rules.full, strict=True)
        ]
        try:
            known = close(small_rules, masks)
        except Contradiction:
            continue
        gone = gone_parts(small_rules, known)
        over = frozenset(i for i, a in enumerate(small_rules.attributes) if a.part in gone)
        now = outcome(small_rules, region, known)
        others = [
            outcome(small_rules, region, then) != now
            for then in looked_at(small_rules, known, over)
        ]
        if settled(small_rules, region, known, over):
            told += 1
            assert not any(others)
        else:
            changed += any(others)
            unproven += not any(others)
    assert min(told, changed) > 10
    assert unproven == 0


def test_measured_blades_are_weighed(rules: Rules) -> None:
    """A call with all seen is settled, and with nothing seen of it or only the blade it is not."""
    kind = rules.types["gary"]
    single = tuple(mask & -mask for mask in rules.pieces["gary"][0])
    assert settled(rules, "ozarks", single)
    assert not settled(rules, "ozarks", rules.full)
    assert settled(rules, "ozarks", rules.full, frozenset(range(len(rules.attributes))))
    alone = dataclasses.replace(rules, types={"gary": kind})
    assert not settled(alone, "ozarks", rules.full)


def test_a_notch_that_tells_of_a_haft(rules: Rules) -> None:
    """Nobody saw the haft, but the form of a notch is still to be seen and would say notched."""
    style, form = rules.index["haft_style"], rules.index["notch_form"]
    either = Criterion(style, rules.mask("haft_style", "stemmed", "notched"))
    kind = dataclasses.replace(rules.types["gary"], defined_by=(either,), usual=())
    alone = dataclasses.replace(rules, types={"gary": kind})
    every = frozenset(range(len(rules.attributes)))
    masks = list(rules.full)
    for i, spared in rework_signs(rules):
        masks[i] = spared & -spared
    known = close(rules, masks)
    assert outcome(alone, "ozarks", known) == ("untyped", frozenset())
    assert not settled(alone, "ozarks", known, every - {form})
    masks[form] = rules.mask("notch_form", "shallow")
    assert outcome(alone, "ozarks", close(rules, masks)) == ("assigned", frozenset({"gary"}))


def test_flaking_tells_nothing_of_a_haft(rules: Rules) -> None:
    """A stem whose length nobody saw, and that nothing still to be seen tells, stays untyped."""
    length, form = rules.index["stem_length"], rules.index["flaking"]
    short = Criterion(length, rules.mask("stem_length", "short"))
    kind = dataclasses.replace(rules.types["gary"], defined_by=(short,), usual=())
    alone = dataclasses.replace(rules, types={"gary": kind})
    masks = list(rules.full)
    masks[rules.index["haft_style"]] = rules.mask("haft_style", "stemmed")
    for i, spared in rework_signs(rules):
        masks[i] = spared & -spared
    known = close(rules, masks)
    every = frozenset(range(len(rules.attributes)))
    assert outcome(alone, "ozarks", known) == ("untyped", frozenset())
    assert settled(alone, "ozarks", known, every - {form})
    assert not settled(alone, "ozarks", known, every - {length})
