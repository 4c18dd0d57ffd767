"""The atlas: every type once, in order of age, at one scale, with ranges where the dates are."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from math import isclose, sqrt
from pathlib import Path
from xml.etree import ElementTree as ET

from syrupy.assertion import SnapshotAssertion

from keygen import data
from keygen.core.model import Record, Rules
from keygen.pictures.atlas import Atlas, atlas
from keygen.pictures.atlaspage import atlas_html, axis
from keygen.rulebase.load import load, shipped
from tests.pictures.atlases import bar, body, ends, of_class, rows, text
from tests.pictures.browser import FAINT, browser, opened
from tests.pictures.pieces import flat, strokes

RULES = shipped()
EVERY = tuple(RULES.regions)
DOTTED = ' stroke-width=".44" stroke-dasharray="0 1.43"'
TOLD = ("h1", "h2", "h3", "h4", "h5", "p", "li", "figcaption", "dt", "dd")
EVIL = "<script>alert('x')</script>\"&amp;"


@cache
def made() -> Atlas:
    """Return the atlas of all regions."""
    return atlas(RULES, EVERY)


@cache
def page() -> str:
    """Return the page of all regions."""
    return atlas_html(made())


@cache
def regions() -> tuple[ET.Element, ...]:
    """Return the part of each region on that page."""
    return tuple(of_class(body(page()), "section", "region"))


def height(drawn: str) -> float:
    """Return how high an outline is in mm: what is drawn in full, or dotted for want of a word."""
    runs = [run for look, found in strokes(drawn) if look in ("", DOTTED) for run in found]
    levels = [y for run in runs for _, y in flat(run)]
    return max(levels) - min(levels)


def test_every_type_stands_once_in_each_part() -> None:
    """Chart, plate and entries of each region hold each type known there once, and no other."""
    sections = regions()
    assert [s.get("id") for s in sections] == [f"r-{name}" for name in EVERY]
    for section, region in zip(sections, EVERY, strict=True):
        known = Counter(kind.id for kind in RULES.in_region(region))
        entries = [str(a.get("id")) for a in section.iter("article")]
        assert Counter(entries) == Counter(f"t-{region}-{name}" for name in known)
        links = [str(row.find("a").get("href")) for row in rows(section)]  # type: ignore[union-attr]
        assert Counter(links) == Counter(f"#t-{region}-{name}" for name in known)
        shown = [str(use.get("href")) for f in section.iter("figure") for use in f.iter("use")]
        assert Counter(shown) == Counter(f"#o-{name}" for name in known)


def test_types_are_in_order_of_age() -> None:
    """The older beginning stands first, then the older end, then the name; numbers follow."""
    for plate in made().plates:
        keys = []
        for entry in plate.entries:
            record = RULES.types[entry.type].record(plate.region)
            assert record
            start, end = ends(RULES, record)
            keys.append((-start, -end, entry.name.casefold()))
        assert keys == sorted(keys)
        assert [e.number for e in plate.entries] == list(range(1, len(keys) + 1))


def dated() -> Iterator[tuple[ET.Element, Record]]:
    """Return each row of the charts with the record that it draws."""
    for section, region in zip(regions(), EVERY, strict=True):
        for row in rows(section):
            name = str(row.find("a").get("href")).removeprefix(f"#t-{region}-")  # type: ignore[union-attr]
            record = RULES.types[name].record(region)
            assert record
            yield row, record


def test_bars_lie_where_the_dates_are() -> None:
    """Each bar runs from the record's older to its younger end, measured back from the page."""
    drawn = made()
    for row, record in dated():
        start, end, _ = bar(row, drawn.oldest)
        wanted = ends(RULES, record)
        assert isclose(start, wanted[0], abs_tol=2)
        assert isclose(end, wanted[1], abs_tol=3)


