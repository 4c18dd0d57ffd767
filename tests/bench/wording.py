"""How fast pieces are worded, as ratios measured in one run.

Run with `python -m tests.bench.wording [ROWS]`. The report of the same rows is rendered three ways:
by f-strings written by hand, by bare Jinja2 with the shipped templates, both from ready
dictionaries and without any tidying; and by our own wording, which makes the facts as well. The
last thousand rows are timed, after the others were worded once. Processor time is taken, the least
of several runs but for rows that were not met before.
"""

from __future__ import annotations

import gc
import sys
import time
from collections.abc import Callable, Iterator, Sequence

import jinja2

from keygen.core.examine import Examination, Piece, examine
from keygen.core.infer import Contradiction
from keygen.core.measure import read
from keygen.core.model import Rules
from keygen.core.observe import Observation
from keygen.prose import describe_all, grammar
from keygen.prose.facts import Own, Page, Values
from keygen.prose.render import PARAGRAPHS, environment, renderer, slots
from keygen.rulebase.load import shipped
from tests.bench.by_hand import OF_THE_FORM
from tests.bench.by_hand_type import OF_THE_TYPE
from tests.bench.figure import MICROS, Figure, table
from tests.bench.rows import BenchRow, rows

BY_HAND = {**OF_THE_FORM, **OF_THE_TYPE}
ROWS, RUNS = 10_000, 7
FEW = 40  # rows worded together
Ready = list[tuple[str, Values]]


def piece(rules: Rules, row: BenchRow) -> Piece:
    """Return a row as a piece."""
    observations = {}
    for name, cell in row.cells.items():
        i = rules.index[name]
        if cell == "?":
            observations[i] = Observation(rules.full[i], "unsure")
        elif cell:
            mask = rules.mask(name, *cell.split("/"))
            observations[i] = Observation(mask, "unsure" if "/" in cell else "seen")
    readings = {
        name: read(text, rules.measurements[name].unit) for name, text in row.measures.items()
    }
    return Piece(row.number, observations, readings)


def examined(rules: Rules, count: int) -> Iterator[Examination]:
    """Examine rows with all that a report asks; those that contradict themselves are left out."""
    for row in rows(rules, count):
        try:
            found = examine(rules, piece(rules, row), row.region)
        except Contradiction:
            continue
        call = found.call
        later = (found.elsewhere, found.looks, call.near_misses if call and not call.types else ())
        _ = [len(each) for each in later]  # worked out when first read, which is not timed here
        yield found


def ready(rules: Rules, examination: Examination) -> Ready:
    """Return the values of every sentence of a report, by its slot."""
    page, own, every = Page(rules, examination), Own(rules, examination.piece), rules.once(slots)
    found: Ready = []
    for name in (name for part in PARAGRAPHS["report"] for name in part):
        if (grounds := every[name].grounds(page)) is not None:
            found += [(name, {**fact.of(own)}) for fact in every[name].facts(rules, grounds)]
    return found


def bare() -> dict[str, jinja2.Template]:
    """Return the report's templates in plain Jinja2, outside any sandbox."""
    ours = environment()
    plain = jinja2.Environment(  # noqa: S701  plain text is made
        loader=ours.loader, undefined=jinja2.StrictUndefined
    )
    plain.filters |= ours.filters
    return {
        name: plain.get_template(f"report/{name}.j2")
        for part in PARAGRAPHS["report"]
        for name in part
    }


def timed_once(work: Callable[[], object]) -> float:
    """Return the processor time of some work in microseconds."""
    begun = time.process_time()
    work()
    return 1e6 * (time.process_time() - begun)


def check(every: Sequence[Ready], templates: dict[str, jinja2.Template]) -> None:
    """Make sure that the sentences written by hand are those of the templates, to the byte."""
    for row in every:
        for name, values in row:
            rendered = grammar.sentence(templates[name].render(values))
            assert grammar.sentence(BY_HAND[name](values)) == rendered, (name, rendered)


def figures(rules: Rules, count: int = ROWS) -> list[Figure]:
    """Return all figures of a run."""
    every = list(examined(rules, count))
    timed = every[-min(1000, count // 2) :]
    describe_all(rules, every[: -len(timed)])
    gc.collect()
    gc.freeze()
    parts = [timed[i : i + FEW] for i in range(0, len(timed), FEW)]
    new = timed_once(lambda: [describe_all(rules, part) for part in parts]) / len(timed)
    values, templates = [ready(rules, examination) for examination in timed], bare()
    check(values, templates)
    told = [told for row in values for told in row]
    ours = {name: renderer(f"report/{name}.j2") for name in templates}

    def least(work: Callable[[], object]) -> float:
        return min(timed_once(work) for _ in range(RUNS)) / len(timed)

    hand = least(lambda: [BY_HAND[name](of) for name, of in told])
    plain = least(lambda: [templates[name].render(of) for name, of in told])
    shared = least(lambda: [ours[name](of) for name, of in told])
    again = least(lambda: [describe_all(rules, part) for part in parts])
    gc.unfreeze()
    sentences = f"{len(told) / len(timed):.1f} sentences"
    return [
        Figure(f"{sentences} as f-strings written by hand", hand, MICROS),
        Figure("the same by bare Jinja2", plain / hand, "times f-strings"),
        Figure("the same as we render them", shared / hand, "times f-strings", most=4),
        Figure("facts and sentences, rows met before", again / plain, "times bare Jinja2"),
        Figure("facts and sentences, new rows", new / plain, "times bare Jinja2"),
    ]


def main() -> None:
    """Print the figures."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    print(table(figures(shipped(), count)), end="")


if __name__ == "__main__":
    main()
