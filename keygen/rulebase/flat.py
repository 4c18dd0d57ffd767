"""An entry of the rules as lines of text, so that two editions of it can be held side by side.

Masks mean nothing outside the edition that they belong to; here every set of states is written with
ids, and ids of an older edition are written as they are called in the newer one.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from keygen.core.indices import Group, Mark, Outcome, Weight
from keygen.core.model import (
    Attribute,
    Band,
    Criterion,
    CurveTable,
    Dates,
    Derivation,
    Gauge,
    Lead,
    LookAlike,
    MeasureRange,
    Period,
    Record,
    Rules,
    State,
)
from keygen.rulebase.aliases import attribute_aliases

Flat = Mapping[str, str]
_KEYS = {
    Record: "region",
    LookAlike: "type",
    MeasureRange: "measurement",
    Period: "name",
    State: "id",
    Outcome: "id",
    Mark: "word",
    Group: "outcome",
    Weight: "term",
}


@dataclass(frozen=True)
class Names:
    """What ids of another edition are called in one edition of the rules.

    `attributes` and `states` (by attribute and state) hold those that are called otherwise; a state
    can have become several.
    """

    rules: Rules
    attributes: Mapping[str, str]
    states: Mapping[tuple[str, str], tuple[str, ...]]

    def attribute(self, name: str) -> str:
        """Return what an attribute is called."""
        return self.attributes.get(name, name)

    def state(self, attribute: str, name: str) -> tuple[str, ...]:
        """Return what a state is called; the attribute has its name of this edition."""
        return self.states.get((attribute, name), (name,))

    def told(self, attribute: Attribute, mask: int) -> tuple[str, ...]:
        """Return what the states in a mask are called; the attribute may be of another edition."""
        name = self.attribute(attribute.id)
        found = (called for s in attribute.ids(mask) for called in self.state(name, s))
        return tuple(dict.fromkeys(found))

    def mask(self, attribute: Attribute, mask: int) -> tuple[int, int] | None:
        """Return an attribute and mask of another edition as index and mask of this one.

        None if the attribute, or all of these states, are not known here.
        """
        index = self.rules.index.get(self.attribute(attribute.id))
        if index is None:
            return None
        bits = self.rules.attributes[index].bits
        found = sum(bits[s] for s in self.told(attribute, mask) if s in bits)
        return (index, found) if found else None


def names_in(rules: Rules) -> Names:
    """Return what ids of earlier editions are called in these rules."""
    states = {
        (attribute.id, old): (state.id,)
        for attribute in rules.attributes
        for state in attribute.states
        for old in state.aliases
        if not attribute.item_of
    }
    return Names(rules, attribute_aliases(rules), states)


def names_back(older: Rules, newer: Rules) -> Names:
    """Return what ids of a newer edition were called in an older one."""
    forth = names_in(newer)
    attributes = {new: old for old, new in forth.attributes.items() if old in older.index}
    states: dict[tuple[str, str], tuple[str, ...]] = {}
    for (name, old), (new,) in forth.states.items():
        was = attributes.get(name, name)
        bits = older.attributes[older.index[was]].bits if was in older.index else {}
        if old in bits:
            both = states.get((was, new), (new,) if new in bits else ())
            states[was, new] = (*both, old)
    return Names(older, attributes, states)


def flat(rules: Rules, names: Names, value: object) -> dict[str, str]:
    """Return an entry of the rules as text by the names of its fields; empty fields are left out.

    Args:
        rules: the edition that the entry belongs to.
        names: what ids are called.
        value: a type, couplet, attribute or any other entry.
    """
    return {field: text for field, text in _lines(rules, names, value, "") if text}


def _lines(rules: Rules, names: Names, value: Any, name: str) -> Iterator[tuple[str, str]]:
    for field in fields(value):
        where = f"{name} {field.name}".strip()
        inner: Any = getattr(value, field.name)
        if field.name in ("id", "key", "item_of", _KEYS.get(type(value), "")):
            continue
        special = _special(rules, names, value, field.name)
        if special is not None:
            yield where, special
        elif isinstance(inner, tuple) and inner and is_dataclass(inner[0]):
            for i, item in enumerate(inner):
                yield from _entry(rules, names, value, item, where, i)
        elif is_dataclass(inner) and not isinstance(inner, Dates):
            yield from _lines(rules, names, inner, where)
        elif inner is not None:
            yield where, _text(rules, names, inner)


def _entry(
    rules: Rules, names: Names, owner: Any, item: Any, where: str, i: int
) -> Iterator[tuple[str, str]]:
    """Yield the lines of one entry of a list; a criterion is one line."""
    if isinstance(item, Criterion):
        attribute = rules.attributes[item.attribute]
        told = ", ".join(names.told(attribute, item.allowed))
        yield f"{where} {names.attribute(attribute.id)}", told
        return
    key = getattr(item, _KEYS[type(item)]) if type(item) in _KEYS else str(i + 1)
    if isinstance(item, Lead):
        key = item.letter
    elif isinstance(item, LookAlike):
        key = names.rules.names.get(key, key)
    elif isinstance(item, State):
        key = names.state(names.attribute(owner.id), key)[0]
    yield from _lines(rules, names, item, f"{where} {key}")


def _special(rules: Rules, names: Names, value: object, field: str) -> str | None:
    """Return a field whose form depends on what it belongs to; None for any other."""
    if isinstance(value, Derivation) and field in ("attribute", "by"):
        return _derived(rules, names, value, field)
    if isinstance(value, CurveTable) and field == "text":
        return f"SHA-256 {hashlib.sha256(value.text.encode()).hexdigest()[:12]}"
    if isinstance(value, State) and field == "draw":
        return ", ".join(f"{name}={word}" for name, word in value.draw)
    if isinstance(value, Lead) and field == "leaves" and len(value.leaves) > 1:
        return "otherwise"
    if isinstance(value, Lead) and field == "go":
        return names.rules.couplet_names.get(value.go, value.go or "end")
    if isinstance(value, Record) and field == "local_type":
        return names.rules.names.get(value.local_type, value.local_type)
    return None


def _derived(rules: Rules, names: Names, rule: Derivation, field: str) -> str:
    attribute = rules.attributes[rule.attribute]
    if field == "attribute":
        return names.attribute(attribute.id)

    def band(found: Band) -> str:
        return f"{'/'.join(names.told(attribute, found.states))} {found.low:g} to {found.high:g}"

    def gauge(found: Gauge) -> str:
        return f"{found.figure} of {', '.join(found.terms)}: {', '.join(map(band, found.bands))}"

    return "; ".join(map(gauge, rule.by))


def _text(rules: Rules, names: Names, value: Any) -> str:
    if isinstance(value, Dates):
        sure = "" if value.sure else ", scale not certain"
        return f"{value.start} to {value.end} {value.scale}{sure}"
    if isinstance(value, Mapping):
        return limits(rules, names, value)
    if isinstance(value, tuple) and value and isinstance(value[0], Mapping):
        return " or ".join(limits(rules, names, meant) for meant in value)
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    if isinstance(value, bool):
        return "true" if value else ""
    return f"{value:g}" if isinstance(value, float) else str(value)


def limits(rules: Rules, names: Names, masks: Mapping[int, int]) -> str:
    """Return masks by attribute index as `stem_shape=straight/contracting, base_shape=straight`."""
    return ", ".join(
        f"{names.attribute(rules.attributes[i].id)}="
        + "/".join(names.told(rules.attributes[i], mask))
        for i, mask in sorted(masks.items())
    )
