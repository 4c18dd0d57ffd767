"""rules/vocabulary, rules/parts.yaml and rules/key into the model."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from graphlib import CycleError, TopologicalSorter
from typing import Any, get_args

from keygen.core.basis import Basis
from keygen.core.model import ABSENT, PRESENT, Attribute, Couplet, Lead, Loss, Stability, State
from keygen.core.states import MOST_STATES, complement
from keygen.errors import Problem, nearest
from keygen.rulebase.drawn import read_draw
from keygen.rulebase.fields import Fields
from keygen.rulebase.yamlio import Document


@dataclass(frozen=True)
class Vocabulary:
    """The attributes in order, and which ids stand for several (kind `many`) with their labels."""

    attributes: tuple[Attribute, ...]
    many: Mapping[str, str]

    @cached_property
    def named(self) -> dict[str, tuple[int, Mapping[str, int]]]:
        """Return index and state masks of each attribute by its id."""
        return {a.id: (i, a.bits) for i, a in enumerate(self.attributes)}

    def items(self, many: str) -> dict[str, int]:
        """Return the attribute index of each item of a `many` attribute."""
        return {
            a.id.partition(".")[2]: i for i, a in enumerate(self.attributes) if a.item_of == many
        }


def read_vocabulary(
    documents: Sequence[tuple[str, Document]], parts: Mapping[str, str], problems: list[Problem]
) -> Vocabulary:
    """Read the vocabulary files in order; each comes with its group's name."""
    attributes: list[Attribute] = []
    many: dict[str, str] = {}
    for group, document in documents:
        top = Fields(document, problems)
        for name, entry in top.children("attributes"):
            if any(a.id == name or a.item_of == name for a in attributes):
                entry.fault("K006", f"the attribute {name!r} is given twice")
            label = entry.text("label")
            kind = entry.choice("kind", ("one", "many"))
            states = tuple(_state(state, fields) for state, fields in entry.children("states"))
            if kind == "one" and len(states) < 2:
                entry.fault("K004", f"{name!r} needs two states or more")
            if len(states) > MOST_STATES:
                what = f"{name!r} has {len(states)} states; no more than {MOST_STATES} are read"
                entry.fault("K004", what, "states", "Make several attributes of it.")
                states = states[:MOST_STATES]
            stability: Any = entry.choice("stability", get_args(Stability), "record")
            basis: Any = entry.choice("basis", get_args(Basis), "common")
            whole = Attribute(
                name,
                label,
                states,
                part=entry.choice("part", ("any", *parts), "any"),
                stability=stability,
                group=group,
                definition=entry.text("definition"),
                basis=basis,
                sources=entry.texts("sources"),
                lessens=entry.flag("lessens", False),
                unless_said=_mask(entry, states),
                aliases=entry.texts("aliases"),
            )
            entry.done()
            nothing = next((s for s in states if kind == "many" and s.id == "none"), None)
            if nothing and (nothing.also or nothing.aliases):
                what = f"other words for 'none' of {name!r} belong in the thesaurus"
                entry.fault("K002", what, ("states", "none"), "Move them there.")
            if kind == "one":
                attributes.append(whole)
            else:
                many[name] = label
                attributes += [_item(whole, state) for state in states if state.id != "none"]
        top.done()
    return Vocabulary(tuple(attributes), many)


def _mask(entry: Fields, states: Sequence[State]) -> int:
    bits = {state.id: 1 << i for i, state in enumerate(states)}
    return sum({bits[word] for word in entry.known("unless_said", bits, "the state")})


def _item(whole: Attribute, state: State) -> Attribute:
    absent = State("absent", f"no {state.term}")
    present = State("present", state.term, state.means, state.also, state.aliases)
    return replace(
        whole,
        id=f"{whole.id}.{state.id}",
        label=state.term,
        states=(absent, present),
        item_of=whole.id,
    )


def _state(name: str, entry: Fields) -> State:
    state = State(
        name,
        entry.text("term"),
        entry.text("means", ""),
        entry.texts("also"),
        entry.texts("aliases"),
        read_draw(entry),
    )
    entry.done()
    return state


def read_limits(entry: Fields, vocabulary: Vocabulary, deny: bool = False) -> dict[int, int]:
    """Read `attribute: [states]` into masks by attribute index.

    For a `many` attribute, `damage: [none]` denies every item; `damage: [heat]` says that item and
    is silent on the others; with `deny` it denies that item.
    """
    named = vocabulary.named
    limits: dict[int, int] = {}
    for name in entry.values:
        if name in vocabulary.many:
            items = vocabulary.items(name)
            for word in entry.known(name, ("none", *items), f"the {name} state", required=True):
                for i in items.values() if word == "none" else (items[word],):
                    limits[i] = ABSENT if deny or word == "none" else PRESENT
        elif name in named:
            index, bits = named[name]
            words = entry.known(name, bits, f"the {name} state", required=True)
            if words:
                limits[index] = sum({bits[word] for word in words})
        else:
            entry.texts(name)
            remedy = nearest(name, (*named, *vocabulary.many))
            entry.fault("K005", f"the attribute {name!r} is not known", name, remedy)
    return limits


