"""As what the states of a vocabulary are drawn, whatever it calls them.

A state that is a form itself (`FORMS`) is drawn as it is; any other as its `draw` says; one that
says nothing shows in no picture.
"""

from __future__ import annotations

from collections.abc import Mapping

from keygen.core.model import Attribute, Rules
from keygen.pictures.form import PLAIN
from keygen.rulebase.drawn import DAMAGE, FORMS

Words = Mapping[str, str]  # a form and its state, or a figure and its value


def looks(rules: Rules) -> tuple[Mapping[str, Words], ...]:
    """Return as what each state is drawn, an attribute of the rules each, by the state's id."""
    return rules.once(_looks)


def _looks(rules: Rules) -> tuple[Mapping[str, Words], ...]:
    return tuple(
        {
            state.id: dict(state.draw)
            or ({attribute.id: state.id} if state.id in FORMS.get(attribute.id, ()) else {})
            for state in attribute.states
        }
        for attribute in rules.attributes
    )


def named(rules: Rules, index: int) -> tuple[str, ...]:
    """Return the forms and figures by which an attribute is drawn; the first is the foremost."""
    return tuple(dict.fromkeys(name for words in looks(rules)[index].values() for name in words))


def shows(attribute: Attribute) -> bool:
    """Tell whether an attribute is an item of damage that is drawn."""
    return bool(attribute.item_of) and attribute.id.partition(".")[2] in DAMAGE


def unspoken(rules: Rules) -> frozenset[str]:
    """Return the forms of which the rules say nothing."""
    return rules.once(_unspoken)


def _unspoken(rules: Rules) -> frozenset[str]:
    spoken = {name for i in range(len(rules.attributes)) for name in named(rules, i)}
    return frozenset(PLAIN) - spoken


def drawable(rules: Rules) -> bool:
    """Tell whether an outline can be drawn: every state of some attribute has a haft of its own."""
    return any(all("haft_style" in words for words in states.values()) for states in looks(rules))
