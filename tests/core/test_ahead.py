"""Facts about couplets asked ahead of their turn, and about how much of the key is to come."""

from __future__ import annotations

import random
from collections.abc import Iterable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keygen.core.ahead import left_at_most, left_if_plain
from keygen.core.infer import Contradiction, gone_parts
from keygen.core.model import Rules
from keygen.core.states import Box, narrow
from keygen.core.walk import (
    Answer,
    Choice,
    Passed,
    Position,
    Term,
    may_be_asked,
    next_couplet,
    replay,
    start,
    take,
)
from keygen.rulebase.load import shipped

SEEDS = st.integers(0, 10**9)


def wander(rules: Rules, rng: random.Random, choices: str, steps: int = 99) -> Position:
    """Walk with random answers, every third of them ahead of its turn."""
    position = start(rules)
    for _ in range(steps):
        asked = may_be_asked(rules, position)
        if not asked:
            break
        couplet = asked[0] if rng.random() < 0.6 else rng.choice(asked)
        choice: Choice = rng.choice(choices)  # type: ignore[arg-type]
        position = take(rules, position, Answer(couplet.id, choice, couplet != asked[0]))
    return position


@given(SEEDS)
@settings(max_examples=12, deadline=None)
def test_whatever_is_asked_can_be_answered(seed: int) -> None:
    """Both leads of a couplet that is asked, or asked ahead, can be taken whatever was doubted."""
    rules, rng = shipped(), random.Random(seed)
    position = wander(rules, rng, "aabb??-", rng.randrange(40))
    asked = may_be_asked(rules, position)
    for couplet in {c.id: c for c in (*asked[:1], *rng.sample(asked, min(3, len(asked))))}.values():
        for lead in couplet.leads:
            after = take(rules, position, Answer(couplet.id, lead.letter, couplet != asked[0]))
            assert any(narrow(after.known, limits) for limits in lead.leaves)


def truthful(rules: Rules, piece: Box, rng: random.Random, early: float) -> Position:
    """Walk with the answers that are true of a piece, some of them ahead of their turn."""
    position = start(rules)
    while asked := may_be_asked(rules, position):
        couplet = rng.choice(asked) if rng.random() < early else asked[0]
        (true,) = (
            lead.letter
            for lead in couplet.leads
            if any(narrow(piece, limits) for limits in lead.leaves)
        )
        position = take(rules, position, Answer(couplet.id, true, couplet != asked[0]))
    return position


@given(SEEDS)
@settings(max_examples=6, deadline=None)
def test_ahead_or_in_turn_leaves_the_same(seed: int) -> None:
    """True answers leave the same states in whatever order they are given, and never contradict.

    Of a part that turns out to be gone only what was answered ahead of that is known.
    """
    rules, rng = shipped(), random.Random(seed)
    box = rng.choice(rules.universe)
    piece = tuple(1 << rng.choice([b for b in range(12) if m >> b & 1]) for m in box)
    plain = truthful(rules, piece, rng, 0.0)
    mixed = truthful(rules, piece, rng, 0.5)
    assert narrow(mixed.known, dict(enumerate(piece))) == piece
    for i, (one, other) in enumerate(zip(mixed.known, plain.known, strict=True)):
        assert not one & ~other
        assert one == other or gone_parts(rules, piece), rules.attributes[i].id
    assert replay(rules, mixed.steps) == mixed


@given(SEEDS)
@settings(max_examples=12, deadline=None)
def test_an_early_answer_holds_on_every_way(seed: int) -> None:
    """What was answered ahead, though other couplets are doubted, is true of all that is left."""
    rules, rng = shipped(), random.Random(seed)
    position = wander(rules, rng, "ab??-", rng.randrange(10, 99))
    for step in position.steps:
        if isinstance(step, Answer) and step.ahead and step.choice in ("a", "b"):
            leaves = rules.couplets[step.couplet].lead(step.choice).leaves
            for branch in position.branches:
                assert all(any(narrow(box, x) for x in leaves) for box in branch.boxes)


