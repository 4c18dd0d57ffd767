"""The tables and figures of a report."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from keygen.collection.counts import Tally
from keygen.collection.document import Bar, Figure, Table
from keygen.collection.house import House
from keygen.collection.model import Fault
from keygen.collection.told import Told, call_in_words
from keygen.core.measure import Reading
from keygen.prose import words
from keygen.prose.grammar import capital, measure, plain
from keygen.prose.naming import resolve
from keygen.prose.seen import readings, stated
from keygen.prose.verdict import agreement

MOST_BARS = 30
OWN_CALL = {"": "no_key_call", "yes": "agrees", "open": "still_open", "no": "differs"}
MOST_UPRIGHT = 9  # a table with more columns needs a page lying on its side


def specimens(house: House, told: Sequence[Told]) -> Table:
    """Return the table of all specimens, in their order."""
    rows = []
    for each in told:
        region, portion, ages = each.cells
        rows.append((each.label, region, portion, each.call, ages))
    heads = house.heads("specimen", "region", "portion", "call", "age")
    return _table(house, "specimens", heads, rows, (10, 22, 14, 27, 27), count=len(rows))


def measurements(house: House, told: Sequence[Told]) -> Table | None:
    """Return the measurements as entered, or nothing if none were taken."""
    known = house.rules.measurements
    pieces = [each.outcome.entry.piece for each in told]
    taken = [name for name in known if any(name in piece.readings for piece in pieces)]
    rows = [
        (
            each.label,
            *(_figure(r, known[n].unit) if (r := piece.readings.get(n)) else "" for n in taken),
        )
        for each, piece in zip(told, pieces, strict=True)
        if piece.readings
    ]
    if not rows:
        return None
    heads = house.heads("specimen") + tuple(
        f"{capital(plain(known[n].label))}, {'°' if known[n].unit == 'deg' else known[n].unit}"
        for n in taken
    )
    return _table(
        house, "measurements", heads, rows, (2, *(1 for _ in taken)), range(1, len(heads))
    )


def _figure(taken: Reading, unit: str) -> str:
    """Return a measurement as entered; its unit only where that is not the column's."""
    text = measure(taken.entered, unit)
    text = text.removesuffix("°" if unit == "deg" else f" {unit}")
    return f"{text}+" if taken.incomplete else text


def _table(
    house: House,
    part: str,
    heads: tuple[str, ...],
    rows: Iterable[tuple[str, ...]],
    shares: tuple[int, ...],
    figures: Iterable[int] = (),
    sums: int = 0,
    **values: object,
) -> Table:
    return Table(
        label=house.word("table"),
        caption=house.phrase("captions", part=part, **values),
        head=heads,
        rows=tuple(rows),
        shares=shares,
        figures=frozenset(figures),
        sums=sums,
        wide=len(heads) > MOST_UPRIGHT,
        note=house.sentence("table_notes", part=part),
    )


def by_type(house: House, tally: Tally) -> Table:
    """Return the counts by type; specimens of several candidates stand below, apart."""
    rows = [
        (c.name, _some(c.assigned), _some(c.cf), _some(c.assigned + c.cf), _some(c.either))
        for c in tally.types
    ]
    sums = [(name, "", "", str(n), "") for name, n in _apart(house, tally, tally.several)]
    heads = house.heads("type", "assigned", "cf", "together", "besides")
    return _counted(house, "types", heads, [*rows, *sums], len(sums))


def by_period(house: House, tally: Tally) -> Table:
    """Return the counts by the period in which the types are placed."""
    rows = [
        (
            c.name,
            _some(c.assigned),
            _some(c.cf),
            _some(c.either),
            str(c.assigned + c.cf + c.either),
        )
        for c in tally.periods
    ]
    apart = _apart(house, tally, tally.several_periods, "several_periods")
    sums = [(name, "", "", "", str(n)) for name, n in apart]
    heads = house.heads("period", "assigned", "cf", "one_period", "together")
    return _counted(house, "periods", heads, [*rows, *sums], len(sums))


def _counted(
    house: House, part: str, heads: tuple[str, ...], rows: Sequence[tuple[str, ...]], sums: int
) -> Table:
    return _table(house, part, heads, rows, (40, 14, 14, 14, 18), range(1, 5), sums)


def _some(count: int) -> str:
    return str(count) if count else ""


