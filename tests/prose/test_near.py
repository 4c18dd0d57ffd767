"""Near misses: their order, and how what parts them from the piece is worded."""

from __future__ import annotations

from dataclasses import replace

import pytest

from keygen.core.call import judge
from keygen.core.examine import Examination
from keygen.prose.near import MOST_NEAR, Contrast, contrast, nearest, steps
from tests.prose.pieces import examined, limits, mask, rules, words

NOTCHED = {"haft_style": "notched", "notch_position": "side", "base_shape": "straight"}
PIECE = {**NOTCHED, "haft_grinding": "none", "fluting": "none"}


def under(definitions: list[dict[str, str]]) -> tuple[Examination, list[str]]:
    """Return a side-notched piece held against types so defined, and the nearest of them."""
    base = next(iter(rules().types.values()))
    found = examined("east", **PIECE)
    kinds = [
        replace(base, id=f"t{n}", name=f"T {n}", defined_by=limits(**d), usual=(), look_alikes=())
        for n, d in enumerate(definitions)
    ]
    known = replace(rules(), types={t.id: t for t in kinds})
    judged = tuple(judge(known, kind, found.known) for kind in kinds)
    assert found.call is not None
    call = replace(found.call, near_misses=tuple(j for j in judged if len(j.against) == 1))
    return found, [j.type for j in nearest(known, found, call)]


def test_least_gross_first() -> None:
    """What is against a type by little goes before what is so by much; other hafts are left out."""
    _, order = under(
        [
            {**NOTCHED, "haft_style": "triangular", "notch_position": "side"},
            {**NOTCHED, "notch_position": "corner"},
            {**NOTCHED, "base_shape": "rounded"},
            {**NOTCHED, "haft_grinding": "both"},
        ]
    )
    assert order == ["t3", "t1", "t2"]


def test_no_more_than_three() -> None:
    """A text names three near misses at most."""
    _, order = under([{**NOTCHED, "haft_grinding": "both"}] * 5)
    assert len(order) == MOST_NEAR == 3


@pytest.mark.parametrize(
    ("name", "one", "other", "count"),
    [
        ("base_shape", "straight", "excurvate", 1),
        ("base_shape", "straight", "rounded pointed", 2),
        ("base_shape", "straight", "bifurcate", 2),
        ("haft_grinding", "none", "both", 1),
        ("stem_shape", "expanding straight", "contracting", 1),
    ],
)
def test_steps(name: str, one: str, other: str, count: int) -> None:
    """Grades are counted from the nearest states of two sets."""
    attribute = words().attributes[words().named[name][0]]
    assert steps(attribute, mask(name, *one.split()), mask(name, *other.split())) == count


@pytest.mark.parametrize(
    ("definition", "which"),
    [
        ({"haft_grinding": "base sides both"}, "whose haft is ground"),
        ({"base_shape": "rounded pointed"}, "whose base is rounded to pointed"),
        ({"notch_position": "corner basal"}, "which is corner-notched or basally notched"),
        ({"fluting": "one_face both_faces"}, "which is fluted on at least one face"),
        ({"notch_form": "shallow"}, "whose notches are shallow"),
        ({"notch_count": "four_plus"}, "which has four or more notches"),
        ({"haft_waist": "none"}, "which has no waist"),
        ({"ears": "none"}, "which has no ears"),
        ({"haft_waist": "slight strong"}, "whose waist is slight to strong"),
        ({"size_class": "small"}, "which is small"),
        ({"flute_length": "long"}, "whose flute runs for most of its length"),
        ({"barb_reach": "below"}, "whose barbs end below the base"),
    ],
)
def test_contrast(definition: dict[str, str], which: str) -> None:
    """A near miss is told by what it has and the piece has not."""
    base = next(iter(rules().types.values()))
    kind = replace(base, defined_by=limits(**definition))
    (against,) = kind.defined_by
    near = Contrast(kind.id, against.attribute, against.allowed)
    assert contrast(rules(), near)["which"] == which
