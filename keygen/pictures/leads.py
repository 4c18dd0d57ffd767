"""A small picture for each lead of the key: a neutral point with what is to be seen drawn heavily.

Both leads of a couplet show the same neutral point as far as the answer allows. Where a lead leaves
several states the first is heavy and the others are faint.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from keygen.core.model import PRESENT, Couplet, Lead, Rules
from keygen.core.states import Box, narrow
from keygen.pictures.accent import accented
from keygen.pictures.form import PLAIN
from keygen.pictures.kindred import drawable, looks, named, shows
from keygen.pictures.plan import plan
from keygen.pictures.sketch import Sketch, choose, filled
from keygen.pictures.svg import Drawing, picture

# The neutral points: states preferred where a lead leaves them open, and a squat figure, so that
# the haft is large in a small picture.
_STEMMED = {
    "haft_style": "stemmed",
    "stem_shape": "straight",
    "stem_length": "medium",
    "shoulder_shape": "horizontal",
    "shoulder_strength": "strong",
    "blade_shape": "excurvate",
    "base_width_class": "narrower",
    "portion": "complete",
}
_NOTCHED = {
    **_STEMMED,
    "haft_style": "notched",
    "notch_position": "side",
    "notch_form": "broad_u",
    "notch_count": "two",
    "stem_shape": "expanding",
    "stem_length": "short",
}
_CORNER_NOTCHED = {**_NOTCHED, "notch_position": "corner", "notch_form": "v_shaped"}
_LANCEOLATE = {
    "haft_style": "lanceolate",
    "haft_sides": "parallel",
    "blade_shape": "excurvate",
    "portion": "complete",
}
_SIZES = {
    "stemmed": {"length": 48.0, "width": 30.0},
    "notched": {"length": 46.0, "width": 31.0},
    "lanceolate": {"length": 50.0, "width": 23.0},
    "triangular": {"length": 44.0, "width": 32.0},
    "leaf": {"length": 50.0, "width": 24.0},
}
_BY_STYLE = {
    "stemmed": _STEMMED,
    "notched": _NOTCHED,
    "lanceolate": _LANCEOLATE,
    "triangular": {**_LANCEOLATE, "haft_style": "triangular", "haft_sides": "expanding"},
    "leaf": {**_LANCEOLATE, "haft_style": "leaf", "haft_sides": "contracting"},
}
# Which neutral point a form is shown on; a stemmed one for all others.
_SHOWN_ON = {
    "notch_position": "notched",
    "notch_form": "notched",
    "notch_count": "notched",
    **dict.fromkeys(
        ("haft_sides", "haft_waist", "base_shape", "base_finish", "ears"), "lanceolate"
    ),
    **dict.fromkeys(("fluting", "flute_length", "basal_thinning", "haft_grinding"), "lanceolate"),
}
_STEMS_TO = 100.0  # degrees of the proximal shoulder angle up to which it is shown on a stem
_SIZE = {"small": 0.6, "medium": 1.0, "large": 1.45}
_TOGETHER = 3  # alternatives of a lead ("something else") that are drawn at once
_FURTHER = 3  # further states that are drawn faint


@dataclass(frozen=True)
class LeadPictures:
    """SVG text by couplet id and letter; and the couplets without pictures, with the reason."""

    leads: Mapping[tuple[str, str], str]
    without: Mapping[str, str]


def lead_pictures(
    rules: Rules, height: str = "", couplets: Iterable[Couplet] | None = None
) -> LeadPictures:
    """Return the pictures of the leads of some couplets.

    Args:
        rules: the rules.
        height: a length of CSS (`48px`); empty for the size in mm.
        couplets: those of the key if not given.
    """
    leads: dict[tuple[str, str], str] = {}
    without: dict[str, str] = {}
    for couplet in rules.couplets.values() if couplets is None else couplets:
        reason = why_not(rules, couplet)
        if reason:
            without[couplet.id] = reason
            continue
        for lead in couplet.leads:
            leads[couplet.id, lead.letter] = picture(lead_drawing(rules, couplet, lead), height)
    return LeadPictures(leads, without)


def why_not(rules: Rules, couplet: Couplet) -> str:
    """Return why a couplet has no picture; empty if it has."""
    if not drawable(rules):
        return "its rules name hafts that cannot be drawn"
    if _about(rules, couplet):
        return ""
    labels = [rules.attributes[i].label.partition(" (")[0] for i in sorted(couplet.decides)]
    return f"no outline shows {' and '.join(labels)}"


def _about(rules: Rules, couplet: Couplet) -> tuple[str, ...]:
    """Return the forms, figures and items of damage in which the leads of a couplet differ."""
    first, second = (lead.leaves[0] for lead in couplet.leads)
    found: list[str] = []
    for i in first:
        attribute = rules.attributes[i]
        if i not in couplet.decides:
            continue
        if attribute.id in named(rules, i) or shows(attribute):
            found.append(attribute.id)
            continue
        one, other = (
            [looks(rules)[i][s] for s in attribute.ids(mask)]
            for mask in (first[i], second.get(i, attribute.full & ~first[i]))
        )
        found += [
            name
            for name in named(rules, i)
            if {words.get(name) for words in one} != {words.get(name) for words in other}
        ]
    return tuple(dict.fromkeys(found))


def lead_drawing(rules: Rules, couplet: Couplet, lead: Lead) -> Drawing:
    """Return the picture of a lead, not yet as text.

    Args:
        rules: the rules.
        couplet: a couplet of the key, or of the key to a region's types, that `why_not` has
            nothing against.
        lead: one of its leads.
    """
    about = _about(rules, couplet)
    items = _items(rules, lead)
    neutral = _fit(rules, lead, _neutral(rules, couplet, lead, about))
    prefer = {**neutral, **_broken(about, items)}
    if about[0] == "base_width_class":
        prefer["stem_shape"] = "expanding"
    limits = dict(lead.leaves[0])
    states = _chosen(rules, couplet, limits, prefer)
    states |= _otherwise(rules, lead)
    if about == ("portion",) and states["portion"] == "near_complete":
        items = frozenset({"tip_snap"})
    sketch = Sketch(states, damage=items, sizes=_sized(states))
    further = [
        (form, plan(other, _sized(other))) for form, other in _further(rules, couplet, lead, states)
    ]
    number = couplet.number if couplet.id in rules.couplets else couplet.id
    title = f"{number}{lead.letter}: {lead.say}"
    return accented(sketch, plan(states, sketch.sizes), further, about, title)


def _chosen(
    rules: Rules, couplet: Couplet, limits: Mapping[int, int], prefer: Mapping[str, str]
) -> dict[str, str]:
    """Return as what a lead is drawn; of what the rules say nothing, the neutral point's.

    Figures that merely come to be asked with it ("shouldered, so it has a neck") are left out.
    """
    told = {
        i: mask
        for i, mask in limits.items()
        if i in couplet.decides or set(named(rules, i)) <= PLAIN.keys()
    }
    states = choose(rules, _possible(rules, limits), told, prefer)
    fits = prefer["haft_style"] == states["haft_style"]
    neutral = prefer if fits else _BY_STYLE[states["haft_style"]]
    return {**neutral, **filled(rules, states, neutral)}


def _neutral(rules: Rules, couplet: Couplet, lead: Lead, about: Sequence[str]) -> Mapping[str, str]:
    """Return the neutral point on which a lead is shown."""
    shown = [_first(rules, one, about[0]) for one in couplet.leads]
    if about[0] == "haft_style":
        return _BY_STYLE[shown[couplet.leads.index(lead)]]
    if about[0] == "base_shape" and "bifurcate" in shown:
        return _NOTCHED if "centre_notched" in shown else _STEMMED
    if about[0] == "notch_opening":
        return _CORNER_NOTCHED
    if about[0] == "psa":
        low = min(float(figure) for figure in shown) <= _STEMS_TO
        return _STEMMED if low else _CORNER_NOTCHED
    return _BY_STYLE[_SHOWN_ON.get(about[0], "stemmed")]


def _fit(rules: Rules, lead: Lead, neutral: Mapping[str, str]) -> Mapping[str, str]:
    """Return the neutral point, or the first with a haft that a lead leaves if it has another."""
    hafts = [
        words["haft_style"]
        for i, mask in lead.leaves[0].items()
        for state in rules.attributes[i].ids(mask)
        if "haft_style" in (words := looks(rules)[i][state])
    ]
    return neutral if not hafts or neutral["haft_style"] in hafts else _BY_STYLE[hafts[0]]


def _first(rules: Rules, lead: Lead, form: str) -> str:
    """Return as what a form is drawn in the first state that a lead leaves."""
    for i, mask in lead.leaves[0].items():
        for state in rules.attributes[i].ids(mask):
            if form in looks(rules)[i][state]:
                return looks(rules)[i][state][form]
    return ""


def _broken(about: Sequence[str], items: frozenset[str]) -> dict[str, str]:
    """Return the portion on which damage shows best."""
    if not items:
        return {}
    across = {"damage.haft_snap", "damage.lateral_snap"} & set(about)
    if across and len(about) == 1:
        return {"portion": "proximal"}
    return {"portion": "complete" if across else "near_complete"}


def _items(rules: Rules, lead: Lead) -> frozenset[str]:
    """Return the items of damage that a lead's picture shows."""
    found = [
        rules.attributes[i]
        for limits in lead.leaves[:_TOGETHER]
        for i, mask in limits.items()
        if mask == PRESENT
    ]
    return frozenset(a.id.partition(".")[2] for a in found if shows(a))


