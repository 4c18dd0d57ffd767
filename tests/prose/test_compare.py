"""Two types side by side."""

from __future__ import annotations

import pytest

from keygen.core.model import Rules
from keygen.prose.compare import compare, compared, comparison, summary


def told(rules: Rules, one: str, other: str) -> str:
    """Return the summary for two types."""
    return summary(compare(rules, rules.types[one], rules.types[other]))


def test_fluting_parts_folsom_and_midland(rules: Rules) -> None:
    """Fluting parts Folsom and Midland on every piece; the flute's length only follows from it."""
    assert told(rules, "folsom", "midland").startswith("Fluting parts them on every piece")
    found = compare(rules, rules.types["folsom"], rules.types["midland"])
    always = {o.attribute.id: o.follows for o in found.that_part("always")}
    assert always == {"fluting": False, "flute_length": True}


@pytest.mark.parametrize(
    ("one", "other", "words"),
    [
        ("alder", "birch", "The stem shape parts them on every piece"),
        ("alder", "dogwood", "No observation parts them on every piece"),
        ("alder", "cedar", "The style of the haft parts them on every piece"),
        ("birch", "dogwood", "The base shape parts them on every piece"),
    ],
)
def test_the_summary_names_what_parts(small_rules: Rules, one: str, other: str, words: str) -> None:
    """The summary names the observation that parts two types, or says that none does."""
    assert told(small_rules, one, other).startswith(words)


def test_types_that_share_no_region_are_told_so(small_rules: Rules) -> None:
    """Types that no region knows together are said to be so."""
    assert told(small_rules, "cedar", "dogwood").endswith("No region knows both.")
    assert "No region knows both" not in told(small_rules, "alder", "birch")


def test_comparing_is_the_same_both_ways(rules: Rules) -> None:
    """What parts A from B parts B from A."""
    kinds = list(rules.types.values())
    for one, other in zip(kinds[::7], kinds[3::7], strict=False):
        there, back = compare(rules, one, other), compare(rules, other, one)
        assert [(o.attribute.id, o.parts) for o in there.observations] == [
            (o.attribute.id, o.parts) for o in back.observations
        ]
        assert there.relation is back.relation


def test_states_that_only_one_can_show_are_named(small_rules: Rules) -> None:
    """An observation that can part two types says which states do so."""
    found = compared(
        small_rules,
        compare(small_rules, small_rules.types["alder"], small_rules.types["dogwood"]),
    )
    observations = found["observations"]
    assert isinstance(observations, list)
    (base,) = [o for o in observations if o["attribute"] == "base_shape"]
    assert base["parts"] == "sometimes"
    assert base["only"] == {"alder": ["straight", "incurvate"], "dogwood": []}


def test_the_page_gives_ages_in_shared_regions_and_the_tell(rules: Rules) -> None:
    """A comparison shows both ages in each region that knows both, and the recorded tell."""
    text = comparison(rules, compare(rules, rules.types["gary"], rules.types["morrow_mountain_ii"]))
    assert "  tennessee_valley\n    Gary: " in text
    assert "\nHow to tell them apart\n" in text
    assert "any, not absent" in text  # stem length of Gary
