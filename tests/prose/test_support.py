"""Facts about size and measurements on the page of a type, and the words for what is absent."""

from __future__ import annotations

import pytest

from keygen.core.model import Rules
from keygen.prose.seen import stated
from keygen.prose.typepage import page, support


def test_ranges_support_and_size_defines(rules: Rules) -> None:
    """A page says that ranges never rule the type out, and which criteria of size do."""
    told = page(rules, rules.types["darl"])
    assert "These ranges support a call and never rule the type out" in " ".join(told.split())
    assert support(rules, rules.types["darl"]).endswith("its criterion of size is the size class.")


def test_without_ranges_or_size(small_rules: Rules) -> None:
    """A type without ranges and without a criterion of size has nothing said of either."""
    assert support(small_rules, small_rules.types["cedar"]) == ""
    assert support(small_rules, small_rules.types["alder"]).endswith("never rule the type out.")


@pytest.mark.parametrize(
    ("attribute", "told"),
    [("haft_sides", "not applicable"), ("barb_tip", "absent"), ("notch_count", "absent")],
)
def test_absence_has_its_own_term(rules: Rules, attribute: str, told: str) -> None:
    """What a vocabulary calls its state `none` is said; a mere none is absent."""
    found = rules.attributes[rules.index[attribute]]
    assert stated(found, rules.mask(attribute, "none")) == told
