"""A small invented table under the small rules, and ways to run it."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from keygen.collection import batch
from keygen.collection.entries import Reader
from keygen.collection.model import Outcome, Plan, Row
from keygen.core.model import Rules

EAST, NORTH = "512345.7", "4012345.9"
TABLE = f"""\
Specimen,Haft style,Stem shape,Base shape,Length (mm),UTM E,UTM N,Type,Call reason,Notes
T-1,stemmed,contracting,straight,48.2,{EAST},{NORTH},Alder Stemmed,type collection,=1+1
T-2,stemmed,contracting,strait,41.0,{EAST},{NORTH},Birch Stemmed,a guess,"two
lines"
T-3,stemmed,?,missing,40+,{EAST},{NORTH},Birch Stemmed,a guess,-5.3
T-4,lanceolate,straight,straight,50,{EAST},{NORTH},,,
"""


def rows(text: str = TABLE) -> list[dict[str, str]]:
    """Return the rows of a table as mappings."""
    return list(csv.DictReader(io.StringIO(text, newline="")))


def plan(rules: Rules, text: str = TABLE, region: str = "hills") -> Plan:
    """Return how a table is read."""
    return batch.plan_table(tuple(rows(text)[0]), region, rules=rules)


def outcomes(rules: Rules, text: str = TABLE) -> list[Outcome]:
    """Return what follows from each row of a table."""
    given = (Row(n, tuple(row.values())) for n, row in enumerate(rows(text), 2))
    return list(batch.outcomes(Reader(plan(rules, text)), given))


def many(count: int) -> str:
    """Return a longer table: the rows above again and again, each with a number of its own."""
    head, *body = csv.reader(io.StringIO(TABLE, newline=""))
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    for number in range(count):
        writer.writerow([f"N-{number}", *body[number % len(body)][1:]])
    return out.getvalue()


def file(folder: Path, text: str = TABLE, name: str = "finds.csv") -> Path:
    """Write a table to a folder."""
    path = folder / name
    path.write_text(text, encoding="utf-8", newline="")
    return path
