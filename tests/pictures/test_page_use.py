"""Facts about the pocket page in the hand: clicks, keys, reloading, downloads, sizes, contrast."""

from __future__ import annotations

import io
import random
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from keygen.core.model import Rules
from keygen.core.walk import Answer, Choice, Position, Term, back, next_couplet, start, take
from keygen.pictures.page import page
from keygen.specimens.history import key_call
from keygen.specimens.path import write
from keygen.specimens.record import examined, read_text, to_text
from keygen.specimens.screen import left
from keygen.specimens.terms import Lexicon
from tests.pictures.browser import (
    DESK,
    FAINT,
    NAMELESS,
    PHONE,
    SMALL,
    Watched,
    browser,
    opened,
)
from tests.pictures.walks import Walk, told

REGION = "carolina_piedmont"
KEYS: dict[Choice, str] = {"a": "a", "b": "b", "?": "u", "-": "n"}
NAMES: dict[Choice, str] = {"?": "Unsure", "-": "Cannot be seen"}


@pytest.fixture(scope="module")
def file(rules: Rules, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the page of two regions as a file."""
    made = tmp_path_factory.mktemp("page") / "points.html"
    made.write_text(page(rules, [REGION, "ozarks"]), encoding="utf-8")
    return made


@pytest.fixture(scope="module")
def context(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Return a browser with a profile of its own, off-line throughout."""
    with browser(tmp_path_factory.mktemp("profile")) as found:
        found.set_offline(True)
        yield found


@pytest.fixture
def shown(context: Any, file: Path) -> Iterator[Watched]:
    """Return the page just opened, with nothing kept from other tests."""
    with opened(context, file) as watched:
        watched.page.evaluate("localStorage.clear()")
        watched.page.reload()
        yield watched


def download(shown: Watched, button: str) -> bytes:
    """Return what a button gives to download."""
    with shown.page.expect_download() as waiting:
        shown.page.get_by_role("button", name=button).first.click()
    return Path(waiting.value.path()).read_bytes()


def act(rules: Rules, rng: random.Random, shown: Watched, position: Position) -> Position:
    """Answer once, by a click or a key, and return what the core makes of it."""
    couplet = next_couplet(rules, position)
    assert couplet is not None
    luck = rng.random()
    if luck < 0.12 and position.steps:
        if luck < 0.06:
            shown.press("Backspace")
        else:
            shown.page.get_by_role("button", name="Back").click()
        return back(rules, position)
    if luck < 0.22 and position.known[rules.index["blade_shape"]].bit_count() > 1:
        shown.page.fill("#term", "blade shape excurvate")
        shown.page.press("#term", "Enter")
        return take(
            rules,
            position,
            Term(rules.index["blade_shape"], rules.mask("blade_shape", "excurvate")),
        )
    choice: Choice = rng.choices(tuple(KEYS), (5, 4, 1, 1))[0]
    if luck < 0.6:
        shown.press(KEYS[choice])
    elif choice in NAMES:
        shown.page.get_by_role("button", name=NAMES[choice]).click()
    else:
        shown.page.locator(".lead").nth("ab".index(choice)).click()
    return take(rules, position, Answer(couplet.id, choice))


@pytest.mark.parametrize("seed", range(5))
def test_clicks_and_keys_do_what_the_core_does(rules: Rules, shown: Watched, seed: int) -> None:
    """A walk by clicks, keys, terms and steps back stands at each question where the core does."""
    rng = random.Random(seed)
    shown.begin("T-1", REGION)
    position = start(rules)
    for _ in range(14):
        if next_couplet(rules, position) is None:
            break
        position = act(rules, rng, shown, position)
        state = shown.state()
        assert state["path"] == write(rules, position.steps)
        assert state["known"] == list(position.known)
        if state["couplet"]:
            assert shown.page.inner_text(".count") == left(rules, position)
            assert str(state["couplet"]) in shown.page.inner_text("#question")
    wanted = told(rules, Walk(REGION, position))
    found = shown.state()
    assert {**found, "record": ""} == {**wanted, "record": ""}


def test_a_record_reads_back_with_the_same_examination(rules: Rules, shown: Watched) -> None:
    """The record downloaded holds the walk, what was entered, and the call that was shown."""
    shown.begin("T-1: “a”", REGION, "1a 3a 24a 25a")
    shown.press("u")
    shown.open_all()
    entered = {
        "material": "quartz: white",
        "notes": "two lines\nof # notes",
        "call": "Guilford",
        "reason": "?",
    }
    for name, text in entered.items():
        shown.page.fill(f"#field-{name}", text)
    lexicon = Lexicon(rules)
    content = download(shown, "Download this record").decode()
    specimen = read_text(lexicon, content, "T-1.yaml")
    state = shown.state()
    one_line = content.replace("\\u000a", " ")  # the reader takes any white space for a space
    assert to_text(rules, specimen) == one_line
    assert specimen.piece.label == "T-1: “a”"
    assert specimen.piece.details["material"] == "quartz: white"
    assert specimen.piece.notes == "two lines of # notes"
    assert specimen.piece.analyst is not None
    assert specimen.piece.analyst.call == "Guilford"
    call = examined(rules, specimen.piece, REGION).call
    assert call is not None
    assert [j.type for j in call.candidates] == [one["type"] for one in state["candidates"]]
    assert specimen.key_call is not None
    assert specimen.key_call.types == call.types


def test_measurements_are_kept_as_entered(rules: Rules, shown: Watched) -> None:
    """A figure across a break becomes at least that; a slip holds the download up."""
    shown.begin("T-2", REGION, "1a 3b 4b")
    shown.press("a")
    shown.open_all()
    shown.page.fill("#field-length", "34.2 furlongs")
    shown.page.get_by_role("button", name="Download this record").first.click()
    assert shown.page.evaluate("document.activeElement.id") == "field-length"
    assert "34.2" in shown.page.inner_text("#field-length-fault")
    shown.page.fill("#field-length", "34.2")
    content = download(shown, "Download this record").decode()
    specimen = read_text(Lexicon(rules), content, "T-2.yaml")
    assert specimen.piece.readings["length"].entered == "34.2+"
    found = examined(rules, specimen.piece, REGION)
    assert specimen.key_call == key_call(rules, found)


def test_a_measurement_changes_what_is_shown(shown: Watched) -> None:
    """Leaving the field of a measurement tells what it settles, and the reader stays there."""
    shown.begin("T-4", REGION, "1a 3a 24a 25a 33b 34b")
    shown.open_all()
    before = shown.page.inner_text("#types summary h2")
    assert "Measured" not in shown.page.inner_text("#settled")
    shown.page.fill("#field-neck_width", "5.0")
    shown.page.fill("#field-thickness", "3.0")
    shown.page.locator("#field-thickness").press("Tab")
    assert "Measured\nsize class: small (arrow-point range)" in shown.page.inner_text("#settled")
    assert shown.page.inner_text("#types summary h2") != before
    assert shown.page.evaluate("document.activeElement.id").startswith("field-")


def test_the_eye_is_not_overruled(shown: Watched) -> None:
    """Where a measurement disagrees with the eye both are told, and the eye's state stays."""
    shown.begin("T-5", REGION, "1a 3a 24a 25a size_class=large")
    shown.open_all()
    shown.page.fill("#field-neck_width", "5.0")
    shown.page.fill("#field-thickness", "3.0")
    shown.page.locator("#field-thickness").press("Tab")
    told_of = shown.page.inner_text("#settled")
    assert "by eye large, by measurement small (arrow-point range)" in told_of
    state = shown.state()
    assert state["otherwise"] == ["size_class=small"]
    assert 'measured_otherwise: ["size_class=small"]' in state["record"]


def test_nothing_is_lost_on_reload(shown: Watched) -> None:
    """After a reload in the middle of a walk the piece stands where it stood, with its notes."""
    shown.begin("T-3", "ozarks")
    for key in "aaau":
        shown.press(key)
    shown.open_all()
    shown.page.fill("#field-notes", "from the ploughed field")
    before = shown.state()
    shown.page.reload()
    shown.page.locator(".pieces .open").first.click()
    assert shown.state() == before
    assert "from the ploughed field" in before["record"]


def test_pieces_are_exported_together(rules: Rules, shown: Watched) -> None:
    """All pieces come as one archive of records, each with a name of its own, each readable."""
    paths = {"41/7": "1a 3a 24a", "41 7": "1a 3a 24b", "": "1b 2a"}
    for label, path in paths.items():
        shown.begin(label, "ozarks", path)
        shown.page.click("#home")
    archive = zipfile.ZipFile(io.BytesIO(download(shown, "Download all 3")))
    assert archive.testzip() is None
    assert archive.namelist() == ["41_7.yaml", "41_7-2.yaml", "point-3.yaml"]
    lexicon = Lexicon(rules)
    for name, (label, path) in zip(archive.namelist(), paths.items(), strict=True):
        specimen = read_text(lexicon, archive.read(name).decode(), name)
        assert (specimen.piece.label, specimen.path) == (label, path)


def test_a_piece_is_deleted_only_when_asked_twice(shown: Watched) -> None:
    """The first press of Delete asks; only the second deletes."""
    shown.begin("T-4", REGION)
    shown.page.click("#home")
    shown.page.get_by_role("button", name="Delete T-4").click()
    assert shown.page.locator(".pieces .open").count() == 1
    shown.page.get_by_role("button", name="Delete", exact=True).click()
    assert shown.page.locator(".pieces .open").count() == 0


def test_answers_that_no_longer_fit_are_kept_aside(shown: Watched) -> None:
    """A piece begun with other rules keeps the answers that fit, and names those that do not."""
    shown.begin("T-5", REGION, "1a 3a")
    shown.page.evaluate(
        """() => { const key = Object.keys(localStorage)[0];
        const piece = JSON.parse(localStorage[key]);
        piece.answers.push(['9999a'], ['24a']); localStorage[key] = JSON.stringify(piece); }"""
    )
    shown.page.reload()
    shown.page.locator(".pieces .open").first.click()
    assert shown.state()["path"] == "1a 3a"
    assert "9999a 24a" in shown.page.inner_text(".ask")


def test_instructions_of_a_lead_are_shown(rules: Rules, shown: Watched) -> None:
    """Whoever says that sampling is planned is told at once how to treat the piece."""
    shown.begin("T-6", REGION)
    assert str(shown.page.inner_text("#question")).endswith(rules.couplets[rules.start].ask)
    shown.press("b")
    for text in rules.couplets[rules.start].leads[1].do:
        assert text in shown.page.inner_text(".doing")


def test_the_page_works_by_keyboard_alone(shown: Watched) -> None:
    """With Tab, letters and Enter a piece is begun, answered, given a term and taken back."""
    keys = shown.page.keyboard
    for _ in range(20):
        keys.press("Tab")
        if shown.page.evaluate("document.activeElement.id") == "new-label":
            break
    keys.type("T-7")
    keys.press("Enter")
    for key in ("a", "a"):
        assert shown.page.evaluate("document.activeElement.id") == "question"
        keys.press(key)
    while shown.page.evaluate("document.activeElement.id") != "term":
        keys.press("Tab")
    keys.type("corner-notched")
    assert shown.state()["path"] == "1a 3a"  # letters in a field are no answers
    keys.press("Enter")
    assert "notch_position=corner" in shown.state()["path"]
    assert "corner-notched" in shown.page.inner_text("#live")
    keys.press("Backspace")
    assert shown.state()["path"] == "1a 3a"


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_page_fits_the_hand_and_the_eye(shown: Watched, size: dict[str, int]) -> None:
    """On every screen: no scrolling sideways, contrast of 4.5, targets of 44 pixels, all named."""
    shown.page.set_viewport_size(size)

    def looked_at() -> None:
        shown.open_all()
        assert shown.page.evaluate("document.documentElement.scrollWidth") <= size["width"]
        for script in (FAINT, SMALL, NAMELESS):
            assert shown.page.evaluate(script) == []

    looked_at()
    shown.begin("T-8 with a rather long number of its own", REGION)
    shown.press("b")
    looked_at()
    shown.page.fill("#term", "s")
    looked_at()
    for key in "uaaabaau":
        shown.press(key)
    looked_at()
    while shown.state()["couplet"]:
        shown.press("a")
    looked_at()
    shown.page.click("#home")
    looked_at()
