"""Rows as specimen records, one file a row, with names that every system takes."""

from __future__ import annotations

import os
import re
import shutil
import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from keygen.collection.model import Outcome, Plan
from keygen.collection.recordrows import NO_REASON
from keygen.collection.result import told
from keygen.errors import KeygenError
from keygen.specimens.files import partial_name, sync_folder
from keygen.specimens.history import key_call
from keygen.specimens.record import Specimen, to_text

LONGEST = 80  # characters of a name; a system takes 255 bytes
_UNSAFE = re.compile(r"[^\w.-]+")
_RESERVED = re.compile(r"(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³])(?=\.|$)", re.I)


def file_stem(label: str, row: int) -> str:
    """Return a specimen's number as the name of a file, or the number of its row if it has none.

    Letters, digits, `_`, `.` and `-` stay. Names that mean a device on some system get a `-`.
    """
    name = _UNSAFE.sub("-", unicodedata.normalize("NFC", label))[:LONGEST].strip(".-")
    name = _RESERVED.sub(r"\1-", name, count=1) if _RESERVED.match(name) else name
    return name or f"row-{row}"


def as_record(plan: Plan, outcome: Outcome) -> tuple[str, str]:
    """Return the stem of a row's file, and the row as the text of a specimen record.

    What is wrong with the row stands in comments above it.
    """
    entry, rules = outcome.entry, plan.rules
    cells = zip(plan.columns, entry.row.cells, strict=True)
    places = [f"{c.name}: {cell.strip()}" for c, cell in cells if c.kind == "location" and cell]
    piece, own = entry.piece, entry.piece.analyst
    if own and not own.reason:
        piece = replace(piece, analyst=replace(own, reason=NO_REASON))
    specimen = Specimen(
        piece,
        entry.region,
        rules.edition,
        rules.digest,
        location="; ".join(places),
        key_call=key_call(rules, outcome.examination) if outcome.examination else None,
    )
    remarks = [f"# row {f.row}: {' '.join(told(f).split())}\n" for f in entry.faults]
    stem = file_stem(piece.label, entry.row.number)
    return stem, "".join(remarks) + to_text(rules, specimen)


class Records:
    """A folder of records that is being filled; every name in it is given once."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.count = 0
        self._taken: set[str] = set()

    def add(self, records: Iterable[tuple[str, str]]) -> None:
        """Write records; one whose name is taken gets a number behind it."""
        for stem, text in records:
            name, number = stem, 1
            while name.casefold() in self._taken:
                number += 1
                name = f"{stem}-{number}"
            self._taken.add(name.casefold())
            file = self.folder / f"{name}.yaml"
            file.write_bytes(text.encode("utf-8", "backslashreplace"))
            self.count += 1


@contextmanager
def filled(folder: Path, force: bool) -> Iterator[Records]:
    """Give a folder to be filled; the records get their places at the end, or none does.

    Args:
        folder: where they go; it need not be there.
        force: whether records of these names in a folder that is not empty may be replaced.

    Raises:
        KeygenError: it is no folder, or holds something and `force` is not given.
        OSError: it cannot be written.
    """
    check_folder(folder, force)
    place = Path(os.path.realpath(folder))
    partial = place.with_name(partial_name(place.name, os.getpid()))
    shutil.rmtree(partial, ignore_errors=True)  # left by a run that was killed
    partial.mkdir()
    try:
        yield Records(partial)
        place.mkdir(exist_ok=True)
        for file in sorted(partial.iterdir()):
            file.replace(place / file.name)
    finally:
        shutil.rmtree(partial, ignore_errors=True)
    sync_folder(place)


def check_folder(folder: Path, force: bool) -> None:
    """Refuse a folder that records cannot go to.

    Raises:
        KeygenError: saying why.
    """
    if folder.exists() and not folder.is_dir():
        raise KeygenError(f"{folder} is not a folder; --records needs one")
    if not folder.parent.is_dir():
        raise KeygenError(f"there is no folder {folder.parent}")
    if not force and folder.is_dir() and any(folder.iterdir()):
        raise KeygenError(f"{folder} is not empty; give another folder, or --force")
