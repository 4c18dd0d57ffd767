"""Rows for tests of reports, made of the invented pieces that the tests of prose use."""

from __future__ import annotations

from typing import Any

from keygen.collection.house import House
from keygen.collection.model import Entry, Fault, Outcome, Row
from keygen.collection.told import Told, tell
from tests.prose import pieces

TAPERED: dict[str, Any] = {
    "haft_style": "stemmed",
    "stem_shape": "contracting",
    "base_shape": "rounded",
    "haft_grinding": "none",
}
NOTCHED: dict[str, Any] = {
    "haft_style": "notched",
    "notch_position": "side",
    "haft_grinding": "base",
}
TRIANGLE: dict[str, Any] = {
    "haft_style": "triangular",
    "base_shape": "straight",
    "stem_shape": "none",
}
HOUSE = House(pieces.rules())


def row(region: str = "", number: int = 2, faults: tuple[Fault, ...] = (), **what: Any) -> Outcome:
    """Return a row in a region; what is recorded is given as for `pieces.piece`."""
    found = pieces.examined(region, **what)
    return Outcome(Entry(Row(number, ()), found.piece, region, faults), found)


def contradicting(region: str = "", number: int = 2, **what: Any) -> Outcome:
    """Return a row that nothing follows from, because it contradicts itself."""
    return Outcome(Entry(Row(number, ()), pieces.piece(**what), region), None)


def told(*rows: Outcome) -> list[Told]:
    """Return what a report tells of some rows."""
    return [tell(HOUSE, each) for each in rows]
