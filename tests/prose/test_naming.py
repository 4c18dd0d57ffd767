"""Names of types: local names, an analyst's wording, and the tell between two types."""

from __future__ import annotations

from dataclasses import replace

import pytest

from keygen.core.model import LookAlike, Type
from keygen.prose.naming import called, folded, resolve, tell
from tests.prose.pieces import rules


def kind(name: str) -> Type:
    """Return an invented type by its name."""
    return next(t for t in rules().types.values() if t.name == name)


@pytest.mark.parametrize(
    ("local", "text"),
    [
        ("Bramble", "Birch Stemmed (locally Bramble)"),
        ("Bramble, Hazel or Ivy", "Birch Stemmed (locally Bramble, Hazel or Ivy)"),
        ("Birch (Western usage), close to Alder", "Birch Stemmed"),
        ("Birch", "Birch Stemmed"),
        ("Birch-Stemmed or Bramble", "Birch Stemmed"),
        ("Bramble (long stem)", "Birch Stemmed"),
        ("Bramble; Hazel", "Birch Stemmed"),
        ("compare Bramble", "Birch Stemmed"),
        ("Bramble in the older sense", "Birch Stemmed"),
        ("Bramble Hazel Ivy Juniper Larch", "Birch Stemmed"),
        ("", "Birch Stemmed"),
    ],
)
def test_local_names(local: str, text: str) -> None:
    """A local name is told where it is a name, and another one than the type's own."""
    birch = kind("Birch Stemmed")
    named = replace(birch, records=(replace(birch.records[0], local_name=local),))
    assert called(rules(), named, "west") == text


def test_local_type() -> None:
    """A local type is told by its name."""
    birch = kind("Birch Stemmed")
    named = replace(birch, records=(replace(birch.records[0], local_type="alder_stemmed"),))
    assert called(rules(), named, "west") == "Birch Stemmed (locally Alder Stemmed)"
    assert called(rules(), named, "east") == "Birch Stemmed"


@pytest.mark.parametrize(
    "wording",
    ["Alder Stemmed", "ALDER-STEMMED", " alderstemmed ", "alder_stemmed", "Alder, stemmed"],
)
def test_resolve(wording: str) -> None:
    """An analyst's wording is matched to a type whatever its case, hyphens and spaces."""
    assert resolve(rules(), wording) == "alder_stemmed"


def test_resolve_by_synonym() -> None:
    """A synonym leads to its type, and a type's own name before it."""
    types = {
        name: replace(t, also=("Jack's Thorn", "Cedar Notched") if name == "alder_stemmed" else ())
        for name, t in rules().types.items()
    }
    known = replace(rules(), types=types)
    assert resolve(known, "jacks-thorn") == "alder_stemmed"
    assert resolve(known, "cedar notched") == "cedar_notched"
    assert resolve(known, "no such type") == ""
    assert resolve(known, "?") == ""


def test_folded() -> None:
    """Case, spaces and signs are left out of a folded name."""
    assert folded("St. Albans Side-Notched") == "stalbanssidenotched"


def _pair(text: str) -> tuple[Type, Type]:
    alder = replace(kind("Alder Stemmed"), look_alikes=(LookAlike("birch_stemmed", text),))
    return alder, kind("Birch Stemmed")


@pytest.mark.parametrize(
    ("recorded", "of_two", "of_three"),
    [
        (
            "Look at the base: round on Alder.",
            "To part them, look at the base: round on Alder",
            "To part Alder Stemmed from Birch Stemmed, look at the base: round on Alder",
        ),
        (
            "Alder: narrow; Birch: wide",
            "Alder: narrow; Birch: wide",
            "Alder: narrow; Birch: wide",
        ),
        (
            "The stem is longer.",
            "The stem is longer",
            "As for Alder Stemmed and Birch Stemmed, the stem is longer",
        ),
        (
            "Alder is wider",
            "Alder is wider",
            "As for Alder Stemmed and Birch Stemmed, Alder is wider",
        ),
    ],
)
def test_tell(recorded: str, of_two: str, of_three: str) -> None:
    """A tell is a sentence of its own; of more than two types, the first two are named in it."""
    one, other = _pair(recorded)
    assert tell(rules(), one, other) == of_two
    assert tell(rules(), other, one) == of_two
    assert tell(rules(), one, other, alone=False) == of_three


def test_no_tell() -> None:
    """There is no tell between types that nobody confuses."""
    assert tell(rules(), kind("Birch Stemmed"), kind("Elm Lanceolate")) == ""
