"""From the header of a table to what its columns hold."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from keygen.collection.headers import locations, phrases, unit_of, words_of
from keygen.collection.mapping import FIELDS, UNITS, House
from keygen.collection.model import Column, Plan
from keygen.core.model import Rules
from keygen.errors import KeygenError, Problem, nearest
from keygen.rulebase.thesaurus import plain
from keygen.specimens.terms import Lexicon

MAP_IT = "A mapping can say what it holds."
OF_BASE = (
    "If its `no` is said of the base alone, a mapping can leave the sides open: "
    "codes: {no: [none, sides], yes: [base, both]}."
)


@dataclass(frozen=True)
class Placed:
    """A column with how well its name says what it holds (0 is best), and a remark or nothing."""

    column: Column
    rank: int = 0
    remark: str = ""


def letters(index: int) -> str:
    """Return what programs for tables call a column: A, B, ... Z, AA."""
    name = ""
    while index >= 0:
        name = chr(ord("A") + index % 26) + name
        index = index // 26 - 1
    return name


def plan(
    rules: Rules,
    header: Sequence[str],
    mapping: House | None = None,
    region: str = "",
    sheets: Sequence[str] = (),
) -> tuple[Plan, tuple[str, ...]]:
    """Return how a table is read, and remarks on the columns that are not.

    `region` (an id) is for rows that name none; it goes before the mapping's. `sheets` are the
    other sheets of the workbook, which may be the ones that are wanted.

    Raises:
        KeygenError: two columns hold the same thing, or no column is known.
    """
    house = mapping or House()
    placed = _numbered(_all(rules, header, house))
    problems = list(_twice(placed))
    if problems:
        raise KeygenError(problems)
    columns = tuple(_with_empty(one.column, house.not_recorded) for one in placed)
    if not any(column.kind in ("attribute", "measurement") for column in columns):
        what = "no column of this table is a known attribute or measurement"
        found = ", ".join(name for name in header if name)
        remedy = (
            f"Its columns are: {found}. Remove the rows above the column names; or a "
            "mapping can say what the columns hold."
        )
        if sheets:
            told = " or ".join(f"--sheet {name!r}" for name in sheets)
            remedy = f"Is another sheet meant? {told}. {remedy}"
        raise KeygenError(Problem("", 0, 0, "K403", what, remedy))
    remarks = [one.remark for one in placed if one.remark]
    nameless = [f"column {letters(i)}" for i, name in enumerate(header) if not name.strip()]
    if nameless:
        remarks.append(f"without a name, and not read: {', '.join(nameless)}")
    if any(remark.endswith(MAP_IT) for remark in remarks):
        remarks.append("`keygen table FILE --suggest-mapping` drafts a mapping to begin with")
    remarks += _unused(header, house)
    targets = {column.target for column in columns if column.kind == "call"}
    if "call" in targets and "reason" not in targets:
        remarks.append("no column gives the reasons of the analyst's own calls")
    return Plan(rules, columns, region or house.region, house.always), tuple(remarks)


def _all(rules: Rules, header: Sequence[str], house: House) -> list[Placed]:
    known = {_folded(name): column for name, column in house.columns.items()}
    places = locations(header)
    names = Names(rules)
    found = []
    for i, name in enumerate(header):
        told = name.strip() or f"column {letters(i)}"
        mapped = house.columns.get(name.strip(), known.get(_folded(name))) if name.strip() else None
        if mapped:
            found.append(Placed(replace(mapped, name=told)))
        else:
            found.append(names.place(name.strip(), told, i in places))
    return found


class Names:
    """What the names of columns stand for, under one edition of the rules."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.lexicon = Lexicon(rules)
        self.phrases = phrases(rules)

    def place(self, name: str, told: str, place: bool = False) -> Placed:
        """Return what one column holds by its name.

        Args:
            name: the header.
            told: how it is called in messages.
            place: whether it seems to give an exact location away.
        """
        if not name:
            return Placed(Column(told, "unread"))
        bare, unit = unit_of(name)
        measured = self.phrases["measurement"].get(frozenset(words_of(bare)))
        if unit and measured and unit in UNITS[self.rules.measurements[measured].unit]:
            return Placed(Column(told, "measurement", measured, unit))
        field = self._field(told, name) or (self._field(told, bare) if unit else None)
        if field:
            return field
        attribute = self._attribute(name)
        if attribute:
            remark = ""
            if measured and name != attribute:
                remark = (
                    f"{told!r} is read as the attribute {attribute}; if it holds measurements, "
                    "give their unit in the header"
                )
            if attribute == "haft_grinding" and "base" in words_of(name):
                remark = f"{told!r} is read as {attribute}. {OF_BASE}"
            return Placed(Column(told, "attribute", attribute), 0, remark)
        if measured and not unit:
            return Placed(Column(told, "measurement", measured))
        if place:
            remark = f"{told!r} is taken for an exact location and not read"
            return Placed(Column(told, "location", "location"), 0, remark)
        return Placed(Column(told, "unread"), 0, self._why(name, told))

    def _field(self, told: str, name: str) -> Placed | None:
        words = frozenset(words_of(name))
        rank = self.phrases["number"].get(words)
        if rank:
            return Placed(Column(told, "number", "number"), int(rank))
        field = self.phrases["field"].get(words)
        return Placed(Column(told, *FIELDS[field])) if field else None

    def _attribute(self, name: str) -> str:
        if name in self.rules.index or name in self.rules.many:
            return name
        found = self.phrases["attribute"].get(frozenset(words_of(name)))
        return found or self.lexicon.aliases.get(plain(name), "")

    def _why(self, name: str, told: str) -> str:
        found = (self.lexicon.attributes(form) for form in (" ".join(words_of(name)), name) if form)
        several = next(filter(None, found), ()) if plain(name) else ()
        if len(several) > 1:
            return f"{told!r} is not read: it can be {' or '.join(several)}. {MAP_IT}"
        near = nearest(plain(name).replace(" ", "_"), [*several, *self.lexicon.labels])
        near = near if near.startswith("Did you mean") else ""
        return f"{told!r} is not read: nothing has this name. {near or MAP_IT}"


