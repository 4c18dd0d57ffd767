"""One type to read: its definition in words, regions with ages on all scales, look-alikes, sources.

The definition goes through the templates that describe a piece: it is worded as if all that it
allows had been observed and nothing else.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from keygen.core.chronology import CalBP, cal_bp, read_curve
from keygen.core.examine import Examination, Piece
from keygen.core.model import Attribute, Criterion, Dates, Record, Rules, Type
from keygen.core.observe import How, Observation
from keygen.core.states import is_single
from keygen.prose.ages import BASIS, citations, figures, grounds, remarks, scale_remark
from keygen.prose.facts import Fact
from keygen.prose.form import form
from keygen.prose.grammar import capital, fragment, plain, sentence
from keygen.prose.render import ABOUT_FORM, render
from keygen.prose.seen import Seen, briefs, name_of
from keygen.prose.sights import look

WIDTH = 80
COLUMNS = (22, 18, 20, 14)  # region, period, age as printed, cal BP: 80 with the gaps between
GAP = "  "
MARKS = {"printed": "", "calendar": "", "calibrated": "~", "either": "?"}
SIZE = "size"  # the group of the vocabulary whose attributes are size
CAUTIONS = ("typed", "dated")  # when a caution of this kind belongs under a type


def definition(rules: Rules, kind: Type, folder: Path | None = None) -> str:
    """Return what defines a type, as sentences."""
    return _worded(rules, kind.defined_by, (), folder)


def usual(rules: Rules, kind: Type, folder: Path | None = None) -> str:
    """Return what is usual in a type and narrower than its definition, as sentences."""
    defined = {c.attribute: c.allowed for c in kind.defined_by}
    own = tuple(c for c in kind.usual if defined.get(c.attribute) != c.allowed)
    return _worded(rules, own, kind.defined_by, folder)


def _worded(
    rules: Rules,
    criteria: Sequence[Criterion],
    implied: Sequence[Criterion],
    folder: Path | None,
) -> str:
    """Word criteria as observations; those implied are known while wording and stay unsaid."""
    observations = [Observation(mask, "not_asked") for mask in rules.full]
    for criterion in implied:
        observations[criterion.attribute] = Observation(criterion.allowed, "implied")
    for criterion in criteria:
        how: How = "seen" if is_single(criterion.allowed) else "unsure"
        observations[criterion.attribute] = Observation(criterion.allowed, how)
    examination = Examination(Piece(), "", tuple(observations), frozenset(), {}, (), None)
    seen = look(rules, examination)
    facts: dict[str, list[Fact]] = {}
    for fact in form(rules, examination):
        facts.setdefault(fact.slot, []).append(fact)
    told: set[str] = set()
    sentences = []
    for slot in ABOUT_FORM:
        for fact in facts.get(slot, ()):
            if fact.about and slot not in ("unseen", "others"):
                place = "types/piece.j2" if slot == "piece" else f"report/{slot}.j2"
                text = sentence(render(place, fact.values, folder))
                told.update(fact.about if text else ())
                sentences.append(text)
    named = (rules.attributes[c.attribute].id for c in criteria)
    rest = [seen[name] for name in named if name not in told]
    return " ".join(text for text in (*sentences, _rest(rest, folder)) if text)


def _rest(rest: Sequence[Seen], folder: Path | None) -> str:
    """Word what goes without saying of a piece, but not in a definition: no ears, no flute."""
    absent = [s for s in rest if s.none and not s.ids]
    values = {
        "absent": [bare_name(s.attribute) for s in absent if s.attribute is not None],
        "traits": briefs(s for s in rest if s not in absent),
    }
    return sentence(render("types/rest.j2", values, folder)) if rest else ""


def bare_name(attribute: Attribute) -> str:
    """Return what an attribute is called, without an article: `basal ears`."""
    return name_of(attribute).removeprefix("the ").removeprefix("a ")


def measures(rules: Rules, kind: Type, folder: Path | None = None) -> list[str]:
    """Return the usual ranges of a type's measurements, those of one source together."""
    groups: dict[str, list[dict[str, str]]] = {}
    for m in kind.measures:
        measurement = rules.measurements[m.measurement]
        item = {
            "name": plain(measurement.label),
            "range": f"{m.low:g}-{m.high:g} {measurement.unit}",
        }
        groups.setdefault(grounds(rules, m.sources, m.basis, 9), []).append(item)
    return [
        sentence(render("types/measures.j2", {"items": items, "grounds": why}, folder))
        for why, items in groups.items()
    ]


