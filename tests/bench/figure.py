"""What a benchmark found: one number, what it is of, and what was aimed at."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

MICROS = "microseconds a row"


@dataclass(frozen=True)
class Figure:
    """One figure of one run.

    Attributes:
        name: what was measured.
        value: the number.
        unit: what the number counts: `times hello`, `ms`.
        most: the aim, where less is better.
        least: the aim, where more is better.
    """

    name: str
    value: float
    unit: str
    most: float | None = None
    least: float | None = None

    @property
    def aim(self) -> str:
        """Return the aim in words; nothing if there is none."""
        if self.most is not None:
            return f"at most {self.most:g}"
        return "" if self.least is None else f"at least {self.least:g}"

    @property
    def reached(self) -> str:
        """Return whether the aim was reached; nothing if there is none."""
        if not self.aim:
            return ""
        short = self.most is not None and self.value > self.most
        short = short or (self.least is not None and self.value < self.least)
        return "no" if short else "yes"

    @property
    def text(self) -> str:
        """Return the number as it is printed: three digits or the whole number, and the unit."""
        digits = 2 if abs(self.value) < 10 else 1 if abs(self.value) < 100 else 0
        return f"{self.value:,.{digits}f} {self.unit}"


def table(figures: Iterable[Figure]) -> str:
    """Return figures as a Markdown table."""
    rows = [(f.name, f.text, f.aim, f.reached) for f in figures]
    every = [("what", "figure", "aim", "reached"), ("---",) * 4, *rows]
    return "".join(f"| {' | '.join(row)} |\n" for row in every)
