"""A session made again from the lines of its journal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from keygen.core.infer import Contradiction
from keygen.errors import KeygenError
from keygen.specimens import details, path
from keygen.specimens.session import Session, finish, took, undo


def restore(session: Session, entries: Iterable[Mapping[str, Any]]) -> tuple[Session, int, str]:
    """Return the session after a journal's lines, how many fitted, and why the next did not.

    Args:
        session: a session before its first question.
        entries: the lines that count, in order.
    """
    fitted = 0
    for entry in entries:
        try:
            session = _again(session, entry)
        except (KeygenError, Contradiction) as error:
            return session, fitted, str(error)
        except (ValueError, TypeError):
            return session, fitted, "the line is damaged"
        fitted += 1
    return session, fitted, ""


def _again(session: Session, entry: Mapping[str, Any]) -> Session:
    match entry:
        case {"took": [*tokens]}:
            steps = [s for token in tokens for s in path.read_steps(session.lexicon, str(token))]
            return took(session, tuple(steps))
        case {"detail": [str() as name, str() as text]}:
            details.accept(session.where, name, text)
            return replace(session, given={**session.given, name: text})
        case {"back": True}:
            return undo(session)
        case {"enough": True}:
            return replace(session, enough=True)
        case {"finish": True}:
            return finish(session)
        case {"finished": True}:
            return session
    raise ValueError(entry)
