"""The figures of one outline: one state for each attribute, and lengths in millimetres."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

PLAIN = {
    "portion": "complete",
    "haft_style": "lanceolate",
    "notch_position": "none",
    "notch_form": "none",
    "notch_count": "none",
    "stem_shape": "none",
    "stem_length": "none",
    "haft_sides": "none",
    "haft_waist": "none",
    "haft_edge": "plain",
    "haft_grinding": "none",
    "base_shape": "straight",
    "ears": "none",
    "base_width_class": "none",
    "base_finish": "flaked",
    "basal_thinning": "none",
    "fluting": "none",
    "flute_length": "none",
    "shoulder_shape": "none",
    "shoulder_strength": "none",
    "barb_tip": "none",
    "barb_reach": "none",
    "blade_shape": "straight",
    "blade_symmetry": "symmetrical",
    "blade_edge": "plain",
    "blade_retouch": "bifacial",
    "cross_section": "none",
    "flaking": "random",
    "tip": "acute",
    "resharpening": "none",
    "reworked_as": "none",
    "size_class": "medium",
}


@dataclass(frozen=True)
class Form:
    """All lengths of an outline, in mm; widths are halves, from the axis.

    Attributes:
        states: one state for each attribute.
        length: from the lowest to the highest point.
        width: at the shoulders, or at the widest place of a blade without any.
        neck, base: at the narrowest place of the haft, and at the basal corners, ears included.
        haft: from the lowest point of the haft up to the neck, along the axis.
        under: how far barbs hang below the haft.
        depth: of the base; a hollow is above zero, a bulge below.
        floor: height of the floor of a notch.
        mouth: width of the mouth of a notch, where it was measured.
        rise: how far the shoulder lies above the neck; below zero for barbs.
        distal, proximal: shoulder angles in degrees, where they were measured.
        ear, hollow, teeth, lean: shares, 1 if drawn in full, less where there is no room.
        ground: how far up from the base the haft is ground.
        thickness: of the cross-section.
    """

    states: Mapping[str, str]
    length: float
    width: float
    neck: float
    base: float
    haft: float
    under: float = 0.0
    depth: float = 0.0
    floor: float = 0.0
    mouth: float | None = None
    rise: float = 0.0
    distal: float | None = None
    proximal: float | None = None
    ear: float = 1.0
    hollow: float = 1.0
    teeth: float = 1.0
    lean: float = 1.0
    ground: float = 0.0
    thickness: float = 0.0

    @property
    def set_off(self) -> bool:
        """Tell whether shoulders or notches set the haft off from the blade."""
        return self.states["haft_style"] in ("stemmed", "notched")

    @property
    def juncture(self) -> float:
        """Return the level of the neck."""
        return self.under + self.haft
