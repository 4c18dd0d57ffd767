"""The words that prose uses where the vocabulary's own term would not fit into a sentence.

A state without an entry is worded with its term, less anything in brackets. Wording that spans more
than one attribute lives in the templates.
"""

from __future__ import annotations

from collections.abc import Mapping

# Predicates: "the stem is ...", "the haft is ...".
PREDICATES: Mapping[str, Mapping[str, str]] = {
    "haft_style": {"leaf": "leaf-shaped"},
    "notch_count": {"four_plus": "four or more"},
    "notch_form": {"broad_u": "broad and U-shaped"},
    "stem_length": {"medium": "about as long as wide"},
    "haft_sides": {"contracting": "contracting", "expanding": "expanding"},
    "haft_grinding": {
        "none": "unground",
        "base": "ground on the basal edge only",
        "sides": "ground on the lateral margins only",
        "both": "ground on base and lateral margins",
    },
    "base_shape": {"centre_notched": "notched at its centre"},
    "ears": {"flared": "flared", "drooping": "downturned"},
    "base_width_class": {
        "equal": "about as wide as",
        "narrower": "narrower than",
        "wider": "wider than",
    },
    "base_finish": {
        "unfinished": "left unfinished",
        "burinated": "truncated by a burin-like blow",
    },
    "basal_thinning": {"none": "not thinned", "present": "thinned by short flakes"},
    "fluting": {"none": "unfluted"},
    "blade_shape": {"pentagonal": "angular"},
    "blade_edge": {"plain": "unserrated"},
    "blade_retouch": {
        "bifacial": "flaked from both faces",
        "unifacial": "flaked on one face only",
    },
    "tip": {"bit": "worked into a drill bit", "blunt": "blunt"},
    "flute_length": {
        "short": "to about a third of its length",
        "half": "to about half its length",
        "long": "for most of its length",
    },
    "resharpening": {"none": "none"},
    "reworked_as": {
        "none": "none",
        "drill": "a drill",
        "scraper": "a hafted scraper",
        "chisel": "a chisel or wedge",
        "graver": "a graver or burin",
    },
    "size_class": {"small": "small", "medium": "medium-sized", "large": "large"},
    "handling": {
        "ordinary": "handled in the ordinary way",
        "protected": "kept unwashed and unhandled",
        "compromised": "washed or handled bare",
    },
    "portion": {
        "proximal": "proximal",
        "medial": "medial",
        "distal": "distal",
        "lateral": "lateral",
    },
}

# Before a noun, where that differs: "a medium-length stem", "broad U-shaped notches".
ATTRIBUTIVES: Mapping[str, Mapping[str, str]] = {
    "notch_form": {"broad_u": "broad U-shaped"},
    "stem_length": {"medium": "medium-length"},
    "base_shape": {"centre_notched": "centrally notched"},
    "resharpening": {"light": "lightly", "heavy": "heavily"},
}

# Sets of several states that have a word of their own.
SETS: Mapping[str, Mapping[frozenset[str], str]] = {
    "haft_grinding": {
        frozenset({"base", "sides", "both"}): "ground",
        frozenset({"base", "both"}): "ground on the basal edge at least",
        frozenset({"sides", "both"}): "ground on the lateral margins at least",
        frozenset({"base", "sides"}): "ground on either the base or the lateral margins",
    },
    "stem_length": {
        frozenset({"short", "medium"}): "no longer than wide",
        frozenset({"medium", "long"}): "as long as wide or longer",
    },
    "fluting": {frozenset({"one_face", "both_faces"}): "fluted on at least one face"},
    "notch_count": {
        frozenset({"two", "three"}): "two or three",
        frozenset({"three", "four_plus"}): "three or more",
        frozenset({"two", "four_plus"}): "two or at least four",
        frozenset({"two", "three", "four_plus"}): "two or more",
    },
    "blade_edge": {frozenset({"fine", "coarse"}): "serrated"},
    "blade_retouch": {frozenset({"alternate_bevel", "one_face_bevel"}): "bevelled"},
    "flute_length": {
        frozenset({"short", "half"}): "to between a third and half of its length",
        frozenset({"half", "long"}): "for half of its length or more",
        frozenset({"short", "long"}): "either to about a third or for most of its length",
        frozenset({"short", "half", "long"}): "for an undecided part of its length",
    },
    "barb_reach": {
        frozenset({"short", "level"}): "short of or level with the base",
        frozenset({"level", "below"}): "level with or below the base",
        frozenset({"short", "below"}): "either short of or below the base",
        frozenset({"short", "level", "below"}): "anywhere from short of the base to below it",
    },
    "portion": {frozenset({"complete", "near_complete"}): "complete or nearly complete"},
}

