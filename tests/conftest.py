"""Fixtures shared by all tests."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

from keygen.core.model import Rules
from keygen.rulebase.load import load, shipped

# CI draws the same examples every time; elsewhere each run looks at new ones.
settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("ci")

SMALL_RULES = Path(__file__).parent / "small_rules"


@pytest.fixture(scope="session")
def rules() -> Rules:
    """Return the rules that ship with keygen."""
    return shipped()


@pytest.fixture(scope="session")
def small_rules() -> Rules:
    """Return a tiny rules folder, for tests that want to see everything at a glance."""
    return load(SMALL_RULES)
