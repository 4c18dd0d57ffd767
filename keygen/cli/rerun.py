"""`keygen rerun`: records judged again, records signed, and two editions of the rules compared."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keygen.cli import values
from keygen.cli.describe import as_json
from keygen.cli.guard import BAD_INPUT, guarded, problem_of, report, talk
from keygen.cli.options import Format, FormatOption, RegionOption, RulesOption, SetOption
from keygen.errors import KeygenError, Problem

if TYPE_CHECKING:
    from keygen.core.model import Rules
    from keygen.specimens.history import KeyCall
    from keygen.specimens.observed import Observed
    from keygen.specimens.rerun import Held, Older, Reason, Rerun
    from keygen.specimens.terms import Lexicon

CHANGED = 1
FilesArgument = Annotated[
    list[str] | None, typer.Argument(metavar="[FILE]...", help="Specimen records.")
]
OldOption = Annotated[
    Path | None,
    typer.Option(
        "--old",
        metavar="FOLDER",
        help="The rules folder that the records were judged with before.",
        autocompletion=values.packs,
    ),
]
BetweenOption = Annotated[
    tuple[Path, Path] | None,
    typer.Option(
        "--between",
        metavar="OLDER NEWER",
        help="Compare two sets of rules instead: folders, packs, or `main` for the main rules.",
        autocompletion=values.packs,
    ),
]
WriteOption = Annotated[
    bool,
    typer.Option("--write", help="Keep the call, and what is changed here, in the records."),
]
SignOption = Annotated[
    str, typer.Option("--sign", metavar="CALL", help="Your own call beside the key's; one record.")
]
ReasonOption = Annotated[str, typer.Option("--reason", help="Why; kept in the history.")]
ByOption = Annotated[str, typer.Option("--by", help="Name or initials of who signs or changes.")]
DateOption = Annotated[str, typer.Option("--date", help="Date of signing; today if not given.")]


@dataclass(frozen=True)
class Wanted:
    """What to judge, with what, and what to change in the record."""

    rules: Rules
    older: Rules | None
    region: str
    sets: Sequence[str]
    sign: str
    reason: str
    by: str
    date: str
    today: str
    write: bool


@guarded
def rerun(
    files: FilesArgument = None,
    region: RegionOption = "",
    old: OldOption = None,
    between: BetweenOption = None,
    sets: SetOption = None,
    sign: SignOption = "",
    reason: ReasonOption = "",
    by: ByOption = "",
    date: DateOption = "",
    write: WriteOption = False,
    output: FormatOption = Format.TEXT,
    rules_folder: RulesOption = None,
) -> None:
    """Judge records again, with these rules or others, and say which calls change and why.

    Nothing is written without --write, which keeps the new call and adds to the record's history.
    --sign puts your own call beside the key's, --set changes an observation. With --between, two
    editions of the rules are compared. Exit code 1 if a call changed, or the rules differ.

    Example: keygen rerun keygen-demo/*.yaml
    """
    from keygen.cli.gather import known_region, rules_from
    from keygen.specimens.provenience import check_date

    if between is not None:
        if files or write or sign or sets or old:
            raise KeygenError("--between compares two rules folders; leave out all else.")
        _between(*between, output)
        return
    if not files:
        raise KeygenError("Nothing to judge: give records, or --between and two rules folders.")
    _refuse_half_said(files, sets or (), sign, reason, by, old)
    try:
        date = check_date(date) if date else ""
    except ValueError as error:
        raise KeygenError(f"--date: {error}") from None
    for option, text in (("--sign", sign), ("--reason", reason), ("--by", by)):
        _refuse_unreadable(option, text)
    rules = rules_from(rules_folder)
    wanted = Wanted(
        rules=rules,
        older=rules_from(old) if old else None,
        region=known_region(rules, region),
        sets=sets or (),
        sign=sign.strip(),
        reason=reason.strip(),
        by=by.strip(),
        date=date,
        today=datetime.date.today().isoformat(),
        write=write,
    )
    _judge(files, wanted, output)


def _refuse_half_said(
    files: Sequence[str], sets: Sequence[str], sign: str, reason: str, by: str, old: Path | None
) -> None:
    """Refuse a change that does not say who makes it, or in which record."""
    if (sign or sets) and len(files) != 1:
        raise KeygenError("--sign and --set change one record; give one file.")
    if (sign or sets) and not by.strip():
        raise KeygenError("--sign and --set need --by: the name or initials of who changes it.")
    if sign and not reason.strip():
        raise KeygenError("--sign needs --reason: what the call rests on.")
    if sets and old:
        raise KeygenError("--set changes the record and --old the rules; do one after the other.")


def _refuse_unreadable(option: str, text: str) -> None:
    """Refuse text that a record could not hold, such as hidden characters."""
    from keygen.rulebase.yamlio import parse
    from keygen.specimens.emit import flow

    try:
        parse(f"text: {flow(text)}", option, as_text=True)
    except KeygenError as error:
        raise KeygenError(f"{option}: {error.problems[0].what}") from None


def _between(older: Path, newer: Path, output: Format) -> None:
    from keygen.cli.between import lines
    from keygen.cli.gather import rules_from
    from keygen.rulebase.compare import compare, to_data

    found = compare(rules_from(older), rules_from(newer))
    if output is Format.JSON:
        typer.echo(as_json(to_data(found)), nl=False)
    else:
        typer.echo("\n".join(lines(found)))
    if not found.same:
        raise typer.Exit(CHANGED)


def _judge(files: Sequence[str], wanted: Wanted, output: Format) -> None:
    """Judge every file; one that cannot be used does not stop the others."""
    from keygen.specimens.rerun import to_data
    from keygen.specimens.terms import Lexicon

    lexicon = Lexicon(wanted.rules)
    problems: list[Problem] = []
    found: list[tuple[str, Rerun]] = []
    for name in files:
        try:
            found.append((name, _one(lexicon, wanted, name)))
        except KeygenError as error:
            problems += error.problems
        except OSError as error:
            problems.append(problem_of(error)._replace(file=name))
    if output is Format.JSON:
        now = {"edition": wanted.rules.edition, "digest": wanted.rules.digest}
        data = {
            "format_version": 1,
            "rules": now,
            "records": [to_data(name, rerun) for name, rerun in found],
        }
        typer.echo(as_json(data), nl=False)
    else:
        for name, rerun in found:
            for line in _lines(wanted.rules, name, rerun):
                typer.echo(line)
    if problems:
        report(problems)
        raise typer.Exit(BAD_INPUT)
    if any(rerun.outcome == "changed" for _, rerun in found):
        raise typer.Exit(CHANGED)


def _one(lexicon: Lexicon, wanted: Wanted, name: str) -> Rerun:
    """Judge one record, and keep what came of it if that is wanted."""
    from keygen.specimens import amend, given, record
    from keygen.specimens.rerun import rerun

    file = Path(name)
    text = amend.read(file)
    before = record.read_text(lexicon, text.removeprefix(amend.MARK), name)
    observed: Observed = {}
    for words in wanted.sets:
        observed |= given.parse_set(lexicon, words)
    after = amend.observed(before, observed)
    region = wanted.region or before.region
    if wanted.write and region != before.region:
        what = f"--write keeps the call for the record's own region ({before.region or 'none'})"
        remedy = "Leave out --region, or change the region in the record."
        raise KeygenError(Problem(name, 0, 0, "", what, remedy))
    older = _read_older(wanted.older, text, name) if wanted.older else None
    found = rerun(wanted.rules, after, region, name, older, before if observed else None)
    own = amend.own_call(wanted.sign, wanted.reason, wanted.by, wanted.date or wanted.today)
    who = amend.Who(wanted.today, wanted.by, wanted.reason)
    changed = amend.changed(lexicon, text, before, after, found.now, own, who, name)
    if changed == text:
        return found
    if wanted.write:
        amend.write(file, text, changed)
        talk(f"{name} written")
    elif own or observed:
        talk(f"{name} is left as it is; --write keeps the change")
    return found


def _read_older(rules: Rules, text: str, name: str) -> Older:
    """Return the record as older rules read it, or why they cannot."""
    from keygen.specimens import record
    from keygen.specimens.amend import MARK
    from keygen.specimens.rerun import Older
    from keygen.specimens.terms import Lexicon

    try:
        specimen = record.read_text(Lexicon(rules), text.removeprefix(MARK), name)
        record.examined(rules, specimen.piece, "", name)
    except KeygenError as error:
        return Older(rules, None, error.problems[0].what)
    return Older(rules, specimen.piece)


def _lines(rules: Rules, name: str, found: Rerun) -> Iterator[str]:
    """Yield what is printed of one record."""
    was, now = _told(rules, found.was), _told(rules, found.now)
    heads = {
        "same": f"same: {now}",
        "changed": f"changed: {was} -> {now}",
        "first": f"no earlier call for this region is known; now {now}",
        "no_call": "no region is given, so there is no call",
    }
    yield f"{name}: {heads[found.outcome]}"
    for note in found.notes:
        yield f"  {note}"
    for reason in found.reasons:
        yield from _reason(rules, reason)


def _told(rules: Rules, call: KeyCall | None) -> str:
    if call is None:
        return ""
    ids = [rules.names.get(name, name) for name in call.types]
    names = [rules.types[name].name if name in rules.types else name for name in ids]
    return f"{call.status} {', '.join(names)}".strip()


def _reason(rules: Rules, reason: Reason) -> Iterator[str]:
    known = rules.types.get(reason.type)
    words = {"joined": "is now among them", "left": "is no longer among them", "stays": "stays"}
    yield f"  {known.name if known else reason.type} {words[reason.change]}:"
    for rule in reason.rules:
        yield f"    {rule}"
    met = [held.attribute for held in reason.decides if held.fit == "met"]
    for held in reason.decides:
        if held.fit != "met":
            yield f"    {_held(rules, held)}"
    if met:
        yield f"    met: {', '.join(met)}"


def _held(rules: Rules, held: Held) -> str:
    seen = ", ".join(held.observed)
    if len(held.observed) == len(rules.attributes[rules.index[held.attribute]].states):
        seen = "not known"
    return f"{held.fit}: {held.attribute} (piece: {seen}; type: {', '.join(held.allowed)})"
