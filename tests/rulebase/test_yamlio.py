"""Facts about the strict YAML reader."""

import pytest

from keygen.errors import KeygenError
from keygen.rulebase.yamlio import MAX_DEPTH, parse


def test_words_stay_words() -> None:
    """YAML's looser readings are not used: no, on, dates and times stay text."""
    text = "a: no\nb: on\nc: 2026-05-02\nd: 1:30\ne: 010\nf: true\ng: 1.10\nh: -550\ni: null\n"
    assert parse(text, "x.yaml").data == {
        "a": "no",
        "b": "on",
        "c": "2026-05-02",
        "d": "1:30",
        "e": "010",
        "f": True,
        "g": 1.1,
        "h": -550,
        "i": None,
    }


def test_positions_are_kept() -> None:
    """Every value knows its line and column, and a missing path answers with what is around it."""
    document = parse("a:\n  b: [x, y]\n", "x.yaml")
    assert document.place(("a", "b", 1)) == (2, 10)
    assert document.place(("a", "b")) == (2, 3)
    assert document.place(("a", "nothing", 7)) == (1, 1)


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("a: 1\na: 2\n", 2, "written twice"),
        ("a: &x 1\nb: *x\n", 1, "anchors and aliases"),
        ("a: !!python/object:os.system x\n", 1, "tag"),
        ("a: [1, 2\nb: 3\n", 2, "not readable as YAML"),
        ("? [a, b]\n: 1\n", 1, "plain word"),
        ("a: 1\n--- \nb: 2\n", 2, "not readable as YAML"),
        ("a: 1\nb: x\0\n", 2, "U+0000 is not allowed"),
        ('a: 1\nb: "\\x1b[31m"\n', 2, "hidden character U+001B"),
        ("a: 1\nb: x\u202ey\n", 2, "hidden character U+202E"),
        ('"\\u200fa": 1\n', 1, "hidden character U+200F"),
        ("a: 1\nb: \ud800\n", 2, "half of a character"),
        ("a:\n\tb: 1\n", 2, "a tab is used to indent here"),
        ("a: " + "[" * (MAX_DEPTH + 5) + "]" * (MAX_DEPTH + 5), 1, "nested too deeply"),
    ],
)
def test_refused(text: str, line: int, words: str) -> None:
    """What could change meaning silently is refused, at its line, in one message."""
    with pytest.raises(KeygenError) as caught:
        parse(text, "x.yaml")
    (problem,) = caught.value.problems
    assert (problem.file, problem.line) == ("x.yaml", line)
    assert words in problem.what


def test_alias_bomb_is_refused_quickly() -> None:
    """Aliases that would unfold without end are refused before they are built."""
    levels = "".join(f"l{i}: &l{i} [*l{i - 1}, *l{i - 1}]\n" for i in range(1, 60))
    with pytest.raises(KeygenError, match="anchors and aliases"):
        parse("l0: &l0 [x]\n" + levels, "x.yaml")
