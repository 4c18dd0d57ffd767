"""From a rules folder to `Rules`, through the cache where the same bytes were compiled before."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from keygen import data
from keygen.core.model import Rules
from keygen.errors import KeygenError
from keygen.rulebase.cache import keep, kept
from keygen.rulebase.folder import digest, read_folder

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

    from keygen.errors import Problem


@cache
def shipped() -> Rules:
    """Return the rules that came with this installation."""
    return load(data.root("rules"))


def load(folder: Traversable | Path) -> Rules:
    """Load a rules folder, from the cache where the same bytes were compiled before.

    Raises:
        KeygenError: the rules are not usable; every problem of form that was found.
    """
    if not folder.is_dir():
        raise KeygenError(f"no rules folder at {folder}")
    files = read_folder(folder)
    name = digest(files)
    found = kept(name)
    if found is not None:
        return found
    from keygen.rulebase.build import build, compiled, parse_all

    problems: list[Problem] = []
    parsed = parse_all(files, problems, "rules" if folder == data.root("rules") else str(folder))
    rules = build(parsed, name, problems)
    if problems:
        raise KeygenError(problems)
    rules = compiled(rules)
    keep(rules)
    return rules
