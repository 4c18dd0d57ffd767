"""Reading a mapping strictly: every key is asked for by name, and what is left over is a problem.

Problems are collected rather than raised, so that one run shows them all.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from keygen.errors import KeygenError, Problem, nearest
from keygen.rulebase.yamlio import Document, Path


class Fields:
    """One mapping in a file. Ask for its keys, then call `done` to refuse the others."""

    def __init__(self, document: Document, problems: list[Problem], path: Path = ()) -> None:
        self.document = document
        self.problems = problems
        self.path = path
        self._asked: list[str] = []
        value: Any = document.data
        for step in path:
            value = value[step]
        if not isinstance(value, dict):
            self.fault("K004", "a mapping of keys and values is expected here", ())
            value = {}
        self.values: dict[str, Any] = value

    def fault(self, code: str, what: str, at: Path | str = (), remedy: str = "") -> None:
        """Note a problem at a key of this mapping (or at the mapping itself)."""
        tail: Path = (at,) if isinstance(at, str) else at
        self.problems.append(self.document.problem((*self.path, *tail), code, what, remedy))

    def refused(self, error: KeygenError, key: str) -> None:
        """Note at a key every problem for which its value was refused."""
        for problem in error.problems:
            self.fault(problem.code, problem.what, key, problem.remedy)

    def _get(self, key: str, kind: type | tuple[type, ...], name: str, default: Any) -> Any:
        self._asked.append(key)
        value = self.values.get(key)
        if value is None:
            if default is ...:
                self.fault("K003", f"the key {key!r} is missing", (), f"Give {name}.")
                default = None
            return default
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            self.fault("K004", f"{key!r} has to be {name}, not {value!r}", key)
            return None if default is ... else default
        return value

    def text(self, key: str, default: str | None = None) -> str:
        """Return text; required, and not empty, unless a default is given."""
        found = self._get(key, str, "text", ... if default is None else default)
        if default is None and isinstance(found, str) and not found.strip():
            self.fault("K004", f"{key!r} is empty", key, "Give text.")
        return " ".join(str(found or "").split())

    def number(self, key: str, default: float | None = None) -> float:
        """Return a number; required unless a default is given."""
        found = self._get(key, (int, float), "a number", ... if default is None else default)
        return float(found or 0)

    def integer(self, key: str) -> int:
        """Return a required whole number."""
        return int(self._get(key, int, "a whole number", ...) or 0)

    def flag(self, key: str, default: bool) -> bool:
        """Return true or false."""
        return bool(self._get(key, bool, "true or false", default))

    def texts(self, key: str, required: bool = False) -> tuple[str, ...]:
        """Return a list of texts, empty if absent; when required, it may not be empty."""
        found = self._get(key, list, "a list", ... if required else [])
        if found == [] and key in self.values:
            self.fault("K004", f"{key!r} is empty", key, "Leave it out, or fill it.")
        for i, item in enumerate(found or ()):
            if not isinstance(item, str):
                self.fault("K004", f"{item!r} has to be text", (key, i), "Quote it.")
        return tuple(" ".join(item.split()) for item in found or () if isinstance(item, str))

    def choice(self, key: str, allowed: Collection[str], default: str | None = None) -> str:
        """Return one of the allowed words; some of them where what is written is none."""
        word = self.text(key, default)
        if word in allowed or (not word and default is not None):
            return word or str(default)
        if word:
            self.fault("K005", f"{key!r} is {word!r}", key, nearest(word, allowed))
        return default or next(iter(allowed), "")

    def known(
        self, key: str, allowed: Collection[str], what: str, required: bool = False
    ) -> tuple[str, ...]:
        """Return a list of ids, noting those that are not among the allowed ones."""
        ids = self.texts(key, required)
        for i, word in enumerate(ids):
            if word not in allowed:
                self.fault(
                    "K005", f"{what} {word!r} is not known", (key, i), nearest(word, allowed)
                )
        return tuple(word for word in ids if word in allowed)

    def has(self, key: str) -> bool:
        """Tell whether a key is written."""
        return key in self.values

    def child(self, key: str) -> Fields:
        """Return the mapping under a key; an empty one if it is absent."""
        self._asked.append(key)
        if self.values.get(key) is None:
            file = self.document.file_of(self.path)
            empty = Document(file, {}, {(): self.document.place(self.path)})
            return Fields(empty, self.problems)
        return Fields(self.document, self.problems, (*self.path, key))

    def children(self, key: str) -> Iterator[tuple[str, Fields]]:
        """Yield the entries of a mapping of mappings, in the file's order."""
        group = self.child(key)
        for name in group.values:
            yield str(name), group.child(name)

    def items(self, key: str) -> Iterator[Fields]:
        """Yield the entries of a list of mappings."""
        for i in range(len(self._get(key, list, "a list", []) or ())):
            yield Fields(self.document, self.problems, (*self.path, key, i))

    def done(self) -> None:
        """Refuse the keys that nobody asked for."""
        for key in self.values:
            if key not in self._asked:
                remedy = nearest(key, self._asked) or "Allowed: " + ", ".join(self._asked) + "."
                self.fault("K002", f"the key {key!r} is not used here", key, remedy)
