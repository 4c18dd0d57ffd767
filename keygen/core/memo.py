"""Answers kept by question, without growing for ever."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from operator import itemgetter
from typing import TypeVar

from keygen.core.states import Box

K = TypeVar("K")
V = TypeVar("V")
MOST = 1 << 13  # answers kept
RECENT = 1 << 9  # and about whole pieces, which seldom come again


class Memo(dict[K, V]):
    """A dictionary that works out what it lacks; when it is full it starts anew.

    Args:
        work: the answer to a question.
        most: how many answers are kept.
    """

    def __init__(self, work: Callable[[K], V], most: int = MOST) -> None:
        super().__init__()
        self._work, self._most = work, most

    def __missing__(self, key: K) -> V:
        if len(self) >= self._most:
            self.clear()
        value = self[key] = self._work(key)
        return value


def taking(about: Sequence[int]) -> Callable[[Box], tuple[int, ...]]:
    """Return a function that takes the states of some attributes out of all that are known."""
    if len(about) > 1:
        return itemgetter(*about)
    return itemgetter(slice(about[0], about[0] + 1) if about else slice(0))
