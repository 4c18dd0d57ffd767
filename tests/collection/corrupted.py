"""A table of good rows, and known faults put into one row in fifty.

The rows are invented. Each spoiler puts one fault into a row and knows what is to be said of it.
"""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable
from dataclasses import dataclass

HEADER = (
    *("Specimen No.", "Region", "Portion", "Haft style", "Stem shape", "Base shape"),
    *("Blade form", "Damage", "Length (mm)", "Width (mm)", "Neck width (mm)", "Wt. (g)"),
    *("Raw material", "Date", "Remarks"),
)
EVERY = 50


@dataclass(frozen=True)
class Spoiled:
    """A fault that was put in: its row, column, grade, and a word of what is to be said of it."""

    row: int
    column: str
    grade: str
    word: str


Cells = list[str]
Spoiler = tuple[str, str, str, Callable[[Cells], None]]


def _put(column: str, text: str) -> Callable[[Cells], None]:
    at = HEADER.index(column)

    def put(cells: Cells) -> None:
        cells[at] = text

    return put


def _unlike(cells: Cells) -> None:
    _put("Haft style", "triangular")(cells)
    _put("Stem shape", "contracting")(cells)


def _fragment(cells: Cells) -> None:
    _put("Portion", "distal fragment")(cells)
    _put("Damage", "none")(cells)


SPOILERS: tuple[Spoiler, ...] = (
    ("Haft style", "error", "Did you mean 'stemmed'?", _put("Haft style", "stemed")),
    ("Stem shape", "error", "not a state of stem_shape", _put("Stem shape", "contracting/wavy")),
    ("Blade form", "error", "not a state of blade_shape", _put("Blade form", "48.2")),
    ("Base shape", "warning", "read as unsure", _put("Base shape", "straight?")),
    ("Damage", "error", "both none and something", _put("Damage", "none; heat damage")),
    ("Length (mm)", "error", "is not a measurement", _put("Length (mm)", "4O.2")),
    ("Length (mm)", "warning", "If it is in cm, it is 48 mm.", _put("Length (mm)", "4.8")),
    ("Wt. (g)", "error", "Leave the cell empty", _put("Wt. (g)", "0")),
    ("Neck width (mm)", "warning", "more than the maximum", _put("Neck width (mm)", "55.0")),
    ("Region", "error", "Did you mean 'ozarks'?", _put("Region", "ozrks")),
    ("Date", "error", "two dates", _put("Date", "3/4/2024")),
    ("Specimen No.", "warning", "is also in row 2", _put("Specimen No.", "T-2")),
    ("Haft style", "warning", "yet the haft did not survive", _fragment),
    ("", "error", "cells, the header", lambda cells: cells.append("beyond")),
    ("", "error", "quotation mark", _put("Remarks", '"5" long')),
    ("Haft style, Stem shape", "error", "no piece can show these together", _unlike),
)


def good(number: int, chance: random.Random) -> Cells:
    """Return a row without any fault."""
    length = chance.uniform(35, 75)
    return [
        f"T-{number}",
        chance.choice(("", "ozarks", "Southern Piedmont")),
        chance.choice(("complete", "Whole", "nearly complete")),
        "stemmed",
        chance.choice(("contracting", "straight/contracting", "tapered", "?")),
        chance.choice(("straight", "rounded", "excurvate or rounded", "")),
        chance.choice(("excurvate", "convex", "straight", "missing")),
        chance.choice(("none", "heat damage", "edge nicks; potlids")),
        f"{length:.1f}",
        f"{length * 0.5:.1f}".replace(".", chance.choice(".,")),
        f"{length * 0.3:.1f}",
        f"{length * 0.2:.1f}",
        chance.choice(("chert", "rhyolite")),
        chance.choice(("", "2024-05-02", "2 May 2024")),
        chance.choice(("", "found on the surface, after rain")),
    ]


def corrupted(rows: int, seed: int) -> tuple[str, list[Spoiled]]:
    """Return a table as CSV, and the faults in it; row 2 is always a good one."""
    chance = random.Random(seed)
    faults: list[Spoiled] = []
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(HEADER)
    for number in range(2, rows + 2):
        cells = good(number, chance)
        raw = False
        if number % EVERY == 7:
            column, grade, word, spoil = SPOILERS[number // EVERY % len(SPOILERS)]
            spoil(cells)
            faults.append(Spoiled(number, column, grade, word))
            raw = word == "quotation mark"
        if raw:  # a writer of CSV would mend it
            plain = [cell if "long" in cell else cell.replace(",", ".") for cell in cells]
            out.write(",".join(plain) + "\r\n")
        else:
            writer.writerow(cells)
    return out.getvalue(), faults
