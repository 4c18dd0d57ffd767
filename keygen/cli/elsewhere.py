"""`keygen elsewhere`: what the same piece would be called in other regions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

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
    SetOption,
)

if TYPE_CHECKING:
    from keygen.core.examine import Examination
    from keygen.core.model import Rules


@guarded
def elsewhere(
    files: FilesArgument = None,
    sets: SetOption = None,
    measures: MeasureOption = None,
    path: PathOption = "",
    region: RegionOption = "",
    output: FormatOption = Format.TEXT,
    rules_folder: RulesOption = None,
) -> None:
    """List the types that the same piece would fit in every other region, with their ages.

    Example: keygen elsewhere keygen-demo/VS-10.yaml
    """
    from keygen.cli.gather import Wanted, look_at

    wanted = Wanted(files or (), sets or (), measures or (), path, region)
    rules, found = look_at(wanted, rules_folder)
    if found.examinations and output is Format.JSON:
        entries = [_data(rules, e) for e in found.examinations]
        typer.echo(as_json(entries if len(wanted.files) > 1 else entries[0]), nl=False)
    elif found.examinations:
        typer.echo("\n\n".join(_text(rules, e) for e in found.examinations))
    finish(found)


def _data(rules: Rules, examination: Examination) -> dict[str, Any]:
    from keygen import prose

    everything = prose.to_json(rules, examination)
    kept = ("format_version", "specimen", "region", "elsewhere", "rules")
    return {key: everything[key] for key in kept}


def _text(rules: Rules, examination: Examination) -> str:
    from keygen.core.call import by_region
    from keygen.prose.ages import age

    label = examination.piece.label
    lines = [label] if label else []
    told = ""
    for region, judgement in by_region(examination.elsewhere):
        if region != told:
            told = region
            lines.append(f"{rules.regions[region].label} ({region})")
        kind = rules.types[judgement.type]
        record = kind.record(region)
        if record:
            lines.append(f"  {kind.name}: {record.period}, {age(rules, record)}")
    if not examination.elsewhere:
        lines.append("In no other region is there a type that all of this fits.")
    return "\n".join(lines)
