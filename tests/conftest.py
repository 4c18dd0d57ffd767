"""Fixtures shared by all tests."""

from __future__ import annotations

from pathlib import Path

import pytest

from keygen.core.model import Rules
from keygen.rulebase.load import load, shipped

SMALL_RULES = Path(__file__).parent / "small_rules"


@pytest.fixture(scope="session")
def rules() -> Rules:
    """Return the rules that ship with keygen."""
    return shipped()


@pytest.fixture(scope="session")
def small_rules() -> Rules:
    """Return a tiny rules folder, for tests that want to see everything at a glance."""
    return load(SMALL_RULES)
