"""The printed key: what stands on its pages, before it is laid out as HTML or text.

Couplets stand in the order in which a walk asks them, under their permanent numbers. So whoever
goes on with the couplet printed first never comes to one twice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

from keygen.core.model import PRESENT, Attribute, Couplet, Lead, Rules, State
from keygen.core.walk import Answer, Choice, next_couplet, start, take
from keygen.prose.grammar import capital, listed, plain
from keygen.prose.render import render
from keygen.specimens import path


@dataclass(frozen=True)
class PrintedLead:
    """A lead: what it says, the number it leads to (0 at the end), and instructions."""

    letter: str
    say: str
    to: int
    do: tuple[str, ...]


@dataclass(frozen=True)
class PrintedCouplet:
    """A couplet: `needs` is the part that must survive, `before` the couplets that lead here."""

    id: str
    number: int
    ask: str
    look: str
    needs: str
    before: tuple[int, ...]
    leads: tuple[PrintedLead, PrintedLead]


@dataclass(frozen=True)
class Section:
    """Couplets about one group of attributes, under its name."""

    title: str
    couplets: tuple[PrintedCouplet, ...]

    @property
    def numbers(self) -> str:
        """Return the numbers of its couplets: `24-44`."""
        return runs(couplet.number for couplet in self.couplets)


@dataclass(frozen=True)
class Entry:
    """A line of the index: a term and what it is said of, its meaning, and where it is keyed.

    `see` are the terms, each with what it is said of, for which another word stands.
    """

    term: str
    about: str = ""
    means: str = ""
    at: tuple[str, ...] = ()
    see: tuple[str, ...] = ()


@dataclass(frozen=True)
class Book:
    """The whole printed key; `how` tells how to use it, a paragraph a text."""

    edition: str
    digest: str
    how: tuple[str, ...]
    sections: tuple[Section, ...]
    index: tuple[Entry, ...]


def book(rules: Rules) -> Book:
    """Return what stands in the printed key."""
    before: dict[str, list[int]] = {}
    for name in in_order(rules):
        for go in dict.fromkeys(lead.go for lead in rules.couplets[name].leads):
            before.setdefault(go, []).append(rules.couplets[name].number)
    sections = [
        Section(title, tuple(_printed(rules, rules.couplets[n], before) for n in names))
        for title, names in sections_of(rules)
    ]
    first = rules.couplets[rules.start].number
    how = paragraphs("key/how.j2", {"start": first, "example": example(rules)})
    return Book(rules.edition, rules.digest, how, tuple(sections), tuple(_index(rules)))


def example(rules: Rules) -> str:
    """Return a path that shows every sign, with the edition in front: `2026.1: 1a 3b 4a 5? 6-`."""
    position = start(rules)
    choices: tuple[Choice, ...] = ("a", "b", "a", "?", "-")
    for choice in choices:
        couplet = next_couplet(rules, position)
        if couplet:
            position = take(rules, position, Answer(couplet.id, choice))
    return f"{rules.edition}: {path.write(rules, position.steps)}"


def in_order(rules: Rules) -> list[str]:
    """Return the ids of the couplets in the order of the key."""
    return sorted(rules.couplets, key=rules.order.__getitem__)


def sections_of(rules: Rules) -> list[tuple[str, list[str]]]:
    """Return the couplets of the key, by id and in its order, under what they are about.

    A section begins where the key comes to a group of the vocabulary that is later than all before;
    where it goes back to an earlier one, that is named in the title as well.
    """
    groups = list(dict.fromkeys(a.group for a in rules.attributes))
    latest = -1
    sections: list[tuple[list[str], list[str]]] = []
    for name in in_order(rules):
        about = min(rules.couplets[name].decides, default=0)
        group = rules.attributes[about].group
        if groups.index(group) > latest:
            latest = groups.index(group)
            sections.append(([], []))
        titles, names = sections[-1]
        titles += [] if group in titles else [group]
        names.append(name)
    return [(capital(listed(titles).replace("_", " ")), names) for titles, names in sections]


def runs(numbers: Iterable[int]) -> str:
    """Return numbers with what follows one another drawn together: `28-31, 58`."""
    parts = []
    for _, run in groupby(enumerate(sorted(numbers)), lambda place: place[1] - place[0]):
        found = [number for _, number in run]
        parts.append(f"{found[0]}-{found[-1]}" if len(found) > 1 else str(found[0]))
    return ", ".join(parts)


def paragraphs(template: str, values: dict[str, object]) -> tuple[str, ...]:
    """Return the paragraphs of a template, a line each."""
    lines = render(template, values).splitlines()
    return tuple(" ".join(line.split()) for line in lines if line.strip())


def _printed(rules: Rules, couplet: Couplet, before: dict[str, list[int]]) -> PrintedCouplet:
    def lead(one: Lead) -> PrintedLead:
        to = rules.couplets[one.go].number if one.go else 0
        return PrintedLead(one.letter, one.say, to, one.do)

    return PrintedCouplet(
        couplet.id,
        couplet.number,
        couplet.ask,
        couplet.look,
        "" if couplet.part == "any" else rules.parts[couplet.part],
        tuple(before.get(couplet.id, ())),
        (lead(couplet.leads[0]), lead(couplet.leads[1])),
    )


def _index(rules: Rules) -> list[Entry]:
    """Return the terms of the vocabulary and the other words for them, in alphabetical order."""
    terms = [entry for i in range(len(rules.attributes)) for entry in _terms(rules, i)]
    words: dict[str, list[str]] = {}
    for i in range(len(rules.attributes)):
        for word, term in _words(rules, i):
            words.setdefault(word, []).append(term)
    entries = [*terms, *(Entry(word, see=tuple(found)) for word, found in words.items())]
    return sorted(entries, key=lambda entry: (entry.term.casefold(), entry.about))


def _terms(rules: Rules, index: int) -> Iterator[Entry]:
    """Yield the terms of one attribute; its `none` is only the absence of the others."""
    attribute = rules.attributes[index]
    label = plain(rules.many.get(attribute.item_of, attribute.label))
    for state in _named(attribute):
        term = attribute.label if attribute.item_of else state.term
        yield Entry(term, label, state.means, _keyed(rules, index, attribute.bits[state.id]))


def _named(attribute: Attribute) -> tuple[State, ...]:
    """Return the states that have a term worth looking up."""
    if attribute.item_of:
        return attribute.within(PRESENT)
    return tuple(state for state in attribute.states if state.id != "none")


def _words(rules: Rules, index: int) -> Iterator[tuple[str, str]]:
    """Yield other words with the term they stand for, unless they would stand beside it."""
    attribute = rules.attributes[index]
    label = plain(rules.many.get(attribute.item_of, attribute.label))
    for state in _named(attribute):
        term = attribute.label if attribute.item_of else state.term
        for word in state.also:
            if not word.isdigit() and _stem(word) != _stem(term):
                yield word, f"{plain(term)} ({label})"


def _stem(word: str) -> str:
    """Return the first letters of a word, by which an index is read."""
    return word.replace("-", "").casefold()[:5]


def _keyed(rules: Rules, index: int, mask: int) -> tuple[str, ...]:
    """Return the leads that settle a state: alone if some do, else those that leave the fewest.

    Couplets that ask about its attribute go before those from which it only follows.
    """
    asked: dict[str, int] = {}
    following: dict[str, int] = {}
    for couplet in sorted(rules.couplets.values(), key=lambda couplet: couplet.number):
        found = asked if index in couplet.decides else following
        for lead in couplet.leads:
            left = [limits[index] for limits in lead.leaves if index in limits]
            if len(lead.leaves) == 1 and left and left[0] & mask:
                found[f"{couplet.number}{lead.letter}"] = left[0].bit_count()
    found = asked or following
    fewest = min(found.values(), default=0)
    return tuple(name for name, count in found.items() if count == fewest)
