"""Sets of states in one number: what one addition tells is what a look at each attribute tells."""

from __future__ import annotations

from copy import copy
from random import Random

import pytest

from keygen.core.infer import close
from keygen.core.judging import Judgement, Standing, judge
from keygen.core.model import Rules
from keygen.core.packing import Packing
from keygen.core.states import Box
from keygen.rulebase.load import shipped

FULL = (0b1, 0b11, 0b11111, 0b111)
WIDE = ((1 << 8) - 1, 0b11, (1 << 16) - 1, (1 << 20) - 1, (1 << 32) - 1, (1 << 64) - 1)


@pytest.fixture(scope="module")
def rules() -> Rules:
    """Return the shipped rules."""
    return shipped()


@pytest.mark.parametrize("full", [FULL, WIDE])
@pytest.mark.parametrize("seed", range(40))
def test_flags_tell_which_attributes_have_states(seed: int, full: Box) -> None:
    """An attribute is flagged exactly if some of its states are in the set."""
    chance, packing = Random(seed), Packing(full)
    box = tuple(chance.choice((0, chance.randint(0, mask), mask)) for mask in full)
    packed = packing.pack(box)
    assert packing.unpack(packed) == box
    assert tuple(packing.mask(packed, i) for i in range(len(full))) == box
    having = [i for i, mask in enumerate(box) if mask]
    assert packing.flagged(packed) == packing.flags_of(having)
    assert packing.flagged(packed) == sum(packing.flags[i] for i in having)


@pytest.mark.parametrize("full", [FULL, WIDE])
def test_flags_are_no_states(full: Box) -> None:
    """The bits of all states and those of all flags are different ones, each in its number."""
    packing = Packing(full)
    assert packing.every_state & packing.every_flag == 0
    assert packing.every_state.bit_count() == sum(mask.bit_count() for mask in full)
    assert packing.every_flag.bit_count() == len(full)
    assert packing.every_flag.bit_length() <= packing.offsets[-1]
    assert packing.every_state == packing.pack(full)


def test_an_attribute_is_flagged_once() -> None:
    """The flags of some attributes hold each of them, however often it is named."""
    packing = Packing(FULL)
    assert packing.flags_of([]) == 0
    assert packing.flags_of([2, 2, 0]) == packing.flags[0] | packing.flags[2]


@pytest.mark.parametrize("full", [FULL, WIDE])
def test_each_bit_has_its_attribute(full: Box) -> None:
    """Every state and every flag belongs to the attribute that it was packed for."""
    packing = Packing(full)
    for i, (mask, flag) in enumerate(zip(full, packing.flags, strict=True)):
        bits = [packing.offsets[i] + n for n in range(mask.bit_length())]
        owners = {packing.owners[bit] for bit in (*bits, flag.bit_length() - 1)}
        assert owners == {i}
    assert len(packing.owners) == packing.offsets[-1]


def test_equal_judgements_are_equal(rules: Rules) -> None:
    """Judgements are equal if all that they say is, wherever they were made."""
    known = close(rules, rules.full)
    kind, other = list(rules.types.values())[:2]
    made, again = judge(rules, kind, known), judge(rules, kind, known)
    assert made == again
    assert made is not again
    assert len({made, again, judge(rules, other, known)}) == 2
    assert made != kind.id
    less: Judgement = copy(made)
    less.measures_out = kind.measures or other.measures or (None,)  # type: ignore[assignment]
    assert made != less
    assert repr(made) == f"Judgement({kind.id!r}, {made.standing.name.lower()})"
    assert made.standing is Standing.POSSIBLE
