"""`keygen table` killed half way, and what lies about afterwards."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.conftest import ENVIRONMENT, PROGRAM, SMALL, Run
from tests.collection import finds
from tests.faults import batching

REGION = ("--region", "hills")


def test_a_killed_run_leaves_the_old_output_whole(run: Run, tmp_path: Path) -> None:
    """After kill -9 every old output is as it was, and what was left does not trouble the next."""
    table, old = finds.file(tmp_path, finds.many(100_000)), tmp_path / "old.csv"
    folder = tmp_path / "records"
    folder.mkdir()
    for file in (old, folder / "N-0.yaml"):
        file.write_text("old", encoding="utf-8")
    outs = ("--out", str(old), "--records", str(folder), "--force", *REGION, *SMALL)
    process = subprocess.Popen(
        [*PROGRAM, "table", str(table), *outs],
        env=ENVIRONMENT,
        stderr=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
    )
    begun = time.monotonic()
    while not any(path.stat().st_size > 50_000 for path in tmp_path.glob(".old.csv.*")):
        assert process.poll() is None
        assert time.monotonic() - begun < 60
        time.sleep(0.01)
    process.send_signal(signal.SIGKILL)
    process.wait()
    assert old.read_text(encoding="utf-8") == "old"
    assert [p.read_text(encoding="utf-8") for p in folder.iterdir()] == ["old"]
    stray = sorted(tmp_path.glob(".*.part"))
    assert len(stray) == 2
    # the next run may well have the same number, as the first process in a container has
    for path in stray:
        path.rename(path.with_name(path.name.replace(str(process.pid), str(os.getpid()))))
    small = finds.file(tmp_path, name="small.csv")
    result = run("table", small, "--out", old, "--records", folder, "--force", *REGION)
    assert result.exit_code == 1, result.stderr
    assert old.read_text(encoding="utf-8").count("Alder") > 2
    assert sorted(p.name for p in folder.iterdir()) == [
        *("N-0.yaml", "T-1.yaml", "T-2.yaml", "T-3.yaml", "T-4.yaml"),
    ]
    assert not list(tmp_path.glob(".*.part"))


def test_no_room_for_an_output(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk ends a run with a message and leaves every old output whole."""
    table, old = finds.file(tmp_path), tmp_path / "old.csv"
    old.write_text("old", encoding="utf-8")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    outs = ("--out", old, "--out", tmp_path / "new.jsonl")
    result = run("table", table, *REGION, *outs, "--force")
    assert result.exit_code == 2
    assert f"{tmp_path}: no space left on device" in result.stderr
    assert old.read_text(encoding="utf-8") == "old"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["finds.csv", "old.csv"]


@pytest.fixture(scope="module")
def job() -> Iterator[batching.Job]:
    """Give a table, and what a run that nobody kills makes of it."""
    with batching.job(4_000) as given:
        yield given


@pytest.mark.parametrize(("jobs", "share"), [(1, 0.75), (2, 0.85)])
def test_kill_at_any_moment(job: batching.Job, tmp_path: Path, jobs: int, share: float) -> None:
    """Killed at any moment a run leaves outputs that are whole, and no process that goes on."""
    left = batching.killed(job, tmp_path, share * job.seconds, jobs)
    assert (left.torn, left.alive) == ((), 0)
    assert left.stray <= len(batching.NAMES)


def test_processes_end_with_the_first(job: batching.Job, tmp_path: Path) -> None:
    """When the first process is killed while the others work, those end as well."""
    process = batching.started(job.table, tmp_path, 2)
    while len(batching.processes(process.pid)) < 3 and process.poll() is None:
        time.sleep(0.01)
    time.sleep(0.1)
    process.send_signal(signal.SIGKILL)
    assert batching.alive(process.pid) == 0
    process.communicate()


def test_half_files_are_named(run: Run, tmp_path: Path) -> None:
    """What a killed run left beside an output is named by the next run that writes it."""
    out, table = tmp_path / "out+0.csv", finds.file(tmp_path)
    stray = [tmp_path / f".{out.name}.{number}.part" for number in (77, 1234567)]
    others = [
        tmp_path / name for name in (".out+0.csv.x.part", ".other.csv.7.part", ".outt0.csv.7.part")
    ]
    for file in (*stray, *others):
        file.write_text("half", encoding="utf-8")
    told = run("table", table, *REGION, "--out", out).stderr
    for file in stray:
        assert f"{file} was left by a run that was cut off" in told
    assert told.count("cut off") == 2
    assert all(file.exists() for file in stray)
    told = run("key", "--out", out).stderr
    assert told.count("cut off") == 2
