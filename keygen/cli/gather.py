"""From the arguments of a command to rules and pieces."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from keygen.cli.guard import problem_of, talk
from keygen.errors import KeygenError, Problem

if TYPE_CHECKING:
    from keygen.core.examine import Examination
    from keygen.core.model import Rules
    from keygen.specimens.observed import Observed
    from keygen.specimens.record import Specimen
    from keygen.specimens.terms import Lexicon

T = TypeVar("T")


@dataclass(frozen=True)
class Wanted:
    """What a command was asked to look at: files, or observations given on the command line."""

    files: Sequence[str] = ()
    sets: Sequence[str] = ()
    measures: Sequence[str] = ()
    path: str = ""
    region: str = ""
    scores: Sequence[str] = ()


@dataclass(frozen=True)
class Gathered:
    """What could be examined, remarks on it, and the problems of what could not."""

    examinations: tuple[Examination, ...]
    remarks: tuple[str, ...]
    problems: tuple[Problem, ...]


def rules_from(folder: Path | None) -> Rules:
    """Return the rules in a folder or of a shipped pack, or the main rules.

    Raises:
        KeygenError: the rules are not usable.
    """
    from keygen import data
    from keygen.rulebase.load import load, shipped

    return load(data.rules(folder)) if folder else shipped()


def known_region(rules: Rules, region: str) -> str:
    """Return a region's id; its label is understood too, and nothing stays nothing.

    Raises:
        KeygenError: there is no such region.
    """
    from keygen.specimens.regions import region_of, regions_near

    if not region.strip():
        return ""
    found = region_of(rules, region)
    if not found:
        near = regions_near(rules, region)
        every = f"The regions are {', '.join(rules.regions)}."
        remedy = f"{near} {every}" if near.startswith("Did you mean") else every
        raise KeygenError(Problem("", 0, 0, "K005", f"the region {region!r} is not known", remedy))
    return found


def look_at(wanted: Wanted, rules_folder: Path | None) -> tuple[Rules, Gathered]:
    """Load the rules, examine what was asked for, and say what is to be remarked on it.

    Raises:
        KeygenError: as `rules_from` and `gather`.
    """
    rules = rules_from(rules_folder)
    found = gather(rules, wanted)
    for remark in found.remarks:
        talk(remark)
    return rules, found


def gather(rules: Rules, wanted: Wanted) -> Gathered:
    """Examine what was asked for; a file that cannot be used does not stop the others.

    Raises:
        KeygenError: nothing was asked for, or what was given on the command line cannot be used.
    """
    from keygen.specimens.places import of_piece
    from keygen.specimens.record import examined
    from keygen.specimens.terms import Lexicon

    lexicon = Lexicon(rules)
    region = known_region(rules, wanted.region)
    inline = bool(wanted.sets or wanted.measures or wanted.scores or wanted.path)
    if inline and wanted.files:
        raise KeygenError("Give either files or --set, --measure, --score and --path, not both.")
    if inline:
        specimen = _given(lexicon, wanted)
        found = examined(rules, specimen.piece, region)
        return Gathered((found,), (*specimen.remarks, *_doubts(rules, found)), ())
    if not wanted.files:
        raise KeygenError(
            "Nothing to look at: give a record, or --set, --measure or --path; --help has examples."
        )
    examinations: list[Examination] = []
    remarks: list[str] = []
    problems: list[Problem] = []
    for name in wanted.files:
        try:
            specimen = _read(lexicon, name)
            where = region or specimen.region
            piece = of_piece(specimen.piece)
            found = examined(rules, piece, where, name, specimen.places)
            examinations.append(found)
        except KeygenError as error:
            problems += error.problems
            continue
        except OSError as error:
            problems.append(problem_of(error)._replace(file=name or "''"))
            continue
        told = (*_remarks(rules, specimen, where), *_doubts(rules, found))
        remarks += [f"{name}: {remark}" for remark in told]
    return Gathered(tuple(examinations), tuple(remarks), tuple(problems))


def _read(lexicon: Lexicon, name: str) -> Specimen:
    from keygen.rulebase.bounded import bytes_from, text_of
    from keygen.specimens import record

    if name != "-":
        return record.load(lexicon, Path(name))
    here = "standard input"
    content = bytes_from(sys.stdin.buffer, here)  # whatever the terminal's encoding is
    return record.read_text(lexicon, text_of(content, here), here)


def _remarks(rules: Rules, specimen: Specimen, region: str) -> list[str]:
    remarks = list(specimen.remarks)
    if specimen.digest and specimen.digest != rules.digest:
        remarks.append(
            f"recorded with rules {specimen.edition} ({specimen.digest}), "
            f"read with {rules.edition} ({rules.digest})"
        )
    if specimen.region and specimen.region != region:
        remarks.append(f"recorded for {specimen.region}, read for {region}")
    if not region:
        remarks.append("no region is given, so there is no call; --region adds one")
    return remarks


def _doubts(rules: Rules, found: Examination) -> list[str]:
    """Return a remark on what can hardly be: figures, and states of a part that is gone."""
    from keygen.core.complete import remarks
    from keygen.core.measure import doubts

    here = [
        rules.attributes[i]
        for i, observation in found.piece.observations.items()
        if rules.attributes[i].part in found.gone
        and observation.how in ("seen", "unsure")
        and observation.mask != rules.full[i]
    ]
    told = list(doubts(rules, found.piece.readings))
    told += remarks(rules, found.known, found.piece.readings)
    if here:
        names = ", ".join(attribute.label for attribute in here)
        parts = ", ".join(dict.fromkeys(rules.parts[attribute.part] for attribute in here))
        told.append(f"by portion and damage these are gone: {parts}; yet recorded there: {names}")
    return told


def _joined(rules: Rules, observed: Observed, more: Observed, text: str) -> Observed:
    """Add observations to others; where both speak of an attribute, both hold.

    Raises:
        KeygenError: the two leave nothing of an attribute.
    """
    from keygen.core.states import is_single

    joined = dict(observed)
    for i, new in more.items():
        mask = new.mask & (observed[i].mask if i in observed else new.mask)
        if not mask:
            attribute = rules.attributes[i]
            what = (
                f"--set {text!r}: this contradicts what was given before of the {attribute.label}"
            )
            remedy = "Write several states as in stem_shape=contracting,straight."
            raise KeygenError(Problem("", 0, 0, "K006", what, remedy))
        joined[i] = replace(new, mask=mask, how="seen" if is_single(mask) else new.how)
    return joined


def _given(lexicon: Lexicon, wanted: Wanted) -> Specimen:
    """Return the piece given by options, all their problems noted together."""
    from keygen.core.examine import Piece
    from keygen.specimens import given, path, record
    from keygen.specimens.scored import parse_score

    observed: Observed = {}
    remarks: tuple[str, ...] = ()
    problems: list[Problem] = []
    if wanted.path:
        try:
            walked = path.read(lexicon, wanted.path, "--path")
            observed = record.observed_at(lexicon.rules, walked.position)
            remarks = walked.remarks
        except KeygenError as error:
            problems += error.problems
    for text in wanted.sets:
        try:
            found = given.parse_set(lexicon, text)
            observed = _joined(lexicon.rules, observed, found, text)
        except KeygenError as error:
            problems += error.problems
    measured = partial(given.parse_measure, lexicon.rules)
    readings = _each_once(wanted.measures, measured, "the measurement", problems)
    scores = _each_once(wanted.scores, partial(parse_score, lexicon.rules), "the score", problems)
    if problems:
        raise KeygenError(problems)
    piece = Piece(observations=observed, readings=readings, details=scores)
    return record.Specimen(piece, remarks=remarks)


def _each_once(
    texts: Sequence[str],
    parse: Callable[[str], tuple[str, T]],
    what: str,
    problems: list[Problem],
) -> dict[str, T]:
    """Read options of the form NAME=VALUE, noting what cannot be read and what is given twice."""
    found: dict[str, T] = {}
    for text in texts:
        try:
            name, value = parse(text)
        except KeygenError as error:
            problems += error.problems
            continue
        if name in found:
            problems.append(Problem("", 0, 0, "K006", f"{what} {name} is given twice"))
        found[name] = value
    return found
