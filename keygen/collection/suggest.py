"""A draft of a mapping file for a table."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice

from keygen.collection.columns import Names
from keygen.collection.guess import Guess, Guesser
from keygen.collection.headers import locations
from keygen.collection.mapping import FIELDS
from keygen.collection.model import Column, Row
from keygen.core.model import Rules

LOOKED_AT = 2000
_SHOWN = 8
_HEAD = """\
# A draft: read every line. What was guessed, and what could not be placed, says so.
# A column holds an attribute, a measurement or a field, here with all that can be said of each:
#   {attribute: base_shape, codes: {S: straight, C: [incurvate, deeply_incurvate], "9": missing}}
#   {measure: length, unit: cm}    {field: date, order: month}    location (withheld)    ignore
# `keygen types --terms` lists attributes and states. Then: keygen table FILE --mapping THIS_FILE
"""


@dataclass
class Line:
    """One line of the draft."""

    name: str
    guess: Guess
    values: Counter[str] = field(default_factory=Counter)
    sure: bool = False


def suggest(rules: Rules, header: Sequence[str], rows: Iterable[Row]) -> str:
    """Return the draft as YAML; what was guessed and what could not be placed stand in comments.

    Only the first rows are looked at.
    """
    lines = _lines(rules, header, rows)
    _one_each(lines)
    text = _HEAD
    if not any(line.guess.column and line.guess.column.kind == "region" for line in lines):
        text += f"# region: {next(iter(rules.regions))}   # for rows that name none: write yours\n"
    text += "columns:\n" + "".join(map(_written, lines))
    return text if lines else text.replace("columns:", "columns: {}")


def _lines(rules: Rules, header: Sequence[str], rows: Iterable[Row]) -> list[Line]:
    names, guesser, places = Names(rules), Guesser(rules), locations(header)
    looked = list(islice(rows, LOOKED_AT))
    found: dict[str, Line] = {}
    for i, name in enumerate(header):
        bare = " ".join(name.split())
        if not bare or not bare.isprintable():
            continue
        values = Counter(cell for row in looked if (cell := " ".join(row.cells[i].split())))
        placed = names.place(name.strip(), bare, i in places)
        line = Line(bare, Guess(placed.column), values, True)
        if placed.column.kind == "unread":
            line = Line(bare, guesser.guess(bare, values), values)
        elif placed.column.kind == "attribute":
            guess = guesser.states(placed.column, values)
            if not guess.column:
                found_codes = guesser.codes(placed.column, values)
                guess = replace(found_codes, why=f"many cells do not fit it; {found_codes.why}")
            line.guess = guess
            line.sure = not guess.codes and not guess.unread
        elif placed.column.kind == "measurement":
            column, why = guesser.unit(placed.column, values)
            line = Line(bare, Guess(column, why), values, not why)
        elif placed.column.kind == "location":
            line.guess = Guess(placed.column, "withheld: an exact location")
        if placed.column.kind == "number":
            line.guess = Guess(placed.column, str(placed.rank))
        found.setdefault(bare, line)
    return list(found.values())


def _one_each(lines: list[Line]) -> None:
    """Leave each target to the column that has the best claim to it."""
    owners: dict[tuple[str, str], Line] = {}
    for line in sorted(lines, key=_claim):
        column = line.guess.column
        if column is None or column.kind == "location":
            continue
        owner = owners.setdefault((column.kind, column.target), line)
        if owner is not line:
            line.guess = Guess(None, f"{column.target} is already taken from {owner.name!r}")
            line.sure = False
    for line in lines:
        if line.guess.column and line.guess.column.kind == "number":
            line.guess = replace(line.guess, why="")


def _claim(line: Line) -> tuple[bool, str, int]:
    rank = line.guess.why if line.guess.column and line.guess.column.kind == "number" else ""
    return (not line.sure, rank, len(line.guess.codes) + len(line.guess.unread))


def _written(line: Line) -> str:
    """Return the entry of one column, with what was guessed or not found in a comment."""
    guess, name = line.guess, _quoted(line.name)
    if guess.column is None:
        shown = ", ".join(f"{value} ({n})" for value, n in line.values.most_common(_SHOWN))
        comment = f"not placed: {guess.why}" + (f"; its cells: {shown}" if shown else "")
        return f"  {name}: ignore{_comment(comment)}"
    why = guess.why if not line.sure or guess.column.kind == "location" else ""
    text = f"  {name}: {_value(guess)}{_comment(why)}"
    if guess.unread:
        shown = ", ".join(f"{v} ({line.values[v]})" for v in guess.unread[:_SHOWN])
        text += f"    # not placed in {_bare(line.name)}: {_bare(shown)}\n"
    return text


def _value(guess: Guess) -> str:
    column = guess.column or Column("", "unread")
    if column.kind == "measurement":
        unit = f", unit: {column.unit}" if column.unit else ""
        return f"{{measure: {column.target}{unit}}}"
    if column.kind == "attribute":
        codes = ", ".join(
            f"{_quoted(code)}: {_told(column.target, said)}" for code, said in guess.codes.items()
        )
        return f"{{attribute: {column.target}{f', codes: {{{codes}}}' if codes else ''}}}"
    return next(w for w, found in FIELDS.items() if found == (column.kind, column.target))


def _told(own: str, said: Mapping[str, Sequence[str]]) -> str:
    """Return what a code means: a word, or words by attribute if it speaks of others too."""
    words = {
        name: states[0] if len(states) == 1 else f"[{', '.join(states)}]"
        for name, states in said.items()
    }
    if [*words] == [own]:
        return words[own]
    return f"{{{', '.join(f'{name}: {word}' for name, word in words.items())}}}"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _bare(text: str) -> str:
    return re.sub(r"\s+", " ", "".join(sign if sign.isprintable() else "?" for sign in text))


def _comment(text: str) -> str:
    return f"  # {_bare(text)}\n" if text else "\n"
