"""A record judged again: whether the key's call is still the one that was made, and why not.

The call as made is kept in the record. With the older rules at hand the changed rule is named;
without them, the criteria that decide now.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal

from keygen.core.call import Judgement, judge
from keygen.core.examine import Examination, Piece
from keygen.core.model import ADDED, Criterion, Rules, Type
from keygen.core.rework import set_aside
from keygen.rulebase.compare import changed_fields
from keygen.rulebase.flat import Names, flat, names_in
from keygen.specimens.history import KeyCall, key_call, measured_otherwise, observation_changes
from keygen.specimens.record import Specimen, examined

Outcome = Literal["same", "changed", "first", "no_call"]


@dataclass(frozen=True)
class Held:
    """One criterion held against the piece: what is observed, and what the type allows."""

    attribute: str
    fit: Literal["against", "open", "met"]
    observed: tuple[str, ...]
    allowed: tuple[str, ...]


@dataclass(frozen=True)
class Reason:
    """A type through which the call changed.

    `rules` are the changes to the rules that did it, empty where the older rules are not known;
    `decides` are the criteria as they stand now.
    """

    type: str
    change: Literal["joined", "left", "stays"]
    rules: tuple[str, ...]
    decides: tuple[Held, ...]


@dataclass(frozen=True)
class Rerun:
    """A record judged again.

    `outcome` is `first` where no earlier call for this region is known, `no_call` where no region
    is. `notes` say what else differs besides the rules.
    """

    outcome: Outcome
    was: KeyCall | None
    now: KeyCall | None
    reasons: tuple[Reason, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Older:
    """Older rules and the same record read with them; or why it cannot be."""

    rules: Rules
    piece: Piece | None
    why_not: str = ""


def rerun(
    rules: Rules,
    specimen: Specimen,
    region: str,
    name: str = "",
    older: Older | None = None,
    before: Specimen | None = None,
) -> Rerun:
    """Judge a record again.

    Args:
        rules: the rules to judge with.
        specimen: the record.
        region: the region's id; nothing gives no call.
        name: how messages call the record.
        older: the rules that it was judged with before, to name the change exactly.
        before: the record before an observation was changed just now.

    Raises:
        KeygenError: the record contradicts itself.
    """
    found = examined(rules, specimen.piece, region, name, specimen.places)
    now = key_call(rules, found)
    if now is None:
        return Rerun("no_call", specimen.key_call, None)
    then = examined(older.rules, older.piece, region, name) if older and older.piece else None
    made = specimen.key_call
    was = made if made and made.region == region else None
    if was is None and then and older:
        was = key_call(older.rules, then)
    if was is None and before:
        was = key_call(rules, examined(rules, before.piece, region, name))
    if before:
        changes = observation_changes(rules, before.piece.observations, specimen.piece.observations)
        notes = list(changes.values())
    else:
        notes = list(_notes(rules, specimen, now, older, then))
    if otherwise := "; ".join(measured_otherwise(rules, found)):
        notes.append(f"the call follows the eye; measurement says otherwise: {otherwise}")
    if was is None:
        return Rerun("first", None, now, (), tuple(notes))
    if was.same_as(now, rules.names):
        return Rerun("same", was, now, (), tuple(notes))
    reasons = _reasons(rules, found, was, older.rules if older and then else None, then)
    return Rerun("changed", was, now, tuple(reasons), tuple(notes))


def _notes(
    rules: Rules, specimen: Specimen, now: KeyCall, older: Older | None, then: Examination | None
) -> Iterator[str]:
    made = specimen.key_call
    if made and made.region != now.region:
        yield f"the call kept in the record is for {made.region}, this one for {now.region}"
        return
    if made and made.digest == now.digest and not made.same_as(now, rules.names):
        yield "the rules are the same; the record has been changed since its call was made"
    if older and older.why_not:
        yield f"the record cannot be read with the older rules: {older.why_not}"
    if made and not older and ADDED in made.edition and made.edition != now.edition:
        yield (
            f"the call was made with rules {made.edition} ({made.digest}), these are {now.edition} "
            f"({now.digest}); --rules takes the folder of that addition"
        )
    if made and older and made.digest != older.rules.digest:
        edition, digest = older.rules.edition, older.rules.digest
        yield (
            f"the call was made with rules {made.edition} ({made.digest}); "
            f"the older rules given are {edition} ({digest})"
        )
    elif made and older and then:
        again = key_call(older.rules, then)
        if again and not again.same_as(made, rules.names):
            yield "the record has been changed since its call was made"


def _reasons(
    rules: Rules,
    found: Examination,
    was: KeyCall,
    older: Rules | None,
    then: Examination | None,
) -> Iterator[Reason]:
    call = found.call
    before = {rules.names.get(name, name) for name in was.types}
    after = set(call.types) if call else set()
    moved = [(name, "left") for name in sorted(before - after)]
    moved += [(name, "joined") for name in sorted(after - before)]
    if not moved and call:  # the same types stand otherwise than before
        moved = [(j.type, "stays") for j in call.candidates]
    names = names_in(rules)
    for name, change in moved:
        lines = _changed_rules(rules, found, name, names, older, then) if older and then else ()
        kind = rules.types.get(name)
        decides = _decides(rules, found, kind) if kind and kind.record(found.region) else ()
        step: Any = change
        yield Reason(name, step, tuple(lines), tuple(decides))


def _judged(rules: Rules, found: Examination, kind: Type) -> Judgement:
    aside = set_aside(rules, found.known, frozenset(found.derived))
    return judge(rules, kind, found.known, found.piece.readings, aside)


def _decides(rules: Rules, found: Examination, kind: Type) -> Iterator[Held]:
    """Yield what speaks against a type; else what is open, and what is met."""
    judged = _judged(rules, found, kind)

    def held(
        fit: Literal["against", "open", "met"], criteria: Sequence[Criterion]
    ) -> Iterator[Held]:
        for c in criteria:
            attribute = rules.attributes[c.attribute]
            seen = attribute.ids(found.known[c.attribute])
            yield Held(attribute.id, fit, seen, attribute.ids(c.allowed))

    yield from held("against", judged.against)
    if not judged.against:
        yield from held("open", judged.open)
        yield from held("met", judged.met)


def _changed_rules(
    rules: Rules,
    found: Examination,
    name: str,
    names: Names,
    older: Rules | None,
    then: Examination | None,
) -> Iterator[str]:
    """Yield the changes to the rules through which one type stands otherwise."""
    if older is None or then is None:
        return
    kind = rules.types.get(name)
    ids = (name, *kind.aliases) if kind else (name,)
    old = next((older.types[i] for i in ids if i in older.types), None)
    if kind is None:
        yield f"types/{name} is no longer in the rules"
        return
    if old is None:
        yield f"types/{name} is new in the rules"
        return
    placed, was_placed = kind in rules.in_region(found.region), old in older.in_region(found.region)
    if placed != was_placed:
        what = "is new" if placed else "is no longer there"
        yield f"types/{name}: its record for {found.region} {what}"
        return
    lines = [
        f"types/{name}: {field.name}: {field.was or 'any'} -> {field.now or 'any'}"
        for field in changed_fields(flat(older, names, old), flat(rules, names, kind))
        if field.name.startswith("defined_by ")
    ]
    lines += _read_otherwise(rules, found, older, then, names, kind)
    unchanged = f"types/{name} is as it was; what the key lets occur together is not"
    yield from lines or [unchanged]


def _read_otherwise(
    rules: Rules, found: Examination, older: Rules, then: Examination, names: Names, kind: Type
) -> Iterator[str]:
    """Yield the attributes of a definition of which the same record now says something else."""
    before = {
        names.attribute(attribute.id): set(names.told(attribute, then.known[i]))
        for i, attribute in enumerate(older.attributes)
    }
    for criterion in kind.defined_by:
        attribute = rules.attributes[criterion.attribute]
        now = attribute.ids(found.known[criterion.attribute])
        was = before.get(attribute.id, set())
        if was != set(now):
            rule = found.derived.get(criterion.attribute)
            by = f" by the measurement rule {rule.id}" if rule else ""
            read = ", ".join(sorted(was)) or "nothing"
            yield f"{attribute.id} is now read as {', '.join(now)}{by}, before as {read}"


def to_data(name: str, found: Rerun) -> dict[str, object]:
    """Return a rerun as plain data."""
    return {"file": name, **asdict(found)}
