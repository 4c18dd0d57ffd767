"""What is scored by eye for indices: the `scored` part of a record, and `--score`."""

from __future__ import annotations

from collections.abc import Mapping

from keygen.core.marks import read_marks
from keygen.core.model import Rules
from keygen.errors import KeygenError, nearest
from keygen.rulebase.fields import Fields
from keygen.specimens.terms import fault, one_of


def marks(rules: Rules, name: str, entered: str) -> str:
    """Return marks as entered, if they can be read.

    Raises:
        KeygenError: nothing is scored by this name, or the marks are not of its kind.
    """
    if name not in rules.scored:
        remedy = nearest(name, rules.scored) or one_of(tuple(rules.scored))
        raise fault("K312", f"nothing is scored as {name!r}", remedy)
    scored = rules.scored[name]
    try:
        read_marks(scored, entered)
    except ValueError as error:
        example = " ".join([scored.marks[-1].word] * scored.count)
        remedy = f"Write it as in {example}; - where it did not survive."
        raise fault("K312", f"{name}: {error}", remedy) from None
    return " ".join(entered.split())


def parse_score(rules: Rules, text: str) -> tuple[str, str]:
    """Read `--score`: `tang_tip=round`.

    Raises:
        KeygenError: the text does not have this form, or the marks are not of this kind.
    """
    name, equals, entered = text.partition("=")
    if not equals:
        example = "Write it as in tang_tip=round."
        raise fault("K312", f"--score {text!r} names nothing and its marks", example)
    return name.strip(), marks(rules, name.strip(), entered)


def read_scored(rules: Rules, entries: Fields) -> dict[str, str]:
    """Read the `scored` part of a record, noting every problem at its place."""
    found: dict[str, str] = {}
    for name in entries.values:
        entered = entries.text(name, "")
        if not entered:
            continue
        try:
            found[name] = marks(rules, name, entered)
        except KeygenError as error:
            entries.refused(error, name)
    return found


def write_scored(rules: Rules, details: Mapping[str, str]) -> dict[str, str]:
    """Return the `scored` part of a record."""
    return {name: details[name] for name in rules.scored if details.get(name)}
