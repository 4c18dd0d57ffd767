"""The `observed` part of a record: from its lines to observations, and back.

Long form `{states: [stemmed], how: seen, at: [haft_modified]}`, or short form as one writes by
hand: `contracting`, `[straight, contracting]`, `"?"`, `missing`. An attribute of kind `many` names
what is present and may list its other items under `unsure`, `missing` and `open` (not looked for);
an item in none of these lists is absent.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from keygen.core.model import ABSENT, PRESENT, Attribute, Rules
from keygen.core.observe import How, Observation
from keygen.errors import KeygenError
from keygen.rulebase.fields import Fields
from keygen.specimens.terms import Lexicon

HOWS: tuple[How, ...] = ("seen", "unsure", "missing", "measured")
Observed = dict[int, Observation]


def read_observed(
    lexicon: Lexicon, entries: Fields, places: dict[int, tuple[int, int]] | None = None
) -> Observed:
    """Read all observations of a record, noting every problem at its place.

    `places` takes the line and column of each.
    """
    found: Observed = {}
    for key, value in entries.values.items():
        try:
            name = lexicon.attribute(key)
        except KeygenError as error:
            entries.refused(error, key)
            continue
        try:
            if isinstance(value, dict):
                read = _read_long(lexicon, name, entries.child(key))
            else:
                read = lexicon.observe(name, _words(value))
        except KeygenError as error:
            entries.refused(error, key)
            continue
        for i in read.keys() & found.keys():
            twice = lexicon.rules.attributes[i].label
            entries.fault("K006", f"the {twice} is recorded twice", key)
        found.update(read)
        if places is not None:
            places.update(dict.fromkeys(read, entries.document.place((*entries.path, key))))
    return found


def _words(value: Any) -> tuple[str, ...]:
    if value is None:
        return ()
    words = value if isinstance(value, list) else [value]
    return tuple(str(word) for word in words)


def _read_long(lexicon: Lexicon, name: str, entry: Fields) -> Observed:
    couplets = lexicon.rules.couplet_names
    at = tuple(couplets.get(place, place) for place in entry.texts("at"))
    states = entry.texts("states")
    how: Any = entry.choice("how", HOWS, "") if entry.has("how") else ""
    if name in lexicon.rules.many:
        found = _read_many(lexicon, name, entry, states, how)
    else:
        found = {}
        index = lexicon.rules.index[name]
        if states:
            read = lexicon.observe(name, states)[index]
            found[index] = Observation(read.mask, how or read.how)
        elif how in ("unsure", "missing"):
            found[index] = Observation(lexicon.rules.full[index], how)
        else:
            entry.fault("K003", f"no states are given for {name}", (), "Give 'states'.")
    entry.done()
    return {i: Observation(o.mask, o.how, at) for i, o in found.items()}


def _read_many(
    lexicon: Lexicon, name: str, entry: Fields, states: tuple[str, ...], how: str
) -> Observed:
    now = lexicon.items[name]
    attributes = lexicon.rules.attributes
    old = {alias: i for i in now.values() for alias in attributes[i].states[-1].aliases}
    items = {**old, **now}
    found = lexicon.observe(name, states) if states else {}
    if not states and how in ("unsure", "missing"):
        found = lexicon.observe(name, [how])
    for key in ("unsure", "missing"):
        for item in entry.known(key, items, f"the {name} state"):
            found[items[item]] = lexicon.observe(name, [key])[items[item]]
    for item in entry.known("open", items, f"the {name} state"):
        found.pop(items[item], None)
    return found


def write_observed(rules: Rules, observed: Mapping[int, Observation]) -> dict[str, dict[str, Any]]:
    """Return the long form of observations, in the order of the vocabulary."""
    written: dict[str, dict[str, Any]] = {}
    for i, attribute in enumerate(rules.attributes):
        name = attribute.item_of or attribute.id
        if attribute.item_of and name not in written:
            items = dict(_items(rules, name, observed))
            if any(items.values()):
                written[name] = _long_many(items)
        elif not attribute.item_of and i in observed:
            written[name] = _long(attribute, observed[i])
    return written


def _items(
    rules: Rules, name: str, observed: Mapping[int, Observation]
) -> Iterator[tuple[str, Observation | None]]:
    for i, attribute in enumerate(rules.attributes):
        if attribute.item_of == name:
            yield attribute.id.partition(".")[2], observed.get(i)


def _long(attribute: Attribute, observation: Observation) -> dict[str, Any]:
    entry: dict[str, Any] = {}
    if observation.mask != attribute.full:
        entry["states"] = list(attribute.ids(observation.mask))
    entry["how"] = observation.how
    if observation.at:
        entry["at"] = list(observation.at)
    return entry


def _long_many(items: Mapping[str, Observation | None]) -> dict[str, Any]:
    def listed(mask: int, *hows: str) -> list[str]:
        return [n for n, o in items.items() if o and o.mask == mask and (not hows or o.how in hows)]

    both = ABSENT | PRESENT
    entry: dict[str, Any] = {}
    if listed(PRESENT) or listed(ABSENT):
        entry["states"] = listed(PRESENT) or ["none"]
    for how in ("unsure", "missing"):
        if listed(both, how):
            entry[how] = listed(both, how)
    if None in items.values():
        entry["open"] = [n for n, o in items.items() if o is None]
    at = {place for o in items.values() if o for place in o.at}
    if at:
        entry["at"] = sorted(at)
    return entry
