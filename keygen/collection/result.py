"""An outcome as an output row: the input's columns as they were, then what the key makes of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from pathlib import Path

from keygen.collection.model import Column, Fault, Outcome, Plan
from keygen.core.call import Call, Judgement, Standing
from keygen.core.examine import Examination
from keygen.core.model import Rules
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
STANDINGS = {Standing.CONSISTENT: "consistent", Standing.POSSIBLE: "possible"}
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
        names: list[str] = []
        for i in self._kept:
            names.append(unlike(plan.columns[i].name, names))
        self._names = tuple(names)
        self.headings = (*names, *(unlike(name, names) for name in OWN))
        self._edition = f"{rules.edition} ({rules.digest})"
        self._aged: Callable[[str, tuple[str, ...]], tuple[str, ...]]
        self._aged = lru_cache(4096)(lambda region, types: _aged(rules, region, types))

    def cells(self, outcome: Outcome) -> tuple[str, ...]:
        """Return one row under `headings`."""
        row = outcome.entry.row
        faults = "; ".join(map(told, outcome.entry.faults))
        given = [row.cells[i] for i in self._kept]
        return (*given, *self._call(outcome), outcome.text, faults, self._edition)

    def _call(self, outcome: Outcome) -> tuple[str, ...]:
        found = outcome.examination
        if found is None:
            return (status(outcome), *[""] * 9)
        call = found.call
        if call is None:
            own: tuple[str, ...] = (status(outcome), "", "", "", "", "", "", "")
        else:
            ranked = call.candidates if call.types else ()
            own = (
                call.status,
                *self._aged(call.region, call.types)[:1],
                "; ".join([STANDINGS[j.standing] for j in ranked]),
                self._near(call.near_misses) if _settled(call) else "",
                *self._aged(call.region, call.types)[1:],
            )
        return (*own, self._elsewhere(found), agreement(self.rules, found))

    def _near(self, near: Sequence[Judgement]) -> str:
        rules = self.rules
        shown = [
            f"{rules.types[j.type].name} ({rules.attributes[j.against[0].attribute].label})"
            for j in near[:MOST_NEAR]
        ]
        return "; ".join([*shown, *_more(len(near) - MOST_NEAR)])

    def _elsewhere(self, found: Examination) -> str:
        """Return the types that a piece would be in other regions: first by other names, and near.

        What the piece is called here comes last, since it says the least.
        """
        rules = self.rules
        own = found.call.types if found.call else ()
        near = rules.regions[found.region].neighbours if found.region else ()
        places: dict[str, list[str]] = {}
        afar = []
        for away in found.elsewhere:
            if away.region in near:
                places.setdefault(away.judgement.type, []).append(away.region)
            else:
                afar.append(away)
        for away in afar:
            places.setdefault(away.judgement.type, []).append(away.region)
        names = [name for name in places if name not in own]
        names += [name for name in own if name in places]
        shown = [self._placed(name, places[name]) for name in names[:MOST_AWAY]]
        return "; ".join([*shown, *_more(len(names) - MOST_AWAY)])

    def _placed(self, name: str, regions: Sequence[str]) -> str:
        labels = [self.rules.regions[region].label for region in regions[:MOST_PLACES]]
        where = ", ".join(labels + _more(len(regions) - MOST_PLACES))
        return f"{self.rules.types[name].name} ({where})"

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


def _aged(rules: Rules, region: str, types: tuple[str, ...]) -> tuple[str, ...]:
    """Return the names of types, and their periods, ages, scales and bases in the same order."""
    names = "; ".join(rules.types[name].name for name in types)
    if not 0 < len(types) <= MOST_AGED:
        return (names, "", "", "", "")
    told: list[tuple[str, str, str, str]] = []
    for name in types:
        record = rules.types[name].record(region)
        if record is None:
            told.append(("", "", "", ""))
            continue
        dates = record.dates
        scale = dates.scale if dates.sure else f"{dates.scale}, not certain"
        cited = citations(rules, record.sources)
        basis = f"{record.basis}: {cited}" if cited else record.basis
        told.append((record.period, figures(dates), scale, basis))
    return (names, *("; ".join(texts) for texts in zip(*told, strict=True)))
