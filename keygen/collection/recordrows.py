"""Specimen records as the rows of a table, so that a table made into records can be had back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from keygen.collection.mapping import DETAILS
from keygen.collection.model import Fault, Row
from keygen.core.model import PRESENT, Rules
from keygen.core.observe import Observation
from keygen.errors import KeygenError
from keygen.specimens import record
from keygen.specimens.record import Specimen
from keygen.specimens.terms import Lexicon

NO_REASON = "not given in the table"  # a record has to say a reason for a call


def header_of(rules: Rules) -> tuple[str, ...]:
    """Return the columns in which every record can be written; an item of damage has its own."""
    return (
        *("specimen", "region", *DETAILS),
        *(attribute.id for attribute in rules.attributes),
        *rules.measurements,
        *("call", "call_reason", "call_by", "call_date", "notes", "location"),
    )


def cells_of_record(rules: Rules, specimen: Specimen) -> tuple[str, ...]:
    """Return a record in these columns. Its path and history are not part of a table."""
    piece, own = specimen.piece, specimen.piece.analyst
    reason = own.reason if own and own.reason != NO_REASON else ""
    return (
        *(piece.label, specimen.region),
        *(piece.details.get(name, "") for name in DETAILS),
        *(_cell(rules, i, piece.observations.get(i)) for i in range(len(rules.attributes))),
        *(piece.readings[m].entered if m in piece.readings else "" for m in rules.measurements),
        *((own.call, reason, own.by, own.date) if own else ("", "", "", "")),
        *(piece.notes, specimen.location),
    )


def _cell(rules: Rules, index: int, observation: Observation | None) -> str:
    attribute = rules.attributes[index]
    if observation is None:
        return ""
    if observation.mask == attribute.full and observation.how in ("unsure", "missing"):
        return "?" if observation.how == "unsure" else "missing"
    if attribute.item_of:
        return "present" if observation.mask == PRESENT else "absent"
    measured = " (measured)" if observation.how == "measured" else ""
    return "/".join(attribute.ids(observation.mask)) + measured


def record_rows(lexicon: Lexicon, files: Sequence[Path]) -> Iterator[Row]:
    """Yield a row a record; one that cannot be read is an empty row that says why."""
    width = len(header_of(lexicon.rules))
    for number, file in enumerate(files, 2):
        try:
            specimen = record.load(lexicon, file)
        except KeygenError as error:
            faults = tuple(
                Fault(number, "", p.where or str(file), p.what, p.remedy) for p in error.problems
            )
            yield Row(number, ("",) * width, 0, faults)
        else:
            yield Row(number, cells_of_record(lexicon.rules, specimen))
