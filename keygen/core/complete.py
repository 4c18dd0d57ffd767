"""What can still be measured on a fragment: a figure across a break is "at least that".

Nothing is estimated. A length needs both ends, a width the place where the piece was widest; where
what a measurement needs did not survive, its figure has no upper end.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

from keygen.core.infer import gone_parts
from keygen.core.measure import Reading, read
from keygen.core.memo import Memo, taking
from keygen.core.model import Rules
from keygen.core.states import Fit, compare


@dataclass(frozen=True)
class Shortfall:
    """Why a measurement is less than the whole one: parts that are gone, or damage (`because`).

    `may` tells that it is not certain to be less.
    """

    measurement: str
    parts: tuple[str, ...] = ()
    because: str = ""
    may: bool = False


Short = Mapping[str, Shortfall]  # by measurement


def shortfalls(
    rules: Rules, known: Sequence[int], measurements: Iterable[str]
) -> dict[str, Shortfall]:
    """Return, by measurement, why those that cannot be taken whole on this piece cannot.

    Args:
        known: the states still possible, one mask an attribute.
        measurements: their ids; a mapping of readings will do.
    """
    short = rules.once(_Losses).of(known)
    return {name: short[name] for name in measurements if name in short}


class _Losses:
    """What falls short on a piece, told once for pieces that are alike in their losses."""

    def __init__(self, rules: Rules) -> None:
        self._rules = rules
        self._about = sorted({i for cut in rules.cuts for i in cut.when})
        self._reads = taking(self._about)
        self._short = Memo(self._shortened)

    def of(self, known: Sequence[int]) -> Short:
        """Return every measurement that cannot be taken whole, in the order of the rules."""
        return self._short[gone_parts(self._rules, known), self._reads(tuple(known))]

    def _shortened(self, lost: tuple[frozenset[str], tuple[int, ...]]) -> Short:
        gone, states = lost
        known = dict(zip(self._about, states, strict=True))
        cuts = [
            cut
            for cut in self._rules.cuts
            if all(compare(known[i], mask) is Fit.MET for i, mask in cut.when.items())
        ]
        found = {}
        for name, measurement in self._rules.measurements.items():
            parts = tuple(part for part in measurement.parts if part in gone)
            by = sorted((c for c in cuts if name in c.measurements), key=lambda cut: cut.may)
            if parts:
                found[name] = Shortfall(name, parts)
            elif by:
                found[name] = Shortfall(name, because=by[0].because, may=by[0].may)
        return found


def surviving(
    rules: Rules, known: Sequence[int], readings: Mapping[str, Reading]
) -> tuple[Mapping[str, Reading], Mapping[str, Reading]]:
    """Return the measurements to work with and those to show, without an end where it is lost.

    They are kept as entered; only their interval loses its upper end: to work with wherever they
    may be less than the whole ones, to show only where they certainly are.
    """
    short = rules.once(_Losses).of(known)
    if short.keys().isdisjoint(readings):
        return readings, readings
    certain = {name: s for name, s in short.items() if not s.may}
    return at_least(readings, short), at_least(readings, certain)


def at_least(readings: Mapping[str, Reading], short: Short) -> Mapping[str, Reading]:
    """Return measurements as "at least that" where there is a shortfall."""
    if short.keys().isdisjoint(readings):
        return readings
    return {
        name: replace(reading, high=inf) if name in short else reading
        for name, reading in readings.items()
    }


def remarks(rules: Rules, known: Sequence[int], readings: Mapping[str, Reading]) -> tuple[str, ...]:
    """Return a remark on every figure entered as whole that certainly is not."""
    return tuple(
        told(rules, short)
        for name, short in shortfalls(rules, known, readings).items()
        if not short.may
        and not read(readings[name].entered, rules.measurements[name].unit).incomplete
    )


def told(rules: Rules, short: Shortfall) -> str:
    """Return a shortfall as a remark: `weight is taken as at least that: the tip is gone`."""
    label = rules.measurements[short.measurement].label
    return f"{label} is taken as at least that: {why(rules, short)}"


def why(rules: Rules, short: Shortfall) -> str:
    """Return what is lost, in words: `the tip is gone`, `one side edge is gone`."""
    if not short.parts:
        return short.because
    names = [rules.parts[part] for part in short.parts]
    plural = len(names) > 1 or names[0].endswith("s")
    return f"the {' and the '.join(names)} {'are' if plural else 'is'} gone"
