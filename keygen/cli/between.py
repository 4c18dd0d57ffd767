"""What `keygen rerun --between` prints of two editions of the rules."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from keygen.rulebase.compare import CallChange, Comparison, Difference

_NEED_ALIAS = ("types", "attributes", "couplets")
_UNREAD = "Records that name it no longer read; what takes its place needs it as an alias."
_STATE = re.compile(r"states \S+ term")
MOST = 12  # so many types or regions are named one by one


def lines(found: Comparison) -> Iterator[str]:
    """Yield the report, a line at a time."""
    older, newer = found.older, found.newer
    yield f"Older: edition {older.edition}, digest {older.digest}."
    yield f"Newer: edition {newer.edition}, digest {newer.digest}."
    if found.same:
        yield "The rules say the same."
        return
    for section, counts in _counted(found).items():
        told = ", ".join(f"{count} {change}" for change, count in sorted(counts.items()))
        yield f"{section}: {told}"
    for difference in found.differences:
        yield ""
        yield from _difference(difference)
    yield ""
    yield from _calls(found)


def _counted(found: Comparison) -> dict[str, Counter[str]]:
    counted: dict[str, Counter[str]] = {}
    for difference in found.differences:
        counted.setdefault(difference.section, Counter())[difference.change] += 1
    return counted


def _difference(difference: Difference) -> Iterator[str]:
    head = f"{difference.section}/{difference.id}"
    if difference.change != "changed":
        yield f"{head}: {difference.change}"
        if difference.change == "removed" and difference.section in _NEED_ALIAS:
            yield f"  {_UNREAD}"
        return
    yield f"{head}: {f'renamed from {difference.was_id}' if difference.was_id else 'changed'}"
    gone = [f.name.split()[1] for f in difference.fields if _STATE.fullmatch(f.name) and not f.now]
    if gone:
        yield f"  The state {' and the state '.join(gone)} is gone. {_UNREAD}"
    for field in difference.fields:
        was, now = field.was or "(nothing)", field.now or "(nothing)"
        if len(was) + len(now) < 60:
            yield f"  {field.name}: {was} -> {now}"
        else:
            yield f"  {field.name}:"
            yield f"    - {was}"
            yield f"    + {now}"


def _calls(found: Comparison) -> Iterator[str]:
    if not found.calls:
        yield "Calls of pieces that are just as a type is defined: none changes."
        return
    yield "Calls of pieces that are just as a type is defined:"
    grouped: dict[str, dict[str, dict[str, None]]] = {}
    for change in found.calls:
        regions = grouped.setdefault(_effect(change), {}).setdefault(change.type, {})
        regions.update(dict.fromkeys(change.regions))
    for effect, by_type in grouped.items():
        yield f"  {effect}"
        for name in list(by_type)[:MOST]:
            yield f"    {name} in {_some(tuple(by_type[name]))}"
        if len(by_type) > MOST:
            yield f"    and {len(by_type) - MOST} more types (--format json lists all)"


def _some(regions: tuple[str, ...]) -> str:
    if len(regions) <= MOST:
        return ", ".join(regions)
    return f"{len(regions)} regions"


def _effect(change: CallChange) -> str:
    """Return what becomes of a call: its status before and after, and which types come and go."""
    was, now = set(change.was.types), set(change.now.types)
    was_status, now_status = change.was.status, change.now.status
    same = was_status == now_status
    parts = [f"still {now_status}" if same else f"{was_status} -> {now_status}"]
    if gained := sorted(now - was):
        parts.append(f"now also {', '.join(gained)}")
    if lost := sorted(was - now):
        parts.append(f"no longer {', '.join(lost)}")
    return "; ".join(parts)
