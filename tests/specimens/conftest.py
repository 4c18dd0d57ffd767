"""Fixtures for tests of specimens."""

from __future__ import annotations

import pytest

from keygen.core.model import Rules
from keygen.specimens.session import Session, begin
from keygen.specimens.terms import Lexicon


@pytest.fixture(scope="session")
def lexicon(small_rules: Rules) -> Lexicon:
    """Return the words of the small rules."""
    return Lexicon(small_rules)


@pytest.fixture
def fresh(lexicon: Lexicon) -> Session:
    """Return a session before its first question."""
    return begin(lexicon, "hills", "T-1", "2026-05-02")
