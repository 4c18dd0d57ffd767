"""`keygen check`: prove that a set of rules is sound."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import typer

from keygen.cli.describe import as_json
from keygen.cli.guard import guarded
from keygen.cli.options import Format, FormatOption, RegionOption, RulesOption

if TYPE_CHECKING:
    from keygen.core.model import Rules
    from keygen.core.separate import Pair
    from keygen.errors import Problem
    from keygen.rulebase.figures import Figures

FINDINGS = 1
# What each kind of pair means, hardest first; `keygen.core.separate.Kind` defines them.
MEANS = {
    "same": "no observation can part them",
    "context": "the same form, parted by age alone",
    "contained": "every piece of the first also fits the second",
    "size": "only size parts them, or parts them so far",
    "weak": "only blade, finish or size part them, or part them so far",
    "overlapping": "the haft parts them on some pieces",
    "parted": "the haft parts them on every piece",
}
# What a kind is called in print, where its own name means something else on a dig.
PRINTED = {"context": "age"}


@guarded
def check(
    region: RegionOption = "",
    output: FormatOption = Format.TEXT,
    rules_folder: RulesOption = None,
) -> None:
    """Check that the key and the types are sound; list every problem with its place and remedy.

    With --region, list which pairs of its types can be told apart, and by what. Exit code 1 if
    there are problems, or if a pair that nothing parts has no tell.

    Example: keygen check --region ozarks
    """
    from keygen import data
    from keygen.cli.gather import known_region
    from keygen.rulebase.check import check as prove
    from keygen.rulebase.figures import figures
    from keygen.rulebase.folder import read_folder

    folder = data.rules(rules_folder)
    problems, rules = prove(read_folder(folder), str(folder) if rules_folder else "rules")
    sound = rules if rules and not problems else None
    if sound and (where := known_region(sound, region)):
        _separation(sound, where, output)
        return
    counted = figures(sound) if sound else None
    if output is Format.JSON:
        typer.echo(as_json(_data(problems, rules, counted)), nl=False)
    else:
        for problem in problems:
            typer.echo(str(problem))
        typer.echo("\n".join(_lines(rules, counted)) if counted else _verdict(len(problems)))
        if counted and rules_folder is None and (packs := ", ".join(data.packs())):
            typer.echo(
                f"Other rules that ship with keygen, to be checked with --rules NAME: {packs}."
            )
    if problems:
        raise typer.Exit(FINDINGS)


def _verdict(count: int) -> str:
    return f"{count} problem{'s' if count != 1 else ''}."


def _lines(rules: Rules | None, counted: Figures) -> list[str]:
    edition = f"edition {rules.edition}, digest {rules.digest}" if rules else ""
    bases = ", ".join(f"{n} {basis}" for basis, n in sorted(counted.by_basis.items()))
    regions = ", ".join(f"{region} {n}" for region, n in counted.by_region.items())
    notched = f" ({counted.mean_notched:.1f} if notched)" if counted.mean_notched else ""
    text = f"""\
No problems. Rules {edition}.
Key: {counted.couplets} couplets; one entry, no circle, all reached; leads exclude each other and
  leave nothing out; every path settles every attribute.
Walks: longest path {counted.longest} couplets; asked on average {counted.mean_whole:.1f} for a
  whole piece{notched}, {counted.mean_base:.1f} for a base fragment.
