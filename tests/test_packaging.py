"""Facts about what ships: the wheel holds the rules and templates, and works from a zip."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build a wheel from the checkout with hatchling itself."""
    target = tmp_path_factory.mktemp("dist")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(target)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    (built,) = target.glob("*.whl")
    return built


def test_wheel_holds_every_rule_and_template(wheel: Path) -> None:
    """Each file of rules/ and templates/ is in the wheel under keygen/, and nothing more."""
    names = zipfile.ZipFile(wheel).namelist()
    for kind in ("rules", "templates"):
        on_disk = {
            f"keygen/{path.relative_to(ROOT).as_posix()}"
            for path in (ROOT / kind).rglob("*")
            if path.is_file()
        }
        shipped = {name for name in names if name.startswith(f"keygen/{kind}/")}
        assert on_disk
        assert shipped == on_disk


def test_no_code_among_the_data() -> None:
    """Neither data folder holds Python."""
    assert [p for kind in ("rules", "templates") for p in (ROOT / kind).rglob("*.py")] == []


def test_works_from_a_zip(wheel: Path, tmp_path: Path) -> None:
    """Imported from the zipped wheel, keygen finds its rules."""
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]);"
        "import keygen; assert '.whl' in keygen.__file__, keygen.__file__;"
        "from keygen.rulebase.load import shipped; print(len(shipped().types))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(wheel)],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) > 60
