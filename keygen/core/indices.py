"""The nouns of indices: figures and codes worked out from measurements, each with its grounds.

An index says how sure its formula is and how sure its numbers are, on what pieces it was made, how
often it was right there, and where it does not hold. `keygen.core.scores` works them out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import permutations
from math import inf
from typing import Literal, get_args

from keygen.core.basis import Basis

Figure = Literal["value", "sum", "difference", "ratio", "mean", "groups", "code"]
FIGURES: tuple[Figure, ...] = get_args(Figure)


@dataclass(frozen=True)
class Outcome:
    """One answer to a question, with the words for it: `a dart`."""

    id: str
    term: str


@dataclass(frozen=True)
class Question:
    """What several indices answer, each in its own way, with the answers that there are."""

    id: str
    label: str
    outcomes: tuple[Outcome, ...]


@dataclass(frozen=True)
class Mark:
    """One way to score a thing: the word that is written, and what it means."""

    word: str
    term: str


@dataclass(frozen=True)
class Scored:
    """Something scored by eye for an index alone, at one or more places (`count`).

    A place that did not survive is written `-`; several marks that are all possible are joined by a
    comma. `look` says in which order, and how.
    """

    id: str
    label: str
    marks: tuple[Mark, ...]
    count: int = 1
    part: str = "any"
    look: str = ""


@dataclass(frozen=True)
class Ground:
    """What a formula or a set of numbers rests on; `seen` says where it was seen, or how surely."""

    basis: Basis
    sources: tuple[str, ...] = ()
    seen: str = ""


@dataclass(frozen=True)
class StandIn:
    """A term that is used for another that is wanting, unless `when` is ruled out."""

    term: str
    by: str
    when: Mapping[int, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Zone:
    """What a figure says from the end of the zone before it up to `high`.

    The limit itself belongs to this zone if it is `closed`, else to the next.
    """

    says: tuple[str, ...]
    high: float = inf
    closed: bool = True


@dataclass(frozen=True)
class Weight:
    """A term and what it is multiplied by."""

    term: str
    by: float


@dataclass(frozen=True)
class Group:
    """A classification function: constant plus weighted terms; the largest score names it."""

    outcome: str
    constant: float
    weights: tuple[Weight, ...]

    def less(self, other: Group) -> Group:
        """Return by how much this function is larger than another one, as a function."""
        own = {weight.term: weight.by for weight in self.weights}
        taken = {weight.term: weight.by for weight in other.weights}
        by = {term: own.get(term, 0) - taken.get(term, 0) for term in {**own, **taken}}
        weights = tuple(Weight(term, weight) for term, weight in by.items())
        return Group(self.outcome, self.constant - other.constant, weights)


@dataclass(frozen=True)
class Undecided:
    """A range of one term in which the functions are not trusted to decide, with its grounds."""

    term: str
    low: float
    high: float
    ground: Ground


@dataclass(frozen=True)
class Code:
    """One state of a character: a range of its figure, a mark scored for it, or states seen."""

    digit: int
    low: float = -inf
    high: float = inf
    mark: str = ""
    when: Mapping[int, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Character:
    """One place of a class code.

    It is read from what was scored (`scored`), else from a figure (`term`), else from what was
    seen. `decimals` is the precision to which a figure is rounded, half up, before it is coded;
    without it a figure on a limit has both codes.
    """

    label: str
    codes: tuple[Code, ...]
    scored: str = ""
    term: str = ""
    decimals: int | None = None


@dataclass(frozen=True)
class Index:
    """One index: inputs, formula, numbers and their grounds, sample, success, limits of use.

    `terms` name measurements or indices that stand before this one, or one thing scored (`mean`).
    `when` are masks by attribute index: an index is not for a piece that rules one of them out. A
    figure is a part of a whole and not more than `at_most`. Scores closer than `close` are told so.
    `see` are works that its limits of use speak of.
    """

    id: str
    label: str
    figure: Figure
    formula: Ground
    terms: tuple[str, ...] = ()
    unit: str = ""
    decimals: int = 2
    at_most: float = inf
    question: str = ""
    when: Mapping[int, int] = field(default_factory=dict)
    stand_ins: tuple[StandIn, ...] = ()
    zones: tuple[Zone, ...] = ()
    groups: tuple[Group, ...] = ()
    undecided: Undecided | None = None
    close: float = 0.0
    characters: tuple[Character, ...] = ()
    numbers: Ground | None = None
    sample: str = ""
    success: str = ""
    limits: tuple[str, ...] = ()
    see: tuple[str, ...] = ()

    @cached_property
    def inputs(self) -> tuple[str, ...]:
        """Return the terms that the figure or the functions and their range need, each once."""
        weighed = (weight.term for group in self.groups for weight in group.weights)
        doubted = (self.undecided.term,) if self.undecided else ()
        return tuple(dict.fromkeys((*self.terms, *weighed, *doubted)))

    @cached_property
    def differences(self) -> Mapping[tuple[str, str], Group]:
        """Return by how much each function is larger than each other one, by their outcomes."""
        pairs = permutations(self.groups, 2)
        return {(one.outcome, other.outcome): one.less(other) for one, other in pairs}

    @property
    def grounds(self) -> tuple[Ground, ...]:
        """Return what formula, numbers and the undecided range rest on."""
        every = (self.formula, self.numbers, self.undecided and self.undecided.ground)
        return tuple(ground for ground in every if ground)

    @property
    def sources(self) -> tuple[str, ...]:
        """Return every work that is cited for the index, once."""
        keys = (key for ground in self.grounds for key in ground.sources)
        return tuple(dict.fromkeys((*keys, *self.see)))


@dataclass(frozen=True)
class Cut:
    """Damage that shortens measurements although no part that they need is wholly gone.

    `when` are masks by attribute index; all of them must be certain. `because` says what is lost.
    Where it only `may` be lost, a figure is still worked with as "at least that", but shown as it
    was entered.
    """

    measurements: tuple[str, ...]
    when: Mapping[int, int]
    because: str
    may: bool = False
