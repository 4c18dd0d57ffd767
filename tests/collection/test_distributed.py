"""The batch on an engine for many machines: the same bytes as on one process."""

from __future__ import annotations

import csv
import pickle
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import keygen
from keygen.collection import as_csv
from keygen.collection.model import Plan
from keygen.core.model import Rules
from tests.collection import finds

pyarrow = pytest.importorskip("pyarrow")
parquet = pytest.importorskip("pyarrow.parquet")
DOCS = Path(__file__).parents[2] / "docs" / "tables.md"


def one_process(rules: Rules, text: str) -> bytes:
    """Return a table described by the function on rows, as CSV."""
    found = [*keygen.describe_rows(finds.rows(text), "hills", rules=rules)]
    return as_csv.encode([[*found[0]], *([*row.values()] for row in found)])


def as_bytes(batch: Any) -> bytes:
    """Return a record batch (or table) of text as CSV."""
    columns = [column.to_pylist() for column in batch.columns]
    return as_csv.encode([batch.schema.names, *zip(*columns, strict=True)])


def record_batch(text: str) -> Any:
    """Return a table as an Arrow record batch of text."""
    return pyarrow.RecordBatch.from_pylist(finds.rows(text))


def test_a_record_batch_gives_the_same_bytes(small_rules: Rules) -> None:
    """Record batch in, record batch out: the cells are those of the function on rows."""
    text = finds.many(40)
    plan = finds.plan(small_rules, text)
    found = keygen.describe_batch(record_batch(text), plan)
    assert as_bytes(found) == one_process(small_rules, text)


def test_numbers_and_gaps_are_read(small_rules: Rules) -> None:
    """A column of numbers with gaps is read as the text of its numbers."""
    batch = pyarrow.RecordBatch.from_pydict({"specimen": ["A", "B"], "length": [48.25, None]})
    plan = keygen.plan_table(batch.schema.names, "hills", rules=small_rules)
    found = keygen.describe_batch(batch, plan, register="catalogue").to_pylist()
    assert [row["length"] for row in found] == ["48.25", ""]
    assert [row["specimen"] for row in found] == ["A", "B"]


def test_an_empty_batch_keeps_its_columns(small_rules: Rules) -> None:
    """No rows give no rows, under the headings that every part has."""
    plan = finds.plan(small_rules)
    whole = keygen.describe_batch(record_batch(finds.TABLE), plan)
    assert keygen.describe_batch(record_batch(finds.TABLE).slice(0, 0), plan).schema == whole.schema


def test_a_plan_can_be_sent(small_rules: Rules) -> None:
    """A plan goes to another process and reads there what it reads here, also after use."""
    text = finds.many(8)
    plan = finds.plan(small_rules, text)
    here = as_bytes(keygen.describe_batch(record_batch(text), plan))
    there: Plan = pickle.loads(pickle.dumps(plan))  # noqa: S301
    assert as_bytes(keygen.describe_batch(record_batch(text), there)) == here


@pytest.mark.filterwarnings("ignore::DeprecationWarning")  # dask calls pandas in older ways
@pytest.mark.parametrize("kind", ["csv", "parquet"])
def test_dask_over_parts_gives_the_same_bytes(
    small_rules: Rules, tmp_path: Path, kind: str
) -> None:
    """A table in many files, done by Dask part by part, is the same as in one process."""
    dd = pytest.importorskip("dask.dataframe")
    text = finds.many(60)
    rows = finds.rows(text)
    for number in range(4):
        part = rows[15 * number : 15 * number + 15]
        file = tmp_path / f"{number}.{kind}"
        if kind == "parquet":
            parquet.write_table(pyarrow.Table.from_pylist(part), file)
            continue
        with file.open("w", newline="", encoding="utf-8") as handle:
            writer = csv.DictWriter(handle, part[0].keys())
            writer.writeheader()
            writer.writerows(part)
    files = str(tmp_path / f"*.{kind}")
    if kind == "parquet":
        table = dd.read_parquet(files)
    else:
        table = dd.read_csv(files, dtype=str, keep_default_na=False)
    assert table.npartitions == 4
    plan = keygen.plan_table(table.columns, "hills", rules=small_rules)

    def part_of(frame: Any) -> Any:
        batch = pyarrow.Table.from_pandas(frame, preserve_index=False)
        return keygen.describe_batch(batch, plan).to_pandas()

    described = table.map_partitions(part_of, meta=part_of(table._meta))
    found = described.compute(scheduler="threads")
    assert as_bytes(pyarrow.Table.from_pandas(found, preserve_index=False)) == one_process(
        small_rules, text
    )


def run_example(mark: str, folder: Path) -> str:
    """Run the example of the docs that follows a mark; return what it prints."""
    found = re.search(
        rf"<!-- {mark} -->\n```python\n(.*?)```", DOCS.read_text(encoding="utf-8"), re.DOTALL
    )
    assert found
    command = [sys.executable, "-c", found[1]]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_example_of_rows_in_the_docs(tmp_path: Path) -> None:
    """The example prints number, call and types of each row."""
    text = "Specimen,Haft style,Stem shape\nT-1,stemmed,contracting\nT-2,stemmed,\n"
    finds.file(tmp_path, text)
    first, second = run_example("describe_rows", tmp_path).splitlines()
    assert first.startswith("T-1 either ")
    assert second.startswith("T-2 either ")
    assert len(second) > len(first)


def test_the_example_of_dask_in_the_docs(tmp_path: Path) -> None:
    """The example writes the described rows of all parts."""
    pytest.importorskip("dask.dataframe")
    for number in (1, 2):
        text = f"Specimen,Haft style,Stem shape\nT-{number},stemmed,contracting\n"
        finds.file(tmp_path, text, f"finds-{number}.csv")
    run_example("dask", tmp_path)
    found = parquet.read_table(tmp_path / "described").to_pylist()
    assert [(row["Specimen"], row["key call"]) for row in found] == [
        ("T-1", "either"),
        ("T-2", "either"),
    ]
