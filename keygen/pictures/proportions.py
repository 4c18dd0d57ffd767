"""Proportions for whatever was not measured. All figures here are the project's own.

They are chosen so that each state is told from its neighbours at a glance; none is a finding about
any type. Widths are shares of the width at the shoulders, heights shares of what is named beside
them.
"""

from __future__ import annotations

LENGTH = {"small": 26.0, "medium": 55.0, "large": 90.0}  # mm, by size class
# Length over width, by haft style.
SLENDER = {"stemmed": 2.0, "notched": 1.95, "lanceolate": 3.0, "triangular": 1.45, "leaf": 2.4}
SLENDER["waisted"] = 2.3  # a lanceolate piece with a waisted or expanding haft
THICK = 0.27  # thickness over width
FLAT = 0.17  # the same for a flattened section

# Neck over shoulder width: by prominence of stemmed pieces, by notch position and form.
NECK = {"none": 0.86, "weak": 0.76, "strong": 0.5}
NOTCHED_NECK = {"side": 0.66, "corner": 0.5, "basal": 0.36}
WEAK_NOTCH = 0.3  # share by which weak shoulders bring the neck nearer to the width
NOTCH_DEPTH = {"shallow": 0.55, "broad_u": 1.0, "narrow_deep": 1.2, "v_shaped": 1.0, "squared": 1.0}
# Height of the notch floor over its depth.
FLOOR = {"shallow": 1.9, "broad_u": 0.9, "narrow_deep": 0.4, "v_shaped": 0.0, "squared": 0.75}
FILLET = 0.22  # the same for the turn from shoulder to stem

STEM_END = {"straight": 1.0, "expanding": 1.4, "contracting": 0.62}  # base over neck
STEM_LENGTH = {"short": 0.66, "medium": 1.0, "long": 1.5}  # stem length over its greatest width
NOTCHED_LENGTH = {"side": 0.78, "corner": 0.55, "basal": 1.1}  # of that, below notches
BASE_AGAINST = {"narrower": 0.78, "equal": 1.0, "wider": 1.14}  # base over shoulder width

# Angle of the shoulder above the horizontal, in degrees.
SHOULDER_ANGLE = {"tapered": 36.0, "horizontal": 0.0, "inverse": -24.0, "rounded": 44.0}
PSA = 120.0  # of a notch of which only the opening is known
BARB_ANGLE = -42.0
BARB_DROP = 0.62  # of the stem length, where the barb stops short of the base

# Depth of the base over its half width: hollow above zero, bulge below.
BASE_DEPTH = {
    "straight": 0.0,
    "excurvate": -0.24,
    "rounded": -0.8,
    "pointed": -1.25,
    "incurvate": 0.26,
    "deep_incurvate": 0.64,
    "bifurcate": 0.72,
    "centre_notched": 0.42,
}
EAR_WIDTH = {"none": 0.0, "flared": 0.24, "drooping": 0.08, "rounded": 0.2, "squared": 0.18}  # of b
EAR_HEIGHT = {"none": 0.0, "flared": 0.5, "drooping": 0.42, "rounded": 0.46, "squared": 0.4}  # of b

WAIST = {"none": 1.0, "slight": 0.93, "strong": 0.78}  # of the narrower of base and blade

# Width left at the end of the blade over the width, and the angle of the tip's edge to the axis.
TIP_WIDTH = {"acute": 0.0, "broad": 0.52, "obtuse": 0.62, "blunt": 0.36, "apiculate": 0.34}
TIP_ANGLE = {"broad": 44.0, "obtuse": 62.0}
SETBACK = 0.84  # blade over shoulders where resharpening was heavy
TEETH = {"fine": (0.036, 0.055), "coarse": (0.07, 0.14)}  # pitch of length, depth of width
