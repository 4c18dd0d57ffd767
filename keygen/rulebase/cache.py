"""Compiled rules kept on disk, so that a second start reads no YAML.

One file for each digest of the rules, in the user's cache folder: a checksum, then JSON, a line for
what is wanted at once and a line for each field that is read only where it is asked for. A file is
only ever a copy, and holds data alone: one that is torn, or that other code wrote, is passed over
and written anew, and where none can be written the rules are read from their folder every time.
"""

from __future__ import annotations

import json
import os
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import Any
from zlib import crc32

from keygen.core.model import Rules
from keygen.rulebase.packed import LATER, SOON, Unpack, packed

MOST_KEPT = 8  # editions in the cache


def kept(digest: str) -> Rules | None:
    """Return the rules of a digest from the cache; None if they are not there, whole and sound."""
    try:
        head, _, body = _file(digest).read_bytes().partition(b"\n")
        if head != _checksum(body):
            return None
        first, *rest = body.split(b"\n")
        soon = dict(zip(SOON, json.loads(first), strict=True))
        later = zip(LATER.items(), rest, strict=True)
        return Rules.put_off(
            {name: SOON[name](value) for name, value in soon.items()},
            {name: partial(_read, way, line) for (name, way), line in later},
        )
    except (OSError, ValueError, TypeError, RuntimeError):  # the last: nobody has a home here
        return None


def keep(rules: Rules) -> None:
    """Put compiled rules into the cache, if that can be written; the oldest editions go."""
    lines = [_line([packed(getattr(rules, name)) for name in SOON])]
    lines += [_line(packed(getattr(rules, name))) for name in LATER]
    body = b"\n".join(lines)
    try:
        target = _file(rules.digest)
        partial_file = target.with_suffix(f".{os.getpid()}.part")
        target.parent.mkdir(parents=True, exist_ok=True)
        partial_file.write_bytes(_checksum(body) + b"\n" + body)
        partial_file.replace(target)
        files = sorted(target.parent.glob("rules-*"), key=lambda file: file.stat().st_mtime)
        for old in files[:-MOST_KEPT]:
            old.unlink()
    except (OSError, RuntimeError):
        return


def _line(value: object) -> bytes:
    return json.dumps(value, separators=(",", ":")).encode("ascii")


def _read(way: Unpack, line: bytes) -> Any:
    return way(json.loads(line))


def _checksum(body: bytes) -> bytes:
    return b"%08x" % crc32(body)


def _file(digest: str) -> Path:
    base = Path(os.environ.get("XDG_CACHE_HOME", ""))
    if not base.is_absolute():  # a relative one is to be ignored, by the same standard
        base = Path("~/.cache").expanduser()
    return base / "keygen" / f"rules-{digest}-{_code()}.json"


def _code() -> str:
    """Name the code that makes rules of files: other code does not read what this one kept."""
    here = Path(__file__).parent
    archive = next((place for place in here.parents if place.is_file()), None)  # a package in a zip
    folders = (here, here.parent / "core") if archive is None else ()
    sources = [archive] if archive else [f for place in folders for f in place.glob("*.py")]
    stated = [f"{f.name} {f.stat().st_size} {f.stat().st_mtime_ns}" for f in sources]
    return sha256("\n".join(sorted(stated)).encode()).hexdigest()[:8]