def support(rules: Rules, kind: Type, folder: Path | None = None) -> str:
    """Say that the ranges only support a call, and what criteria of size the definition has."""
    attributes = [rules.attributes[c.attribute] for c in kind.defined_by]
    sizes = [name_of(a) for a in attributes if a.group == SIZE]
    values = {"ranges": bool(kind.measures), "sizes": sizes}
    return sentence(render("types/support.j2", values, folder)) if sizes or kind.measures else ""


def in_cal_bp(rules: Rules, dates: Dates) -> CalBP | None:
    """Return a range in cal BP; None if the rules have no curve."""
    return cal_bp(dates, read_curve(rules.curve)) if rules.curve else None


def short_cal_bp(found: CalBP | None) -> str:
    """Return a range in cal BP without its unit: `13,050-12,750`, `~8300-7800`, or nothing."""
    if found is None:
        return ""
    text = figures(Dates(found.start, found.end, "cal BP")).removesuffix(" cal BP")
    return MARKS[found.how] + text


def page(rules: Rules, kind: Type, region: str = "", folder: Path | None = None) -> str:
    """Return a type as a page of plain text.

    Args:
        region: the one region whose record is shown; all if not given.
        folder: a folder of the user's own templates, if any.
    """
    head = {"also": kind.also, "cluster": kind.cluster, "aliases": kind.aliases}
    sources = {"grounds": grounds(rules, kind.sources, kind.basis, 9)}
    blocks = [f"{kind.name} ({kind.id})"]
    if any(head.values()):
        blocks[0] += "\n" + wrapped(sentence(render("types/head.j2", head, folder)))
    defined = sentence(render("types/sources.j2", sources, folder))
    blocks.append(section("Definition", definition(rules, kind, folder), defined))
    blocks.append(section("Usually", usual(rules, kind, folder)))
    told = (*measures(rules, kind, folder), support(rules, kind, folder))
    blocks.append(section("Measurements", *told))
    records = [r for r in kind.records if region in ("", r.region)]
    if records:
        blocks.append("\n".join(("Regions", *_records(rules, records, folder))))
    alike = [
        fragment(
            render(
                "types/look_alike.j2",
                {"name": rules.types[a.type].name, "id": a.type, "tell": a.tell},
                folder,
            )
        )
        for a in kind.look_alikes
        if a.type in rules.types
    ]
    blocks.append(section("Look-alikes", *alike))
    blocks.append(section("Note", sentence(kind.note)))
    blocks.append(section("Caution", cautions(rules)))
    return "\n\n".join(block for block in blocks if block) + "\n"


def cautions(rules: Rules) -> str:
    """Return what is to be borne in mind with any type."""
    return " ".join(c.text for c in rules.cautions.values() if c.when in CAUTIONS)


def wrapped(text: str, indent: str = "") -> str:
    """Return a paragraph broken at the width of a page."""
    return textwrap.fill(
        text, WIDTH, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False
    )


def section(title: str, *texts: str) -> str:
    """Return a titled part of a page, a paragraph a text; nothing if there is none."""
    told = [wrapped(text, "  ") for text in texts if text]
    return "\n".join((title, *told)) if told else ""


def row(cells: Sequence[str], widths: Sequence[int]) -> str:
    """Return a line of a table, its cells broken at their widths."""
    columns = [
        textwrap.wrap(cell, width, break_on_hyphens=False) or [""]
        for cell, width in zip(cells, widths, strict=True)
    ]
    deepest = max(len(lines) for lines in columns)
    rows = [
        GAP.join(
            (lines[i] if i < len(lines) else "").ljust(width)
            for lines, width in zip(columns, widths, strict=True)
        ).rstrip()
        for i in range(deepest)
    ]
    return "\n".join(rows)


