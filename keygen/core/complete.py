"""What can still be measured on a fragment: a figure across a break is "at least that".

Nothing is estimated. A length needs both ends, a width the place where the piece was widest; where
what a measurement needs did not survive, its figure has no upper end.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

from keygen.core.indices import Cut
from keygen.core.infer import gone_parts
from keygen.core.measure import Reading, read
from keygen.core.memo import Memo
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


def shortfalls(
    rules: Rules, known: Sequence[int], measurements: Iterable[str]
) -> dict[str, Shortfall]:
    """Return, by measurement, why those that cannot be taken whole on this piece cannot.

    Args:
        known: the states still possible, one mask an attribute.
        measurements: their ids; a mapping of readings will do.
    """
    gone = gone_parts(rules, known)
    about = rules.once(_about_cuts)
    cuts = rules.once(_cuts)[tuple([known[i] for i in about])]
    if not gone and not cuts:
        return {}
    found = {}
    for name in measurements:
        lost = tuple(part for part in rules.measurements[name].parts if part in gone)
        by = sorted((c for c in cuts if name in c.measurements), key=lambda cut: cut.may)
        if lost:
            found[name] = Shortfall(name, lost)
        elif by:
            found[name] = Shortfall(name, because=by[0].because, may=by[0].may)
    return found


def _about_cuts(rules: Rules) -> tuple[int, ...]:
    """Return the attributes on which it depends whether damage shortens measurements."""
    return tuple(sorted({i for cut in rules.cuts for i in cut.when}))


def _cuts(rules: Rules) -> Memo[tuple[int, ...], list[Cut]]:
    """Return what certainly shortens measurements, by the states of those attributes."""
    about = rules.once(_about_cuts)

    def found(states: tuple[int, ...]) -> list[Cut]:
        known = dict(zip(about, states, strict=True))
        return [
            cut
            for cut in rules.cuts
            if all(compare(known[i], mask) is Fit.MET for i, mask in cut.when.items())
        ]

    return Memo(found)


def surviving(
    rules: Rules, known: Sequence[int], readings: Mapping[str, Reading]
) -> tuple[Mapping[str, Reading], Mapping[str, Reading]]:
    """Return the measurements to work with and those to show, without an end where it is lost.

    They are kept as entered; only their interval loses its upper end: to work with wherever they
    may be less than the whole ones, to show only where they certainly are.
    """
    short = shortfalls(rules, known, readings)
    certain = {name: s for name, s in short.items() if not s.may}
    return at_least(readings, short), at_least(readings, certain)


def at_least(
    readings: Mapping[str, Reading], short: Mapping[str, Shortfall]
) -> Mapping[str, Reading]:
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
