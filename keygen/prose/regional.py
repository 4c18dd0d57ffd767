"""Facts about ages, other regions, and the cautions that belong to a piece."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from keygen.core.call import Call, Elsewhere
from keygen.core.examine import Examination
from keygen.core.model import Record, Rules
from keygen.prose.ages import (
    SHARED,
    age,
    figures,
    in_period,
    remarks,
    scale_remark,
    unbracketed,
)
from keygen.prose.facts import Fact
from keygen.prose.seen import NOTHING, Seen

MOST_AGED = 3
MOST_ELSEWHERE = 3
MOST_PLACES = 2
IN_SHORT = ("sampling", "compromised", "typed")  # the others are kept for the account


def ages(rules: Rules, call: Call) -> list[Fact]:
    """Return the ages of the types called, the same age once; none where too many types are left.

    What is to be known of every age (from memory, range of a period) is said once, at the end.
    """
    if not call.types or len(call.types) > MOST_AGED:
        return []
    groups: dict[tuple[object, ...], tuple[Record, list[str]]] = {}
    for name in call.types:
        record = rules.types[name].record(call.region)
        if record is not None:
            key = (record.period, record.dates, record.sources, record.basis, record.period_range)
            groups.setdefault(key, (record, []))[1].append(rules.types[name].name)
    records = [record for record, _ in groups.values()]
    shared = (
        [r for r in remarks(records[0]) if all(r in remarks(other) for other in records)]
        if len(records) > 1
        else []
    )
    values = {
        "single": len(call.types) == 1,
        "groups": [
            {
                "names": names,
                "period": record.period,
                "when": in_period(record.period),
                "age": age(rules, record, 3, shared),
                "brief": age(rules, record, 1, shared),
            }
            for record, names in groups.values()
        ],
        "shared": [SHARED[remark] for remark in shared],
    }
    sources = tuple(dict.fromkeys(s for record in records for s in record.sources))
    return [Fact("age", values, types=call.types, sources=sources)]


def elsewhere(rules: Rules, examination: Examination) -> list[Fact]:
    """Return a few of the types that the piece would be in other regions.

    Known doubles of the called types go first, since those names are the ones that get confused;
    then what neighbouring regions know.
    """
    call = examination.call
    own = set(call.types) if call else set()
    doubles = {other.type for name in own for other in rules.types[name].look_alikes}
    near = rules.regions[examination.region].neighbours if examination.region else ()
    by_type: dict[str, list[Elsewhere]] = {}
    for found in examination.elsewhere:
        record = rules.types[found.judgement.type].record(found.region)
        local = record.local_type if record else ""
        known = local in rules.types and rules.types[local].record(found.region)
        name = local if known else found.judgement.type
        entries = by_type.setdefault(name, [])
        if all(entry.region != found.region for entry in entries):
            entries.append(found)
    here = {_when(rules, name, examination.region) for name in own}
    for name in own & by_type.keys():  # the same type is of interest where its age is another
        by_type[name] = [e for e in by_type[name] if _when(rules, name, e.region) not in here]

    def worth(name: str) -> tuple[object, ...]:
        entries = by_type[name]
        return (
            name in own,
            name not in doubles,
            not any(e.region in near for e in entries),
            min(e.judgement.rank for e in entries),
            name,
        )

    others = sorted((name for name, entries in by_type.items() if entries), key=worth)
    if not others:
        return []
    items: list[dict[str, object]] = []
    sources: list[str] = []
    for name in others[:MOST_ELSEWHERE]:
        entries = sorted(by_type[name], key=lambda e: (e.region not in near, e.region))
        items.append(_places(rules, name, entries, MOST_PLACES if len(others) == 1 else 1))
        for entry in entries[:MOST_PLACES]:
            record = rules.types[name].record(entry.region)
            sources += record.sources if record else ()
    shown = tuple(others[:MOST_ELSEWHERE])
    values = {"items": items, "more": len(others) - len(shown), "region": bool(examination.region)}
    return [Fact("elsewhere", values, types=shown, sources=tuple(dict.fromkeys(sources)))]


def _when(rules: Rules, name: str, region: str) -> tuple[object, ...]:
    record = rules.types[name].record(region)
    return (record.dates, record.period) if record else ()


def _places(
    rules: Rules, name: str, entries: Sequence[Elsewhere], ages_shown: int
) -> dict[str, object]:
    """Group the first regions of a type by its age there, and count the regions left out."""
    groups: dict[str, list[str]] = {}
    for entry in entries[:MOST_PLACES]:
        record = rules.types[name].record(entry.region)
        if record is not None:
            remark = "" if record.dates.sure else "scale uncertain"
            remark = remark or scale_remark(record.dates)
            when = f"{unbracketed(record.period)}, {figures(record.dates)}"
            when += f", {remark}" if remark else ""
            local = f"; locally {record.local_name}" if record.local_name else ""
            groups.setdefault(when + local, []).append(rules.regions[entry.region].place)
    shown = list(groups.items())[:ages_shown]
    return {
        "name": rules.types[name].name,
        "groups": [{"places": places, "when": when} for when, places in shown],
        "more": len(entries) - sum(len(places) for _, places in shown),
    }


def cautions(rules: Rules, examination: Examination, seen: Mapping[str, Seen]) -> list[str]:
    """Return the ids of the cautions that belong to a piece, most pressing first."""
    call = examination.call
    typed = call is not None and bool(call.types)
    reworked = seen.get("reworked_as", NOTHING)
    sampling = seen.get("sampling", NOTHING)
    planned = sampling.ids == ("planned",) and sampling.how != "not_asked"
    holds = {
        "any": True,
        "typed": typed,
        "dated": typed and call is not None and len(call.types) <= MOST_AGED,
        "elsewhere": bool(examination.elsewhere),
        "reworked": (bool(reworked) and not reworked.none)
        or seen.get("resharpening", NOTHING).ids == ("heavy",),
        "sampling": planned,
        "compromised": planned and seen.get("handling", NOTHING).ids == ("compromised",),
        "context": True,
    }
    return [name for name, caution in rules.cautions.items() if holds.get(caution.when, False)]


def short_cautions(rules: Rules, examination: Examination, seen: Mapping[str, Seen]) -> list[Fact]:
    """Return the two most pressing cautions of those that a short text carries."""
    found = [rules.cautions[name] for name in cautions(rules, examination, seen)]
    short = [c for c in found if c.when in IN_SHORT][:2]
    sampling = any(c.when == "sampling" for c in short)
    if not short:
        return []
    about = tuple(n for n in ("sampling", "handling") if sampling and seen.get(n, NOTHING))
    return [Fact("cautions", {"texts": [c.text for c in short], "sampling": sampling}, about)]
