"""Facts about what can arrive where in the key, held against single pieces sent through it."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

from keygen.core.graph import END, arrivals, possible_masks, universe
from keygen.core.model import Rules
from keygen.core.states import Box, volume


def every_piece(rules: Rules) -> Iterator[Box]:
    """Yield every combination of single states, possible or not."""
    yield from product(*([1 << b for b in range(m.bit_length())] for m in rules.full))


def way(rules: Rules, piece: Box) -> list[str]:
    """Return the couplets that a piece meets, and `END` if it finds a lead at each of them."""
    met, name = [rules.start], rules.start
    while name != END:
        fits = [
            lead
            for lead in rules.couplets[name].leads
            if any(all(piece[i] & mask for i, mask in limits.items()) for limits in lead.leaves)
        ]
        if not fits:
            return met
        (lead,) = fits
        name = lead.go
        met.append(name)
    return met


def holds(box: Box, piece: Box) -> bool:
    """Tell whether a piece is one of those in a box."""
    return all(one & other for one, other in zip(box, piece, strict=True))


def test_boxes_that_arrive_are_the_pieces_that_do(small_rules: Rules) -> None:
    """At every couplet, and at the end, a piece that comes there is in one box, else in none."""
    arriving = arrivals(small_rules)
    assert arriving.keys() == {*small_rules.couplets, END}
    count = 0
    for piece in every_piece(small_rules):
        met = set(way(small_rules, piece))
        for name, boxes in arriving.items():
            assert sum(holds(box, piece) for box in boxes) == (name in met)
        count += END in met
    assert sum(map(volume, universe(small_rules))) == count > 50


def test_the_universe_of_the_shipped_key(rules: Rules) -> None:
    """A piece is in the universe just if it finds a lead at every couplet that it meets."""
    assert universe(rules) == rules.universe
    rng = random.Random("universe")
    inside = 0
    for _ in range(1_500):
        box = rng.choice(rules.universe)
        piece = [1 << rng.choice([b for b in range(12) if mask >> b & 1]) for mask in box]
        if rng.random() < 0.7:
            i = rng.randrange(len(piece))
            piece[i] = 1 << rng.randrange(rules.full[i].bit_length())
        known = any(holds(other, tuple(piece)) for other in rules.universe)
        assert known == (way(rules, tuple(piece))[-1] == END)
        inside += known
    assert 500 < inside < 1_400


def test_a_couplet_that_nothing_leads_to(small_rules: Rules) -> None:
    """Where no lead goes nothing arrives, and what arrives elsewhere is as it was."""
    lost = replace(small_rules.couplets["heated"], id="lost", number=99)
    more = replace(small_rules, couplets={**small_rules.couplets, "lost": lost})
    assert arrivals(more) == {**arrivals(small_rules), "lost": ()}


def by_paths(rules: Rules, attribute: int, name: str, mask: int) -> set[int]:
    """Follow every path of leads, one after another, for one attribute."""
    if name == END:
        return {mask}
    return {
        found
        for lead in rules.couplets[name].leads
        for limits in lead.leaves
        if mask & limits.get(attribute, mask)
        for found in by_paths(rules, attribute, lead.go, mask & limits.get(attribute, mask))
    }


def test_sets_with_which_a_path_can_end(small_rules: Rules) -> None:
    """Every attribute ends with one state; without the couplet on the hollow two are left of it."""
    for i, full in enumerate(small_rules.full):
        found = possible_masks(small_rules, i)
        assert found == by_paths(small_rules, i, small_rules.start, full)
        assert all(mask.bit_count() == 1 for mask in found)
    line = small_rules.couplets["base_line"]
    short = replace(line, leads=(line.leads[0], replace(line.leads[1], go="blade_line")))
    shorter = replace(small_rules, couplets={**small_rules.couplets, "base_line": short})
    assert possible_masks(shorter, small_rules.index["base_shape"]) == {
        small_rules.mask("base_shape", "straight"),
        small_rules.mask("base_shape", "excurvate", "incurvate"),
    }
