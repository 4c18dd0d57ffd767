"""What is asked after the key: measurements, material, colour, context, notes, an own call.

Every one of these questions can be left empty.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from keygen.core.examine import AnalystCall, Piece
from keygen.core.infer import gone_parts
from keygen.core.measure import Reading
from keygen.core.model import Measurement, Rules
from keygen.core.walk import Position
from keygen.errors import KeygenError
from keygen.specimens import path, provenience, record
from keygen.specimens.given import reading
from keygen.specimens.record import Specimen
from keygen.specimens.screen import call_line

_PLAIN = {
    "material": "Material",
    "colour": "Munsell colour (as in 10YR 5/3)",
    "site": "Site",
    "unit": "Unit",
    "level": "Level",
    "provenience": "Provenience",
    "observer": "Observer",
    "date": "Date",
    "notes": "Notes",
}


@dataclass(frozen=True)
class Question:
    """One thing to ask after the key: its field, and how it is put."""

    field: str
    ask: str


@dataclass(frozen=True)
class Where:
    """What the questions after the key depend on besides the answers."""

    rules: Rules
    region: str
    specimen: str
    position: Position
    today: str


def question(where: Where, given: Mapping[str, str]) -> Question | None:
    """Return the next question, or None when all have been put."""
    gone = gone_parts(where.rules, where.position.known)
    for measurement in where.rules.measurements.values():
        wanted = measurement.asked and not _nothing_left(measurement, gone)
        if wanted and measurement.id not in given:
            return Question(measurement.id, _ask_measurement(where.rules, measurement, gone))
    for field, ask in _PLAIN.items():
        if field not in given:
            return Question(field, f"{ask} [{where.today}]" if field == "date" else ask)
    if "call" not in given:
        return Question("call", _ask_call(where, given))
    if given["call"] and "reason" not in given:
        return Question("reason", "Your reason")
    return None


def _nothing_left(measurement: Measurement, gone: frozenset[str]) -> bool:
    return bool(measurement.parts) and gone.issuperset(measurement.parts)


def _ask_measurement(rules: Rules, measurement: Measurement, gone: frozenset[str]) -> str:
    lost = [rules.parts[part] for part in measurement.parts if part in gone]
    broken = f", at least: without the {' and '.join(lost)}" if lost else ""
    label = measurement.label[:1].upper() + measurement.label[1:]
    return f"{label} ({measurement.unit}{broken})"


def _ask_call(where: Where, given: Mapping[str, str]) -> str:
    if not where.region:
        return "Your own call of a type"
    piece = _unjudged(where, given).piece
    examination = record.examined(where.rules, piece, where.region)
    found = call_line(where.rules, examination.call) if examination.call else ""
    return f"{found}\nYour own call, if it differs"


def accept(where: Where, field: str, text: str) -> tuple[str, str]:
    """Return an answer as it is kept, and a remark on it or nothing.

    Raises:
        KeygenError: the answer cannot be kept; the question is put again.
    """
    if field in where.rules.measurements:
        return _accept_measurement(where, field, text)
    if field == "date":
        try:
            return provenience.check_date(text or where.today), ""
        except ValueError as error:
            raise KeygenError(str(error)) from None
    if field == "reason" and not text:
        raise KeygenError("A call of your own needs its reason; `back` takes the call back.")
    told = [remark.text for remark in provenience.remarks({field: text})]
    if told:
        return text, f"{'; '.join(told)}."
    if field == "call" and text and not _named(where.rules, text):
        return text, "No type of these rules has this name; kept as your wording."
    return text, ""


def _accept_measurement(where: Where, field: str, text: str) -> tuple[str, str]:
    if not text:
        return "", ""
    found = reading(where.rules, field, text)
    gone = gone_parts(where.rules, where.position.known)
    lost = [where.rules.parts[p] for p in where.rules.measurements[field].parts if p in gone]
    if lost and not found.incomplete:
        kept = f"{found.entered}+"
        return kept, f"Kept as {kept}, at least that: the {' and '.join(lost)} did not survive."
    return found.entered, ""


def _named(rules: Rules, text: str) -> bool:
    words = text.casefold()
    return any(
        words in (name.casefold() for name in (kind.id, kind.name, *kind.aliases, *kind.also))
        for kind in rules.types.values()
    )


def specimen(where: Where, given: Mapping[str, str]) -> Specimen:
    """Return the record that a walk and the answers after it make, with the key's call."""
    return record.judged(where.rules, _unjudged(where, given))


def _unjudged(where: Where, given: Mapping[str, str]) -> Specimen:
    rules = where.rules
    readings: dict[str, Reading] = {
        name: reading(rules, name, given[name]) for name in rules.measurements if given.get(name)
    }
    kept = ("material", "colour", *provenience.CONTEXT, "observer", "date")
    details, location = provenience.set_apart({n: given[n] for n in kept if given.get(n)})
    analyst = None
    if given.get("call") and given.get("reason"):
        analyst = AnalystCall(
            given["call"], given["reason"], given.get("observer", ""), given.get("date", "")
        )
    piece = Piece(
        label=where.specimen,
        observations=record.observed_at(rules, where.position),
        readings=readings,
        details=details,
        analyst=analyst,
        notes=given.get("notes", ""),
    )
    return Specimen(
        piece,
        where.region,
        rules.edition,
        rules.digest,
        path.write(rules, where.position.steps),
        location,
    )