def read_parts(document: Document, problems: list[Problem]) -> dict[str, str]:
    """Read the labels of the parts of a piece."""
    labels: dict[str, str] = {}
    for name, entry in Fields(document, problems).children("parts"):
        labels[name] = entry.text("label")
        entry.done()
    return labels


def read_losses(
    document: Document, vocabulary: Vocabulary, parts: Mapping[str, str], problems: list[Problem]
) -> tuple[Loss, ...]:
    """Read which parts are gone with which portion and damage."""
    top = Fields(document, problems)
    losses = []
    top.child("parts")
    for entry in top.items("gone"):
        losses.append(
            Loss(
                entry.known("parts", parts, "the part", required=True),
                read_limits(entry.child("if"), vocabulary),
                read_limits(entry.child("unless"), vocabulary),
            )
        )
        entry.done()
    top.done()
    return tuple(losses)


def read_key(
    documents: Sequence[Document],
    vocabulary: Vocabulary,
    parts: Mapping[str, str],
    problems: list[Problem],
) -> dict[str, Couplet]:
    """Read the couplets of all key files. Leads to unknown couplets are noted."""
    full = tuple(attribute.full for attribute in vocabulary.attributes)
    couplets: dict[str, Couplet] = {}
    entries: dict[str, Fields] = {}
    claims: list[tuple[Fields, int, str]] = []
    goes: list[tuple[Fields, str]] = []
    for document in documents:
        top = Fields(document, problems)
        for entry in top.items("couplets"):
            name, number = entry.text("id"), entry.integer("number")
            if not name:  # that it has none was told; without one it can be neither led to nor told
                continue
            if name in couplets:
                entry.fault("K006", f"the couplet id {name!r} is given twice", "id")
            claims.append((entry, number, name))
            entries[name] = entry
            first, second = entry.child("a"), entry.child("b")
            leaves = read_limits(first.child("means"), vocabulary)
            leaves |= read_limits(first.child("denies"), vocabulary, deny=True)
            if second.values.get("means") == "otherwise":
                second.text("means")
                other = complement(full, leaves)
            else:
                denied = read_limits(second.child("denies"), vocabulary, deny=True)
                other = (read_limits(second.child("means"), vocabulary) | denied,)
            couplets[name] = Couplet(
                name,
                number,
                entry.choice("part", ("any", *parts), "any"),
                entry.text("ask"),
                entry.text("look"),
                (
                    Lead("a", first.text("say"), (leaves,), _go(first, goes), first.texts("do")),
                    Lead("b", second.text("say"), other, _go(second, goes), second.texts("do")),
                ),
                entry.texts("aliases"),
            )
            first.done()
            second.done()
            entry.done()
        top.done()
    _refuse_taken_numbers(claims)
    for entry, go in goes:
        if go and go not in couplets:
            entry.fault("K005", f"the couplet {go!r} is not known", "go", nearest(go, couplets))
    _refuse_circles(couplets, entries)
    return couplets


def _refuse_circles(couplets: Mapping[str, Couplet], entries: Mapping[str, Fields]) -> None:
    """Refuse a key that runs in a circle: nothing can be worked out from it, nor walked."""
    leads = {
        name: [lead.go for lead in c.leads if lead.go in couplets] for name, c in couplets.items()
    }
    try:
        TopologicalSorter(leads).prepare()
    except CycleError as error:
        circle = error.args[1][::-1]  # each is led to by the one after it
        what = f"the key runs in a circle: {' > '.join(circle)}"
        entries[circle[0]].fault("K101", what, (), "Break one of these leads.")


def _refuse_taken_numbers(claims: Sequence[tuple[Fields, int, str]]) -> None:
    numbers: dict[int, str] = {}
    free = max((number for _, number, _ in claims), default=0) + 1
    for entry, number, name in claims:
        owner = numbers.setdefault(number, name)
        if owner != name:
            what = f"couplet number {number} is taken by {owner!r}"
            remedy = f"Numbers are permanent; the next free one is {free}."
            entry.fault("K106", what, "number", remedy)


def _go(entry: Fields, goes: list[tuple[Fields, str]]) -> str:
    go = entry.text("go")
    go = "" if go == "end" else go
    goes.append((entry, go))
    return go
