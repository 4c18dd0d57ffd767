"""Where the shipped rules and templates are, however keygen was installed."""

from __future__ import annotations

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Literal


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