# Attributes that are absent or not with the style of the haft. Where every state but `none` is left
# of one, that style has said it, and a list of all its states would read like an observation.
WITH_STYLE = frozenset({"stem_shape", "stem_length", "notch_form", "notch_count", "haft_sides"})

# What follows a predicate where it stands alone.
TAILS: Mapping[str, str] = {
    "base_width_class": "the shoulders or blade",
    "notch_count": "notches",
}

# States that grade into one another, so that a run of them is worded "straight to excurvate".
GRADES: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "haft_style": (("lanceolate", "leaf"), ("lanceolate", "triangular")),
    "notch_form": (("shallow", "broad_u"),),
    "stem_shape": (("expanding", "straight", "contracting"),),
    "stem_length": (("short", "medium", "long"),),
    "haft_sides": (("expanding", "parallel", "contracting"),),
    "haft_waist": (("slight", "strong"),),
    "base_shape": (("deep_incurvate", "incurvate", "straight", "excurvate", "rounded", "pointed"),),
    "shoulder_shape": (("barbed", "inverse", "horizontal", "tapered"), ("tapered", "rounded")),
    "shoulder_strength": (("weak", "strong"),),
    "blade_shape": (("incurvate", "straight", "excurvate"),),
    "blade_edge": (("plain", "fine", "coarse"),),
    "cross_section": (
        ("flattened", "biconvex", "median_ridged"),
        ("plano_convex", "biconvex"),
    ),
    "tip": (("acute", "broad", "obtuse", "blunt"),),
    "size_class": (("small", "medium", "large"),),
}

# States that go without saying when they are the only one left.
SILENT: Mapping[str, frozenset[str]] = {
    "sampling": frozenset({"none"}),
    "handling": frozenset({"ordinary"}),
    "notch_count": frozenset({"none", "two"}),
    "haft_edge": frozenset({"plain"}),
    "base_finish": frozenset({"flaked"}),
}

# Where an observed `none` is said: with any haft, or only with these styles of haft.
NONE_SAID: Mapping[str, frozenset[str] | None] = {
    "haft_grinding": None,
    "resharpening": None,
    "fluting": frozenset({"lanceolate"}),
    "basal_thinning": frozenset({"lanceolate", "triangular"}),
    "haft_waist": frozenset({"lanceolate"}),
}

# What a state is said of, when it is named outside its own sentence: "stem contracting".
SUBJECTS: Mapping[str, str] = {
    "haft_style": "haft",
    "notch_position": "notches",
    "notch_form": "notches",
    "notch_count": "number of notches",
    "stem_shape": "stem",
    "stem_length": "stem",
    "haft_sides": "haft margins",
    "haft_waist": "waist",
    "haft_edge": "haft edges",
    "haft_grinding": "haft",
    "base_shape": "base",
    "ears": "ears",
    "base_width_class": "base",
    "base_finish": "basal edge",
    "basal_thinning": "base",
    "fluting": "piece",
    "flute_length": "flute",
    "shoulder_shape": "shoulders",
    "shoulder_strength": "shoulders",
    "barb_tip": "barbs",
    "barb_reach": "barbs",
    "blade_shape": "blade edges",
    "blade_symmetry": "blade",
    "blade_edge": "blade edges",
    "blade_retouch": "blade edges",
    "cross_section": "section",
    "flaking": "flaking",
    "tip": "tip",
    "resharpening": "resharpening",
    "reworked_as": "rework",
    "size_class": "size",
}
PLURAL_SUBJECTS = frozenset(
    {"notches", "haft margins", "haft edges", "ears", "shoulders", "barbs", "blade edges"}
)

