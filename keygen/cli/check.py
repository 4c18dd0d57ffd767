"""`keygen check`: prove that a set of rules is sound."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from keygen.cli.describe import as_json
from keygen.cli.guard import guarded
from keygen.cli.options import Format, FormatOption, RulesOption

if TYPE_CHECKING:
    from keygen.core.model import Rules
    from keygen.errors import Problem
    from keygen.rulebase.figures import Figures

FINDINGS = 1


@guarded
def check(output: FormatOption = Format.TEXT, rules_folder: RulesOption = None) -> None:
    """Prove the key and check the types: every problem, with its place and remedy.

    Exit code 1 if there are any.

    Example: keygen check --rules my-rules
    """
    from keygen import data
    from keygen.errors import KeygenError
    from keygen.rulebase.check import check as prove
    from keygen.rulebase.figures import figures
    from keygen.rulebase.load import read_folder

    folder = rules_folder or data.root("rules")
    if not folder.is_dir():
        raise KeygenError(f"no rules folder at {folder}")
    problems, rules = prove(read_folder(folder))
    counted = figures(rules) if rules and not problems else None
    if output is Format.JSON:
        typer.echo(as_json(_data(problems, rules, counted)), nl=False)
    else:
        for problem in problems:
            typer.echo(str(problem))
        typer.echo("\n".join(_lines(rules, counted)) if counted else _verdict(len(problems)))
    if problems:
        raise typer.Exit(FINDINGS)


def _verdict(count: int) -> str:
    return f"{count} problem{'s' if count != 1 else ''}."


def _lines(rules: Rules | None, counted: Figures) -> list[str]:
    edition = f"edition {rules.edition}, digest {rules.digest}" if rules else ""
    bases = ", ".join(f"{n} {basis}" for basis, n in sorted(counted.by_basis.items()))
    regions = ", ".join(f"{region} {n}" for region, n in counted.by_region.items())
    text = f"""\
No problems. Rules {edition}.
Key: {counted.couplets} couplets; one entry, no circle, all reached; leads exclude each other and
  leave nothing out; every path settles every attribute.
Walks: longest path {counted.longest} couplets; asked on average {counted.mean_whole:.1f} for a
  whole piece ({counted.mean_notched:.1f} if notched), {counted.mean_base:.1f} for a base fragment.
Types: {counted.types}, each definition can be met; {counted.records} regional records ({bases}).
Types by region: {regions}."""
    return text.splitlines()


def _data(problems: list[Problem], rules: Rules | None, counted: Figures | None) -> dict[str, Any]:
    from dataclasses import asdict

    return {
        "format_version": 1,
        "rules": {"edition": rules.edition, "digest": rules.digest} if rules else None,
        "problems": [problem.to_dict() for problem in problems],
        "figures": asdict(counted) if counted else None,
    }
