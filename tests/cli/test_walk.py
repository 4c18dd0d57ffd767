"""`keygen walk`, in a pipe and on a terminal, and what a crash leaves behind."""

from __future__ import annotations

import datetime
import signal
import subprocess
from pathlib import Path

import pexpect
import pytest
import yaml

from tests.cli.conftest import ENVIRONMENT, PROGRAM, SMALL, Run

WHOLE_WALK = ("a", "a", "contracting", "a", "b", "48.20+", "", "", "", "", "chert", "done")
QUESTIONS = (  # those that come after each of the first answers
    "Is there any damage?",
    "Is the haft set off from the blade?",
    "Is the base a straight line?",
    "Are the blade edges straight?",
    "Maximum length (mm)",
    "Maximum width (mm)",
)


def typed(*lines: str) -> str:
    """Return lines as they arrive from a pipe."""
    return "".join(f"{line}\n" for line in lines)


def test_a_walk_in_a_pipe_writes_the_record(run: Run, tmp_path: Path) -> None:
    """A walk needs no terminal: the note goes to stdout, the questions to stderr."""
    target = tmp_path / "T-9.yaml"
    result = run("walk", target, "-r", "hills", typed=typed(*WHOLE_WALK))
    assert result.exit_code == 0
    assert "Alder Stemmed" in result.stdout
    assert "Is the piece whole?" not in result.stdout
    assert "Is the piece whole?" in result.stderr
    data = yaml.safe_load(target.read_text(encoding="utf-8"))
    assert data["specimen"] == "T-9"
    assert data["path"] == "1a 3a stem_shape=contracting 9a 11b"
    assert data["measurements"] == {"length": "48.20+"}
    assert data["date"] == datetime.date.today().isoformat()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["T-9.yaml"]


def test_a_record_reads_back_as_walked(run: Run, tmp_path: Path) -> None:
    """Describing the record gives the note that the walk ended with."""
    target = tmp_path / "T-9.yaml"
    walked = run("walk", target, "-r", "hills", typed=typed(*WHOLE_WALK))
    assert run("describe", target, "--register", "note").stdout == walked.stdout


@pytest.mark.parametrize("stop", [(), ("pause",)])
def test_pause_and_the_end_of_input_keep_the_walk(
    run: Run, tmp_path: Path, stop: tuple[str, ...]
) -> None:
    """A paused walk says how to go on, and goes on where it was."""
    target = tmp_path / "T-9.yaml"
    paused = run("walk", target, "-r", "hills", typed=typed(*WHOLE_WALK[:3], *stop))
    assert paused.exit_code == 0
    assert f"Go on with: keygen walk {target} --rules" in paused.stderr
    assert not target.exists()
    resumed = run("walk", target.with_suffix(".walk"), typed=typed(*WHOLE_WALK[3:]))
    assert "Going on after 3 answers." in resumed.stderr
    once = run("walk", tmp_path / "T-8.yaml", "-r", "hills", typed=typed(*WHOLE_WALK))
    assert resumed.stdout == once.stdout.replace("T-8", "T-9")


def test_the_region_is_asked_for(run: Run, tmp_path: Path) -> None:
    """Without a region it is asked for, listed on Enter, with the nearest for a misspelling."""
    result = run("walk", tmp_path / "x.yaml", typed=typed("", "hils", "the hills", "pause"))
    assert "hills: The Hills (AA)" in result.stderr
    assert "Did you mean 'hills'?" in result.stderr
    assert '"region": "hills"' in (tmp_path / "x.walk").read_text(encoding="utf-8")


def test_no_region_gives_no_call(run: Run, tmp_path: Path) -> None:
    """A walk for no region describes the piece and calls nothing."""
    result = run("walk", tmp_path / "x.yaml", typed=typed("none", *WHOLE_WALK))
    assert result.exit_code == 0
    assert "Stem contracting" in result.stdout
    assert "Type: Alder" not in result.stdout


