"""From a row of a table to the piece it describes, and to what is wrong with it.

What can be read of a bad row is kept; what cannot is named. Two columns that speak of the same
attribute both hold: what they share is what was seen.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from math import inf

from keygen.collection.cells import cells_of
from keygen.collection.model import Entry, Fault, Plan, Row
from keygen.collection.repeats import Repeats
from keygen.collection.said import NOTHING, Memo
from keygen.collection.stated import observed_always
from keygen.collection.totals import LEFT_OUT, sums_up
from keygen.core.examine import AnalystCall, Piece
from keygen.core.infer import conflict, gone_parts
from keygen.core.measure import Reading, doubts
from keygen.core.observe import Observation
from keygen.core.states import is_single
from keygen.specimens.terms import Lexicon

Observed = dict[int, Observation]
_TEXT = ("number", "region", "notes")


class Reader:
    """Reads rows under one plan. Remembers what each cell text said, and nothing of the rows."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.rules = rules = plan.rules
        lexicon = Lexicon(rules)
        kinds: dict[str, list[tuple[int, str, Memo]]] = {}
        self.memos: dict[int, Memo] = {}
        for at, column in enumerate(plan.columns):
            if column.kind not in ("unread", "location"):
                memo = self.memos[at] = cells_of(lexicon, column)
                kinds.setdefault(column.kind, []).append((at, column.target, memo))
        self.attributes = [(at, memo) for at, _, memo in kinds.get("attribute", ())]
        self.measurements = kinds.get("measurement", [])
        self.details = kinds.get("detail", [])
        self.calls = kinds.get("call", [])
        self.texts = {kind: kinds[kind][0] for kind in _TEXT if kind in kinds}
        self.named = self.texts["number"][0] if "number" in self.texts else 0
        self.always: Observed = dict(observed_always(lexicon, plan.always).observations)
        within = {name: rules.measurements[name].within for _, name, _ in self.measurements}
        self.inner = [(name, outer) for name, outer in within.items() if outer in within]
        self.losing = sorted({i for loss in rules.losses for i in (*loss.when, *loss.unless)})
        self.losses: dict[tuple[int, ...], _Lost] = {}

    def read(self, row: Row) -> Entry:
        """Return what a row says. Whether its observations go together is seen by `examine`."""
        return self._sum(row) if row.cells and sums_up(row.cells, self.named) else self._piece(row)

    def _sum(self, row: Row) -> Entry:
        """Return a row that sums up others: no specimen, which is said."""
        warning = self._warning(row, self.named, LEFT_OUT.what, LEFT_OUT.remedy)
        piece = Piece(label=row.cells[self.named].strip())
        return Entry(row, piece, "", (*row.faults, warning), specimen=False)

    def _piece(self, row: Row) -> Entry:
        cells = row.cells
        faults = list(row.faults)
        observed = self._observed(row, faults)
        readings: dict[str, Reading] = {}
        for at, name, memo in self.measurements:
            said = memo[cells[at]]
            if said.reading is not None:
                readings[name] = said.reading
            if said.remarks:
                self._note(row, at, faults)
        details: dict[str, str] = {}
        for at, name, memo in self.details:
            said = memo[cells[at]]
            if said.text:
                details[name] = said.text
            if said.remarks:
                self._note(row, at, faults)
        for name, outer in self.inner:
            if name in readings and outer in readings and readings[name].low > readings[outer].high:
                self._too_large(row, name, outer, readings, faults)
        lost = self._lost(observed)
        if lost.parts:
            self._check_gone(row, lost, observed, readings, faults)
        piece = Piece(
            label=self._text(row, "number", faults),
            observations=observed,
            readings=readings,
            details=details,
            analyst=self._analyst(row, details, faults) if self.calls else None,
            notes=self._text(row, "notes", faults),
        )
        return Entry(row, piece, self._region(row, faults), tuple(faults))

    def _observed(self, row: Row, faults: list[Fault]) -> Observed:
        cells = row.cells
        observed = dict(self.always)
        for at, memo in self.attributes:
            said = memo[cells[at]]
            for i, new in said.observations:
                if i in observed:
                    self._join(row, at, i, new, observed, faults)
                else:
                    observed[i] = new
            if said.remarks:
                self._note(row, at, faults)
        return observed

    def _join(
        self, row: Row, at: int, i: int, new: Observation, observed: Observed, faults: list[Fault]
    ) -> None:
        """Keep what two columns share; where they share nothing, the earlier one and a fault."""
        old = observed[i]
        mask = old.mask & new.mask
        if mask:
            if mask != old.mask or old.how == "missing":
                how = new.how if mask == new.mask else "seen" if is_single(mask) else "unsure"
                observed[i] = Observation(mask, how)
            return
        attribute = self.rules.attributes[i]
        names = [self.plan.columns[n].name for n in self.speaking(row, i) if n < at]
        other = ", ".join(map(repr, names)) or "what the mapping says of every row"
        what = f"contradicts {other} about the {attribute.label}"
        remedy = f"There it is {'/'.join(attribute.ids(old.mask))}."
        faults.append(self._fault(row, at, what, remedy))

    def speaking(self, row: Row, i: int) -> list[int]:
        """Return the columns that say something of an attribute."""
        return [
            at
            for at, memo in self.attributes
            if any(j == i for j, _ in memo[row.cells[at]].observations)
        ]

    def _fault(self, row: Row, at: int, what: str, remedy: str = "") -> Fault:
        return Fault(row.number, self.plan.columns[at].name, row.cells[at].strip(), what, remedy)

    def _warning(self, row: Row, at: int, what: str, remedy: str = "") -> Fault:
        return replace(self._fault(row, at, what, remedy), grade="warning")

    def _note(self, row: Row, at: int, faults: list[Fault]) -> None:
        for remark in self.memos[at][row.cells[at]].remarks:
            tell = self._fault if remark.grade == "error" else self._warning
            faults.append(tell(row, at, remark.what, remark.remedy))

    def _text(self, row: Row, kind: str, faults: list[Fault]) -> str:
        if kind not in self.texts:
            return ""
        at, _, memo = self.texts[kind]
        said = memo[row.cells[at]]
        if said.remarks:
            self._note(row, at, faults)
        return said.text

    def _region(self, row: Row, faults: list[Fault]) -> str:
        """Return the row's region; the plan's where it names none; none where it is not known."""
        if "region" not in self.texts:
            return self.plan.region
        at, _, memo = self.texts["region"]
        found = self._text(row, "region", faults)
        return found or (self.plan.region if memo[row.cells[at]] is NOTHING else "")

    def _analyst(
        self, row: Row, details: Mapping[str, str], faults: list[Fault]
    ) -> AnalystCall | None:
        told: dict[str, str] = {}
        for at, name, memo in self.calls:
            said = memo[row.cells[at]]
            told[name] = said.text
            if said.remarks:
                self._note(row, at, faults)
        if not told.get("call"):
            return None
        by = told.get("by", details.get("observer", ""))
        return AnalystCall(told["call"], told.get("reason", ""), by, told.get("date", ""))

    def _column(self, name: str) -> int:
        return next(at for at, target, _ in self.measurements if target == name)

    def _too_large(
        self, row: Row, name: str, outer: str, readings: dict[str, Reading], faults: list[Fault]
    ) -> None:
        alone = doubts(self.rules, {name: readings[name]})
        both = doubts(self.rules, {outer: readings[outer], name: readings[name]})
        own = doubts(self.rules, {outer: readings[outer]})
        at = self._column(name)
        faults += [self._warning(row, at, what) for what in both if what not in (*alone, *own)]

    def _lost(self, observed: Observed) -> _Lost:
        """Return what is gone by portion and damage; the same few cases come again and again."""
        key = tuple([observed[i].mask if i in observed else 0 for i in self.losing])
        found = self.losses.get(key)
        if found is None:
            known = [
                observed[i].mask if i in observed else full
                for i, full in enumerate(self.rules.full)
            ]
            found = self.losses[key] = _Lost(self.plan, gone_parts(self.rules, known))
        return found

    def _check_gone(
        self,
        row: Row,
        lost: _Lost,
        observed: Observed,
        readings: dict[str, Reading],
        faults: list[Fault],
    ) -> None:
        """Warn of what was recorded of parts that are gone; figures across a break are at least."""
        for i in lost.attributes.intersection(observed):
            if observed[i].how in ("seen", "unsure") and observed[i].mask != self.rules.full[i]:
                label, part = self.rules.attributes[i].label, self.rules.attributes[i].part
                what = f"the {label} is recorded, yet the {self.rules.parts[part]} did not survive"
                faults += [
                    self._warning(row, at, what, "Look at the portion and the damage again.")
                    for at in self.speaking(row, i)
                ]
        for name in lost.measurements.keys() & readings.keys():
            found = readings[name]
            if not found.incomplete:
                readings[name] = Reading(f"{found.entered}+", found.value, found.low, inf)
                gone = f"the {lost.measurements[name]} did not survive"
                what = f"kept as {found.entered}+, at least that: {gone}"
                faults.append(self._warning(row, self._column(name), what))


