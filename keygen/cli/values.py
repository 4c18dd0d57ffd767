"""What the Tab key offers: regions, types, attributes with their states, measurements, packs.

Each function gets what was typed so far and returns the words that begin with it, most with a
short help. Nothing is loaded before the Tab key is pressed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from keygen.core.model import Rules

Offer = tuple[str, str]
FIELDS = ("level", "unit", "site", "feature", "provenience", "material", "observer")


def _rules(context: typer.Context) -> Rules | None:
    """Return the rules that `--rules` names in the same line; None if they cannot be used."""
    from keygen.cli.gather import rules_from
    from keygen.errors import KeygenError

    folder = context.params.get("rules_folder")
    try:
        return rules_from(Path(folder) if folder else None)
    except (KeygenError, OSError):
        return None


def _offered(
    words: Callable[[Rules], Iterable[Offer]],
) -> Callable[[typer.Context, str], list[Offer]]:
    """Return what offers the words that begin with what was typed."""

    def offer(context: typer.Context, incomplete: str) -> list[Offer]:
        rules = _rules(context)
        every = words(rules) if rules else ()
        return [(word, about) for word, about in every if word.startswith(incomplete)]

    return offer


def _regions(rules: Rules) -> Iterable[Offer]:
    return ((name, region.label) for name, region in rules.regions.items())


def _types(rules: Rules) -> Iterable[Offer]:
    return ((kind.id, kind.name) for kind in rules.types.values())


def _measures(rules: Rules) -> Iterable[Offer]:
    return ((f"{m.id}=", f"{m.label}, {m.unit}") for m in rules.measurements.values())


def _scores(rules: Rules) -> Iterable[Offer]:
    return ((f"{s.id}=", s.label) for s in rules.scored.values())


def _attributes(rules: Rules) -> dict[str, str]:
    """Return the labels of all attributes by id; one of kind `many` stands for its items."""
    return {
        a.item_of or a.id: rules.many[a.item_of] if a.item_of else a.label for a in rules.attributes
    }


def _counted(rules: Rules) -> Iterable[Offer]:
    calls = [(word, "of the call") for word in ("type", "period", "status")]
    return (*calls, *_attributes(rules).items())


regions = _offered(_regions)
types = _offered(_types)
measures = _offered(_measures)
scores = _offered(_scores)
counted = _offered(_counted)


def words(context: typer.Context, incomplete: str) -> list[Offer]:
    """Offer types, or attributes where words are looked up."""
    if not context.params.get("terms"):
        return types(context, incomplete)
    rules = _rules(context)
    every = _attributes(rules).items() if rules else ()
    return [(name, label) for name, label in every if name.startswith(incomplete)]


def fields(incomplete: str) -> list[str]:
    """Offer the fields that a table can be counted by; any other column is typed."""
    return [name for name in FIELDS if name.startswith(incomplete)]


def packs(incomplete: str) -> list[str]:
    """Offer the shipped packs; where none begins like it, the shell offers folders."""
    from keygen import data

    return [name for name in (data.MAIN, *data.packs()) if name.startswith(incomplete)]


def observations(context: typer.Context, incomplete: str) -> list[Offer]:
    """Offer `attribute=`, and where the attribute is clear, its states.

    Behind a comma one more state is offered.
    """
    rules = _rules(context)
    if rules is None:
        return []
    known = _attributes(rules)
    name, given, typed = incomplete.partition("=")
    if not given:
        found = [one for one in known if one.startswith(name)]
        if len(found) != 1:
            return [(f"{one}=", known[one]) for one in found]
        name = found[0]
    before, comma, last = typed.rpartition(",")
    head = f"{name}={before}{comma}"
    chosen = before.split(",")
    return [
        (head + state, about)
        for state, about in _states(rules, name)
        if state.startswith(last) and state not in chosen
    ]


def _states(rules: Rules, name: str) -> list[Offer]:
    items = [a for a in rules.attributes if a.item_of == name]
    if items:
        nothing = ("none", f"no {rules.many[name]}")
        return [nothing, *((a.id.partition(".")[2], a.label) for a in items)]
    one = rules.attributes[rules.index[name]] if name in rules.index else None
    states = [(state.id, state.means or state.term) for state in one.states] if one else []
    return [*states, ("missing", "cannot be seen on this piece"), ("?", "unsure")] if one else []
