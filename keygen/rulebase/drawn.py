"""What pictures can show: the forms and figures that `draw` in a vocabulary can name.

A state whose attribute and id stand among the forms is drawn as it is. Any other is drawn only if
its `draw` says as what: `draw: {haft_style: notched, notch_position: side}`, or `draw: {psa: 120}`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from keygen.errors import nearest

if TYPE_CHECKING:
    from keygen.rulebase.fields import Fields

# The states of each form, as in the main vocabulary.
FORMS: Mapping[str, tuple[str, ...]] = {
    name: tuple(states.split())
    for name, states in {
        "portion": "complete near_complete proximal medial distal lateral",
        "haft_style": "lanceolate triangular leaf stemmed notched",
        "notch_position": "none side corner basal",
        "notch_form": "none shallow broad_u narrow_deep v_shaped squared",
        "notch_count": "none two three four_plus",
        "stem_shape": "none straight expanding contracting",
        "stem_length": "none short medium long",
        "haft_sides": "none parallel contracting expanding recurved",
        "haft_waist": "none slight strong",
        "haft_edge": "plain bevelled",
        "haft_grinding": "none base sides both",
        "base_shape": "straight excurvate rounded pointed incurvate deep_incurvate bifurcate "
        "centre_notched",
        "ears": "none flared drooping rounded squared",
        "base_width_class": "narrower equal wider",
        "base_finish": "flaked unfinished burinated",
        "basal_thinning": "none present",
        "fluting": "none one_face both_faces",
        "flute_length": "none short half long",
        "shoulder_shape": "none tapered horizontal inverse barbed rounded",
        "shoulder_strength": "none weak strong",
        "barb_tip": "none pointed squared rounded",
        "barb_reach": "none short level below",
        "blade_shape": "straight excurvate incurvate recurvate parallel pentagonal",
        "blade_symmetry": "symmetrical asymmetrical",
        "blade_edge": "plain fine coarse",
        "blade_retouch": "bifacial alternate_bevel one_face_bevel unifacial",
        "cross_section": "biconvex plano_convex median_ridged flattened rhomboid biconcave "
        "irregular hexagonal",
        "flaking": "random collateral oblique transverse",
        "tip": "acute broad obtuse blunt bit apiculate",
        "resharpening": "none light heavy",
        "reworked_as": "none drill scraper chisel graver",
        "size_class": "small medium large",
    }.items()
}
# Items of damage that are drawn.
DAMAGE = frozenset(
    {
        *("tip_snap", "impact", "haft_snap", "lateral_snap", "barb_loss", "ear_loss"),
        *("edge_nicks", "heat", "recent"),
    }
)
# Figures that a class of measurements can be drawn by, in mm and degrees; `notch_opening` is the
# distal less the proximal shoulder angle.
FIGURES = ("psa", "notch_opening", "neck_width", "base_width", "basal_concavity")


def read_draw(entry: Fields) -> tuple[tuple[str, str], ...]:
    """Read as what a state is drawn; nothing where it does not say."""
    if not entry.has("draw"):
        return ()
    draw = entry.child("draw")
    found = []
    for name in draw.values:
        if name in FIGURES:
            found.append((name, f"{draw.number(name):g}"))
        elif name in FORMS:
            found.append((name, draw.choice(name, FORMS[name])))
        else:
            remedy = nearest(name, (*FORMS, *FIGURES))
            draw.fault("K005", f"no form that pictures show is called {name!r}", name, remedy)
    return tuple(found)
