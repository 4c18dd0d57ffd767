"""`keygen walk`: one couplet at a time, every answer on disk before the next question."""

from __future__ import annotations

import datetime
import re
import shlex
import sys
from collections.abc import Callable, Mapping
from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keygen.cli.guard import guarded, report, talk
from keygen.cli.options import RegionOption, RulesOption
from keygen.cli.put import say_left_over
from keygen.errors import KeygenError

if TYPE_CHECKING:
    from keygen.cli.sights import Sights
    from keygen.core.model import Rules
    from keygen.specimens.journal import Journal
    from keygen.specimens.session import Session

RecordArgument = Annotated[
    Path | None,
    typer.Argument(
        metavar="[RECORD.yaml]", help="Where the record goes; a paused walk of that name goes on."
    ),
]


class Until(StrEnum):
    """How far couplets are asked."""

    END = "end"
    CALL = "call"


UntilOption = Annotated[
    Until,
    typer.Option(
        "--until",
        help="end: the whole key in its order; call: in the order that settles the call soonest, "
        "then the rest if you like.",
    ),
]
SpecimenOption = Annotated[str, typer.Option("--specimen", help="The specimen's number.")]
PicturesOption = Annotated[
    bool | None,
    typer.Option(
        "--pictures/--no-pictures",
        help="Show a picture of each lead. If neither is given, they are shown at a terminal that "
        "has the characters for them; --no-pictures suits a screen reader.",
    ),
]


class EndOfInput(Exception):
    """Nothing more can be read: the walk is paused."""


@guarded
def walk(
    record: RecordArgument = None,
    region: RegionOption = "",
    specimen: SpecimenOption = "",
    until: UntilOption = Until.END,
    pictures: PicturesOption = None,
    rules_folder: RulesOption = None,
) -> None:
    """Walk the key with a piece in hand and write its record.

    Every answer is on disk before the next question. Pausing, Ctrl-C or the end of input keeps the
    walk; the same command goes on with it. Works line by line in a pipe too.

    Example: keygen walk T-0417.yaml --region ozarks --until call
    """
    from keygen.cli.gather import known_region, rules_from

    rules = rules_from(rules_folder)
    region = known_region(rules, region)
    if not _storable(f"{record}{specimen}"):
        raise KeygenError("The name of the record or specimen is not UTF-8 text.")
    try:
        target, specimen = _target(record, specimen)
        begun = _journal_of(target).exists()
        if target.exists() and not begun:
            raise KeygenError(f"{target} exists and is left as it is; give another name")
        if not target.parent.is_dir():
            raise KeygenError(f"there is no folder {target.parent}")
        if not region and not begun:
            region = _ask_region(rules)
        if until is Until.CALL and not region and not begun:
            raise KeygenError("Without a region there is no call to ask for. Give --region.")
    except EndOfInput:
        raise KeygenError("The input ended before a walk was begun. Give --region.") from None
    header = {"region": region, "specimen": specimen, "until": until.value}
    from keygen.cli.sights import Sights, wanted

    _walk(rules, target, header, rules_folder, Sights(rules) if wanted(pictures) else None)


def _journal_of(target: Path) -> Path:
    from keygen.specimens.journal import journal_file

    return journal_file(target)


def read_line(prompt: str, meanwhile: Callable[[], None] | None = None) -> str:
    """Put a question on stderr, until it is answered, and return the line read.

    Args:
        prompt: the question.
        meanwhile: what to do between putting it and reading.

    Raises:
        EndOfInput: there is no more.
    """
    while True:
        line = _read_once(prompt, meanwhile)
        if _storable(line):
            return line
        talk("That line is not UTF-8 text; it is left out.")


def _storable(text: str) -> bool:
    """Tell whether text can be written to a file: bytes that were no text cannot."""
    return not any("\ud800" <= character <= "\udfff" for character in text)


def _read_once(prompt: str, meanwhile: Callable[[], None] | None) -> str:
    typer.echo(f"{prompt}\n> " if "\n" in prompt else f"{prompt}: ", err=True, nl=False)
    if meanwhile:
        meanwhile()
    try:
        line = sys.stdin.readline() if sys.stdin else ""
    except UnicodeDecodeError as error:
        raise KeygenError(f"the input is not UTF-8 at byte {error.start}") from None
    if not line:
        talk()
        raise EndOfInput
    if not sys.stdin.isatty():
        talk(line.rstrip("\n"))
    return line


def _target(record: Path | None, specimen: str) -> tuple[Path, str]:
    """Return where the record goes, and the specimen's number."""
    if record is not None:
        record = record.with_suffix(".yaml") if record.suffix == ".walk" else record
        return record, specimen or record.stem
    if not specimen:
        specimen = " ".join(read_line("Specimen number (Enter for none)").split())
    name = re.sub(r"[^\w.-]+", "_", specimen).strip("._")
    if name:
        return Path(f"{name}.yaml"), specimen
    number = 1
    while Path(f"point-{number}.yaml").exists() or Path(f"point-{number}.walk").exists():
        number += 1
    return Path(f"point-{number}.yaml"), specimen


