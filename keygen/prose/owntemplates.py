"""The user's own templates on disk: ordinary files within one folder, of a modest size."""

from __future__ import annotations

from collections.abc import Iterator
from importlib.resources.abc import Traversable
from pathlib import Path

from jinja2 import TemplateError

from keygen.errors import KeygenError, Problem
from keygen.rulebase.bounded import bytes_of, text_of

MOST_BYTES = 1 << 18
DEEPEST = 2  # folders within one another that are looked into; templates need one
# Folders that a house can word.
WORDED = ("account", "catalogue", "document", "note", "report", "types")


def template_names(folder: Traversable, before: str = "") -> Iterator[str]:
    """Yield the names of all files of a folder of templates, as in `report/age.j2`, in order."""
    for entry in sorted(folder.iterdir(), key=lambda e: e.name):
        if entry.is_dir() and before.count("/") == DEEPEST:
            continue  # a slip like `--templates /` is not followed everywhere
        if entry.is_dir():
            yield from template_names(entry, f"{before}{entry.name}/")
        else:
            yield f"{before}{entry.name}"


def own_file(folder: Path, name: str) -> Path | None:
    """Return the user's own template of a name, if there is one.

    Raises:
        TemplateError: the name or a link leads out of the folder.
    """
    parts = name.split("/")
    if any(part in ("", ".", "..") or "\\" in part or ":" in part for part in parts):
        raise TemplateError(f"{name!r} is no name of a template")
    file = folder.joinpath(*parts)
    if not file.is_file():
        return None
    if not file.resolve().is_relative_to(folder.resolve()):
        raise TemplateError(f"{file} leads out of the folder of templates")
    return file


def own_text(file: Path) -> str:
    """Return the text of a user's template.

    Raises:
        KeygenError: it is too long, or not UTF-8.
    """
    if file.stat().st_size > MOST_BYTES:
        what = f"longer than {MOST_BYTES // 1024} KB, which no template is"
        raise KeygenError(Problem(str(file), 0, 0, "K606", what))
    return text_of(bytes_of(file, str(file)), str(file))