def test_doubt_shows_in_filling_height_and_words() -> None:
    """Stripes mean an uncertain scale, white what was not read, a low bar the period's range."""
    seen = set()
    for row, record in dated():
        _, _, drawn = bar(row, made().oldest)
        dark, light = ("url(#dark)", "url(#light)") if not record.dates.sure else ("#000", "#fff")
        assert drawn.get("fill") == (dark if record.basis == "read" else light)
        assert (drawn.get("height") == "5") == record.period_range
        words = text(of_class(row, "span", "told")[0])
        assert ("scale uncertain" in words) == (not record.dates.sure)
        assert ("period" in words) == record.period_range
        assert words.endswith(record.basis)
        seen.add((record.dates.sure, record.period_range, record.basis))
    assert len(seen) == 8


def test_one_scale_holds() -> None:
    """Every picture is half as wide and high on paper as in millimetres of the piece."""
    pictures = [svg for part in regions() for svg in of_class(part, "svg", "outline")]
    assert len(pictures) == 2 * sum(len(plate.entries) for plate in made().plates)
    for picture in pictures:
        _, _, wide, high = map(float, str(picture.get("viewBox")).split())
        assert isclose(float(str(picture.get("width")).removesuffix("mm")) * 2, wide, abs_tol=0.02)
        assert isclose(float(str(picture.get("height")).removesuffix("mm")) * 2, high, abs_tol=0.02)


def test_outlines_have_the_recorded_sizes() -> None:
    """Length and width of an outline are the middle of the recorded ranges; else 50 mm long."""
    drawn = dict(re.findall(r'<g id="o-(\w+)">(.*?)</g></g>', page(), re.DOTALL))
    assert set(drawn) == {e.type for plate in made().plates for e in plate.entries}
    checked = Counter[str]()
    for name, inside in drawn.items():
        kind, found = RULES.types[name], made().outlines[name]
        lengths = [m for m in kind.measures if m.measurement == "length"]
        if found.measured and (not lengths or "length" in found.remarks):
            continue
        wanted = sqrt(lengths[0].low * lengths[0].high) if lengths else 50.0
        assert isclose(height(inside), wanted, rel_tol=0.01)
        checked["sized" if found.measured else "common"] += 1
    assert checked["sized"] > 200
    assert checked["common"] > 20


def test_what_has_no_size_says_so() -> None:
    """A dashed bar and words stand under outlines of types without recorded sizes, nowhere else."""
    for section in regions():
        for figure in section.iter("figure"):
            name = str(next(figure.iter("use")).get("href")).removeprefix("#o-")
            sizes = {m.measurement for m in RULES.types[name].measures}
            without = not sizes & {"length", "width", "neck_width", "base_width"}
            (scale,) = (p for svg in figure.iter("svg") for p in svg.findall("path"))
            assert (scale.get("stroke-dasharray") is not None) == without
            assert ("size not recorded" in text(figure)) == without


def test_nothing_is_run_or_fetched() -> None:
    """The page holds no script and no address but places on itself, each of which is there."""
    shown = page()
    assert not re.search(r"<(script|link|img|iframe|object|embed|form|base)\b", shown)
    assert not re.search(r"https?:|//\w|\bsrc=|@import|\son\w+=", shown)
    ids = re.findall(r'\bid="([^"]+)"', shown)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'href="#([^"]+)"', shown)) <= set(ids)
    assert set(re.findall(r"url\(#(\w+)\)", shown)) == {"dark", "light"}
    assert not re.search(r'href="[^#]', shown)
    assert '<html lang="en-GB">' in shown


def test_look_alikes_bear_the_number_of_their_entry() -> None:
    """A look-alike that is known in the region stands with its number there, others without."""
    for plate in made().plates:
        numbers = {e.name: e.number for e in plate.entries}
        for entry in plate.entries:
            assert all(a.number == numbers.get(a.name, 0) for a in entry.alike)
            told = Counter(a.tell.rstrip(".") for a in entry.alike)
            assert told == Counter(a.tell.rstrip(" .") for a in RULES.types[entry.type].look_alikes)


