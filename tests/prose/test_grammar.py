"""Grammar: lists, sets of states, articles, numbers, measures, sentences."""

from __future__ import annotations

import pytest

from keygen.prose import grammar


@pytest.mark.parametrize(
    ("items", "text"),
    [
        ([], ""),
        (["a"], "a"),
        (["a", "b"], "a and b"),
        (["a", "", "b", "c"], "a, b and c"),
        (["a and b", "c"], "a and b, and c"),
    ],
)
def test_listed(items: list[str], text: str) -> None:
    """A list has commas, one joining word, and no empty items."""
    assert grammar.listed(items) == text


@pytest.mark.parametrize(
    ("words", "graded", "text"),
    [
        (["straight"], True, "straight"),
        (["straight", "excurvate"], True, "straight to excurvate"),
        (["incurvate", "straight", "excurvate"], True, "incurvate to excurvate"),
        (["straight", "pointed"], False, "straight or pointed"),
        (["finely serrated", "coarsely serrated"], True, "finely to coarsely serrated"),
        (["side-notched", "corner-notched"], False, "side- or corner-notched"),
        (["incurvate", "deeply incurvate"], True, "incurvate to deeply incurvate"),
    ],
)
def test_span(words: list[str], graded: bool, text: str) -> None:
    """Graded states are named by their ends, others as alternatives, and a shared end once."""
    assert grammar.span(words, graded) == text


@pytest.mark.parametrize(
    ("phrase", "text"),
    [
        ("short stem", "a short stem"),
        ("expanding stem", "an expanding stem"),
        ("U-shaped notch", "a U-shaped notch"),
        ("unifacial blade", "a unifacial blade"),
        ("unground base", "an unground base"),
        ("8 mm scar", "an 8 mm scar"),
        ("", ""),
    ],
)
def test_article(phrase: str, text: str) -> None:
    """The article follows the sound of the next word."""
    assert grammar.article(phrase) == text


@pytest.mark.parametrize(
    ("entered", "unit", "text"),
    [
        ("34.2", "mm", "34.2 mm"),
        ("34.20+", "mm", "34.20 mm"),
        ("(34,2)", "mm", "34.2 mm"),
        ("3.4 cm", "mm", "3.4 cm"),
        ("110", "deg", "110°"),
        ("1 oz", "g", "1 oz"),
    ],
)
def test_measure(entered: str, unit: str, text: str) -> None:
    """A measure keeps the digits and the unit it was entered with."""
    assert grammar.measure(entered, unit) == text


def test_at_least() -> None:
    """A measure across a break is at least that."""
    assert grammar.at_least("34.2 mm", True) == "at least 34.2 mm"
    assert grammar.at_least("34.2 mm", False) == "34.2 mm"


def test_some() -> None:
    """A long list names its first items and counts the rest, but never counts one alone."""
    assert grammar.some("abcde", 3, "things") == "a, b, c and two other things"
    assert grammar.some("abcd", 3, "things") == "a, b, c and d"


def test_numbers() -> None:
    """Counts below ten are words, and their nouns agree."""
    assert grammar.counted(1, "type") == "one type"
    assert grammar.counted(2, "type") == "two types"
    assert grammar.counted(12, "type") == "12 types"
    assert grammar.counted(2, "miss", "misses") == "two misses"


@pytest.mark.parametrize("white", [chr(n) for n in range(0x110000) if chr(n).isspace()])
def test_white_space(white: str) -> None:
    """All white space is tidied alike, whatever its kind and wherever it stands."""
    assert grammar.fragment(f"{white}the base{white}is straight{white} ") == "the base is straight"


def test_sentence() -> None:
    """A sentence has single spaces, a capital, none before a comma, and one full stop."""
    assert (
        grammar.sentence("  the base\n is straight , and\n (x ) ")
        == "The base is straight, and (x)."
    )
    assert grammar.sentence("Done.") == "Done."
    assert grammar.sentence("piece .5/a is ../b") == "Piece .5/a is ../b."  # not stops
    assert grammar.sentence(" \n") == ""


def test_plain() -> None:
    """A label loses what stands in brackets."""
    assert grammar.plain("haft (stem) length") == "haft length"
