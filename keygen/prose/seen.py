"""What was observed, in words: one `Seen` an attribute, and how each observation was made."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from keygen.core.examine import Examination
from keygen.core.measure import Reading
from keygen.core.model import Attribute, Rules
from keygen.core.observe import How
from keygen.prose import words
from keygen.prose.grammar import at_least, listed, measure, plain, span

MADE = ("seen", "unsure", "measured")  # the ways of coming about that are somebody's observation


@dataclass(frozen=True, eq=False)
class Seen:
    """The states of one attribute that an observation left, ready to be worded.

    True if there is something to say. `ids` are the states still possible, without `none`; `maybe`
    tells that `none` is possible as well, `absent` that nothing else is. Observations alike share
    one of these (see `Sights`), so they are compared by identity. `silence` is what stands in for
    it where nothing is said.
    """

    id: str
    ids: tuple[str, ...] = ()
    none: bool = False
    how: How = "not_asked"
    spoken: bool = False
    attribute: Attribute | None = None
    silence: Seen | None = field(default=None, repr=False)

    def __bool__(self) -> bool:
        return self.spoken

    def __str__(self) -> str:
        return self.said

    @cached_property
    def mask(self) -> int:
        """Return the states still possible as a mask."""
        if self.attribute is None:
            return 0
        ids = ("none", *self.ids) if self.none else self.ids
        return sum(self.attribute.bits[state] for state in ids)

    @cached_property
    def maybe(self) -> bool:
        """Tell whether it may be there or not."""
        return self.spoken and self.none and bool(self.ids)

    @cached_property
    def absent(self) -> bool:
        """Tell whether it was observed to be absent, and that is worth saying."""
        return self.spoken and self.none and not self.ids

    @cached_property
    def doubtful(self) -> bool:
        """Tell whether this is an item of damage that somebody was unsure of."""
        item = self.attribute is not None and bool(self.attribute.item_of)
        return item and self.how == "unsure" and len(self.ids) > 1

    @cached_property
    def part(self) -> str:
        """Return the part of the piece of whose form it speaks, if it does."""
        a = self.attribute
        return a.part if a is not None and self.spoken and a.stability != "record" else ""

    @cached_property
    def voice(self) -> Seen:
        """Return this, or silence in its place if nothing is said of it."""
        return self if self.spoken or self.doubtful or self.silence is None else self.silence

    @cached_property
    def gap(self) -> bool:
        """Tell whether a trait of the form was looked for, and nothing is known of it."""
        a = self.attribute
        if a is None or a.item_of or a.stability == "record":
            return False
        if self.how == "missing":
            return untold(a, self.mask)
        return self.how == "unsure" and self.mask == a.full

    @cached_property
    def alone(self) -> str:
        """Return the states worded as they stand alone, see `stated`."""
        return stated(self.attribute, self.mask) if self.attribute else ""

    @cached_property
    def said(self) -> str:
        """Return the states as a predicate, `straight to excurvate`; empty if nothing is said."""
        return (
            wording(self.attribute, self.ids, self.none) if self.spoken and self.attribute else ""
        )

    @cached_property
    def present(self) -> str:
        """Return the states other than `none` as a predicate."""
        return wording(self.attribute, self.ids, False) if self.spoken and self.attribute else ""

    @cached_property
    def attributive(self) -> str:
        """Return the states other than `none` as they stand before a noun."""
        if not (self.spoken and self.attribute):
            return ""
        return wording(self.attribute, self.ids, False, words.ATTRIBUTIVES.get(self.id, {}))


NOTHING = Seen("")


def wording(
    attribute: Attribute,
    ids: tuple[str, ...],
    none: bool,
    before_noun: Mapping[str, str] | None = None,
) -> str:
    """Word a set of states of one attribute.

    Args:
        ids: the states other than `none`, in the vocabulary's order.
        none: whether `none` is possible as well.
        before_noun: the words that differ before a noun, if the set stands there.
    """
    own = None if before_noun else words.SETS.get(attribute.id, {}).get(frozenset(ids))
    if own is None:
        chain = _chain(attribute.id, ids)
        own = span([_word(attribute, s, before_noun) for s in chain or ids], bool(chain))
    if not none:
        return own
    absent = words.PREDICATES.get(attribute.id, {}).get("none") or _absence(attribute)
    return f"{absent} or {own}" if own else absent


def _absence(attribute: Attribute) -> str:
    """Return the term of the state `none` where it has one of its own, such as `not applicable`."""
    term = attribute.within(attribute.bits["none"])[0].term
    return "absent" if term == "none" else plain(term)


def _chain(name: str, ids: tuple[str, ...]) -> tuple[str, ...]:
    """Return the states in order of grade if they are a run of neighbours, else nothing."""
    for grade in words.GRADES.get(name, ()):
        if len(ids) > 1 and set(ids) <= set(grade):
            places = sorted(grade.index(state) for state in ids)
            if places[-1] - places[0] == len(ids) - 1:
                run = tuple(grade[i] for i in places)
                return run if ids[0] == run[0] or ids[0] not in (run[0], run[-1]) else run[::-1]
    return ()


def _word(attribute: Attribute, state: str, before_noun: Mapping[str, str] | None) -> str:
    if before_noun and state in before_noun:
        return before_noun[state]
    known = words.PREDICATES.get(attribute.id, {})
    return known.get(state) or plain(attribute.within(attribute.bits[state])[0].term)


def stated(attribute: Attribute, mask: int) -> str:
    """Word a set of states where it stands alone: what was seen, or what a type allows."""
    if attribute.item_of:
        return attribute.within(mask)[0].id
    ids = attribute.ids(mask)
    if set(ids) == set(attribute.ids(attribute.full)) - {"none"} and len(ids) > 2:
        return words.SETS.get(attribute.id, {}).get(frozenset(ids), "present")
    text = wording(attribute, tuple(s for s in ids if s != "none"), "none" in ids)
    tail = words.TAILS.get(attribute.id, "") if ids != ("none",) else ""
    return f"{text} {tail}".rstrip()


def untold(attribute: Attribute, mask: int) -> bool:
    """Tell whether these states leave all open that the style of the haft does not say."""
    if attribute.id not in words.WITH_STYLE:
        return mask == attribute.full
    return mask | attribute.bits["none"] == attribute.full


def hafting(style: Seen, notched: Seen) -> str:
    """Word the style of a haft with the place of its notches: `stemmed or corner-notched`."""
    position = f"possibly {notched.present}" if notched.maybe else notched.present
    if not position:
        return style.present
    rest = tuple(s for s in style.ids if s != "notched") if style else ()
    if not rest or style.attribute is None:
        return position
    return listed([*(_word(style.attribute, s, None) for s in rest), notched.present], "or")


def width_against(style: Seen) -> str:
    """Return what the width of a base is held against, in this style of haft."""
    full = style.attribute is None or style.mask == style.attribute.full
    if full or len({state in ("stemmed", "notched") for state in style.ids}) > 1:
        return words.TAILS["base_width_class"]
    return "the shoulders" if style.ids[0] in ("stemmed", "notched") else "the blade"


def briefs(several: Iterable[Seen], style: Seen = NOTHING) -> list[str]:
    """Name observations in a few words: `side-notched`, `shoulders strong and barbed`.

    What is said of one subject is said together. Where notches may be absent, the styles of haft
    that are left are named with them; what has no word for its absence is left out there.
    """
    told: dict[str, list[str]] = {}
    for seen in several:
        if seen.attribute is not None:
            subject = words.SUBJECTS.get(seen.id, plain(seen.attribute.label))
            text = seen.alone
            if seen.id == "base_width_class":
                text = f"{seen.said} {width_against(style)}"
            absence = "none" in words.PREDICATES.get(seen.id, {})
            if seen.maybe and seen.id in words.BARE and not absence:
                text = hafting(style, seen) if seen.id == "notch_position" else ""
            if text:
                told.setdefault(text if seen.id in words.BARE else subject, []).append(text)
    return [
        subject if texts == [subject] else f"{subject} {listed(texts)}"
        for subject, texts in told.items()
    ]


def name_of(attribute: Attribute) -> str:
    """Return what an attribute is called in running text."""
    return words.NAMES.get(attribute.id, f"the {plain(attribute.label)}")


def reading(rules: Rules, name: str, taken: Reading) -> str:
    """Return a measurement as entered, with its unit: `at least 34.2 mm`."""
    return at_least(measure(taken.entered, rules.measurements[name].unit), taken.incomplete)


def readings(rules: Rules, examination: Examination, names: Iterable[str]) -> str:
    """Return measurements with their names: `neck width 14.2 mm and basal width 12.0 mm`."""
    taken = examination.piece.readings
    return listed(
        f"{plain(rules.measurements[name].label)} {reading(rules, name, taken[name])}"
        for name in names
        if name in taken
    )
