"""What the text of one cell says, whatever kind of column it stands in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, NamedTuple

from keygen.core.measure import Reading
from keygen.core.observe import Observation
from keygen.rulebase.thesaurus import plain

REMEMBERED = 50_000
_DASHES = frozenset(("-", "--", "---", "\u2013", "\u2014"))

# Common practice, no source: what tables hold where there is no state or figure.
EMPTY = frozenset(
    ("not recorded", "not noted", "not observed", "not examined", "not taken", "not measured")
) | frozenset(("nr", "no data", "blank", "nd", "n/d", "not determined"))
MISSING = frozenset(
    ("missing", "na", "n/a", "not applicable", "not present", "not observable", "not visible")
) | frozenset(("cannot be seen", "obscured", "gone", "lost", "broken off", "broken away"))
UNSURE = frozenset(
    ("?", "??", "unsure", "uncertain", "unclear", "indeterminate", "indet", "undetermined")
) | frozenset(("unknown", "unk", "ambiguous", "not sure"))


class Remark(NamedTuple):
    """What is wrong or doubtful about a cell, before its row and column are known."""

    what: str
    remedy: str = ""
    grade: Literal["error", "warning"] = "error"


@dataclass(frozen=True, slots=True)
class Said:
    """What a cell says: observations by attribute index, or a reading, or text."""

    observations: tuple[tuple[int, Observation], ...] = ()
    reading: Reading | None = None
    text: str = ""
    remarks: tuple[Remark, ...] = ()


NOTHING = Said()


class Memo(dict[str, Said]):
    """What the cells of one column said so far, by their text; a new text is read when asked for.

    It is emptied when full, so that a column in which few cells are alike stays small. Where no two
    are alike, as specimen numbers, nothing is remembered.
    """

    def __init__(self, read: Callable[[str], Said], most: int = REMEMBERED) -> None:
        super().__init__()
        self._read = read
        self._most = most

    def __missing__(self, text: str) -> Said:
        said = self._read(text.strip())
        if len(self) >= self._most:
            self.clear()
        if self._most:
            self[text] = said
        return said


def no_state(text: str) -> Literal["", "empty", "missing", "unsure"]:
    """Tell which of the words for no state a cell holds, if it does."""
    if text in _DASHES:
        return "missing"
    word = plain(text).rstrip(".") if "?" not in text else text.strip()
    word = {"n.a": "na", "n.r": "nr", "n.d": "nd"}.get(word, word)
    if not word or word in EMPTY:
        return "empty"
    if word in MISSING:
        return "missing"
    return "unsure" if word in UNSURE else ""


def refused(what: str, remedy: str = "") -> Said:
    """Return that a cell could not be read."""
    return Said(remarks=(Remark(what, remedy),))
