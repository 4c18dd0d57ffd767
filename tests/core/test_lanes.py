"""What a piece shows of the criteria of all types, against a look at each of them by itself."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from math import log2
from random import Random

import pytest

from keygen.core.judging import Standing, judge
from keygen.core.lanes import lanes
from keygen.core.measure import read
from keygen.core.model import Criterion, Rules
from keygen.core.rework import blade
from keygen.core.states import Fit, compare
from tests.core.test_inverted import seen


def bits(number: int, of: int) -> list[bool]:
    """Return so many bits of a number, the lowest first."""
    return [bool(number >> place & 1) for place in range(of)]


def test_lanes_stand_side_by_side(rules: Rules) -> None:
    """Every type has bits of its own, and they are told apart by what they are for."""
    at = 0
    for lane in lanes(rules).types:
        ready = lane.ready
        assert lane.at == at
        parts = (lane.definition, lane.shown, lane.lacking)
        assert sum(parts) == lane.whole == (1 << lane.whole.bit_length()) - 1
        counts = [part.bit_count() for part in parts]
        assert counts == [len(ready.definition), len(ready.traits), len(ready.traits)]
        at += lane.whole.bit_length()


@pytest.mark.parametrize("seed", range(20))
def test_a_lane_says_what_each_criterion_does(rules: Rules, seed: int) -> None:
    """A bit is set exactly if the criterion by itself is met, shown or not shown."""
    chance, every = Random(f"lanes {seed}"), lanes(rules)
    aside = blade(rules) if seed % 3 == 0 else frozenset[int]()
    known = seen(rules, chance)
    whole = every.of(known, aside)
    for lane in every.types:
        wanted = []
        for weight in lane.ready.definition:
            i, allowed = weight.criterion.attribute, weight.criterion.allowed
            wanted.append(i not in aside and compare(known[i], allowed) is Fit.MET)
        for trait in lane.ready.traits:
            i, allowed = trait.criterion.attribute, trait.criterion.allowed
            fit = compare(known[i], allowed)
            shown = fit is Fit.MET and bool(known[i] & trait.shown)
            wanted += [i not in aside and shown, i not in aside and fit is Fit.AGAINST]
        assert bits(whole >> lane.at & lane.whole, len(wanted)) == wanted


def test_what_is_met_is_weighed_together(rules: Rules) -> None:
    """The criteria that are met give their flags, and their bits of specificity added up."""
    for lane in lanes(rules).types[::9]:
        ready, met, first = lane.ready, lane.met, lane.ready.definition[0]
        assert not any(met[0])
        assert met[1] == (first.flag, first.bits)
        flags, specificity = met[(1 << len(ready.definition)) - 1]
        assert flags == ready.flags
        allowed = [(c.attribute, c.allowed) for c in ready.kind.defined_by]
        left_out = [log2(rules.full[i].bit_count() / mask.bit_count()) for i, mask in allowed]
        assert specificity == pytest.approx(sum(left_out))


def test_a_rank_counts_what_is_usual_and_what_is_not(rules: Rules) -> None:
    """A type goes first by its standing, then by traits and measurements for it less those against.

    Then by how much of all that could be the criteria that are met leave out.
    """
    chance, kinds, counted = Random("rank"), tuple(rules.types.values()), Counter[str]()
    for _ in range(40):
        known = seen(rules, chance)
        readings = {
            name: read(f"{chance.uniform(4, 60):.1f}", "mm")
            for name in chance.sample(("length", "width", "thickness", "haft_length"), 3)
        }
        for kind in chance.sample(kinds, 20):
            judged = judge(rules, kind, known, readings)
            speak = (len(judged.usual_met), len(judged.measures_in))
            deny = (len(judged.usual_against), len(judged.measures_out))
            counted += Counter(usual=speak[0], inside=speak[1], unusual=deny[0], outside=deny[1])
            full = {c.attribute: rules.full[c.attribute] for c in judged.met}
            bits = [log2(full[c.attribute].bit_count() / c.allowed.bit_count()) for c in judged.met]
            standing, support, specificity = judged.rank
            assert standing == judged.standing
            assert support == sum(deny) - sum(speak)
            if judged.standing is not Standing.EXCLUDED:
                assert specificity == pytest.approx(-sum(bits))
    assert min(counted.values()) > 20


def test_what_leaves_all_open_is_always_met(rules: Rules) -> None:
    """A criterion that allows every state is met by any piece, unless it is set aside."""
    gary = rules.types["gary"]
    i = next(i for i in blade(rules) if i not in {c.attribute for c in gary.defined_by})
    wide = replace(gary, defined_by=(Criterion(i, rules.full[i]),))
    every = lanes(replace(rules, types={"gary": wide}))
    assert every.of(rules.full, frozenset()) & 1
    assert not every.of(rules.full, frozenset({i})) & 1
