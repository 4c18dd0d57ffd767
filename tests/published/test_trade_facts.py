"""Facts of the trade. All of them: common practice, no source."""

from __future__ import annotations

from statistics import median

import pytest

from keygen.core.call import Call, call, elsewhere
from keygen.core.infer import close
from keygen.core.model import Dates, Rules, Type
from keygen.core.states import Box


def known(rules: Rules, **states: str | tuple[str, ...]) -> Box:
    """Return what follows from a few named states."""
    masks = list(rules.full)
    for name, words in states.items():
        masks[rules.index[name]] = rules.mask(name, *([words] if isinstance(words, str) else words))
    return close(rules, masks)


def listed(made: Call) -> list[str]:
    """Return the ids of all candidates, best first."""
    return [judgement.type for judgement in made.candidates]


def rough_year(dates: Dates) -> float:
    """Return the middle of a range as a year, BC negative; good to a few centuries, no calibration.

    Used only to compare ages that lie thousands of years apart.
    """
    middle = (dates.start + dates.end) / 2
    return 1950 - middle if dates.scale in ("cal BP", "rcybp") else middle


def test_cumberland_and_beaver_lake_differ_in_fluting(rules: Rules) -> None:
    """A fluted and an unfluted lanceolate of the Midsouth with flaring ears differ in the flute."""
    shared = {
        "haft_style": "lanceolate",
        "ears": "flared",
        "base_shape": "incurvate",
        "haft_grinding": "both",
        "haft_waist": "slight",
        "size_class": "medium",
    }
    region = "tennessee_valley"
    fluted = listed(call(rules, region, known(rules, **shared, fluting="both_faces")))
    plain = listed(call(rules, region, known(rules, **shared, fluting="none")))
    assert "cumberland" in fluted
    assert "beaver_lake" not in fluted
    assert "beaver_lake" in plain
    assert "cumberland" not in plain


CONTRACTING: dict[str, str | tuple[str, ...]] = {
    "haft_style": "stemmed",
    "stem_shape": "contracting",
    "base_shape": "rounded",
    "shoulder_shape": "tapered",
    "shoulder_strength": "weak",
    "haft_grinding": "none",
    "haft_edge": "plain",
    "size_class": "medium",
}


def test_contracting_stem_turns_with_the_region(rules: Rules) -> None:
    """Contracting stem, rounded base: Morrow Mountain II in the Piedmont, Gary westward."""
    masks = known(rules, **CONTRACTING)
    east = listed(call(rules, "carolina_piedmont", masks))
    assert "morrow_mountain_ii" in east
    assert "gary" not in east
    for region in ("central_texas", "ozarks"):
        west = listed(call(rules, region, masks))
        assert "gary" in west
        assert "morrow_mountain_ii" not in west
    away = {e.judgement.type for e in elsewhere(rules, "carolina_piedmont", masks)}
    assert "gary" in away


def test_the_western_name_is_the_younger(rules: Rules) -> None:
    """Morrow Mountain II is thousands of years older than Gary."""
    east = rules.types["morrow_mountain_ii"].record("carolina_piedmont")
    west = rules.types["gary"].record("ozarks")
    assert east is not None
    assert west is not None
    assert "Middle Archaic" in east.period
    assert rough_year(west.dates) - rough_year(east.dates) > 2000


@pytest.mark.parametrize(
    ("type_id", "region"), [("eva", "tennessee_valley"), ("calf_creek", "ozarks")]
)
def test_deep_basal_notches(rules: Rules, type_id: str, region: str) -> None:
    """Deep, thin basal notches go with Eva and with Calf Creek."""
    masks = known(
        rules,
        haft_style="notched",
        notch_position="basal",
        notch_form="narrow_deep",
        shoulder_shape="barbed",
        size_class="medium",
    )
    assert type_id in listed(call(rules, region, masks))[:3]


@pytest.mark.parametrize("region", ["tennessee_valley", "ozarks"])
def test_dalton(rules: Rules, region: str) -> None:
    """Dalton is lanceolate with an incurvate base, often bevelled and rhomboid in section."""
    masks = known(
        rules,
        haft_style="lanceolate",
        base_shape="incurvate",
        fluting="none",
        haft_grinding="both",
        ears="flared",
        basal_thinning="present",
        blade_retouch="alternate_bevel",
        cross_section="rhomboid",
        blade_edge="fine",
        size_class="medium",
    )
    found = call(rules, region, masks)
    assert "dalton" in listed(found)[:3]
    (dalton,) = [j for j in found.candidates if j.type == "dalton"]
    usual = {rules.attributes[c.attribute].id for c in dalton.usual_met}
    assert {"blade_retouch", "cross_section"} & usual


def test_bevelling_leans_early(rules: Rules) -> None:
    """Most types that are resharpened by bevelling begin before 6000 BC."""
    retouch = rules.index["blade_retouch"]
    bevel = rules.mask("blade_retouch", "alternate_bevel")
    starts = [
        min(rough_year(record.dates) for record in kind.records)
        for kind in rules.types.values()
        if any(
            c.attribute == retouch and c.allowed & bevel for c in (*kind.defined_by, *kind.usual)
        )
    ]
    assert len(starts) >= 10
    assert median(starts) < -6000


def test_tennessee_valley_sequence(rules: Rules) -> None:
    """Lanceolate before side-notched before straight-stemmed before contracting-stemmed."""

    def middle(**states: str) -> float:
        wanted = {rules.index[name]: rules.mask(name, word) for name, word in states.items()}

        def shows(kind: Type) -> bool:
            allowed = {c.attribute: c.allowed for c in kind.defined_by}
            return all(allowed.get(i) == mask for i, mask in wanted.items())

        years = [
            rough_year(record.dates)
            for kind in rules.types.values()
            if shows(kind) and (record := kind.record("tennessee_valley"))
        ]
        assert len(years) >= 2, states
        return median(years)

    def stemmed(shape: str) -> float:
        stem = rules.index["stem_shape"]
        mask = rules.mask("stem_shape", shape)
        style = rules.mask("haft_style", "stemmed")
        years = []
        for kind in rules.types.values():
            allowed = {c.attribute: c.allowed for c in kind.defined_by}
            record = kind.record("tennessee_valley")
            if record and allowed.get(rules.index["haft_style"]) == style:
                first = allowed.get(stem, 0)
                others = rules.mask(
                    "stem_shape", "contracting" if shape == "straight" else "expanding"
                )
                if first & mask and not first & others:
                    years.append(rough_year(record.dates))
        assert len(years) >= 2, shape
        return median(years)

    lanceolate = middle(haft_style="lanceolate")
    side = middle(haft_style="notched", notch_position="side")
    assert lanceolate < side < stemmed("straight") < stemmed("contracting")


def test_a_drill_is_typed_by_its_haft(rules: Rules) -> None:
    """A point made into a drill has the same candidates as the point with its blade unseen."""
    haft = {
        "haft_style": "notched",
        "notch_position": "corner",
        "base_shape": "straight",
        "haft_grinding": "none",
        "size_class": "medium",
    }
    whole = call(rules, "tennessee_valley", known(rules, **haft))
    drill = call(rules, "tennessee_valley", known(rules, **haft, reworked_as="drill", tip="bit"))
    assert set(listed(whole)) <= set(listed(drill))
    assert whole.candidates
