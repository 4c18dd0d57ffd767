"""What `docs/key.md` shows is what happens."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
import yaml
from typer.testing import CliRunner

from keygen.cli import app, sights
from keygen.core.model import Rules
from keygen.pictures.terminal import WIDTH, pair
from keygen.rulebase.drawn import FIGURES, FORMS
from keygen.specimens.screen import couplet_text

PAGE = (Path(__file__).parent.parent.parent / "docs" / "key.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"<!-- (run|fails) -->\n```sh\n(.*?)```(?:\n\n```text\n(.*?)```)?", re.DOTALL)
EXAMPLES = [
    (mark, line, shown) for mark, lines, shown in BLOCK.findall(PAGE) for line in lines.splitlines()
]


def test_every_command_of_the_page_is_an_example() -> None:
    """No block of commands stands on the page without being run here."""
    assert len(EXAMPLES) >= 10
    assert PAGE.count("```sh") == len(BLOCK.findall(PAGE))


@pytest.mark.parametrize(("mark", "line", "shown"), EXAMPLES, ids=[line for _, line, _ in EXAMPLES])
def test_an_example_works(
    mark: str, line: str, shown: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A command of the page does what the page shows, and writes the file that it names."""
    monkeypatch.chdir(tmp_path)
    program, *words = shlex.split(line)
    done = CliRunner().invoke(app, words, prog_name=program)
    assert program == "keygen"
    assert done.exit_code == (0 if mark == "run" else 2), done.stderr
    assert done.output.startswith(shown)
    if "--out" in words:
        written = tmp_path / words[words.index("--out") + 1]
        assert written.stat().st_size > 1000
    else:
        assert shown


def test_the_picture_of_the_page_is_real(rules: Rules) -> None:
    """The couplet shown on the page looks like that in a terminal, which needs so much room."""
    found = re.search(r"<!-- picture -->\n```text\n(.*?)```", PAGE, re.DOTALL)
    assert found
    couplet = rules.couplets["stem_parallel"]
    whole = f"{pair(rules, couplet)}\n{couplet_text(couplet)}\n"
    assert whole.startswith(found[1])
    assert f"{WIDTH} columns and {sights.LEAST_LINES} lines" in PAGE


def test_the_forms_of_the_page_can_be_drawn() -> None:
    """What the page says under `draw` names forms and figures that there are."""
    (block,) = re.findall(r"```yaml\n(.*?)```", PAGE, re.DOTALL)
    for state in yaml.safe_load(block).values():
        for name, word in state["draw"].items():
            assert name in FIGURES or word in FORMS[name]
    assert all(f"`{name}`" in PAGE for name in FIGURES)
