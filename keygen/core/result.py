"""What an index says of one piece, or why it says nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from keygen.core.coding import Coded
from keygen.core.complete import Shortfall
from keygen.core.span import Span

Why = Literal["gone", "not_measured", "not_scored", "unreadable", "not_seen", "other_form"]


class Lack(NamedTuple):
    """What an index is without, and why.

    `term` is a measurement, something scored or an attribute, by id; `parts` are those that are
    gone, `said` is what was wrong with marks that cannot be read.
    """

    term: str
    why: Why
    parts: tuple[str, ...] = ()
    said: str = ""


class Score(NamedTuple):
    """The score of one group, named by its outcome."""

    outcome: str
    span: Span


@dataclass(frozen=True)
class Result:
    """One index on one piece.

    Attributes:
        index: its id.
        lacks: why it cannot be computed; empty if it was.
        figure: the figure of an index that has one.
        scores: the score of each group, the largest first.
        margin: how far the figure is past the nearest limit where the answer changes (negative
            below it), or the largest score before the second.
        says: every outcome that is possible, in the order of the question.
        leads: the outcome of the figures as entered, whatever their precision.
        undecided: a term lies where the functions are not trusted to decide.
        close: the scores are closer than is trusted.
        characters: the places of a class code.
        counted: how many places were scored, of an index that is a mean of scores.
        used: measurements that went into it.
        stood_in: terms that were wanting, each with what stood in for it.
        short: why figures that went into it are less than the whole ones.
    """

    index: str
    lacks: tuple[Lack, ...] = ()
    figure: Span | None = None
    scores: tuple[Score, ...] = ()
    margin: Span | None = None
    says: tuple[str, ...] = ()
    leads: str = ""
    undecided: bool = False
    close: bool = False
    characters: tuple[Coded, ...] = ()
    counted: int = 0
    used: tuple[str, ...] = ()
    stood_in: tuple[tuple[str, str], ...] = ()
    short: tuple[Shortfall, ...] = ()

    @property
    def computed(self) -> bool:
        """Tell whether there is a result."""
        return not self.lacks
