"""A small set of rules with invented types, and pieces to describe under it.

The vocabulary is the shipped one, so that every state of it is worded here. Types, works and
regions are made up: nothing in this folder says anything about real points.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import inf
from typing import Any

from keygen import data
from keygen.core.examine import AnalystCall, Examination, Piece, examine
from keygen.core.measure import read
from keygen.core.model import (
    Band,
    Caution,
    Couplet,
    Criterion,
    Dates,
    Derivation,
    Gauge,
    Lead,
    LookAlike,
    Measurement,
    MeasureRange,
    Record,
    Region,
    Rules,
    Source,
    Type,
)
from keygen.core.observe import How, Observation
from keygen.errors import Problem
from keygen.rulebase.vocabulary import Vocabulary, read_losses, read_parts, read_vocabulary
from keygen.rulebase.yamlio import parse

GROUPS = ("handling", "condition", "haft", "base", "shoulder", "blade", "use_life", "size")
MEASUREMENTS = (
    Measurement("length", "maximum length", "mm"),
    Measurement("width", "maximum (shoulder) width", "mm"),
    Measurement("thickness", "maximum thickness", "mm"),
    Measurement("haft_length", "haft (stem) length", "mm"),
    Measurement("neck_width", "neck (juncture) width", "mm"),
    Measurement("base_width", "basal width", "mm"),
    Measurement("weight", "weight", "g"),
    Measurement("psa", "proximal shoulder angle", "deg"),
)
SOURCES = (
    Source("able1964", "Able, Ann B. 1964. An Invented Handbook.", 1964),
    Source("baker_cole1975", "Baker, C. D., and Eve F. Cole. 1975. Points Made Up.", 1975),
    Source("dunn_etal2009", "Dunn, G., H. Ely, and I. Fry. 2009. Invention Dated.", 2009),
)


@cache
def words() -> Vocabulary:
    """Return the shipped vocabulary."""
    folder = data.root("rules").joinpath("vocabulary")
    documents = [
        (group, parse(folder.joinpath(f"{group}.yaml").read_text("utf-8"), group))
        for group in GROUPS
    ]
    problems: list[Problem] = []
    found = read_vocabulary(documents, _parts(), problems)
    assert not problems
    return found


@cache
def _parts() -> dict[str, str]:
    return read_parts(parse(data.root("rules").joinpath("parts.yaml").read_text("utf-8"), "p"), [])


def mask(attribute: str, *states: str) -> int:
    """Return the mask of some states of an attribute."""
    bits = words().named[attribute][1]
    return sum(bits[state] for state in states)


def limits(**states: str) -> tuple[Criterion, ...]:
    """Return criteria written `stem_shape="straight contracting"`."""
    return tuple(
        Criterion(words().named[name][0], mask(name, *text.split()))
        for name, text in states.items()
    )


def _type(name: str, defined: dict[str, str], records: tuple[Record, ...], **more: Any) -> Type:
    return Type(
        id=name.lower().replace(" ", "_"),
        name=name,
        defined_by=limits(**defined),
        usual=more.pop("usual", ()),
        measures=more.pop("measures", ()),
        records=records,
        look_alikes=more.pop("look_alikes", ()),
        sources=("able1964",),
        basis="memory",
        **more,
    )


def _record(region: str, period: str, dates: Dates, **more: Any) -> Record:
    return Record(region, period, dates, ("able1964", "baker_cole1975"), "memory", **more)


TAPER = {
    "haft_style": "stemmed",
    "stem_shape": "contracting",
    "base_shape": "rounded pointed",
    "haft_grinding": "none",
}


def _types() -> tuple[Type, ...]:
    archaic = Dates(-5500, -5000, "bc/ad")
    woodland = Dates(-500, 600, "BC/AD", sure=False)
    old = Dates(9500, 8800, "rcybp")
    return (
        _type(
            "Alder Stemmed",
            TAPER,
            (_record("east", "Middle Archaic", archaic),),
            usual=limits(blade_edge="plain", shoulder_strength="weak"),
            measures=(MeasureRange("length", 30, 60, "memory", ("able1964",)),),
        ),
        _type(
            "Birch Stemmed",
            {**TAPER, "haft_grinding": "none base"},
            (_record("west", "Woodland (late part)", woodland, local_name="Bramble"),),
        ),
        _type(
            "Cedar Notched",
            {"haft_style": "notched", "notch_position": "side", "haft_grinding": "base both"},
            (_record("east", "Early Archaic", old, period_range=True),),
            look_alikes=(LookAlike("dogwood_notched", "Cedar notches lie higher on the side"),),
        ),
        _type(
            "Dogwood Notched",
            {"haft_style": "notched", "notch_position": "side corner"},
            (_record("east", "Late Archaic", Dates(-2000, -1000, "BC/AD"), period_range=True),),
        ),
        _type(
            "Elm Lanceolate",
            {"haft_style": "lanceolate", "fluting": "one_face both_faces"},
            (_record("east", "Early Paleoindian", Dates(13050, 12750, "cal BP")),),
        ),
        *(
            _type(
                f"Fir Triangle {n}",
                {"haft_style": "triangular", "base_shape": bases},
                (_record("east", "Late Woodland", Dates(700, 1400, "bc/ad")),),
            )
            for n, bases in enumerate(
                ("straight", "straight", "incurvate", "incurvate", "incurvate excurvate"), 1
            )
        ),
    )


@cache
def rules() -> Rules:
    """Return the rules that the tests of prose work under."""
    attributes = words().attributes
    stem = words().named["stem_shape"][0]
    couplet = Couplet(
        "stem_runs",
        23,
        "haft",
        "Which way do the sides of the stem run?",
        "",
        (
            Lead("a", "apart", ({stem: mask("stem_shape", "expanding")},), ""),
            Lead("b", "together", ({stem: mask("stem_shape", "straight", "contracting")},), ""),
        ),
    )
    losses: list[Problem] = []
    text = data.root("rules").joinpath("parts.yaml").read_text("utf-8")
    small = Rules(
        edition="test",
        digest="000000000000",
        attributes=attributes,
        start="stem_runs",
        couplets={"stem_runs": couplet},
        losses=read_losses(parse(text, "parts"), words(), _parts(), losses),
        parts=_parts(),
        types={kind.id: kind for kind in _types()},
        regions={
            "east": Region("east", "Eastern Valley", "in the Eastern Valley", (), ("west",)),
            "west": Region("west", "Western Hills", "on the Western Hills", (), ("east",)),
        },
        sources={source.key: source for source in SOURCES},
        measurements={m.id: m for m in MEASUREMENTS},
        derivations=(
            Derivation(
                "stem_by_widths",
                stem,
                (
                    Gauge(
                        "ratio",
                        ("base_width", "neck_width"),
                        (
                            Band(mask("stem_shape", "contracting"), 0, 0.85),
                            Band(mask("stem_shape", "straight"), 0.8, 1.05),
                            Band(mask("stem_shape", "expanding"), 1.0, inf),
                        ),
                    ),
                ),
                {},
                "common",
                (),
                "Limits made up for tests.",
            ),
        ),
        cautions={
            "sampling": Caution("sampling", "sampling", "Leave the piece unwashed.", "common"),
            "construct": Caution("construct", "typed", "A type is a construct.", "common"),
            "remains": Caution("remains", "context", "Consult the descendants.", "common"),
        },
        many=words().many,
    )
    return replace(small, universe=(small.full,))


def piece(
    label: str = "",
    measures: dict[str, str] | None = None,
    details: dict[str, str] | None = None,
    analyst: AnalystCall | None = None,
    how: dict[str, How] | None = None,
    **states: str,
) -> Piece:
    """Return a piece on which these states were seen; several are written `a b`."""
    observations = {}
    for name, text in states.items():
        if name == "damage":
            for word in text.split():
                index, bits = words().named[f"damage.{word}"]
                observations[index] = Observation(bits["present"], "seen")
            continue
        index, bits = words().named[name]
        observations[index] = Observation(sum(bits[s] for s in text.split()), "seen")
    for name, way in (how or {}).items():
        index = words().named[name][0]
        observations[index] = Observation(words().attributes[index].full, way)
    readings = {m: read(t, rules().measurements[m].unit) for m, t in (measures or {}).items()}
    return Piece(label, observations, readings, details or {}, analyst)


def examined(region: str = "", **what: Any) -> Examination:
    """Return a piece examined under the rules of the tests."""
    return examine(rules(), piece(**what), region)
