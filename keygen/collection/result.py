"""An outcome as an output row: the input's columns as they were, then what the key makes of it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import NamedTuple

from keygen.collection.model import Column, Fault, Outcome, Plan
from keygen.core.call import Call, Judgement
from keygen.core.examine import Examination
from keygen.core.memo import Memo
from keygen.errors import sentences
from keygen.prose import FORMAT_VERSION, to_json
from keygen.prose.ages import citations, figures
from keygen.prose.verdict import agreement
from keygen.specimens.observed import write_observed

OWN = (
    "key call",
    "key types",
    "standing",
    "near misses",
    "period",
    "age",
    "age scale",
    "age basis",
    "elsewhere",
    "own call agrees",
    "description",
    "faults",
    "rules",
)
STANDINGS = ("consistent", "possible")  # of the types that are not excluded, best first
MOST_NEAR = 5
MOST_AWAY, MOST_PLACES = 3, 2
MOST_AGED = 3  # of more types than these no age is given, as in the descriptions


def status(outcome: Outcome) -> str:
    """Return the status of an outcome's call, or why there is none."""
    if not outcome.entry.specimen:
        return "no specimen"
    if outcome.examination is None:
        return "contradictory" if any(outcome.entry.row.cells) else "not read"
    call = outcome.examination.call
    return call.status if call else "no region"


def told(fault: Fault) -> str:
    """Return a fault of a row in words: the column, what was found, what is wrong, what to do."""
    what = fault.what
    if fault.found and fault.found not in what:
        what = f"{fault.found!r}: {what}"
    if fault.column:
        what = f"{fault.column}: {what}"
    said = sentences(what, fault.remedy)
    return f"warning: {said}" if fault.grade == "warning" else said


def kept(columns: Sequence[Column], locations: bool) -> tuple[int, ...]:
    """Return the places of the columns that are handed on; exact locations only if told to."""
    return tuple(i for i, c in enumerate(columns) if locations or c.kind != "location")


def unlike(name: str, taken: Sequence[str]) -> str:
    """Return a heading that no other column has: itself, or with a number."""
    found, number = name, 2
    while found in taken:
        found, number = f"{name} ({number})", number + 1
    return found


class Aged(NamedTuple):
    """A type as it is told in one region: its name, period, age with scale, and their basis."""

    name: str = ""
    period: str = ""
    age: str = ""
    scale: str = ""
    basis: str = ""


class Listed(NamedTuple):
    """A type as it is told of other regions than that of the piece.

    `first` is the region told first, after whether it is far; `text` is its name with the places.
    """

    type: str
    first: tuple[bool, str]
    text: str