Types: {counted.types}, each definition can be met; {counted.records} regional records ({bases}).
Types by region: {regions}."""
    lines = text.splitlines()
    if rules:
        lines.append("Pairs of types by region and by what parts them (more with --region):")
        lines += _counts_table(counts(rules))
    return lines


def counts(rules: Rules) -> dict[str, dict[str, int]]:
    """Return how many pairs of types there are of each kind, by region."""
    from keygen.core.separate import pairs

    found = {
        region: Counter(p.kind.value for p in pairs(rules, region)) for region in rules.regions
    }
    return {region: {kind: by_kind[kind] for kind in MEANS} for region, by_kind in found.items()}


def _counts_table(counted: dict[str, dict[str, int]]) -> Iterator[str]:
    left = max((len(region) for region in counted), default=0)
    width = max(map(len, MEANS)) + 1
    yield "  " + " " * left + "".join(PRINTED.get(kind, kind).rjust(width) for kind in MEANS)
    for region, by_kind in counted.items():
        row = "".join(str(by_kind[kind]).rjust(width) for kind in MEANS)
        yield f"  {region.ljust(left)}{row}"


def _separation(rules: Rules, region: str, output: Format) -> None:
    """Print the pairs of one region; leave with code 1 if an inseparable pair has no tell."""
    from keygen.core.separate import Kind, pairs, tell_missing

    found = pairs(rules, region)
    listed = [pair for pair in found if pair.kind is not Kind.PARTED]
    missing = sum(tell_missing(rules, pair) for pair in listed)
    by_kind = Counter(pair.kind.value for pair in found)
    if output is Format.JSON:
        data = {
            "format_version": 1,
            "region": region,
            "counts": {kind: by_kind[kind] for kind in MEANS},
            "pairs": [_pair_data(rules, pair) for pair in listed],
            "tells_missing": missing,
            "rules": {"edition": rules.edition, "digest": rules.digest},
        }
        typer.echo(as_json(data), nl=False)
    else:
        names = f"{rules.regions[region].label} ({region})"
        typer.echo(f"{names}: {len(rules.in_region(region))} types, {len(found)} pairs.")
        for kind, means in MEANS.items():
            typer.echo(f"\n{PRINTED.get(kind, kind)}: {means} ({by_kind[kind]})")
            here = [pair for pair in listed if pair.kind.value == kind]
            detailed = kind != Kind.OVERLAPPING.value
            lines = _detailed(rules, here) if detailed else _names_only(rules, here)
            for line in lines:
                typer.echo(line)
        typer.echo(f"\nPairs that nothing parts and that have no tell: {missing}.")
    if missing:
        raise typer.Exit(FINDINGS)


def _detailed(rules: Rules, found: Sequence[Pair]) -> Iterator[str]:
    """Yield what one observation can show and the tell; a missing one is flagged if needed."""
    from keygen.core.separate import tell_missing, told

    for pair in found:
        first, second = (rules.types[name].name for name in (pair.first, pair.second))
        yield f"  {first} / {second}"
        for other, attributes in ((second, pair.tells_first), (first, pair.tells_second)):
            if attributes:
                by = ", ".join(rules.attributes[i].label for i in attributes)
                yield f"    can show that it is no {other}: {by}"
        for text in told(rules, pair):
            yield f"    tell: {text}"
        if tell_missing(rules, pair):
            yield "    NO TELL: write one in look_alikes of either type"


def _names_only(rules: Rules, found: Sequence[Pair]) -> Iterator[str]:
    by_first: dict[str, list[str]] = {}
    for pair in found:
        names = by_first.setdefault(rules.types[pair.first].name, [])
        names.append(rules.types[pair.second].name)
    for first, others in by_first.items():
        yield f"  {first} / {'; '.join(others)}"


def _pair_data(rules: Rules, pair: Pair) -> dict[str, Any]:
    from keygen.core.separate import tell_missing, told

    def ids(attributes: Sequence[int]) -> list[str]:
        return [rules.attributes[i].id for i in attributes]

    return {
        "types": [pair.first, pair.second],
        "kind": pair.kind.value,
        "shows_it_is_not_the_other": {
            pair.first: ids(pair.tells_first),
            pair.second: ids(pair.tells_second),
        },
        "tells": list(told(rules, pair)),
        "tell_missing": tell_missing(rules, pair),
    }


def _data(problems: list[Problem], rules: Rules | None, counted: Figures | None) -> dict[str, Any]:
    from dataclasses import asdict

    return {
        "format_version": 1,
        "rules": {"edition": rules.edition, "digest": rules.digest} if rules else None,
        "problems": [problem.to_dict() for problem in problems],
        "figures": asdict(counted) if counted else None,
        "pairs": counts(rules) if rules and counted else None,
    }
