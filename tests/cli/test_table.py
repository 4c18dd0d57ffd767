"""`keygen table`: outputs, messages and exit codes."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from pathlib import Path

import openpyxl
import pytest

from keygen.collection.result import OWN
from tests.cli.conftest import Run
from tests.collection import finds

REGION = ("--region", "hills")


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """Return the sample table as a file."""
    return finds.file(tmp_path)


def read_csv(file: Path) -> list[dict[str, str]]:
    """Return the rows of a CSV file."""
    with file.open(newline="", encoding="utf-8") as handle:
        return list(csv.DictReader(handle))


def names(folder: Path) -> list[str]:
    """Return the names in a folder."""
    return sorted(path.name for path in folder.iterdir())


def test_all_formats_at_once(run: Run, table: Path) -> None:
    """Every `--out` is written in the format of its ending, from one run."""
    folder = table.parent
    outs = [folder / f"o.{suffix}" for suffix in ("csv", "xlsx", "jsonl", "md", "html", "docx")]
    result = run("table", table, *REGION, *(x for out in outs for x in ("--out", out)))
    assert result.exit_code == 1, result.stderr
    rows = read_csv(outs[0])
    assert [row["Specimen"] for row in rows] == ["T-1", "T-2", "T-3", "T-4"]
    sheet = openpyxl.load_workbook(outs[1]).active
    assert sheet is not None
    cells = [["" if v is None else str(v) for v in r] for r in sheet.iter_rows(values_only=True)]
    assert cells[0] == [*rows[0]]
    assert cells[1][-3:] == [*rows[0].values()][-3:]
    lines = [json.loads(line) for line in outs[2].read_text(encoding="utf-8").splitlines()]
    assert [line["specimen"] for line in lines] == ["T-1", "T-2", "T-3", "T-4"]
    assert lines[0]["text"] == rows[0]["description"]
    for out in outs[3:5]:
        assert "Alder Stemmed" in out.read_text(encoding="utf-8")
    assert zipfile.ZipFile(outs[5]).testzip() is None
    assert result.stderr.count(" written\n") == 6


def test_the_summary_and_the_problems(run: Run, table: Path) -> None:
    """Without `--out` the counts are printed, the problems told, and the exit code is 1."""
    result = run("table", table, *REGION)
    assert result.exit_code == 1
    assert result.stdout.splitlines()[0] == "4 rows: 2 assigned, 1 either, 1 contradictory"
    assert "Alder Stemmed  2         0    1" in result.stdout
    assert "analyst's own call: 1 agree, 1 still possible, 1 differ" in result.stdout
    assert "Birch Stemmed  Alder Stemmed  1" in result.stdout
    assert "Birch Stemmed  several types  1" in result.stdout
    assert "Problems: 2 errors in 2 rows, 0 warnings" in result.stderr
    assert "3    Base shape" in result.stderr
    assert "Did you mean 'straight'?" in result.stderr


def test_the_summary_as_json(run: Run, table: Path) -> None:
    """`--format json` prints the counts, agreement, problems and rules."""
    result = run("table", table, *REGION, "--format", "json")
    data = json.loads(result.stdout)
    assert data["rows"] == 4
    assert data["statuses"] == {"assigned": 2, "either": 1, "contradictory": 1}
    assert data["types"]["alder"] == {"assigned": 2, "either": 1}
    assert data["own_calls"]["agree"] == 1
    assert data["own_calls"]["still_possible"] == 1
    assert {"own": "Birch Stemmed", "key": "Alder Stemmed", "rows": 1} in data["own_calls"]["pairs"]
    assert data["problems"]["rows_with_errors"] == 2
    assert data["rules"]["edition"] == "0.1"


def test_a_clean_table_ends_with_0(run: Run, tmp_path: Path) -> None:
    """Warnings alone are no findings: the exit code is 0."""
    text = "specimen,stem_shape,length\nA,contracting,48.2\nA,contracting,45\n"
    result = run("table", finds.file(tmp_path, text), *REGION)
    assert result.exit_code == 0
    assert "Problems: no errors, 1 warning\n" in result.stderr
    assert "is also in row 2" in result.stderr


def test_problems_are_listed_in_full(run: Run, tmp_path: Path) -> None:
    """The first problems are shown, all of them are in the file of `--problems`."""
    body = "".join(f"A-{i},bent\n" for i in range(30))
    table = finds.file(tmp_path, f"specimen,stem_shape\n{body}")
    listed = tmp_path / "problems.csv"
    result = run("table", table, *REGION, "--problems", listed)
    assert result.exit_code == 1
    assert "(and 29 more like it)" in result.stderr
    assert f"each of them is in {listed}" in result.stderr
    found = read_csv(listed)
    assert len(found) == 30
    assert (found[7]["row"], found[7]["column"], found[7]["found"]) == ("9", "stem_shape", "bent")
    assert found[7]["grade"] == "error"


@pytest.mark.parametrize("locations", [False, True])
def test_exact_locations_are_withheld(run: Run, table: Path, locations: bool) -> None:
    """A coordinate of a location column is in no output of any format, unless it is asked for."""
    folder = table.parent / "out"
    folder.mkdir()
    outs = [folder / f"o.{suffix}" for suffix in ("csv", "xlsx", "jsonl", "md", "html", "docx")]
    more = ["--include-locations"] if locations else []
    result = run(
        "table", table, *REGION, *(x for out in outs for x in ("--out", out)), *more,
        "--problems", folder / "p.csv", "--records", folder / "records",
    )  # fmt: skip
    assert result.exit_code == 1
    printed = result.stdout + result.stderr
    told = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    for path in (outs[1], outs[5]):
        archive = zipfile.ZipFile(path)
        told[path] = b"".join(archive.read(name) for name in archive.namelist())
    holding = {path.name for path, data in told.items() if finds.EAST.encode() in data}
    if locations:
        assert holding >= {"o.csv", "o.xlsx", "o.jsonl", "T-1.yaml"}
        assert "16 U.S.C. 470hh" in result.stderr
        assert "54 U.S.C. 307103" in result.stderr
    else:
        assert holding == set()
        assert "Left out, as exact locations: UTM E, UTM N" in result.stderr
    assert finds.EAST not in printed
    assert len(told) == 6 + 1 + 4


def test_a_row_out_of_step_gives_no_location_away(run: Run, tmp_path: Path) -> None:
    """A row with a cell too many, or a stray quotation mark, is withheld whole, and told."""
    lines = finds.TABLE.splitlines()
    extra = lines[1].replace("T-1,", "T-8,x,")
    stray = lines[1].replace("T-1,stemmed", 'T-9,"stemmed"x')
    table = finds.file(tmp_path, "\n".join([*lines[:2], extra, stray, ""]))
    out, listed = tmp_path / "o.csv", tmp_path / "p.csv"
    result = run("table", table, *REGION, "--out", out, "--problems", listed)
    assert result.exit_code == 1
    for text in (result.stderr, out.read_text("utf-8"), listed.read_text("utf-8")):
        assert finds.EAST not in text
        assert finds.NORTH not in text
    assert [row["key call"] for row in read_csv(out)] == ["assigned", "not read", "not read"]
    assert "are withheld with the exact locations" in result.stderr


def test_live_cells_are_dead_in_every_table(run: Run, table: Path) -> None:
    """A formula and a negative number come out as text, and JSON Lines have them as they were."""
    folder = table.parent
    outs = [folder / f"o.{suffix}" for suffix in ("csv", "xlsx", "jsonl")]
    run("table", table, *REGION, *(x for out in outs for x in ("--out", out)))
    assert [row["Notes"] for row in read_csv(outs[0])] == ["'=1+1", "two\nlines", "'-5.3", ""]
    sheet = openpyxl.load_workbook(outs[1]).active
    assert sheet is not None
    assert {cell.data_type for row in sheet.iter_rows() for cell in row if cell.value} == {"s"}
    lines = [json.loads(line) for line in outs[2].read_text(encoding="utf-8").splitlines()]
    assert [line["columns"]["Notes"] for line in lines] == ["=1+1", "two\nlines", "-5.3", ""]


def test_our_own_csv_is_read_back(run: Run, table: Path) -> None:
    """The marks of a CSV of ours are taken off again: a second run writes the same cells."""
    first, second = table.with_name("1.csv"), table.with_name("2.csv")
    run("table", table, *REGION, "--out", first)
    run("table", first, *REGION, "--out", second)
    before, after = read_csv(first), read_csv(second)
    assert [{key: row[key] for key in before[0]} for row in after] == before
    assert [row["key types (2)"] for row in after] == [row["key types"] for row in before]


def test_records_give_the_same_pieces(run: Run, table: Path) -> None:
    """Table to records to table: the same observations, measurements, calls and descriptions."""
    folder = table.parent / "records"
    outs = [table.with_name(name) for name in ("1.jsonl", "2.jsonl")]
    run("table", table, *REGION, "--records", folder, "--out", outs[0])
    assert names(folder) == ["T-1.yaml", "T-2.yaml", "T-3.yaml", "T-4.yaml"]
    run("table", folder, "--out", outs[1])
    before, after = (
        [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()] for out in outs
    )
    same = ("specimen", "region", "observed", "measurements", "analyst", "call", "text")
    assert [[row.get(key) for key in same] for row in after] == [
        [row.get(key) for key in same] for row in before
    ]
    assert run("describe", folder / "T-1.yaml").stdout.strip() == before[0]["text"]
    assert (folder / "T-2.yaml").read_text("utf-8").startswith("# row 3: Base shape: 'strait'")


def test_a_call_without_a_reason_goes_through_records(run: Run, tmp_path: Path) -> None:
    """A record has to give a reason for a call; where the table gives none, none comes back."""
    table = finds.file(tmp_path, "specimen,stem_shape,type\nA,contracting,Alder\n")
    outs = [tmp_path / name for name in ("1.jsonl", "2.jsonl")]
    folder = tmp_path / "r"
    assert run("table", table, *REGION, "--records", folder, "--out", outs[0]).exit_code == 0
    assert run("describe", folder / "A.yaml").exit_code == 0
    assert run("table", folder, "--out", outs[1]).exit_code == 0
    first, second = (json.loads(out.read_text(encoding="utf-8"))["analyst"] for out in outs)
    assert first == second
    assert first["reason"] == ""


def test_templates_of_the_house(run: Run, table: Path) -> None:
    """A template of the user's own words the descriptions; one that is not used is told."""
    own = table.parent / "own"
    (own / "report").mkdir(parents=True)
    (own / "report" / "piece.j2").write_text("Nr. {{ label }} lies here.", encoding="utf-8")
    (own / "report" / "pice.j2").write_text("", encoding="utf-8")
    result = run("table", table, *REGION, "--out", "-", "--templates", own)
    assert "Nr. T-1 lies here." in result.stdout
    assert "is not used" in result.stderr


