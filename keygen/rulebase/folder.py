"""The files of a rules folder, and the digest that names their exact bytes."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import TYPE_CHECKING

from keygen import data
from keygen.rulebase.bounded import bytes_of

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

CURVES = "curve/"  # the folder of calibration curves, the only rule files that are tables
DEEPEST = 2  # folders within one another that are looked into; rules need one
PACKS = "packs"  # beside the main rules: other sets of rules, each a whole folder of its own


def read_folder(folder: Traversable) -> dict[str, bytes]:
    """Return the bytes of every rule file by its name inside the folder, in a fixed order.

    Rules without a calibration curve of their own are read with the curve of the main rules. The
    files of an addition come with those of the rules that it is laid over.

    Raises:
        KeygenError: it is an addition to a pack that does not ship.
    """
    found = _files_in(folder)
    if "edition.yaml" not in found:
        from keygen.rulebase import additions  # which loads all that reads YAML

        if additions.is_addition(found):
            return _laid_over(found, str(folder))
    if "periods.yaml" in found and not any(name.startswith(CURVES) for name in found):
        main = data.root("rules") / CURVES.rstrip("/")
        found |= {
            CURVES + f.name: f.read_bytes() for f in main.iterdir() if f.name.endswith(".csv")
        }
    return dict(sorted(found.items()))


def _laid_over(found: Mapping[str, bytes], folder: str) -> dict[str, bytes]:
    """Return the files of an addition with those of the rules that it is laid over."""
    from keygen.rulebase import additions

    pack = additions.beneath(found, folder)
    whole = read_folder(data.packs()[pack] if pack else data.root("rules"))
    return whole | {additions.OWN + name: found[name] for name in sorted(found)}


def _files_in(folder: Traversable) -> dict[str, bytes]:
    found: dict[str, bytes] = {}

    def enter(place: Traversable, prefix: str) -> None:
        for item in place.iterdir():
            if item.name.startswith(("_", ".")) or prefix + item.name == PACKS:
                continue
            name = prefix + item.name
            if item.is_dir():
                if name.count("/") < DEEPEST:  # a slip like `--rules /` is not followed everywhere
                    enter(item, f"{name}/")
            elif _is_rules(name) and item.is_file():  # and not a pipe, which might never end
                found[name] = bytes_of(item, f"{folder}/{name}")

    enter(folder, "")
    return found


def _is_rules(name: str) -> bool:
    return name.endswith(".yaml") or (name.startswith(CURVES) and name.endswith(".csv"))


def digest(files: Mapping[str, bytes]) -> str:
    """Return a short name of the exact rules: 12 hex digits of SHA-256 over names and bytes."""
    total = hashlib.sha256()
    for name, content in files.items():
        total.update(f"{name}\0{len(content)}\0".encode())
        total.update(content)
    return total.hexdigest()[:12]
