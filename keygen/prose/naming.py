"""Names of types in running text: local names, an analyst's wording, and what parts two types."""

from __future__ import annotations

import re

from keygen.core.model import Record, Rules, Type

MOST_WORDS = 4
# Words that make a note of what should be a name: "compare Durst Stemmed", "Homan in the west".
_OF_PROSE = re.compile(
    r"[();:]|\b(also|and|as|called|close|compare|in|is|of|other|see|sense|sometimes|the|to|usually)\b",
    re.IGNORECASE,
)


def folded(name: str) -> str:
    """Return a name without case, spaces and signs: `Jack's Reef` and `jacks-reef` are one."""
    return re.sub(r"[\W_]+", "", name.casefold())


def local_name(rules: Rules, kind: Type, record: Record | None) -> str:
    """Return what a type is called in a region, where that is another name, else nothing.

    What the record notes in place of a name (`compare Durst Stemmed`) is left to the account.
    """
    if record is None:
        return ""
    other = rules.types.get(record.local_type)
    local = other.name if other else record.local_name.strip()
    prose = bool(_OF_PROSE.search(local)) or len(local.split()) > MOST_WORDS
    first, own = folded(re.split(r",| or ", local)[0]), folded(kind.name)
    if not local or (prose and other is None) or first.startswith(own) or own.startswith(first):
        return ""
    return local


def called(rules: Rules, kind: Type, region: str) -> str:
    """Return a type's name, with what it is called in the region if that differs."""
    local = local_name(rules, kind, kind.record(region))
    return f"{kind.name} (locally {local})" if local else kind.name


def resolve(rules: Rules, name: str) -> str:
    """Return the id of the type that an analyst's wording names, or nothing.

    Case, spaces, hyphens and other signs do not matter; a type's own name goes before another
    type's synonym.
    """
    return rules.once(_resolvable).get(folded(name), "")


def _resolvable(rules: Rules) -> dict[str, str]:
    known: dict[str, str] = {}
    for name, kind in rules.names.items():
        known.setdefault(folded(name), kind)
        known.setdefault(folded(rules.types[kind].name), kind)
    for other in rules.types.values():
        for name in other.also:
            known.setdefault(folded(name), other.id)
    known.pop("", None)
    return known


def tell(rules: Rules, one: Type, other: Type, alone: bool = True) -> str:
    """Return what parts two types, as whole sentences without the last stop.

    What begins as an instruction (`Look at the base: ...`) is told as a purpose. Where these are
    not all the types left, the two are named, unless the tell names both itself.

    Args:
        alone: no other type is left.
    """
    found = _recorded(one, other) or _recorded(other, one)
    if not found:
        return ""
    pair = "them" if alone else f"{one.name} from {other.name}"
    if found.startswith("Look "):
        return f"To part {pair}, look {found.removeprefix('Look ')}"
    if alone or all(_short(kind) in found for kind in (one, other)):
        return found
    return f"As for {one.name} and {other.name}, {_lowered(rules, found)}"


def _recorded(one: Type, other: Type) -> str:
    for alike in one.look_alikes:
        if alike.type in (other.id, *other.aliases):
            return alike.tell.rstrip(" .")
    return ""


def _short(kind: Type) -> str:
    """Return the first word of a name, by which tells call a type."""
    return kind.name.split()[0]


def _lowered(rules: Rules, text: str) -> str:
    """Return a sentence with a small first letter, unless it begins with the name of a type."""
    first = text.split()[0].rstrip(",:").removesuffix("'s")
    return text if first in rules.once(_proper) else text[:1].lower() + text[1:]


def _proper(rules: Rules) -> frozenset[str]:
    """Return the words of which the names of types are made."""
    names = (name for kind in rules.types.values() for name in (kind.name, *kind.also))
    return frozenset(word for name in names for word in re.split(r"\s|'s\b", name))
