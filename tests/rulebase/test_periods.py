"""Facts about the shipped periods and the curve: what is there, and how it is loaded."""

from __future__ import annotations

import shutil
from itertools import pairwise
from pathlib import Path

import pytest

from keygen import data
from keygen.core.chronology import cal_bp, curve_of, read_curve
from keygen.core.model import Rules
from keygen.core.periods import misses, span
from keygen.errors import KeygenError
from keygen.rulebase.folder import digest, read_folder
from keygen.rulebase.load import load
from tests.conftest import SMALL_RULES

CURVE = "curve/intcal20.csv"


def test_every_region_has_periods(rules: Rules) -> None:
    """Each region lists Early, Middle and Late Archaic, and what came before and after."""
    assert set(rules.periods) == set(rules.regions)
    for periods in rules.periods.values():
        names = {period.name for period in periods}
        assert names >= {"Early Archaic", "Middle Archaic", "Late Archaic"}
        assert names >= {"Early Paleoindian", "Late Paleoindian"}
        assert names & {"Contact", "Protohistoric"}


@pytest.mark.parametrize("era", ["Paleoindian", "Archaic", "Woodland"])
def test_divisions_follow_one_another(rules: Rules, era: str) -> None:
    """Early, middle and late divisions begin and end one after another in every region."""
    curve = curve_of(rules)
    for region, periods in rules.periods.items():
        listed = {period.name: cal_bp(period.dates, curve) for period in periods}
        names = [f"{part} {era}" for part in ("Early", "Middle", "Late")]
        for older, younger in pairwise(listed[name] for name in names if name in listed):
            assert older.start > younger.start, (region, era)
            assert older.end > younger.end, (region, era)


def test_periods_leave_no_century_out(rules: Rules) -> None:
    """From Early Paleoindian on every region's periods follow without a gap over 300 years."""
    curve = curve_of(rules)
    for region, periods in rules.periods.items():
        spans = sorted((cal_bp(p.dates, curve) for p in periods), key=lambda s: -s.start)
        reached = spans[0].end
        for one in spans[1:]:
            assert reached - one.start <= 300, (region, one)
            reached = min(reached, one.end)
        assert reached <= 500, region


def test_span_of_several_periods(rules: Rules) -> None:
    """Several periods together run from the start of the first to the end of the last."""
    curve = curve_of(rules)
    early, middle = rules.periods["florida"][3:5]
    whole = span((middle, early), curve)
    assert whole.start == cal_bp(early.dates, curve).start
    assert whole.end == cal_bp(middle.dates, curve).end


def test_period_notes_are_few(rules: Rules) -> None:
    """Fewer than one record in fifty needs a note on its period, and each such record does."""
    noted = [r for kind in rules.types.values() for r in kind.records if r.period_note]
    records = sum(len(kind.records) for kind in rules.types.values())
    assert 0 < len(noted) < records / 50
    assert all(misses(rules, r.region, r.period, r.dates) for r in noted)


def test_digest_covers_the_curve() -> None:
    """A changed figure of the curve gives the rules another digest."""
    files = read_folder(data.root("rules"))
    changed = files[CURVE].replace(b"\n0,199,11\n", b"\n0,198,11\n")
    assert changed != files[CURVE]
    assert digest({**files, CURVE: changed}) != digest(files)


def test_tables_elsewhere_are_no_rules(tmp_path: Path) -> None:
    """Tables count as rules in the folder of curves only."""
    (tmp_path / "curve").mkdir()
    (tmp_path / "curve" / "kept.csv").write_text("x", encoding="utf-8")
    (tmp_path / "list.csv").write_text("x", encoding="utf-8")
    assert list(read_folder(tmp_path)) == ["curve/kept.csv"]


def test_curve_is_read_when_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Loading rules does not read the curve: a broken one is met by the first date only."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    folder = tmp_path / "rules"
    shutil.copytree(SMALL_RULES, folder)
    (folder / "curve" / "straight.csv").write_text("no curve\n", encoding="utf-8")
    for _ in range(2):  # parsed, then from the cache
        rules = load(folder)
        assert rules.curve is not None
        assert rules.curve.text == "no curve\n"
        with pytest.raises(KeygenError, match=r"rules/curve/straight.csv:1: K211"):
            read_curve(rules.curve)


def test_missing_curve_is_named(tmp_path: Path) -> None:
    """A curve that is named but not there is one clear message."""
    shutil.copytree(SMALL_RULES, tmp_path / "rules")
    (tmp_path / "rules" / "curve" / "straight.csv").unlink()
    with pytest.raises(KeygenError, match="the curve 'straight' is not known"):
        load(tmp_path / "rules")
