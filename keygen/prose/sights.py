"""Every observation that comes up, put in words once: what is said of a piece, and what is not."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import NamedTuple

from keygen.core.examine import Examination
from keygen.core.memo import Memo
from keygen.core.model import Attribute, Rules
from keygen.core.observe import How, Observation
from keygen.core.states import is_single
from keygen.prose import words
from keygen.prose.seen import MADE, Seen, untold

FOLLOWS = frozenset(("implied", "not_asked"))  # ways of coming about that are never spoken of


class Sight(NamedTuple):
    """An observation in words, its voice, and the attribute if something is said of it."""

    seen: Seen
    voice: Seen
    said: str


class Sights:
    """Every observation that comes up, put in words once.

    What is said of an attribute depends on its states, on how they came about and, for a few, on
    the style of the haft.

    Attributes:
        ids: the attributes, in their order.
        silence: what stands where nothing is said, by attribute in their order.
    """

    def __init__(self, rules: Rules) -> None:
        attributes = rules.attributes
        self.ids = tuple(attribute.id for attribute in attributes)
        self.silence = {a.id: Seen(a.id, attribute=a) for a in attributes}
        self._style = rules.index.get("haft_style")
        styles = () if self._style is None else attributes[self._style].states
        steady = [Memo(partial(self._sight, a, "")) for a in attributes]
        self._tables = [
            [
                Memo(partial(self._sight, a, style)) if words.NONE_SAID.get(a.id) else kept
                for a, kept in zip(attributes, steady, strict=True)
            ]
            for style in ("", *(state.id for state in styles))
        ]

    def tables(self, observations: Sequence[Observation]) -> Sequence[Memo[tuple[int, How], Sight]]:
        """Return, by attribute, what is said of its states, on a piece with some observations."""
        if self._style is None or not is_single(mask := observations[self._style].mask):
            return self._tables[0]
        return self._tables[mask.bit_length()]

    def read(self, observations: Sequence[Observation]) -> list[Seen]:
        """Return observations, one an attribute, in words."""
        tables = self.tables(observations)
        return [kept[o.mask, o.how].seen for kept, o in zip(tables, observations, strict=True)]

    def _sight(self, attribute: Attribute, style: str, told: tuple[int, How]) -> Sight:
        mask, how = told
        ids = attribute.ids(mask)
        observed = how in MADE and not untold(attribute, mask)
        seen = Seen(
            attribute.id,
            tuple(state for state in ids if state != "none"),
            "none" in ids,
            how,
            observed and _worth_saying(attribute.id, ids, how, style),
            attribute,
            self.silence[attribute.id],
        )
        return Sight(seen, seen.voice, seen.id if seen.spoken else "")


def sights(rules: Rules) -> Sights:
    """Return the observations under some rules in words."""
    return rules.once(Sights)


def look(rules: Rules, examination: Examination) -> dict[str, Seen]:
    """Return what was observed of every attribute, by id. What was only implied stays silent."""
    known = sights(rules)
    return dict(zip(known.ids, known.read(examination.observations), strict=True))


def _worth_saying(name: str, ids: tuple[str, ...], how: How, style: str) -> bool:
    """Tell whether an analyst would say so: a stemmed point is not said to lack notches."""
    if name == "size_class" and how == "measured":
        return ids == ("small",)
    if len(ids) > 1:
        return True
    if ids[0] in words.SILENT.get(name, ()):
        return False
    if ids[0] != "none":
        return True
    if name not in words.NONE_SAID:
        return False
    styles = words.NONE_SAID[name]
    return styles is None or style in styles
