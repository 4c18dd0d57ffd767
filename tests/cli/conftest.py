"""Fixtures for tests of the command line."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from keygen.cli import app
from tests.conftest import SMALL_RULES

CHECKOUT = SMALL_RULES.parent.parent
SMALL = ("--rules", str(SMALL_RULES))
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(CHECKOUT)}
PROGRAM = (sys.executable, "-m", "keygen")
RECORD = """\
keygen_record: 1
specimen: T-1
region: hills
observed: {haft_style: stemmed, stem_shape: contracting, base_shape: straight}
measurements: {length: 48.2}
context: {site: S1, location: 17S 0123456}
"""
Run = Callable[..., Any]


@pytest.fixture
def run() -> Run:
    """Return a function that runs keygen in this process with the small rules."""

    def invoke(*arguments: object, typed: str | None = None) -> Any:
        words = [*map(str, arguments), *SMALL]
        return CliRunner().invoke(app, words, input=typed, prog_name="keygen")

    return invoke


@pytest.fixture
def record_file(tmp_path: Path) -> Path:
    """Return a record of a piece that is an Alder Stemmed in the hills."""
    path = tmp_path / "T-1.yaml"
    path.write_text(RECORD, encoding="utf-8")
    return path