def test_templates_are_copied(run: Run, table: Path, tmp_path: Path) -> None:
    """`--copy-templates` writes what `--templates` takes: unchanged, it changes no byte."""
    own = tmp_path / "house"
    assert run("table", "--copy-templates", own).exit_code == 0
    assert (own / "report" / "piece.j2").is_file()
    assert not (own / "page").exists()
    plain = run("table", table, *REGION, "--out", "-")
    housed = run("table", table, *REGION, "--out", "-", "--templates", own)
    assert housed.stdout == plain.stdout
    assert "is not used" not in housed.stderr
    again = run("table", "--copy-templates", own)
    assert again.exit_code == 2
    assert "is not empty" in again.stderr


def test_a_table_is_wanted(run: Run) -> None:
    """Without a table there is nothing to do, and that is said."""
    result = run("table")
    assert result.exit_code == 2
    assert "Give a table" in result.stderr


def test_a_mapping_is_drafted(run: Run, table: Path) -> None:
    """`--suggest-mapping` prints a draft that `--mapping` takes."""
    draft = run("table", table, "--suggest-mapping")
    assert draft.exit_code == 0
    mapping = table.with_name("house.yaml")
    mapping.write_text(draft.stdout, encoding="utf-8")
    result = run("table", table, *REGION, "--mapping", mapping)
    assert result.exit_code in (0, 1), result.stderr


def test_columns_of_an_output(run: Run, table: Path) -> None:
    """The header of a CSV is the input's, without locations, and then ours."""
    header = next(csv.reader(io.StringIO(run("table", table, *REGION, "--out", "-").stdout)))
    assert header[-len(OWN) :] == [*OWN]
    assert header[: -len(OWN)] == [n for n in finds.rows()[0] if not n.startswith("UTM")]


def test_a_table_without_regions_says_how_to_get_calls(run: Run, table: Path) -> None:
    """Rows that name no region are told, with the option that gives them one."""
    assert "--region names one for them" in run("table", table).stderr
    assert "--region gives one" not in run("table", table, *REGION).stderr


def test_a_name_that_can_be_several_leads_to_a_mapping(run: Run, tmp_path: Path) -> None:
    """A column whose name does not say what it holds leads to the command that drafts a mapping."""
    finds = tmp_path / "finds.csv"
    finds.write_text("Specimen,Stem,Haft style\n1,straight,stemmed\n", encoding="utf-8")
    told = run("table", finds, *REGION).stderr
    assert "'Stem' is not read" in told
    assert "`keygen table FILE --suggest-mapping` drafts" in told
