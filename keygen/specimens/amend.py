"""Changes to a record that is on disk: judged again, signed, an observation changed.

Only the entries concerned are touched (see `keygen.specimens.edit`), and each change is added to
the record's history.
"""

from __future__ import annotations

import stat
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from keygen.core.examine import AnalystCall, Change
from keygen.core.observe import Observation
from keygen.errors import KeygenError, Problem
from keygen.rulebase.bounded import bytes_of, text_of
from keygen.rulebase.yamlio import parse
from keygen.specimens import history
from keygen.specimens.edit import append, put
from keygen.specimens.files import write_whole
from keygen.specimens.history import KeyCall
from keygen.specimens.observed import write_observed
from keygen.specimens.record import Specimen
from keygen.specimens.terms import Lexicon

MARK = "\ufeff"  # some editors put it in front of a text


@dataclass(frozen=True)
class Who:
    """Who changes a record, when, and why."""

    today: str
    by: str
    why: str

    def change(self, what: str, why: bool = True) -> Change:
        """Return an entry for the history."""
        return Change(self.today, self.by or history.PROGRAM, what, self.why if why else "")


def read(file: Path) -> str:
    """Return a record's text with every character that it has.

    Raises:
        KeygenError: it is not UTF-8.
        OSError: it cannot be opened.
    """
    return text_of(bytes_of(file, str(file)), str(file), "utf-8")


def own_call(call: str, reason: str, by: str, date: str) -> AnalystCall | None:
    """Return an analyst's call, if one is given."""
    return AnalystCall(call, reason, by, date) if call else None


def observed(specimen: Specimen, found: Mapping[int, Observation]) -> Specimen:
    """Return a record with some observations replaced."""
    piece = specimen.piece
    return replace(specimen, piece=replace(piece, observations={**piece.observations, **found}))


def changed(
    lexicon: Lexicon,
    text: str,
    before: Specimen,
    after: Specimen,
    now: KeyCall | None,
    own: AnalystCall | None,
    who: Who,
    name: str,
) -> str:
    """Return the text of a record with its changes and their history; the same if there are none.

    Args:
        lexicon: the words of the rules.
        text: the record as it is on disk.
        before: the record as it reads.
        after: the record with changed observations.
        now: the key's call now.
        own: the analyst's own call to put beside it.
        who: who changes it.
        name: how messages call the file.

    Raises:
        KeygenError: the file is written in a way that cannot be changed in place.
    """
    mark = MARK if text.startswith(MARK) else ""
    body = text.removeprefix(MARK)
    body, entries = _observations(lexicon, body, before, after, who, name)
    if now is not None and now != before.key_call:
        body = _put_all(body, "key_call", history.write_key_call(now), name)
        what = f"key_call: {history.told_call(before.key_call)} -> {history.told_call(now)}"
        entries.append(Change(who.today, history.PROGRAM, what))
    if own is not None:
        was = history.told_analyst(before.piece.analyst)
        body = _put_all(body, "analyst", {k: v for k, v in vars(own).items() if v}, name)
        entries.append(who.change(f"analyst: {was} -> {own.call}"))
    for entry in entries:
        body = append(body, "history", history.write_change(entry), name)
    return mark + body


def _observations(
    lexicon: Lexicon, text: str, before: Specimen, after: Specimen, who: Who, name: str
) -> tuple[str, list[Change]]:
    rules = lexicon.rules
    changes = history.observation_changes(
        rules, before.piece.observations, after.piece.observations
    )
    if not changes:
        return text, []
    entries = write_observed(rules, after.piece.observations)
    data = parse(text, name, as_text=True).data
    written = data.get("observed") or {}
    if not written:  # what a path alone said is now said in full
        text = put(text, ("observed",), entries, name, "history")
    keys = {lexicon.attribute(key): key for key in written}
    for attribute in changes if written else ():
        text = put(text, ("observed", keys.get(attribute, attribute)), entries[attribute], name)
    return text, [who.change(what) for what in changes.values()]


def _put_all(text: str, key: str, entries: Mapping[str, Any], name: str) -> str:
    """Return the text with a mapping replaced entry by entry, so that comments in it stay."""
    old = parse(text, name, as_text=True).data.get(key)
    if not isinstance(old, dict):
        return put(text, (key,), dict(entries), name, "history")
    if old.keys() - entries.keys():  # an entry goes, such as the types of a piece now untyped
        return put(text, (key,), dict(entries), name, "history")
    for inner, value in entries.items():
        if old.get(inner) != value:
            text = put(text, (key, inner), value, name)
    return text


def write(file: Path, text: str, changed_text: str) -> None:
    """Replace a record on disk, whole or not at all, unless somebody else changed it meanwhile.

    Raises:
        KeygenError: the file no longer has the text that was read.
        OSError: it cannot be written.
    """
    if read(file) != text:
        raise KeygenError(Problem(str(file), 0, 0, "", "the file was changed meanwhile; try again"))
    mode = file.stat().st_mode
    write_whole(file, changed_text, replace=True)
    file.chmod(stat.S_IMODE(mode))
