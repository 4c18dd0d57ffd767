"""`keygen types` with outlines: atlas, pages, pictures in the terminal."""

from __future__ import annotations

from pathlib import Path

import pytest

from keygen.cli import drawn
from keygen.core.model import Rules
from tests.cli.conftest import Run

BRAILLE = range(0x2801, 0x2900)


def signs(text: str) -> int:
    """Count the signs of which pictures are made."""
    return sum(ord(sign) in BRAILLE for sign in text)


def test_the_atlas_is_written_whole(run: Run, tmp_path: Path) -> None:
    """The atlas of several regions goes to one file, with edition and digest at its foot."""
    target = tmp_path / "atlas.html"
    found = run("types", "-r", "hills", "-r", "Coast", "--as", "atlas", "--out", target)
    assert (found.exit_code, found.stdout, found.stderr) == (0, "", f"{target} written\n")
    page = target.read_text(encoding="utf-8")
    assert "The Hills" in page
    assert "The Coast" in page
    assert "edition 0.1, digest " in page
    again = run("types", "-r", "hills", "-r", "coast", "--as", "atlas")
    assert again.stdout == page
    assert run("types", "-r", "hills", "--as", "atlas", "--out", target).stderr.endswith(
        "replaced\n"
    )


def test_without_a_region_the_atlas_holds_all(run: Run) -> None:
    """Every region with types has its part."""
    page = run("types", "--as", "atlas").stdout
    assert all(f'id="r-{name}"' in page for name in ("hills", "coast"))


@pytest.mark.parametrize(
    ("arguments", "begins"),
    [
        (("alder", "--as", "html"), "<!DOCTYPE html>"),
        (("alder", "--as", "svg"), "<svg "),
        (("--compare", "alder", "birch", "--as", "html"), "<!DOCTYPE html>"),
        (("--compare", "alder", "birch", "--as", "svg"), "<svg "),
    ],
)
def test_types_are_drawn(run: Run, arguments: tuple[str, ...], begins: str) -> None:
    """One type, or two, come as a page or as a picture."""
    found = run("types", *arguments)
    assert found.exit_code == 0
    assert found.stdout.startswith(begins)
    assert "Alder Stemmed" in found.stdout


def test_the_ending_says_the_form(run: Run, tmp_path: Path) -> None:
    """Without --as a file that ends in .html or .svg gets that form, any other the text."""
    for ending, begins in ((".html", "<!DOCTYPE"), (".svg", "<svg"), (".txt", "Alder Stemmed")):
        file = tmp_path / f"alder{ending}"
        assert run("types", "alder", "--out", file).exit_code == 0
        assert file.read_text(encoding="utf-8").startswith(begins)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("alder", "--as", "atlas"), "K721: the atlas holds all types of its regions"),
        (("--period", "archaic", "--as", "atlas"), "K721"),
        (("--as", "html"), "K721: html shows one type, or two with --compare"),
        (("--terms", "alder", "--as", "svg"), "K721"),
        (("alder", "--as", "svg", "--format", "json"), "K720: --format json and svg do not go"),
        (("-r", "hills", "-r", "coast"), "K722: 2 regions are given, and only the atlas takes"),
        (("-r", "hulls", "--as", "atlas"), "Did you mean 'hills'?"),
        (("--as", "atlas", "--out", "no/such/folder/a.html"), "no/such/folder"),
    ],
)
def test_what_cannot_be_made(run: Run, arguments: tuple[str, ...], message: str) -> None:
    """A wrong wish ends in one message and exit code 2."""
    found = run("types", *arguments)
    assert (found.exit_code, found.stdout) == (2, "")
    assert message in " ".join(found.stderr.split())


def test_a_pipe_gets_no_picture(run: Run) -> None:
    """Without a terminal the text comes alone, unless pictures are asked for."""
    plain = run("types", "alder").stdout
    assert signs(plain) == 0
    assert run("types", "alder", "--no-pictures").stdout == plain
    asked = run("types", "alder", "--pictures").stdout
    assert signs(asked) > 20
    assert asked.endswith(plain)
    assert "(schematic from coded attributes)" in asked


def test_a_terminal_gets_pictures(small_rules: Rules, monkeypatch: pytest.MonkeyPatch) -> None:
    """At a terminal pictures come of themselves; two types stand side by side, at one scale."""
    kinds = [small_rules.types[name] for name in ("alder", "birch")]
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    one, both = (drawn.in_signs(small_rules, kinds[:n], None) for n in (1, 2))
    assert 0 < signs(one) < signs(both)
    assert "one scale" in both
    assert "one scale" not in one
    assert drawn.in_signs(small_rules, kinds, False) == ""


def test_json_and_files_have_no_pictures(run: Run, tmp_path: Path) -> None:
    """Pictures are for the eye at the screen: data and files come without."""
    assert signs(run("types", "alder", "--pictures", "--format", "json").stdout) == 0
    file = tmp_path / "alder.txt"
    run("types", "alder", "--pictures", "--out", file)
    assert signs(file.read_text(encoding="utf-8")) == 0


def test_a_house_words_its_own_atlas(run: Run, tmp_path: Path) -> None:
    """A template of the user's own stands in for the shipped one; one that is none is named."""
    own = tmp_path / "own"
    (own / "types").mkdir(parents=True)
    (own / "types" / "atlas.css").write_text("/* the house */", encoding="utf-8")
    (own / "types" / "atlass.css").write_text("", encoding="utf-8")
    found = run("types", "-r", "hills", "--as", "atlas", "--templates", own)
    assert "/* the house */" in found.stdout
    assert "K605" in found.stderr
    assert "types/atlas.css" in found.stderr
