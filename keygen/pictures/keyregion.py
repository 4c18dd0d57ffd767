"""The printed key to the types of one region: what stands on its pages, before it is laid out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from keygen.core.applies import conditional
from keygen.core.lengths import Lengths, lengths
from keygen.core.model import Couplet, Criterion, Lead, Record, Rules, Type
from keygen.core.regional import Group, RegionalCouplet, RegionalKey, RegionalLead, regional_key
from keygen.core.separate import recorded
from keygen.pictures.keybook import Entry, paragraphs, runs
from keygen.prose import words
from keygen.prose.ages import age, figures
from keygen.prose.grammar import capital, listed, plain, sentence
from keygen.prose.naming import called
from keygen.prose.render import render
from keygen.prose.seen import stated
from keygen.prose.typepage import definition

# Said without their subject, and how where they do not apply to every piece.
_ALONE = {"notch_position": "if notched", "notch_count": "if any", "fluting": ""}
_NAMED = 2  # types of a group that a lead names


@dataclass(frozen=True)
class RegionLead:
    """A lead: the couplet it goes to, or else the group, with its types if they are few."""

    letter: Literal["a", "b"]
    say: str
    states: int
    couplet: int
    group: int
    names: tuple[str, ...]


@dataclass(frozen=True)
class RegionCouplet:
    """A couplet; `ask` is what it looks at and `look` where the descriptive key tells how to.

    `hafts` is the attribute that tells hafts apart with those that can arrive; empty if all can.
    """

    number: int
    attribute: int
    ask: str
    look: str
    leads: tuple[RegionLead, RegionLead]
    hafts: Mapping[int, int]

    @property
    def couplet(self) -> Couplet:
        """Return it as a couplet that parts the states of its attribute, to be drawn as one."""
        one, other = (
            Lead(d.letter, d.say, ({self.attribute: d.states, **self.hafts},), "")
            for d in self.leads
        )
        return Couplet(f"R{self.number}", self.number, "any", self.ask, self.look, (one, other))


@dataclass(frozen=True)
class Row:
    """A type in a group: what is still to check, and its age with scale and basis."""

    type: str
    name: str
    age: str
    checks: tuple[str, ...]


@dataclass(frozen=True)
class GroupPage:
    """A group: the leads that end in it, its types, and what can be said of those nothing parts."""

    number: int
    before: tuple[str, ...]
    rows: tuple[Row, ...]
    alike: tuple[str, ...]


@dataclass(frozen=True)
class TypeEntry:
    """A type of the region in full: its definition, its age with sources, and its look-alikes."""

    type: str
    name: str
    definition: str
    age: str
    alike: tuple[str, ...]


@dataclass(frozen=True)
class RegionBook:
    """The whole printed key to a region's types."""

    label: str
    edition: str
    digest: str
    lengths: Lengths
    how: tuple[str, ...]
    couplets: tuple[RegionCouplet, ...]
    groups: tuple[GroupPage, ...]
    types: tuple[TypeEntry, ...]
    glossary: tuple[tuple[str, tuple[Entry, ...]], ...]


def region_book(rules: Rules, region: str) -> RegionBook:
    """Return what stands in the printed key to a region's types.

    Args:
        region: the id of a region in which some type is known.
    """
    key = regional_key(rules, region)
    found = lengths(rules, key)
    kinds = sorted(rules.in_region(region), key=lambda kind: kind.name.casefold())
    values = {
        "types": len(kinds),
        "place": rules.regions[region].place,
        "edition": rules.edition,
        "mean": f"{found.mean:.1f}",
        "longest": found.longest,
    }
    return RegionBook(
        rules.regions[region].label,
        rules.edition,
        rules.digest,
        found,
        paragraphs("key/region_how.j2", values),
        tuple(
            _couplet(rules, key, couplet, hafts)
            for couplet, hafts in zip(key.couplets, _hafts(rules, key), strict=True)
        ),
        tuple(_group(rules, key, group) for group in key.groups),
        tuple(_type(rules, region, kind) for kind in kinds),
        tuple(_glossary(rules, key)),
    )


def traits(rules: Rules, criteria: Iterable[Criterion]) -> list[str]:
    """Word what criteria ask for: `stem contracting`, `shoulders horizontal to barbed and strong`.

    What does not apply to every piece is asked `if any`.
    """
    none = rules.once(conditional)
    told: dict[str, list[str]] = {}
    for criterion in criteria:
        attribute = rules.attributes[criterion.attribute]
        subject = words.SUBJECTS.get(attribute.id, plain(attribute.label))
        absent = none.get(criterion.attribute, 0) & criterion.allowed
        maybe = bool(absent) and absent != criterion.allowed
        text = stated(attribute, criterion.allowed & ~absent if maybe else criterion.allowed)
        if attribute.id in _ALONE:
            told.setdefault("", []).append(f"{text} {_ALONE[attribute.id]}" if maybe else text)
        else:
            told.setdefault(f"{subject}, if any," if maybe else subject, []).append(text)
    return [
        text
        for subject, texts in told.items()
        for text in (texts if not subject else [f"{subject} {listed(texts)}"])
    ]


