"""The report of a whole collection: one document, written as Markdown, HTML or DOCX.

What holds for every piece is said once. Wording is in `templates/document/`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from pathlib import Path
from typing import Literal, get_args

from keygen.collection import tables
from keygen.collection.counts import tally
from keygen.collection.document import (
    Block,
    Document,
    Figure,
    Heading,
    Items,
    Paragraph,
    Table,
    assembled,
)
from keygen.collection.house import House
from keygen.collection.model import Column, Fault, Outcome
from keygen.collection.told import (
    Told,
    contradicts,
    general_cautions,
    provenience,
    references,
    tell,
)
from keygen.core.model import Rules
from keygen.errors import KeygenError, Problem, nearest
from keygen.pictures.portrait import SCALE, UNSIZED, Portraits
from keygen.pictures.svg import Drawing
from keygen.specimens import places

Grouping = Literal["", "type", "provenience"]
SUFFIXES = (".md", ".html", ".docx")


def write_report(
    rules: Rules,
    outcomes: Iterable[Outcome],
    suffix: str,
    title: str = "",
    group_by: Grouping = "type",
    templates: Path | None = None,
    *,
    preface: str = "",
    columns: Sequence[Column] = (),
    pictures: bool = True,
) -> bytes:
    """Return the report of a collection as the bytes of a file. The same input gives the same.

    Args:
        outcomes: the rows of the collection, in order; `text` of an outcome is not used.
        suffix: `.md`, `.html` or `.docx`.
        title: the title of the report; empty for the templates' own.
        group_by: descriptions by `type`, by `provenience` (site, unit, feature, level; a report
            that is not grouped so names none of them), or empty: in the order of the rows.
        templates: a folder of the user's own templates; each file stands in for a shipped one.
        preface: a paragraph that stands before the methods.
        columns: the columns of the table, so that the report can say which were left out, and
            that nothing found in a column of locations comes into it.
        pictures: put an outline beside each description; Markdown has none.

    Raises:
        KeygenError: no such suffix or grouping, or a template that cannot be used.
    """
    writer = _writer(suffix)
    house = House(rules, templates)
    told = [tell(house, outcome) for outcome in outcomes]
    pictures = pictures and suffix != ".md"
    return writer(report(house, told, title, group_by, preface, columns, pictures), templates)


def _writer(suffix: str) -> Callable[[Document, Path | None], bytes]:
    """Return what writes a document as a kind of file; each is loaded when it is wanted."""
    if suffix == ".md":
        from keygen.collection.as_markdown import markdown

        return lambda document, _: markdown(document)
    if suffix == ".html":
        from keygen.collection.as_html import html

        return html
    if suffix == ".docx":
        from keygen.collection.as_docx import docx

        return docx
    what = f"a report cannot be written as {suffix!r}"
    raise KeygenError(Problem("", 0, 0, "K480", what, nearest(suffix, SUFFIXES)))


def report(
    house: House,
    told: Sequence[Told],
    title: str = "",
    group_by: Grouping = "type",
    preface: str = "",
    columns: Sequence[Column] = (),
    pictures: bool = True,
) -> Document:
    """Return the report of what is told of some specimens as a document; see `write_report`."""
    if group_by not in get_args(Grouping):
        what = f"descriptions cannot be grouped by {group_by!r}"
        raise KeygenError(Problem("", 0, 0, "K481", what, nearest(group_by, get_args(Grouping))))
    pieces = [each for each in told if each.outcome.entry.specimen]
    blocks: list[Block] = [Paragraph(preface)] if preface else []
    blocks += _methods(house, pieces, columns)
    blocks += [_head(house, "table"), tables.specimens(house, pieces)]
    blocks += _some(tables.measurements(house, pieces))
    blocks += _counts(house, pieces)
    blocks += _descriptions(house, pieces, group_by, pictures)
    for part, table in (
        ("analysts", tables.analysts(house, pieces)),
        ("disagreements", tables.disagreements(house, pieces)),
        ("problems", tables.problems(house, _faults(house, told, columns))),
    ):
        blocks += [_head(house, part), table] if table else []
    if works := references(house, pieces):
        note = Paragraph(house.sentence("references"), note=True)
        blocks += [_head(house, "references"), note, Items(works)]
    named = title or house.phrase("heads", part="title")
    return assembled(named, house.phrase("heads", part="contents"), blocks)


def _head(house: House, part: str) -> Heading:
    return Heading(house.phrase("heads", part=part), 1)


def _some(block: Table | Figure | None) -> list[Block]:
    return [block] if block else []


def _methods(house: House, told: Sequence[Told], columns: Sequence[Column]) -> list[Block]:
    """Return how the pieces were described and called, what was left out, and the cautions."""
    rules = house.rules
    used = {each.examination.region for each in told if each.examination}
    regions = [
        house.phrase("region", label=region.label, count=len(rules.in_region(name)))
        for name, region in rules.regions.items()
        if name in used
    ]
    texts = [
        house.sentence(
            "methods",
            edition=rules.edition,
            digest=rules.digest,
            attributes=len({a.item_of or a.id for a in rules.attributes}),
            regions=regions,
        ),
        _left_out(house, told, columns),
        general_cautions(house, told),
    ]
    return [_head(house, "methods"), *(Paragraph(text) for text in texts if text)]


def _left_out(house: House, told: Sequence[Told], columns: Sequence[Column]) -> str:
    """Return what became of the rows, and which columns were left out."""
    described = [each for each in told if each.examination]
    grades = [{fault.grade for fault in each.outcome.entry.faults} for each in described]
    contradicting = sum(contradicts(each.outcome) for each in told)
    return house.sentence(
        "rows",
        rows=len(told),
        contradicting=contradicting,
        unreadable=len(told) - len(described) - contradicting,
        unread=sum("error" in found for found in grades),
        doubted=sum(found == {"warning"} for found in grades),
        listed=house.phrase("heads", part="problems"),
        locations=[column.name for column in columns if column.kind == "location"],
        unused=[column.name for column in columns if column.kind == "unread"],
    )


def _counts(house: House, told: Sequence[Told]) -> list[Block]:
    """Return how many are of what type and period; nothing where no piece was called."""
    counted = tally(house.rules, (each.called for each in told))
    if counted.uncalled == counted.total:
        return []
    blocks: list[Block] = [
        _head(house, "counts"),
        Paragraph(
            house.sentence("counting", several=counted.several, apart=counted.several_periods)
        ),
        tables.by_type(house, counted),
        *_some(tables.type_bars(house, counted)),
        tables.by_period(house, counted),
        *_some(tables.period_bars(house, counted)),
    ]
    return blocks


def _faults(
    house: House, told: Sequence[Told], columns: Sequence[Column]
) -> list[tuple[Told, Fault]]:
    """Return the faults of all rows, without anything that tells an exact location."""
    hidden = {column.name for column in columns if column.kind == "location"}
    instead = house.word("withheld")

    def clean(text: str) -> str:
        return places.withheld(text, instead)

    found = []
    for each in told:
        entry = each.outcome.entry
        faults = entry.faults
        unread = each.examination is None and entry.specimen
        if unread and not any(f.grade == "error" for f in faults):
            what = house.phrase("undescribed", contradicts=contradicts(each.outcome))
            faults += (Fault(entry.row.number, "", "", what),)
        for fault in faults:
            shown = replace(
                fault,
                found=clean(fault.found),
                what=clean(fault.what),
                remedy=clean(fault.remedy),
            )
            if fault.column in hidden and fault.found:
                what = fault.what.replace(fault.found, instead)
                shown = replace(shown, found=instead, what=what, remedy="")
            found.append((each, shown))
    return found


def _descriptions(
    house: House, told: Sequence[Told], group_by: Grouping, pictures: bool
) -> Iterator[Block]:
    """Return the paragraphs of each piece under its heading, in groups if that is wanted."""
    described = [each for each in told if each.paragraphs]
    if not described:
        return
    yield _head(house, "descriptions")
    drawn = _outlines(house, described) if pictures else {}
    if drawn:
        sized = all(picture.measured for picture in drawn.values())
        text = house.sentence("outlines", scale=SCALE, sized=sized, unsized=round(UNSIZED))
        yield Paragraph(text, note=True, on_pictures=True)
    if not group_by:
        yield from _pieces(described, drawn, 2)
        return
    named = [(_group(house, each, group_by), each) for each in described]
    named.sort(key=lambda pair: pair[0][0])
    for (_, name), group in groupby(named, key=lambda pair: pair[0]):
        yield Heading(name, 2)
        yield from _pieces([each for _, each in group], drawn, 3)


def _outlines(house: House, told: Iterable[Told]) -> dict[int, Drawing]:
    """Return the outline of each piece that has one, by the identity of what is told of it."""
    portraits = Portraits(house.rules)
    return {
        id(each): replace(drawn, title=house.phrase("outline", label=each.label))
        for each in told
        if each.examination and (drawn := portraits.of(each.examination))
    }


def _pieces(told: Iterable[Told], drawn: Mapping[int, Drawing], level: int) -> Iterator[Block]:
    for each in told:
        yield Heading(each.label, level, listed=False)
        first, *rest = each.paragraphs
        yield Paragraph(first, picture=drawn.get(id(each)))
        yield from (Paragraph(text) for text in rest)


def _group(house: House, told: Told, group_by: Grouping) -> tuple[tuple[object, ...], str]:
    """Return what a group sorts by and is called: a type, or a place; what has none goes last."""
    if group_by == "provenience":
        place = provenience(told.examination) if told.examination else ""
        return (not place, _natural(place)), place or house.word("no_provenience")
    call = told.called
    status = call.status if call else ""
    if call and status in ("assigned", "cf."):
        name = house.rules.types[call.types[0]].name
        return (0, name), name
    order = ("either", "untyped", "").index(status)
    return (1 + order, ""), house.phrase("groups", status=status)


def _natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Return a key by which `level 2` sorts before `level 10`."""
    parts = re.findall(r"\d+|\D+", text.casefold())
    return tuple((0, int(p), "") if p.isdecimal() else (1, 0, p) for p in parts)
