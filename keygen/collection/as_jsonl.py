"""Outcomes as JSON Lines: one object a row, with the keys of `keygen describe --format json`."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping


def encode(entries: Iterable[Mapping[str, object]]) -> bytes:
    r"""Return objects as the bytes of a JSON Lines file.

    Text is kept exactly; half of a surrogate pair becomes the JSON escape `\udxxx`.
    """
    lines = [json.dumps(entry, ensure_ascii=False) + "\n" for entry in entries]
    return "".join(lines).encode("utf-8", "backslashreplace")
