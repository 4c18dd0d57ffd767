"""Random walks through the key, and what the core makes of them, to be held against the page."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from keygen.core.ahead import left_at_most
from keygen.core.call import Judgement, by_region, judge
from keygen.core.examine import Piece
from keygen.core.infer import Contradiction, gone_parts
from keygen.core.measure import read
from keygen.core.model import Criterion, MeasureRange, Rules
from keygen.core.observe import observations
from keygen.core.rework import set_aside
from keygen.core.walk import (
    Answer,
    Choice,
    Position,
    Term,
    back,
    may_be_asked,
    next_couplet,
    start,
    take,
)
from keygen.prose.regional import cautions
from keygen.prose.sights import look
from keygen.specimens import path
from keygen.specimens.history import measured_otherwise
from keygen.specimens.record import Specimen, examined, judged, observed_at, to_text
from keygen.specimens.screen import listed
from keygen.specimens.terms import Lexicon

CHOICES: tuple[Choice, ...] = ("a", "b", "?", "-")
TITLES = {
    "seen": "Seen",
    "unsure": "Unsure",
    "missing": "Cannot be seen",
    "implied": "Follows from that",
}


@dataclass(frozen=True)
class Walk:
    """A walk in one region (or none), with where it led."""

    region: str
    position: Position


def stroll(lexicon: Lexicon, rng: random.Random) -> Walk:
    """Walk some way with answers of every kind, some ahead of their turn, terms, and steps back."""
    rules = lexicon.rules
    region = rng.choice([*rules.regions, ""])
    wanted = rng.choice((3, 4, 5, 6, 8, 10, 12, 15, 19, 99))
    position = start(rules)
    while (couplet := next_couplet(rules, position)) and len(position.steps) < wanted:
        luck = rng.random()
        if luck < 0.04 and position.steps:
            position = back(rules, position)
        elif luck < 0.12:
            position = named(lexicon, rng, position)
        else:
            choice = rng.choices(CHOICES, (50, 40, 5, 5))[0]
            early = rng.choice(may_be_asked(rules, position)) if luck < 0.2 else couplet
            try:
                position = take(rules, position, Answer(early.id, choice, early != couplet))
            except Contradiction:  # a lead that is open alone, and not with the rest
                continue
    return Walk(region, position)


def named(lexicon: Lexicon, rng: random.Random, position: Position) -> Position:
    """Name the states of a word of the trade or of two, if they fit and say something new."""
    name = rng.choice(list(lexicon.words))
    limits = dict(rng.choice(list(lexicon.words[name].values())))
    if name not in lexicon.rules.many and rng.random() < 0.5:
        for i, mask in rng.choice(list(lexicon.words[name].values())).items():
            limits[i] = limits.get(i, 0) | mask
    for i, mask in limits.items():
        if position.known[i] & ~mask:
            try:
                position = take(lexicon.rules, position, Term(i, mask))
            except Contradiction:
                return position
    return position


def measured(rules: Rules, rng: random.Random) -> dict[str, str]:
    """Return measurements as somebody enters them, some across a break, some in other units."""
    found = {}
    for name, measurement in rules.measurements.items():
        if not measurement.asked or rng.random() < 0.4:
            continue
        high = (
            3 * max(measurement.low, 8) if measurement.unit == "mm" else min(measurement.high, 260)
        )
        text = f"{rng.uniform(measurement.low, high):.{rng.choice((0, 1, 1, 2))}f}"
        if float(text) <= 0:
            continue
        if measurement.unit == "mm" and rng.random() < 0.15:
            text = f"{float(text) / 10:.2f} cm"
        luck = rng.random()
        found[name] = f"{text}+" if luck < 0.15 else f"({text})" if luck < 0.25 else text
    return found


def told(rules: Rules, walk: Walk, entered: Mapping[str, str] | None = None) -> dict[str, Any]:
    """Return all that the page should say of a walk and measurements, worked out by the core."""
    position = walk.position
    seen = observations(rules, position)
    line = path.write(rules, position.steps)
    made = piece(rules, position, entered or {})
    specimen = judged(rules, Specimen(made, walk.region, rules.edition, rules.digest, line))
    found = examined(rules, specimen.piece, walk.region)
    coming = next_couplet(rules, position)
    call = found.call
    return {
        "couplet": coming.number if coming else None,
        "known": list(position.known),
        "observations": [[o.mask, o.how, list(o.at)] for o in seen],
        "settled": [
            [title, entries]
            for how, title in TITLES.items()
            if (entries := _entries(rules, position, how))
        ],
        "left": left_at_most(rules, position),
        "path": line,
        "status": call.status if call else "",
        "reason": call.reason if call else "",
        "candidates": [_judged(rules, j) for j in call.candidates] if call else [],
        "near": [_judged(rules, j) for j in call.near_misses] if call else [],
        "elsewhere": [[region, j.type] for region, j in by_region(found.elsewhere)],
        "cautions": cautions(rules, found, look(rules, found)),
        "record": to_text(rules, specimen),
        "judged": [[o.mask, o.how] for o in found.observations],
        "otherwise": list(measured_otherwise(rules, found)),
    }


def piece(rules: Rules, position: Position, entered: Mapping[str, str]) -> Piece:
    """Return the piece that a walk and measurements describe.

    A figure across a part that is gone is at least that, and is written so.
    """
    gone = gone_parts(rules, position.known)
    texts = {
        name: f"{text}+"
        if gone & set(rules.measurements[name].parts) and text[-1].isalnum()
        else text
        for name, text in entered.items()
    }
    readings = {name: read(text, rules.measurements[name].unit) for name, text in texts.items()}
    return Piece(observations=observed_at(rules, position), readings=readings)


def clashes(rules: Rules, walk: Walk) -> bool:
    """Tell whether the criteria of a type of the region fit one by one but not together."""
    known, kinds = walk.position.known, rules.in_region(walk.region)
    aside = set_aside(rules, known, frozenset())
    against = [c for kind in kinds for c in judge(rules, kind, known, aside=aside).against]
    return any(c.allowed & known[c.attribute] for c in against)


def _entries(rules: Rules, position: Position, how: str) -> list[str]:
    which = [i for i, o in enumerate(observations(rules, position)) if o.how == how]
    if how == "missing":
        return [rules.attributes[i].label for i in which]
    return listed(rules, position.known, which)


def _judged(rules: Rules, judgement: Judgement) -> dict[str, Any]:
    def ids(criteria: tuple[Criterion, ...]) -> list[str]:
        return [rules.attributes[c.attribute].id for c in criteria]

    def taken(ranges: tuple[MeasureRange, ...]) -> list[str]:
        return [m.measurement for m in ranges]

    return {
        "type": judgement.type,
        "standing": judgement.standing.name.lower(),
        "met": ids(judgement.met),
        "open": ids(judgement.open),
        "against": ids(judgement.against),
        "usual_met": ids(judgement.usual_met),
        "usual_against": ids(judgement.usual_against),
        "inside": taken(judgement.measures_in),
        "outside": taken(judgement.measures_out),
    }
