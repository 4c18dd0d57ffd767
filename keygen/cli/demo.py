"""`keygen demo`: an invented survey, described, with a small report written of it."""

from __future__ import annotations

import shlex
import shutil
import sys
import textwrap
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keygen.cli.describe import as_json
from keygen.cli.guard import guarded, talk
from keygen.cli.options import Format, FormatOption
from keygen.errors import KeygenError, Problem

if TYPE_CHECKING:
    from keygen.collection.model import Outcome
    from keygen.core.examine import Examination
    from keygen.core.model import Rules

TITLE = "Points of the Vellamoor Survey"
REPORT, PAGE, TABLE = "report.md", "report.html", "finds.csv"
MARK = "<!-- keygen demo: all of it invented; the next run replaces this file. -->\n"
WIDTH = 88
OutOption = Annotated[
    Path, typer.Option("--out", help="Folder for the report and copies of the records.")
]
ForceOption = Annotated[
    bool, typer.Option("--force", help="Replace files that are not the demo's own.")
]


@guarded
def demo(
    out: OutOption = Path("keygen-demo"),
    force: ForceOption = False,
    output: FormatOption = Format.TEXT,
) -> None:
    """Describe an invented survey, and write a small report, its records and tables to a folder.

    Example: keygen demo --out try
    """
    from keygen import prose
    from keygen.cli.gather import rules_from
    from keygen.collection.as_html import html
    from keygen.collection.as_markdown import markdown
    from keygen.collection.house import House
    from keygen.collection.report import report
    from keygen.collection.told import general_cautions, tell
    from keygen.prose.render import render

    rules = rules_from(None)
    texts, tables = records(), _shipped(".csv")
    examinations = examined(rules, texts)
    house = House(rules)
    told = [tell(house, outcome) for outcome in outcomes(examinations)]
    preface = house.sentence("demo", count=len(told))
    document = report(house, told, TITLE, group_by="", preface=preface)
    written = {
        **texts,
        **tables,
        REPORT: f"{MARK}\n{markdown(document).decode()}",
        PAGE: MARK + html(document).decode(),
    }
    _write(out, written, force)
    if output is Format.JSON:
        typer.echo(as_json([prose.to_json(rules, e) for e in examinations]), nl=False)
    else:
        paragraphs = [text for each in told for text in each.paragraphs]
        typer.echo(_wrapped([TITLE, preface, *paragraphs, general_cautions(house, told)]))
    talk(f"\n{out / REPORT}, {out / PAGE}, {len(texts)} records and {len(tables)} tables written\n")
    paths = {"form": out / "VS-10.yaml", "differs": out / "VS-14.yaml", "table": out / TABLE}
    quoted = {name: shlex.quote(str(path)) for name, path in paths.items()}
    talk(render("document/next.j2", quoted).rstrip())


def records() -> dict[str, str]:
    """Return the records of the invented survey, by file name."""
    return _shipped(".yaml")


def _shipped(ending: str) -> dict[str, str]:
    """Return the survey's files with an ending, by name."""
    from importlib.resources import files

    found = [f for f in files("keygen").joinpath("demo").iterdir() if f.name.endswith(ending)]
    return {f.name: f.read_text(encoding="utf-8") for f in sorted(found, key=lambda f: f.name)}


def examined(rules: Rules, texts: Mapping[str, str]) -> tuple[Examination, ...]:
    """Examine records, each in the region that it names."""
    from keygen.specimens import record
    from keygen.specimens.terms import Lexicon

    lexicon = Lexicon(rules)
    read = {name: record.read_text(lexicon, text, name) for name, text in texts.items()}
    return tuple(record.examined(rules, s.piece, s.region, name) for name, s in read.items())


def outcomes(examinations: Iterable[Examination]) -> list[Outcome]:
    """Return examinations as rows of a table, which the report is made of."""
    from keygen.collection.model import Entry, Outcome, Row

    return [
        Outcome(Entry(Row(number, ()), found.piece, found.region), found)
        for number, found in enumerate(examinations, 1)
    ]


def _wrapped(texts: Iterable[str]) -> str:
    """Return paragraphs as they are printed."""
    columns = shutil.get_terminal_size((WIDTH, 24)).columns if sys.stdout.isatty() else WIDTH
    wrapper = textwrap.TextWrapper(
        min(columns, WIDTH), break_long_words=False, break_on_hyphens=False
    )
    return "\n\n".join(wrapper.fill(text) for text in texts)


def _write(folder: Path, texts: Mapping[str, str], force: bool) -> None:
    """Write files into a folder, each whole; none of them if one may not be replaced.

    Raises:
        KeygenError: a file that is not the demo's own stands in the way.
    """
    from keygen.specimens.files import write_whole

    folder.mkdir(parents=True, exist_ok=True)
    if not force:
        remedy = "Give --out another folder, or --force to replace it."
        what = "is not as the demo wrote it and is left as it is"
        alien = [folder / name for name, text in texts.items() if not _own(folder / name, text)]
        if alien:
            raise KeygenError(Problem(str(f), 0, 0, "", what, remedy) for f in alien)
    for name, text in texts.items():
        write_whole(folder / name, text, replace=True)


def _own(file: Path, text: str) -> bool:
    """Tell whether a file is absent, the same, or an earlier report of the demo."""
    try:
        there = file.read_bytes()
    except FileNotFoundError:
        return True
    return there == text.encode() or (
        file.name in (REPORT, PAGE) and there.startswith(MARK.encode())
    )
