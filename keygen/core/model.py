"""The frozen data that everything works on: vocabulary, key, types and records.

Nothing here reads a file. Masks and boxes are explained in `keygen.core.states`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from functools import cached_property
from graphlib import TopologicalSorter
from heapq import heapify, heappop, heappush
from math import inf
from typing import TYPE_CHECKING, Any, Literal, TypeVar

from keygen.core.basis import Basis
from keygen.core.states import Box, narrow

if TYPE_CHECKING:
    from keygen.core.indices import Cut, Index, Question, Scored

Stability = Literal["haft", "blade", "finish", "record"]
Scale = Literal["cal BP", "rcybp", "BC/AD", "bc/ad"]
T = TypeVar("T")
ADDED = " + "  # what stands between an edition and the name of an addition laid over it
ABSENT, PRESENT = 1, 2  # the two states of an item of a `many` attribute, as masks


@dataclass(frozen=True)
class State:
    """One state of an attribute: its id, the trade's term, a definition and other words for it.

    `aliases` are ids that it had in earlier editions. `draw` says as what pictures show it, in
    pairs of a form and its state, or of a figure and its value; a state that is a form itself has
    none.
    """

    id: str
    term: str
    means: str = ""
    also: tuple[str, ...] = ()
    aliases: tuple[str, ...] = ()
    draw: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Attribute:
    """Something observed on a piece, with its ordered states.

    An attribute of kind `many` (damage) is held as one two-state attribute an item, `damage.heat`
    with the states absent and present; `item_of` then names where it came from. What `lessens` can
    only move toward its first state while a piece is resharpened or reworked: its size. `aliases`
    are ids of earlier editions; an item has those of the attribute that it came from.
    """

    id: str
    label: str
    states: tuple[State, ...]
    part: str = "any"
    stability: Stability = "haft"
    group: str = ""
    definition: str = ""
    basis: Basis = "common"
    sources: tuple[str, ...] = ()
    item_of: str = ""
    lessens: bool = False
    unless_said: int = 0
    aliases: tuple[str, ...] = ()

    @cached_property
    def full(self) -> int:
        """Return the mask of all states: nothing is known."""
        return (1 << len(self.states)) - 1

    @cached_property
    def bits(self) -> Mapping[str, int]:
        """Return the mask of each state by its id."""
        return {state.id: 1 << i for i, state in enumerate(self.states)}

    def within(self, mask: int) -> tuple[State, ...]:
        """Return the states in a mask, in the vocabulary's order."""
        return tuple(state for i, state in enumerate(self.states) if mask >> i & 1)

    def ids(self, mask: int) -> tuple[str, ...]:
        """Return the ids of the states in a mask, in the vocabulary's order."""
        return tuple(state.id for state in self.within(mask))


@dataclass(frozen=True)
class Lead:
    """One of the two answers of a couplet.

    `leaves` says which states the answer leaves, as one or more alternatives of masks by attribute
    index; `go` is the next couplet's id, empty at the end of the key.
    """

    letter: Literal["a", "b"]
    say: str
    leaves: tuple[Mapping[int, int], ...]
    go: str
    do: tuple[str, ...] = ()


@dataclass(frozen=True)
class Couplet:
    """One question with exactly two leads. Number and id are permanent, aliases are old ids."""

    id: str
    number: int
    part: str
    ask: str
    look: str
    leads: tuple[Lead, Lead]
    aliases: tuple[str, ...] = ()

    @cached_property
    def attributes(self) -> frozenset[int]:
        """Return the indices of the attributes that either lead speaks about."""
        return frozenset(i for lead in self.leads for limits in lead.leaves for i in limits)

    @cached_property
    def decides(self) -> frozenset[int]:
        """Return the attributes that part the leads; the rest of a lead is a consequence.

        The first attribute that lead a names and whose states the leads share out; all that lead a
        names, where lead b is its exact complement.
        """
        first, second = self.leads
        if len(second.leaves) > 1:
            return frozenset(first.leaves[0])
        one, other = first.leaves[0], second.leaves[0]
        shared_out = [i for i in one if i in other and not one[i] & other[i]]
        return frozenset(shared_out[:1])

    def lead(self, letter: str) -> Lead:
        """Return the lead with this letter."""
        return self.leads[0] if letter == "a" else self.leads[1]


