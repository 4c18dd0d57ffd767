"""Ids of earlier editions, and the proof that each leads to one thing only.

Ids are permanent. One that had to be renamed all the same keeps its old name under `aliases`, so
that records and paths written with it still read.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from keygen.core.model import ABSENT, Attribute, Rules
from keygen.errors import Problem
from keygen.rulebase.thesaurus import plain, state_words

if TYPE_CHECKING:
    from keygen.rulebase.yamlio import Document, Path

REMEDY = "An id of an earlier edition leads to one thing."


def attribute_aliases(rules: Rules) -> dict[str, str]:
    """Return the id that each earlier id of an attribute leads to, items (`damage.heat`) too."""
    found: dict[str, str] = {}
    for attribute in rules.attributes:
        name = attribute.item_of or attribute.id
        found.update(dict.fromkeys(attribute.aliases, name))
        for item in (attribute.id.partition(".")[2], *attribute.states[-1].aliases):
            for whole in (name, *attribute.aliases) if attribute.item_of else ():
                found[f"{whole}.{item}"] = attribute.id
    return {alias: name for alias, name in found.items() if alias != name}


def alias_problems(
    rules: Rules,
    documents: Mapping[str, Document],
    couplets: Mapping[str, tuple[Document, Path]],
) -> Iterator[Problem]:
    """Refuse an alias that is also the id, alias or word of something else of its kind.

    Args:
        rules: the rules.
        documents: the parsed files by name.
        couplets: where each couplet stands.
    """
    labels = {a.id: a.label for a in rules.attributes if not a.item_of} | dict(rules.many)
    owners = {plain(form): name for name, label in labels.items() for form in (label, name)}
    aliases = {a.item_of or a.id: (a, a.aliases) for a in rules.attributes}
    for name, (attribute, olds) in aliases.items():
        document = documents[f"vocabulary/{attribute.group}.yaml"]
        for old in olds:
            if owners.setdefault(plain(old), name) != name or old in labels:
                place: Path = ("attributes", name, "aliases")
                yield _taken(document, place, old, owners[plain(old)])
    for attribute in rules.attributes:
        yield from _state_problems(rules, attribute, documents)
    claimed = {name: name for name in rules.couplets}
    for couplet in rules.couplets.values():
        for old in couplet.aliases:
            if old in rules.couplets or claimed.setdefault(old, couplet.id) != couplet.id:
                document, where = couplets[couplet.id]
                yield _taken(document, (*where, "aliases"), old, claimed[old])


def _state_problems(
    rules: Rules, attribute: Attribute, documents: Mapping[str, Document]
) -> Iterator[Problem]:
    """Yield the aliases of states and items that are also a word for another state or item."""
    name = attribute.item_of or attribute.id
    items = [a for a in rules.attributes if a.item_of == name] or [attribute]
    document = documents[f"vocabulary/{attribute.group}.yaml"]
    for state in attribute.states:
        owner = attribute.id.partition(".")[2] if attribute.item_of else state.id
        for old in state.aliases:
            meant = {
                (item.id, mask)
                for item in items
                for word, mask in state_words(item).items()
                if word == plain(old) and not (item.item_of and mask == ABSENT)
            }
            if len(meant) > 1 or any(mask & (mask - 1) for _, mask in meant) or old == owner:
                place = ("attributes", name, "states", owner, "aliases")
                yield _taken(document, place, old, f"another state of {name}")


def _taken(document: Document, place: Path, old: str, owner: str) -> Problem:
    what = f"the earlier id {old!r} also leads to {owner!r}"
    return document.problem(place, "K109", what, REMEDY)
