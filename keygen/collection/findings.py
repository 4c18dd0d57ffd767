"""What a run found, told at its end: counts, agreement, and the first of the problems."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from keygen.collection.model import Fault
from keygen.collection.sums import Sums
from keygen.collection.work import Done
from keygen.core.model import Rules
from keygen.errors import sentences

FORMAT_VERSION = 1
MOST_FAULTS = 20  # kinds of them
MOST_SHOWN = 8  # of the texts found
MOST_TYPES = 20
MOST_PAIRS = 20
LONGEST = {"column": 24, "found": 24}
OWN_CALLS = {"yes": "agree", "open": "still possible", "no": "differ"}


class Alike:
    """Faults of one kind in one column: the first of them, what was found, and how many."""

    def __init__(self, first: Fault) -> None:
        self.first, self.found, self.count = first, {first.found: None}, 1

    def add(self, fault: Fault) -> None:
        """Count another one."""
        self.count += 1
        if len(self.found) < MOST_SHOWN:
            self.found[fault.found] = None

    @property
    def told(self) -> str:
        """Return what is wrong and what to do."""
        grade = "warning: " if self.first.grade == "warning" else ""
        again = f" (and {self.count - 1:,} more like it)" if self.count > 1 else ""
        return f"{grade}{sentences(self.first.what, self.first.remedy)}{again}"


class Findings:
    """Gathers what a run found, in little memory: all counts, and the first of each fault."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.sums = Sums()
        self.alike: dict[tuple[str, ...], Alike] = {}

    def __call__(self, done: Done) -> None:
        """Take what came of some rows."""
        self.sums.join(done.sums)
        for fault in done.faults:
            what = fault.what.replace(repr(fault.found), "") if fault.found else fault.what
            kind = (fault.column, what, fault.remedy, fault.grade)
            if kind in self.alike:
                self.alike[kind].add(fault)
            elif len(self.alike) < MOST_FAULTS:
                self.alike[kind] = Alike(fault)

    @property
    def faults(self) -> int:
        """Return how many faults were met, errors and warnings."""
        return self.sums.errors + self.sums.warnings

    def problem_lines(self, listed: str = "") -> Iterator[str]:
        """Yield a table of the first faults; `listed` is the file that has all of them."""
        if not self.alike:
            return
        yield f"Problems: {self._counted()}"
        head = ("row", "column", "found", "what is wrong, and what to do")
        body = [
            (
                str(alike.first.row),
                _short(alike.first.column, "column"),
                _short(", ".join(alike.found), "found"),
                alike.told,
            )
            for alike in self.alike.values()
        ]
        yield from aligned([head, *body])
        more = self.faults - sum(alike.count for alike in self.alike.values())
        if listed and self.faults > len(body) and not more:
            yield f"each of them is in {listed}"
        if more:
            where = f"all are in {listed}" if listed else "--problems FILE lists all"
            yield f"and {more:,} more; {where}"

    def summary_lines(self) -> Iterator[str]:
        """Yield the counts in words."""
        sums, rules = self.sums, self.rules
        counted = [f"{count:,} {name}" for name, count in sums.statuses.most_common()]
        yield f"{_count(sums.rows, 'row')}: {', '.join(counted) or 'none'}"
        table = self._by_type()
        if table:
            yield ""
            head = ("type", "assigned", "cf.", "among several")
            rows = [(name, *map(str, counts)) for name, *counts in table[:MOST_TYPES]]
            yield from aligned([head, *rows])
            if len(table) > MOST_TYPES:
                yield f"and {len(table) - MOST_TYPES} more types"
        if sums.own:
            yield ""
            told = [f"{sums.own[key]:,} {word}" for key, word in OWN_CALLS.items()]
            rows_with = _count(sums.own.total(), "row")
            yield f"{rows_with} with the analyst's own call: {', '.join(told)}"
            pairs = [(own, key, str(n)) for (own, key), n in sums.pairs.most_common(MOST_PAIRS)]
            if pairs:
                yield from aligned([("own call", "the key says", "rows"), *pairs])
            if len(sums.pairs) > MOST_PAIRS:
                yield f"and {len(sums.pairs) - MOST_PAIRS} more pairs"
        yield ""
        yield f"Problems: {self._counted()}. Rules {rules.edition} ({rules.digest})."

    def _counted(self) -> str:
        sums = self.sums
        if not self.faults:
            return "none"
        errors = "no errors"
        if sums.errors:
            errors = f"{_count(sums.errors, 'error')} in {_count(sums.bad_rows, 'row')}"
        return f"{errors}, {_count(sums.warnings, 'warning')}"

    def _by_type(self) -> list[tuple[str, int, int, int]]:
        """Return each type called with its counts: assigned, cf., among several; most first."""
        types = self.sums.types
        rows = [
            (kind.name, types[name, "assigned"], types[name, "cf."], types[name, "either"])
            for name, kind in self.rules.types.items()
            if any(types[name, status] for status in ("assigned", "cf.", "either"))
        ]
        return sorted(rows, key=lambda row: (-row[1], -row[2], -row[3], row[0]))

    def to_data(self) -> dict[str, object]:
        """Return the counts as plain data for `--format json`."""
        sums = self.sums
        types: dict[str, dict[str, int]] = {}
        for (name, status), count in sorted(sums.types.items()):
            types.setdefault(name, {})[status] = count
        return {
            "format_version": FORMAT_VERSION,
            "rows": sums.rows,
            "statuses": dict(sums.statuses),
            "types": types,
            "own_calls": {
                **{word.replace(" ", "_"): sums.own[key] for key, word in OWN_CALLS.items()},
                "pairs": [
                    {"own": own, "key": key, "rows": count}
                    for (own, key), count in sums.pairs.most_common()
                ],
            },
            "problems": {
                "errors": sums.errors,
                "rows_with_errors": sums.bad_rows,
                "warnings": sums.warnings,
                "first": [vars(alike.first) for alike in self.alike.values()],
            },
            "rules": {"edition": self.rules.edition, "digest": self.rules.digest},
        }


def aligned(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Yield rows of text as lines whose columns stand below each other."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        padded = [text.ljust(width) for text, width in zip(row, widths, strict=True)]
        yield "  ".join(padded).rstrip()


def _short(text: str, column: str) -> str:
    """Return a text on one line that leaves room for the next column."""
    most, line = LONGEST[column], " ".join(text.split())
    return line if len(line) <= most else f"{line[: most - 3]}..."


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}"
