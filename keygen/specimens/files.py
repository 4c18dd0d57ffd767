"""Writing files whole or not at all, and never over another without being told to."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from keygen.errors import KeygenError


def sync_folder(folder: Path) -> None:
    """Bring the names in a folder to disk, where the system can."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:  # a system that opens no folders
        return
    try:
        os.fsync(handle)
    except OSError:
        return
    finally:
        os.close(handle)


def write_whole(target: Path, text: str, replace: bool = False) -> None:
    """Write a text file so that at every moment it is there complete or not at all.

    Args:
        target: the file; through a link, the file that it stands for.
        text: its content, written in UTF-8.
        replace: whether a file of this name may be replaced.

    Raises:
        KeygenError: the file exists and may not be replaced, or is no file, or there is no folder.
        OSError: the folder cannot be written.
    """
    with written_together([target], replace) as (partial,):
        partial.write_text(text, encoding="utf-8", newline="\n")


@contextmanager
def written_together(targets: Sequence[Path], replace: bool = False) -> Iterator[tuple[Path, ...]]:
    """Give a place beside each target to write to; at the end all get their names, or none does.

    Args:
        targets: the files; through a link, the files that they stand for.
        replace: whether files of these names may be replaced.

    Raises:
        KeygenError: as `write_whole`, and nothing is written then.
        OSError: a folder cannot be written.
    """
    places = [_place(target) for target in targets]
    partials = tuple(p.with_name(partial_name(p.name, os.getpid())) for p in places)
    if not replace:
        for target, place in zip(targets, places, strict=True):
            if place.exists():
                raise _taken(target)
    try:
        yield partials
        _named(partials, places, replace)
    except OSError as error:
        if error.filename is None and targets:  # a full disk does not say of which file it speaks
            error.filename = str(targets[0] if len(targets) == 1 else places[0].parent)
        raise
    finally:
        for partial in partials:
            partial.unlink(missing_ok=True)
    for folder in dict.fromkeys(place.parent for place in places):
        sync_folder(folder)


def left_over(targets: Sequence[Path]) -> tuple[Path, ...]:
    """Return what runs that were killed left beside their targets, or other runs are writing now.

    Args:
        targets: files and folders that are about to be written.
    """
    found = []
    for target in targets:
        place = Path(os.path.realpath(target))
        pattern = re.compile(rf"\.{re.escape(place.name)}\.[0-9]+\.part")
        with suppress(OSError):
            found += [file for file in place.parent.iterdir() if pattern.fullmatch(file.name)]
    return tuple(sorted(found))


def partial_name(name: str, process: int) -> str:
    """Return how a file is called until it is whole."""
    return f".{name}.{process}.part"


def _place(target: Path) -> Path:
    """Return the ordinary file that a name stands for, there or still to be made.

    Raises:
        KeygenError: it cannot be one.
    """
    if target.is_dir():
        raise KeygenError(f"{target} is a folder; give the name of a file")
    if target.exists() and not target.is_file():  # renaming over a device would remove it
        raise KeygenError(f"{target} is not an ordinary file; give another name")
    place = Path(os.path.realpath(target))
    if not place.parent.is_dir():
        raise KeygenError(f"there is no folder {place.parent}")
    return place


def _named(partials: Sequence[Path], places: Sequence[Path], replace: bool) -> None:
    """Bring finished files to disk and give them their names."""
    for partial in partials:
        _sync_file(partial)
    for partial, place in zip(partials, places, strict=True):
        if replace:
            partial.replace(place)
        else:
            _claim(partial, place)


def _sync_file(file: Path) -> None:
    with file.open("rb+") as handle:
        os.fsync(handle.fileno())


def _taken(target: Path) -> KeygenError:
    return KeygenError(f"{target} exists and is left as it is; give another name")


def _claim(partial: Path, target: Path) -> None:
    """Give a finished file its name, unless the name is taken."""
    try:
        os.link(partial, target)  # refuses a taken name in the same instant, unlike a rename
    except FileExistsError:
        raise _taken(target) from None
    except OSError:  # a disk without hard links
        if target.exists():
            raise _taken(target) from None
        partial.replace(target)
