"""How the trade names the columns of its tables. Common practice, no source."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence

from keygen.collection.figures import UNITS
from keygen.core.model import Attribute, Rules

_UNIT = r"(.*?)[\s_.,([]+([A-Za-z]+|\"|\u00b0)\.?\s*[)\]]?\s*"
_Names = Mapping[str, tuple[str, ...]]
# Words that mean the same in a header; what stands for nothing is left out.
_SAME: Mapping[str, str] = {
    **dict.fromkeys(("form", "outline", "configuration", "morphology", "contour", "plan"), "shape"),
    **dict.fromkeys(("basal", "bases"), "base"),
    **dict.fromkeys(("maximum", "max", "greatest", "overall", "total", "of", "the", "at"), ""),
    **dict.fromkeys(("len", "lgth", "lngth", "lth", "l"), "length"),
    **dict.fromkeys(("wd", "wid", "wdth", "breadth", "w"), "width"),
    **dict.fromkeys(("thick", "thk", "thickn", "thck", "th"), "thickness"),
    **dict.fromkeys(("wt", "wgt", "mass"), "weight"),
    **dict.fromkeys(("juncture", "junction"), "neck"),
    **dict.fromkeys(("hafting", "hafted"), "haft"),
    **dict.fromkeys(("nbr", "num", "nr", "number", "numbers", "#"), "no"),
    **dict.fromkeys(("cat", "catalog"), "catalogue"),
    **dict.fromkeys(("artifact", "art"), "artefact"),
    **dict.fromkeys(("spec", "specimens"), "specimen"),
    **dict.fromkeys(("color", "colours", "colors"), "colour"),
    **dict.fromkeys(("provenance", "prov", "proven"), "provenience"),
    **dict.fromkeys(("lvl", "lev"), "level"),
    **dict.fromkeys(("fea", "feat"), "feature"),
    **dict.fromkeys(("mat", "matl"), "material"),
    **{f"{word}s": word for word in ("shoulder", "barb", "ear", "blade", "stem", "flute")},
    **dict.fromkeys(("anal", "analyzed"), "analysed"),
    "acc": "accession",
    "notches": "notch",
}

# The specimen's number, best name first: a table often has several, and one of them is the piece's.
NUMBERS = (
    ("specimen", "specimen no", "specimen id"),
    ("catalogue no", "catalogue", "catalogue id"),
    ("artefact no", "artefact id", "artefact", "object no", "object id", "piece no"),
    ("accession no", "accession"),
    ("fs", "fs no", "field specimen", "field specimen no"),
    ("no", "id"),
)
FIELDS: _Names = {
    "region": ("region", "research region", "culture region"),
    "notes": ("notes", "note", "remarks", "comments", "comment"),
    "call": (
        *("type", "point type", "type name", "call", "analyst call", "own call", "typology"),
        *("ppk type", "pp type", "pp k type", "projectile point type", "projectile type"),
    ),
    "call_reason": ("call reason", "reason", "type reason", "reason for type"),
    "call_by": ("call by", "typed by", "identified by", "type by"),
    "call_date": ("call date", "type date", "date typed", "typed on"),
    "material": ("material", "raw material", "lithic material", "stone", "toolstone", "rock type"),
    "colour": ("colour", "munsell", "munsell colour"),
    "site": ("site", "site no", "site name", "trinomial", "site trinomial"),
    "unit": ("unit", "excavation unit", "test unit", "unit no"),
    "level": ("level", "level no", "level cmbs", "level cmbd", "level cm bs", "level cm bd"),
    "feature": ("feature", "feature no"),
    "provenience": ("provenience", "context"),
    "observer": ("observer", "analyst", "recorder", "recorded by", "coded by", "examined by"),
    "date": ("date", "date recorded", "analysis date", "date coded", "date analysed"),
}
MEASUREMENTS: _Names = {
    "length": ("length", "point length"),
    "blade_length": ("blade length",),
    "haft_length": ("haft length", "stem length", "tang length", "haft element length"),
    "width": ("width", "shoulder width"),
    "neck_width": ("neck width",),
    "base_width": ("base width",),
    "thickness": ("thickness",),
    "weight": ("weight",),
    "basal_concavity": ("base concavity", "base concavity depth", "concavity depth"),
    "notch_depth": ("notch depth",),
    "notch_width": ("notch width",),
    "grinding_length": ("grinding length", "ground length", "haft grinding length"),
    "dsa": ("dsa", "distal shoulder angle"),
    "psa": ("psa", "proximal shoulder angle"),
}
ATTRIBUTES: _Names = {
    "haft_style": ("haft style", "haft type", "haft shape", "haft element"),
    "notch_position": ("notch position", "notching", "notch type", "notch location"),
    "notch_count": ("no notch", "notch count"),
    "blade_edge": ("blade edge", "serration", "edge serration", "blade serration", "serrated"),
    "blade_retouch": ("blade retouch", "bevelling", "beveling", "blade bevel", "bevel"),
    "cross_section": ("cross section", "blade section", "blade cross section"),
    "flaking": ("flaking", "flaking pattern", "flake pattern"),
    "tip": ("tip", "tip shape", "distal end"),
    "portion": ("portion", "completeness", "fragment", "fragment type", "portion present"),
    "damage": ("damage", "breakage", "break", "breaks", "fracture", "fractures"),
    "ears": ("ear", "ear shape", "auricles", "auricle shape"),
    "basal_thinning": ("base thinning", "thinning"),
    "fluting": ("fluting", "fluted", "flute"),
    "haft_grinding": ("haft grinding", "grinding", "base grinding", "base lateral grinding"),
    "resharpening": ("resharpening", "resharpened"),
    "reworked_as": ("reworked as", "reworked into", "recycled as"),
    "size_class": ("size", "size class"),
    "blade_symmetry": ("blade symmetry", "symmetry"),
    "shoulder_strength": ("shoulder strength", "shoulder prominence"),
}
# Words that give an exact place away, wherever in a header they stand; withheld when in doubt.
LOCATIONS = frozenset(
    {
        *("utm", "utme", "utmn", "easting", "eastings", "northing", "northings", "gps", "mgrs"),
        *("latitude", "longitude", "lat", "lon", "lng", "latlong", "latlon"),
        *("coordinate", "coordinates", "coord", "coords", "geometry", "geom", "wkt", "geojson"),
        *("township", "twp", "rng", "plss", "trs", "legal", "parcel", "landowner", "address"),
        *("quad", "quadrangle", "quadrat", "map", "location", "locality", "findspot", "directions"),
    }
)
# Only together do these give a place away, or when one of the words above stands beside them.
_PAIRS = (("x", "y"), ("e", "n"), ("east", "north"))
_LEGAL = frozenset(("range", "section", "sec", "quarter", "zone", "datum", "long", "elevation"))


def words_of(name: str) -> tuple[str, ...]:
    """Return the words of a header in the form in which they are compared."""
    split = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)
    bare = re.sub(r"[^\w#\"\u00b0]+|_", " ", split.replace("#", " # ")).casefold().split()
    return tuple(word for word in (_SAME.get(word, word) for word in bare) if word)


def unit_of(name: str) -> tuple[str, str]:
    """Return a header without the unit at its end, and the unit (`mm`, `cm`, `g` ...) if any."""
    match = re.fullmatch(_UNIT, name, re.DOTALL)
    if match and match[2].lower() in UNITS:
        return match[1], UNITS[match[2].lower()]
    return name, ""


def phrases(rules: Rules) -> Mapping[str, Mapping[frozenset[str], str]]:
    """Return what the words of a header stand for, by kind of column: ids by words in any order."""
    attributes = {a.id: (a.id, a.label) for a in rules.attributes if not a.item_of}
    attributes |= {name: (name, label) for name, label in rules.many.items()}
    items = {a.id: _item_names(a) for a in rules.attributes if a.item_of}
    measurements = {m.id: (m.id, m.label) for m in rules.measurements.values()}
    return {
        "number": _by_words({str(rank): names for rank, names in enumerate(NUMBERS)}),
        "field": _by_words(FIELDS),
        "measurement": _by_words(measurements, _only(MEASUREMENTS, measurements)),
        "attribute": _by_words(attributes, items, _only(ATTRIBUTES, attributes)),
    }


def _item_names(item: Attribute) -> tuple[str, ...]:
    name, _, short = item.id.partition(".")
    present = item.states[-1]
    also = (word for word in present.also if len(word.split()) > 1)
    return (item.id, f"{short} {name}", present.term, *also)


def _only(names: Mapping[str, tuple[str, ...]], known: Collection[str]) -> _Names:
    return {target: some for target, some in names.items() if target in known}


def _by_words(*groups: _Names) -> dict[frozenset[str], str]:
    """Return what names stand for; what an earlier group says goes before a later one."""
    found: dict[frozenset[str], str] = {}
    for names in groups:
        for target, some in names.items():
            for name in some:
                found.setdefault(frozenset(words_of(name)), target)
    return found


def locations(header: Sequence[str]) -> frozenset[int]:
    """Return which columns of a header give an exact place away."""
    plain = [re.sub(r"[^a-z0-9]+", " ", name.casefold()).split() for name in header]
    found = {i for i, words in enumerate(plain) if LOCATIONS.intersection(words)}
    alone = {words[0]: i for i, words in enumerate(plain) if len(words) == 1}
    for pair in _PAIRS:
        if all(word in alone for word in pair):
            found.update(alone[word] for word in pair)
    if found:
        found.update(i for i, words in enumerate(plain) if words and _LEGAL.issuperset(words))
    return frozenset(found)
