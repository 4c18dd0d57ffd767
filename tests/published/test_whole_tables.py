"""Published tables through the whole command: what it may say of them, and what it may not.

Fort Hood: see `fort_hood.py`. Gary: R. Z. Selden Jr. 2019-2020, pilot study of Gary dart point
linear metrics (repository garymorph, MIT licence): 212 whole points of one type from three sites,
measured and not coded.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from keygen.cli import app
from keygen.core.model import Rules
from tests.published import fort_hood

HERE = Path(__file__).parent
SHARED = HERE.parents[2] / "shared" / "reference" / "gary_linear" / "data.csv"
# Six of the rows, so that something always runs.
GARY = """\
type,spec,maxl,maxw,maxth,maxstl,maxstw,Site
Gary,fs1363,117.24,34.4,15.5,24.74,28.55,Cooper
Gary,fs406,80.7,37.22,11.55,22.54,30.62,Cooper
Gary,fs1352,90.95,31.13,9.3,22.98,18.29,Cooper
Gary,fs120,39.22,18.81,6.97,16.98,15.23,Means
Gary,fs500,43.07,19.02,5.97,11.16,11.21,Means
Gary,fs204-1,44.57,19.57,7.91,11.34,11.3,Means
"""
Lines = list[dict[str, Any]]


def done(table: Path, mapping: str, folder: Path) -> tuple[Lines, dict[str, Any], str]:
    """Run the command; return its JSON Lines, its summary, and all that it wrote as text."""
    outs = [folder / name for name in ("out.jsonl", "out.csv", "out.md")]
    words = ["table", str(table), "--mapping", str(HERE / mapping), "--format", "json"]
    words += [word for out in outs for word in ("--out", str(out))]
    result = CliRunner().invoke(app, words, prog_name="keygen")
    assert result.exit_code == 0, result.stderr
    texts = [out.read_text(encoding="utf-8") for out in outs]
    lines = [json.loads(line) for line in texts[0].splitlines()]
    return lines, json.loads(result.stdout), "".join((*texts, result.stdout, result.stderr))


def written(folder: Path, text: str) -> Path:
    """Write a table to a folder."""
    table = folder / "table.csv"
    table.write_text(text, encoding="utf-8")
    return table


@pytest.mark.parametrize("shared", [False, True])
def test_fort_hood(rules: Rules, tmp_path: Path, shared: bool) -> None:
    """Through a mapping the table gives the calls that its codes give when they are read by hand.

    Every published type is among the candidates, and no survey square is written anywhere.
    """
    if shared and not fort_hood.SHARED.exists():
        pytest.skip("the shared table is not here")
    rows = fort_hood.shared_rows() if shared else fort_hood.typed_rows()
    table = fort_hood.SHARED if shared else written(tmp_path, fort_hood.TYPED)
    lines, summary, told = done(table, "fort_hood.yaml", tmp_path)
    by_hand = [found for _, found in fort_hood.examined(rules, rows)]
    assert [line["call"]["status"] for line in lines] == [
        found.call.status for found in by_hand if found.call
    ]
    assert [[c["type"] for c in line["candidates"]] for line in lines] == [
        [j.type for j in found.call.candidates] for found in by_hand if found.call
    ]
    assert [line["analyst"]["call"] for line in lines] == [row["Name"] for row in rows]
    assert summary["own_calls"]["differ"] == 0
    assert not any(row["Quad"] in told for row in rows if row.get("Quad"))


@pytest.mark.parametrize("shared", [False, True])
def test_gary_points_that_were_only_measured(rules: Rules, tmp_path: Path, shared: bool) -> None:
    """Measurements alone make no call and say nothing of form, and do not exclude the type.

    What is said is the portion, the size that follows from the length, and each figure as entered.
    """
    if shared and not SHARED.exists():
        pytest.skip("the shared table is not here")
    table = SHARED if shared else written(tmp_path, GARY)
    lines, summary, _ = done(table, "gary_linear.yaml", tmp_path)
    assert summary["rows"] == len(lines) == (212 if shared else 6)
    assert summary["statuses"] == {"untyped": len(lines)}
    assert summary["own_calls"]["still_possible"] == len(lines)
    form = {
        state.term
        for attribute in rules.attributes
        if attribute.part in ("haft", "base", "shoulder") and not attribute.item_of
        for state in attribute.states
        if state.id != "none"
    }
    for line in lines:
        assert line["call"] == {"status": "untyped", "types": [], "reason": "haft_unknown"}
        assert line["observed"].keys() <= {"portion", "size_class"}
        assert "gary" in [candidate["type"] for candidate in line["candidates"]]
        about_form, _ = line["text"].split("\n\n")
        assert not [word for word in form if f" {word} " in about_form]
        for column in ("maxl", "maxw", "maxth", "maxstl", "maxstw"):
            assert f"{line['columns'][column]} mm" in about_form
