"""The order of types in deeply stratified sites, held against the dates of their records.

Sources, from memory: St. Albans, West Virginia (Broyles 1971), and Icehouse Bottom and its
neighbours on the Little Tennessee (Chapman 1977): Kirk corner-notched at the bottom, then the
bifurcates St. Albans, LeCroy and Kanawha, then Stanly; Morrow Mountain above. Carolina Piedmont,
Doerschuk and Gaston sites (Coe 1964): Stanly, Morrow Mountain, Guilford, Savannah River.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from keygen.core.chronology import cal_bp, curve_of
from keygen.core.model import Rules

SEQUENCES = {
    ("appalachian_summit", "Little Tennessee"): (
        "kirk_corner_notched",
        "st_albans",
        "lecroy",
        "kanawha",
        "stanly",
        "morrow_mountain_i",
    ),
    ("tennessee_valley", "Little Tennessee"): (
        "kirk_corner_notched",
        "st_albans",
        "lecroy",
        "kanawha",
        "stanly",
    ),
    ("carolina_piedmont", "Doerschuk, Gaston, Haw River"): (
        "kirk_corner_notched",
        "st_albans",
        "lecroy",
        "stanly",
        "morrow_mountain_i",
        "guilford",
        "savannah_river",
    ),
}


@pytest.mark.parametrize(("place", "types"), SEQUENCES.items(), ids=lambda x: x[0])
def test_order_of_the_layers(place: tuple[str, str], types: tuple[str, ...], rules: Rules) -> None:
    """Types that lie above one another have dates whose mid-points grow younger."""
    curve = curve_of(rules)
    middles = []
    for name in types:
        record = rules.types[name].record(place[0])
        assert record is not None, (name, place)
        middles.append(cal_bp(record.dates, curve).middle)
    for (lower, older), (upper, younger) in pairwise(zip(types, middles, strict=True)):
        assert older > younger, f"{lower} ({older:.0f} cal BP) below {upper} ({younger:.0f})"
