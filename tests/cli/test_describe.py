"""`describe`, `trace` and `elsewhere`: results, messages and exit codes."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from tests.cli.conftest import ENVIRONMENT, PROGRAM, RECORD, SMALL, Run

STEMMED = ("--set", "haft_style=stemmed", "--set", "stem_shape=contracting")


def test_observations_on_the_command_line_are_described(run: Run) -> None:
    """`--set` and `--measure` describe a piece without a walk."""
    result = run("describe", *STEMMED, "--measure", "length=34.2+", "-r", "hills")
    assert result.exit_code == 0
    assert "Alder Stemmed" in result.stdout
    assert "at least 34.2 mm" in result.stdout
    assert result.stderr == ""


def test_indices_are_added_on_request(run: Run) -> None:
    """`--indices` adds every index with its grounds, and what each of the others is without."""
    entered = ("--measure", "length=40", "--measure", "width=20", "--score", "nicks=1 -")
    result = run("describe", *STEMMED, *entered, "-r", "hills", "--indices")
    assert result.exit_code == 0
    assert "- heft functions: big 34.00 (" in result.stdout
    assert "- nick index: 1.00 (0.50 to 1.00), 1 of 2 places scored" in result.stdout
    assert "- not computable: girth (neck width not measured)" in result.stdout
    assert "Indices" not in run("describe", *STEMMED, *entered, "-r", "hills").stdout
    assert "Nothing was measured or scored." in run("describe", *STEMMED, "--indices").stdout


def test_bad_scores_are_refused(run: Run) -> None:
    """Marks that cannot be read, and a name given twice, end with exit code 2 and say why."""
    result = run("describe", "--score", "nicks=1", "--score", "nicks=2 1")
    assert result.exit_code == 2
    assert "2 marks are wanted, not 1" in result.stderr
    assert "'2' is not one of 0, 1" in result.stderr
    twice = run("trace", "--score", "nicks=1 1", "--score", "nicks=1 0")
    assert (twice.exit_code, "the score nicks is given twice" in twice.stderr) == (2, True)


def test_a_broken_length_is_remarked_on(run: Run) -> None:
    """A whole figure of a fragment is taken as at least that, and a remark says so."""
    result = run("describe", "--set", "portion=proximal", "--measure", "length=34.2")
    assert "at least 34.2 mm" in result.stdout
    assert "maximum length is taken as at least that: the tip is gone" in result.stderr


def test_json_holds_the_call(run: Run) -> None:
    """JSON of one piece is one object with observations, call and rules."""
    result = run("describe", *STEMMED, "--region", "hills", "--format", "json")
    data = json.loads(result.stdout)
    assert data["format_version"] == 1
    assert data["call"]["types"] == ["alder"]
    assert data["observed"]["stem_shape"]["states"] == ["contracting"]
    assert data["rules"]["edition"] == "0.1"


def test_a_path_gives_the_same_as_its_observations(run: Run) -> None:
    """A written path describes the piece that was walked."""
    walked = run("describe", "--path", "1a 3a 6a 7b 8a", "-r", "hills", "--format", "json")
    observed = json.loads(walked.stdout)["observed"]
    assert observed["stem_shape"] == {
        "states": ["contracting"], "how": "seen", "couplets": [6, 7, 8]
    }  # fmt: skip


def test_a_record_is_described_for_its_region(run: Run, record_file: Path) -> None:
    """A record is called for the region that it names, and for another on request."""
    home = run("describe", record_file, "--format", "json")
    away = run("describe", record_file, "--region", "coast", "--format", "json")
    assert json.loads(home.stdout)["call"]["types"] == ["alder"]
    assert json.loads(away.stdout)["call"]["types"] == []
    assert "recorded for hills, read for coast" in away.stderr


@pytest.mark.parametrize("register", ["note", "report", "catalogue", "account"])
def test_an_exact_location_is_never_printed(run: Run, record_file: Path, register: str) -> None:
    """No register and no JSON shows the location that a record holds."""
    for output in ("text", "json"):
        result = run("describe", record_file, "--register", register, "--format", output)
        assert result.exit_code == 0
        assert "T-1" in result.stdout
        assert "0123456" not in result.stdout


def test_a_bad_file_does_not_stop_the_good_ones(run: Run, record_file: Path) -> None:
    """Bad records are reported with their places, good ones described, and the exit code is 2."""
    bad = record_file.with_name("bad.yaml")
    bad.write_text("keygen_record: 1\nobserved: {stem_shape: bent}\n", encoding="utf-8")
    result = run("describe", bad, "no.yaml", record_file.parent, record_file, "--format", "json")
    assert result.exit_code == 2
    assert [entry["specimen"] for entry in json.loads(result.stdout)] == ["T-1"]
    assert result.stderr.splitlines() == [
        (
            f"{bad}:2:24: K311: 'bent' is not a state of stem_shape. "
            "Allowed: none, straight, contracting, expanding."
        ),
        "no.yaml: no such file or directory",
        f"{record_file.parent}: is a directory",
    ]


def test_a_record_comes_from_standard_input(run: Run, record_file: Path) -> None:
    """A dash reads one record from standard input."""
    typed = record_file.read_text(encoding="utf-8")
    assert "T-1" in run("describe", "-", typed=typed).stdout


def test_other_rules_are_told(run: Run, record_file: Path) -> None:
    """A record made with other rules is read, and that is said."""
    text = record_file.read_text(encoding="utf-8")
    text += 'rules: {edition: "0.0", digest: abc}\n'
    record_file.write_text(text, encoding="utf-8")
    result = run("describe", record_file)
    assert result.exit_code == 0
    assert "recorded with rules 0.0 (abc), read with 0.1" in result.stderr


def test_out_writes_the_whole_result(run: Run, record_file: Path) -> None:
    """`--out` holds what would have been printed, and says when it replaced a file."""
    out = record_file.with_name("out.txt")
    printed = run("describe", record_file).stdout
    assert run("describe", record_file, "--out", out).stderr == f"{out} written\n"
    again = run("describe", record_file, "--out", out)
    assert again.stderr == f"{out} replaced\n"
    assert again.stdout == ""
    assert out.read_text(encoding="utf-8") == printed
    assert sorted(p.name for p in record_file.parent.iterdir()) == ["T-1.yaml", "out.txt"]


def test_out_never_replaces_a_record(run: Run, record_file: Path) -> None:
    """`--out` naming one of the records is refused."""
    before = record_file.read_text(encoding="utf-8")
    result = run("describe", record_file, "--out", record_file)
    assert result.exit_code == 2
    assert "is one of the records to describe" in result.stderr
    assert record_file.read_text(encoding="utf-8") == before


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((), "Nothing to look at"),
        (("x.yaml", *STEMMED), "Give either files or --set"),
        ((*STEMMED, "-r", "hils"), "the region 'hils' is not known. Did you mean 'hills'?"),
        (("--set", "stem_shap=none"), "Did you mean 'stem_shape'?"),
        (("--measure", "length=x"), "'x' is not a measurement"),
        (("--path", "1a 44b"), "--path:1:4: K321: at '44b': there is no couplet 44"),
        (("--set", "haft_style=lanceolate", "--set", "stem_shape=straight"), "K303"),
        ((*STEMMED, "--register", "poem"), "'poem' is not one of"),
        (
            (*STEMMED, "--set", "haft_style=lanceolate"),
            "this contradicts what was given before of the haft style",
        ),
        (("--measure", "length=3", "--measure", "length=4"), "length is given twice"),
        ((*STEMMED, "--out", ""), "is a folder; give the name of a file"),
        (("--set", "x" * 9000 + "=y"), "xxx ... xxx"),
        (("",), "'': "),
    ],
)
def test_bad_use_is_explained(run: Run, arguments: tuple[str, ...], message: str) -> None:
    """Bad use ends with exit code 2, a message on stderr and nothing on stdout."""
    result = run("describe", *arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    assert message in result.stderr
    assert "Traceback" not in result.stderr


def test_an_observation_given_twice_is_narrowed(run: Run) -> None:
    """Two options on one attribute both hold, whichever comes first."""
    doubt = ("--set", "stem_shape=contracting,straight")
    once, both = run("describe", *STEMMED), run("describe", *STEMMED, *doubt)
    assert both.exit_code == 0
    assert run("describe", *doubt, *STEMMED).stdout == both.stdout == once.stdout


def test_what_is_recorded_of_a_lost_part_is_told(run: Run) -> None:
    """An observation on a part that is recorded as gone draws a remark."""
    tip = ("--set", "portion=distal", "--set", "base_shape=straight")
    result = run("describe", *tip)
    assert "these are gone: base; yet recorded there: base shape" in result.stderr
    assert run("describe", *tip[2:]).stderr == ""


def test_standard_input_that_is_not_utf8_is_refused() -> None:
    """A record piped in another encoding is bad input, whatever the locale."""
    command = (*PROGRAM, "describe", "-", *SMALL)
    locale = {**ENVIRONMENT, "LC_ALL": "C"}
    result = subprocess.run(command, input=b"specimen: Zo\xeb\n", capture_output=True, env=locale)
    assert result.returncode == 2
    assert b"standard input: K001: not UTF-8 at byte 12" in result.stderr


def test_all_bad_options_are_reported_at_once(run: Run) -> None:
    """One run shows every option that cannot be read."""
    result = run("describe", "--set", "a=b", "--set", "haft_style=x", "--measure", "y=1")
    assert len(result.stderr.splitlines()) == 3


def test_trace_shows_what_a_call_rests_on(run: Run, record_file: Path) -> None:
    """The trace names the type and the criteria that were met."""
    result = run("trace", record_file)
    assert result.exit_code == 0
    assert "Alder Stemmed" in result.stdout
    assert json.loads(run("trace", record_file, "--format", "json").stdout)["specimen"] == "T-1"


def test_elsewhere_lists_other_regions(run: Run) -> None:
    """A type of another region that all of this fits is listed with its age."""
    sets = (*STEMMED, "--set", "base_shape=convex", "-r", "hills")
    text = run("elsewhere", *sets).stdout
    assert text.splitlines()[0] == "The Coast (coast)"
    assert "Dogwood Contracting: Early Woodland" in text
    data = json.loads(run("elsewhere", *sets, "--format", "json").stdout)
    assert [entry["type"] for entry in data["elsewhere"]] == ["dogwood"]


def test_missing_rules_are_explained(run: Run, tmp_path: Path) -> None:
    """A rules folder that is not there is a clean error."""
    from typer.testing import CliRunner

    from keygen.cli import app

    result = CliRunner().invoke(app, ["types", "--rules", str(tmp_path / "no")])
    assert result.exit_code == 2
    assert "no rules folder at" in result.stderr


def test_exact_places_are_never_printed(run: Run, record_file: Path) -> None:
    """Coordinates in notes, context, reasons and history are left out, in words and in JSON."""
    place = "17S 0423456 / 3901234"
    record_file.write_text(
        RECORD.replace("S1", f'"{place}"')
        + f'notes: "at {place}"\n'
        + f'analyst: {{call: Dogwood, reason: "from {place}", by: X. T., date: "2026-05-03"}}\n'
        + f'history: [{{date: "2026-05-04", by: X. T., what: moved, why: "lies at {place}"}}]\n',
        encoding="utf-8",
    )
    forms = [("describe", "--register", r) for r in ("note", "report", "catalogue", "account")]
    forms += [(name, "--format", "json") for name in ("describe", "trace", "elsewhere")]
    for form in forms:
        result = run(form[0], record_file, *form[1:])
        assert result.exit_code == 0
        assert "3901234" not in result.output, form
    assert "[location withheld]" in run("describe", record_file, "--register", "note").stdout
