"""Observations and measurements as they are given: `--set`, `--measure`, figures of a record."""

from __future__ import annotations

from functools import reduce
from operator import or_

from keygen.core import measure
from keygen.core.measure import Reading
from keygen.core.model import Rules
from keygen.core.observe import Observation
from keygen.core.states import is_single
from keygen.errors import KeygenError, nearest
from keygen.rulebase.fields import Fields
from keygen.rulebase.thesaurus import plain
from keygen.specimens.terms import Lexicon, alternatives, fault, one_of

EXAMPLE = "Write it as in stem_shape=contracting."


def parse_set(lexicon: Lexicon, text: str) -> dict[int, Observation]:
    """Read `--set`: `stem_shape=contracting,straight`, `stem_shape=?`, `damage=tip_snap,heat`.

    A word of the trade can stand alone: `corner-notched`, `fish-tailed`, `base convex`.

    Raises:
        KeygenError: the text does not have this form, or a word is not known.
    """
    left, equals, right = text.partition("=")
    if not equals:
        return _bare(lexicon, text)
    if not left.strip():
        raise fault("K310", f"--set {text!r} names no attribute", EXAMPLE)
    name = lexicon.attribute(left)
    whole = right.strip()
    words = (whole,) if plain(whole) in lexicon.known(name) else alternatives(whole)
    return lexicon.observe(name, words)


def _bare(lexicon: Lexicon, text: str) -> dict[int, Observation]:
    """Return what a word of the trade leaves, whichever of its meanings is the right one.

    Raises:
        KeygenError: it means nothing, or things that have no attribute in common.
    """
    meanings = lexicon.find(text)
    if not meanings:
        remedy = f"{lexicon.near(text)} {EXAMPLE}".strip()
        raise fault("K310", f"--set {text!r} names no attribute and state", remedy)
    shared = set.intersection(*(set(meaning.limits) for meaning in meanings))
    if not shared:
        told = (lexicon.told(meaning) for meaning in meanings)
        remedy = f"It can be {'; or '.join(told)}. {EXAMPLE}"
        raise fault("K310", f"--set {text!r} can mean several things", remedy)
    found = {}
    for i in sorted(shared):
        mask = reduce(or_, (meaning.limits[i] for meaning in meanings))
        found[i] = Observation(mask, "seen" if is_single(mask) else "unsure")
    return found


def reading(rules: Rules, name: str, entered: str) -> Reading:
    """Read one measurement as entered.

    Raises:
        KeygenError: the measurement is not known, or the text is not one in its unit.
    """
    if name not in rules.measurements:
        remedy = nearest(name, rules.measurements) or one_of(tuple(rules.measurements))
        raise fault("K312", f"the measurement {name!r} is not known", remedy)
    unit = rules.measurements[name].unit
    try:
        return measure.read(entered, unit)
    except ValueError as error:
        example = {"deg": "80", "g": "5.2"}.get(unit, "34.2, or 34.2+ across a break")
        raise fault("K312", f"{name}: {error}", f"Write it as in {example}.") from None


def parse_measure(rules: Rules, text: str) -> tuple[str, Reading]:
    """Read `--measure`: `length=34.2+`.

    Raises:
        KeygenError: the text does not have this form, or does not fit the measurement.
    """
    left, equals, right = text.partition("=")
    if not equals:
        example = "Write it as in length=34.2+."
        raise fault("K312", f"--measure {text!r} names no measurement and figure", example)
    words = plain(left)
    ids = {plain(m.id): m.id for m in rules.measurements.values()}
    labels = {plain(m.label): m.id for m in rules.measurements.values()}
    name = ids.get(words) or labels.get(words) or left.strip()
    return name, reading(rules, name, right)


def readings(rules: Rules, entries: Fields) -> dict[str, Reading]:
    """Return the measurements of a record; what is wrong with one is noted at its place.

    In braces YAML takes `34,2` for two entries, of which the second is a key without a value.
    """
    found: dict[str, Reading] = {}
    before = ""
    for name, value in entries.values.items():
        if value is None and name.isdigit() and before:
            first = entries.values[before]
            what = f"{before}: {first},{name} has a decimal comma without quotes"
            remedy = f'Write "{first},{name}" in quotes, or {first}.{name} with a point.'
            entries.fault("K302", what, name, remedy)
            continue
        before, entered = name, entries.text(name)
        if not entered:
            continue
        try:
            found[name] = reading(rules, name, entered)
        except KeygenError as error:
            entries.refused(error, name)
    return found
