"""Measurements as intervals, and the states that follow from them.

A figure is kept as it was entered. Its interval is half a unit of the last digit to either side; a
figure across a break is "at least that", so its interval has no upper end. Intervals run through
ratios and sums, and a result that straddles a limit yields the states on both sides of it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

from keygen.core.memo import Memo, taking
from keygen.core.model import Derivation, Gauge, Rules
from keygen.core.states import Fit, compare

# Per unit of entry: the factor to the unit of record (mm, g or degrees).
_FACTOR = {"mm": 1.0, "cm": 10.0, "in": 25.4, "g": 1.0, "oz": 28.349523125, "deg": 1.0, "°": 1.0}
_KIND = {"mm": "mm", "cm": "mm", "in": "mm", "g": "g", "oz": "g", "deg": "deg", "°": "deg"}
LONGEST = 60  # characters of a figure as entered, with its unit and signs
_ENTRY = re.compile(
    r"(?P<open>\()?\s*(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>mm|cm|in|g|oz|deg|°)?\s*(?P<close>\))?"
    r"\s*(?P<plus>\+)?"
)


@dataclass(frozen=True)
class Reading:
    """A measurement: text as entered, value and interval in mm, g or degrees."""

    entered: str
    value: float
    low: float
    high: float

    @property
    def incomplete(self) -> bool:
        """Tell whether the figure was taken across a break: at least that."""
        return self.high == inf

    def may_lie(self, low: float, high: float) -> bool:
        """Tell whether the true figure can lie between two limits, both included."""
        return self.low <= high and self.high >= low


def read(entered: str, unit: str) -> Reading:
    """Read a measurement as analysts write it: `34.2`, `34,2`, `34.2+`, `(34.2)`, `3.4 cm`.

    Args:
        entered: the text; parentheses or a trailing plus mark a broken dimension.
        unit: the unit of record (`mm`, `g` or `deg`), assumed where the text names none.

    Raises:
        ValueError: the text is not a positive figure in a fitting unit.
    """
    match = _ENTRY.fullmatch(entered.strip()) if len(entered) <= LONGEST else None
    if not match or bool(match["open"]) != bool(match["close"]):
        raise ValueError(f"{entered!r} is not a measurement")
    named = match["unit"] or unit
    if _KIND[named] != unit:
        raise ValueError(f"{entered!r} is in {named}, but this is measured in {unit}")
    digits = match["number"].replace(",", ".")
    decimals = len(digits.partition(".")[2])
    value, half = float(digits) * _FACTOR[named], 0.5 * 10.0**-decimals * _FACTOR[named]
    if value <= 0:
        raise ValueError(f"{entered!r} is not above zero")
    broken = match["open"] or match["plus"]
    return Reading(entered.strip(), value, max(value - half, 0.0), inf if broken else value + half)


def doubts(rules: Rules, readings: Mapping[str, Reading]) -> tuple[str, ...]:
    """Return a remark on every figure that is hardly possible: a slip of unit, column or digit.

    The figures are kept; only the analyst can tell which of them is wrong.
    """
    found = []
    for name, reading in readings.items():
        measurement = rules.measurements[name]
        unit = "degrees" if measurement.unit == "deg" else measurement.unit
        said = f"{measurement.label} {reading.value:g} {unit}"
        if not reading.may_lie(measurement.low, measurement.high):
            usual = f"{measurement.low:g} to {measurement.high:g} {unit}"
            found.append(f"{said} is doubtful: {usual} is to be expected; is the unit right?")
        outer = readings.get(measurement.within)
        if outer is not None and reading.low > outer.high:
            whole = f"{rules.measurements[measurement.within].label} {outer.value:g} {unit}"
            found.append(f"{said} is doubtful: it is more than the {whole}")
    return tuple(found)


def figure(gauge: Gauge, readings: Mapping[str, Reading]) -> tuple[float, float] | None:
    """Return the interval of a gauge's figure, or None where a measurement is wanting.

    A broken dimension has no upper end, so nor has a ratio above it; below a divisor that may be
    next to nothing a ratio has none either.
    """
    taken = [readings[term] for term in gauge.terms if term in readings]
    if len(taken) < len(gauge.terms):
        return None
    first, second = taken[0], taken[-1]
    if len(taken) == 1:
        return first.low, first.high
    if gauge.figure == "sum":
        return first.low + second.low, first.high + second.high
    if gauge.figure == "difference":
        return first.low - second.high, first.high - second.low
    return first.low / second.high, first.high / second.low if second.low > 0 else inf


def states_of(derivation: Derivation, readings: Mapping[str, Reading]) -> int | None:
    """Return the states that measurements leave by one rule, or None where it says nothing.

    A gauge leaves the states of every band that its figure can lie in, and several gauges leave
    what all of them leave. Without bands in its reach, or where the gauges contradict one another,
    a rule says nothing.
    """
    left: int | None = None
    for gauge in derivation.by:
        interval = figure(gauge, readings)
        if interval is None:
            continue
        low, high = interval
        mask = 0
        for band in gauge.bands:
            if low <= band.high and high >= band.low:
                mask |= band.states
        left = mask if left is None else left & mask
    return left or None


def derive(
    rules: Rules, readings: Mapping[str, Reading], known: Sequence[int]
) -> dict[int, tuple[int, Derivation]]:
    """Return the states that measurements leave for an attribute (by index), with the rule used.

    A derivation applies only where its conditions are met by what is known. Where several rules
    speak of one attribute, the first that can be computed holds.
    """
    found: dict[int, tuple[int, Derivation]] = {}
    for derivation in rules.once(_Applying).to(readings, known):
        if derivation.attribute not in found and (mask := states_of(derivation, readings)):
            found[derivation.attribute] = (mask, derivation)
    return found


class _Applying:
    """The rules that apply to a piece, told once for pieces alike in what decides that."""

    def __init__(self, rules: Rules) -> None:
        self._derivations = rules.derivations
        self._about = sorted({i for derivation in rules.derivations for i in derivation.when})
        self._reads = taking(self._about)
        self._applying = Memo(self._apply)

    def to(self, readings: Mapping[str, Reading], known: Sequence[int]) -> list[Derivation]:
        """Return the rules whose conditions are met, and of which some figure can be computed."""
        return self._applying[frozenset(readings), self._reads(tuple(known))]

    def _apply(self, piece: tuple[frozenset[str], tuple[int, ...]]) -> list[Derivation]:
        taken, states = piece
        known = dict(zip(self._about, states, strict=True))
        return [
            derivation
            for derivation in self._derivations
            if any(taken.issuperset(gauge.terms) for gauge in derivation.by)
            and all(compare(known[i], mask) is Fit.MET for i, mask in derivation.when.items())
        ]
