"""Pictures in a walk: whether this terminal can show them, and when they are drawn."""

from __future__ import annotations

import os
import select
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import TYPE_CHECKING, TextIO

from keygen.cli.guard import talk

if TYPE_CHECKING:
    from keygen.core.model import Couplet, Rules

LEAST_LINES = 18  # of a terminal: below that a picture pushes the question out of sight
UNABLE = ("", "dumb", "linux", "unknown")  # terminals without the signs, by TERM
SIGN = "\u28ff"
# What drawing needs, loaded one after the other while nothing is typed.
_LOADED_AHEAD = ("plan", "sketch", "lines", "marks", "leads", "terminal")


def wanted(asked: bool | None) -> bool:
    """Tell whether a walk shows pictures.

    Args:
        asked: what was asked for; None for pictures wherever somebody sits at a terminal that can
            show them.
    """
    if asked is False:
        return False
    able = has_signs(sys.stderr)
    if asked:
        if not able:
            talk(f"No pictures: {sys.stderr.encoding} lacks the characters for them.")
        return able
    return able and _at_terminal()


def has_signs(stream: TextIO) -> bool:
    """Tell whether a stream can print the characters of which pictures are made."""
    try:
        SIGN.encode(stream.encoding or "ascii")
    except (UnicodeEncodeError, LookupError, AttributeError):
        return False
    return True


def _at_terminal() -> bool:
    """Tell whether somebody sits at a terminal that has the signs; only Windows names none."""
    named = os.name == "nt" or os.environ.get("TERM", "") not in UNABLE
    return named and bool(sys.stdin) and sys.stdin.isatty() and sys.stderr.isatty()


class Sights:
    """The pictures of a walk, each drawn once and before it is asked for.

    What drawing needs is loaded, and couplets still to come are drawn, while the walk waits for a
    line; so no answer waits for a picture.
    """

    def __init__(self, rules: Rules) -> None:
        self._rules = rules
        self._drawn: dict[str, str] = {}
        self._last = ""
        self._to_load = list(_LOADED_AHEAD)
        self._in_order = sorted(rules.couplets, key=rules.order.__getitem__)

    def above(self, couplet: Couplet | None) -> str:
        """Return what to show above a couplet; empty if there is no picture or no room for it.

        A couplet that is put again, after help or a slip, comes without.
        """
        if couplet is None or couplet.id == self._last:
            return ""
        self._last = couplet.id
        return self._fitting(self._of(couplet))

    def draw_ahead(self, couplet: Couplet | None) -> None:
        """Go on drawing until something is typed; what can come after a couplet goes first."""
        after = [lead.go for lead in couplet.leads if lead.go] if couplet else []
        while _nothing_typed() and self._go_on(after):
            pass

    def _go_on(self, after: Sequence[str]) -> bool:
        """Load or draw one thing more; tell whether there was any."""
        if self._to_load:
            import_module(f"keygen.pictures.{self._to_load.pop(0)}")
            return True
        name = next((n for n in (*after, *self._in_order) if n not in self._drawn), "")
        if name:
            self._of(self._rules.couplets[name])
        return bool(name)

    def _of(self, couplet: Couplet) -> str:
        if couplet.id not in self._drawn:
            from keygen.pictures.terminal import pair

            self._drawn[couplet.id] = pair(self._rules, couplet)
        return self._drawn[couplet.id]

    def _fitting(self, picture: str) -> str:
        try:
            size = os.get_terminal_size(sys.stderr.fileno())
        except (OSError, ValueError):
            return picture
        fits = size.lines >= LEAST_LINES and size.columns >= max(
            map(len, picture.splitlines()), default=0
        )
        return picture if fits else ""


def _nothing_typed() -> bool:
    """Tell whether no line is waiting; where that cannot be known, behave as if one were."""
    try:
        return not select.select([sys.stdin], [], [], 0)[0]
    except (OSError, ValueError, TypeError):
        return False
