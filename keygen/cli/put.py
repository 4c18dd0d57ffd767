"""Where a result goes: to the screen, or to a file, whole or not at all."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

import typer

from keygen.cli.guard import talk
from keygen.errors import KeygenError, Problem

_KEPT = {b"keygen_record:": "a specimen record", b'{"keygen_walk"': "the journal of a walk"}
_BEGINNING = 4096  # bytes


def put(text: str, out: Path | None, inputs: Sequence[str] = ()) -> None:
    """Print a result, or write it to a file and say so; what can be made again is replaced.

    Args:
        text: the result.
        out: the file, or None for standard output.
        inputs: the records that the result was made from; none of them is replaced.

    Raises:
        KeygenError: the file is one of the inputs, or somebody's own work.
        OSError: it cannot be written.
    """
    if out is None:
        typer.echo(text, nl=False)
        return
    from keygen.specimens.files import write_whole

    say_left_over([out])
    there = out.exists()
    if is_one_of(out, inputs):
        what = f"{out} is one of the records to describe"
        raise KeygenError(Problem("", 0, 0, "", what, "Give --out another name."))
    if there and (kept := _kept(out)):
        what = f"{out} is {kept} and is left as it is"
        raise KeygenError(Problem("", 0, 0, "", what, "Give --out another name."))
    write_whole(out, text, replace=True)
    talk(f"{out} {'replaced' if there else 'written'}")


def is_one_of(file: Path, inputs: Iterable[str | Path]) -> bool:
    """Tell whether a file is one of those that are read, whatever name it goes by."""
    return file.exists() and any(Path(name).exists() and file.samefile(name) for name in inputs)


def say_left_over(targets: Sequence[Path]) -> None:
    """Name the half files that killed runs left beside what is about to be written."""
    from keygen.specimens.files import left_over

    for file in left_over(targets):
        talk(f"{file} was left by a run that was cut off; delete it if no other run is under way")


def _kept(file: Path) -> str:
    """Return what a file is if it holds what nobody can make again, else nothing."""
    if not file.is_file():
        return ""
    with file.open("rb") as opened:
        lines = opened.read(_BEGINNING).removeprefix(b"\xef\xbb\xbf").splitlines()
    return next((kind for mark, kind in _KEPT.items() for x in lines if x.startswith(mark)), "")
