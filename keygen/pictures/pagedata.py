"""The rules as data for the pocket page: what its script needs to work as the core does.

A set of limits is a list of pairs `[attribute, mask]`; couplets stand in the order of the key and
are spoken of by their place in it, so that the next one is always the lowest.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import isfinite, log2
from typing import Any

from keygen.core.model import Attribute, Couplet, Criterion, Rules, Type
from keygen.core.rework import rework_signs
from keygen.core.separate import recorded
from keygen.prose.ages import age, full_citation, grounds
from keygen.prose.naming import local_name
from keygen.rulebase.thesaurus import plain
from keygen.specimens.screen import asked_about, basis
from keygen.specimens.terms import Lexicon

FORMAT = 1
Pairs = list[list[int]]
EVERY = 99  # sources: all of them


def page_data(rules: Rules, regions: Sequence[str]) -> dict[str, Any]:
    """Return everything that the page's script works with, ready to be written as JSON.

    Types and ages of all regions are in it, because the page tells of other regions too.

    Args:
        rules: the rules.
        regions: ids of the regions that a piece can be called for.
    """
    numbers = {name: t for t, name in enumerate(rules.types)}
    return {
        "format": FORMAT,
        "edition": rules.edition,
        "digest": rules.digest,
        "parts": dict(rules.parts),
        "many": dict(rules.many),
        "attributes": [_attribute(rules, a) for a in rules.attributes],
        "ordinary": _pairs(rules.ordinary),
        "signs": [list(sign) for sign in rework_signs(rules)],
        "losses": [
            {"parts": list(x.parts), "when": _pairs(x.when), "unless": _pairs(x.unless)}
            for x in rules.losses
        ],
        "couplets": [
            _couplet(rules, rules.couplets[name])
            for name in sorted(rules.couplets, key=rules.order.__getitem__)
        ],
        "start": rules.order[rules.start],
        "universe": [list(box) for box in rules.universe],
        "words": _words(Lexicon(rules)),
        "thesaurus": [
            {
                "forms": [word.word, *word.also],
                "means": [_pairs(limits) for limits in word.means],
                "used": word.used,
            }
            for word in rules.thesaurus
            if not word.named
        ],
        "names": _names(Lexicon(rules)),
        "types": [_type(rules, kind) for kind in rules.types.values()],
        "bits": _bits(rules),
        "tells": _tells(rules, regions, numbers),
        "regions": {
            name: {
                "label": region.label,
                "place": region.place,
                "near": list(region.neighbours),
                "offered": name in regions,
            }
            for name, region in rules.regions.items()
        },
        "measurements": [
            {"id": m.id, "label": m.label, "unit": m.unit, "parts": list(m.parts)}
            for m in rules.measurements.values()
            if m.asked
        ],
        "derivations": [
            {
                "attribute": rule.attribute,
                "when": _pairs(rule.when),
                "by": [
                    {
                        "figure": gauge.figure,
                        "terms": list(gauge.terms),
                        "bands": [[b.states, _end(b.low), _end(b.high)] for b in gauge.bands],
                    }
                    for gauge in rule.by
                ],
            }
            for rule in rules.derivations
        ],
        "cuts": [
            {"measurements": list(cut.measurements), "when": _pairs(cut.when)} for cut in rules.cuts
        ],
        "cautions": [
            {"id": caution.id, "when": caution.when, "text": caution.text}
            for caution in rules.cautions.values()
        ],
        "works": _works(rules),
    }


def _pairs(limits: Mapping[int, int]) -> Pairs:
    return [[i, mask] for i, mask in limits.items()]


def _end(value: float) -> float | None:
    """Return an end of a band; None for one that is open, which JSON has no figure for."""
    return value if isfinite(value) else None


def _criteria(criteria: Iterable[Criterion]) -> Pairs:
    return [[c.attribute, c.allowed] for c in criteria]


def _attribute(rules: Rules, attribute: Attribute) -> dict[str, Any]:
    states = [
        {"id": s.id, "term": s.term, "means": s.means, "also": list(s.also)}
        for s in attribute.states
    ]
    return {
        "id": attribute.id,
        "label": attribute.label,
        "part": attribute.part,
        "stability": attribute.stability,
        "item": attribute.item_of,
        "lessens": attribute.lessens,
        "definition": attribute.definition,
        "basis": basis(rules, attribute),
        "states": states,
    }


def _couplet(rules: Rules, couplet: Couplet) -> dict[str, Any]:
    leads = [
        {
            "say": lead.say,
            "leaves": [_pairs(limits) for limits in lead.leaves],
            "go": rules.order[lead.go] if lead.go else -1,
            "do": list(lead.do),
        }
        for lead in couplet.leads
    ]
    return {
        "id": couplet.id,
        "number": couplet.number,
        "part": couplet.part,
        "ask": couplet.ask,
        "look": couplet.look,
        "decides": sorted(couplet.decides),
        "about": asked_about(rules, couplet),
        "leads": leads,
    }


def _words(lexicon: Lexicon) -> list[list[Any]]:
    """Return each word for a state: as written, the attribute that it belongs to, and its limits.

    The terms themselves stand before other words for the same states.
    """
    written: dict[str, str] = {}
    for attribute in lexicon.rules.attributes:
        for state in attribute.states:
            for form in (state.term, *state.also):
                written.setdefault(plain(form), form)
    return [
        [written.get(word, word), name, _pairs(limits), int(word in lexicon.own.get(name, ()))]
        for name, words in lexicon.words.items()
        for word, limits in words.items()
    ]


def _names(lexicon: Lexicon) -> dict[str, str]:
    """Return the id of the attribute that each plain id, earlier id or label leads to."""
    found = dict(lexicon.aliases)
    for name, label in lexicon.labels.items():
        found.setdefault(plain(label), name)
    return found | {plain(name): name for name in lexicon.labels}


def _type(rules: Rules, kind: Type) -> dict[str, Any]:
    """Return a type with its age by region, under its own name, in the words of the reports."""
    known = {
        record.region: [
            record.period,
            age(rules, record, EVERY),
            local_name(rules, kind, record),
        ]
        for record in kind.records
        if not record.local_type
    }
    return {
        "id": kind.id,
        "name": kind.name,
        "defined": _criteria(kind.defined_by),
        "usual": _criteria(kind.usual),
        "ranges": [[m.measurement, m.low, m.high] for m in kind.measures],
        "grounds": grounds(rules, kind.sources, kind.basis, EVERY),
        "known": known,
    }


def _bits(rules: Rules) -> dict[str, float]:
    """Return how much a criterion leaves out, in bits, by `states/states allowed`.

    The script adds up the very figures that the core adds up, so that ties stay ties.
    """
    ratios = {
        (rules.full[c.attribute].bit_count(), c.allowed.bit_count())
        for kind in rules.types.values()
        for c in kind.defined_by
    }
    return {f"{every}/{allowed}": log2(every / allowed) for every, allowed in sorted(ratios)}


def _tells(
    rules: Rules, regions: Sequence[str], numbers: Mapping[str, int]
) -> list[tuple[int, int, str]]:
    """Return what parts two types that are both known in one of some regions."""
    pairs = {
        (one.id, other.id)
        for region in regions
        for one in rules.in_region(region)
        for other in rules.in_region(region)
        if one.id < other.id
    }
    return [
        (numbers[one], numbers[other], told[0])
        for one, other in sorted(pairs)
        if (told := recorded(rules, one, other))
    ]


def _works(rules: Rules) -> list[str]:
    """Return the full references of all that the page cites, in order."""
    keys = {
        key
        for kind in rules.types.values()
        for cited in (kind.sources, *(record.sources for record in kind.records))
        for key in cited
    }
    keys |= {key for attribute in rules.attributes for key in attribute.sources}
    return sorted(full_citation(rules.sources[key]) for key in keys)
