"""Options that several commands share, so that they are named and explained once."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer
from typer.models import OptionInfo

from keygen.cli import values


class Format(StrEnum):
    """How results are printed."""

    TEXT = "text"
    JSON = "json"


class Register(StrEnum):
    """For whom a description is worded."""

    NOTE = "note"
    REPORT = "report"
    CATALOGUE = "catalogue"
    ACCOUNT = "account"


def regions_for(form: str) -> OptionInfo:
    """Return the option for research regions, of which one form of output takes several."""
    option: OptionInfo = typer.Option(
        "--region",
        "-r",
        metavar="REGION",
        help=f"Research region, by id or name. Can be repeated for --as {form}, which holds all "
        "regions if none is given.",
        autocompletion=values.regions,
    )
    return option


RegionOption = Annotated[
    str,
    typer.Option(
        "--region",
        "-r",
        metavar="REGION",
        help="Research region, by id or name, such as ozarks; an unknown name lists them all.",
        autocompletion=values.regions,
    ),
]
OutOption = Annotated[
    Path | None, typer.Option("--out", help="Write to this file, whole or not at all.")
]
TemplatesOption = Annotated[
    Path | None,
    typer.Option(
        "--templates",
        help="A folder of your own templates; each takes the place of the shipped one of its name.",
    ),
]
FormatOption = Annotated[Format, typer.Option("--format", help="How to print the result.")]
RulesOption = Annotated[
    Path | None,
    typer.Option(
        "--rules",
        metavar="FOLDER",
        help="Rules to use instead of the main ones: a folder of whole rules, a folder of "
        "additions that are laid over the main ones, or a shipped pack such as great_basin.",
        autocompletion=values.packs,
    ),
]
RegisterOption = Annotated[
    Register,
    typer.Option(
        "--register",
        help="note: field note; report: paragraph; catalogue: one line; account: for a reviewer.",
    ),
]
FilesArgument = Annotated[
    list[str] | None,
    typer.Argument(metavar="[FILE]...", help="Specimen records; - reads one from standard input."),
]
SetOption = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="ATTRIBUTE=STATE",
        help="An observation, such as stem_shape=contracting,straight, or base_shape=? (unsure), "
        "or base_shape=missing; or a word alone, such as corner-notched. Can be repeated.",
        autocompletion=values.observations,
    ),
]
MeasureOption = Annotated[
    list[str] | None,
    typer.Option(
        "--measure",
        metavar="NAME=FIGURE",
        help="A measurement, such as length=34.2+ (broken: at least). Can be repeated.",
        autocompletion=values.measures,
    ),
]
ScoreOption = Annotated[
    list[str] | None,
    typer.Option(
        "--score",
        metavar="NAME=MARKS",
        help="What an index needs scored by eye, such as tang_tip=round. Can be repeated.",
        autocompletion=values.scores,
    ),
]
PathOption = Annotated[
    str,
    typer.Option(
        "--path", metavar="STEPS", help='A walk as written down, such as "1a 3a 24a 25?".'
    ),
]
