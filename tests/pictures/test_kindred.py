"""Pictures under a vocabulary that names hafts in its own way, or says more than can be drawn."""

from __future__ import annotations

from dataclasses import replace

import pytest

from keygen import data
from keygen.core.model import Attribute, Couplet, Lead, Rules, State
from keygen.pictures.form import PLAIN
from keygen.pictures.keybook import book
from keygen.pictures.keypages import book_html
from keygen.pictures.kindred import drawable, looks
from keygen.pictures.leads import lead_drawing, lead_pictures, why_not
from keygen.pictures.outline import outline
from keygen.pictures.plan import plan
from keygen.pictures.sketch import of_type
from keygen.pictures.svg import body
from keygen.rulebase.drawn import DAMAGE, FORMS
from keygen.rulebase.load import load

CORNER = {"haft_style": "notched", "notch_position": "corner"}


@pytest.fixture(scope="module")
def pack() -> Rules:
    """Return the pack for the central Great Basin."""
    return load(data.packs()["great_basin"])


def test_the_forms_are_those_of_the_main_vocabulary(rules: Rules) -> None:
    """Every state of the main vocabulary that is a form stands in the table, and no other."""
    assert {
        attribute.id: tuple(attribute.bits)
        for attribute in rules.attributes
        if attribute.id in PLAIN
    } == FORMS
    assert {a.id.partition(".")[2] for a in rules.attributes if a.item_of} == DAMAGE


def test_the_pack_says_what_it_looks_like(pack: Rules) -> None:
    """Leads have a picture unless they ask for weight or thickness, and each names its reason."""
    made = lead_pictures(pack)
    assert made.without == {
        "thin": "no outline shows thickness class",
        "heavy": "no outline shows weight class",
    }
    assert len(made.leads) == 2 * (len(pack.couplets) - 2)
    for couplet in pack.couplets.values():
        if not why_not(pack, couplet):
            first, second = (lead_drawing(pack, couplet, lead) for lead in couplet.leads)
            assert body(first) != body(second), couplet.id


def test_the_page_names_what_has_no_picture(pack: Rules, rules: Rules) -> None:
    """The printed key tells which couplets stand without a picture, and why."""
    assert "Without a picture: 18 (no outline shows thickness class)" in book_html(
        pack, book(pack), "a5"
    )
    assert "Without a picture: 1 (no outline shows sampling); 2" in book_html(
        rules, book(rules), "a5"
    )


@pytest.mark.parametrize(
    ("kind", "form", "state"),
    [
        ("desert_side_notched", "notch_position", "side"),
        ("elko_eared", "base_shape", "deep_incurvate"),
        ("elko_eared", "notch_position", "corner"),
        ("triple_t", "base_shape", "deep_incurvate"),
        ("humboldt", "haft_style", "lanceolate"),
        ("rosegate", "base_width", "8"),
    ],
)
def test_a_type_of_the_pack_is_drawn_as_defined(
    pack: Rules, kind: str, form: str, state: str
) -> None:
    """What defines a type is drawn; of a base both hollow and with rounded corners, the hollow."""
    assert of_type(pack, pack.types[kind]).states[form] == state


def test_what_a_pack_does_not_say_is_dotted(pack: Rules) -> None:
    """The blade, of which the pack says nothing, is drawn as not observed, and so are shoulders."""
    sketch = of_type(pack, pack.types["rosegate"])
    assert {"blade_shape", "tip", "shoulder_shape"} <= sketch.unknown
    assert "haft_style" not in sketch.unknown
    assert "Dotted: not observed." in outline(pack, pack.types["rosegate"])


def test_an_angle_is_drawn_as_wide_as_its_class(pack: Rules) -> None:
    """The wider the class of the proximal shoulder angle, the wider the base is drawn."""
    index = pack.index["psa_class"]
    drawn = [words for words in looks(pack)[index].values() if words]
    bases = [
        plan({**CORNER, **words}, {"width": 30.0, "length": 48.0}).form.base for words in drawn
    ]
    assert len(bases) == 6
    assert bases == sorted(bases)
    assert len(set(bases)) == 6


def test_a_figure_that_was_taken_goes_before_its_class() -> None:
    """A neck that was measured is drawn as measured, whatever figure stands for its class."""
    states = {"haft_style": "stemmed", "neck_width": "8"}
    assert plan(states, {"width": 30.0}).form.neck == 4.0
    assert plan(states, {"width": 30.0, "neck_width": 13.0}).form.neck == 6.5


def grown(rules: Rules, *states: State) -> tuple[Rules, Couplet]:
    """Return rules with an attribute of one's own behind the others, and a couplet about it."""
    index = len(rules.attributes)
    more = Attribute("residue", "residue", states)
    leads = (Lead("a", "One", ({index: 1},), ""), Lead("b", "Other", ({index: 2},), ""))
    larger = replace(
        rules,
        attributes=(*rules.attributes, more),
        universe=tuple((*box, 3) for box in rules.universe),
    )
    return larger, Couplet("own", 1001, "any", "Which?", "Look.", leads)


def test_an_attribute_of_ones_own(rules: Rules) -> None:
    """An added attribute stands without a picture, until its states say as what they are drawn."""
    plain, couplet = grown(rules, State("grey", "grey"), State("red", "red"))
    assert why_not(plain, couplet) == "no outline shows residue"
    flared = State("red", "red", draw=(("ears", "flared"),))
    drawn, couplet = grown(rules, State("grey", "grey", draw=(("ears", "none"),)), flared)
    assert why_not(drawn, couplet) == ""
    first, second = (lead_drawing(drawn, couplet, lead) for lead in couplet.leads)
    assert body(first) != body(second)


def test_hafts_that_nobody_can_draw(small_rules: Rules) -> None:
    """Where a haft says nothing of how it is drawn there are no pictures, and that is said."""
    index = small_rules.index["haft_style"]
    haft = small_rules.attributes[index]
    odd = replace(haft, states=(State("winged", "winged"), haft.states[1]))
    attributes = tuple(odd if a is haft else a for a in small_rules.attributes)
    other = replace(small_rules, attributes=attributes)
    assert drawable(small_rules)
    assert not drawable(other)
    assert set(lead_pictures(other).without.values()) == {
        "its rules name hafts that cannot be drawn"
    }