def _ask_region(rules: Rules) -> str:
    from keygen.cli.gather import known_region

    while True:
        line = read_line("Region (Enter lists them; none for no call)").strip()
        if line.casefold() == "none":
            return ""
        if line:
            try:
                return known_region(rules, line)
            except KeygenError as error:
                report(error.problems)
        for name, known in rules.regions.items() if not line else ():
            talk(f"  {name}: {known.label} ({', '.join(known.states)})")


def _walk(
    rules: Rules,
    target: Path,
    asked: Mapping[str, str],
    folder: Path | None,
    sights: Sights | None,
) -> None:
    from keygen.specimens.journal import Journal

    header = {**asked, "edition": rules.edition, "digest": rules.digest}
    with Journal(_journal_of(target), header) as journal:
        session = _resumed(rules, journal, asked)
        try:
            session = _ask(session, journal, sights)
            journal.add({"finished": True})
            _keep(session, target)
        except (KeyboardInterrupt, EndOfInput, KeygenError, OSError) as stop:
            more = f" --rules {shlex.quote(str(folder))}" if folder else ""
            talk(f"\nSaved. Go on with: keygen walk {shlex.quote(str(target))}{more}")
            if isinstance(stop, EndOfInput):
                return
            raise
        journal.remove()
    talk(f"{target} written")
    _show(session)


def _resumed(rules: Rules, journal: Journal, asked: Mapping[str, str]) -> Session:
    """Return the session that a journal holds, and say what became of it.

    A walk goes on for its region; asking until the call can be taken up at any time.
    """
    from keygen.cli.gather import known_region
    from keygen.specimens.session import begin
    from keygen.specimens.terms import Lexicon

    header = journal.header
    begun_for = str(header.get("region", ""))
    region, until = asked["region"], (asked["until"], header.get("until"))
    if region and region != begun_for:
        what = f"{journal.path} was begun for {begun_for or 'no region'}; leave out --region"
        raise KeygenError(what)
    known_region(rules, begun_for)
    today = datetime.date.today().isoformat()
    specimen = str(header.get("specimen", ""))
    session = begin(Lexicon(rules), begun_for, specimen, today, Until.CALL in until)
    if not journal.resumed:
        return session
    from keygen.specimens.resume import restore

    entries = journal.answers
    session, fitted, why = restore(session, entries)
    if header.get("digest") != rules.digest:
        was = f"{header.get('edition')} ({header.get('digest')})"
        talk(f"The rules have changed since: {was}, now {rules.edition} ({rules.digest}).")
    if fitted < len(entries):
        talk(f"{fitted} of {len(entries)} answers still fit and are kept. The next does not: {why}")
        journal.add({"cut": fitted})
    else:
        talk(f"Going on after {fitted} answer{'' if fitted == 1 else 's'}.")
    return session


def _ask(session: Session, journal: Journal, sights: Sights | None) -> Session:
    """Ask until everything is asked; each answer is in the journal before the next question.

    Raises:
        EndOfInput: the walk is to be paused.
    """
    from keygen.specimens.screen import KEYS
    from keygen.specimens.session import answer, prompt

    talk("" if journal.resumed else f"{KEYS}\n")
    while not session.finished:
        if sights and (picture := sights.above(None if session.pending else session.couplet)):
            talk(picture)
        line = read_line(prompt(session), partial(_while_read, session, sights))
        reply = answer(session, line)
        for entry in reply.keep:
            journal.add(entry)
        for text in reply.say:
            talk(text)
        session = reply.session
        if reply.stop:
            raise EndOfInput
        if session.couplet or session.offered:
            talk()
    return session


def _while_read(session: Session, sights: Sights | None) -> None:
    """Do what an answer would have to wait for, while a question is being read."""
    from keygen.specimens.session import get_ready

    if not session.before:
        get_ready(session)
    if sights:
        sights.draw_ahead(session.couplet)


def _keep(session: Session, target: Path) -> None:
    """Write the record, unless a run that was cut off between writing and tidying up did."""
    from keygen.specimens import record

    text = record.to_text(session.rules, session.record)
    if target.exists() and target.read_text(encoding="utf-8") == text:
        return
    say_left_over([target])
    record.save(session.rules, session.record, target)


def _show(session: Session) -> None:
    """Print the field note, which holds the call."""
    from keygen import prose
    from keygen.specimens import places, record

    piece = places.of_piece(session.record.piece)
    examination = record.examined(session.rules, piece, session.region)
    typer.echo(prose.describe(session.rules, examination, "note").strip())
