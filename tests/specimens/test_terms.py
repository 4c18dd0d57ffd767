"""From words to attributes and states."""

from __future__ import annotations

import pytest

from keygen.core.model import ABSENT, Rules
from keygen.errors import KeygenError
from keygen.rulebase.thesaurus import plain
from keygen.specimens.given import parse_set
from keygen.specimens.session import Session, answer
from keygen.specimens.terms import Lexicon


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


@pytest.mark.parametrize("word", ["undamaged", "no breakage", "no damage", "none", "not damaged"])
def test_words_for_no_damage(rules: Rules, word: str) -> None:
    """Words that deny all damage do so, and cannot stand beside an item of it."""
    lexicon = Lexicon(rules)
    found = lexicon.observe("damage", [word])
    assert {rules.attributes[i].item_of for i in found} == {"damage"}
    assert {observation.mask for observation in found.values()} == {ABSENT}
    with pytest.raises(KeygenError, match=f"'{word}' and something else of damage"):
        lexicon.observe("damage", [word, "heat"])


def test_intact_speaks_of_the_portion(rules: Rules) -> None:
    """A complete piece can be burnt: a word for complete is refused as a word for no damage."""
    lexicon = Lexicon(rules)
    assert states(lexicon, "intact") == {"portion": ("complete",)}
    with pytest.raises(KeygenError, match=r"It is a state of portion\. Allowed: none, tip_snap"):
        lexicon.observe("damage", ["intact"])


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


def meanings(lexicon: Lexicon, words: str) -> list[dict[str, tuple[str, ...]]]:
    """Return each meaning of some words, as state ids by attribute id."""
    attributes = lexicon.rules.attributes
    return [
        {attributes[i].id: attributes[i].ids(mask) for i, mask in meaning.limits.items()}
        for meaning in lexicon.find(words)
    ]


def test_a_wider_word_says_several_things_at_once(lexicon: Lexicon) -> None:
    """A word of the thesaurus that names several attributes is one meaning."""
    assert meanings(lexicon, "Spiked") == [
        {"haft_style": ("stemmed",), "stem_shape": ("contracting",)}
    ]


def test_an_ambiguous_word_yields_each_meaning(lexicon: Lexicon) -> None:
    """A word that nobody can settle yields all its meanings, under each of its spellings."""
    both = [{"base_shape": ("excurvate",)}, {"blade_shape": ("excurvate",)}]
    assert meanings(lexicon, "bulbous") == meanings(lexicon, "bulby") == both


def test_an_attribute_settles_an_ambiguous_word(lexicon: Lexicon) -> None:
    """With an attribute named, a wider word leaves what it says of that one."""
    assert states(lexicon, "base bulbous") == {"base_shape": ("excurvate",)}
    assert states(lexicon, "haft_style=spiked") == {"haft_style": ("stemmed",)}


def test_words_of_a_state_lead_back(lexicon: Lexicon) -> None:
    """A state's words are its term, its synonyms, and wider words that mean it alone."""
    assert lexicon.exact("stem_shape", "expanding") == ("expanding", "flared")
    assert lexicon.exact("stem_shape", "contracting") == ("contracting", "tapering")
    assert lexicon.exact("damage", "heat") == ("heat damage", "burnt")
    assert lexicon.exact("damage", "none")[0] == "none"


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("spiked", {"haft_style": "seen", "stem_shape": "seen"}),
        ("curved base", {"base_shape": "unsure"}),
        ("burnt", {"damage.heat": "seen"}),
        ("base convex", {"base_shape": "seen"}),
    ],
)
def test_a_bare_word_can_be_set(lexicon: Lexicon, words: str, expected: dict[str, str]) -> None:
    """`--set` takes a word alone; a set of states is an unsure observation."""
    found = parse_set(lexicon, words)
    assert {lexicon.rules.attributes[i].id: o.how for i, o in found.items()} == expected


def test_a_bare_word_is_never_guessed(lexicon: Lexicon) -> None:
    """A word alone whose meanings have no attribute in common is refused, with all of them."""
    with pytest.raises(KeygenError, match=r"haft_style=lanceolate; or stem_shape=contracting"):
        parse_set(lexicon, "tapered haft")


def test_a_walk_understands_wider_words(fresh: Session) -> None:
    """A wider word typed at a prompt settles all that it says; an ambiguous one is asked about."""
    session = answer(answer(fresh, "a").session, "spiked").session
    rules = session.rules
    known = session.position.known
    assert known[rules.index["haft_style"]] == rules.mask("haft_style", "stemmed")
    assert known[rules.index["stem_shape"]] == rules.mask("stem_shape", "contracting")
    asked = answer(fresh, "bulbous").session
    assert [meaning.name for meaning in asked.pending] == ["base_shape", "blade_shape"]


def test_every_word_of_the_thesaurus_is_found(rules: Rules) -> None:
    """Each word of the shipped thesaurus, in each spelling, yields all that stands under it.

    What counts only where its attribute is named is found with the name before it.
    """
    shipped = Lexicon(rules)
    for entry in rules.thesaurus:
        for form in (entry.word, *entry.also):
            names = {shipped.labels[rules.attributes[i].id] for means in entry.means for i in means}
            words = f"{names.pop()}={form}" if entry.named else form
            found = [dict(meaning.limits) for meaning in shipped.find(words)]
            assert all(dict(limits) in found for limits in entry.means), form


def test_named_words_mean_nothing_by_themselves(rules: Rules) -> None:
    """`base` is a fragment only where the portion is named; by itself it is ground at the base."""
    shipped = Lexicon(rules)
    assert meanings(shipped, "base") == [{"haft_grinding": ("base",)}]
    assert meanings(shipped, "portion base") == [{"portion": ("proximal",)}]
    assert meanings(shipped, "triangular") == [{"haft_style": ("triangular",)}]
    assert shipped.find("tip") == ()


def test_british_and_american_spellings_are_one_word(rules: Rules) -> None:
    """Bevelled and beveled, plough and plow, channelled and channeled mean the same."""
    shipped = Lexicon(rules)
    british = ("bevelled left", "bevelled stem", "plough-scarred", "channelled", "bevelled blade")
    american = ("beveled left", "beveled stem", "plow-scarred", "channeled", "beveled blade")
    for one, other in zip(british, american, strict=True):
        assert meanings(shipped, one) == meanings(shipped, other) != []