def _records(rules: Rules, records: Sequence[Record], folder: Path | None) -> Iterator[str]:
    """Yield the table of regions, and below it what each line rests on."""
    yield row(("region", "period", "age as published", "cal BP"), COLUMNS)
    hows = set()
    for record in records:
        found = in_cal_bp(rules, record.dates)
        hows.add(found.how if found else "")
        printed = figures(record.dates).replace("radiocarbon years BP", "rcybp")
        if scale_remark(record.dates) == "uncalibrated":
            printed += " (uncal.)"
        yield row((record.region, record.period, printed, short_cal_bp(found)), COLUMNS)
    curve = rules.curve.label if rules.curve else ""
    radiocarbon = any(r.dates.scale == "rcybp" for r in records)
    values: Mapping[str, object] = {"hows": hows, "curve": curve, "radiocarbon": radiocarbon}
    told = sentence(render("types/scale.j2", values, folder))
    if told:
        yield wrapped(told)
    for record in records:
        local = rules.types.get(record.local_type)
        basis = BASIS[record.basis]
        values = {
            "local_type": f"{local.name} ({local.id})" if local else "",
            "local_name": record.local_name,
            "remarks": [r for r in remarks(record) if r != basis],
            "grounds": ", ".join(t for t in (citations(rules, record.sources, 9), basis) if t),
            "note": record.note.rstrip("."),
            "period_note": record.period_note.rstrip("."),
            "seen": record.seen.rstrip("."),
        }
        text = sentence(render("types/record.j2", values, folder))
        yield wrapped(f"{record.region}: {text}", "  ")


def data(rules: Rules, kind: Type, region: str = "", words: bool = False) -> dict[str, object]:
    """Return a type as plain data.

    Args:
        region: the one region whose record is given; all if not given.
        words: whether the definition in words comes along.
    """
    found: dict[str, object] = {
        "id": kind.id,
        "name": kind.name,
        "aliases": list(kind.aliases),
        "also": list(kind.also),
        "cluster": kind.cluster or None,
        "defined_by": criteria(rules, kind.defined_by),
        "usual": criteria(rules, kind.usual),
        "measures": {
            m.measurement: {
                "from": m.low,
                "to": m.high,
                "unit": rules.measurements[m.measurement].unit,
                "basis": m.basis,
                "sources": list(m.sources),
            }
            for m in kind.measures
        },
        "records": [
            {"region": r.region, **dated_record(rules, r)}
            for r in kind.records
            if region in ("", r.region)
        ],
        "look_alikes": [{"type": a.type, "tell": a.tell} for a in kind.look_alikes],
        "note": kind.note or None,
        "basis": kind.basis,
        "sources": list(kind.sources),
    }
    if words:
        found["text"] = {"definition": definition(rules, kind), "usual": usual(rules, kind)}
        found["caution"] = capital(cautions(rules))
    return found


def criteria(rules: Rules, several: Sequence[Criterion]) -> dict[str, list[str]]:
    """Return what is allowed, as state ids by attribute id."""
    named = ((rules.attributes[c.attribute], c.allowed) for c in several)
    return {attribute.id: list(attribute.ids(mask)) for attribute, mask in named}


def dated_record(rules: Rules, record: Record) -> dict[str, object]:
    """Return period, age on its own scale and in cal BP, and what they rest on."""
    dates, cal = record.dates, in_cal_bp(rules, record.dates)
    return {
        "period": record.period,
        "dates": {"from": dates.start, "to": dates.end, "scale": dates.scale, "sure": dates.sure},
        "cal_bp": {"from": cal.start, "to": cal.end, "how": cal.how} if cal else None,
        "period_range": record.period_range,
        "basis": record.basis,
        "sources": list(record.sources),
        "seen": record.seen or None,
        "note": record.note or None,
        "period_note": record.period_note or None,
        "local_name": record.local_name or None,
        "local_type": record.local_type or None,
    }
