"""What a sentence may say and what it rests on: `Fact`, built with `View` and `Part`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.prose.seen import Seen, reading


@dataclass(frozen=True)
class Fact:
    """What one sentence may say (`values`, by the names its template uses) and what it rests on.

    `about` are attribute ids, `measures` measurement ids, `details` field names of the record,
    `types` type ids and `sources` source keys.
    """

    slot: str
    values: Mapping[str, object]
    about: tuple[str, ...] = ()
    measures: tuple[str, ...] = ()
    details: tuple[str, ...] = ()
    types: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class Part:
    """A part of the piece with all that is said of it; false if nothing is.

    `before` are words that stand before its noun, `after` the same as predicates; `sure` tells that
    the part is certainly there; `size` is its measure, if any.
    """

    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    sure: bool = True
    size: str = ""
    about: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.after)


class View:
    """The declared part of an examination: what a sentence may speak of."""

    def __init__(
        self,
        rules: Rules,
        examination: Examination,
        seen: Mapping[str, Seen],
        declared: tuple[str, ...],
    ) -> None:
        self.rules = rules
        self.examination = examination
        self.details = examination.piece.details
        self._seen = seen
        self.declared = declared
        self._allowed = frozenset(declared)

    def __getitem__(self, name: str) -> Seen:
        """Return what was observed of a declared attribute."""
        if name not in self._allowed:
            raise KeyError(f"the attribute {name!r} is not declared for this sentence")
        found = self._seen.get(name)
        return Seen(name) if found is None else found

    def measure(self, name: str) -> str:
        """Return a measurement as entered, or nothing."""
        taken = self.examination.piece.readings.get(name)
        return reading(self.rules, name, taken) if taken and name in self.rules.measurements else ""

    def voiced(self, *names: str) -> tuple[str, ...]:
        """Return those of some attributes (or of all declared ones) of which something is said."""
        return tuple(name for name in names or self.declared if self[name])

    def part(self, *names: str, size: str = "") -> Part:
        """Join what was observed of some attributes into one part of the piece."""
        seen = [self[name] for name in names if self[name].present]
        return Part(
            tuple(s.attributive for s in seen),
            tuple(s.present for s in seen),
            not any(s.maybe for s in seen),
            size if seen else "",
            tuple(s.id for s in seen),
        )
