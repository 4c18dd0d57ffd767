"""Facts about what the core is made of: what keeps answers, names of couplets, spans, marks."""

from __future__ import annotations

import pickle
import re
from dataclasses import fields, replace
from math import inf

import pytest

from keygen.core.brief import Cells
from keygen.core.infer import is_open
from keygen.core.later import Later
from keygen.core.marks import mean, read_marks
from keygen.core.memo import taking
from keygen.core.model import Lead, Rules
from keygen.core.span import Span, span, weighted


def test_taking_some_states() -> None:
    """What is taken of a box is a tuple of the places asked for, were it one, none or several."""
    box = (10, 11, 12, 13)
    assert taking([3, 1])(box) == (13, 11)
    assert taking([2])(box) == (12,)
    assert taking([])(box) == ()


def test_later_is_shown_as_the_tuple() -> None:
    """What is worked out later is shown as what it holds, and is no tuple of other members."""
    assert repr(Later(lambda: (3, 5))) == "(3, 5)"
    assert Later(lambda: (3, 5)) != (3, 5, 8)


def test_rules_are_shown_by_their_name(small_rules: Rules) -> None:
    """Rules are shown by edition and digest, not by everything in them."""
    shown = repr(replace(small_rules, edition="2031", digest="ab12"))
    assert shown == "Rules(edition='2031', digest='ab12')"


def test_fields_that_are_put_off(small_rules: Rules) -> None:
    """A field that is put off is worked out when it is first read, once; others do not exist."""
    ready = {field.name: getattr(small_rules, field.name) for field in fields(small_rules)}
    curve, asked = ready.pop("curve"), []

    def work() -> object:
        asked.append("curve")
        return curve

    rules = Rules.put_off(ready, {"curve": work})
    assert (rules.edition, rules.index, asked) == (small_rules.edition, small_rules.index, [])
    assert rules.curve is curve
    assert rules.curve is curve
    assert asked == ["curve"]
    with pytest.raises(AttributeError, match="rules have no 'curves'"):
        rules.curves  # type: ignore[attr-defined]  # noqa: B018
    again = pickle.loads(pickle.dumps(Rules.put_off(ready, {"curve": work})))  # noqa: S301
    assert again.curve == curve
    assert len(asked) == 2


def test_couplets_by_number_and_by_old_id(small_rules: Rules) -> None:
    """A couplet is found by its number, by its id and by every id that it had."""
    assert small_rules.by_number[9].id == "base_line"
    assert set(small_rules.by_number) == set(range(1, 12))
    renamed = replace(small_rules.couplets["heated"], aliases=("burnt", "fired"))
    rules = replace(small_rules, couplets={**small_rules.couplets, "heated": renamed})
    names = rules.couplet_names
    assert [names[n] for n in ("heated", "burnt", "fired")] == ["heated"] * 3
    assert len(names) == len(rules.couplets) + 2


def test_a_lead_is_open_while_one_alternative_is(small_rules: Rules) -> None:
    """A lead stays possible as long as all states of one of its alternatives do."""
    lead = Lead("b", "", ({0: 0b01, 1: 0b10}, {2: 0b100}), "")
    assert is_open(lead, (0b11, 0b10, 0b011))
    assert is_open(lead, (0b10, 0b10, 0b111))
    assert not is_open(lead, (0b01, 0b01, 0b011))


def test_ratio_of_spans() -> None:
    """A ratio is least with the least above and the most below; below nothing there is none."""
    ten, two = Span(10, 9, 12), Span(2, 1.5, 3)
    assert ten.over(two) == Span(5, 3, 8)
    assert Span(0, -3, 3).over(two) == Span(0, -2, 2)
    assert Span(-4, -6, -3).over(two) == Span(-2, -4, -1)
    assert Span(6, 6, inf).over(Span(2, 2, inf)) == Span(3, 0, inf)
    assert ten.over(Span(1, 0, 2)) is None
    assert ten.over(Span(1, -1, 2)) is None


def test_differences_and_sums_of_spans() -> None:
    """Ends are worked out against each other; decimal fractions leave no dust."""
    assert Span(7.4, 7.3, 7.5) - Span(4.4, 4.3, 4.6) == Span(3.0, 2.7, 3.2)
    assert span(7.4 + 4.4, 0.1 + 0.2, 1 / 3) == Span(11.8, 0.3, 0.333333333)
    terms = [(2.0, Span(3, 2, 5)), (-1.0, Span(4, 3, 6)), (0.0, Span(9, 8, inf))]
    assert weighted(10, terms) == Span(12, 8, 17)
    assert weighted(1, [(-0.5, Span(4, 2, inf))]) == Span(-1, -inf, 0)


def test_marks_as_written(small_rules: Rules) -> None:
    """Marks are read place by place; a word or a count that does not fit says what does."""
    nicks = replace(small_rules.scored["nicks"], count=3)
    assert read_marks(nicks, " 1  - 0,1 ") == (frozenset("1"), frozenset(), frozenset("01"))
    with pytest.raises(ValueError, match=re.escape("3 marks are wanted, not 2")):
        read_marks(nicks, "1 1")
    with pytest.raises(ValueError, match=re.escape("'many' is not one of 0, 1")):
        read_marks(nicks, "1 zero,many 0")


def test_mean_of_marks(small_rules: Rules) -> None:
    """Lost places do not count in the mean, and count as lowest or highest in its interval."""
    nicks = replace(small_rules.scored["nicks"], count=4)
    found, counted = mean(nicks, read_marks(nicks, "1 0,1 - -"))
    assert (found, counted) == (Span(0.75, 0.25, 1.0), 2)
    third, counted = mean(nicks, read_marks(nicks, "1 0 0 -"))
    assert (third, counted) == (Span(0.333333333, 0.25, 0.5), 3)


def test_cells_have_to_be_as_many_as_columns(small_rules: Rules) -> None:
    """A row of too few or too many cells is refused with both numbers."""
    cells = Cells(small_rules, [lambda _: {}, lambda _: {}])
    with pytest.raises(ValueError, match=re.escape("1 cells for 2 columns")):
        cells.call(["x"], "hills")
    assert cells.call(["x", "y"], "hills").reason == "haft_unknown"
