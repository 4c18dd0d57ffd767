"""What keygen does with a hostile input, one function a kind: it may raise `KeygenError` only."""

from __future__ import annotations

import io
import random
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import openpyxl

from keygen.collection import batch, mapping
from keygen.collection.columns import plan
from keygen.collection.result import Results
from keygen.collection.sources import open_table
from keygen.core.model import Rules
from keygen.prose import describe
from keygen.specimens import path, record
from keygen.specimens.journal import Journal
from keygen.specimens.resume import restore
from keygen.specimens.session import answer, begin, prompt
from keygen.specimens.terms import Lexicon
from tests.collection.corrupted import corrupted
from tests.conftest import SMALL_RULES
from tests.faults import rulefiles
from tests.faults.mutation import changed, repacked

ROOT = SMALL_RULES.parent.parent
DEMO = ROOT / "keygen" / "demo"
MAPPING = b"""\
region: ozarks
always: {portion: complete}
not_recorded: ["99", n/a]
columns:
  Specimen No.: number
  Haft style: haft_style
  Stem shape: {attribute: stem_shape, codes: {1: straight, 2: [straight, contracting]}}
  Length (mm): {measure: length, unit: mm}
  Class: {codes: {A: {stem_shape: straight, base_shape: [straight]}, B: not recorded}}
  Date: {field: date, order: day}
"""
PATHS = (
    b"1a 3? 4a 5b 7a 21b 22b 23b 24- 25b 26a 28a 29b 32a 45b 46b 49? 50a 51- 52b 53b 55- 56a",
    b"1b 2b 3a 24b 37? 38b base_shape=straight 45b 46b 49b; 50b, 52? 53a",
    b"portion=complete damage=heat stem_shape=straight/contracting haft_style=stemmed",
)
TYPED = (
    b"a\nb\nu\nn\nback\nexcurvate\nstemmed\n?\nhelp\nso far\nleft\nenough\n34.2+\n\n(5)\nchert\n",
    b"a\na\nportion=complete\ncontracting\ndamage=none\n1\nnone\nenough\n10 YR 3/4\n41HR1\nT. E.\n",
)


@dataclass(frozen=True)
class Bench:
    """What the tries need: rules, and a folder that is theirs."""

    rules: Rules
    folder: Path

    def file(self, name: str, content: bytes) -> Path:
        """Write a file into the folder."""
        target = self.folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
        return target


@cache
def _folder(folder: Path, ending: str) -> tuple[Path, ...]:
    return tuple(sorted(folder.rglob(f"*{ending}")))


@cache
def _table() -> bytes:
    return corrupted(60, 3)[0].encode()


@cache
def _book() -> bytes:
    book = openpyxl.Workbook()
    sheet = book.create_sheet("finds", 0)
    for line in _table().decode().splitlines()[:30]:
        sheet.append(line.split(","))
    sheet.append([34.2, True, None, "=1+1"])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def rules(bench: Bench, chance: random.Random) -> None:
    """Prove and use rules of which one file was changed: small ones, a pack, or an addition."""
    which = chance.random()
    if which < 0.2:
        rulefiles.added(chance)
    else:
        rulefiles.proved(chance, rulefiles.PACK if which < 0.55 else SMALL_RULES)


def main_rules(bench: Bench, chance: random.Random) -> None:
    """Build and use the rules that ship, of which one file was changed."""
    rulefiles.shipped(chance)


def specimen(bench: Bench, chance: random.Random) -> None:
    """Read a record, examine and describe it, and write it again."""
    given, other = (chance.choice(_folder(DEMO, ".yaml")).read_bytes() for _ in range(2))
    file = bench.file("record.yaml", changed(chance, given, other))
    lexicon = Lexicon(bench.rules)
    found = record.load(lexicon, file)
    examined = record.examined(bench.rules, found.piece, found.region)
    describe(bench.rules, examined, chance.choice(("note", "report", "catalogue", "account")))
    again = record.to_text(bench.rules, found)
    assert record.read_text(lexicon, again, "again").piece == found.piece


def table(bench: Bench, chance: random.Random) -> None:
    """Describe a table in text."""
    content = changed(chance, _table(), _book())
    if chance.random() < 0.2:
        content = content.decode("utf-8", "replace").encode(
            chance.choice(("utf-16", "cp1252", "utf-32")), "replace"
        )
    _described(bench, bench.file("table.csv", content))


def workbook(bench: Bench, chance: random.Random) -> None:
    """Describe a workbook."""
    _described(bench, bench.file("table.xlsx", repacked(chance, _book())))


def _described(bench: Bench, file: Path, house: mapping.House | None = None) -> None:
    opened = open_table(str(file), bench.rules)
    planned, _ = plan(bench.rules, opened.header, house, "ozarks")
    results = Results(planned, "report", None, False)
    rows = (row for row, _ in zip(opened.rows, range(200), strict=False))
    for cells in batch.described(planned, results, rows):
        "".join(cells).encode("utf-8", "backslashreplace")


def house(bench: Bench, chance: random.Random) -> None:
    """Read a mapping file, and a table with it."""
    file = bench.file("house.yaml", changed(chance, MAPPING, _table()))
    found = mapping.load(bench.rules, file)
    _described(bench, bench.file("table.csv", _table()[:1500]), found)


def notation(bench: Bench, chance: random.Random) -> None:
    """Read a path."""
    text = changed(chance, chance.choice(PATHS), chance.choice(PATHS))
    path.read(Lexicon(bench.rules), text.decode("utf-8", "surrogateescape"))


def template(bench: Bench, chance: random.Random) -> None:
    """Describe a piece with one template changed."""
    file = chance.choice(_folder(ROOT / "templates" / "report", ".j2"))
    other = chance.choice(_folder(ROOT / "templates" / "report", ".j2")).read_bytes()
    own = bench.folder / str(chance.getrandbits(64))
    bench.file(f"{own.name}/report/{file.name}", changed(chance, file.read_bytes(), other))
    demo = record.load(Lexicon(bench.rules), chance.choice(_folder(DEMO, ".yaml")))
    try:
        examined = record.examined(bench.rules, demo.piece, demo.region)
        describe(bench.rules, examined, "report", own)
    finally:
        shutil.rmtree(own)


def typed(bench: Bench, chance: random.Random) -> None:
    """Answer a walk with odd lines, keep it in a journal, damage that, and go on with it."""
    lines = changed(chance, chance.choice(TYPED), chance.choice(TYPED)).decode("utf-8", "replace")
    until_call = chance.random() < 0.3
    start = begin(Lexicon(bench.rules), "ozarks", "T-1", "2026-01-02", until_call)
    session = start
    file = bench.folder / "T-1.walk"
    file.unlink(missing_ok=True)
    with Journal(file, {"region": "ozarks"}) as journal:
        for line in lines.split("\n")[:25]:
            if session.finished:
                break
            prompt(session)
            reply = answer(session, line)
            for entry in reply.keep:
                journal.entries.append(entry)
            session = reply.session
        again, fitted, why = restore(start, journal.answers)
        assert (again.record, fitted, why) == (session.record, len(journal.answers), "")
    file.write_bytes(changed(chance, b'{"keygen_walk": 1}\n{"took": ["1a"]}\n{"back": true}\n'))
    with Journal(file, {}) as journal:
        restore(start, journal.answers)


Try = Callable[[Bench, random.Random], None]
KINDS: Mapping[str, Try] = {
    "rules": rules,
    "main rules": main_rules,
    "records": specimen,
    "tables": table,
    "workbooks": workbook,
    "mapping files": house,
    "paths": notation,
    "templates": template,
    "walks": typed,
}
