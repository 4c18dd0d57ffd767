"""Wording of published descriptions, as states.

The words are recalled from the works named (basis: memory) and not quoted at length; where no work
is named they are common practice, no source.
"""

from __future__ import annotations

import pytest

from keygen.core.model import Rules
from keygen.specimens.terms import Lexicon

COMMON = ""  # common practice, no source
EARS = ("flared", "drooping", "rounded", "squared")
Means = list[dict[str, tuple[str, ...]]]


@pytest.mark.parametrize(
    ("source", "words", "expected"),
    [
        # Morrow Mountain I: a short pointed stem.
        (
            "coe1964",
            "short pointed stem",
            [
                {
                    "haft_style": ("stemmed",),
                    "stem_shape": ("contracting",),
                    "base_shape": ("pointed",),
                }
            ],
        ),
        # Palmer: corner-notched, the base ground, the serrations pronounced.
        ("coe1964", "corner-notched", [{"notch_position": ("corner",)}]),
        ("coe1964", "ground base", [{"haft_grinding": ("base", "both")}]),
        ("coe1964", "pronounced serrations", [{"blade_edge": ("coarse",)}]),
        # Hardaway Side-Notched: a recurved base.
        (
            "coe1964",
            "recurved base",
            [{"base_shape": ("incurvate", "deep_incurvate"), "ears": EARS}],
        ),
        # Stanly: a small squared stem.
        (
            "coe1964",
            "squared stem",
            [
                {
                    "haft_style": ("stemmed",),
                    "stem_shape": ("straight",),
                    "base_shape": ("straight",),
                }
            ],
        ),
        # Nolan: the stem is bevelled.
        (
            "suhm_jelks1962",
            "beveled stem",
            [{"haft_style": ("stemmed",), "haft_edge": ("bevelled",)}],
        ),
        # Perdiz: a contracting stem, and no notches.
        (
            "suhm_jelks1962",
            "contracting stem",
            [{"haft_style": ("stemmed",), "stem_shape": ("contracting",)}],
        ),
        # Pedernales: an indented base, hollowed or cleft.
        (
            "suhm_jelks1962",
            "indented base",
            [{"base_shape": ("incurvate", "deep_incurvate", "bifurcate", "centre_notched")}],
        ),
        # Auriculate hafts; shoulders that are inversely tapered; acuminate ends.
        ("cambron_hulse1975", "auriculate", [{"ears": EARS}]),
        ("cambron_hulse1975", "inversely tapered shoulders", [{"shoulder_shape": ("inverse",)}]),
        ("cambron_hulse1975", "acuminate", [{"tip": ("acute", "apiculate")}]),
        # Brewerton Eared Triangle; Orient Fishtail.
        ("ritchie1971", "eared triangle", [{"haft_style": ("triangular",), "ears": EARS}]),
        (
            "ritchie1971",
            "fishtail",
            [
                {"haft_style": ("lanceolate",), "haft_sides": ("recurved",), "ears": ("flared",)},
                {
                    "haft_style": ("stemmed", "notched"),
                    "stem_shape": ("expanding",),
                    "base_shape": ("straight", "incurvate"),
                },
            ],
        ),
        # Bifurcated bases; broad spearpoints; waisted lanceolates.
        ("broyles1971", "bifurcated base", [{"base_shape": ("bifurcate",)}]),
        (
            "witthoft1953",
            "broad spearpoint",
            [{"haft_style": ("stemmed", "notched"), "size_class": ("medium", "large")}],
        ),
        ("bullen1975", "waisted", [{"haft_sides": ("recurved",)}]),
        (COMMON, "concave base", [{"base_shape": ("incurvate",)}]),
        (COMMON, "barbed", [{"shoulder_shape": ("barbed",)}]),
        (COMMON, "tanged", [{"haft_style": ("stemmed",)}]),
        (COMMON, "bevelled left", [{"blade_retouch": ("alternate_bevel",)}]),
        (COMMON, "chevron flaking", [{"flaking": ("collateral", "oblique")}]),
        (COMMON, "ripple-flaked", [{"flaking": ("oblique", "transverse")}]),
        (COMMON, "potlidded", [{"damage.heat": ("present",)}]),
        (COMMON, "lenticular section", [{"cross_section": ("biconvex",)}]),
        (COMMON, "channel flake scar", [{"fluting": ("one_face", "both_faces")}]),
    ],
)
def test_published_wording_means_our_states(
    rules: Rules, source: str, words: str, expected: Means
) -> None:
    """A wording of the literature yields the states that its describer could have seen."""
    assert not source or source in rules.sources
    attributes = rules.attributes
    found = [
        {attributes[i].id: attributes[i].ids(mask) for i, mask in meaning.limits.items()}
        for meaning in Lexicon(rules).find(words)
    ]
    assert found == expected


def test_orient_fishtail_is_fish_tailed(rules: Rules) -> None:
    """One meaning of fish-tailed fits the definition of Orient Fishtail, which is named for it."""
    kind = rules.types["orient_fishtail"]
    allowed = {c.attribute: c.allowed for c in kind.defined_by}
    fits = [
        all(allowed.get(i, mask) & mask for i, mask in meaning.limits.items())
        for meaning in Lexicon(rules).find("fish-tailed")
    ]
    assert sorted(fits) == [False, True]
