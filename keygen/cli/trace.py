"""`keygen trace`: what a call rests on, observation by observation."""

from __future__ import annotations

from typing import Annotated

import typer

from keygen.cli.describe import as_json, finish
from keygen.cli.guard import guarded
from keygen.cli.options import (
    FilesArgument,
    Format,
    FormatOption,
    MeasureOption,
    PathOption,
    RegionOption,
    RulesOption,
    ScoreOption,
    SetOption,
)

WhatIfOption = Annotated[
    bool,
    typer.Option(
        "--what-if",
        help="Add what would change the call: another observation, fewer of them, other regions.",
    ),
]


@guarded
def trace(
    files: FilesArgument = None,
    sets: SetOption = None,
    measures: MeasureOption = None,
    scores: ScoreOption = None,
    path: PathOption = "",
    region: RegionOption = "",
    what_if: WhatIfOption = False,
    output: FormatOption = Format.TEXT,
    rules_folder: RulesOption = None,
) -> None:
    """Show what a call rests on: each type considered, what is met, open and against.

    Example: keygen trace keygen-demo/VS-14.yaml --what-if
    """
    from keygen import prose
    from keygen.cli.gather import Wanted, look_at
    from keygen.prose import whatif

    wanted = Wanted(files or (), sets or (), measures or (), path, region, scores or ())
    rules, found = look_at(wanted, rules_folder)
    if found.examinations and output is Format.JSON:
        entries = [
            prose.to_json(rules, e)
            | ({"what_if": whatif.what_if_json(rules, e)} if what_if else {})
            for e in found.examinations
        ]
        typer.echo(as_json(entries if len(wanted.files) > 1 else entries[0]), nl=False)
    elif found.examinations:
        parts = [
            (prose.trace(rules, e).strip(), *([whatif.what_if(rules, e)] if what_if else []))
            for e in found.examinations
        ]
        typer.echo("\n\n".join(text for part in parts for text in part))
    finish(found)
