"""Where the shipped rules and templates are, however keygen was installed."""

from __future__ import annotations

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Literal

from keygen.errors import KeygenError, Problem, nearest


def root(kind: Literal["rules", "templates"]) -> Traversable:
    """Return the folder of shipped rules or templates.

    Raises:
        FileNotFoundError: the package is incomplete.
    """
    packaged = files("keygen").joinpath(kind)
    if packaged.is_dir():  # an installed wheel, or a zip
        return packaged
    checkout = Path(__file__).resolve().parent.parent
    if (checkout / "pyproject.toml").is_file() and (checkout / kind).is_dir():
        return checkout / kind  # an editable install or a plain checkout
    raise FileNotFoundError(f"keygen: no {kind}/ folder inside the package or beside it")


def packs() -> dict[str, Traversable]:
    """Return the folders of the rule packs that ship beside the main rules, by name."""
    folder = root("rules") / "packs"
    found = folder.iterdir() if folder.is_dir() else ()
    return {pack.name: pack for pack in sorted(found, key=lambda p: p.name) if pack.is_dir()}


def rules(given: Path | None = None) -> Traversable:
    """Return a rules folder: the one at a path, a shipped pack by its name, or the main rules.

    Raises:
        KeygenError: there is no such folder and no such pack.
    """
    if given is None:
        return root("rules")
    if given.is_dir():
        return given
    shipped = packs()
    if str(given) in shipped:
        return shipped[str(given)]
    remedy = nearest(str(given), shipped) if shipped else ""
    raise KeygenError(Problem("", 0, 0, "K003", f"no rules folder at {given}", remedy))
