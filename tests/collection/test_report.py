"""The report of a collection: what it holds, what it says once, and what it leaves out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

from keygen.cli.demo import examined, outcomes, records
from keygen.collection.document import Block, Document, Heading, Items, Paragraph, Table
from keygen.collection.house import House
from keygen.collection.model import Column, Fault, Outcome
from keygen.collection.report import SUFFIXES, Grouping, report, write_report
from keygen.collection.told import references, tell
from keygen.core.basis import Basis
from keygen.core.examine import AnalystCall, Piece
from keygen.core.model import Rules
from keygen.errors import KeygenError
from keygen.prose import sentences
from keygen.prose.ages import full_citation
from tests.collection.reported import HOUSE, NOTCHED, TAPERED, contradicting, row, told
from tests.prose import pieces

CITING = ("call", "age", "support", "indices")
PLACE = "35.12345, -83.54321"


def _under(document: Document, head: str) -> Iterator[Block]:
    """Return the blocks under a heading of the first level."""
    inside = False
    for block in document.blocks:
        if isinstance(block, Heading) and block.level == 1:
            inside = block.text == head
        elif inside:
            yield block


def _table(document: Document, caption: str) -> Table:
    (table,) = (
        b for b in document.blocks if isinstance(b, Table) and b.caption.startswith(caption)
    )
    return table


def _texts(document: Document, head: str) -> list[str]:
    return [b.text for b in _under(document, head) if isinstance(b, Paragraph)]


def _heads(document: Document) -> list[tuple[int, str]]:
    blocks = _under(document, "Descriptions")
    return [(b.level, b.text) for b in blocks if isinstance(b, Heading)]


@pytest.fixture(scope="module")
def survey(rules: Rules) -> list[Outcome]:
    """Return the invented survey of the demo as rows."""
    return outcomes(examined(rules, records()))


def test_references_are_those_used(rules: Rules, survey: list[Outcome]) -> None:
    """For every specimen alone the works are those behind its calls, ages and measures."""
    for outcome in survey:
        found = outcome.examination
        assert found is not None
        told = [s for s in sentences(rules, found) if s.slot in CITING]
        grounds = {key for i in rules.indices.values() for g in i.grounds for key in g.sources}
        used = {k for s in told for k in s.sources if s.slot != "indices" or k in grounds}
        for rule in (*found.derived.values(), *(d.derivation for d in found.disagreements)):
            used |= set(rule.sources)
        listed = references(House(rules), [tell(House(rules), outcome)])
        plain = {
            re.sub(r" \((From|In part from) memory, to be verified\.\)$", "", w) for w in listed
        }
        assert plain == {full_citation(rules.sources[key]) for key in used}


def test_references_of_all_are_those_of_each(rules: Rules, survey: list[Outcome]) -> None:
    """The report lists the works of its specimens, each once, in order, and no others."""
    house = House(rules)
    each = [tell(house, outcome) for outcome in survey]
    (items,) = (b for b in report(house, each).blocks if isinstance(b, Items))
    cites = {full_citation(s): key for key, s in rules.sources.items()}
    keys = [next(key for cite, key in cites.items() if w.startswith(cite)) for w in items.texts]
    assert set(keys) == {key for one in each for key, _ in one.used}
    assert len(keys) == len(set(keys))
    assert list(items.texts) == sorted(items.texts)


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
    given = tuple(replace(r, basis=age) for r in kind.records)
    types = {**rules.types, kind.id: replace(kind, basis=definition, records=given)}
    house = House(replace(rules, types=types))
    works = references(house, [tell(house, row("east", **TAPERED))])
    (work,) = (w for w in works if w.startswith("Able"))
    assert work == rules.sources["able1964"].cite + mark


def test_groups_by_type() -> None:
    """Descriptions stand under the type called, then several types, untyped and not called."""
    rows = [
        row("", label="a", **TAPERED),
        row("west", label="b", **NOTCHED),
        row("west", label="c", **TAPERED),
        row("east", label="d", **NOTCHED),
        row("east", label="e", **TAPERED),
        row("east", label="f", **TAPERED),
    ]
    assert _heads(report(HOUSE, told(*rows), group_by="type")) == [
        *((2, "Alder Stemmed"), (3, "e"), (3, "f")),
        *((2, "Birch Stemmed"), (3, "c")),
        *((2, "Several types possible"), (3, "d")),
        *((2, "Untyped"), (3, "b")),
        *((2, "Not called"), (3, "a")),
    ]


def test_groups_by_provenience() -> None:
    """Sites, units and levels stand in the order in which people count; no place goes last."""
    rows = [
        row("east", label=label, details=details, **TAPERED)
        for label, details in (
            ("a", {}),
            ("b", {"site": "Low Field", "unit": "square 10", "level": "2"}),
            ("c", {"site": "Low Field", "unit": "square 9", "level": "2"}),
            ("d", {"provenience": PLACE}),
        )
    ]
    assert _heads(report(HOUSE, told(*rows), group_by="provenience")) == [
        *((2, "[location withheld]"), (3, "d")),
        *((2, "Low Field, square 9, 2"), (3, "c")),
        *((2, "Low Field, square 10, 2"), (3, "b")),
        *((2, "Without provenience"), (3, "a")),
    ]


def test_no_groups() -> None:
    """Without grouping specimens stand in the order of the rows, right under the section."""
    rows = [row("west", label="b", **TAPERED), row("east", label="a", **TAPERED)]
    assert _heads(report(HOUSE, told(*rows), group_by="")) == [(2, "b"), (2, "a")]


@pytest.mark.parametrize("suffix", [".md", ".html"])
@pytest.mark.parametrize("group_by", ["", "type", "provenience"])
def test_locations_never_appear(suffix: str, group_by: Grouping) -> None:
    """No coordinates come into a report, wherever in a row they were written."""
    faults = (
        Fault(2, "Lat", "35.98765", "'35.98765' is not read", "Try 35.98765."),
        Fault(2, "Remarks", PLACE, f"{PLACE} is no state", f"Did you mean {PLACE}?"),
    )
    given = row(
        "east",
        faults=faults,
        details={"site": PLACE, "material": f"chert from {PLACE}"},
        analyst=AnalystCall(f"Kirk {PLACE}", f"found at {PLACE}"),
        **TAPERED,
    )
    assert given.examination is not None
    noted = replace(given.examination.piece, notes=f"Found at {PLACE}.")
    changed = given._replace(examination=replace(given.examination, piece=noted))
    columns = (Column("Lat", "location"), Column("Box", "unread"))
    data = write_report(
        pieces.rules(), [changed], suffix, group_by=group_by, columns=columns
    ).decode()
    assert "location withheld" in data
    assert not re.search(r"35\.\d{5}|83\.5432", data)
    assert "Exact locations (Lat) are confidential and are left out" in data
    assert "Columns not used: Box." in data


def test_a_row_that_contradicts_itself() -> None:
    """It stands in the table and among the problems, is counted, and has no description."""
    other = contradicting("east", number=7, label="b", tip="acute")
    document = report(HOUSE, told(row("east", label="a", **TAPERED), other))
    assert _table(document, "The 2 specimens").rows[1] == (
        *("b", "Eastern Valley", "not recorded", "contradicts itself, not called", "none given"),
    )
    assert _table(document, "What could").rows == (
        ("7", "b", "", "", "not used", "What was recorded contradicts itself."),
    )
    assert _texts(document, "Methods")[1] == (
        "Of two specimens one is described; one contradicts itself and is neither described nor "
        'called. These rows are listed under "Rows with problems".'
    )
    assert _heads(document) == [(2, "Alder Stemmed"), (3, "a")]
    assert ("Not called", "", "", "1", "") in _table(document, "Specimens by type").rows


def test_a_row_that_could_not_be_read() -> None:
    """A row of which nothing was read is told apart from one that contradicts itself."""
    rows = [contradicting(number=4), contradicting("east", number=5, tip="acute")]
    document = report(HOUSE, told(*rows))
    assert [r[3] for r in _table(document, "The 2 specimens").rows] == [
        *("could not be read, not called", "contradicts itself, not called"),
    ]
    assert _texts(document, "Methods")[1].startswith(
        "Of two specimens none is described; one contradicts itself and one could not be read"
    )
    assert not _heads(document)


def test_faults_are_listed() -> None:
    """Every fault has its line with what became of it, and the methods count the rows."""
    bad = Fault(2, "Base", "conkave", "'conkave' is no state of it", "Did you mean 'incurvate'?")
    odd = Fault(3, "L", "4.3", "4.3 mm is hardly possible", grade="warning")
    rows = [
        row("east", label="a", faults=(bad, replace(odd, row=2)), **TAPERED),
        row("east", number=3, faults=(odd,), **TAPERED),
    ]
    document = report(HOUSE, told(*rows))
    assert _table(document, "What could").rows == (
        *(
            ("2", "a", "Base", "conkave", "not used", f"{bad.what}. {bad.remedy}"),
            ("2", "a", "L", "4.3", "used, needs checking", f"{odd.what}."),
            (
                "3",
                "Without a number (row 3)",
                "L",
                "4.3",
                "used, needs checking",
                f"{odd.what}.",
            ),
        ),
    )
    assert (
        "In one row something could not be read: it counts as not recorded, and the rest of the "
        "row is used. In one row all was read, but something needs checking."
    ) in _texts(document, "Methods")[1]


def test_calls_of_analysts() -> None:
    """Each own call stands beside the key's, with whether they agree, the reason and who."""
    rows = [
        row("east", label="a", analyst=AnalystCall("alder stemmed", "", "X. T."), **TAPERED),
        row("east", label="b", analyst=AnalystCall("Oak", "thin", "", "2026-03-17"), **TAPERED),
        row("east", label="c", **TAPERED),
    ]
    document = report(HOUSE, told(*rows))
    assert _table(document, "Calls made").rows == (
        ("a", "Alder Stemmed", "Alder Stemmed", "agree", "", "X. T."),
        ("b", "Alder Stemmed", "Oak", "differ", "thin", "2026-03-17"),
    )
    assert _table(document, "The 3").rows[1][3] == "Alder Stemmed; the analyst: Oak"


