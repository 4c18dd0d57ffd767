"""Problems and errors: the bottom layer, imported by everything and importing nothing.

A `Problem` is one fault with its place and its remedy. A `KeygenError` carries one or more of
them to the command line, which prints them and exits with code 2; nothing else in the package
prints.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple


class Problem(NamedTuple):
    """One fault: where it is, a stable code, what is wrong and what to do about it.

    `line` and `column` count from 1; 0 means that the place inside the file is not known.
    """

    file: str
    line: int
    column: int
    code: str
    what: str
    remedy: str = ""

    @property
    def where(self) -> str:
        """Return `file:line:column`, leaving out what is not known."""
        place = self.file
        if self.line:
            place += f":{self.line}"
            if self.column:
                place += f":{self.column}"
        return place

    def __str__(self) -> str:
        head = f"{self.where}: " if self.file else ""
        code = f"{self.code}: " if self.code else ""
        return f"{head}{code}{sentences(self.what, self.remedy)}"

    def to_dict(self) -> dict[str, object]:
        """Return the fault as plain data for `--format json`."""
        return self._asdict()


def sentences(what: str, remedy: str) -> str:
    """Return what is wrong and what to do about it, as one sentence after the other."""
    if not remedy:
        return what
    end = "" if what.endswith(("?", "!")) else "."
    return f"{what.rstrip('.')}{end} {remedy}"


class KeygenError(Exception):
    """Input that cannot be used. Carries every fault that was found, not only the first."""

    def __init__(self, problems: Problem | Iterable[Problem] | str) -> None:
        if isinstance(problems, str):
            problems = Problem("", 0, 0, "", problems)
        if isinstance(problems, Problem):
            problems = [problems]
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def nearest(word: str, allowed: Iterable[str]) -> str:
    """Return a sentence naming the allowed word most like `word`, or listing the allowed words."""
    import difflib  # slow to load, and wanted only where something is wrong

    words = sorted(set(allowed))
    close = difflib.get_close_matches(word.lower(), words, n=1, cutoff=0.6)
    if close:
        return f"Did you mean {close[0]!r}?"
    if len(words) <= 12:
        return "Allowed: " + ", ".join(words) + "."
    return ""
