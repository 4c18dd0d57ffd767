"""Outcomes as JSON Lines: one object a row, with the keys of `keygen describe --format json`."""

from __future__ import annotations

import json
from collections.abc import Mapping


def encode(entry: Mapping[str, object]) -> bytes:
    r"""Return an object as one line of JSON.

    Text is kept exactly; half of a surrogate pair becomes the JSON escape `\udxxx`.
    """
    return (json.dumps(entry, ensure_ascii=False) + "\n").encode("utf-8", "backslashreplace")