def brief_age(record: Record) -> str:
    """Return an age with its scale and basis in the fewest words: `5500-5000 BC (uncal., read)`."""
    scale = "" if record.dates.sure else "scale?"
    if record.dates.sure and record.dates.scale == "bc/ad":
        scale = "uncal."
    period = "period" if record.period_range else ""
    marks = ", ".join(mark for mark in (scale, period, record.basis) if mark)
    return f"{figures(record.dates)} ({marks})"


def _hafts(rules: Rules, key: RegionalKey) -> Iterator[Mapping[int, int]]:
    """Yield the hafts that can arrive at each couplet, where they were asked before it."""
    index = rules.index.get("haft_style", -1)
    every = rules.full[index] if index >= 0 else 0
    arriving = dict.fromkeys((couplet.number for couplet in key.couplets), 0)
    arriving[key.start.couplet] = every
    for couplet in key.couplets:
        mask, asked = arriving[couplet.number], couplet.attribute == index
        for lead in couplet.leads:
            if lead.couplet:
                arriving[lead.couplet] |= mask & lead.states if asked else mask
        yield {} if asked or mask == every else {index: mask}


def _couplet(
    rules: Rules, key: RegionalKey, couplet: RegionalCouplet, hafts: Mapping[int, int]
) -> RegionCouplet:
    attribute = rules.attributes[couplet.attribute]
    one, other = couplet.leads

    def lead(letter: Literal["a", "b"], found: RegionalLead) -> RegionLead:
        (say,) = traits(rules, [Criterion(couplet.attribute, found.states)])
        types = list(key.groups[found.group - 1].types) if found.group else []
        names = [called(rules, rules.types[name], key.region) for name in types]
        named = tuple(names) if len(names) <= _NAMED else ()
        return RegionLead(letter, capital(say), found.states, found.couplet, found.group, named)

    asked = [c.number for c in rules.couplets.values() if couplet.attribute in c.decides]
    return RegionCouplet(
        couplet.number,
        couplet.attribute,
        capital(plain(attribute.label)),
        runs(asked),
        (lead("a", one), lead("b", other)),
        hafts,
    )


def _group(rules: Rules, key: RegionalKey, group: Group) -> GroupPage:
    before = tuple(
        f"R{couplet.number}{letter}"
        for couplet in key.couplets
        for letter, lead in zip("ab", couplet.leads, strict=True)
        if lead.group == group.number
    )
    rows = tuple(
        _row(rules, key.region, rules.types[name], criteria)
        for name, criteria in group.types.items()
    )
    return GroupPage(group.number, before, rows, tuple(_alike(rules, group)))


def _row(rules: Rules, region: str, kind: Type, criteria: Iterable[Criterion]) -> Row:
    record = kind.record(region)
    dated = f"{record.period}, {brief_age(record)}" if record else ""
    return Row(kind.id, called(rules, kind, region), dated, tuple(traits(rules, criteria)))


def _alike(rules: Rules, group: Group) -> Iterator[str]:
    """Yield what is to be said of types that nothing parts in a group, a pair at a time.

    Where only one covers the other, and nobody wrote down a tell, the lines of the group say it.
    """
    for one, other in sorted(group.covered):
        same = (other, one) in group.covered
        tells = [tell.rstrip(".") for tell in recorded(rules, one, other)]
        if one < other if same else tells:
            names = {"one": rules.types[one].name, "other": rules.types[other].name}
            values = {**names, "same": same, "tells": tells}
            yield sentence(render("key/alike.j2", values))


def _type(rules: Rules, region: str, kind: Type) -> TypeEntry:
    record = kind.record(region)
    dated = f"{record.period}, {age(rules, record, 9)}" if record else ""
    here = {known.id for known in rules.in_region(region)}
    alike = tuple(
        sentence(a.tell if a.tell.startswith(other.name.split()[0]) else f"{other.name}: {a.tell}")
        for a in kind.look_alikes
        if (other := rules.types[rules.names[a.type]]).id in here
    )
    name = called(rules, kind, region)
    return TypeEntry(kind.id, name, definition(rules, kind), sentence(dated), alike)


def _glossary(rules: Rules, key: RegionalKey) -> Iterator[tuple[str, tuple[Entry, ...]]]:
    """Yield the terms of the attributes that the key speaks of, with what they mean."""
    asked = {couplet.attribute for couplet in key.couplets}
    checked = {c.attribute for g in key.groups for cs in g.types.values() for c in cs}
    for i in sorted(asked | checked):
        attribute = rules.attributes[i]
        terms = (Entry(state.term, means=state.means) for state in attribute.states)
        named = (term for term in terms if term.means)
        yield capital(plain(attribute.label)), tuple(named)
