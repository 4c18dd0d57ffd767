"""Strict YAML: positions kept, nothing guessed.

Only true and false are booleans, numbers are decimal, dates stay text; duplicate keys, anchors,
tags and several documents in one file are refused. YAML's looser readings (`no` as false, `1:30`
as 90) would silently change what an analyst wrote.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from keygen.errors import KeygenError, Problem

if TYPE_CHECKING:
    import yaml

Path = tuple[str | int, ...]
_INT = re.compile(r"-?(0|[1-9]\d*)")
_FLOAT = re.compile(r"-?(0|[1-9]\d*)\.\d+")
_WORDS = {"true": True, "false": False, "null": None, "": None, "~": None}
_TAGS = {"str", "int", "float", "bool", "null", "timestamp", "merge", "value"}
MAX_DEPTH = 40
MOST_SIGNS = 1 << 20  # of a file
MOST_ENTRIES = 5_000  # of one list or mapping; more would only make as many messages
# Control characters, and marks that turn the direction of writing: they would hide what is written.
_HIDDEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]")


@dataclass(frozen=True)
class Document:
    """A parsed file: its data, and the line and column of every value and key by path.

    `files` names the other file of entries that came out of one, by path.
    """

    name: str
    data: Any
    marks: dict[Path, tuple[int, int]] = field(default_factory=dict)
    files: dict[Path, str] = field(default_factory=dict)

    def place(self, path: Path) -> tuple[int, int]:
        """Return line and column of a value, or of what is around it; (0, 0) if unknown."""
        while path not in self.marks:
            if not path:
                return (0, 0)
            path = path[:-1]
        return self.marks[path]

    def file_of(self, path: Path) -> str:
        """Return the name of the file that a value stands in."""
        ends = range(len(path), 0, -1) if self.files else ()
        return next((self.files[path[:n]] for n in ends if path[:n] in self.files), self.name)

    def problem(self, path: Path, code: str, what: str, remedy: str = "") -> Problem:
        """Return a problem placed at a value of this file."""
        return Problem(self.file_of(path), *self.place(path), code, what, remedy)


def parse(text: str, name: str, as_text: bool = False) -> Document:
    """Parse one YAML document.

    Args:
        text: the whole file.
        name: how messages call the file.
        as_text: keep every value as the text that was written (`34.20` and `true` too); only an
            empty value is None.

    Raises:
        KeygenError: the text is not YAML, or uses what is refused here; with line and column.
    """
    if len(text) > MOST_SIGNS:
        what = f"longer than {MOST_SIGNS:,} characters, which no file of this kind is"
        raise KeygenError(Problem(name, 0, 0, "K001", what))
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    marks: dict[Path, tuple[int, int]] = {}
    try:
        if "&" in text or "*" in text:  # a second pass, only where there can be any
            for event in yaml.parse(text, Loader=loader):
                if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
                    raise _refused(name, event, "anchors and aliases are not used here")
        node = yaml.compose(text, Loader=loader)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
        what = f"not readable as YAML: {error.problem or error.context}"
        if "cannot start any token" in what and _tab_at(text, line, column):
            what, remedy = "a tab is used to indent here", "YAML is indented with spaces, not tabs."
            raise KeygenError(Problem(name, line, column, "K001", what, remedy)) from None
        raise KeygenError(
            Problem(name, line, column, "K001", what, "Quote text that holds ':' or '#'.")
        ) from None
    except yaml.reader.ReaderError as error:
        line, column = _line_of(text, error.position)
        what = f"not readable as YAML: the character U+{error.character:04X} is not allowed"
        raise KeygenError(Problem(name, line, column, "K001", what)) from None
    except UnicodeEncodeError as error:
        line, column = _line_of(text, error.start)
        what = "not text: half of a character is here"
        raise KeygenError(Problem(name, line, column, "K001", what)) from None
    except RecursionError:
        raise KeygenError(Problem(name, 0, 0, "K001", "nested too deeply")) from None
    data = None if node is None else _build(node, (), name, marks, 0, as_text)
    return Document(name, data, marks)


def _tab_at(text: str, line: int, column: int) -> bool:
    """Tell whether a place of a text, or the indent before it, holds a tab."""
    lines = text.splitlines()
    found = lines[line - 1] if 0 < line <= len(lines) else ""
    return "\t" in found[:column] and not found[: column - 1].strip()


def _line_of(text: str, position: int) -> tuple[int, int]:
    before = text[:position]
    return before.count("\n") + 1, position - (before.rfind("\n") + 1) + 1


def _refused(name: str, at: Any, what: str) -> KeygenError:
    mark = at.start_mark
    return KeygenError(Problem(name, mark.line + 1, mark.column + 1, "K001", f"{what}."))


def _build(
    node: yaml.Node,
    path: Path,
    name: str,
    marks: dict[Path, tuple[int, int]],
    depth: int,
    as_text: bool,
) -> Any:
    import yaml

    if depth > MAX_DEPTH:
        raise _refused(name, node, "nested too deeply")
    marks[path] = (node.start_mark.line + 1, node.start_mark.column + 1)
    if not isinstance(node, yaml.ScalarNode) and len(node.value) > MOST_ENTRIES:
        raise _refused(name, node, f"more than {MOST_ENTRIES:,} entries are here")
    if isinstance(node, yaml.SequenceNode):
        return [
            _build(n, (*path, i), name, marks, depth + 1, as_text) for i, n in enumerate(node.value)
        ]
    if isinstance(node, yaml.MappingNode):
        built: dict[str, Any] = {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                raise _refused(name, key_node, "a key has to be a plain word")
            key = _visible(key_node, name)
            if key in built:
                raise _refused(name, key_node, f"the key {key!r} is written twice")
            built[key] = _build(value_node, (*path, key), name, marks, depth + 1, as_text)
            if not isinstance(value_node, yaml.ScalarNode):
                mark = key_node.start_mark
                marks[(*path, key)] = (mark.line + 1, mark.column + 1)
        return built
    if node.tag.removeprefix("tag:yaml.org,2002:") not in _TAGS:
        raise _refused(name, node, f"the tag {node.tag} is not used here")
    _visible(node, name)
    return _written(node) if as_text else _scalar(node)


def _visible(node: Any, name: str) -> str:
    """Return the text of a scalar, refusing characters that nobody can see."""
    text = str(node.value)
    hidden = _HIDDEN.search(text)
    if hidden:
        raise _refused(name, node, f"the hidden character U+{ord(hidden[0]):04X} is not used here")
    return text


def _written(node: Any) -> str | None:
    return None if not node.style and node.value in ("", "~") else str(node.value)


def _scalar(node: Any) -> str | int | float | bool | None:
    text = str(node.value)
    if node.style:  # quoted or block text is text
        return text
    if text in _WORDS:
        return _WORDS[text]
    if _INT.fullmatch(text) and len(text) < 16:
        return int(text)
    return float(text) if _FLOAT.fullmatch(text) else text