class Results:
    """Turns outcomes of one plan into output rows; remembers what is said of types it has met."""

    def __init__(
        self,
        plan: Plan,
        register: str = "report",
        templates: Path | None = None,
        locations: bool = False,
    ) -> None:
        self.rules = rules = plan.rules
        self.register, self.templates, self.locations = register, templates, locations
        self._kept = kept(plan.columns, locations)
        self._whole = len(self._kept) == len(plan.columns)
        names: list[str] = []
        for i in self._kept:
            names.append(unlike(plan.columns[i].name, names))
        self._names = tuple(names)
        self.headings = (*names, *(unlike(name, names) for name in OWN))
        self._edition = f"{rules.edition} ({rules.digest})"
        self._ages = {region: Memo(partial(self._age, region)) for region in rules.regions}
        self._listed = Memo(self._list)

    def cells(self, outcome: Outcome) -> tuple[str, ...]:
        """Return one row under `headings`."""
        entry = outcome.entry
        cells = entry.row.cells
        given = cells if self._whole else [cells[i] for i in self._kept]
        faults = "; ".join(map(told, entry.faults)) if entry.faults else ""
        return (*given, *self._call(outcome), outcome.text, faults, self._edition)

    def _call(self, outcome: Outcome) -> tuple[str, ...]:
        found = outcome.examination
        if found is None:
            return (status(outcome), *[""] * 9)
        call = found.call
        if call is None:
            own: tuple[str, ...] = (status(outcome), "", "", "", "", "", "", "")
        else:
            names, *aged = self._aged(call.region, call.types)
            ranked = call.candidates if call.types else ()
            standings = "; ".join([STANDINGS[j.standing] for j in ranked])
            near = self._near(call.near_misses) if _settled(call) else ""
            own = (call.status, names, standings, near, *aged)
        return (*own, self._elsewhere(found), agreement(self.rules, found))

    def _aged(self, region: str, types: Sequence[str]) -> Sequence[str]:
        """Return the names of types; their periods, ages, scales and bases in the same order."""
        ages = self._ages[region]
        if len(types) == 1:
            return ages[types[0]]
        found = [ages[name] for name in types]
        if 1 < len(found) <= MOST_AGED:
            return ["; ".join(texts) for texts in zip(*found, strict=True)]
        return Aged("; ".join([aged.name for aged in found]))

    def _age(self, region: str, name: str) -> Aged:
        kind = self.rules.types[name]
        record = kind.record(region)
        if record is None:
            return Aged(kind.name)
        dates = record.dates
        scale = dates.scale if dates.sure else f"{dates.scale}, not certain"
        cited = citations(self.rules, record.sources)
        basis = f"{record.basis}: {cited}" if cited else record.basis
        return Aged(kind.name, record.period, figures(dates), scale, basis)

    def _near(self, near: Sequence[Judgement]) -> str:
        rules = self.rules
        shown = [
            f"{rules.types[j.type].name} ({rules.attributes[j.against[0].attribute].label})"
            for j in near[:MOST_NEAR]
        ]
        return "; ".join(shown + _more(len(near) - MOST_NEAR))

    def _elsewhere(self, found: Examination) -> str:
        """Return the types that a piece would be in other regions: first by other names, and near.

        What the piece is called here comes last, since it says the least.
        """
        if not found.elsewhere:
            return ""
        own, listed, home = found.call.types if found.call else (), self._listed, found.region
        away = [listed[home, judgement.type, regions] for judgement, regions in found.elsewhere]
        if len(away) > 1:
            away.sort(key=lambda of: (of.type in own and own.index(of.type) + 1, of.first))
        shown = [other.text for other in away[:MOST_AWAY]]
        return "; ".join(shown + _more(len(away) - MOST_AWAY))

    def _list(self, of: tuple[str, str, tuple[str, ...]]) -> Listed:
        home, name, regions = of
        near = self.rules.regions[home].neighbours if home else ()
        places = sorted((region not in near, region) for region in regions)
        labels = [self.rules.regions[region].label for _, region in places[:MOST_PLACES]]
        where = ", ".join(labels + _more(len(places) - MOST_PLACES))
        return Listed(name, places[0], f"{self.rules.types[name].name} ({where})")

    def entry(self, outcome: Outcome) -> dict[str, object]:
        """Return one row as plain data, with the keys of `describe --format json` and its own.

        `row` is its number, `columns` are its cells as found, `faults` what is wrong with it.
        """
        row, found = outcome.entry.row, outcome.examination
        said = (
            to_json(self.rules, found, self.register, self.templates, outcome.text or None)
            if found
            else self._unexamined(outcome)
        )
        return {
            "row": row.number,
            **said,
            "columns": dict(zip(self._names, [row.cells[i] for i in self._kept], strict=True)),
            "faults": [
                {
                    "column": fault.column,
                    "found": fault.found,
                    "what": fault.what,
                    "remedy": fault.remedy,
                    "grade": fault.grade,
                }
                for fault in outcome.entry.faults
            ],
        }

    def _unexamined(self, outcome: Outcome) -> dict[str, object]:
        """Return what can be said of a row that contradicts itself."""
        piece, rules = outcome.entry.piece, self.rules
        return {
            "format_version": FORMAT_VERSION,
            "specimen": piece.label or None,
            "region": outcome.entry.region or None,
            "details": dict(piece.details),
            "observed": write_observed(rules, piece.observations),
            "measurements": {name: {"entered": r.entered} for name, r in piece.readings.items()},
            "call": None,
            "candidates": [],
            "near_misses": [],
            "elsewhere": [],
            "next_look": None,
            "text": "",
            "cautions": [],
            "rules": {"edition": rules.edition, "digest": rules.digest},
        }


def _settled(call: Call) -> bool:
    """Tell whether a type that fits but for one thing is worth naming: one at most fits whole."""
    return len(call.types) < 2 and call.reason != "haft_unknown"


def _more(count: int) -> list[str]:
    return [f"and {count} more"] if count > 0 else []
