"""A small picture for each lead of the key: a neutral point with what is to be seen drawn heavily.

Both leads of a couplet show the same neutral point as far as the answer allows. Where a lead leaves
several states the first is heavy and the others are faint.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from keygen.core.model import PRESENT, Couplet, Lead, Rules
from keygen.core.states import Box, narrow
from keygen.pictures.accent import accented
from keygen.pictures.plan import plan
from keygen.pictures.sketch import Sketch, choose
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
# Which neutral point an attribute is shown on; a stemmed one for all others.
_SHOWN_ON = {
    "notch_position": "notched",
    "notch_form": "notched",
    "notch_count": "notched",
    **dict.fromkeys(
        ("haft_sides", "haft_waist", "base_shape", "base_finish", "ears"), "lanceolate"
    ),
    **dict.fromkeys(("fluting", "flute_length", "basal_thinning", "haft_grinding"), "lanceolate"),
}
_SIZE = {"small": 0.6, "medium": 1.0, "large": 1.45}
_TOGETHER = 3  # alternatives of a lead ("something else") that are drawn at once
_FURTHER = 3  # further states that are drawn faint
# Groups of attributes that no outline can show.
_UNSEEN = {"handling": "it is about how the piece is treated, not about its form"}


@dataclass(frozen=True)
class LeadPictures:
    """SVG text by couplet id and letter; and the couplets without pictures, with the reason."""

    leads: Mapping[tuple[str, str], str]
    without: Mapping[str, str]


def lead_pictures(rules: Rules, height: str = "") -> LeadPictures:
    """Return the pictures of all leads of the key.

    Args:
        height: a length of CSS (`48px`); empty for the size in mm.
    """
    leads: dict[tuple[str, str], str] = {}
    without: dict[str, str] = {}
    for couplet in rules.couplets.values():
        reason = why_not(rules, couplet)
        if reason:
            without[couplet.id] = reason
            continue
        for lead in couplet.leads:
            leads[couplet.id, lead.letter] = picture(lead_drawing(rules, couplet, lead), height)
    return LeadPictures(leads, without)


def drawable(rules: Rules) -> bool:
    """Tell whether the rules know hafts by the styles that can be drawn; a pack may have others."""
    index = rules.index.get("haft_style")
    return index is not None and rules.attributes[index].bits.keys() <= _BY_STYLE.keys()


def why_not(rules: Rules, couplet: Couplet) -> str:
    """Return why a couplet has no picture; empty if it has."""
    if not drawable(rules):
        return "its rules know hafts by other styles than those that can be drawn"
    groups = {rules.attributes[i].group for i in couplet.decides}
    return next((_UNSEEN[group] for group in sorted(groups) if group in _UNSEEN), "")


def lead_drawing(rules: Rules, couplet: Couplet, lead: Lead) -> Drawing:
    """Return the picture of a lead, not yet as text."""
    spoken = couplet.leads[0].leaves[0]
    about = tuple(rules.attributes[i].id for i in spoken if i in couplet.decides)
    items = _items(rules, lead)
    prefer = {**_BY_STYLE[_style(rules, couplet, lead, about)], **_broken(about, items)}
    if about[0] == "base_width_class":
        prefer["stem_shape"] = "expanding"
    limits = dict(lead.leaves[0])
    states = choose(rules, _possible(rules, limits), limits, prefer)
    states |= _otherwise(rules, lead)
    if about == ("portion",) and states["portion"] == "near_complete":
        items = frozenset({"tip_snap"})
    sketch = Sketch(states, damage=items, sizes=_sized(states))
    further = [
        (name, plan(other, _sized(other))) for name, other in _further(rules, limits, about, states)
    ]
    title = f"{couplet.number}{lead.letter}: {lead.say}"
    return accented(sketch, plan(states, sketch.sizes), further, about, title)


def _style(rules: Rules, couplet: Couplet, lead: Lead, about: Sequence[str]) -> str:
    """Return the neutral point on which a lead is shown."""
    if about[0] == "haft_style":
        index = rules.index["haft_style"]
        return rules.attributes[index].ids(lead.leaves[0][index])[0]
    if about[0] == "base_shape":
        index = rules.index["base_shape"]
        ids = rules.attributes[index].ids
        shown = [ids(one.leaves[0][index])[0] for one in couplet.leads]
        if "bifurcate" in shown:
            return "notched" if "centre_notched" in shown else "stemmed"
    return _SHOWN_ON.get(about[0], "stemmed")


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
    return frozenset(a.id.partition(".")[2] for a in found if a.item_of)


def _otherwise(rules: Rules, lead: Lead) -> dict[str, str]:
    """Return what further alternatives of a lead show, to be drawn together with the first."""
    shown = {}
    for limits in lead.leaves[1:_TOGETHER]:
        index = list(limits)[-1]  # what sets this alternative apart stands last
        attribute = rules.attributes[index]
        if not attribute.item_of:
            shown[attribute.id] = attribute.ids(limits[index])[0]
    return shown


def _possible(rules: Rules, limits: Mapping[int, int]) -> tuple[Box, ...]:
    return tuple(box for whole in rules.universe if (box := narrow(whole, limits)) is not None)


def _sized(states: Mapping[str, str]) -> dict[str, float]:
    scale = _SIZE[states.get("size_class", "medium")]
    return {name: scale * size for name, size in _SIZES[states["haft_style"]].items()}


def _further(
    rules: Rules, limits: Mapping[int, int], about: Sequence[str], states: Mapping[str, str]
) -> list[tuple[str, dict[str, str]]]:
    """Return what else a lead leaves of the attribute that it is about; size against the medium."""
    name = about[0]
    attribute = rules.attributes[rules.index[name]]
    if len(about) > 1 or attribute.item_of or name in ("portion", "notch_count"):
        return []
    rest = [s for s in attribute.ids(limits.get(rules.index[name], 0)) if s != states.get(name)]
    if name == "size_class":
        rest = [s for s in ("medium", *rest) if s != states[name]]
    found = []
    for state in rest if name == "cross_section" else rest[:_FURTHER]:
        wanted = {**limits, rules.index[name]: rules.mask(name, state)}
        found.append((name, choose(rules, _possible(rules, wanted), wanted, states)))
    return found
