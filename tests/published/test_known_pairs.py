"""Forms that bear one name here and another there, as every regional handbook warns.

All of them are common practice of the trade, no source. For each group a piece is written out that
an analyst would call by the first name in one region and by another in the next.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations

import pytest

from keygen.core.call import Standing, by_region, call, elsewhere, judge
from keygen.core.infer import close
from keygen.core.model import Rules
from keygen.core.states import Box


@dataclass(frozen=True)
class Doubles:
    """Types that share a form: the home region of each, and the form, one state an attribute."""

    homes: dict[str, str]
    form: dict[str, str]


SIDE_NOTCHED = {
    "haft_style": "notched",
    "notch_position": "side",
    "notch_form": "broad_u",
    "base_shape": "incurvate",
    "haft_grinding": "both",
    "base_width_class": "equal",
    "size_class": "medium",
}
SQUARE_STEM_NOTCHED_BASE = {
    "haft_style": "stemmed",
    "stem_shape": "straight",
    "stem_length": "medium",
    "base_shape": "incurvate",
    "base_width_class": "narrower",
    "haft_grinding": "none",
    "shoulder_shape": "horizontal",
    "shoulder_strength": "strong",
    "size_class": "medium",
}
CONTRACTING_STEM = {
    "haft_style": "stemmed",
    "stem_shape": "contracting",
    "base_shape": "rounded",
    "haft_grinding": "none",
    "haft_edge": "plain",
    "shoulder_shape": "horizontal",
    "shoulder_strength": "strong",
    "size_class": "medium",
}
SMALL_TRIANGLE = {
    "haft_style": "triangular",
    "base_shape": "straight",
    "ears": "none",
    "haft_grinding": "none",
    "fluting": "none",
    "size_class": "small",
}
DEEP_BASAL_NOTCHES = {
    "haft_style": "notched",
    "notch_position": "basal",
    "notch_form": "narrow_deep",
    "stem_shape": "expanding",
    "base_shape": "straight",
    "shoulder_shape": "barbed",
    "barb_reach": "level",
    "size_class": "medium",
}
BROAD_SQUARE_STEM = {
    "haft_style": "stemmed",
    "stem_shape": "straight",
    "stem_length": "medium",
    "base_shape": "straight",
    "base_width_class": "narrower",
    "haft_grinding": "none",
    "haft_edge": "plain",
    "shoulder_shape": "tapered",
    "shoulder_strength": "strong",
    "size_class": "large",
}
GROUPS = (
    Doubles({"bolen_side_notched": "florida", "big_sandy": "tennessee_valley"}, SIDE_NOTCHED),
    Doubles({"neville": "northeast", "stanly": "carolina_piedmont"}, SQUARE_STEM_NOTCHED_BASE),
    Doubles(
        {"gary": "ozarks", "dickson": "midcontinent", "waubesa": "great_lakes"}, CONTRACTING_STEM
    ),
    Doubles(
        {"madison": "lower_mississippi", "fort_ancient": "upper_ohio", "levanna": "northeast"},
        SMALL_TRIANGLE,
    ),
    Doubles({"eva": "tennessee_valley", "calf_creek": "ozarks"}, DEEP_BASAL_NOTCHES),
    Doubles(
        {"snook_kill": "middle_atlantic", "savannah_river": "carolina_piedmont"},
        BROAD_SQUARE_STEM,
    ),
)
CASES = [
    pytest.param(group, here, there, id=f"{here}-{there}")
    for group in GROUPS
    for here, there in permutations(group.homes, 2)
]


def piece(rules: Rules, form: dict[str, str]) -> Box:
    """Return what follows from a form."""
    masks = list(rules.full)
    for name, state in form.items():
        masks[rules.index[name]] = rules.mask(name, state)
    return close(rules, masks)


@pytest.mark.parametrize(("group", "here", "there"), CASES)
def test_known_doubles(rules: Rules, group: Doubles, here: str, there: str) -> None:
    """Called by the one name at home, the piece is listed elsewhere under the other."""
    known, home = piece(rules, group.form), group.homes[here]
    at_home = {j.type: j for j in call(rules, home, known).candidates}
    assert at_home[here].standing is Standing.CONSISTENT
    away = {(region, j.type) for region, j in by_region(elsewhere(rules, home, known))}
    assert (group.homes[there], there) in away


@pytest.mark.parametrize("group", GROUPS, ids=lambda group: "-".join(group.homes))
def test_forms_are_typical(rules: Rules, group: Doubles) -> None:
    """Each shared form goes against no usual trait of any of the types, size apart."""
    known = piece(rules, group.form)
    for name in group.homes:
        against = judge(rules, rules.types[name], known).usual_against
        assert {rules.attributes[c.attribute].id for c in against} <= {"size_class"}, name
