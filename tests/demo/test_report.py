"""The report of several pieces: what it holds, and what it says once."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

import pytest
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode

from keygen.cli.demo import TITLE
from keygen.core.examine import AnalystCall, Examination
from keygen.core.model import Basis, Rules
from keygen.prose import sentences
from keygen.prose.ages import short_citation
from keygen.prose.report import references, report
from tests.prose import pieces

Survey = Mapping[str, Examination]
TAPERED = {
    "haft_style": "stemmed",
    "stem_shape": "contracting",
    "base_shape": "rounded",
    "haft_grinding": "none",
}


class MarkdownSnapshots(SingleFileSnapshotExtension):
    """One readable file."""

    file_extension = "md"
    _write_mode = WriteMode.TEXT


@pytest.fixture(scope="module")
def text(rules: Rules, survey: Survey) -> str:
    """Return the report of the invented survey."""
    return report(rules, list(survey.values()), TITLE, "All of it is invented.")


def test_reads_as_reviewed(rules: Rules, text: str, snapshot: SnapshotAssertion) -> None:
    """The report reads as it was last reviewed; only the rules' digest may differ."""
    assert text.replace(rules.digest, "DIGEST") == snapshot(extension_class=MarkdownSnapshots)


def test_holds_every_sentence(rules: Rules, survey: Survey, text: str) -> None:
    """Each sentence of each description stands in the report, but for what is said once."""
    for examination in survey.values():
        for told in sentences(rules, examination):
            if told.slot != "cautions":
                assert told.text in text


def test_table_has_a_line_a_specimen(survey: Survey, text: str) -> None:
    """The table has one line for every specimen, with five cells."""
    lines = [line for line in text.splitlines() if line.startswith("| VS-")]
    assert [line.split(" | ")[0] for line in lines] == [f"| {number}" for number in survey]
    assert {line.count("|") for line in lines} == {6}


def test_cautions_are_said_once(rules: Rules, text: str) -> None:
    """A caution that holds for many pieces stands once; sampling stays with its piece."""
    assert text.count(rules.cautions["construct"].text) == 1
    before, after = text.split("### VS-13")
    assert rules.cautions["sampling"].text not in before
    assert rules.cautions["sampling"].text in after.split("### VS-14")[0]


def test_sites_stay_out(survey: Survey, text: str) -> None:
    """No site and no unit is in the report."""
    for examination in survey.values():
        details = examination.piece.details
        assert details["site"] not in text
        assert details["unit"] not in text


def test_references_are_those_used(rules: Rules, survey: Survey, text: str) -> None:
    """The works are those behind calls, ages and measures, in order and each once."""
    listed = re.findall(r"^- (.+)$", text, re.M)
    used = {
        key
        for e in survey.values()
        for told in sentences(rules, e)
        if told.slot in ("call", "age", "support")
        for key in told.sources
    }
    measured = {
        key
        for e in survey.values()
        for d in (*e.derived.values(), *(x.derivation for x in e.disagreements))
        for key in d.sources
    }
    assert len(listed) == len(used | measured)
    assert listed == sorted(set(listed))


def test_every_short_citation_is_resolved(rules: Rules, survey: Survey) -> None:
    """A work cited in an age by author and year stands among the references under that year."""
    listed = references(rules, list(survey.values()))
    for examination in survey.values():
        for told in sentences(rules, examination):
            for key in told.sources if told.slot == "age" else ():
                author, _, year = short_citation(rules.sources[key]).rpartition(" ")
                first = author.split(" ")[0]
                assert any(work.startswith(first) and year in work for work in listed)


@pytest.mark.parametrize(
    ("bases", "mark"),
    [
        (("memory", "memory"), " (From memory, to be verified.)"),
        (("memory", "read"), " (In part from memory, to be verified.)"),
        (("read", "read"), ""),
    ],
)
def test_memory_is_marked(bases: tuple[Basis, Basis], mark: str) -> None:
    """A work cited from memory is marked, wholly or in part, and one that was read is not."""
    rules = pieces.rules()
    (kind,) = (t for t in rules.types.values() if t.name == "Alder Stemmed")
    definition, age = bases
    records = tuple(replace(r, basis=age) for r in kind.records)
    changed = replace(kind, basis=definition, records=records)
    types = {**rules.types, kind.id: changed}
    examination = pieces.examined("east", **TAPERED)
    (work,) = (
        w for w in references(replace(rules, types=types), [examination]) if w.startswith("Able")
    )
    assert work == rules.sources["able1964"].cite + mark


def test_markup_in_a_record_stays_text() -> None:
    """Signs of Markdown in what an analyst wrote are printed and do not mark anything up."""
    examination = pieces.examined(
        "east",
        label="a|b*",
        details={"material": "chert_<b>"},
        analyst=AnalystCall("own | name", "of `this`"),
        **TAPERED,
    )
    text = report(pieces.rules(), [examination], "*T*")
    assert "# \\*T\\*\n" in text
    assert "### a\\|b\\*\n" in text
    assert "chert\\_\\<b>" in text
    assert "the analyst: own \\| name |" in text


def test_without_region_and_number() -> None:
    """A piece without region has no call, and one without number a heading that says so."""
    text = report(pieces.rules(), [pieces.examined(**TAPERED)], "T")
    assert "### Without a number\n" in text
    assert "|  | not given | not recorded | no region, no call | none given |" in text
    assert "research region (" not in text
