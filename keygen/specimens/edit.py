"""Changing one value in a YAML text and leaving every other character as it is.

A record can hold comments, an order and a way of writing that are somebody's own. So it is never
written anew: the value's own characters are replaced, or a line is added, and afterwards the text
has to read as before but for that value.
"""

from __future__ import annotations

import copy
import itertools
from typing import TYPE_CHECKING, Any

from keygen.errors import KeygenError, Problem
from keygen.rulebase.yamlio import parse
from keygen.specimens.emit import flow, scalar

if TYPE_CHECKING:
    import yaml


def put(text: str, path: tuple[str, ...], value: Any, name: str, before: str = "") -> str:
    """Return the text with a value set; entries on the way to it are added where they are missing.

    Args:
        text: YAML that is a mapping at the top.
        path: keys from the top.
        value: text, list or mapping of such.
        name: how messages call the text.
        before: a key that a new entry beside it goes in front of.

    Raises:
        KeygenError: the text is written in a way that cannot be changed in place.
    """
    nodes = _nodes(text)
    known = max(n for n in range(len(path) + 1) if path[:n] in nodes)
    for key in reversed(path[known + 1 :]):
        value = {key: value}
    path = path[: known + 1]
    if known == len(path):
        changed = _replace(text, nodes[path], value)
    elif _is_empty(nodes[path[:-1]]):
        changed = _replace(text, nodes[path[:-1]], {path[-1]: value})
    else:
        entry = f"{scalar(path[-1])}: {flow(value)}"
        changed = _insert(text, nodes[path[:-1]], entry, before)
    return _proved(text, changed, path, value, name)


def append(text: str, key: str, entry: Any, name: str) -> str:
    """Return the text with one more entry at the end of a list at the top.

    Raises:
        KeygenError: as `put`.
    """
    nodes = _nodes(text)
    found = nodes.get((key,))
    if found is None:
        inside = nodes[()].flow_style
        line = f"{key}: [{flow(entry)}]" if inside else f"{key}:\n  - {flow(entry)}"
        return _proved(text, _insert(text, nodes[()], line), (key,), [entry], name)
    if _is_empty(found):
        changed = _replace(text, found, [entry])
        return _proved(text, changed, (key,), [entry], name)
    line = flow(entry) if found.flow_style else f"- {flow(entry)}"
    whole = [*(parse(text, name, as_text=True).data[key]), entry]
    return _proved(text, _insert(text, found, line), (key,), whole, name)


def _nodes(text: str) -> dict[tuple[str, ...], Any]:
    """Return the node of every value by the keys that lead to it."""
    import yaml

    found: dict[tuple[str, ...], Any] = {}

    def enter(node: Any, path: tuple[str, ...]) -> None:
        found[path] = node
        if isinstance(node, yaml.MappingNode):
            for key, value in node.value:
                enter(value, (*path, str(key.value)))

    enter(yaml.compose(text, Loader=yaml.SafeLoader), ())
    return found


def _is_empty(node: Any) -> bool:
    return isinstance(node.value, str) and not node.style and node.value in ("", "~")


def _end(node: Any) -> int:
    """Return where a value ends, without the comments and empty lines after it."""
    if isinstance(node.value, str) or node.flow_style or not node.value:
        return int(node.end_mark.index)
    last = node.value[-1]
    return _end(last[1] if isinstance(last, tuple) else last)


def _replace(text: str, node: yaml.Node, value: Any) -> str:
    start, end = node.start_mark.index, _end(node)
    kept = text[start:end]
    tail = kept[len(kept.rstrip()) :]  # the line break that ends block text
    space = " " if text[start - 1 : start] == ":" else ""
    return f"{text[:start]}{space}{flow(value)}{tail}{text[end:]}"


def _insert(text: str, node: Any, entry: str, before: str = "") -> str:
    """Return the text with an entry in a list or mapping that is not empty: last, or in front."""
    if node.flow_style:
        end = _end(node)
        inner = text[: end - 1].rstrip()
        comma = "" if inner[-1] in "[{" else ", "
        return f"{inner}{comma}{entry}{text[end - 1 :]}"
    last = node.value[-1]
    if before:
        kept = itertools.takewhile(lambda pair: pair[0].value != before, node.value)
        last = (list(kept) or [last])[-1]
    end = _end(last[1] if isinstance(last, tuple) else last)
    line_end = "\r\n" if "\r\n" in text else "\n"
    if text[end - 1] != "\n":
        after = text.find("\n", end)
        if after < 0:
            text += line_end
        end = len(text) if after < 0 else after + 1
    indent = " " * node.start_mark.column
    lines = [f"{indent}{line}{line_end}" for line in entry.splitlines()]
    return f"{text[:end]}{''.join(lines)}{text[end:]}"


def _proved(text: str, changed: str, path: tuple[str, ...], value: Any, name: str) -> str:
    """Return the changed text if it reads as the old one but for one value.

    Raises:
        KeygenError: it does not.
    """
    expected = copy.deepcopy(parse(text, name, as_text=True).data)
    inner = expected
    for key in path[:-1]:
        if inner[key] is None:
            inner[key] = {}
        inner = inner[key]
    inner[path[-1]] = value
    try:
        found = parse(changed, name, as_text=True).data
    except KeygenError:
        found = None
    if found != expected:
        what = f"{'.'.join(path)} cannot be changed in place in the way this file is written"
        remedy = "Write each entry on a line of its own."
        raise KeygenError(Problem(name, 0, 0, "K340", what, remedy))
    return changed
