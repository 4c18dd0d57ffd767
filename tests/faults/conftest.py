"""Fixtures of the command line, for faults that show there."""

from tests.cli.conftest import run as run