def _otherwise(rules: Rules, lead: Lead) -> dict[str, str]:
    """Return what further alternatives of a lead show, to be drawn together with the first."""
    shown: dict[str, str] = {}
    for limits in lead.leaves[1:_TOGETHER]:
        index = list(limits)[-1]  # what sets this alternative apart stands last
        shown |= looks(rules)[index][rules.attributes[index].ids(limits[index])[0]]
    return shown


def _possible(rules: Rules, limits: Mapping[int, int]) -> tuple[Box, ...]:
    return tuple(box for whole in rules.universe if (box := narrow(whole, limits)) is not None)


def _sized(states: Mapping[str, str]) -> dict[str, float]:
    scale = _SIZE[states.get("size_class", "medium")]
    return {name: scale * size for name, size in _SIZES[states["haft_style"]].items()}


def _further(
    rules: Rules, couplet: Couplet, lead: Lead, states: Mapping[str, str]
) -> list[tuple[str, dict[str, str]]]:
    """Return what else a lead leaves of the attribute that it is about; size against the medium."""
    if len(couplet.decides) > 1:
        return []
    (i,) = couplet.decides
    attribute, words, limits = rules.attributes[i], looks(rules)[i], lead.leaves[0]
    form = next(iter(named(rules, i)), "")
    if attribute.item_of or form in ("", "portion", "notch_count"):
        return []
    rest = [s for s in attribute.ids(limits.get(i, 0)) if words[s]]
    if form == "size_class":
        medium = [s for s in attribute.bits if words[s].get(form) == "medium"]
        rest = list(dict.fromkeys((*medium, *rest)))
    rest = [s for s in rest if not words[s].items() <= states.items()]
    found = []
    for state in rest if form == "cross_section" else rest[:_FURTHER]:
        wanted = {**limits, i: attribute.bits[state]}
        found.append((form, _chosen(rules, couplet, wanted, states)))
    return found
