"""The journal of a walk: one line of JSON an answer, on disk before the next question is put.

It lies beside the record as `NAME.walk` and goes when the record is written. Lines are only ever
added: `back` is a line of its own. A last line that was torn by a crash is dropped on resuming. The
kinds of line after the header:

    {"took": ["12a"]}  {"back": true}  {"detail": ["length", "34.2+"]}  {"enough": true}
    {"finish": true}   the call is settled; the rest of the key is asked in its order
    {"cut": 7}         the first seven answers were kept when the rules had changed; drop the others
    {"finished": true} nothing more to ask; the record is being written
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from contextlib import suppress
from io import FileIO
from pathlib import Path
from types import TracebackType
from typing import Any

from keygen.errors import KeygenError, Problem
from keygen.specimens.files import sync_folder

FORMAT = 1
_BEGIN = b'{"keygen_walk"'  # how even a torn header begins, unless all of it is lost
Entry = Mapping[str, Any]


def journal_file(record: Path) -> Path:
    """Return where the journal of a record lies.

    Raises:
        KeygenError: the record has no name.
    """
    if not record.name:
        raise KeygenError(f"{str(record)!r} is no name for a record; write it as in T-1.yaml")
    return record.with_suffix(".walk")


class Journal:
    """An open journal, locked against a second walk. Use it in a `with` block.

    Attributes:
        path: the file.
        header: what the walk is: region, specimen, edition and digest of the rules.
        entries: the lines after the header, those of this run included.
        resumed: whether there was a journal before this run.
    """

    def __init__(self, path: Path, header: Entry) -> None:
        """Open a journal, or begin one with a header.

        Raises:
            KeygenError: another walk has it open, or it is not a journal.
            OSError: the file cannot be opened.
        """
        self.path = path
        self._file = _open_locked(path)
        try:
            lines, whole = _lines(self._file.read(), str(path))
            self._file.truncate(whole)
            self._file.seek(whole)
            self.resumed = bool(lines)
            self.header: Entry = lines[0] if lines else {"keygen_walk": FORMAT, **header}
            self.entries: list[Entry] = list(lines[1:])
            if not lines:
                self._write(self.header)
                sync_folder(path.parent)
            elif self.header.get("keygen_walk") != FORMAT:
                what = f"not a journal of a walk, or not of format {FORMAT}"
                raise KeygenError(Problem(str(path), 1, 0, "K330", what))
        except BaseException:
            self._file.close()
            raise

    def __enter__(self) -> Journal:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._file.close()

    def _write(self, entry: Entry) -> None:
        """Bring one line to disk, all of it or nothing.

        Raises:
            KeygenError: there is no room, or the file is no longer there.
        """
        if not _same(self.path, self._file):
            what = "this file was removed or replaced while the walk was under way"
            raise KeygenError(Problem(str(self.path), 0, 0, "K331", what, "Put it back."))
        begun = self._file.tell()
        line = memoryview(json.dumps(entry, ensure_ascii=True).encode() + b"\n")
        try:
            while line:
                line = line[self._file.write(line) :]
            os.fsync(self._file.fileno())
        except OSError as error:
            with suppress(OSError):
                self._file.truncate(begun)
                self._file.seek(begun)
            what = f"the last answer cannot be kept: {(error.strerror or str(error)).lower()}"
            remedy = "Free some space; what was answered before is kept."
            raise KeygenError(Problem(str(self.path), 0, 0, "K331", what, remedy)) from None

    def add(self, entry: Entry) -> None:
        """Add one line, and return when it is on disk.

        Raises:
            KeygenError: it cannot be kept; the lines before it are.
        """
        self._write(entry)
        self.entries.append(entry)

    def remove(self) -> None:
        """Delete the journal: the record has taken its place."""
        self.path.unlink(missing_ok=True)
        sync_folder(self.path.parent)

    @property
    def answers(self) -> list[Entry]:
        """Return the lines that still count, in order."""
        kept: list[Entry] = []
        for entry in self.entries:
            if "cut" in entry:
                kept = kept[: int(entry["cut"])]
            else:
                kept.append(entry)
        return kept


def _lines(content: bytes, name: str) -> tuple[list[Entry], int]:
    """Return the whole lines, and how many bytes they take; a torn last line is left out."""
    entries: list[Entry] = []
    whole = 0
    pieces = content.split(b"\n")
    for number, piece in enumerate(pieces[:-1], 1):
        try:
            entry = json.loads(piece)
        except ValueError:
            entry = None
        if not isinstance(entry, dict):
            if number == len(pieces) - 1 and not pieces[-1]:
                break  # the last line: its bytes did not all reach the disk
            remedy = "Delete this line and those after it to go on from the one before."
            raise KeygenError(Problem(name, number, 0, "K330", "this line is damaged", remedy))
        entries.append(entry)
        whole += len(piece) + 1
    left = content.strip(b"\0")
    if not entries and not (left.startswith(_BEGIN) or _BEGIN.startswith(left)):
        raise KeygenError(Problem(name, 1, 0, "K330", "not a journal of a walk"))
    return entries, whole


def _open_locked(path: Path) -> FileIO:
    """Open for reading and writing, creating the file if need be, and lock it."""
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        file = os.fdopen(handle, "r+b", buffering=0)
        try:
            _lock(file, path)
            if _same(path, file):
                return file
        except BaseException:
            file.close()
            raise
        file.close()  # another walk finished and removed it between opening and locking


def _same(path: Path, file: FileIO) -> bool:
    """Tell whether a path still leads to an open file."""
    try:
        return os.path.samestat(path.stat(), os.fstat(file.fileno()))
    except FileNotFoundError:
        return False


def _lock(file: FileIO, path: Path) -> None:
    try:
        import fcntl
    except ImportError:  # a system without advisory locks
        return
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        raise KeygenError(f"another walk has {path} open; finish or pause that one") from None