class _Lost:
    """The parts that are gone, with the attributes and measurements that needed them."""

    def __init__(self, plan: Plan, parts: frozenset[str]) -> None:
        rules = plan.rules
        self.parts = parts
        self.attributes = frozenset(i for i, a in enumerate(rules.attributes) if a.part in parts)
        gone = {
            m.id: [rules.parts[part] for part in m.parts if part in parts]
            for m in rules.measurements.values()
        }
        self.measurements = {name: " and ".join(labels) for name, labels in gone.items() if labels}


def repeated(plan: Plan, rows: Iterable[Row]) -> Iterator[Row]:
    """Pass rows on, with a warning on each whose specimen number was met before.

    To be run over all rows in their order, before they are shared out among processes.
    """
    at = next((i for i, column in enumerate(plan.columns) if column.kind == "number"), None)
    if at is None:
        yield from rows
        return
    name, repeats = plan.columns[at].name, Repeats()
    for row in rows:
        label = row.cells[at].strip()
        first = repeats.first(label, row.number) if label else 0
        if first:
            what = f"the specimen number {label!r} is also in row {first}"
            again = Fault(row.number, name, label, what, "", "warning")
            yield row._replace(faults=(*row.faults, again))
        else:
            yield row


@lru_cache(maxsize=2)
def _reader(plan: Plan) -> Reader:
    """Return a reader for rows that are looked at again: making one takes as long as many rows."""
    return Reader(plan)


def contradicted(plan: Plan, entry: Entry) -> Entry:
    """Return an entry with the error that names which of its columns cannot stand together.

    For entries on which `examine` raised `Contradiction`.
    """
    rules, row = plan.rules, entry.row
    observed = entry.piece.observations
    known = [observed[i].mask if i in observed else full for i, full in enumerate(rules.full)]
    reader = _reader(plan)
    names, told = [], []
    for i in conflict(rules, known):
        names += [plan.columns[at].name for at in reader.speaking(row, i)]
        told.append(f"{rules.attributes[i].id}={'/'.join(rules.attributes[i].ids(known[i]))}")
    columns = ", ".join(dict.fromkeys(names))
    what = f"no piece can show these together: {', '.join(told)}"
    remedy = "One of them must be wrong; record what is doubtful as several states."
    found = Fault(row.number, columns, ", ".join(told), what, remedy)
    return entry._replace(faults=(*entry.faults, found))
