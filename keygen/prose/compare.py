"""Two types side by side: what parts them, observation by observation, and what else is told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from keygen.core.model import Attribute, Rules, Type
from keygen.core.separate import Form, Relation, form, relation
from keygen.prose.ages import dated
from keygen.prose.grammar import capital, fragment, listed, plain, sentence
from keygen.prose.naming import tell
from keygen.prose.render import render
from keygen.prose.seen import name_of, stated
from keygen.prose.typepage import (
    cautions,
    criteria,
    dated_record,
    in_cal_bp,
    row,
    section,
    short_cal_bp,
    wrapped,
)

Parts = Literal["always", "sometimes", "never"]
COLUMNS = (17, 19, 19, 19)  # observation, either type, what it can do: 80 with the gaps between
PLURAL = frozenset({"ears", "barb_tip"})  # what is called by a plural: "the basal ears part them"


@dataclass(frozen=True)
class Observation:
    """What one observation can do for a pair of types.

    Attributes:
        attribute: what is observed.
        allowed: the states that each of the two can show (as masks), all else considered.
        own: whether each of the two names the attribute in its definition.
        parts: `always` if no state is possible in both; `never` if the same are.
    """

    attribute: Attribute
    allowed: tuple[int, int]
    own: tuple[bool, bool]

    @property
    def parts(self) -> Parts:
        """Return on how many pieces the observation parts the two."""
        one, other = self.allowed
        if not one & other:
            return "always"
        return "never" if one == other else "sometimes"

    @property
    def follows(self) -> bool:
        """Tell whether it is a mere consequence: one definition does not speak of it."""
        return not all(self.own)

    @property
    def shared(self) -> float:
        """Return the part of all that either can show that both can, from 0 to 1."""
        one, other = self.allowed
        return (one & other).bit_count() / (one | other).bit_count()

    @property
    def only(self) -> tuple[int, int]:
        """Return the states that only the one and only the other can show."""
        one, other = self.allowed
        return one & ~other, other & ~one


@dataclass(frozen=True)
class Comparison:
    """Two types, how their definitions lie to each other, and the observations of either."""

    kinds: tuple[Type, Type]
    relation: Relation
    inner: int  # which of the two lies within the other, where the relation is `contained`
    observations: tuple[Observation, ...]

    def that_part(self, parts: Parts) -> tuple[Observation, ...]:
        """Return the observations that part the two so often, the most telling first."""
        found = [o for o in self.observations if o.parts == parts]
        return tuple(sorted(found, key=lambda o: o.shared))


def compare(rules: Rules, one: Type, other: Type) -> Comparison:
    """Hold the definitions of two types against each other."""
    forms = form(rules, one), form(rules, other)
    found = relation(*forms)
    named = sorted({*forms[0].limits, *forms[1].limits})
    return Comparison(
        kinds=(one, other),
        relation=found,
        inner=0 if forms[0].within(forms[1]) else 1,
        observations=tuple(_observation(rules, i, forms) for i in named),
    )


def _observation(rules: Rules, index: int, forms: tuple[Form, Form]) -> Observation:
    one, other = forms
    return Observation(
        rules.attributes[index],
        (one.reach[index], other.reach[index]),
        (index in one.limits, index in other.limits),
    )


def summary(found: Comparison, folder: Path | None = None) -> str:
    """Return in a sentence or two what parts two types, as in `only fluting parts them`."""
    always = found.that_part("always")
    firm = tuple(o for o in always if not o.follows) or always
    names = [kind.name for kind in found.kinds]
    values = {
        "always": [name_of(o.attribute) for o in firm],
        "plural": len(firm) > 1 or any(o.attribute.id in PLURAL for o in firm),
        "sometimes": [name_of(o.attribute) for o in found.that_part("sometimes")],
        "relation": found.relation.value,
        "inner": names[found.inner],
        "outer": names[1 - found.inner],
        "no_region": not _regions(found)[0],
    }
    return sentence(render("types/summary.j2", values, folder))


def comparison(rules: Rules, found: Comparison, folder: Path | None = None) -> str:
    """Return the comparison of two types as a page of plain text."""
    one, other = found.kinds
    names = (one.name, other.name)
    blocks = [f"{one.name} ({one.id}) and {other.name} ({other.id})"]
    blocks.append(wrapped(summary(found, folder)))
    blocks.append("\n".join(_table(found, names, folder)))
    blocks.append(section("Usually", *_usual(rules, found)))
    blocks.append(section("Measurements", *_measures(rules, found)))
    blocks.append("\n".join(_ages(rules, found, names)))
    blocks.append(section("How to tell them apart", sentence(tell(rules, *found.kinds))))
    blocks.append(section("Caution", cautions(rules)))
    return "\n\n".join(block for block in blocks if block) + "\n"


def _table(found: Comparison, names: tuple[str, ...], folder: Path | None) -> Iterator[str]:
    yield row(("observation", *names, "what it can do"), COLUMNS)
    for o in (*found.that_part("always"), *found.that_part("sometimes")):
        only = [
            {"name": name, "states": stated(o.attribute, mask)}
            for name, mask in zip(names, o.only, strict=True)
            if mask
        ]
        values = {"always": o.parts == "always", "follows": o.follows, "only": only}
        verdict = fragment(render("types/verdict.j2", values, folder))
        cells = (allowed(o.attribute, mask) for mask in o.allowed)
        yield row((plain(o.attribute.label), *cells, verdict), COLUMNS)
    alike = [name_of(o.attribute) for o in found.that_part("never")]
    if alike:
        yield wrapped(f"The same in both: {listed(alike)}.")


def allowed(attribute: Attribute, mask: int) -> str:
    """Word the states that a type can show; a set that leaves nothing out is `any`."""
    if mask == attribute.full:
        return "any"
    text = stated(attribute, mask)
    return "any, not absent" if text == "present" else text


def _usual(rules: Rules, found: Comparison) -> Iterator[str]:
    """Yield the usual traits in which the two differ, a line each."""
    traits = [{c.attribute: c.allowed for c in kind.usual} for kind in found.kinds]
    for i in sorted(traits[0].keys() & traits[1].keys()):
        attribute, (one, other) = rules.attributes[i], (traits[0][i], traits[1][i])
        if one != other:
            texts = (stated(attribute, one), stated(attribute, other))
            named = zip(found.kinds, texts, strict=True)
            told = "; ".join(f"{kind.name} {text}" for kind, text in named)
            yield f"{plain(attribute.label)}: {told}"


def _measures(rules: Rules, found: Comparison) -> Iterator[str]:
    ranges = [{m.measurement: m for m in kind.measures} for kind in found.kinds]
    for name in [m for m in rules.measurements if m in ranges[0] and m in ranges[1]]:
        measurement = rules.measurements[name]
        both = zip(found.kinds, (ranges[0][name], ranges[1][name]), strict=True)
        told = "; ".join(f"{kind.name} {m.low:g}-{m.high:g}" for kind, m in both)
        yield f"{plain(measurement.label)} ({measurement.unit}): {told}"


def _regions(found: Comparison) -> tuple[list[str], list[list[str]]]:
    """Return the regions that know both types, and those that know only the one or the other."""
    known = [[r.region for r in kind.records] for kind in found.kinds]
    shared = [name for name in known[0] if name in known[1]]
    return shared, [[name for name in own if name not in shared] for own in known]


def _ages(rules: Rules, found: Comparison, names: tuple[str, ...]) -> Iterator[str]:
    shared, alone = _regions(found)
    yield "Regions and ages"
    for region in shared:
        yield f"  {region}"
        for kind, name in zip(found.kinds, names, strict=True):
            record = kind.record(region)
            if record is not None:
                cal = short_cal_bp(in_cal_bp(rules, record.dates))
                cal = f"; {cal} cal BP" if cal and record.dates.scale != "cal BP" else ""
                yield wrapped(f"{name}: {record.period}, {dated(record.dates)}{cal}", "    ")
    for name, regions in zip(names, alone, strict=True):
        if regions:
            yield wrapped(f"only {name}: {', '.join(regions)}", "  ")


def compared(rules: Rules, found: Comparison) -> dict[str, object]:
    """Return a comparison as plain data, by the ids of the two types."""
    ids = tuple(kind.id for kind in found.kinds)
    shared, alone = _regions(found)
    return {
        "types": list(ids),
        "summary": summary(found),
        "relation": found.relation.value,
        "observations": [
            {
                "attribute": o.attribute.id,
                "parts": o.parts,
                "follows": o.parts == "always" and o.follows,
                "allows": _by_type(ids, o.attribute, o.allowed),
                "only": _by_type(ids, o.attribute, o.only),
            }
            for o in found.observations
        ],
        "usual": {kind.id: criteria(rules, kind.usual) for kind in found.kinds},
        "measures": {
            kind.id: {m.measurement: {"from": m.low, "to": m.high} for m in kind.measures}
            for kind in found.kinds
        },
        "regions": {
            "shared": {
                region: {
                    kind.id: dated_record(rules, record)
                    for kind in found.kinds
                    if (record := kind.record(region))
                }
                for region in shared
            },
            "only": dict(zip(ids, alone, strict=True)),
        },
        "tell": capital(tell(rules, *found.kinds)) or None,
    }


def _by_type(
    ids: Sequence[str], attribute: Attribute, masks: Sequence[int]
) -> Mapping[str, list[str]]:
    return {name: list(attribute.ids(mask)) for name, mask in zip(ids, masks, strict=True)}
