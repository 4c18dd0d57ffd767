"""What a sentence may say and what it rests on: `Fact`, made from a `Page` slot by slot.

A `Slot` draws all that its sentences depend on from the page of a piece as one hashable value, its
grounds, and makes the facts from them. So pieces alike in the grounds of a slot are told alike
there, and what was once said can be said again. What is a piece's own (its label, its figures, the
analyst's words) is no ground: a fact names it with `fill`, and it is filled in for each piece.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from operator import itemgetter
from typing import Any, NamedTuple, TypeVar

from keygen.core.examine import Examination, Piece
from keygen.core.memo import Memo
from keygen.core.model import Rules
from keygen.prose.grammar import listed, plain
from keygen.prose.seen import Seen, reading
from keygen.prose.sights import FOLLOWS, sights

T = TypeVar("T")
Values = Mapping[str, object]
Grounds = tuple[Hashable, ...]


class Fact(NamedTuple):
    """What one sentence may say (`values`, by the names its template uses) and what it rests on.

    `about` are attribute ids, `measures` measurement ids, `details` field names of the record,
    `types` type ids and `sources` source keys. `fill` gives the values that are the piece's own.
    """

    slot: str
    values: Values
    about: tuple[str, ...] = ()
    measures: tuple[str, ...] = ()
    details: tuple[str, ...] = ()
    types: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    fill: Callable[[Own], Values] | None = None

    def of(self, own: Own) -> Values:
        """Return the values with those of one piece filled in."""
        return {**self.values, **self.fill(own)} if self.fill else self.values


class Own:
    """What is a piece's own: label, details, notes, the analyst's words, and figures as text."""

    def __init__(self, rules: Rules, piece: Piece) -> None:
        self.rules = rules
        self.piece = piece

    def detail(self, name: str) -> str:
        """Return a field of the record as entered, or nothing."""
        return self.piece.details.get(name, "").strip()

    def measure(self, name: str) -> str:
        """Return a measurement as entered, with its unit."""
        return reading(self.rules, name, self.piece.readings[name])

    def measures(self, names: Iterable[str]) -> list[dict[str, str]]:
        """Return measurements with their names."""
        known = self.rules.measurements
        return [{"name": plain(known[n].label), "value": self.measure(n)} for n in names]


class Page:
    """An examination with what was observed in words: all that slots draw their grounds from.

    Attributes:
        voices: what is said of each attribute, in their order.
        said: the attributes of which something is said.
        unsaid: what was looked at or is lost, and is yet not said.
        taken: the measurements that were taken.
    """

    def __init__(self, rules: Rules, examination: Examination) -> None:
        self.rules = rules
        self.examination = examination
        known, observations = sights(rules), examination.observations
        self._tables = tables = known.tables(observations)
        self.voices = voices = [*known.silence.values()]
        self.said = said = set[str]()
        self.unsaid = unsaid = list[Seen]()
        for i, made in enumerate(observations):
            how = made.how
            if how not in FOLLOWS:
                seen, voices[i], name = tables[i][made.mask, how]
                if name:
                    said.add(name)
                else:
                    unsaid.append(seen)
        self.taken = frozenset(examination.piece.readings)
        self._once: dict[Callable[[Page], Any], Any] = {}

    def __getitem__(self, name: str) -> Seen:
        """Return what was observed of an attribute, or what follows from it."""
        i = self.rules.index.get(name)
        return Seen(name) if i is None else self.seen(i)

    def once(self, work: Callable[[Page], T]) -> T:
        """Return what a function makes of this page; it is worked out once and kept."""
        if work not in self._once:
            self._once[work] = work(self)
        made: T = self._once[work]
        return made

    def seen(self, i: int) -> Seen:
        """Return what was observed of an attribute, or what follows from it, by its index."""
        observation = self.examination.observations[i]
        return self._tables[i][observation.mask, observation.how].seen

    def voice(self, name: str) -> Seen:
        """Return what was observed of an attribute if anything is said of it, else silence."""
        i = self.rules.index.get(name)
        return Seen(name) if i is None else self.voices[i]


@dataclass(frozen=True)
class Slot:
    """One place in a description.

    `grounds` returns all that its sentences depend on, None where there is nothing to say; `facts`
    makes them from the rules and that alone. Sentences are kept by their grounds, but where these
    hardly ever come `again`.
    """

    grounds: Callable[[Page], Hashable]
    facts: Callable[[Rules, Any], Iterable[Fact]]
    again: bool = True


@dataclass(frozen=True)
class Part:
    """A part of the piece with all that is said of it; false if nothing is.

    `before` are words that stand before its noun, `after` the same as predicates (`attributive` and
    `present` join them); `sure` tells that the part is certainly there; `size` is its measure, if
    any.
    """

    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    sure: bool = True
    size: str = ""
    about: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.after)

    @cached_property
    def attributive(self) -> str:
        """Return all that stands before its noun: `short, contracting`."""
        return ", ".join(self.before)

    @cached_property
    def present(self) -> str:
        """Return all predicates: `short and contracting`."""
        return listed(self.after)


class View:
    """What a sentence about the piece may speak of: its declared attributes and no other."""

    def __init__(self, rules: Rules, seen: Mapping[str, Seen]) -> None:
        self.rules = rules
        self._seen = seen
        self.declared = tuple(seen)

    def __getitem__(self, name: str) -> Seen:
        """Return what was observed of a declared attribute."""
        if name not in self._seen:
            raise KeyError(f"the attribute {name!r} is not declared for this sentence")
        return self._seen[name]

    def voiced(self, *names: str) -> tuple[str, ...]:
        """Return those of some attributes (or of all declared ones) of which something is said."""
        return tuple(name for name in names or self.declared if self[name])

    def part(self, *names: str) -> Part:
        """Join what was observed of some attributes into one part of the piece."""
        return self.rules.once(_parts)[tuple([self[name] for name in names])]


def _parts(_rules: Rules) -> Memo[tuple[Seen, ...], Part]:
    """Return parts of the piece by what was observed of their attributes."""

    def part(observed: tuple[Seen, ...]) -> Part:
        seen = [one for one in observed if one.present]
        return Part(
            tuple(s.attributive for s in seen),
            tuple(s.present for s in seen),
            not any(s.maybe for s in seen),
            about=tuple(s.id for s in seen),
        )

    return Memo(part)


def _nothing_else(_page: Page) -> Grounds:
    return ()


@dataclass(frozen=True)
class Form:
    """One place in the description of a form: its builder and the attributes it may speak of.

    The builder is given a view of what is said of the `declared` attributes, and what else its
    sentence depends on, which `beside` draws from the page (None: there is nothing to say). Without
    `beside` there is nothing to say either unless something is said of what is declared. `lent` are
    attributes that it may speak of with the help of `beside` only. Among them `damage` stands for
    all its items, `form` for every attribute that is not a mere record, and `others` for those of
    these that no form names.
    """

    build: Callable[..., Iterator[Fact]]
    declared: tuple[str, ...] = ()
    beside: Callable[[Page], Grounds | None] = _nothing_else
    lent: tuple[str, ...] = ()

    def under(self, rules: Rules, named: frozenset[str]) -> Slot:
        """Return the slot under some rules; of attributes that they lack nothing is said.

        Args:
            named: all attributes that some form names.
        """
        stands = {
            "damage": [a.id for a in rules.attributes if a.item_of == "damage"],
            "others": [
                a.id
                for a in rules.attributes
                if a.stability != "record" and not named & {a.id, a.item_of}
            ],
        }
        names = [n for name in self.declared for n in stands.get(name, (name,))]
        known = [rules.index[name] for name in names if name in rules.index]
        silent = {name: Seen(name) for name in names}
        told = [name for name in names if name in rules.index]
        pick = itemgetter(*known) if len(known) > 1 else lambda seen: tuple(seen[i] for i in known)

        def alone(page: Page) -> Hashable:
            return None if page.said.isdisjoint(names) else (pick(page.voices), ())

        def grounds(page: Page) -> Hashable:
            beside = self.beside(page)
            return None if beside is None else (pick(page.voices), beside)

        def facts(rules: Rules, grounds: tuple[tuple[Seen, ...], Grounds]) -> Iterator[Fact]:
            voices, beside = grounds
            seen = silent | dict(zip(told, voices, strict=True))
            return self.build(View(rules, seen), *beside)

        return Slot(alone if self.beside is _nothing_else else grounds, facts)