@dataclass(frozen=True)
class Loss:
    """A part of the piece that is gone when the conditions are certain.

    `when` and `unless` are masks by attribute index: every `when` must be met, and at least one
    `unless` (if any are given) must be against.
    """

    parts: tuple[str, ...]
    when: Mapping[int, int]
    unless: Mapping[int, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Source:
    """One cited work; `year` is 0 where it is not known."""

    key: str
    cite: str
    year: int


@dataclass(frozen=True)
class Dates:
    """A date range in the scale of its source.

    `start` is the older end. In `cal BP` and `rcybp` figures count back from 1950; in `BC/AD`
    (calendar) and `bc/ad` (uncalibrated radiocarbon years minus 1950) years BC are negative and
    there is no year zero. `sure` is false where nobody can tell which of the scales the source
    meant.
    """

    start: int
    end: int
    scale: Scale
    sure: bool = True


@dataclass(frozen=True)
class Period:
    """A named period of one research region and its span, in the scale of its source."""

    region: str
    name: str
    dates: Dates
    sources: tuple[str, ...]
    basis: Basis
    seen: str = ""
    note: str = ""


@dataclass(frozen=True)
class CurveTable:
    """A radiocarbon calibration curve as the text of its table; `chronology` reads it on demand.

    `file` is its name inside the rules folder, `label` what it is called in print.
    """

    label: str
    file: str
    text: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Record:
    """A type in one research region: period and age, with their source and basis.

    `period_note` says why the type's date and the region's span of its period do not overlap.
    """

    region: str
    period: str
    dates: Dates
    sources: tuple[str, ...]
    basis: Basis
    seen: str = ""
    note: str = ""
    local_name: str = ""
    local_type: str = ""
    period_range: bool = False
    period_note: str = ""


@dataclass(frozen=True)
class Criterion:
    """An attribute (by index) and the set of states that a type allows for it."""

    attribute: int
    allowed: int


@dataclass(frozen=True)
class MeasureRange:
    """The usual range of a measurement in a type (mm, g or degrees): support, never exclusion."""

    measurement: str
    low: float
    high: float
    basis: Basis
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class LookAlike:
    """A type that is taken for this one, and the tell that parts them."""

    type: str
    tell: str


@dataclass(frozen=True)
class Type:
    """A named type: an analyst's construct, defined by what is seen, placed by its records."""

    id: str
    name: str
    defined_by: tuple[Criterion, ...]
    usual: tuple[Criterion, ...]
    measures: tuple[MeasureRange, ...]
    records: tuple[Record, ...]
    look_alikes: tuple[LookAlike, ...]
    sources: tuple[str, ...]
    basis: Basis
    aliases: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    cluster: str = ""
    note: str = ""

    def record(self, region: str) -> Record | None:
        """Return the record for a region, if the type is known there."""
        return next((record for record in self.records if record.region == region), None)


@dataclass(frozen=True)
class Region:
    """A research region: `place` is how prose speaks of it ("in the Southern Piedmont")."""

    id: str
    label: str
    place: str
    states: tuple[str, ...]
    neighbours: tuple[str, ...] = ()


@dataclass(frozen=True)
class Measurement:
    """A measurement taken with calipers, scale or goniometer.

    `parts` must all survive for the figure to be the piece's own maximum. Figures outside `low` to
    `high`, or above the measurement named by `within`, are kept but doubted. A walk asks for it if
    it is `asked`.
    """

    id: str
    label: str
    unit: Literal["mm", "g", "deg"]
    parts: tuple[str, ...] = ()
    low: float = 0.0
    high: float = inf
    within: str = ""
    asked: bool = True


@dataclass(frozen=True)
class Band:
    """The states that a figure between `low` and `high` (both included) leaves."""

    states: int
    low: float
    high: float


@dataclass(frozen=True)
class Gauge:
    """A figure worked out of measurements, and the bands in which its values are read.

    The figure is `terms[0]`, or `terms[0] / terms[1]`, `terms[0] + terms[1]`, `terms[0] -
    terms[1]`, as `figure` says. The bands overlap where a limit is not sharp, and leave no gap.
    """

    figure: Literal["value", "ratio", "sum", "difference"]
    terms: tuple[str, ...]
    bands: tuple[Band, ...]


@dataclass(frozen=True)
class Derivation:
    """How measurements become a set of states: those that every gauge leaves.

    It applies only where `when` (masks by attribute index) is met by what was observed; a gauge
    whose measurements were not taken leaves everything.
    """

    id: str
    attribute: int
    by: tuple[Gauge, ...]
    when: Mapping[int, int]
    basis: Basis
    sources: tuple[str, ...]
    note: str

    @cached_property
    def terms(self) -> tuple[str, ...]:
        """Return the measurements that it can rest on, each once."""
        return tuple(dict.fromkeys(term for gauge in self.by for term in gauge.terms))


@dataclass(frozen=True)
class Caution:
    """A short caution: `when` says in which descriptions it belongs."""

    id: str
    when: str
    text: str
    basis: Basis
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class Word:
    """A word of the trade that is no exact synonym of one state: older, regional, or wider.

    `means` are its possible meanings, each with the masks (by attribute index) that it leaves
    together; more than one where nobody can tell from the word alone. `also` are other spellings.
    `used` says where or by whom it is used. A `named` word means this only where its attribute is
    named: `portion: base`.
    """

    word: str
    means: tuple[Mapping[int, int], ...]
    used: str
    basis: Basis
    sources: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    note: str = ""
    named: bool = False


@dataclass(frozen=True, repr=False)
class Rules:
    """One edition of the whole knowledge base. `digest` names its exact bytes.

    Fields can be put off until they are read (`put_off`). None has a plain default for that reason:
    it would stand on the class, and hide that the value is still to come.
    """

    edition: str
    digest: str
    attributes: tuple[Attribute, ...]
    start: str
    couplets: Mapping[str, Couplet]
    losses: tuple[Loss, ...]
    parts: Mapping[str, str]
    types: Mapping[str, Type]
    regions: Mapping[str, Region]
    sources: Mapping[str, Source]
    measurements: Mapping[str, Measurement]
    derivations: tuple[Derivation, ...]
    cautions: Mapping[str, Caution]
    thesaurus: tuple[Word, ...] = field(default_factory=tuple)
    periods: Mapping[str, tuple[Period, ...]] = field(default_factory=dict)
    curve: CurveTable | None = field(default_factory=lambda: None)
    indices: Mapping[str, Index] = field(default_factory=dict)
    questions: Mapping[str, Question] = field(default_factory=dict)
    scored: Mapping[str, Scored] = field(default_factory=dict)
    cuts: tuple[Cut, ...] = field(default_factory=tuple)
    many: Mapping[str, str] = field(default_factory=dict)
    universe: tuple[Box, ...] = field(default_factory=tuple)

    @classmethod
    def put_off(
        cls, ready: Mapping[str, object], later: Mapping[str, Callable[[], object]]
    ) -> Rules:
        """Return rules of which some fields are worked out only if somebody reads them.

        Args:
            ready: the fields that are there.
            later: what works out each of the others.
        """
        rules = object.__new__(cls)
        vars(rules).update(ready, _later=dict(later))
        return rules

    if not TYPE_CHECKING:  # or every misspelt name would pass for a field

        def __getattr__(self, name: str) -> object:
            """Work out a field that was put off; Python asks here for what is not yet there."""
            work = vars(self).get("_later", {}).get(name)
            if work is None:
                raise AttributeError(f"rules have no {name!r}")
            value = vars(self)[name] = work()
            return value

    def __repr__(self) -> str:
        return f"Rules(edition={self.edition!r}, digest={self.digest!r})"

    @cached_property
    def index(self) -> Mapping[str, int]:
        """Return the position of each attribute by its id."""
        return {attribute.id: i for i, attribute in enumerate(self.attributes)}

    @cached_property
    def full(self) -> Box:
        """Return the box that knows nothing."""
        return tuple(attribute.full for attribute in self.attributes)

    @cached_property
    def by_number(self) -> Mapping[int, Couplet]:
        """Return couplets by their permanent number."""
        return {couplet.number: couplet for couplet in self.couplets.values()}

    @cached_property
    def names(self) -> Mapping[str, str]:
        """Return the id that each type id or alias leads to."""
        return {alias: t.id for t in self.types.values() for alias in (t.id, *t.aliases)}

    @cached_property
    def couplet_names(self) -> Mapping[str, str]:
        """Return the id that each couplet id or alias leads to."""
        return {n: c.id for c in self.couplets.values() for n in (*c.aliases, c.id)}

    @cached_property
    def order(self) -> Mapping[str, int]:
        """Return a rank for each couplet in which every lead points forward.

        So a couplet where branches rejoin is asked once, after all of them have arrived. Among
        couplets that are free to come next the lower number goes first.

        Raises:
            graphlib.CycleError: the key is not acyclic.
        """
        sorter = TopologicalSorter(dict.fromkeys(self.couplets, ()))
        for couplet in self.couplets.values():
            for lead in couplet.leads:
                if lead.go:
                    sorter.add(lead.go, couplet.id)
        sorter.prepare()
        ready = [(self.couplets[name].number, name) for name in sorter.get_ready()]
        heapify(ready)
        rank: dict[str, int] = {}
        while ready:
            name = heappop(ready)[1]
            rank[name] = len(rank)
            sorter.done(name)
            for follower in sorter.get_ready():
                heappush(ready, (self.couplets[follower].number, follower))
        return rank

    @cached_property
    def pieces(self) -> Mapping[str, tuple[Box, ...]]:
        """Return, for each type, the pieces that the key can describe and that meet it."""
        return {
            kind.id: tuple(
                box
                for whole in self.universe
                if (box := narrow(whole, {c.attribute: c.allowed for c in kind.defined_by}))
            )
            for kind in self.types.values()
        }

    @cached_property
    def ordinary(self) -> Mapping[int, int]:
        """Return what types show of an attribute unless they say otherwise, by its index."""
        return {i: a.unless_said for i, a in enumerate(self.attributes) if a.unless_said}

    @cached_property
    def _once(self) -> dict[Callable[[Rules], Any], Any]:
        return {}

    def once(self, work: Callable[[Rules], T]) -> T:
        """Return what a function makes of these rules; it is worked out once and kept."""
        try:
            made: T = self._once[work]
        except KeyError:
            made = self._once[work] = work(self)
        return made

    def __getstate__(self) -> dict[str, object]:
        """Return all fields; another process makes anew what was made of them."""
        return {field.name: getattr(self, field.name) for field in fields(self)}

    def in_region(self, region: str) -> tuple[Type, ...]:
        """Return the types known in a region under their own name, in the order of their ids.

        A record that only says which other type the form is called there does not count.
        """
        return tuple(
            kind
            for kind in self.types.values()
            if (record := kind.record(region)) and not record.local_type
        )

    def mask(self, attribute: str, *states: str) -> int:
        """Return the mask of named states of an attribute."""
        bits = self.attributes[self.index[attribute]].bits
        value = 0
        for state in states:
            value |= bits[state]
        return value