def reaches_end(rules: Rules, here: str, known: Box, without: str) -> bool:
    """Tell whether some way along leads still possible comes to the end without one couplet."""
    if here == without:
        return False
    return not here or any(
        reaches_end(rules, lead.go, known, without)
        for lead in rules.couplets[here].leads
        if any(all(known[i] & m for i, m in limits.items()) for limits in lead.leaves)
    )


def plainly_asked(rules: Rules, position: Position) -> Iterable[str]:
    """Return the couplets without which no way comes to the end, and that can still be asked."""
    known, passed = position.known, {p.couplet for p in position.trail}
    for name in sorted(rules.couplets, key=lambda name: rules.order[name]):
        couplet = rules.couplets[name]
        both = all(
            any(all(known[i] & m for i, m in limits.items()) for limits in lead.leaves)
            for lead in couplet.leads
        )
        there = both and name not in passed and couplet.part not in gone_parts(rules, known)
        if there and not any(reaches_end(rules, b.at, known, name) for b in position.branches):
            yield name


def test_what_may_be_asked(small_rules: Rules) -> None:
    """The next couplet may be asked, and each that stands on every way, both leads still open."""
    ahead = 0
    for seed in range(120):
        rng = random.Random(seed)
        position = wander(small_rules, rng, "aabb?-", rng.randrange(8))
        asked = [couplet.id for couplet in may_be_asked(small_rules, position)]
        coming = next_couplet(small_rules, position)
        if coming is None:
            assert asked == []
            continue
        assert asked[0] == coming.id
        assert asked[1:] == [n for n in plainly_asked(small_rules, position) if n != coming.id]
        ahead += len(asked) > 2
    assert ahead > 20


def test_asked_ahead_is_not_asked_again(small_rules: Rules) -> None:
    """A couplet answered ahead is passed when its turn comes, and stands once in the trail."""
    position = take(small_rules, start(small_rules), Answer("base_line", "b", ahead=True))
    position = take(small_rules, position, Answer("base_hollow", "a", ahead=True))
    asked = []
    while couplet := next_couplet(small_rules, position):
        asked.append(couplet.id)
        position = take(small_rules, position, Answer(couplet.id, "a"))
    assert asked == ["whole", "any_damage", "haft_set_off", "stem_spreads", "blade_line"]
    base = small_rules.index["base_shape"]
    assert position.known[base] == small_rules.mask("base_shape", "incurvate")
    assert sorted(p.couplet for p in position.trail) == sorted({p.couplet for p in position.trail})
    assert Passed("base_line", "b", "asked") in position.trail


def test_unsure_ahead_and_settled_later(small_rules: Rules) -> None:
    """After an unsure answer ahead of its turn, a term that says it leaves the one way open."""
    position = take(small_rules, start(small_rules), Answer("base_line", "?", ahead=True))
    straight = small_rules.mask("base_shape", "straight")
    position = take(small_rules, position, Term(small_rules.index["base_shape"], straight))
    for name in ("whole", "any_damage", "haft_set_off", "stem_spreads"):
        position = take(small_rules, position, Answer(name, "a"))
    assert {branch.at for branch in position.branches} == {"blade_line"}
    assert position.known[small_rules.index["base_shape"]] == straight


def test_shoulders_seen_early_are_seen(rules: Rules) -> None:
    """Who sees shoulders has seen them, though unsure before whether the haft is set off."""
    doubted = take(rules, start(rules), Answer("haft_set_off", "?", ahead=True))
    seen = take(rules, doubted, Answer("shoulders_seen", "a", ahead=True))
    shape = rules.index["shoulder_shape"]
    assert doubted.known[shape] & rules.mask("shoulder_shape", "none")
    assert not seen.known[shape] & rules.mask("shoulder_shape", "none")


def test_what_cannot_be_asked_is_refused(small_rules: Rules) -> None:
    """Out of turn without saying so, off the way, or unknown: a couplet is refused by its name."""
    here = start(small_rules)
    for answer in (
        Answer("base_line", "a"),
        Answer("base_hollow", "a", ahead=True),
        Answer("no_such", "a"),
        Answer("no_such", "a", ahead=True),
    ):
        with pytest.raises(Contradiction, match=f"couplet '{answer.couplet}' is not the one"):
            take(small_rules, here, answer)
    style = small_rules.index["haft_style"]
    stemmed = take(small_rules, here, Term(style, small_rules.mask("haft_style", "stemmed")))
    with pytest.raises(Contradiction, match="nothing is left that fits this"):
        take(small_rules, stemmed, Term(style, small_rules.mask("haft_style", "lanceolate")))


