"""What a run counts while rows go by: no more is kept of them than these numbers."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, fields

from keygen.collection.model import Outcome
from keygen.collection.result import status
from keygen.core.call import Call
from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.prose.naming import resolve
from keygen.prose.verdict import agreement

UNKNOWN = "not a known type"


@dataclass
class Sums:
    """Counts over rows.

    Attributes:
        statuses: rows by the status of the call, or by why there is none.
        types: rows by type and status; of `either` each type that is left counts.
        own: rows with an analyst's own call by how it stands to the key's: yes, open, no.
        pairs: those where it is not the key's, by own type and what the key says.
        errors: faults of this grade; so are `warnings`.
        bad_rows: rows with an error; `doubtful_rows` have warnings alone.
    """

    rows: int = 0
    statuses: Counter[str] = field(default_factory=Counter)
    types: Counter[tuple[str, str]] = field(default_factory=Counter)
    own: Counter[str] = field(default_factory=Counter)
    pairs: Counter[tuple[str, str]] = field(default_factory=Counter)
    errors: int = 0
    warnings: int = 0
    bad_rows: int = 0
    doubtful_rows: int = 0

    def add(self, rules: Rules, outcome: Outcome) -> None:
        """Count what came of a row."""
        found = outcome.examination
        call = found.call if found else None
        self.rows += 1
        self.statuses[status(outcome)] += 1
        if call is not None:
            for name in call.types:
                self.types[name, call.status] += 1
        if outcome.entry.faults:
            _count_faults(self, outcome)
        if found is not None and call is not None and found.piece.analyst is not None:
            _count_own(self, rules, found, call)

    def join(self, other: Sums) -> None:
        """Add other counts to these."""
        for part in fields(self):
            mine, more = getattr(self, part.name), getattr(other, part.name)
            if isinstance(mine, Counter):
                mine.update(more)
            else:
                setattr(self, part.name, mine + more)


def _count_faults(sums: Sums, outcome: Outcome) -> None:
    grades = [fault.grade for fault in outcome.entry.faults]
    sums.errors += grades.count("error")
    sums.warnings += grades.count("warning")
    sums.bad_rows += "error" in grades
    sums.doubtful_rows += "error" not in grades


def _count_own(sums: Sums, rules: Rules, found: Examination, call: Call) -> None:
    own = found.piece.analyst
    how = agreement(rules, found)
    sums.own[how] += 1
    if how != "yes" and own is not None:
        kind = resolve(rules, own.call)
        named = rules.types[kind].name if kind else UNKNOWN
        sums.pairs[named, _said(rules, call)] += 1


def _said(rules: Rules, call: Call) -> str:
    """Return what the key says in a few words, so that there are not too many different ones."""
    if call.status == "either":
        return "several types"
    if not call.types:
        return call.status
    name = rules.types[call.types[0]].name
    return name if call.status == "assigned" else f"cf. {name}"
