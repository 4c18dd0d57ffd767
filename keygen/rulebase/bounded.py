"""Files read no further than one of their kind can go, be they a device or a slip."""

from __future__ import annotations

from pathlib import Path
from typing import IO, TYPE_CHECKING

from keygen.errors import KeygenError, Problem

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

MOST_BYTES = 4 << 20  # of a file that people write by hand: rules, records, mapping files


def bytes_of(file: Traversable | Path, name: str) -> bytes:
    """Return the content of a file; `name` is how messages call it.

    Raises:
        KeygenError: it is longer than any file of its kind.
        OSError: it cannot be read.
    """
    with file.open("rb") as opened:
        return bytes_from(opened, name)


def bytes_from(opened: IO[bytes], name: str) -> bytes:
    """Return what can still be read from an open file.

    Raises:
        KeygenError: it is longer than any file of its kind.
        OSError: it cannot be read.
    """
    content = opened.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        what = f"longer than {MOST_BYTES >> 20} MB, which no file of this kind is"
        raise KeygenError(Problem(name, 0, 0, "K001", what))
    return content


def text_of(content: bytes, name: str, encoding: str = "utf-8-sig") -> str:
    """Return content as text.

    Raises:
        KeygenError: it is not UTF-8.
    """
    try:
        return content.decode(encoding)
    except UnicodeDecodeError as error:
        what = f"not UTF-8 at byte {error.start}"
        raise KeygenError(Problem(name, 0, 0, "K001", what, "Save as UTF-8.")) from None
