"""Two editions of the rules side by side: what differs, and which calls change with it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Literal

from keygen.core.call import call
from keygen.core.infer import Contradiction, close
from keygen.core.model import Rules, Type
from keygen.core.states import Box
from keygen.rulebase.figures import definition
from keygen.rulebase.flat import Flat, Names, flat, limits, names_back, names_in

# What a call depends on; a change elsewhere (a citation, a caution) is no reason to call again.
_DECIDES = ("types", "attributes", "couplets", "losses", "regions")


@dataclass(frozen=True)
class Field:
    """One field of an entry before and after; empty where it did not or does not stand."""

    name: str
    was: str
    now: str


@dataclass(frozen=True)
class Difference:
    """One entry that is not the same in both editions; `was_id` is another id that it had."""

    section: str
    id: str
    change: Literal["added", "removed", "changed"]
    fields: tuple[Field, ...] = ()
    was_id: str = ""


@dataclass(frozen=True)
class Told:
    """A call in short, its types in the order of their ids.

    The status `cannot be` says that in this edition no piece can be as the definition has it.
    """

    status: str
    types: tuple[str, ...] = ()


@dataclass(frozen=True)
class CallChange:
    """What a piece that is just as a type is defined is called in some regions, before and after.

    `defined_in` says whose definition the piece has: that of the older or the newer edition.
    """

    type: str
    defined_in: Literal["older", "newer"]
    regions: tuple[str, ...]
    was: Told
    now: Told


@dataclass(frozen=True)
class Comparison:
    """All that differs between two editions."""

    older: Rules
    newer: Rules
    differences: tuple[Difference, ...]
    calls: tuple[CallChange, ...]

    @property
    def same(self) -> bool:
        """Tell whether nothing differs."""
        return not self.differences and not self.calls


def compare(older: Rules, newer: Rules) -> Comparison:
    """Hold two editions side by side. Ids of the older one are followed through aliases."""
    if older.digest == newer.digest:
        return Comparison(older, newer, (), ())
    names = names_in(newer)
    found = tuple(_differences(older, newer, names))
    decisive = any(difference.section in _DECIDES for difference in found)
    calls = tuple(_calls(older, newer, names)) if decisive else ()
    return Comparison(older, newer, found, calls)


def sections(rules: Rules, names: Names) -> dict[str, dict[str, Flat]]:
    """Return all that a rules folder holds, as text by section, id and field."""

    def of(entries: Mapping[str, object]) -> dict[str, Flat]:
        return {name: flat(rules, names, entry) for name, entry in entries.items()}

    return {
        "types": of(rules.types),
        "attributes": of({a.id: a for a in rules.attributes}),
        "couplets": of(rules.couplets),
        "losses": {
            limits(rules, names, loss.when): {
                "parts": ", ".join(loss.parts),
                "unless": limits(rules, names, loss.unless),
            }
            for loss in rules.losses
        },
        "regions": of(rules.regions),
        "measurements": of(rules.measurements),
        "derived": of({d.id: d for d in rules.derivations}),
        "indices": of(rules.indices),
        "questions": of(rules.questions),
        "scored": of(rules.scored),
        "cut short": of({f"{c.because}: {limits(rules, names, c.when)}": c for c in rules.cuts}),
        "periods": of({f"{r} {p.name}": p for r, ps in rules.periods.items() for p in ps}),
        "thesaurus": of({word.word: word for word in rules.thesaurus}),
        "cautions": of(rules.cautions),
        "sources": of(rules.sources),
        "curve": of({"curve": rules.curve} if rules.curve else {}),
        "edition": {
            "edition": {
                "edition": rules.edition,
                "first couplet": names.rules.couplet_names.get(rules.start, rules.start),
            }
        },
    }


def _differences(older: Rules, newer: Rules, names: Names) -> Iterator[Difference]:
    before, after = sections(older, names), sections(newer, names)
    renamed: dict[str, Mapping[str, str]] = {
        "types": newer.names,
        "attributes": names.attributes,
        "couplets": newer.couplet_names,
    }
    for section, entries in after.items():
        new_ids = renamed.get(section, {})
        was = {new_ids.get(name, name): (name, entry) for name, entry in before[section].items()}
        for name in [*was, *(n for n in entries if n not in was)]:
            if name not in entries:
                yield Difference(section, was[name][0], "removed")
            elif name not in was:
                yield Difference(section, name, "added")
            else:
                old_id, old = was[name]
                fields = changed_fields(old, entries[name])
                if fields or old_id != name:
                    was_id = old_id if old_id != name else ""
                    yield Difference(section, name, "changed", fields, was_id)


def changed_fields(was: Flat, now: Flat) -> tuple[Field, ...]:
    """Return the fields that are not the same."""
    return tuple(
        Field(name, was.get(name, ""), now.get(name, ""))
        for name in dict.fromkeys((*was, *now))
        if was.get(name, "") != now.get(name, "")
    )


def translated(older: Rules, newer: Rules, names: Names, known: Box) -> Box:
    """Return what is known of a piece in the terms of another edition.

    What the other edition has no words for is left open.

    Raises:
        Contradiction: no piece can be like this there.
    """
    masks = list(newer.full)
    for attribute, mask in zip(older.attributes, known, strict=True):
        if mask != attribute.full and (found := names.mask(attribute, mask)):
            masks[found[0]] &= found[1]
    return close(newer, masks)


def _calls(older: Rules, newer: Rules, names: Names) -> Iterator[CallChange]:
    """Yield the calls that change, for pieces that are just as each type is defined."""
    back = names_back(older, newer)
    for kind in older.types.values():
        yield from _type_calls(older, newer, names, kind, "older", newer.names)
    for kind in newer.types.values():
        old = next((older.types[n] for n in (kind.id, *kind.aliases) if n in older.types), None)
        if old is None or _defined(older, names, old) != _defined(newer, names, kind):
            yield from _type_calls(newer, older, back, kind, "newer", newer.names)


def _defined(rules: Rules, names: Names, kind: Type) -> dict[str, str]:
    return {
        field: text
        for field, text in flat(rules, names, kind).items()
        if field.startswith("defined_by ")
    }


def _type_calls(
    home: Rules,
    other: Rules,
    names: Names,
    kind: Type,
    defined_in: Literal["older", "newer"],
    now_called: Mapping[str, str],
) -> Iterator[CallChange]:
    """Yield what one type's own definition is called in both editions, where that differs."""
    try:
        known = definition(home, kind)
    except Contradiction:  # rules that `keygen check` refuses
        return
    try:
        there: Box | None = translated(home, other, names, known)
    except Contradiction:
        there = None
    found: dict[tuple[Told, Told], list[str]] = {}
    for region in home.regions:
        if region in other.regions:
            here_called = told(home, region, known, now_called)
            there_called = told(other, region, there, now_called)
            pair = here_called, there_called
            if here_called != there_called:
                found.setdefault(pair if defined_in == "older" else pair[::-1], []).append(region)
    for (was, now), regions in found.items():
        name = now_called.get(kind.id, kind.id)
        yield CallChange(name, defined_in, tuple(regions), was, now)


def told(rules: Rules, region: str, known: Box | None, names: Mapping[str, str]) -> Told:
    """Return a call in short; types have the ids that `names` leads to."""
    if known is None:
        return Told("cannot be")
    found = call(rules, region, known)
    return Told(found.status, tuple(sorted({names.get(t, t) for t in found.types})))


def to_data(found: Comparison) -> dict[str, object]:
    """Return a comparison as plain data."""
    return {
        "format_version": 1,
        "older": {"edition": found.older.edition, "digest": found.older.digest},
        "newer": {"edition": found.newer.edition, "digest": found.newer.digest},
        "differences": [asdict(difference) for difference in found.differences],
        "calls": [asdict(change) for change in found.calls],
    }