# States that are said without their subject: "side-notched", "fluted on one face".
BARE = frozenset({"haft_style", "notch_position", "notch_count", "haft_grinding", "fluting"})

# What an attribute is called in running text, where its label is clumsy there.
NAMES: Mapping[str, str] = {
    "haft_style": "the style of the haft",
    "notch_count": "the number of notches",
    "haft_sides": "the run of the haft margins",
    "haft_waist": "a waist above the base",
    "haft_edge": "bevelling of the haft",
    "haft_grinding": "haft grinding",
    "ears": "the basal ears",
    "base_width_class": "the width of the base against the shoulders",
    "base_finish": "the finish of the basal edge",
    "blade_symmetry": "the symmetry of the blade",
    "flaking": "the pattern of flaking",
    "cross_section": "the cross-section of the blade",
    "tip": "the tip",
    "barb_tip": "the ends of the barbs",
    "barb_reach": "the reach of the barbs",
    "resharpening": "resharpening",
    "reworked_as": "rework",
    "basal_thinning": "basal thinning",
    "fluting": "fluting",
}

# What a further look would settle.
QUESTIONS: Mapping[str, str] = {
    "haft_style": "how the piece was hafted",
    "notch_position": "where the notches are cut",
    "notch_form": "the form of the notches",
    "notch_count": "how many notches there are",
    "stem_shape": "whether the stem is straight, expanding or contracting",
    "stem_length": "whether the stem is longer or shorter than wide",
    "haft_sides": "which way the haft margins run",
    "haft_waist": "whether and how strongly the haft is waisted",
    "haft_edge": "whether the edges of the haft are bevelled",
    "haft_grinding": "whether and where the haft is ground",
    "base_shape": "the shape of the base",
    "ears": "whether and how the base is eared",
    "base_width_class": "the width of the base against that of the shoulders",
    "base_finish": "whether the basal edge was finished by flaking",
    "basal_thinning": "whether the base is thinned",
    "fluting": "whether and on which faces the piece is fluted",
    "flute_length": "the length of the flute",
    "shoulder_shape": "the shape of the shoulders",
    "shoulder_strength": "how strongly the shoulders stand out",
    "barb_tip": "how the barbs end",
    "barb_reach": "how far down the barbs reach",
    "blade_shape": "the outline of the blade",
    "blade_symmetry": "whether the blade is symmetrical",
    "blade_edge": "whether and how the blade is serrated",
    "blade_retouch": "how the blade edges were retouched",
    "cross_section": "the cross-section of the blade",
    "flaking": "the flaking pattern",
    "tip": "the form of the tip",
    "resharpening": "how far the blade was resharpened",
    "reworked_as": "whether the piece was reworked",
    "size_class": "the size class",
}

# Damage as clauses; several are joined into one sentence.
DAMAGE: Mapping[str, str] = {
    "tip_snap": "the tip is snapped off",
    "impact": "the tip is lost to an impact fracture",
    "haft_snap": "a snap runs across the haft",
    "lateral_snap": "a transverse snap crosses the blade",
    "barb_loss": "a barb or shoulder is broken",
    "ear_loss": "an ear or basal corner is broken",
    "edge_nicks": "the edges are nicked",
    "heat": "potlids or crazing show exposure to heat",
    "recent": "fresh scars show recent damage from digging or the plough",
}
# The same as noun phrases, for what is only possible and for short registers.
DAMAGE_NOUNS: Mapping[str, str] = {
    "tip_snap": "a snapped tip",
    "impact": "an impact fracture",
    "haft_snap": "a haft snap",
    "lateral_snap": "a transverse blade snap",
    "barb_loss": "a broken barb or shoulder",
    "ear_loss": "a broken ear",
    "edge_nicks": "edge nicks",
    "heat": "heat damage",
    "recent": "recent damage",
}
