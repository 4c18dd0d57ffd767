"""Facts about the public Python API."""

from __future__ import annotations

import doctest
import subprocess
import sys

import pytest

import keygen


def test_every_public_name_loads() -> None:
    """Each name in `__all__` is there."""
    assert all(getattr(keygen, name) is not None for name in keygen.__all__)


def test_example_in_the_docstring() -> None:
    """The example in the package's docstring gives what it shows."""
    result = doctest.testmod(keygen)
    assert result.attempted >= 6
    assert result.failed == 0


def test_unknown_name() -> None:
    """A name that is not there is an ordinary attribute error."""
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        getattr(keygen, "nothing")  # noqa: B009


def test_import_is_light() -> None:
    """Importing keygen loads none of the heavy packages."""
    code = "import sys, keygen; print({'yaml', 'jinja2', 'networkx', 'typer'} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"
