"""Class codes: one digit a character, or the digits that are still possible."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from keygen.core.indices import Character, Code
from keygen.core.marks import Marks
from keygen.core.span import DECIMALS, Span, covers


@dataclass(frozen=True)
class Coded:
    """One character as coded: every digit that is possible, in order.

    `beyond` tells that the character may lie where the scheme has no digit for it; with no digit at
    all it is not codable. `digit` is that of the figure as entered, whatever its precision.
    """

    digits: tuple[int, ...] = ()
    beyond: bool = False
    digit: int = 0

    @property
    def single(self) -> bool:
        """Tell whether one digit is certain."""
        return len(self.digits) == 1 and not self.beyond


def cell(character: Character, code: Code) -> tuple[float, float]:
    """Return the range of a code before rounding half up: 0.90-0.99 begins at 0.895."""
    if character.decimals is None:
        return code.low, code.high
    half = 0.5 * 10.0**-character.decimals
    return round(code.low - half, DECIMALS), round(code.high + half, DECIMALS)


def by_figure(character: Character, figure: Span) -> Coded:
    """Code a figure, rounding half up to the precision of the scheme."""
    rounded = character.decimals is not None
    cells = {code.digit: cell(character, code) for code in character.codes}

    def holds(digit: int, low: float, high: float) -> bool:
        start, end = cells[digit]
        return start <= high and (low < end or (low == end and not rounded))

    digits = tuple(d for d in cells if holds(d, figure.low, figure.high))
    at = [d for d in cells if holds(d, figure.value, figure.value)]
    beyond = not covers([cells[d] for d in digits], figure.low, figure.high)
    return Coded(digits, beyond, at[0] if at else 0)


def by_marks(character: Character, marks: Marks) -> Coded:
    """Code what was scored for the character."""
    return _told(tuple(c.digit for c in character.codes if c.mark in marks[0]))


def by_states(character: Character, known: Sequence[int]) -> Coded:
    """Code what was seen of the attributes that the character is read from."""
    return _told(
        tuple(
            code.digit
            for code in character.codes
            if code.when and all(known[i] & mask for i, mask in code.when.items())
        )
    )


def _told(digits: tuple[int, ...]) -> Coded:
    return Coded(digits, digit=digits[0] if len(digits) == 1 else 0)
