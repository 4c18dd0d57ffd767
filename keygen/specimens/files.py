"""Writing files whole or not at all, and never over another without being told to."""

from __future__ import annotations

import os
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
        target: the file.
        text: its content, written in UTF-8.
        replace: whether a file of this name may be replaced.

    Raises:
        KeygenError: the file exists and may not be replaced.
        OSError: the folder cannot be written.
    """
    partial = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with partial.open("w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        if replace:
            partial.replace(target)
        else:
            _claim(partial, target)
    finally:
        partial.unlink(missing_ok=True)
    sync_folder(target.parent)


def _claim(partial: Path, target: Path) -> None:
    """Give a finished file its name, unless the name is taken."""
    try:
        os.link(partial, target)  # refuses a taken name in the same instant, unlike a rename
    except FileExistsError:
        what = f"{target} exists and is left as it is; give another name"
        raise KeygenError(what) from None
    except OSError:  # a disk without hard links
        if target.exists():
            what = f"{target} exists and is left as it is; give another name"
            raise KeygenError(what) from None
        partial.replace(target)
