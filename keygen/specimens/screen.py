"""What a walk shows: plain lines of text, made from the rules and a position."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from keygen.core.ahead import left_at_most, left_if_plain
from keygen.core.infer import conflict
from keygen.core.model import ABSENT, Attribute, Couplet, Rules
from keygen.core.observe import observations
from keygen.core.states import Box, is_single
from keygen.core.walk import Choice, Position, Step, Term

if TYPE_CHECKING:
    from keygen.core.call import Call
    from keygen.specimens.terms import Meaning

WIDTH = 78
NARROW = 3  # more states than this are no news
KEYS = (
    "Answer a or b, or type a term (excurvate; base straight; stem_shape=straight).\n"
    "u  unsure: both ways stay open        so far  what is settled\n"
    "n  cannot be seen on this piece       left    how many couplets can still come\n"
    "?  how to look, and what words mean   back    take the last answer back\n"
    "enough  leave the rest of the key     pause   stop here; go on later"
)


def wrapped(text: str, first: str = "", rest: str | None = None) -> str:
    """Return a paragraph broken at the width of the screen."""
    rest = " " * len(first) if rest is None else rest
    return textwrap.fill(
        text, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    )


def couplet_text(couplet: Couplet) -> str:
    """Return a couplet as it is put."""
    lines = [wrapped(couplet.ask, f"{couplet.number:>3}  ")]
    lines += [wrapped(lead.say, f"     {lead.letter}  ") for lead in couplet.leads]
    return "\n".join(lines)


def terms(attribute: Attribute, mask: int) -> str:
    """Return the terms in a mask: `straight or excurvate`."""
    words = [state.term for state in attribute.within(mask)]
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} or {words[-1]}"


def listed(rules: Rules, known: Box, which: Iterable[int]) -> list[str]:
    """Return what is known of some attributes, those that are absent gathered into one entry."""
    chosen = list(which)
    absent: list[str] = []
    lines: list[str] = []
    for i in chosen:
        attribute = rules.attributes[i]
        if attribute.item_of:
            items = [j for j, a in enumerate(rules.attributes) if a.item_of == attribute.item_of]
            if all(known[j] == ABSENT for j in items):
                if rules.many[attribute.item_of] not in absent:
                    absent.append(rules.many[attribute.item_of])
            else:
                lines.append(terms(attribute, known[i]))
        elif attribute.ids(known[i]) == ("none",) and attribute.stability != "record":
            absent.append(attribute.label)
        else:
            lines.append(f"{attribute.label}: {terms(attribute, known[i])}")
    if absent:
        lines.append(f"{', '.join(absent)}: none")
    return lines


def running(rules: Rules, before: Box, position: Position, counted: bool = True) -> str:
    """Return the running line: what the last answer settled, and how much can still come.

    Args:
        counted: whether the couplets that can still come are counted.
    """
    known = position.known
    new = [i for i, mask in enumerate(known) if mask != before[i]]
    settled = listed(rules, known, (i for i in new if is_single(known[i])))
    narrowed = listed(rules, known, (i for i in new if 2 <= known[i].bit_count() <= NARROW))
    told = [f"Settled: {'; '.join(settled)}."] if settled else []
    told += [f"Down to: {'; '.join(narrowed)}."] if narrowed else []
    if new and not (told or counted):  # no answer goes without a word
        told = [f"Down to: {'; '.join(listed(rules, known, new))}."]
    return wrapped(" ".join([*told, left(rules, position)] if counted else told))


def left(rules: Rules, position: Position) -> str:
    """Return how many couplets can still come, and how many will if nothing is unusual."""
    count, plain = left_at_most(rules, position), left_if_plain(rules, position)
    if count == plain:
        return f"{count} couplet{'' if count == 1 else 's'} left."
    return f"At most {count} couplets left; {plain} if nothing is unusual."


def so_far(rules: Rules, position: Position) -> str:
    """Return everything settled or left open so far, one line each."""
    titles = {
        "seen": "Seen",
        "measured": "Measured",
        "implied": "Follows from that",
        "unsure": "Unsure",
        "missing": "Cannot be seen",
    }
    found = observations(rules, position)
    lines: list[str] = []
    for how, title in titles.items():
        which = [i for i, o in enumerate(found) if o.how == how]
        if how == "missing":
            entries = [rules.attributes[i].label for i in which]
        else:
            entries = listed(rules, position.known, which)
        if entries:
            lines.append(f"{title}:")
            lines += [wrapped(entry, "  ", "    ") for entry in entries]
    return "\n".join(lines) or "Nothing is settled yet."


def help_text(rules: Rules, couplet: Couplet, known: Box) -> str:
    """Return how to look at a couplet, with the words it uses, their basis and sources."""
    paragraphs = [wrapped(couplet.look)]
    for i in asked_about(rules, couplet):
        attribute = rules.attributes[i]
        if attribute.item_of:
            means = f": {attribute.states[1].means}" if attribute.states[1].means else ""
            paragraphs.append(wrapped(f"{attribute.label}{means}"))
            continue
        lines = [wrapped(f"{attribute.label}: {attribute.definition} {basis(rules, attribute)}")]
        for state in attribute.within(known[i]):
            means = f": {state.means}" if state.means else ""
            also = f" (also: {', '.join(state.also)})" if state.also else ""
            lines.append(wrapped(f"{state.term}{means}{also}", "  - "))
        paragraphs.append("\n".join(lines))
    return "\n\n".join([*paragraphs, KEYS])


def asked_about(rules: Rules, couplet: Couplet) -> list[int]:
    """Return the attributes that a couplet is about.

    Those that one lead only rules out ("no stem, so no stem length") come along and are left out,
    unless there are no others.
    """
    every = sorted(couplet.attributes)
    about = [
        i
        for i in every
        if not any(
            rules.attributes[i].ids(limits.get(i, rules.full[i])) == ("none",)
            for lead in couplet.leads
            for limits in lead.leaves
        )
    ]
    return about or every


def basis(rules: Rules, attribute: Attribute) -> str:
    """Return where a definition comes from, in brackets."""
    cited = "; ".join(rules.sources[key].cite for key in attribute.sources if key in rules.sources)
    if not cited:
        return "[common practice of the trade]"
    return f"[{cited}]" if attribute.basis == "read" else f"[from memory of {cited}]"


def instructions(couplet: Couplet, choice: Choice) -> list[str]:
    """Return what to do now: the instructions of the lead taken, or of both leads."""
    leads = [lead for lead in couplet.leads if choice in (lead.letter, "?", "-")]
    return [wrapped(do, "  > ", "    ") for lead in leads for do in lead.do]


def choices(rules: Rules, meanings: Sequence[Meaning]) -> str:
    """Return the question which attribute a word is meant for."""
    lines = ["Which is meant? (Enter for none)"]
    for number, meaning in enumerate(meanings, 1):
        label = {**rules.many, **{a.id: a.label for a in rules.attributes}}[meaning.name]
        words = "; ".join(terms(rules.attributes[i], mask) for i, mask in meaning.limits.items())
        lines.append(wrapped(f"{label}: {words}", f"  {number}  "))
    return "\n".join(lines)


def call_line(rules: Rules, call: Call) -> str:
    """Return the key's call in one line."""
    names = [rules.types[name].name for name in call.types]
    if call.status == "assigned":
        return f"The key's call: {names[0]}."
    if call.status == "cf.":
        return f"The key's call: cf. {names[0]}."
    if call.status == "either":
        return wrapped(f"The key's call: either {', '.join(names[:-1])} or {names[-1]}.")
    if call.reason == "haft_unknown":
        return "The key's call: untyped; nothing that defines a haft was seen."
    return "The key's call: untyped; no type of this region fits."


def clash(rules: Rules, known: Sequence[int], steps: Iterable[Step]) -> str:
    """Say what a contradicting answer contradicts."""
    masks = list(known)
    given = [step for step in steps if isinstance(step, Term)]
    for term in given:
        if not masks[term.attribute] & term.mask:
            attribute = rules.attributes[term.attribute]
            settled = terms(attribute, masks[term.attribute])
            return f"{attribute.label} is settled as {settled}. `back` takes answers back."
        masks[term.attribute] &= term.mask
    against = [i for i in conflict(rules, masks) if i not in {t.attribute for t in given}]
    if not against:
        return "That does not fit what was answered before. `back` takes answers back."
    rest = "; ".join(listed(rules, tuple(known), against))
    return f"That does not go with: {rest}. `back` takes answers back."
