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
        target: the file; through a link, the file that it stands for.
        text: its content, written in UTF-8.
        replace: whether a file of this name may be replaced.

    Raises:
        KeygenError: the file exists and may not be replaced, or is no file, or there is no folder.
        OSError: the folder cannot be written.
    """
    if target.is_dir():
        raise KeygenError(f"{target} is a folder; give the name of a file")
    if target.exists() and not target.is_file():  # renaming over a device would remove it
        raise KeygenError(f"{target} is not an ordinary file; give another name")
    target = Path(os.path.realpath(target))
    if not target.parent.is_dir():
        raise KeygenError(f"there is no folder {target.parent}")
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
