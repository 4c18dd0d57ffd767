"""The published Fort Hood dart points: rows, and their codes in our states (`fort_hood.yaml`).

Source: data set DartPoints of the R package archdata 1.2-1 (D. L. Carlson and G. Roth), after S. B.
Carlson, H. B. Ensor, D. L. Carlson, E. A. Miller and D. E. Young 1987, *Archaeological Survey at
Fort Hood, Texas, Fiscal Year 1984*; coding scheme of E. M. Futato 1983, Southeastern Archaeological
Conference Bulletin 21. One analyst typed, measured and coded the pieces.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from io import StringIO
from pathlib import Path

from keygen.collection.columns import plan
from keygen.collection.entries import Reader
from keygen.collection.mapping import load
from keygen.collection.model import Entry, Row
from keygen.core.examine import Examination, examine
from keygen.core.model import Rules

SHARED = Path(__file__).parents[3] / "shared" / "reference" / "darts_fort_hood_part" / "data.csv"

# Twelve rows typed in, so that something always runs.
TYPED = """\
Name,Length,Width,Thickness,B.Width,J.Width,H.Length,Weight,Blade.Sh,Base.Sh,Should.Or,Haft.Or
Darl,42.8,15.8,5.8,11.3,10.6,11.6,3.6,S,I,T,E
Darl,40.3,20.7,5.9,11.7,11.4,7.6,3.9,I,I,T,E
Darl,33.5,16.6,4.9,12.4,12.9,10.5,3.2,E,I,T,P
Ensor,43.5,20.1,6.0,15.2,11.2,5.8,4.6,S,S,B,E
Ensor,42.1,25.1,5.9,19.7,16.7,7.2,5.9,E,S,T,E
Pedernales,53.5,27.8,7.2,,20.2,16.2,10.7,E,I,T,P
Pedernales,60.0,27.9,10.0,8.3,21.2,20.2,7.2,R,I,H,V
Pedernales,78.3,28.1,8.5,10.5,15.5,21.2,14.8,E,I,B,T
Travis,46.3,21.3,7.1,16.3,17.9,11.7,7.5,E,S,T,P
Travis,69.0,20.9,7.8,16.4,12.8,13.8,11.4,E,E,T,E
Wells,41.2,19.7,6.5,12.2,16.3,15.9,5.4,S,S,T,T
Wells,63.1,24.7,5.4,10.3,12.1,21.1,16.3,S,E,T,T
"""

MAPPING = Path(__file__).with_suffix(".yaml")


def typed_rows() -> list[dict[str, str]]:
    """Return the rows typed in above."""
    return list(csv.DictReader(StringIO(TYPED)))


def shared_rows() -> list[dict[str, str]]:
    """Return the rows of the shared table."""
    with SHARED.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def reader(rules: Rules, rows: list[dict[str, str]]) -> Reader:
    """Return a reader of these rows by the mapping beside this file, which holds the codes."""
    return Reader(plan(rules, tuple(rows[0]), load(rules, MAPPING))[0])


def entries(rules: Rules, rows: list[dict[str, str]]) -> list[Entry]:
    """Return the rows as read through the mapping."""
    read = reader(rules, rows).read
    return [read(Row(number, tuple(row.values()))) for number, row in enumerate(rows, 2)]


def examined(
    rules: Rules, rows: list[dict[str, str]], with_measures: bool = True
) -> list[tuple[str, Examination]]:
    """Return the published type (as an id) and our examination of every row."""
    found = []
    for row, entry in zip(rows, entries(rules, rows), strict=True):
        piece = replace(entry.piece, analyst=None)
        piece = piece if with_measures else replace(piece, readings={})
        found.append((row["Name"].lower(), examine(rules, piece, entry.region)))
    return found