def test_works_are_those_cited() -> None:
    """The list holds the works of definitions, ages and sizes, and says what is from memory."""
    drawn = atlas(RULES, ["florida"])
    (plate,) = drawn.plates
    works = dict(drawn.works)
    cited: dict[str, set[str]] = {}
    for entry in plate.entries:
        kind = RULES.types[entry.type]
        record = kind.record("florida")
        assert record
        facts = [(kind.sources, kind.basis), (record.sources, record.basis)]
        for sources, basis in (*facts, *((m.sources, m.basis) for m in kind.measures)):
            for key in sources:
                cited.setdefault(key, set()).add(basis)
    assert len(works) == len(cited)
    only = sum(bases == {"memory"} for bases in cited.values())
    assert Counter(works.values())["all"] == only > 0


def test_axis_ticks_stand_at_their_years() -> None:
    """A tick of cal BP and the BC or AD year beside it lie 1950 years apart; there is no year 0."""
    found = axis(14_000)
    assert [t.text for t in found.cal_bp][-3:] == ["4000", "2000", "0"]
    cal = {tick.text: 140 * float(tick.at[:-1]) for tick in found.cal_bp}
    years = {tick.text: 140 * float(tick.at[:-1]) for tick in found.years}
    assert cal["0"] == 14_000
    assert isclose(years["AD 1"] - cal["2000"], 2000 - 1949, abs_tol=1)
    assert isclose(years["2000 BC"] - cal["4000"], 4000 - 3949, abs_tol=1)
    assert all(len(axis(years).cal_bp) <= 8 for years in range(1000, 40_000, 1000))


def test_a_type_without_a_date_comes_last(small_rules: Rules) -> None:
    """Where nothing can be placed on the axis, all types stand under a heading of their own."""
    drawn = atlas(replace(small_rules, curve=None), ["hills"])
    (plate,) = drawn.plates
    assert (len(plate.dated), len(plate.undated)) == (0, 3)
    assert "Without a date" in atlas_html(drawn)
    assert "Published ages</h3>" not in atlas_html(drawn)
    assert "Without a date" not in page()


def test_names_are_escaped(small_rules: Rules) -> None:
    """What looks like markup in names, notes and tells is shown as text."""
    kinds = {
        name: replace(kind, name=f"{kind.name}{EVIL}", note=EVIL, also=(EVIL,), cluster=EVIL)
        for name, kind in small_rules.types.items()
    }
    shown = atlas_html(atlas(replace(small_rules, types=kinds), ["hills"]))
    assert "<script" not in shown
    assert text(body(shown)).count(EVIL) > 10


def test_a_pack_has_its_atlas() -> None:
    """The atlas of the Great Basin pack holds its eleven types, all of unrecorded size."""
    pack = load(data.packs()["great_basin"])
    (plate,) = atlas(pack, ["central_great_basin"]).plates
    assert len(plate.entries) == 11
    assert all(e.drawn and e.sized == "none" for e in plate.entries)
    ages = [pack.types[e.type].record(plate.region) for e in plate.entries]
    starts = [r.dates.start for r in ages if r]
    assert all(one <= other for one, other in pairwise(starts))


def test_small_atlas(small_rules: Rules, snapshot: SnapshotAssertion) -> None:
    """The text of a small atlas reads as it was read last."""
    shown = re.sub(
        r"<svg.*?</svg>", "", atlas_html(atlas(small_rules, ["hills", "coast"])), flags=re.S
    )
    shown = re.sub(r"digest \w{12}", "digest ...", shown)
    lines = (text(e) for e in body(shown).iter() if e.tag in TOLD)
    assert "\n".join(line for line in lines if line) == snapshot


def test_on_a_phone(tmp_path: Path) -> None:
    """At 360 pixels nothing runs over the edge, and every text stands out from its ground."""
    file = tmp_path / "atlas.html"
    file.write_text(atlas_html(atlas(RULES, ["ozarks"])), encoding="utf-8")
    with browser(tmp_path / "profile", phone=True) as context, opened(context, file) as watched:
        assert watched.page.evaluate("document.documentElement.scrollWidth") <= 360
        assert watched.page.evaluate(FAINT) == []
        assert (watched.said, watched.asked) == ([], [file.as_uri()])
