"""Facts about loading: digest, cache, and what comes out of a folder."""

from __future__ import annotations

import dataclasses
import os
import pickle
import shutil
import zlib
from pathlib import Path

import pytest

from keygen import data
from keygen.core.model import Rules
from keygen.errors import KeygenError
from keygen.rulebase import build
from keygen.rulebase import cache as cache_module
from keygen.rulebase.cache import MOST_KEPT
from keygen.rulebase.folder import digest, read_folder
from keygen.rulebase.load import load
from tests.conftest import SMALL_RULES


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Use an empty cache folder of our own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    return tmp_path


@pytest.mark.parametrize("name", ["small", "main", "great_basin"])
def test_cached_rules_are_the_same(cache: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """Loading from the cache gives equal rules, without the YAML being parsed."""
    folder = {"small": SMALL_RULES, "main": data.root("rules"), **data.packs()}[name]
    first = load(folder)
    assert len(list(cache.rglob("rules-*.json"))) == 1
    monkeypatch.setattr(build, "parse_all", None)
    again = load(folder)
    assert again is not first
    for field in dataclasses.fields(Rules):
        assert getattr(again, field.name) == getattr(first, field.name), field.name


def test_fields_are_put_off(cache: Path) -> None:
    """From the cache a field is worked out when it is read, and goes along to another process."""
    load(SMALL_RULES)
    again = load(SMALL_RULES)
    assert "types" not in vars(again)
    assert "alder" in again.types
    assert "types" in vars(again)
    assert "sources" not in vars(again)
    assert pickle.loads(pickle.dumps(again)) == again  # noqa: S301
    with pytest.raises(AttributeError, match="typos"):
        _ = again.typos  # type: ignore[attr-defined]


def test_other_code_reads_its_own_cache(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What an older version of the program kept is not read by a newer one."""
    first = load(SMALL_RULES)
    (kept,) = cache.rglob("rules-*.json")
    lines = kept.read_bytes().replace(b"Alder", b"Elder").split(b"\n")
    body = b"\n".join(lines[1:])
    kept.write_bytes(b"%08x\n" % zlib.crc32(body) + body)
    assert load(SMALL_RULES).types != first.types  # the cache is what is read
    code = cache / "code" / "rulebase" / "cache.py"
    code.parent.mkdir(parents=True)
    code.write_text("", encoding="utf-8")
    monkeypatch.setattr(cache_module, "__file__", str(code))
    assert load(SMALL_RULES) == first
    code.write_text("# changed", encoding="utf-8")
    assert load(SMALL_RULES) == first
    assert len(list(cache.rglob("rules-*.json"))) == 3


def test_damaged_cache_is_read_past(cache: Path) -> None:
    """A cache file that was torn, cut or changed anywhere is rebuilt."""
    first = load(SMALL_RULES)
    (kept,) = cache.rglob("rules-*.json")
    whole = kept.read_bytes()
    for damaged in (b"", b"{", whole[:-1], whole[: len(whole) // 2], whole.replace(b"Alder", b"A")):
        kept.write_bytes(damaged)
        assert load(SMALL_RULES) == first
        assert kept.read_bytes() == whole


def test_no_cache_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no cache can be written the rules load all the same."""
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    assert load(SMALL_RULES).edition == "0.1"


def test_nobody_at_home(monkeypatch: pytest.MonkeyPatch) -> None:
    """An account without a home folder reads the rules from their files."""

    def nowhere(path: Path) -> Path:
        raise RuntimeError(f"no home for {path}")

    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setattr(Path, "expanduser", nowhere)
    assert load(SMALL_RULES).edition == "0.1"


def test_cache_keeps_few_editions(cache: Path) -> None:
    """Of the editions that were compiled only the newest few stay in the cache."""
    load(SMALL_RULES)
    (kept,) = cache.rglob("rules-*.json")
    for number in range(MOST_KEPT + 3):
        old = kept.with_name(f"rules-0-{number}.json")
        old.write_text("{}", encoding="utf-8")
        os.utime(old, (number, number))
    kept.unlink()
    load(SMALL_RULES)
    assert len(list(kept.parent.iterdir())) == MOST_KEPT
    assert kept.is_file()


def test_relative_cache_folder_is_ignored(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A relative cache folder makes nothing in the working folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", "relative")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    load(SMALL_RULES)
    assert not (tmp_path / "relative").exists()


def test_digest_covers_names_and_bytes() -> None:
    """Any change of a byte or a name gives another digest; the order of files does not."""
    files = read_folder(SMALL_RULES)
    name = next(iter(files))
    assert digest(files) == digest(dict(sorted(files.items())))
    assert digest({**files, name: files[name] + b" "}) != digest(files)
    renamed = {("x" + k if k == name else k): v for k, v in files.items()}
    assert digest(renamed) != digest(files)


def test_files_that_are_not_rules_are_passed_over(tmp_path: Path) -> None:
    """Names that start with _ or a dot, and files that are not YAML, are no rules."""
    (tmp_path / "_new.yaml").write_text("x", encoding="utf-8")
    (tmp_path / ".swap.yaml").write_text("x", encoding="utf-8")
    (tmp_path / "notes.txt").write_text("x", encoding="utf-8")
    (tmp_path / "kept.yaml").write_text("x", encoding="utf-8")
    assert list(read_folder(tmp_path)) == ["kept.yaml"]


def test_no_folder() -> None:
    """A folder that is not there is one clear message."""
    with pytest.raises(KeygenError, match="no rules folder at nowhere"):
        load(Path("nowhere"))


def test_order_points_forward(rules: Rules) -> None:
    """In the order of asking every lead points forward."""
    for couplet in rules.couplets.values():
        for lead in couplet.leads:
            assert not lead.go or rules.order[lead.go] > rules.order[couplet.id]


def test_scope_of_the_first_edition(rules: Rules) -> None:
    """At least 60 types over 14 regions, the four home regions well filled."""
    assert len(rules.types) >= 60
    assert len(rules.regions) == 14
    assert all(rules.in_region(region) for region in rules.regions)
    for region in ("carolina_piedmont", "tennessee_valley", "ozarks", "central_texas"):
        assert len(rules.in_region(region)) >= 30


def test_numbers_are_in_reading_order(rules: Rules) -> None:
    """Couplets are numbered from 1 without a gap."""
    assert sorted(rules.by_number) == list(range(1, len(rules.couplets) + 1))


def test_first_couplets_are_about_handling(rules: Rules) -> None:
    """Before anything is touched the key asks whether samples are planned, and says what to do."""
    first = rules.couplets[rules.start]
    assert first.number == 1
    told = " ".join(line for lead in first.leads for line in lead.do).lower()
    for word in ("glove", "wash", "soil", "foil", "paper"):
        assert word in told


def test_rules_by_path_by_name_or_the_main_ones(tmp_path: Path) -> None:
    """A folder is taken as it is, the name of a pack means the pack, nothing the main rules."""
    assert data.rules(tmp_path) == tmp_path
    assert data.rules() == data.root("rules")
    assert data.rules(Path("great_basin")) == data.root("rules") / "packs" / "great_basin"
    with pytest.raises(KeygenError, match="no rules folder at nowhere"):
        data.rules(Path("nowhere"))


def test_curve_is_lent_where_there_are_periods(tmp_path: Path) -> None:
    """Rules without a curve table are read with the main one, and it counts for the digest."""
    folder = tmp_path / "rules"
    shutil.copytree(SMALL_RULES, folder)
    before = digest(read_folder(folder))
    shutil.rmtree(folder / "curve")
    assert "curve/intcal20.csv" in read_folder(folder)
    assert digest(read_folder(folder)) != before
