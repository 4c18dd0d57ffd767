"""Fixtures for tests of the demo: its records, examined with the rules that ship."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from keygen.cli.demo import examined, records
from keygen.core.examine import Examination
from keygen.core.model import Rules


@pytest.fixture(scope="session")
def survey(rules: Rules) -> Mapping[str, Examination]:
    """Return every specimen of the invented survey, by its number."""
    return {e.piece.label: e for e in examined(rules, records())}