def test_eye_against_measurement() -> None:
    """A state that measurements do not bear out is listed with both and the figures."""
    measures = {"base_width": "20.0", "neck_width": "10.0"}
    document = report(HOUSE, told(row("east", label="a", measures=measures, **TAPERED)))
    assert _table(document, "Observations").rows == (
        ("a", "stem", "contracting", "expanding", "basal width 20.0 mm and neck width 10.0 mm"),
    )


def test_measurements_as_entered() -> None:
    """Figures stand as entered: a plus across a break, another unit named, nothing rounded."""
    rows = [
        row("east", label="a", measures={"length": "34,20+", "weight": "4"}, **TAPERED),
        row("east", label="b", measures={"length": "3.4 cm", "psa": "95"}, **TAPERED),
        row("east", label="c", **TAPERED),
    ]
    table = _table(report(HOUSE, told(*rows)), "Measurements")
    assert table.head == (
        "Specimen",
        "Maximum length, mm",
        "Weight, g",
        "Proximal shoulder angle, °",
    )
    assert table.rows == (("a", "34.20+", "4", ""), ("b", "3.4 cm", "", "95"))
    assert not table.wide


def test_methods_name_the_rules(rules: Rules, survey: list[Outcome]) -> None:
    """The methods give the edition and digest, and each region with how many types it has."""
    house = House(rules)
    (text, rows, _) = _texts(report(house, [tell(house, o) for o in survey]), "Methods")
    assert f"edition {rules.edition} (digest {rules.digest})" in text
    count = len(rules.in_region("ozarks"))
    assert f"{rules.regions['ozarks'].label}, {count} types" in text
    assert rows == "All 16 specimens are described."


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_nothing_at_all(suffix: str) -> None:
    """An empty collection gives a report that says so."""
    assert write_report(pieces.rules(), [], suffix)
    assert _texts(report(HOUSE, []), "Methods")[-1] == "There is no specimen."


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_same_input_same_bytes(suffix: str) -> None:
    """The same rows give the same file, whenever it is written."""
    rows = [row("east", label="a", **TAPERED), contradicting(label="b")]
    assert write_report(pieces.rules(), rows, suffix) == write_report(pieces.rules(), rows, suffix)


