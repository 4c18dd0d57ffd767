"""The key's call as it was made, and what was changed in a record since: both kept in the file.

The history is only ever added to. Its entries are text for people; nothing is worked out from them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, get_args

from keygen.core.call import Status
from keygen.core.examine import AnalystCall, Change, Examination
from keygen.core.model import Rules
from keygen.core.observe import Observation
from keygen.rulebase.fields import Fields
from keygen.specimens.emit import flow
from keygen.specimens.observed import write_observed

PROGRAM = "keygen"  # who made a change that nobody put a name to


@dataclass(frozen=True)
class KeyCall:
    """The key's call as it was made: for which region, and with which exact rules.

    `measured_otherwise` are states that measurements gave and the eye did not bear out, written as
    in `size_class=medium,large`. The eye was followed.
    """

    status: Status
    types: tuple[str, ...]
    region: str
    edition: str
    digest: str
    measured_otherwise: tuple[str, ...] = ()

    def same_as(self, other: KeyCall, names: Mapping[str, str]) -> bool:
        """Tell whether both say the same; `names` leads from earlier ids of types to their ids."""

        def told(call: KeyCall) -> tuple[str, frozenset[str]]:
            return call.status, frozenset(names.get(t, t) for t in call.types)

        return told(self) == told(other)


def key_call(rules: Rules, examination: Examination) -> KeyCall | None:
    """Return the call of an examination; None if no region was given."""
    call = examination.call
    if call is None:
        return None
    return KeyCall(
        call.status,
        call.types,
        call.region,
        rules.edition,
        rules.digest,
        measured_otherwise(rules, examination),
    )


def measured_otherwise(rules: Rules, examination: Examination) -> tuple[str, ...]:
    """Return what was measured and disagrees with the eye: `size_class=medium,large`."""
    return tuple(
        f"{attribute.id}={','.join(attribute.ids(found.measured))}"
        for found in examination.disagreements
        for attribute in (rules.attributes[found.attribute],)
    )


def read_key_call(top: Fields) -> KeyCall | None:
    """Read the call as it was made, if the record keeps one."""
    entry = top.child("key_call")
    if not top.has("key_call"):
        return None
    status: Any = entry.choice("status", get_args(Status))
    found = KeyCall(
        status,
        entry.texts("types"),
        entry.text("region"),
        entry.text("edition", ""),
        entry.text("digest", ""),
        entry.texts("measured_otherwise"),
    )
    entry.done()
    return found


def write_key_call(call: KeyCall | None) -> dict[str, Any]:
    """Return a call as it stands in a record; what is empty is left out."""
    entries = vars(call) if call else {}
    return {
        key: list(value) if isinstance(value, tuple) else value
        for key, value in entries.items()
        if value
    }


def read_history(top: Fields) -> tuple[Change, ...]:
    """Read what was changed, oldest first."""
    found = []
    for entry in top.items("history"):
        found.append(
            Change(
                entry.text("date", ""),
                entry.text("by", ""),
                entry.text("what"),
                entry.text("why", ""),
            )
        )
        entry.done()
    return tuple(found)


def write_change(change: Change) -> dict[str, str]:
    """Return an entry as it stands in a record."""
    return {key: text for key, text in vars(change).items() if text}


def history_text(history: Iterable[Change]) -> str:
    """Return the end of a record: its history, a line an entry; nothing if it has none."""
    lines = [f"  - {flow(write_change(change))}\n" for change in history]
    return "history:\n" + "".join(lines) if lines else ""


def told_call(call: KeyCall | None) -> str:
    """Return a call in a few words: `either gary, wells in ozarks (2026.1, 0a1b2c3d4e5f)`."""
    if call is None:
        return "none kept"
    named = f"{call.status} {', '.join(call.types)}".strip()
    return f"{named} in {call.region} ({call.edition}, {call.digest})"


def told_analyst(own: AnalystCall | None) -> str:
    """Return an analyst's own call with all that was written of it."""
    if own is None:
        return "none"
    who = ", ".join(text for text in (own.by, own.date) if text)
    return f"{own.call} ({f'{who}: ' if who else ''}{own.reason})"


def observation_changes(
    rules: Rules, before: Mapping[int, Observation], after: Mapping[int, Observation]
) -> dict[str, str]:
    """Return what changed, by attribute: `stem_shape: contracting -> straight, contracting`."""
    was, now = write_observed(rules, before), write_observed(rules, after)
    return {
        name: f"{name}: {_told(was.get(name))} -> {_told(now.get(name))}"
        for name in dict.fromkeys((*was, *now))
        if _told(was.get(name)) != _told(now.get(name))
    }


def _told(entry: Mapping[str, Any] | None) -> str:
    if entry is None:
        return "not recorded"
    states = ", ".join(entry.get("states", ())) or entry.get("how", "")
    rest = (f"{k} {', '.join(entry[k])}" for k in ("unsure", "missing", "open") if k in entry)
    return "; ".join(part for part in (states, *rest) if part)
