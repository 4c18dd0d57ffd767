"""Facts about `keygen key --as page`."""

from __future__ import annotations

import re
from pathlib import Path

from typer.testing import CliRunner

from keygen.cli import app


def test_page_offers_the_regions_that_are_named(tmp_path: Path) -> None:
    """Each region named is offered in the page, and the others are only told of."""
    out = tmp_path / "points.html"
    asked = ["--region", "ozarks", "--region", "florida", "--out", str(out)]
    result = CliRunner().invoke(app, ["key", "--as", "page", *asked])
    assert result.exit_code == 0
    text = out.read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>")
    offered = re.findall(r'"(\w+)":\{"label":[^{}]*"offered":true', text)
    assert sorted(offered) == ["florida", "ozarks"]
    assert text.count('"offered":false') > 5


def test_several_regions_are_for_the_page_only() -> None:
    """The printed key is for one region; several are refused with what they go with."""
    result = CliRunner().invoke(app, ["key", "--as", "text", "-r", "ozarks", "-r", "florida"])
    assert result.exit_code == 2
    assert "K704" in result.stderr
    assert "--as page" in result.stderr
