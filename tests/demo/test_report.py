"""The report of the invented survey: what it holds, and what it says once."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode

from keygen.cli.demo import TITLE, outcomes
from keygen.collection.house import House
from keygen.collection.report import write_report
from keygen.collection.told import references, tell
from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.prose import sentences
from keygen.prose.ages import short_citation

Survey = Mapping[str, Examination]


class MarkdownSnapshots(SingleFileSnapshotExtension):
    """One readable file."""

    file_extension = "md"
    _write_mode = WriteMode.TEXT


@pytest.fixture(scope="module")
def text(rules: Rules, survey: Survey) -> str:
    """Return the report of the invented survey as Markdown."""
    rows = outcomes(survey.values())
    preface = "All of it is invented."
    return write_report(rules, rows, ".md", TITLE, group_by="", preface=preface).decode()


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
    table = text.split("Table 1. ")[1].split("Table 2. ")[0]
    lines = [line for line in table.splitlines() if line.startswith("| VS-")]
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


def test_every_short_citation_is_resolved(rules: Rules, survey: Survey) -> None:
    """A work cited in an age by author and year stands among the references under that year."""
    house = House(rules)
    listed = references(house, [tell(house, each) for each in outcomes(survey.values())])
    for examination in survey.values():
        for told in sentences(rules, examination):
            for key in told.sources if told.slot == "age" else ():
                author, _, year = short_citation(rules.sources[key]).rpartition(" ")
                first = author.split(" ")[0]
                assert any(work.startswith(first) and year in work for work in listed)
