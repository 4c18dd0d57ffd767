"""What was observed of attributes that no sentence has a place for: those of a rule pack."""

from __future__ import annotations

from collections.abc import Iterator

from keygen.prose.facts import Fact, View
from keygen.prose.seen import Seen, briefs


def others(view: View) -> Iterator[Fact]:
    """Name what was coded by eye; what was measured is told by its figures."""
    told = [name for name in view.voiced() if view[name].how != "measured" and _says(view[name])]
    if told:
        yield Fact("others", {"traits": briefs(view[name] for name in told)}, tuple(told))


def _says(seen: Seen) -> bool:
    """Tell whether an observation leaves out more than that there is nothing to observe."""
    full = seen.attribute.states if seen.attribute else ()
    return seen.none or len(seen.ids) < len([state for state in full if state.id != "none"])
