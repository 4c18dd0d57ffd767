"""`keygen types`: the types, regions and terms of the rules, to look up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

import typer

from keygen.cli.describe import as_json
from keygen.cli.guard import guarded, talk
from keygen.cli.options import Format, FormatOption, RegionOption, RulesOption
from keygen.errors import KeygenError, Problem, nearest

if TYPE_CHECKING:
    from keygen.core.model import Criterion, Rules, Type

IdArgument = Annotated[
    str, typer.Argument(metavar="[ID]", help="A type, by id, name or older id; all if left out.")
]
TermsOption = Annotated[
    bool, typer.Option("--terms", help="List the attributes and their states instead.")
]


@guarded
def types(
    wanted: IdArgument = "",
    region: RegionOption = "",
    terms: TermsOption = False,
    output: FormatOption = Format.TEXT,
    rules_folder: RulesOption = None,
) -> None:
    """List the types, or show one; with --terms, the attributes and states for --set.

    Example: keygen types --region ozarks
    """
    from keygen.cli.gather import known_region, rules_from

    rules = rules_from(rules_folder)
    where = known_region(rules, region)
    if terms:
        found: Any = _terms(rules)
        lines = [f"{name}: {', '.join(states)}" for name, states in found.items()]
    elif wanted:
        kind = _one(rules, wanted)
        found, lines = _data(rules, kind, where), list(_shown(rules, kind, where))
    else:
        kinds = rules.in_region(where) if where else tuple(rules.types.values())
        found = [_data(rules, kind, where) for kind in kinds]
        lines = [_line(kind, where) for kind in kinds]
    if output is Format.TEXT:
        typer.echo("\n".join(lines))
        return
    digest = {"edition": rules.edition, "digest": rules.digest}
    key = "terms" if terms else "types"
    listed = [found] if wanted and not terms else found
    typer.echo(as_json({"format_version": 1, key: listed, "rules": digest}), nl=False)


def _terms(rules: Rules) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for attribute in rules.attributes:
        if attribute.item_of:
            item = attribute.id.partition(".")[2]
            found.setdefault(attribute.item_of, ["none"]).append(item)
        else:
            found[attribute.id] = list(attribute.bits)
    return found


def _one(rules: Rules, wanted: str) -> Type:
    """Return a type by id, older id or name.

    Raises:
        KeygenError: there is none.
    """
    words = wanted.strip().casefold()
    name = rules.names.get(words.replace(" ", "_").replace("-", "_"))
    if name is None:
        by_name = {t.name.casefold(): t.id for t in rules.types.values()}
        name = by_name.get(words)
    if name is None:
        remedy = nearest(words.replace(" ", "_"), rules.names) or "`keygen types` lists them."
        raise KeygenError(Problem("", 0, 0, "K005", f"the type {wanted!r} is not known", remedy))
    kind = rules.types[name]
    if words in kind.aliases:
        talk(f"{words} is kept under {name}")
    return kind


def _line(kind: Type, region: str) -> str:
    from keygen.prose.ages import dated

    record = kind.record(region)
    if record:
        return f"{kind.id}  {kind.name}: {record.period}, {dated(record.dates)}"
    return f"{kind.id}  {kind.name} ({', '.join(r.region for r in kind.records)})"


def _states(rules: Rules, criteria: tuple[Criterion, ...]) -> dict[str, list[str]]:
    return {
        rules.attributes[c.attribute].id: list(rules.attributes[c.attribute].ids(c.allowed))
        for c in criteria
    }


def _shown(rules: Rules, kind: Type, region: str) -> Iterator[str]:
    from keygen.prose.ages import age, grounds

    yield f"{kind.name} ({kind.id})"
    for title, names in (("also", kind.also), ("older ids", kind.aliases)):
        if names:
            yield f"  {title}: {'; '.join(names)}"
    for title, criteria in (("defined by", kind.defined_by), ("usual", kind.usual)):
        for name, states in _states(rules, criteria).items():
            yield f"  {title}: {name} = {' / '.join(states)}"
    for m in kind.measures:
        unit = rules.measurements[m.measurement].unit
        cited = grounds(rules, m.sources, m.basis)
        yield f"  measures: {m.measurement} {m.low:g}-{m.high:g} {unit} ({cited})"
    for record in kind.records:
        if region in ("", record.region):
            local = f" [{record.local_name or record.local_type}]"
            name = local if record.local_name or record.local_type else ""
            yield f"  {record.region}{name}: {record.period}, {age(rules, record)}"
    for look in kind.look_alikes:
        yield f"  look-alike: {look.type}: {look.tell}"
    if kind.note:
        yield f"  note: {kind.note}"
    yield f"  defined after: {grounds(rules, kind.sources, kind.basis)}"


def _data(rules: Rules, kind: Type, region: str) -> dict[str, Any]:
    return {
        "id": kind.id,
        "name": kind.name,
        "aliases": list(kind.aliases),
        "also": list(kind.also),
        "defined_by": _states(rules, kind.defined_by),
        "usual": _states(rules, kind.usual),
        "measures": {m.measurement: {"from": m.low, "to": m.high} for m in kind.measures},
        "records": [
            {
                "region": r.region,
                "period": r.period,
                "dates": {
                    "from": r.dates.start,
                    "to": r.dates.end,
                    "scale": r.dates.scale,
                    "sure": r.dates.sure,
                },
                "basis": r.basis,
                "sources": list(r.sources),
            }
            for r in kind.records
            if region in ("", r.region)
        ],
        "look_alikes": [{"type": look.type, "tell": look.tell} for look in kind.look_alikes],
        "basis": kind.basis,
        "sources": list(kind.sources),
    }