def test_how_much_is_still_to_come(small_rules: Rules) -> None:
    """Counted by hand: eleven couplets at most and six if all is plain, fewer as answers come."""

    def left(*steps: Answer | Term) -> tuple[int, int]:
        position = replay(small_rules, steps)
        return left_at_most(small_rules, position), left_if_plain(small_rules, position)

    style = small_rules.index["haft_style"]
    assert left() == (11, 6)
    assert left(Answer("whole", "a")) == (9, 5)
    # lead a of the next couplet says the haft end; then the blade is gone, and its couplet with it
    assert left(Answer("whole", "b")) == (10, 5)
    assert left(Answer("whole", "b"), Answer("which_end", "a")) == (8, 4)
    assert left(Answer("whole", "b"), Answer("which_end", "b")) == (4, 2)
    assert left(Term(style, small_rules.mask("haft_style", "lanceolate"))) == (8, 4)
    whole = (Answer("whole", "a"), Answer("any_damage", "a"))
    assert left(*whole) == (6, 4)
    # both branches: five couplets can be reached, though the ways are five and three long
    assert left(*whole, Answer("haft_set_off", "?")) == (5, 3)
    assert left(*whole, Answer("blade_line", "a", ahead=True)) == (5, 3)
    done = (*whole, *(Answer(n, "a") for n in ("haft_set_off", "stem_spreads", "base_line")))
    assert left(*done) == (1, 1)
    assert left(*done, Answer("blade_line", "-")) == (0, 0)


def test_the_branch_furthest_behind_is_asked_first(small_rules: Rules) -> None:
    """Of two branches the couplet that stands earlier in the key is next, not in the alphabet."""
    steps = [Answer("whole", "a"), Answer("any_damage", "a"), Answer("haft_set_off", "?")]
    position = replay(small_rules, steps)
    assert {branch.at for branch in position.branches} == {"stem_spreads", "base_line"}
    coming = next_couplet(small_rules, position)
    assert coming is not None
    assert coming.id == "stem_spreads"


def plainly_left(rules: Rules, position: Position) -> int:
    """Follow every way that is still open, branch by branch, and count what is asked on it."""
    known, met = position.known, {p.couplet for p in position.trail}
    gone, found = gone_parts(rules, known), dict[str, tuple[int, frozenset[str]]]()

    def left(name: str) -> tuple[int, frozenset[str]]:
        if not name:
            return 0, frozenset()
        if name not in found:
            couplet = rules.couplets[name]
            open_ = [
                lead
                for lead in couplet.leads
                if any(narrow(known, limits) is not None for limits in lead.leaves)
            ]
            onward = [left(lead.go) for lead in open_ or couplet.leads]
            asks = len(open_ or couplet.leads) == 2 and couplet.part not in gone
            here = frozenset({name}) if asks and name not in met else frozenset[str]()
            longest = max(length for length, _ in onward) + len(here)
            found[name] = longest, here.union(*(names for _, names in onward))
        return found[name]

    ways = [left(branch.at) for branch in position.branches]
    every = frozenset[str]().union(*(names for _, names in ways))
    return min(len(every), sum(length for length, _ in ways))


def test_no_more_than_the_longest_ways(rules: Rules, small_rules: Rules) -> None:
    """What is still to come is the longest way of every branch, or all that they can reach."""
    fewer = 0
    for seed, (some, choices) in enumerate([(rules, "ab-")] * 6 + [(small_rules, "ab?-")] * 60):
        rng = random.Random(seed)
        position = wander(some, rng, choices, rng.randrange(25 if some is rules else 6))
        wanted = plainly_left(some, position)
        assert left_at_most(some, position) == wanted
        fewer += wanted < len(some.couplets) - len(position.trail)
    assert fewer > 10
