"""Where the shipped rules and templates are, however keygen was installed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from keygen.errors import KeygenError, Problem, nearest

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable


MAIN = "main"


def root(kind: Literal["rules", "templates"]) -> Traversable:
    """Return the folder of shipped rules or templates.

    Raises:
        FileNotFoundError: the package is incomplete.
    """
    package = Path(__file__).resolve().parent
    if (package / kind).is_dir():  # an installed wheel
        return package / kind
    if (package.parent / "pyproject.toml").is_file() and (package.parent / kind).is_dir():
        return package.parent / kind  # an editable install or a plain checkout
    from importlib.resources import files  # slow to load

    packaged = files("keygen").joinpath(kind)
    if packaged.is_dir():  # a zip
        return packaged
    raise FileNotFoundError(f"keygen: no {kind}/ folder inside the package or beside it")


def packs() -> dict[str, Traversable]:
    """Return the folders of the rule packs that ship beside the main rules, by name."""
    folder = root("rules") / "packs"
    found = folder.iterdir() if folder.is_dir() else ()
    return {pack.name: pack for pack in sorted(found, key=lambda p: p.name) if pack.is_dir()}


def rules(given: Path | None = None) -> Traversable:
    """Return a rules folder: the one at a path, a shipped pack by its name, or the main rules.

    `main` is the name of the main rules, for where one has to be given.

    Raises:
        KeygenError: there is no such folder and no such pack.
    """
    if given is None:
        return root("rules")
    if given.is_dir():
        return given
    if str(given) == MAIN:
        return root("rules")
    shipped = packs()
    if str(given) in shipped:
        return shipped[str(given)]
    remedy = nearest(str(given), (MAIN, *shipped))
    raise KeygenError(Problem("", 0, 0, "K003", f"no rules folder at {given}", remedy))
