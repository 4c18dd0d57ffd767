"""Facts about ages, and the cautions that belong to a piece."""

from __future__ import annotations

from collections.abc import Mapping

from keygen.core.call import Call
from keygen.core.examine import Examination
from keygen.core.model import Record, Rules
from keygen.prose.ages import age, in_period, remarks, said_of_all
from keygen.prose.facts import Fact
from keygen.prose.seen import NOTHING, Seen

MOST_AGED = 3
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
        "shared": said_of_all(shared),
    }
    sources = tuple(dict.fromkeys(s for record in records for s in record.sources))
    return [Fact("age", values, types=call.types, sources=sources)]


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
