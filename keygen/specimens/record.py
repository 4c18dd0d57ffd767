"""The specimen record: one readable YAML file a specimen.

It keeps what was observed and how, not what follows from it: that is worked out again whenever the
record is read, so a record can be read with a later edition of the rules. Everything that an
analyst wrote stays the text that was written.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from keygen.core.examine import AnalystCall, Examination, Piece, examine
from keygen.core.infer import Contradiction, conflict
from keygen.core.model import ADDED, Rules
from keygen.core.observe import Observation, observations
from keygen.core.walk import Position
from keygen.errors import KeygenError, Problem
from keygen.rulebase.bounded import bytes_of, text_of
from keygen.rulebase.fields import Fields
from keygen.rulebase.yamlio import Document, parse
from keygen.specimens import path
from keygen.specimens.emit import block
from keygen.specimens.files import write_whole
from keygen.specimens.given import readings
from keygen.specimens.history import (
    KeyCall,
    history_text,
    key_call,
    read_history,
    read_key_call,
    write_key_call,
)
from keygen.specimens.observed import Observed, read_observed, write_observed
from keygen.specimens.provenience import CONTEXT, check_date, remarks, set_apart
from keygen.specimens.regions import region_of, regions_near
from keygen.specimens.scored import read_scored, write_scored
from keygen.specimens.terms import Lexicon

FORMAT = "1"


@dataclass(frozen=True)
class Specimen:
    """A record: the piece, where and with which rules it was recorded, and the path walked.

    `location` is an exact place. It is kept in the file and is deliberately not part of the piece,
    so that nothing printed from a piece can hold it. `key_call` is the key's call as it was made,
    `places` the line and column of each observation in the file.
    """

    piece: Piece
    region: str = ""
    edition: str = ""
    digest: str = ""
    path: str = ""
    location: str = ""
    remarks: tuple[str, ...] = ()
    key_call: KeyCall | None = None
    places: Mapping[int, tuple[int, int]] = field(default_factory=dict, compare=False)


def observed_at(rules: Rules, position: Position) -> Observed:
    """Return what somebody looked at in a walk, without what only follows from it."""
    return {
        i: observation
        for i, observation in enumerate(observations(rules, position))
        if observation.how in ("seen", "unsure", "measured")
        or (observation.how == "missing" and observation.at)
    }


def read_text(lexicon: Lexicon, text: str, name: str) -> Specimen:
    """Read a record.

    Args:
        lexicon: the words of the rules to read it with.
        text: the whole file.
        name: how messages call the file.

    Raises:
        KeygenError: the file is not a record; every problem in it, with line and column.
    """
    problems: list[Problem] = []
    document = parse(text, name, as_text=True)
    if not isinstance(document.data, dict) or "keygen_record" not in document.data:
        what = "this is not a specimen record"
        remedy = f"A record begins with 'keygen_record: {FORMAT}'."
        raise KeygenError(document.problem((), "K301", what, remedy))
    top = Fields(document, problems)
    if top.text("keygen_record") != FORMAT:
        top.fault("K301", f"only format {FORMAT} can be read", "keygen_record")
    specimen = _read(lexicon, top, name)
    top.done()
    if problems:
        raise KeygenError([*problems, *_other_rules(lexicon.rules, specimen, document)])
    return specimen


def _other_rules(rules: Rules, specimen: Specimen, document: Document) -> Iterator[Problem]:
    """Say of a record that cannot be read if it was made with an addition to the rules."""
    made = (specimen.edition, specimen.key_call.edition if specimen.key_call else "")
    edition = next((e for e in made if ADDED in e and e != rules.edition), "")
    if edition:
        what = f"it was made with the rules {edition!r}, not with {rules.edition!r}"
        remedy = "Give --rules the folder of that addition."
        yield document.problem(("rules",), "K314", what, remedy)


def _read(lexicon: Lexicon, top: Fields, name: str) -> Specimen:
    rules = lexicon.rules
    label = top.text("specimen", "")
    written = top.text("region", "")
    region = region_of(rules, written) if written else ""
    if written and not region:
        remedy = regions_near(rules, written)
        top.fault("K005", f"the region {written!r} is not known", "region", remedy)
    edition = top.child("rules")
    edition_name, digest = edition.text("edition", ""), edition.text("digest", "")
    edition.done()
    details = {"observer": top.text("observer", ""), "date": _date(top)}
    places: dict[int, tuple[int, int]] = {}
    observed = read_observed(lexicon, top.child("observed"), places)
    measured = readings(rules, top.child("measurements"))
    details |= read_scored(rules, top.child("scored"))
    details |= {"material": top.text("material", ""), "colour": top.text("colour", "")}
    context = top.child("context")
    details |= {key: context.text(key, "") for key in CONTEXT}
    location = context.text("location", "")
    context.done()
    notes = top.text("notes", "")
    told = tuple(f"{r.field}: {r.text}" for r in remarks({**details, "date": "", "notes": notes}))
    details, location = set_apart(details, location)
    walked = top.text("path", "")
    if walked and not top.has("observed"):
        observed, doubts = _follow(lexicon, top, name, walked)
        told += doubts
    piece = Piece(
        label=label,
        observations=observed,
        readings=measured,
        details={key: text for key, text in details.items() if text},
        analyst=_analyst(top),
        notes=notes,
        history=read_history(top),
    )
    made = read_key_call(top)
    return Specimen(piece, region, edition_name, digest, walked, location, told, made, places)


def _date(entry: Fields) -> str:
    text = entry.text("date", "")
    if text:
        try:
            check_date(text)
        except ValueError as error:
            entry.fault("K302", str(error), "date")
    return text


def _follow(
    lexicon: Lexicon, top: Fields, name: str, walked: str
) -> tuple[Observed, tuple[str, ...]]:
    try:
        read = path.read(lexicon, walked, name)
    except KeygenError as error:
        top.refused(error, "path")
        return {}, ()
    return observed_at(lexicon.rules, read.position), read.remarks


def _analyst(top: Fields) -> AnalystCall | None:
    if not top.has("analyst"):
        top.child("analyst")
        return None
    entry = top.child("analyst")
    found = AnalystCall(
        entry.text("call"), entry.text("reason"), entry.text("by", ""), _date(entry)
    )
    entry.done()
    return found


def to_text(rules: Rules, specimen: Specimen) -> str:
    """Return a record as YAML, its keys always in the same order."""
    piece = specimen.piece
    details = piece.details
    context = {key: details.get(key, "") for key in CONTEXT} | {"location": specimen.location}
    analyst = piece.analyst
    entries: dict[str, Any] = {
        "specimen": piece.label,
        "region": specimen.region,
        "rules": _filled({"edition": specimen.edition, "digest": specimen.digest}),
        "observer": details.get("observer", ""),
        "date": details.get("date", ""),
        "observed": write_observed(rules, piece.observations),
        "measurements": {
            name: piece.readings[name].entered
            for name in rules.measurements
            if name in piece.readings
        },
        "scored": write_scored(rules, details),
        "material": details.get("material", ""),
        "colour": details.get("colour", ""),
        "context": _filled(context),
        "path": specimen.path,
        "key_call": write_key_call(specimen.key_call),
        "analyst": _filled(vars(analyst)) if analyst else {},
        "notes": piece.notes,
    }
    return f"keygen_record: {FORMAT}\n" + block(_filled(entries)) + history_text(piece.history)


def _filled(entries: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in entries.items() if value}


def load(lexicon: Lexicon, file: Path) -> Specimen:
    """Read a record from disk.

    Raises:
        KeygenError: it is not a record.
        OSError: it cannot be opened.
    """
    name = str(file)
    return read_text(lexicon, text_of(bytes_of(file, name), name), name)


def save(rules: Rules, specimen: Specimen, file: Path) -> None:
    """Write a new record, whole or not at all.

    Raises:
        KeygenError: a file of this name exists.
        OSError: the folder cannot be written.
    """
    write_whole(file, to_text(rules, specimen))


def examined(
    rules: Rules,
    piece: Piece,
    region: str,
    name: str = "",
    places: Mapping[int, tuple[int, int]] | None = None,
) -> Examination:
    """Work out what follows from a piece, with a readable error if it contradicts itself.

    Args:
        rules: the rules.
        piece: what was recorded.
        region: the region's id, or nothing for no call.
        name: how messages call the piece.
        places: the line and column of its observations, if it has a file.

    Raises:
        KeygenError: no piece can have the recorded states together.
    """
    try:
        return examine(rules, piece, region)
    except Contradiction:
        clash = contradiction(rules, piece.observations)
        remedy = "One of them must be wrong; record what is doubtful as several states."
        known = (places or {}).get
        at = min(
            (p for i in _clashing(rules, piece.observations) if (p := known(i))), default=(0, 0)
        )
        raise KeygenError(Problem(name, *at, "K303", clash, remedy)) from None


def judged(rules: Rules, specimen: Specimen) -> Specimen:
    """Return a record with the key's call for its region, as these rules make it.

    Raises:
        KeygenError: as `examined`.
    """
    found = examined(rules, specimen.piece, specimen.region)
    return replace(specimen, key_call=key_call(rules, found))


def contradiction(rules: Rules, observed: Mapping[int, Observation]) -> str:
    """Return a sentence naming observations that no piece can have together."""
    named = []
    for i in _clashing(rules, observed):
        attribute = rules.attributes[i]
        mask = observed[i].mask if i in observed else attribute.full
        named.append(f"{attribute.id}={'/'.join(attribute.ids(mask))}")
    if not named:
        return "what is recorded cannot stand together"
    return "no piece can show these together: " + ", ".join(named)


def _clashing(rules: Rules, observed: Mapping[int, Observation]) -> Sequence[int]:
    full = enumerate(rules.full)
    return conflict(rules, [observed[i].mask if i in observed else mask for i, mask in full])
