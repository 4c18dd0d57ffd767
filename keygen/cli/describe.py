"""`keygen describe`: from observations to a description, without a walk."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from keygen.cli.guard import BAD_INPUT, guarded, report
from keygen.cli.options import (
    FilesArgument,
    Format,
    FormatOption,
    MeasureOption,
    OutOption,
    PathOption,
    RegionOption,
    Register,
    RegisterOption,
    RulesOption,
    ScoreOption,
    SetOption,
)
from keygen.cli.put import put

if TYPE_CHECKING:
    from keygen.cli.gather import Gathered
    from keygen.core.examine import Examination
    from keygen.core.model import Rules

IndicesOption = Annotated[
    bool,
    typer.Option(
        "--indices",
        help="Add every index that measurements allow, with its grounds and limits of use.",
    ),
]


@guarded
def describe(
    files: FilesArgument = None,
    sets: SetOption = None,
    measures: MeasureOption = None,
    scores: ScoreOption = None,
    path: PathOption = "",
    region: RegionOption = "",
    register: RegisterOption = Register.REPORT,
    output: FormatOption = Format.TEXT,
    indices: IndicesOption = False,
    out: OutOption = None,
    rules_folder: RulesOption = None,
) -> None:
    """Describe pieces from their records, or from observations given here.

    A record that cannot be read is reported and the others are still described; the exit code is 2.

    Example: keygen describe --set contracting-stemmed --measure length=34.2+

    Example: keygen describe keygen-demo/VS-10.yaml --register account
    """
    from keygen.cli.gather import Wanted, look_at

    wanted = Wanted(files or (), sets or (), measures or (), path, region, scores or ())
    rules, found = look_at(wanted, rules_folder)
    if found.examinations and output is Format.TEXT:
        put(_worded(rules, found.examinations, register, indices), out, wanted.files)
    elif found.examinations:
        from keygen import prose

        entries = [prose.to_json(rules, e, register.value) for e in found.examinations]
        put(as_json(entries if len(wanted.files) > 1 else entries[0]), out, wanted.files)
    finish(found)


def finish(found: Gathered) -> None:
    """Report what could not be used, and end with exit code 2 if there was any."""
    if found.problems:
        report(found.problems)
        raise typer.Exit(BAD_INPUT)


def _worded(
    rules: Rules,
    examinations: tuple[Examination, ...],
    register: Register,
    indices: bool,
) -> str:
    from keygen import prose
    from keygen.prose.indices import index_lines

    texts = []
    for examination in examinations:
        texts.append(prose.describe(rules, examination, register.value).strip())
        if indices:
            lines = index_lines(rules, examination) or ["Nothing was measured or scored."]
            texts[-1] += "\n\n" + "\n".join(["Indices", *lines])
    between = "\n" if register is Register.CATALOGUE and not indices else "\n\n"
    return between.join(texts) + "\n"


def as_json(data: object) -> str:
    """Return data as JSON for people and programs alike."""
    import json

    return json.dumps(data, ensure_ascii=False, indent=2) + "\n"
