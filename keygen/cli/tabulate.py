"""`keygen tabulate`: types, periods or attributes counted over levels, units or sites."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from keygen.cli import values
from keygen.cli.agree import FINDINGS, show_faults
from keygen.cli.describe import as_json
from keygen.cli.guard import guarded, talk
from keygen.cli.options import Format, FormatOption, RegionOption, RulesOption
from keygen.cli.put import is_one_of, say_left_over
from keygen.cli.table import ForceOption, MappingOption
from keygen.errors import KeygenError


class Several(StrEnum):
    """How specimens that can be one of several are counted."""

    APART = "apart"
    FRACTION = "fraction"


TableArgument = Annotated[
    str, typer.Argument(metavar="TABLE", help="CSV, XLSX or a folder of specimen records.")
]
ByOption = Annotated[
    list[str],
    typer.Option(
        "--by",
        help="level, unit, site or any column; if repeated, they are joined.",
        autocompletion=values.fields,
    ),
]
OfOption = Annotated[
    str,
    typer.Option(
        "--of",
        help="type, period, status (of the call), or any attribute by id.",
        autocompletion=values.counted,
    ),
]
SeveralOption = Annotated[
    Several,
    typer.Option("--several", help="Specimens that can be one of several: apart, or in fractions."),
]
SeriateOption = Annotated[
    bool, typer.Option("--seriate", help="Also put the groups in order by what they hold.")
]
StrataOption = Annotated[
    str,
    typer.Option(
        "--strata",
        metavar="GROUP,GROUP...",
        help="Groups in stratigraphic order; --seriate keeps to it.",
    ),
]
TimelineOption = Annotated[
    bool, typer.Option("--timeline", help="Also list the date ranges behind the calls.")
]
OutsOption = Annotated[
    list[Path] | None,
    typer.Option("--out", help="File to write: .csv .json .html .svg. Can be repeated."),
]


@guarded
def tabulate(
    source: TableArgument,
    by: ByOption,
    of: OfOption = "type",
    several: SeveralOption = Several.APART,
    seriate: SeriateOption = False,
    strata: StrataOption = "",
    timeline: TimelineOption = False,
    outs: OutsOption = None,
    mapping: MappingOption = None,
    region: RegionOption = "",
    force: ForceOption = False,
    output: FormatOption = Format.TEXT,
    rules_folder: RulesOption = None,
) -> None:
    """Count types, periods or states over levels, units or sites, and order or date the groups.

    Exit code 1 if a row of the table has an error; the others are counted.

    Example: keygen tabulate keygen-demo --by site --of period

    Example: keygen tabulate keygen-demo/finds.csv --by level --of haft_style
    """
    from keygen.assemblage.counted import count, written
    from keygen.assemblage.gathered import gather
    from keygen.cli.gather import known_region, rules_from
    from keygen.collection.sources import open_table
    from keygen.specimens.files import written_together

    targets = outs or []
    for target in targets:
        if is_one_of(target, [source, *([mapping] if mapping else [])]):
            raise KeygenError(f"{target} is the file that is read; give --out another name")
    rules = rules_from(rules_folder)
    region = known_region(rules, region)
    found = gather(rules, open_table(source, rules), mapping, region)
    wrong = show_faults([found])
    order = [name.strip() for name in strata.split(",") if name.strip()]
    made = count(found, of, by, several.value, seriate or bool(order), order, timeline)
    texts = [written(made, target.suffix.lower()) for target in targets]
    say_left_over(targets)
    with written_together(targets, force) as partials:
        for partial, text in zip(partials, texts, strict=True):
            partial.write_text(text, encoding="utf-8", newline="")
    for target in targets:
        talk(f"{target} written")
    typer.echo(as_json(made.data()) if output is Format.JSON else made.text())
    if wrong:
        raise typer.Exit(FINDINGS)