def _numbered(placed: list[Placed]) -> list[Placed]:
    """Keep the best name for the specimen's number; the columns that lose are not read."""
    ranks = [one.rank for one in placed if one.column.kind == "number"]
    best = min(ranks, default=0)
    if len(ranks) - ranks.count(best) <= 0:
        return placed
    taken = next(o.column.name for o in placed if o.column.kind == "number" and o.rank == best)
    return [
        Placed(
            Column(one.column.name, "unread"),
            0,
            f"{one.column.name!r} is not read: the specimen number is taken from {taken!r}",
        )
        if one.column.kind == "number" and one.rank > best
        else one
        for one in placed
    ]


def _twice(placed: list[Placed]) -> Iterator[Problem]:
    """Yield a problem for each thing that two columns hold."""
    owners: dict[tuple[str, str], int] = {}
    for i, one in enumerate(placed):
        column = one.column
        if column.kind in ("unread", "location") or not column.target:
            continue
        first = owners.setdefault((column.kind, column.target), i)
        if first != i:
            a, b = placed[first].column.name, column.name
            what = (
                f"the columns {a!r} ({letters(first)}) and {b!r} ({letters(i)}) both hold "
                f"{_called(column)}"
            )
            remedy = "Rename one, or give it in a mapping as what it is, or as 'ignore'."
            yield Problem("", 0, 0, "K402", what, remedy)


def _called(column: Column) -> str:
    if column.kind == "number":
        return "the specimen number"
    if column.kind == "call":
        return f"the analyst's call ({column.target})"
    return f"the {column.target}"


def _with_empty(column: Column, not_recorded: Sequence[str]) -> Column:
    """Return a column that also knows what the house writes where nothing was recorded."""
    if not not_recorded or column.kind in ("unread", "location"):
        return column
    return replace(column, codes={**{word: {} for word in not_recorded}, **column.codes})


def _unused(header: Sequence[str], house: House) -> Iterator[str]:
    names = {_folded(name): name.strip() for name in header if name.strip()}
    for name in house.columns:
        if _folded(name) not in names:
            near = nearest(name, names.values())
            near = near if near.startswith("Did you mean") else ""
            yield f"the mapping names a column {name!r} that the table does not have. {near}"


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())
