"""Writing YAML that people read and that every reader takes for text."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

# Safe without quotes inside and outside of brackets: begins with a letter, ends with no space.
_PLAIN = re.compile(r"[^\W\d_](?:[\w ./+()-]*[\w./+()-])?")
_TAKEN = frozenset(["y", "n", "yes", "no", "on", "off", "true", "false", "null", "nan", "inf"])


def scalar(text: str) -> str:
    """Return text as one YAML scalar, quoted wherever a reader could take it for something else."""
    if _PLAIN.fullmatch(text) and text.isprintable() and text.casefold() not in _TAKEN:
        return text
    return '"' + "".join(map(_escaped, text)) + '"'


def _escaped(character: str) -> str:
    if character in '"\\':
        return "\\" + character
    if character.isprintable():
        return character
    number = ord(character)
    return f"\\U{number:08x}" if number > 0xFFFF else f"\\u{number:04x}"


def flow(value: Any) -> str:
    """Return text, a list or a mapping on one line."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{scalar(k)}: {flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(flow, value)) + "]"
    return scalar(value)


def block(entries: Mapping[str, Any]) -> str:
    """Return a mapping as YAML: one line an entry, mappings at the top opened up by one level."""
    lines = []
    for key, value in entries.items():
        if isinstance(value, Mapping) and key not in ("rules", "key_call"):
            lines.append(f"{key}:")
            lines += [f"  {scalar(name)}: {flow(inner)}" for name, inner in value.items()]
        else:
            lines.append(f"{key}: {flow(value)}")
    return "\n".join(lines) + "\n"