def _apart(
    house: House, tally: Tally, several: int, part: str = "several"
) -> Iterator[tuple[str, int]]:
    """Return what is counted for no type or period, and the sum of all."""
    counts = {
        part: several,
        "none_fits": tally.none_fits,
        "haft_unknown": tally.haft_unknown,
        "uncalled": tally.uncalled,
    }
    yield from ((house.word(name), count) for name, count in counts.items() if count)
    yield house.word("all"), tally.total


def type_bars(house: House, tally: Tally) -> Figure | None:
    """Return the counts by type as bars, or nothing if no specimen has one candidate."""
    sole = [c for c in tally.types if c.assigned + c.cf]
    bars = [Bar(c.name, (c.assigned, c.cf, 0)) for c in sole[:MOST_BARS]]
    apart = _bar(house, "several", tally.several), _bar(house, "untyped", _untyped(tally))
    series = ("assigned", "cf", "apart")
    return _bars(house, "types", series, bars, apart, len(sole)) if sole else None


def period_bars(house: House, tally: Tally) -> Figure | None:
    """Return the counts by period as bars, from the oldest on, or nothing if there are none."""
    bars = [Bar(c.name, (c.assigned, c.cf, c.either)) for c in tally.periods]
    apart = _bar(house, "several_periods", tally.several_periods)
    series = ("assigned", "cf", "one_period_or_apart")
    untyped = _bar(house, "untyped", _untyped(tally))
    return _bars(house, "periods", series, bars, (apart, untyped), len(bars)) if bars else None


def _untyped(tally: Tally) -> int:
    return tally.none_fits + tally.haft_unknown + tally.uncalled


def _bar(house: House, part: str, count: int) -> Bar:
    return Bar(house.word(part), (0, 0, count))


def _bars(
    house: House,
    part: str,
    series: tuple[str, ...],
    bars: list[Bar],
    apart: tuple[Bar, ...],
    count: int,
) -> Figure:
    drawn = (*bars, *(bar for bar in apart if bar.length))
    top = max(bars, key=lambda bar: bar.length)
    values = {"part": part, "shown": len(bars), "count": count}
    return Figure(
        label=house.word("figure"),
        caption=house.phrase("bars", what="caption", **values),
        alt=house.sentence("bars", what="alt", **values, top=top.label, most=top.length),
        series=tuple(house.word(f"series_{name}") for name in series),
        bars=drawn,
    )


def analysts(house: House, told: Sequence[Told]) -> Table | None:
    """Return the calls that analysts made themselves, or nothing."""
    rules = house.rules
    rows = []
    for each in told:
        found = each.examination
        if found is None or found.piece.analyst is None:
            continue
        own = found.piece.analyst
        kind = resolve(rules, own.call)
        rows.append(
            (
                each.label,
                call_in_words(house, found),
                rules.types[kind].name if kind else own.call,
                house.word(OWN_CALL[agreement(rules, found)]),
                own.reason,
                ", ".join(text for text in (own.by, own.date) if text),
            )
        )
    heads = house.heads("specimen", "key", "analyst", "agreement", "reason", "by")
    return _table(house, "analysts", heads, rows, (10, 19, 19, 9, 27, 16)) if rows else None


def disagreements(house: House, told: Sequence[Told]) -> Table | None:
    """Return where eye and measurement disagree, or nothing."""
    rules = house.rules
    rows = []
    for each in told:
        if each.examination is None:
            continue
        for found in each.examination.disagreements:
            attribute = rules.attributes[found.attribute]
            rows.append(
                (
                    each.label,
                    words.SUBJECTS.get(attribute.id, plain(attribute.label)),
                    stated(attribute, found.seen),
                    stated(attribute, found.measured),
                    readings(rules, each.examination, found.derivation.terms),
                )
            )
    heads = house.heads("specimen", "observation", "by_eye", "measured", "from")
    return _table(house, "disagreements", heads, rows, (10, 18, 18, 18, 36)) if rows else None


def problems(house: House, told: Sequence[tuple[Told, Fault]]) -> Table | None:
    """Return what is wrong or doubtful in the rows, or nothing."""
    rows = [
        (
            str(fault.row),
            each.label,
            fault.column,
            fault.found,
            house.word(fault.grade),
            " ".join(_stopped(text) for text in (fault.what, fault.remedy) if text),
        )
        for each, fault in told
    ]
    heads = house.heads("row", "specimen", "column", "found", "grade", "problem")
    return _table(house, "problems", heads, rows, (7, 12, 15, 15, 17, 34), (0,)) if rows else None


def _stopped(text: str) -> str:
    """Return a text with a stop at its end, if it has none."""
    return text if text.endswith((".", "?", "!")) else f"{text}."