def test_no_such_suffix_or_group() -> None:
    """An ending or a grouping that does not exist is refused with the nearest."""
    with pytest.raises(KeygenError, match=r"K480.*'\.doc'.*Did you mean '\.docx'"):
        write_report(pieces.rules(), [], ".doc")
    with pytest.raises(KeygenError, match=r"K481.*'types'.*Did you mean 'type'"):
        write_report(pieces.rules(), [], ".md", group_by="types")  # type: ignore[arg-type]


def test_a_row_of_totals_is_no_specimen_of_a_report(rules: Rules, survey: list[Outcome]) -> None:
    """It is neither listed nor counted among the specimens, and is found among the problems."""
    entry = survey[0].entry
    fault = Fault(99, "Specimen", "TOTAL", "sums up", "", "warning")
    summed = entry._replace(
        piece=Piece(label="TOTAL"),
        row=entry.row._replace(number=99),
        faults=(fault,),
        specimen=False,
    )
    lines = [*survey[1:], Outcome(summed, None)]
    document = report(House(rules), [tell(House(rules), outcome) for outcome in lines])
    tables = [block for block in document.blocks if isinstance(block, Table)]
    assert ["TOTAL" in str(table.rows) for table in tables] == [False] * (len(tables) - 1) + [True]
    assert f"{len(survey) - 1} specimens" in tables[0].caption
