"""A state as a supposition, after "if": `the base were straight`, `the piece had no flute`.

The words are those of the description; only where "the SUBJECT were STATE" does not say it is there
a frame here.
"""

from __future__ import annotations

from collections.abc import Mapping

from keygen.core.model import Attribute
from keygen.prose import words
from keygen.prose.grammar import listed, plain, span
from keygen.prose.seen import NOTHING, Seen, width_against, wording

# How a state is supposed of an attribute, where "the SUBJECT were STATE" does not say it.
FRAMES: Mapping[str, str] = {
    "notch_position": "the piece were {}",
    "notch_count": "the piece had {} notches",
    "flute_length": "the flute ran {}",
    "barb_reach": "the barbs ended {}",
    "resharpening": "the blade were {} resharpened",
    "reworked_as": "the piece were reworked into {}",
    "size_class": "the piece were {}",
}
# How the state `none` is supposed, where it has no word of its own that fits the frame.
NONE: Mapping[str, str] = {
    "notch_position": "the piece had no paired notches",
    "notch_form": "the piece had no paired notches",
    "notch_count": "the piece had no paired notches",
    "haft_sides": "the piece were stemmed or notched",
    "haft_waist": "the haft were not waisted",
    "flute_length": "the piece had no flute",
    "barb_reach": "the piece had no barbs",
    "resharpening": "the blade were not resharpened",
    "reworked_as": "the piece were not reworked",
    "sampling": "no sampling were planned",
}


def supposed(attribute: Attribute, mask: int, style: Seen = NOTHING) -> str:
    """Word some states of an attribute as a supposition: `the base were straight or incurvate`.

    Args:
        style: the style of the haft, against which the width of a base is told.
    """
    name, ids = attribute.id, attribute.ids(mask)
    if attribute.item_of:
        item = name.removeprefix(f"{attribute.item_of}.")
        noun = words.DAMAGE_NOUNS.get(item, plain(attribute.label))
        verb = "included" if ids == ("present",) else "did not include"
        return f"the {attribute.item_of} {verb} {noun}"
    subject = words.SUBJECTS.get(name, plain(attribute.label))
    frame = FRAMES.get(name, f"the {subject} were {{}}")
    clauses = []
    if "none" in ids and (name in NONE or "none" not in words.PREDICATES.get(name, {})):
        clauses.append(NONE.get(name, f"the piece had no {subject}"))
        ids = tuple(state for state in ids if state != "none")
    if ids:
        attributive = words.ATTRIBUTIVES[name] if name == "resharpening" else None
        states = [
            wording(attribute, (), True)
            if state == "none"
            else wording(attribute, (state,), False, attributive)
            for state in ids
        ]
        tail = f" {width_against(style)}" if name == "base_width_class" else ""
        clauses.append(frame.format(span(states, graded=False)) + tail)
    return listed(clauses, "or")
