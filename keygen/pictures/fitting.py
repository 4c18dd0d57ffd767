"""States and measurements turned into the figures of an outline.

What is measured is kept as far as it can be. What is not comes from `proportions`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import radians, tan

from keygen.pictures import proportions as usual
from keygen.pictures.form import PLAIN, Form
from keygen.rulebase.drawn import FIGURES

# Angles that can be drawn: a shoulder that leads outward, a stem that leads downward or out.
_DSA, _PSA = (92.0, 268.0), (10.0, 200.0)


def proportioned(states: Mapping[str, str], sizes: Mapping[str, float]) -> Form:
    """Return the figures of an outline from one state for each attribute and from measurements.

    Args:
        states: state by form, and figures by name; what is not named is taken as plain.
        sizes: measurements by id, in mm and degrees. What cannot be drawn together with the rest
            gives way; the plan made of the form says which.
    """
    s = _completed({**PLAIN, **states})
    sizes = {**_figures(s), **sizes}
    width, neck, base = _widths(s, sizes)
    haft, length = _heights(s, sizes, width, neck, base)
    thick = sizes.get("thickness", 2 * width * _thick(s))
    form = Form(
        states=s,
        length=length,
        width=width,
        neck=neck,
        base=base,
        haft=haft,
        under=_under(s, haft),
        depth=min(_depth(s, sizes, base, haft), 0.7 * length),
        mouth=sizes.get("notch_width"),
        distal=_within(sizes.get("dsa"), *_DSA),
        proximal=_within(sizes.get("psa"), *_PSA),
        ground=sizes.get("grinding_length", haft),
        thickness=thick,
    )
    if not form.set_off:
        return form
    if s["notch_position"] == "basal":
        form = replace(form, distal=None, proximal=None)  # its walls run along the axis
    form = replace(form, floor=_floor(form, "length" in sizes))
    if "length" not in sizes:
        form = replace(form, length=max(form.length + form.under, 1.5 * form.juncture))
    form = replace(form, rise=_rise(form))
    return form if "base_width" in sizes else replace(form, base=_base_by_angle(form))


def _figures(s: Mapping[str, str]) -> dict[str, float]:
    """Return the figures that stand for classes, in mm and degrees."""
    found = {name: float(s[name]) for name in FIGURES if name in s}
    if opening := found.pop("notch_opening", 0.0):
        found["dsa"] = found.get("psa", usual.PSA) + opening
    return found


def _within(angle: float | None, low: float, high: float) -> float | None:
    return angle if angle is not None and low <= angle <= high else None


def _completed(s: dict[str, str]) -> dict[str, str]:
    """Give a style of haft the plainest of what it cannot do without."""
    style = s["haft_style"]
    wants = {
        "stemmed": {"stem_shape": "straight", "stem_length": "medium"},
        "notched": {
            "notch_position": "side",
            "notch_form": "broad_u",
            "stem_shape": "expanding",
            "stem_length": "short",
            "shoulder_shape": "horizontal",
        },
        "lanceolate": {"haft_sides": "parallel"},
        "triangular": {"haft_sides": "expanding"},
        "leaf": {"haft_sides": "contracting"},
    }[style]
    s |= {name: state for name, state in wants.items() if s[name] == "none"}
    if style == "notched" and s["notch_position"] == "side":
        s["stem_shape"] = "expanding"
    if s["notch_count"] == "three" and s["base_shape"] != "bifurcate":
        s["base_shape"] = "centre_notched"
    if s["haft_sides"] == "recurved" and s["haft_waist"] == "none":
        s["haft_waist"] = "slight"
    if s["haft_sides"] == "expanding" and s["haft_waist"] != "none":
        s["haft_sides"] = "recurved"  # drawn alike: a waist above a wider base
    return s


def _thick(s: Mapping[str, str]) -> float:
    return usual.FLAT if s["cross_section"] == "flattened" else usual.THICK


def neck_share(s: Mapping[str, str]) -> float:
    """Return neck over width as the states have it."""
    if s["haft_style"] == "stemmed":
        strength = s["shoulder_strength"]
        if strength == "none" and s["shoulder_shape"] != "none":
            strength = "strong"
        wide = s["base_width_class"] in ("equal", "wider") and s["stem_shape"] == "straight"
        return max(usual.NECK[strength], 0.92 * wide)
    if s["notch_position"] == "basal":
        return usual.NOTCHED_NECK["basal"]
    if s["haft_style"] == "notched":
        share = (
            1 - (1 - usual.NOTCHED_NECK[s["notch_position"]]) * usual.NOTCH_DEPTH[s["notch_form"]]
        )
        return share + usual.WEAK_NOTCH * (1 - share) * (s["shoulder_strength"] == "weak")
    return usual.WAIST[s["haft_waist"]] * min(1.0, base_share(s))


def base_share(s: Mapping[str, str]) -> float:
    """Return base over width as the states have it."""
    against = usual.BASE_AGAINST.get(s["base_width_class"])
    sides = s["haft_sides"]
    if s["haft_style"] in ("stemmed", "notched"):
        if s["notch_position"] == "side":
            return against or 1.0
        share = neck_share(s) * usual.STEM_END[s["stem_shape"]]
        if s["notch_position"] == "basal":
            return min(share, 1.15 * neck_share(s))
        if s["notch_form"] == "narrow_deep" and s["stem_shape"] == "expanding":
            share = max(share, 0.78)
        if s["stem_shape"] == "expanding" and against:
            return max(against if against >= 1 else min(share, against), neck_share(s) * 1.12)
        return share
    if s["haft_style"] == "leaf":
        return 0.45 if s["base_shape"] in ("straight", "excurvate") else 0.5
    if against:
        return min(against, 0.62) if sides == "contracting" else against
    if s["haft_style"] == "triangular":
        return 1.0
    return {"contracting": 0.62, "expanding": 1.12, "recurved": 0.94}.get(sides, 1.0)


def _widths(s: Mapping[str, str], sizes: Mapping[str, float]) -> tuple[float, float, float]:
    """Return half the width, neck and base."""
    of_neck, of_base = neck_share(s), base_share(s)
    set_off = s["haft_style"] in ("stemmed", "notched")
    length = sizes.get("length", usual.LENGTH[s["size_class"]])
    slender = _slender(s)
    if "width" in sizes:
        width = sizes["width"] / 2
    elif "neck_width" in sizes:
        width = sizes["neck_width"] / 2 / of_neck
    elif "base_width" in sizes:
        width = sizes["base_width"] / 2 / of_base
    else:
        width = length / slender / 2
    if "neck_width" in sizes:
        neck = sizes["neck_width"] / 2
    elif "notch_depth" in sizes and s["notch_position"] == "side":
        neck = max(width - sizes["notch_depth"], 0.12 * width)
    elif "base_width" in sizes and set_off and s["notch_position"] != "side":
        neck = sizes["base_width"] / 2 / usual.STEM_END[s["stem_shape"]]
        neck = min(neck, 0.95 * width)
    else:
        neck = width * of_neck
    base = sizes["base_width"] / 2 if "base_width" in sizes else width * of_base
    if "base_width" not in sizes and "neck_width" in sizes and set_off:
        grown = neck * usual.STEM_END[s["stem_shape"]]
        base = max(base, 1.08 * neck) if s["notch_position"] == "side" else grown
    if set_off:
        neck = min(neck, 0.97 * width)
    elif s["haft_sides"] == "recurved":
        neck = min(neck, 0.99 * width, 0.99 * base)
    return width, neck, base


def _slender(s: Mapping[str, str]) -> float:
    waisted = s["haft_style"] == "lanceolate" and s["haft_sides"] in ("recurved", "expanding")
    return usual.SLENDER["waisted" if waisted else s["haft_style"]]


def _heights(
    s: Mapping[str, str], sizes: Mapping[str, float], width: float, neck: float, base: float
) -> tuple[float, float]:
    """Return the length of the haft and of the whole."""
    known, blade = sizes.get("length"), sizes.get("blade_length")
    set_off = s["haft_style"] in ("stemmed", "notched")
    usual_length = known or max(_slender(s) * 2 * width, sizes.get("length_at_least", 0.0) * 1.06)
    haft = sizes.get("haft_length")
    if haft is None and known and blade and blade < known:
        haft = known - blade
    if haft is None and s["notch_position"] == "basal":
        haft = sizes.get("notch_depth")
    if haft is None:
        if set_off:
            share = usual.STEM_LENGTH[s["stem_length"]]
            share *= usual.NOTCHED_LENGTH.get(s["notch_position"], 1.0)
            haft = share * 2 * max(neck, base)
            if known or s["haft_style"] == "notched":
                haft = min(haft, 0.42 * usual_length)
        else:
            haft = usual_length / 3
    if known is None:
        return haft, blade + haft if blade else max(usual_length, haft / 0.45)
    return min(haft, 0.8 * known), known


def _under(s: Mapping[str, str], haft: float) -> float:
    return 0.14 * haft if s["barb_reach"] == "below" and s["shoulder_shape"] == "barbed" else 0.0


def _depth(s: Mapping[str, str], sizes: Mapping[str, float], base: float, haft: float) -> float:
    share = usual.BASE_DEPTH[s["base_shape"]]
    if share > 0 and "basal_concavity" in sizes:
        return sizes["basal_concavity"]
    depth = share * base
    if s["base_shape"] == "bifurcate":
        return min(depth, 0.6 * haft)
    if share > 0:
        return min(depth, 0.9 * haft)
    return max(depth, -0.62 * haft)


def _floor(form: Form, length_known: bool) -> float:
    """Return the height of the notch floor, or of the turn from shoulder to stem."""
    cut = form.width - form.neck
    if form.states["haft_style"] != "notched":
        floor = usual.FILLET * cut
    else:
        side = form.states["notch_position"] == "side"
        floor = usual.FLOOR[form.states["notch_form"]] * cut * (1.0 if side else 0.75)
        if side and form.states["shoulder_shape"] in ("barbed", "inverse"):
            floor *= 1.3
        if side and form.mouth is not None:
            floor = form.mouth
        floor = min(floor, (0.95 if side else 0.5) * form.haft)
    return min(floor, 0.6 * (form.length - form.juncture)) if length_known else floor


def _rise(form: Form) -> float:
    """Return how far the shoulder lies above the upper end of the notch floor."""
    s, out = form.states, form.width - form.neck
    blade = form.length - form.juncture - form.floor / 2
    stem = form.haft + form.floor / 2
    shape, side = s["shoulder_shape"], s["notch_position"] == "side"
    if form.distal is not None:
        return _capped(
            out * tan(radians(_clip(form.distal - 180, -84, 84))), blade, stem + form.under
        )
    if shape == "none":
        return min(6 * out, 0.4 * blade)
    if shape == "barbed" and side:
        return -0.4 * form.floor
    if shape == "barbed":
        if s["barb_reach"] == "level":
            return -stem
        if s["barb_reach"] == "below":
            return -stem - form.under
        drop = out * tan(radians(-usual.BARB_ANGLE))
        if s["notch_position"] == "basal":
            drop = usual.BARB_DROP * stem
        open_to = 0.3 * out if form.base > 0.6 * form.width else 0.0
        return -max(min(max(drop, 0.3 * stem), usual.BARB_DROP * stem, stem - open_to), 0.0)
    if s["notch_position"] == "basal":
        return -stem * {"inverse": 0.72, "tapered": 0.35}.get(shape, 0.5)
    rise = out * tan(radians(usual.SHOULDER_ANGLE[shape]))
    return max(min(rise, 0.4 * blade), -0.4 * form.floor if side else -0.5 * stem)


def _capped(rise: float, blade: float, below: float) -> float:
    return max(min(rise, 0.5 * blade), -below)


def _clip(value: float, low: float, high: float) -> float:
    return max(low, min(high, value))


def _base_by_angle(form: Form) -> float:
    """Return the base as wide as the measured angle of the stem makes it."""
    if form.proximal is None or form.states["notch_position"] in ("side", "basal"):
        return form.base
    angle = radians(_clip(form.proximal, 20, 160))
    fall = form.juncture - form.floor / 2 - form.under - max(0.0, -form.depth)
    return _clip(form.neck - fall / tan(angle), 0.1 * form.neck, 1.4 * form.width)
