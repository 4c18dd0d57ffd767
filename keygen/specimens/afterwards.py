"""Lines typed after the key: measurements, condition, notes, the call of the analyst."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from keygen.errors import KeygenError
from keygen.specimens import details
from keygen.specimens.details import Where


class Taken(NamedTuple):
    """What comes of a line: the fields it filled, in order, and what to say."""

    filled: Mapping[str, str]
    say: tuple[str, ...] = ()


def taken(where: Where, given: Mapping[str, str], text: str) -> Taken:
    """Take an answer to the question that comes next after the key.

    Args:
        where: what the questions depend on.
        given: the fields filled so far.
        text: the line as typed.
    """
    asked = details.question(where, given)
    if asked is None:
        return Taken({})
    if text.casefold() == "done":
        return _done(where, given)
    if text == "?":
        return Taken({}, ("Enter leaves this empty; `done` ends the questions; also back, pause.",))
    try:
        kept, remark = details.accept(where, asked.field, text)
    except KeygenError as error:
        return Taken({}, tuple(str(problem) for problem in error.problems))
    return Taken({asked.field: kept}, (remark,) if remark else ())


def _done(where: Where, given: Mapping[str, str]) -> Taken:
    """Leave all remaining questions empty; only a reason that is owed has to be given."""
    filled: dict[str, str] = {}
    while asked := details.question(where, {**given, **filled}):
        try:
            filled[asked.field], _ = details.accept(where, asked.field, "")
        except KeygenError as error:
            return Taken(filled, tuple(str(problem) for problem in error.problems))
    return Taken(filled)
