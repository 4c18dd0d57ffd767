"""Results that are worked out only if somebody reads them.

Whoever calls a hundred thousand pieces for a table of types reads no near misses; whoever writes
one paragraph reads them all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar, overload

T = TypeVar("T")


class Later(Sequence[T]):
    """A sequence that is worked out when it is first read, and equal to the tuple that it holds."""

    __slots__ = ("_found", "_work")

    def __init__(self, work: Callable[[], tuple[T, ...]]) -> None:
        self._work: Callable[[], tuple[T, ...]] | None = work
        self._found: tuple[T, ...] = ()

    def _read(self) -> tuple[T, ...]:
        if self._work is not None:
            self._found, self._work = self._work(), None
        return self._found

    @overload
    def __getitem__(self, index: int) -> T: ...

    @overload
    def __getitem__(self, index: slice) -> tuple[T, ...]: ...

    def __getitem__(self, index: int | slice) -> T | tuple[T, ...]:
        return self._read()[index]

    def __len__(self) -> int:
        return len(self._read())

    def __iter__(self) -> Iterator[T]:
        return iter(self._read())

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Later):
            return self._read() == other._read()
        return self._read() == other

    def __hash__(self) -> int:
        return hash(self._read())

    def __repr__(self) -> str:
        return repr(self._read())

    def __reduce__(self) -> tuple[type[tuple[T, ...]], tuple[tuple[T, ...]]]:
        return tuple, (self._read(),)
