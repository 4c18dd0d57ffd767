"""Copies of the small rules with something changed, as a later edition would have it."""

from __future__ import annotations

import shutil
from pathlib import Path

from tests.conftest import SMALL_RULES


def changed_rules(target: Path, *changes: tuple[str, str, str]) -> Path:
    """Copy the small rules and replace text in them: file, find (just once in it), replace."""
    shutil.copytree(SMALL_RULES, target)
    for name, find, replace in changes:
        file = target / name
        text = file.read_text(encoding="utf-8")
        assert text.count(find) == 1, f"{find!r} no longer stands once in {name}"
        file.write_text(text.replace(find, replace), encoding="utf-8")
    return target
