"""What if, in words and as plain data: other observations, fewer of them, other regions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.core.smallest import Least
from keygen.core.whatif import Outcome, SingleChange, WhatIf
from keygen.core.whatif import what_if as work_out
from keygen.prose.grammar import capital, counted, listed, number, plain, some
from keygen.prose.near import steps
from keygen.prose.seen import NOTHING, Seen, briefs, name_of, stated
from keygen.prose.sights import look
from keygen.prose.suppose import supposed

MOST_NAMED = 4  # so many types are named one by one
MOST_FIRST = 3  # of more, so many are named
GIVES = ("give it", "gives it")
LEAVES = ("leave no other type", "leaves no other type")
_REASONS = {"none_fits": "no type fits", "haft_unknown": "too little is known of the haft", "": ""}


def what_if(rules: Rules, examination: Examination) -> str:
    """Return how the call would change, as plain text under headings.

    Among the changes those go first that would put other types in place of the called ones, then
    those after which no type would fit, then those that add or take away types, then those that
    only change the standing; within that, the states next to what was observed.
    """
    found, seen = work_out(rules, examination), look(rules, examination)
    lines = []
    if found.call is not None:
        label = examination.piece.label or "the specimen"
        lines = [f"What if: {label}, called {put(rules, found.call)}"]
        lines += _changes(rules, examination, found, found.call, seen)
        lines += _rests(rules, found, found.call)
        lines += _smallest(rules, found, seen)
        lines += _haft(rules, found, found.call)
    lines += ["", "By region"] if lines else ["What if: by region"]
    for region, outcome in found.regions.items():
        here = " (the region of the call)" if region == examination.region else ""
        lines.append(f"- {rules.regions[region].label}{here}: {put(rules, outcome)}")
    return "\n".join(lines)


def put(rules: Rules, outcome: Outcome, now: Outcome | None = None) -> str:
    """Word a call in short: `Gary (assigned)`, `cf. Gary`, `either Gary or Wells`, `untyped`.

    Args:
        now: another call; where both leave many types, the difference is told.
    """
    names = [rules.types[name].name for name in outcome.types]
    if outcome.status == "untyped":
        return f"untyped ({_REASONS[outcome.reason]})"
    if outcome.status == "assigned":
        return f"{names[0]} (assigned)"
    if outcome.status == "cf.":
        return f"cf. {names[0]}"
    if len(names) == 2:
        return f"either {listed(names, 'or')}"
    count = f"one of {counted(len(names), 'type')}"
    if len(names) <= MOST_NAMED:
        return f"{count}: {listed(names, 'or')}"
    if now is not None and outcome.among & now.among:
        return f"{count}, {_difference(rules, outcome, now)}"
    return f"{count}, foremost {listed(names[:MOST_FIRST])}"


def _difference(rules: Rules, outcome: Outcome, now: Outcome) -> str:
    """Say which types would be added to those of another call, and which would drop out."""
    added = [rules.types[name].name for name in outcome.types if name not in now.among]
    lost = [rules.types[name].name for name in now.types if name not in outcome.among]
    parts = [
        f"{some(names, MOST_FIRST, 'types')} {word}"
        for names, word in ((added, "added"), (lost, "dropped"))
        if names
    ]
    return f"with {listed(parts)}" if parts else "the same as now"


def _changes(
    rules: Rules,
    examination: Examination,
    found: WhatIf,
    now: Outcome,
    seen: Mapping[str, Seen],
) -> list[str]:
    """Return a line a change; those after which there is no type share one."""
    style = seen.get("haft_style", NOTHING)
    told: dict[str, list[str]] = {}
    for change in sorted(
        found.changes.found, key=lambda change: _weight(rules, examination, change, now)
    ):
        clause = supposed(rules.attributes[change.attribute], change.states, style)
        then = f"the call would be {put(rules, change.outcome, now)}"
        if change.outcome.status == "untyped":
            told.setdefault(capital(then), []).append(clause)
        else:
            told[f"If {clause}, {then}"] = []
    lines = [
        f"- {head} if {'; or if '.join(clauses)}." if clauses else f"- {head}."
        for head, clauses in told.items()
    ]
    lines = lines or ["- No other state would change the call."]
    changing = sum(change.states.bit_count() for change in found.changes.found)
    impossible = found.changes.impossible
    others = found.changes.tried - impossible - changing
    count = (
        f"- Of {counted(found.changes.tried, 'other state')}, {changing} would change the call, "
        f"{others} would not, and {impossible} cannot stand beside the other observations."
    )
    return ["", "If one observation were another", *lines, count]


def _weight(
    rules: Rules, examination: Examination, change: SingleChange, now: Outcome
) -> tuple[int, int, int, int]:
    """Return a key by which changes that matter more sort first."""
    then, attribute = change.outcome, rules.attributes[change.attribute]
    if then.among == now.among:
        weight = 3
    elif then.among & now.among:
        weight = 2
    else:
        weight = 0 if then.among else 1
    away = steps(attribute, examination.observations[change.attribute].mask, change.states)
    return (weight, away, change.attribute, change.states)


def _rests(rules: Rules, found: WhatIf, now: Outcome) -> list[str]:
    """Say what the call rests on: without which observations it would be another, and which."""
    lines = ["", "If one observation were left out"]
    by_outcome: dict[Outcome, list[str]] = {}
    for dropped in found.dropped:
        name = name_of(rules.attributes[dropped.attribute])
        by_outcome.setdefault(dropped.outcome, []).append(name)
    lines += [
        f"- If {listed(names, 'or')} were not known, the call would be {put(rules, outcome, now)}."
        for outcome, names in by_outcome.items()
    ]
    if found.idle:
        one = "any of these" if len(found.idle) > 1 else "this"
        idle = listed(_gathered(rules, found.idle))
        lines.append(f"- Not to know {one} would change nothing: {idle}.")
    return lines


def _gathered(rules: Rules, indices: Iterable[int]) -> list[str]:
    """Name attributes, and items of one attribute once."""
    attributes = [rules.attributes[i] for i in indices]
    return list(dict.fromkeys(a.item_of or name_of(a) for a in attributes))


def _smallest(rules: Rules, found: WhatIf, seen: Mapping[str, Seen]) -> list[str]:
    call, types = found.smallest.call, found.smallest.types
    if call is None or types is None or not types.attributes:
        return []
    lines = ["", "The fewest observations that settle it", _least(rules, call, GIVES, seen)]
    if len(types.attributes) < len(call.attributes):
        lines.append(_least(rules, types, LEAVES, seen))
    return lines


def _least(rules: Rules, least: Least, does: tuple[str, str], seen: Mapping[str, Seen]) -> str:
    style = seen.get("haft_style", NOTHING)
    chosen = [seen[rules.attributes[i].id] for i in least.attributes]
    told = briefs(chosen, style)
    told += [
        f"{plain(s.attribute.label)} {stated(s.attribute, s.mask)}"
        for s in chosen
        if s.attribute is not None and not briefs([s], style)
    ]
    head = "- This one alone" if len(chosen) == 1 else f"- These {number(len(chosen))} alone"
    head = f"{head} {does[len(chosen) == 1]}"
    if not least.exact:
        head += " (none can be spared, but another set may be smaller)"
    return f"{head}: {listed(told)}."


def _haft(rules: Rules, found: WhatIf, now: Outcome) -> list[str]:
    if found.haft_only is None:
        return []
    same = "still be" if found.haft_only == now else "be"
    return [
        "",
        "If blade, finish and size were left out, of the piece and of what defines the types",
        f"- The call would {same} {put(rules, found.haft_only)}.",
    ]


def what_if_json(rules: Rules, examination: Examination) -> dict[str, object]:
    """Return how the call would change, as mappings, lists, text and numbers.

    `exact` tells whether no smaller set can do. An item of damage is named `damage.heat`.
    """
    found = work_out(rules, examination)
    attributes = rules.attributes
    return {
        "call": _call(found.call),
        "changes": [
            {
                "attribute": attributes[change.attribute].id,
                "observed": _ids(rules, examination, change.attribute),
                "states": list(attributes[change.attribute].ids(change.states)),
                "call": _call(change.outcome),
            }
            for change in found.changes.found
        ],
        "tried": found.changes.tried,
        "impossible": found.changes.impossible,
        "left_out": [
            {"attribute": attributes[d.attribute].id, "call": _call(d.outcome)}
            for d in found.dropped
        ],
        "changes_nothing_left_out": [attributes[i].id for i in found.idle],
        "fewest": {
            "same_call": _set(rules, found.smallest.call),
            "same_types": _set(rules, found.smallest.types),
        },
        "haft_only": _call(found.haft_only),
        "regions": [
            {"region": region, "call": _call(outcome)} for region, outcome in found.regions.items()
        ],
    }


def _call(outcome: Outcome | None) -> dict[str, object] | None:
    if outcome is None:
        return None
    return {
        "status": outcome.status,
        "types": list(outcome.types),
        "reason": outcome.reason or None,
    }


def _ids(rules: Rules, examination: Examination, index: int) -> list[str]:
    return list(rules.attributes[index].ids(examination.observations[index].mask))


def _set(rules: Rules, least: Least | None) -> dict[str, object] | None:
    if least is None:
        return None
    names = [rules.attributes[i].id for i in least.attributes]
    return {"attributes": names, "exact": least.exact}
