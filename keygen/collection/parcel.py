"""Outcomes sent from one process to another, without the rules, which both have."""

from __future__ import annotations

import io
import pickle
from collections.abc import Sequence

from keygen.collection.model import Outcome
from keygen.core.model import Rules


def packed(rules: Rules, outcomes: Sequence[Outcome]) -> bytes:
    """Return outcomes as bytes for `unpacked`."""
    parcel = io.BytesIO()
    pickler = _Pickler(parcel, pickle.HIGHEST_PROTOCOL)
    pickler.rules = rules
    pickler.dump(outcomes)
    return parcel.getvalue()


def unpacked(rules: Rules, parcel: bytes) -> Sequence[Outcome]:
    """Return the outcomes that another process of this program packed."""
    unpickler = _Unpickler(io.BytesIO(parcel))
    unpickler.rules = rules
    found: Sequence[Outcome] = unpickler.load()
    return found


class _Pickler(pickle.Pickler):
    rules: Rules

    def persistent_id(self, thing: object) -> str | None:
        return "rules" if thing is self.rules else None


class _Unpickler(pickle.Unpickler):
    rules: Rules

    def persistent_load(self, name: str) -> Rules:
        del name  # there is only one thing that has one
        return self.rules
