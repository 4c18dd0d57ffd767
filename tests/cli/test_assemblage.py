"""`keygen agree` and `keygen tabulate`, from tables on disk to text, JSON and drawings."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from tests.cli.conftest import ENVIRONMENT, SMALL, Run

FIRST = """\
specimen,level,haft style,stem shape,base shape,easting
1,1,stemmed,contracting,straight,512345
2,1,stemmed,contracting,,512346
3,2,stemmed,straight,straight,512347
4,10,stemmed,straight/contracting,straight,512348
5,10,lanceolate,,straight,512349
"""
SECOND = FIRST.replace("2,1,stemmed,contracting", "2,1,stemmed,straight")


@pytest.fixture
def tables(tmp_path: Path) -> tuple[Path, Path]:
    """Return two observers' tables, which differ in one stem."""
    paths = tmp_path / "ann.csv", tmp_path / "bee.csv"
    for path, content in zip(paths, (FIRST, SECOND), strict=True):
        path.write_text(content, encoding="utf-8")
    return paths


def test_agree_tells_what_differs(run: Run, tables: tuple[Path, Path]) -> None:
    """The one stem on which two observers differ is named, with what it does to the call."""
    result = run("agree", *tables, "--region", "hills", "--resamples", 20)
    assert result.exit_code == 0, result.stderr
    assert "Agreement of ann and bee: five specimens" in result.stdout
    assert "- stem shape: contracting / straight" in result.stdout
    assert "- 2: one difference" in result.stdout
    assert "makes the difference" in result.stdout


def test_agree_in_json(run: Run, tables: tuple[Path, Path]) -> None:
    """JSON holds the whole confusion table and every interval."""
    result = run("agree", *tables, "-r", "hills", "--resamples", 20, "--format", "json")
    told = json.loads(result.stdout)
    stem = told["attributes"]["stem_shape"]
    assert stem["n"] == 4
    assert stem["percent"]["value"] == 75
    assert sum(map(sum, stem["confusion"][0]["counts"])) == 4
    assert [p["specimen"] for p in told["calls_that_differ"]] == ["2"]


def test_agree_needs_two_tables_with_something_shared(
    run: Run, tables: tuple[Path, Path], tmp_path: Path
) -> None:
    """One table, or two without a specimen in common, cannot be compared."""
    result = run("agree", tables[0])
    assert (result.exit_code, "at least two tables" in result.stderr) == (2, True)
    other = tmp_path / "other.csv"
    other.write_text("specimen,haft style\n99,stemmed\n", encoding="utf-8")
    result = run("agree", tables[0], other)
    assert (result.exit_code, "in more than one" in result.stderr) == (2, True)


def test_agree_refuses_a_number_that_is_there_twice(
    run: Run, tables: tuple[Path, Path], tmp_path: Path
) -> None:
    """Nobody can tell which of two rows of one number is meant."""
    twice = tmp_path / "twice.csv"
    twice.write_text(FIRST.replace("\n2,", "\n1,"), encoding="utf-8")
    result = run("agree", tables[0], twice)
    assert (result.exit_code, "is there twice" in result.stderr) == (2, True)


def test_tabulate_counts_by_level(run: Run, tables: tuple[Path, Path]) -> None:
    """States are counted level by level, level 2 before level 10, with intervals."""
    result = run("tabulate", tables[0], "--by", "level", "--of", "stem_shape")
    assert result.exit_code == 0, result.stderr
    lines = result.stdout.splitlines()
    groups = [line.split()[0] for line in lines if line[:1].isdigit()]
    assert groups == ["1", "2", "10"]
    assert "2 100% (34-100)" in result.stdout  # Wilson for 2 of 2: 34 to 100 %


def test_tabulate_shares_out(run: Run, tables: tuple[Path, Path]) -> None:
    """Two candidates count half each in fractions, and are a category of their own apart."""
    apart = json.loads(
        run("tabulate", tables[0], "--by", "level", "-r", "hills", "--format", "json").stdout
    )
    assert any(" or " in name for name in apart["categories"])
    words = ("tabulate", tables[0], "--by", "level", "-r", "hills", "--several", "fraction")
    shared = json.loads(run(*words, "--format", "json").stdout)
    assert not any(" or " in name for name in shared["categories"])
    for told in (apart, shared):
        assert sum(cell["count"] for cell in told["cells"]) == pytest.approx(5)


def test_tabulate_knows_a_site_by_every_spelling(run: Run, tmp_path: Path) -> None:
    """One site number in two spellings is one group, named as it is written first."""
    table = tmp_path / "t.csv"
    table.write_text(
        "specimen,site,stem_shape\n1,40Ck103,straight\n2,40CK103,straight\n3,Mill,straight\n"
        "4,mill,straight\n",
        encoding="utf-8",
    )
    result = run("tabulate", table, "--by", "site", "--of", "stem_shape", "--format", "json")
    assert json.loads(result.stdout)["groups"] == ["40Ck103", "Mill", "mill"]


