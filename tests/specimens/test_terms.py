"""From words to attributes and states."""

from __future__ import annotations

import pytest

from keygen.core.model import Rules
from keygen.specimens.terms import Lexicon, plain


def states(lexicon: Lexicon, words: str) -> dict[str, tuple[str, ...]]:
    """Return what words mean, as state ids by attribute id."""
    return {
        lexicon.rules.attributes[i].id: lexicon.rules.attributes[i].ids(mask)
        for meaning in lexicon.find(words)
        for i, mask in meaning.limits.items()
    }


def test_case_hyphens_and_brackets_do_not_matter() -> None:
    """Words are compared without case, hyphens, underscores and brackets."""
    assert plain("Straight (Parallel-sided)") == plain("straight parallel_sided")


@pytest.mark.parametrize("words", ["contracting", "Contracting", "tapering", "stem tapering"])
def test_terms_and_synonyms_name_a_state(lexicon: Lexicon, words: str) -> None:
    """A term, a synonym, and either with its attribute name the same state."""
    assert states(lexicon, words) == {"stem_shape": ("contracting",)}


def test_a_word_of_several_attributes_yields_all(lexicon: Lexicon) -> None:
    """A word that serves several attributes yields each of them."""
    assert set(states(lexicon, "convex")) == {"base_shape", "blade_shape"}


@pytest.mark.parametrize("words", ["base convex", "convex base", "base_shape=convex"])
def test_an_attribute_beside_the_word_settles_which(lexicon: Lexicon, words: str) -> None:
    """Naming the attribute before or after its state leaves one meaning."""
    assert states(lexicon, words) == {"base_shape": ("excurvate",)}


def test_alternatives_are_kept_together(lexicon: Lexicon) -> None:
    """Several states of one attribute can be named at once."""
    assert states(lexicon, "stem straight or contracting") == {
        "stem_shape": ("straight", "contracting")
    }


def test_no_damage_denies_every_item(lexicon: Lexicon) -> None:
    """Denying a whole attribute of kind many denies each of its items."""
    assert states(lexicon, "no damage") == {
        "damage.tip_snap": ("absent",),
        "damage.heat": ("absent",),
    }


def test_an_item_is_named_by_its_term(lexicon: Lexicon) -> None:
    """The term of an item says that it is present, and nothing of the others."""
    assert states(lexicon, "heat damage") == {"damage.heat": ("present",)}


def test_unknown_words_mean_nothing(lexicon: Lexicon) -> None:
    """A word that is no term has no meaning."""
    assert lexicon.find("crooked") == ()


def test_every_state_of_the_shipped_rules_is_understood(rules: Rules) -> None:
    """Each state and term of the vocabulary, typed with its attribute, names its own state."""
    shipped = Lexicon(rules)
    for i, attribute in enumerate(rules.attributes):
        for state in attribute.states:
            for word in (state.id, state.term):
                found = shipped.states(attribute.id, [word])[i]
                assert found & attribute.bits[state.id], (attribute.id, word)
