"""`keygen agree`: several observers' tables of the same specimens, held against each other."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keygen.cli.describe import as_json
from keygen.cli.guard import guarded, talk
from keygen.cli.options import Format, FormatOption, RegionOption, RulesOption
from keygen.cli.table import MappingOption
from keygen.errors import KeygenError, sentences

if TYPE_CHECKING:
    from keygen.assemblage.gathered import Gathered

MOST_SHOWN = 20
FINDINGS = 1
TablesArgument = Annotated[
    list[str],
    typer.Argument(
        metavar="TABLE TABLE...", help="One table for each observer, or folder of records."
    ),
]
ResamplesOption = Annotated[
    int,
    typer.Option(
        "--resamples", min=0, help="How many times specimens are resampled for the intervals."
    ),
]


@guarded
def agree(
    tables: TablesArgument,
    mapping: MappingOption = None,
    region: RegionOption = "",
    resamples: ResamplesOption = 1000,
    output: FormatOption = Format.TEXT,
    rules_folder: RulesOption = None,
) -> None:
    """Compare what several observers recorded of the same specimens, and what the key calls them.

    Specimens are matched by number. Exit code 1 if a row of a table has an error.

    Example: keygen agree keygen-demo/finds.csv keygen-demo/second-observer.csv
    """
    from keygen.assemblage.agreed import agreed, data, text
    from keygen.assemblage.gathered import gather
    from keygen.cli.gather import known_region, rules_from
    from keygen.collection.sources import open_table

    if len(tables) < 2:
        raise KeygenError("Give at least two tables, one for each observer.")
    rules = rules_from(rules_folder)
    region = known_region(rules, region)
    names = observer_names(tables)
    gathered = [
        gather(rules, open_table(one, rules), mapping, region, name)
        for one, name in zip(tables, names, strict=True)
    ]
    wrong = show_faults(gathered)
    found = agreed(rules, [one.by_number() for one in gathered], names, resamples)
    if not found.shared:
        raise KeygenError("No specimen number is in more than one of the tables.")
    typer.echo(as_json(data(rules, found)) if output is Format.JSON else text(rules, found))
    if wrong:
        raise typer.Exit(FINDINGS)


def observer_names(tables: list[str]) -> list[str]:
    """Return what the observers are called: the names of their files, told apart where equal."""
    stems = [Path(one).stem for one in tables]
    return [s if stems.count(s) == 1 else t for s, t in zip(stems, tables, strict=True)]


def show_faults(gathered: Iterable[Gathered]) -> bool:
    """Say what is wrong with the rows of some tables; tell whether one of them has an error."""
    lines, errors = [], 0
    for one in gathered:
        for remark in one.remarks:
            talk(remark)
        for fault in one.faults:
            errors += fault.grade == "error"
            column = f", column {fault.column}" if fault.column else ""
            said = sentences(fault.what, fault.remedy)
            lines.append(f"{one.name}: row {fault.row}{column}: {said}")
    for line in lines[:MOST_SHOWN]:
        talk(line)
    if len(lines) > MOST_SHOWN:
        talk(f"and {len(lines) - MOST_SHOWN} more; `keygen table --problems FILE` lists them all")
    return bool(errors)
