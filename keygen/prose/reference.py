"""The reference pages in docs/reference, made from the rules so that they are never stale."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from jinja2.meta import find_undeclared_variables

from keygen import data
from keygen.core.chronology import CalBP, cal_bp, curve_of
from keygen.core.model import Attribute, Couplet, Dates, Record, Rules, Source, Type
from keygen.core.periods import named_periods
from keygen.prose.ages import citations, dated, figures
from keygen.prose.owntemplates import WORDED, template_names
from keygen.prose.render import environment, render


def pages(rules: Rules) -> Mapping[str, str]:
    """Return the reference pages as Markdown, by file name."""
    values: dict[str, dict[str, object]] = {
        "vocabulary": {"groups": list(_groups(rules)), "many": rules.many},
        "key": {"couplets": [_couplet(rules, c) for c in _numbered(rules)]},
        "types": {"regions": [_region(rules, name) for name in rules.regions]},
        "sources": {"sources": [_source(rules, s) for s in _sorted_sources(rules)]},
        "templates": {"folders": [(folder, list(_templates(folder))) for folder in WORDED]},
    }
    return {
        f"{name}.md": render(f"reference/{name}.j2", {"edition": rules.edition, **given}).strip()
        + "\n"
        for name, given in values.items()
    }


def _templates(folder: str) -> Iterator[tuple[str, list[str]]]:
    """Yield the templates of a folder with the values that they make use of."""
    boxed = environment()
    for name in template_names(data.root("templates") / folder):
        if name.endswith(".j2"):
            text, _, _ = boxed.loader.get_source(boxed, f"{folder}/{name}")  # type: ignore[union-attr]
            yield f"{folder}/{name}", sorted(find_undeclared_variables(boxed.parse(text)))


def _numbered(rules: Rules) -> list[Couplet]:
    return [rules.by_number[number] for number in sorted(rules.by_number)]


def _groups(rules: Rules) -> Iterator[dict[str, object]]:
    """Yield the groups of the vocabulary; the items of a `many` attribute stand together."""
    groups: dict[str, dict[str, dict[str, object]]] = {}
    for attribute in rules.attributes:
        entries = groups.setdefault(attribute.group, {})
        name = attribute.item_of or attribute.id
        if name not in entries:
            entries[name] = {
                "id": name,
                "label": rules.many.get(name, attribute.label),
                "many": bool(attribute.item_of),
                "part": "" if attribute.part == "any" else rules.parts[attribute.part],
                "stability": attribute.stability,
                "definition": attribute.definition,
                "basis": _basis(rules, attribute),
                "states": [],
            }
        states = entries[name]["states"]
        assert isinstance(states, list)  # noqa: S101 - it was made above
        states += _states(attribute)
    for group, entries in groups.items():
        yield {"name": group.replace("_", " "), "attributes": list(entries.values())}


def _states(attribute: Attribute) -> list[dict[str, object]]:
    if attribute.item_of:
        present = attribute.states[1]
        item = attribute.id.removeprefix(f"{attribute.item_of}.")
        return [{"id": item, "term": attribute.label, "means": present.means, "also": present.also}]
    return [
        {"id": s.id, "term": s.term, "means": s.means, "also": s.also} for s in attribute.states
    ]


def _basis(rules: Rules, attribute: Attribute) -> str:
    cited = citations(rules, attribute.sources)
    return f"{cited}, {attribute.basis}" if cited else "common practice"


def _couplet(rules: Rules, couplet: Couplet) -> dict[str, object]:
    return {
        "number": couplet.number,
        "id": couplet.id,
        "ask": couplet.ask,
        "look": couplet.look,
        "part": "" if couplet.part == "any" else rules.parts[couplet.part],
        "leads": [
            {
                "letter": lead.letter,
                "say": lead.say,
                "go": rules.couplets[lead.go].number if lead.go else 0,
                "do": lead.do,
            }
            for lead in couplet.leads
        ],
    }


def _region(rules: Rules, name: str) -> dict[str, object]:
    """Return a region with its types by the first period named for them, oldest first."""
    curve = curve_of(rules)
    rows = []
    for kind in rules.in_region(name):
        record = kind.record(name)
        if record is not None:
            rows.append((cal_bp(record.dates, curve), kind, record))
    rows.sort(key=lambda row: (-row[0].start, -row[0].end, row[1].id))
    periods: dict[str, list[dict[str, object]]] = {}
    for span, kind, record in rows:
        named = named_periods(rules, name, record.period)
        periods.setdefault(named[0].name if named else "Other", []).append(_row(kind, record, span))
    return {
        "label": rules.regions[name].label,
        "id": name,
        "states": rules.regions[name].states,
        "count": len(rows),
        "periods": [{"name": period, "types": types} for period, types in periods.items()],
    }


def _row(kind: Type, record: Record, span: CalBP) -> dict[str, object]:
    about = "" if span.how in ("printed", "calendar") else "~"
    return {
        "id": kind.id,
        "name": kind.name,
        "period": record.period,
        "age": dated(record.dates),
        "cal_bp": about + figures(Dates(span.start, span.end, "cal BP")).removesuffix(" cal BP"),
        "basis": record.basis + (", range of the period" if record.period_range else ""),
    }


def _sorted_sources(rules: Rules) -> list[Source]:
    return sorted(rules.sources.values(), key=lambda source: source.cite.casefold())


def _source(rules: Rules, source: Source) -> dict[str, object]:
    """Return a source with how many records rest on it, by basis."""
    used: Counter[str] = Counter(
        record.basis
        for kind in rules.types.values()
        for record in kind.records
        if source.key in record.sources
    )
    return {"key": source.key, "cite": source.cite, "used": sorted(used.items())}