def test_the_number_names_the_file(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a file name the specimen's number is asked for and names the file."""
    monkeypatch.chdir(tmp_path)
    run("walk", "-r", "hills", typed=typed("N 12/3", "pause"))
    run("walk", "-r", "hills", typed=typed("", "pause"))
    run("walk", "-r", "hills", "--specimen", "7", typed=typed("pause"))
    assert sorted(p.name for p in tmp_path.iterdir()) == ["7.walk", "N_12_3.walk", "point-1.walk"]


@pytest.mark.parametrize(
    ("name", "options", "message"),
    [
        ("T-1.yaml", (), "exists and is left as it is"),
        ("none/x.yaml", (), "there is no folder"),
        ("x.yaml", ("-r", "hils"), "Did you mean 'hills'?"),
        ("x.yaml", (), "The input ended before a walk was begun"),
    ],
)
def test_bad_use_is_explained(
    run: Run, record_file: Path, name: str, options: tuple[str, ...], message: str
) -> None:
    """What cannot be walked ends with exit code 2, and nothing is written."""
    result = run("walk", record_file.parent / name, *options, typed="")
    assert (result.exit_code, result.stdout) == (2, "")
    assert message in result.stderr
    assert [p.name for p in record_file.parent.iterdir()] == ["T-1.yaml"]


def test_another_region_is_refused_on_resuming(run: Run, tmp_path: Path) -> None:
    """A walk goes on for the region that it was begun for."""
    run("walk", tmp_path / "x.yaml", "-r", "hills", typed=typed("a"))
    result = run("walk", tmp_path / "x.yaml", "-r", "coast", typed=typed("a"))
    assert result.exit_code == 2
    assert "was begun for hills" in result.stderr


def test_changed_rules_keep_what_still_fits(run: Run, tmp_path: Path) -> None:
    """With changed rules the answers are kept as far as they fit, and that is said."""
    journal = tmp_path / "x.walk"
    journal.write_text(
        '{"keygen_walk": 1, "region": "hills", "specimen": "x", "edition": "0", "digest": "0"}\n'
        '{"took": ["1a"]}\n{"took": ["99a"]}\n{"took": ["3a"]}\n',
        encoding="utf-8",
    )
    first = run("walk", tmp_path / "x.yaml", typed=typed("b"))
    assert "The rules have changed since: 0 (0), now 0.1" in first.stderr
    assert "1 of 3 answers still fit and are kept." in first.stderr
    second = run("walk", tmp_path / "x.yaml", typed="")
    assert "Going on after 2 answers." in second.stderr


def test_a_crash_after_the_record_was_written_is_tidied_up(run: Run, tmp_path: Path) -> None:
    """If only the journal was left to be removed, the next run does no more than that."""
    target = tmp_path / "x.yaml"
    run("walk", target, "-r", "hills", typed=typed(*WHOLE_WALK[:-1]))
    journal = target.with_suffix(".walk")
    before = journal.read_bytes()
    run("walk", target, typed=typed("done"))
    record = target.read_text(encoding="utf-8")
    details = "".join(
        f'{{"detail": ["{name}", "{value}"]}}\n'
        for name, value in [
            *((f, "") for f in ("colour", "site", "unit", "level", "provenience", "observer")),
            ("date", datetime.date.today().isoformat()),
            ("notes", ""),
            ("call", ""),
        ]
    )
    journal.write_bytes(before + details.encode() + b'{"finished": true}\n')
    again = run("walk", target, typed="")
    assert again.exit_code == 0
    assert "Alder Stemmed" in again.stdout
    assert target.read_text(encoding="utf-8") == record
    assert not journal.exists()


def test_bytes_that_are_no_text_are_left_out(tmp_path: Path) -> None:
    """A line that is not UTF-8 is left out with a message, and the walk goes on."""
    environment = {**ENVIRONMENT, "LC_ALL": "C", "PYTHONUTF8": "1"}
    found = subprocess.run(
        [*PROGRAM, "walk", "x.yaml", "-r", "hills", *SMALL],
        input=b"a\nenough\n30\n\n\n\n\ncaf\xe9\nchert\n",
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        check=True,
    )
    assert b"That line is not UTF-8 text" in found.stderr
    assert '["material", "chert"]' in (tmp_path / "x.walk").read_text(encoding="utf-8")


def test_until_call_stops_and_goes_on(run: Run, tmp_path: Path) -> None:
    """Asked until the call, a walk stops when it is settled; a kept journal goes on that way."""
    target = tmp_path / "x.yaml"
    paused = run("walk", target, "-r", "hills", "--until", "call", typed=typed("a", "a", "a"))
    assert "3 types left" in paused.stderr
    resumed = run("walk", target, typed=typed("b", "a", "b", "done"))
    assert resumed.exit_code == 0
    assert "No further couplet can change it." in resumed.stderr
    assert "Alder Stemmed" in resumed.stdout
    data = yaml.safe_load(target.read_text(encoding="utf-8"))
    assert data["path"] == "1a 3a 6a 7b 8a"


def test_until_call_needs_a_region(run: Run, tmp_path: Path) -> None:
    """Without a region there is no call to ask for, and that is said before anything is asked."""
    result = run("walk", tmp_path / "x.yaml", "--until", "call", typed=typed("none"))
    assert result.exit_code == 2
    assert "Without a region there is no call to ask for." in result.stderr
    assert not list(tmp_path.iterdir())


def test_a_killed_walk_until_the_call_goes_on(run: Run, tmp_path: Path) -> None:
    """After kill -9 at the offer, the offer is made again, and the description can be finished."""
    target = tmp_path / "x.yaml"
    child = terminal(target, "--until", "call")
    for line, coming in (
        *zip("aa", ("any damage", "set off"), strict=True),
        *zip("aba", ("spread", "draw in", "No further couplet"), strict=True),
    ):
        child.sendline(line)
        child.expect_exact(coming)
    child.kill(signal.SIGKILL)
    child.wait()
    resumed = run("walk", target, typed=typed("a", "a", "b", "done"))
    assert "In the key's order now." in resumed.stderr
    data = yaml.safe_load(target.read_text(encoding="utf-8"))
    assert data["path"] == "1a 3a 6a 7b 8a 9a 11b"


def terminal(target: Path, *options: str) -> pexpect.spawn[str]:
    """Start a walk on a terminal of its own and wait for the prompt."""
    arguments = [*PROGRAM[1:], "walk", str(target), "-r", "hills", *options, *SMALL]
    child: pexpect.spawn[str] = pexpect.spawn(
        PROGRAM[0], arguments, env=ENVIRONMENT, encoding="utf-8", timeout=20
    )
    child.setecho(False)
    child.expect("> ")
    return child


@pytest.mark.parametrize("answered", range(len(QUESTIONS) + 1))
def test_a_killed_walk_loses_only_the_answer_being_typed(
    run: Run, tmp_path: Path, answered: int
) -> None:
    """After kill -9 in the midst of typing, the walk goes on with all that was answered."""
    target = tmp_path / "x.yaml"
    child = terminal(target)
    for line, coming in zip(WHOLE_WALK[:answered], QUESTIONS, strict=False):
        child.sendline(line)
        child.expect_exact(coming)
    child.send("con")
    child.kill(signal.SIGKILL)
    child.wait()
    assert not target.exists()
    resumed = run("walk", target, typed=typed(*WHOLE_WALK[answered:]))
    assert resumed.exit_code == 0
    assert f"Going on after {answered} answer" in resumed.stderr
    data = yaml.safe_load(target.read_text(encoding="utf-8"))
    assert data["path"] == "1a 3a stem_shape=contracting 9a 11b"
    assert data["material"] == "chert"


def test_ctrl_c_saves_and_says_how_to_go_on(tmp_path: Path) -> None:
    """An interrupted walk ends with exit code 130 and the command that goes on with it."""
    child = terminal(tmp_path / "x.yaml")
    child.sendline("a")
    child.expect("any damage")
    child.sendintr()
    child.expect("Saved. Go on with: keygen walk")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
    assert (tmp_path / "x.walk").read_bytes().endswith(b'{"took": ["1a"]}\n')


def test_two_terminals_cannot_walk_one_record(run: Run, tmp_path: Path) -> None:
    """A second walk of a record that is being walked is refused."""
    target = tmp_path / "x.yaml"
    child = terminal(target)
    result = run("walk", target, typed=typed("a"))
    child.close(force=True)
    assert result.exit_code == 2
    assert "another walk has" in result.stderr