def test_tabulate_writes_every_form(run: Run, tables: tuple[Path, Path], tmp_path: Path) -> None:
    """CSV reads back, SVG and the drawing in HTML are well-formed, and no location is in any."""
    outs = [tmp_path / f"t{ending}" for ending in (".csv", ".json", ".html", ".svg")]
    words = [word for out in outs for word in ("--out", out)]
    words += ["--seriate", "--timeline", "--format", "json"]
    result = run("tabulate", tables[0], "--by", "level", "-r", "hills", *words)
    assert result.exit_code == 0, result.stderr
    with outs[0].open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["group"] for row in rows} == {"1", "2", "10"}
    assert json.loads(outs[1].read_text(encoding="utf-8")) == json.loads(result.stdout)
    ET.fromstring(outs[3].read_text(encoding="utf-8"))
    page = outs[2].read_text(encoding="utf-8")
    for start in [i for i in range(len(page)) if page.startswith("<svg", i)]:
        ET.fromstring(page[start : page.index("</svg>", start) + 6])
    assert not any("51234" in out.read_text(encoding="utf-8") for out in outs)
    again = run("tabulate", tables[0], "--by", "level", "-r", "hills", "--out", outs[0])
    assert again.exit_code == 2


def test_tabulate_orders_groups(run: Run, tables: tuple[Path, Path]) -> None:
    """Groups are ordered by what they hold, without a claim of direction, and with a warning."""
    result = run("tabulate", tables[0], "--by", "level", "-r", "hills", "--strata", "10,1")
    assert result.exit_code == 0, result.stderr
    line = next(line for line in result.stdout.splitlines() if line.startswith("By similarity"))
    order = line.partition(": ")[2].split(" - ")
    assert order.index("10") < order.index("1")
    assert "no direction" in result.stdout
    assert "Fewer than 30 specimens" in result.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--by", "levle"), "Did you mean 'level'"),
        (("--by", "easting"), "exact locations"),
        (("--by", "level", "--of", "stem_shpae"), "Did you mean 'stem_shape'"),
        (("--by", "level"), "Give --region"),
        (("--by", "level", "-r", "hills", "--strata", "7"), "is no group"),
        (("--by", "level", "--of", "stem_shape", "--out", "a.xyz"), "is no form to write"),
        (("--by", "haft style", "--of", "haft_style", "--seriate"), "needs 3 assemblages"),
    ],
)
def test_tabulate_says_what_is_wrong(
    run: Run, tables: tuple[Path, Path], words: tuple[str, ...], said: str
) -> None:
    """A column, attribute, group or ending that is not there is named, with the nearest one."""
    result = run("tabulate", tables[0], *words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert "Traceback" not in result.stderr


def test_a_table_without_rows_has_nothing_to_count(run: Run, tmp_path: Path) -> None:
    """A header alone is told as such; a region that was given is not asked for again."""
    (tmp_path / "none.csv").write_text(FIRST.splitlines()[0] + "\n", encoding="utf-8")
    result = run("tabulate", tmp_path / "none.csv", "--by", "level", "-r", "hills")
    assert result.exit_code == 2
    assert "no row could be examined" in result.stderr


def test_a_region_is_one_group_however_it_is_written(run: Run, tmp_path: Path) -> None:
    """The id and the label of a region are counted together."""
    rows = "specimen,region,haft style\n1,hills,stemmed\n2,The Hills,stemmed\n3,HILLS,stemmed\n"
    (tmp_path / "regions.csv").write_text(rows, encoding="utf-8")
    words = ("--by", "region", "--of", "haft_style", "--format", "json")
    told = json.loads(run("tabulate", tmp_path / "regions.csv", *words).stdout)
    assert told["groups"] == ["hills"]


def test_a_bad_row_is_told_and_the_rest_counted(
    run: Run, tables: tuple[Path, Path], tmp_path: Path
) -> None:
    """A row that contradicts itself or cannot be read is named; exit code 1."""
    bad = tmp_path / "bad.csv"
    bad.write_text(FIRST.replace("2,1,stemmed", "2,1,stemed"), encoding="utf-8")
    result = run("tabulate", bad, "--by", "level", "--of", "base_shape")
    assert result.exit_code == 1
    assert "bad.csv: row 3, column haft style" in result.stderr
    assert "Base shape by level" in result.stdout


@pytest.mark.parametrize("command", ["agree", "tabulate"])
def test_without_the_extra_it_is_named(tables: tuple[Path, Path], command: str) -> None:
    """Where numpy is not installed, the extra to install is told, without a traceback."""
    words = [command, *map(str, tables[: 2 if command == "agree" else 1]), *SMALL]
    words += ["--by", "level"] if command == "tabulate" else []
    program = "import sys; sys.modules['numpy'] = None; from keygen.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", program, *words],
        capture_output=True,
        text=True,
        env=ENVIRONMENT,
        check=False,
    )
    assert done.returncode == 2
    assert "pip install 'keygen[assemblage]'" in done.stderr
    assert "Traceback" not in done.stderr
