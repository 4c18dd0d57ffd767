"""An examination as plain data, for `--format json` and for other programs."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from pathlib import Path

from keygen.core.call import Judgement, Standing, by_region
from keygen.core.examine import Examination
from keygen.core.measure import Reading
from keygen.core.model import ABSENT, PRESENT, Criterion, Record, Rules
from keygen.core.observe import Observation
from keygen.prose.describe import describe
from keygen.prose.indices import index_json
from keygen.prose.naming import resolve
from keygen.prose.regional import cautions
from keygen.prose.sights import look
from keygen.prose.verdict import agrees

FORMAT_VERSION = 1
HOWS = ("seen", "unsure", "missing", "measured", "implied")


def to_json(
    rules: Rules,
    examination: Examination,
    register: str = "report",
    templates: Path | None = None,
    text: str | None = None,
) -> dict[str, object]:
    """Return all that an examination holds, as mappings, lists, text and numbers.

    Lengths are in mm, weights in g, angles in degrees. An interval that is open upward (a broken
    dimension) has `high` null. Dates keep the scale of their source. `text` is the description, if
    it is there already.

    Raises:
        KeygenError: as `describe`.
    """
    piece, call = examination.piece, examination.call
    step = examination.next_look
    seen = look(rules, examination)
    return {
        "format_version": FORMAT_VERSION,
        "specimen": piece.label or None,
        "region": examination.region or None,
        "details": dict(piece.details),
        "observed": _observed(rules, examination),
        "gone": sorted(examination.gone),
        "measurements": {name: _reading(rules, name, r) for name, r in piece.readings.items()},
        "disagreements": [
            {
                "attribute": rules.attributes[d.attribute].id,
                "seen": list(rules.attributes[d.attribute].ids(d.seen)),
                "measured": list(rules.attributes[d.attribute].ids(d.measured)),
                "rule": d.derivation.id,
            }
            for d in examination.disagreements
        ],
        "call": (
            {"status": call.status, "types": list(call.types), "reason": call.reason or None}
            if call
            else None
        ),
        "indices": index_json(rules, examination),
        "analyst": _analyst(rules, examination),
        "history": [vars(change) for change in piece.history],
        "candidates": [_candidate(rules, j) for j in (call.candidates if call else ())],
        "near_misses": [
            {"type": j.type, "against": _ids(rules, j.against)}
            for j in (call.near_misses if call else ())
        ],
        "elsewhere": [
            {
                "region": region,
                "type": judgement.type,
                **_record(rules.types[judgement.type].record(region)),
            }
            for region, judgement in by_region(examination.elsewhere)
        ],
        "next_look": (
            {
                "attribute": rules.attributes[step.attribute].id,
                "leaves": round(step.leaves, 2),
                "at_worst": step.at_worst,
            }
            if step
            else None
        ),
        "text": describe(rules, examination, register, templates) if text is None else text,
        "cautions": [
            {"id": name, "text": rules.cautions[name].text}
            for name in cautions(rules, examination, seen)
        ],
        "rules": {"edition": rules.edition, "digest": rules.digest},
    }


def _observed(rules: Rules, examination: Examination) -> dict[str, object]:
    """Return every attribute that something is known of, as `--set` and records write them.

    Items of an attribute such as damage are gathered: states are the items present (`none` if all
    are absent), and `open` lists those nobody could tell.
    """
    told: dict[str, object] = {}
    items: dict[str, list[tuple[str, Observation]]] = {}
    for attribute, observation in zip(rules.attributes, examination.observations, strict=True):
        if attribute.item_of:
            item = attribute.id.removeprefix(f"{attribute.item_of}.")
            items.setdefault(attribute.item_of, []).append((item, observation))
            told.setdefault(attribute.item_of, None)
        elif observation.how != "not_asked":
            told[attribute.id] = {
                "states": list(attribute.ids(observation.mask)),
                "how": observation.how,
                "couplets": _couplets(rules, [observation]),
            }
    for name, found in items.items():
        hows = {observation.how for _, observation in found}
        present = [item for item, o in found if o.mask == PRESENT]
        left = [item for item, o in found if o.mask == ABSENT | PRESENT]
        if hows == {"not_asked"}:
            del told[name]
            continue
        told[name] = {
            "states": present or ([] if left else ["none"]),
            "how": next(how for how in HOWS if how in hows),
            "couplets": _couplets(rules, [observation for _, observation in found]),
            **({"open": left} if left else {}),
        }
    return told


def _couplets(rules: Rules, observations: Sequence[Observation]) -> list[int]:
    asked = {couplet for observation in observations for couplet in observation.at}
    return sorted(rules.couplets[name].number for name in asked if name in rules.couplets)


def _ids(rules: Rules, criteria: Sequence[Criterion]) -> list[str]:
    return [rules.attributes[c.attribute].id for c in criteria]


def _reading(rules: Rules, name: str, taken: Reading) -> dict[str, object]:
    return {
        "entered": taken.entered,
        "unit": rules.measurements[name].unit,
        "value": taken.value,
        "low": round(taken.low, 6),
        "high": round(taken.high, 6) if isfinite(taken.high) else None,
        "incomplete": taken.incomplete,
    }


def _candidate(rules: Rules, judgement: Judgement) -> dict[str, object]:
    return {
        "type": judgement.type,
        "standing": "consistent" if judgement.standing is Standing.CONSISTENT else "possible",
        "met": _ids(rules, judgement.met),
        "open": _ids(rules, judgement.open),
        "usual_met": _ids(rules, judgement.usual_met),
        "usual_against": _ids(rules, judgement.usual_against),
        "measures_in": [m.measurement for m in judgement.measures_in],
        "measures_out": [m.measurement for m in judgement.measures_out],
        "not_weighed": _ids(rules, judgement.set_aside),
    }


def _record(record: Record | None) -> dict[str, object]:
    if record is None:
        return {}
    dates = record.dates
    return {
        "period": record.period,
        "dates": {"from": dates.start, "to": dates.end, "scale": dates.scale, "sure": dates.sure},
        "period_range": record.period_range,
        "sources": list(record.sources),
        "basis": record.basis,
        "local_name": record.local_name or None,
        "local_type": record.local_type or None,
    }


def _analyst(rules: Rules, examination: Examination) -> dict[str, object] | None:
    own = examination.piece.analyst
    if own is None:
        return None
    return {
        "call": own.call,
        "type": resolve(rules, own.call) or None,
        "reason": own.reason,
        "by": own.by or None,
        "date": own.date or None,
        "agrees": agrees(rules, examination),
    }
