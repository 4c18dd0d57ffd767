"""The specimens of a table, examined, with the group that each belongs to."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from keygen.collection import columns
from keygen.collection.batch import outcomes, without_locations
from keygen.collection.entries import Reader
from keygen.collection.mapping import load
from keygen.collection.model import Column, Entry, Fault, Plan, Table
from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.errors import KeygenError, nearest
from keygen.prose.grammar import listed
from keygen.specimens.provenience import same_site

NO_GROUP = "not recorded"
JOIN = ", "


@dataclass(frozen=True)
class Gathered:
    """What a table says: its examined specimens, and what was wrong with its rows."""

    name: str
    plan: Plan
    entries: tuple[tuple[Entry, Examination | None], ...]
    remarks: tuple[str, ...]

    @property
    def faults(self) -> Iterator[Fault]:
        """Yield what is wrong with the rows, in their order."""
        return (fault for entry, _ in self.entries for fault in entry.faults)

    @property
    def examined(self) -> list[tuple[Entry, Examination]]:
        """Return the rows that do not contradict themselves."""
        return [(entry, found) for entry, found in self.entries if found is not None]

    def by_number(self) -> dict[str, Examination]:
        """Return the specimens by number; rows without one are left out.

        Raises:
            KeygenError: a number is there twice, so that nobody can tell which is meant.
        """
        found: dict[str, Examination] = {}
        for entry, examination in self.examined:
            label = entry.piece.label
            if label in found:
                what = f"{self.name}: row {entry.row.number}: specimen {label!r} is there twice"
                raise KeygenError(f"{what}. Give each specimen one row.")
            if label:
                found[label] = examination
        return found


def gather(
    rules: Rules, table: Table, mapping: Path | None, region: str, reading: str = ""
) -> Gathered:
    """Read and examine every row of a table, without wording anything.

    Args:
        rules: the rules.
        table: the table.
        mapping: a file that says what the columns of a house mean, if there is one.
        region: the region of rows that name none.
        reading: what messages call the table, if not its own name.

    Raises:
        KeygenError: the mapping or the columns cannot be used.
    """
    house = load(rules, mapping) if mapping else None
    plan, remarks = columns.plan(rules, table.header, house, region, table.sheets)
    rows = without_locations(plan, table.rows)
    entries = tuple((o.entry, o.examination) for o in outcomes(Reader(plan), rows, register=""))
    return Gathered(reading or table.name, plan, entries, (*table.remarks, *remarks))


def grouping(plan: Plan, names: Sequence[str]) -> Callable[[Entry], str]:
    """Return what tells the group of a row: the texts of some columns, joined.

    A region is one group however it is written, and so is a site number; its first spelling names
    the group.

    Args:
        plan: how the table is read.
        names: fields (site, unit, level ...), or columns by their header.

    Raises:
        KeygenError: there is no such column, or it holds exact locations.
    """
    places = [_place(plan, name) for name in names]
    sites: dict[tuple[str, ...], str] = {}

    def text(entry: Entry, i: int) -> str:
        column, cell = plan.columns[i], entry.row.cells[i].strip()
        if (column.kind, column.target) == ("detail", "site") and (parts := same_site(cell)):
            return sites.setdefault(parts, cell)
        return (column.kind == "region" and entry.region) or cell

    def group(entry: Entry) -> str:
        texts = [text(entry, i) for i in places]
        return JOIN.join(texts) if all(texts) else JOIN.join(t or NO_GROUP for t in texts)

    return group


def _place(plan: Plan, name: str) -> int:
    def matches(column: Column) -> bool:
        return name.casefold() in (column.target.casefold(), column.name.casefold())

    found = [i for i, column in enumerate(plan.columns) if matches(column)]
    if not found:
        open_names = [c.target or c.name for c in plan.columns if c.kind != "location"]
        here = f"Its columns are: {listed(open_names)}." if open_names else ""
        near = nearest(name, open_names)
        raise KeygenError(" ".join(p for p in (f"no column holds {name!r}.", near, here) if p))
    if plan.columns[found[0]].kind == "location":
        raise KeygenError(f"{name!r} holds exact locations, which are no groups to print.")
    return found[0]
