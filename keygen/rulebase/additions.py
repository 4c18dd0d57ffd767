"""Additions: a folder of one's own that is laid over the shipped rules.

A rules folder without an `edition.yaml` is no whole set of rules but an addition. Its files are
read beside the shipped ones and joined with them before anything is built, so that every command
and every proof works on the whole. Each entry keeps the file and line that it came from.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from keygen import data
from keygen.core.model import ADDED
from keygen.errors import KeygenError, Problem, nearest
from keygen.rulebase.fields import Fields
from keygen.rulebase.yamlio import Document, Path, parse

OWN = "additions/"  # what the name of an addition's file begins with, beside the shipped ones
FIRST_NUMBER = 1001  # of couplets of one's own; lower numbers are kept for editions to come
UNNAMED = "additions"
_TITLE = "addition.yaml"
_WHOLE = ("edition.yaml", "parts.yaml")  # a folder with one of these is a whole set of rules
_ENTRIES = ("sources", "regions", "thesaurus", "periods")
_FOLDERS = ("types", "vocabulary", "key")
_NAME = re.compile(r"[^\W_][\w .,'()-]{0,59}")
ALLOWED = ", ".join((_TITLE, *(f"{name}.yaml" for name in _ENTRIES), *(f"{f}/" for f in _FOLDERS)))


def is_addition(files: Mapping[str, object]) -> bool:
    """Tell whether the files of a folder are an addition: some that it may hold, no edition."""
    return not any(name in files for name in _WHOLE) and any(map(_may_hold, files))


def _may_hold(name: str) -> bool:
    folder, _, file = name.partition("/")
    if file:
        return folder in _FOLDERS and "/" not in file
    return name == _TITLE or name.removesuffix(".yaml") in _ENTRIES


def beneath(files: Mapping[str, bytes], folder: str) -> str:
    """Return the name of the pack that an addition is laid over; nothing means the main rules.

    Raises:
        KeygenError: no such pack ships.
    """
    try:
        title = parse(files.get(_TITLE, b"").decode(), f"{folder}/{_TITLE}")
    except (UnicodeDecodeError, KeygenError):
        return ""  # told with the other files
    over = title.data.get("over") if isinstance(title.data, dict) else None
    packs = data.packs()
    if over is None or str(over) in packs:
        return str(over or "")
    what = f"no pack {over!r} ships with keygen"
    raise KeygenError(title.problem(("over",), "K005", what, nearest(str(over), packs)))


def joined(documents: Mapping[str, Document], problems: list[Problem]) -> dict[str, Document]:
    """Join the files of an addition with the rules that it is laid over.

    Args:
        documents: all files, those of the addition with `OWN` before their name.
        problems: takes what an addition may not do.
    """
    own = {n.removeprefix(OWN): d for n, d in documents.items() if n.startswith(OWN)}
    whole = {name: d for name, d in documents.items() if not name.startswith(OWN)}
    if not own:
        return whole
    for name, document in own.items():
        if not _may_hold(name):
            what = f"an addition has no {name}; it can hold {ALLOWED}"
            problems.append(document.problem((), "K002", what))
        elif name.startswith("types/"):
            _lay_type(whole, name, document, problems)
        elif name.removesuffix(".yaml") in _ENTRIES and name in whole:
            whole[name] = _ADD[name.removesuffix(".yaml")](whole[name], document, problems)
    groups = _own_groups(whole, own, problems)
    if "edition.yaml" in whole:
        whole["edition.yaml"] = _titled(whole["edition.yaml"], own, groups, problems)
    return dict(sorted(whole.items()))


def _lay_type(
    whole: dict[str, Document], name: str, document: Document, problems: list[Problem]
) -> None:
    """Add a type, or put it in the place of a shipped one where it says `replaces: true`."""
    values = dict(document.data) if isinstance(document.data, dict) else document.data
    stem = name.removeprefix("types/").removesuffix(".yaml")
    replaces = values.pop("replaces", None) if isinstance(values, dict) else None
    if replaces is not None and replaces is not True:
        what = f"'replaces' is true or left out, not {replaces!r}"
        problems.append(document.problem(("replaces",), "K004", what))
    elif name in whole and not replaces:
        remedy = "Say 'replaces: true' to put this one in its place, or give the file another name."
        what = f"a type {stem!r} ships with these rules"
        problems.append(document.problem((), "K006", what, remedy))
    elif replaces and name not in whole:
        types = [n[6:-5] for n in whole if n.startswith("types/")]
        what = f"'replaces' is said, but no type {stem!r} ships with these rules"
        problems.append(document.problem(("replaces",), "K005", what, nearest(stem, types)))
    elif owner := _alias_owner(whole, stem):
        what = f"{stem!r} is an older id of the shipped type {owner!r}"
        problems.append(document.problem((), "K206", what, "Give the file another name."))
    whole[name] = replace(document, data=values)


def _alias_owner(whole: Mapping[str, Document], stem: str) -> str:
    for name, document in whole.items():
        if name.startswith("types/") and isinstance(document.data, dict):
            aliases = document.data.get("aliases")
            if isinstance(aliases, list) and stem in aliases:
                return name[6:-5]
    return ""


def _entries(document: Document, key: str, problems: list[Problem]) -> dict[str, Any]:
    """Return the one mapping that a file of entries holds, noting anything else in it."""
    top = Fields(document, problems)
    found = top.child(key).values
    top.done()
    return found


def _added(key: str) -> Callable[[Document, Document, list[Problem]], Document]:
    """Return what adds entries by name; an entry that ships can only be said over again."""

    def add(whole: Document, own: Document, problems: list[Problem]) -> Document:
        there = whole.data.get(key) or {} if isinstance(whole.data, dict) else {}
        new: dict[str, Any] = {}
        for name, entry in _entries(own, key, problems).items():
            if name not in there:
                new[name] = entry
            elif entry != there[name]:
                what = f"{name!r} ships with these rules and says something else"
                remedy = "Give yours another name."
                problems.append(own.problem((key, name), "K006", what, remedy))
        moves: dict[Path, Path] = {(key, name): (key, name) for name in new}
        return _grown(whole, own, {key: {**there, **new}}, moves)

    return add


def _added_regions(whole: Document, own: Document, problems: list[Problem]) -> Document:
    """Add regions; those that they name as neighbours get them as neighbours too."""
    grown = _added("regions")(whole, own, problems)
    regions = copy.deepcopy(grown.data["regions"])
    for name, entry in regions.items():
        near = entry.get("neighbours") if isinstance(entry, dict) else None
        for other in near if isinstance(near, list) and name not in whole.data["regions"] else ():
            there = regions.get(other) if isinstance(other, str) else None
            known = there.setdefault("neighbours", []) if isinstance(there, dict) else None
            if isinstance(known, list) and name not in known:
                known.append(name)
    return replace(grown, data={"regions": regions})


def _added_periods(whole: Document, own: Document, problems: list[Problem]) -> Document:
    """Add periods behind those that a region has."""
    there = whole.data["periods"]
    grown = dict(there)
    moves: dict[Path, Path] = {}
    for region, listed in _entries(own, "periods", problems).items():
        before = there.get(region) or []
        if not isinstance(listed, list):
            what = "a list of periods is expected here"
            problems.append(own.problem(("periods", region), "K004", what))
            continue
        grown[region] = [*before, *listed]
        moves |= {
            ("periods", region, i): ("periods", region, len(before) + i) for i in range(len(listed))
        }
        if not before:
            moves[("periods", region)] = ("periods", region)
    return _grown(whole, own, {**whole.data, "periods": grown}, moves)


_ADD: dict[str, Callable[[Document, Document, list[Problem]], Document]] = {
    "sources": _added("sources"),
    "regions": _added_regions,
    "thesaurus": _added("words"),
    "periods": _added_periods,
}


def _grown(whole: Document, own: Document, values: Any, moves: Mapping[Path, Path]) -> Document:
    """Return a document with entries of another; `moves` says where each of them went."""
    marks, files = dict(whole.marks), dict(whole.files)
    for path, place in own.marks.items():
        start = next((path[:n] for n in (2, 3) if path[:n] in moves), None)
        if start is not None:
            marks[(*moves[start], *path[len(start) :])] = place
    files |= dict.fromkeys(moves.values(), own.name)
    return Document(whole.name, values, marks, files)


def _own_groups(
    whole: dict[str, Document], own: Mapping[str, Document], problems: list[Problem]
) -> list[str]:
    """Add groups of attributes with their couplets, asked when all shipped ones are."""
    groups = [n[11:-5] for n in own if n.startswith("vocabulary/")]
    keys = [n[4:-5] for n in own if n.startswith("key/")]
    for group in dict.fromkeys((*groups, *keys)):
        for kind, other in (("vocabulary", "key"), ("key", "vocabulary")):
            name = f"{kind}/{group}.yaml"
            if name not in own:
                continue
            if name in whole:
                what = f"a group {group!r} ships with these rules"
                problems.append(own[name].problem((), "K006", what, "Give the file another name."))
            elif f"{other}/{group}.yaml" not in own:
                what = f"{name} needs {other}/{group}.yaml beside it"
                remedy = "Attributes of one's own come with the couplets that settle them."
                problems.append(own[name].problem((), "K003", what, remedy))
    taken = [g for g in groups if g in keys and f"vocabulary/{g}.yaml" not in whole]
    first = next((c.get("id") for g in taken for c in _couplets(own[f"key/{g}.yaml"])), None)
    if first is not None:
        for name in [n for n in whole if n.startswith("key/")]:
            whole[name] = _led_on(whole[name], str(first))
    for group in taken:
        _refuse_low_numbers(own[f"key/{group}.yaml"], problems)
        for name in (f"vocabulary/{group}.yaml", f"key/{group}.yaml"):
            whole[name] = own[name]
    return taken


def _couplets(document: Document) -> Iterator[dict[str, Any]]:
    """Yield the couplets of a key file that have the form of one."""
    found = document.data.get("couplets") if isinstance(document.data, dict) else None
    for entry in found if isinstance(found, list) else ():
        if isinstance(entry, dict):
            yield entry


def _led_on(document: Document, first: str) -> Document:
    """Return a shipped key file whose ways lead on where they ended."""
    values = copy.deepcopy(document.data)
    changed = replace(document, data=values)
    for couplet in _couplets(changed):
        for letter in ("a", "b"):
            lead = couplet.get(letter)
            if isinstance(lead, dict) and lead.get("go") == "end":
                lead["go"] = first
    return changed


def _refuse_low_numbers(document: Document, problems: list[Problem]) -> None:
    for i, couplet in enumerate(_couplets(document)):
        number = couplet.get("number")
        if isinstance(number, int) and number < FIRST_NUMBER:
            what = f"couplet number {number} is kept for the shipped key"
            remedy = f"Numbers of an addition begin at {FIRST_NUMBER}."
            problems.append(document.problem(("couplets", i, "number"), "K106", what, remedy))


def _titled(
    edition: Document, own: Mapping[str, Document], groups: list[str], problems: list[Problem]
) -> Document:
    """Return the edition with the addition's name behind it."""
    name, title = UNNAMED, own.get(_TITLE)
    if title is not None:
        top = Fields(title, problems)
        name = top.text("name", UNNAMED)
        top.text("over", "")
        top.done()
        if not _NAME.fullmatch(name):
            what = f"the name {name!r} is not one of up to 60 letters, figures and blanks"
            problems.append(title.problem(("name",), "K004", what))
    values = dict(edition.data) if isinstance(edition.data, dict) else {}
    shipped = values.get("groups")
    values["edition"] = f"{values.get('edition')}{ADDED}{name}"
    values["groups"] = [*(shipped if isinstance(shipped, list) else ()), *groups]
    origin = title.name if title else next(iter(own.values())).name
    return Document(edition.name, values, edition.marks, {("edition",): origin})
