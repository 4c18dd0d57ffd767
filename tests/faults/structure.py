"""Rules changed in their structure: still YAML, but with a key gone, doubled, emptied or absurd."""

from __future__ import annotations

import copy
import random
from typing import Any

import yaml

SPOTS = tuple[tuple[Any, Any, Any], ...]
ABSURD: tuple[Any, ...] = (
    *(None, "", " ", [], {}, [[]], [{}], [""], [None], {"": ""}, {"x": {}}, True, False),
    *(0, -1, 1, 2, 10**15, -(10**15), 99_999, 1e300, -0.5, 0.1, 1e-300, ".inf", "nan", ".nan"),
    *("end", "none", "otherwise", "any", "x" * 5_000, "a b", "../x", "CON", "\u202e", "{{ x }}"),
    *("0", "1a", "-", "=1", "<b>", "a: b", "# a", "\n", "\u00df", "\U0001f600", "1e400", "9" * 400),
)


def restructured(chance: random.Random, content: bytes, other: bytes) -> bytes:
    """Return a YAML file after one to three changes of its tree; `other` lends values."""
    tree, lender = (yaml.safe_load(text) for text in (content, other))
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        spots = _spots(tree)
        if not spots:
            break
        _change(chance, spots, _spots(lender))
    text: str = yaml.safe_dump(tree, sort_keys=False, allow_unicode=chance.random() < 0.5)
    return text.encode("utf-8", "replace")


def _spots(tree: Any) -> SPOTS:
    """Return every place in a tree: what holds it, its key or number there, what stands there."""
    found: list[tuple[Any, Any, Any]] = []
    held = [tree]
    while held:
        holder = held.pop()
        if isinstance(holder, dict):
            pairs = list(holder.items())
        else:
            pairs = list(enumerate(holder)) if isinstance(holder, list) else []
        for key, value in pairs:
            found.append((holder, key, value))
            held.append(value)
    return tuple(found)


def _change(chance: random.Random, spots: SPOTS, lent: SPOTS) -> None:
    holder, key, value = chance.choice(spots)
    _, there, found = chance.choice(spots)
    alike = [spot for spot in spots if spot[1] == key and type(spot[2]) is type(value)]
    other = chance.choice(alike)
    kind = chance.randrange(9)
    if kind == 0:
        del holder[key]
    elif kind == 1 and isinstance(holder, list):
        holder.insert(key, copy.deepcopy(value))
    elif kind == 2 and isinstance(holder, dict):
        entries = [
            (chance.choice((there, "x", "", key)) if k == key else k, v) for k, v in holder.items()
        ]
        holder.clear()
        holder.update(entries)
    elif kind == 3:  # two values of one sort change places: a lead that goes back makes a circle
        holder[key] = copy.deepcopy(other[2])
        other[0][other[1]] = copy.deepcopy(value)
    elif kind == 4:
        holder[key] = copy.deepcopy(found)
    elif kind == 5 and lent:
        holder[key] = copy.deepcopy(chance.choice(lent)[2])
    elif kind == 6 and isinstance(value, int | float) and not isinstance(value, bool):
        holder[key] = chance.choice((0, -value, value * 10**6, value + 0.5, value - 1, 10**15))
    elif kind == 7 and isinstance(value, list | dict):
        holder[key] = type(value)()
    else:
        holder[key] = copy.deepcopy(chance.choice(ABSURD))
