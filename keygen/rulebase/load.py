"""From a rules folder to `Rules`: read, build, compile, and keep the parsed files in a cache.

The digest covers every byte of every rule file. The cache holds the parsed YAML and the compiled
universe of one digest as JSON, so a second start reads no YAML at all; it is only ever a copy,
and a cache that cannot be read or written is left alone.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
import os
from collections.abc import Mapping
from functools import cache
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from keygen import data
from keygen.core.graph import universe
from keygen.core.model import Rules
from keygen.errors import KeygenError, Problem
from keygen.rulebase import indices, measures, thesaurus, types, vocabulary
from keygen.rulebase.fields import Fields
from keygen.rulebase.yamlio import Document, parse

CACHE_FORMAT = 2
MOST_KEPT = 8  # editions in the cache
SINGLE = (
    "edition",
    "parts",
    "regions",
    "sources",
    "measures",
    "cautions",
    "thesaurus",
    "periods",
)

INDICES = "indices.yaml"
CURVES = "curve/"  # the folder of calibration curves, the only rule files that are tables
PACKS = "packs"  # beside the main rules: other sets of rules, each a whole folder of its own


def read_folder(folder: Traversable) -> dict[str, bytes]:
    """Return the bytes of every rule file by its name inside the folder, in a fixed order.

    Rules without a calibration curve of their own are read with the curve of the main rules.
    """
    found = _files_in(folder)
    if "periods.yaml" in found and not any(name.startswith(CURVES) for name in found):
        main = data.root("rules") / CURVES.rstrip("/")
        found |= {
            CURVES + f.name: f.read_bytes() for f in main.iterdir() if f.name.endswith(".csv")
        }
    return dict(sorted(found.items()))


def _files_in(folder: Traversable) -> dict[str, bytes]:
    found: dict[str, bytes] = {}

    def enter(place: Traversable, prefix: str) -> None:
        for item in place.iterdir():
            if item.name.startswith(("_", ".")) or prefix + item.name == PACKS:
                continue
            if item.is_dir():
                enter(item, f"{prefix}{item.name}/")
            elif item.name.endswith(".yaml") or (prefix == CURVES and item.name.endswith(".csv")):
                found[prefix + item.name] = item.read_bytes()

    enter(folder, "")
    return found


def digest(files: Mapping[str, bytes]) -> str:
    """Return a short name of the exact rules: 12 hex digits of SHA-256 over names and bytes."""
    total = hashlib.sha256()
    for name, content in files.items():
        total.update(f"{name}\0{len(content)}\0".encode())
        total.update(content)
    return total.hexdigest()[:12]


def parse_all(
    files: Mapping[str, bytes], problems: list[Problem], folder: str = "rules"
) -> dict[str, Document]:
    """Parse every file, noting those that are not strict YAML in UTF-8.

    `folder` is how messages call the folder that they lie in. A table is kept as its text: a curve
    is read where a date asks for it.
    """
    documents: dict[str, Document] = {}
    for name, content in files.items():
        shown = f"{folder}/{name}"
        try:
            text = content.decode("utf-8")
            documents[name] = Document(shown, text) if name.endswith(".csv") else parse(text, shown)
        except UnicodeDecodeError as error:
            problems.append(
                Problem(shown, 0, 0, "K001", f"not UTF-8 at byte {error.start}", "Save as UTF-8.")
            )
        except KeygenError as error:
            problems.extend(error.problems)
    return documents


def folder_of(documents: Mapping[str, Document]) -> str:
    """Return how messages call the folder that the rule files lie in."""
    return next((d.name.removesuffix(f"/{file}") for file, d in documents.items()), "rules")


def build(documents: Mapping[str, Document], name: str, problems: list[Problem]) -> Rules:
    """Build the model, without its compiled universe, noting every problem of form.

    Raises:
        KeygenError: so much is missing that nothing can be built.
    """
    for single in SINGLE:
        if f"{single}.yaml" not in documents:
            what = f"the file {single}.yaml is missing or unreadable"
            problems.append(Problem(folder_of(documents), 0, 0, "K003", what))
    if any(p.code in ("K001", "K003") and not p.line for p in problems):
        raise KeygenError(problems)
    top = Fields(documents["edition.yaml"], problems)
    edition, start, groups = top.text("edition"), top.text("start"), top.texts("groups", True)
    top.done()
    parts = vocabulary.read_parts(documents["parts.yaml"], problems)
    words = vocabulary.read_vocabulary(
        [(g, documents[f]) for g in groups if (f := f"vocabulary/{g}.yaml") in documents],
        parts,
        problems,
    )
    keys = [documents[f] for g in groups if (f := f"key/{g}.yaml") in documents]
    couplets = vocabulary.read_key(keys, words, parts, problems)
    if start not in couplets:
        top.fault("K005", f"the first couplet {start!r} is not known", "start")
        raise KeygenError(problems)
    regions = types.read_regions(documents["regions.yaml"], problems)
    sources = types.read_sources(documents["sources.yaml"], problems)
    measurements, derivations = measures.read_measures(
        documents["measures.yaml"], words, parts, problems
    )
    kinds = [
        types.read_type(Path(file).stem, document, words, regions, sources, measurements, problems)
        for file, document in documents.items()
        if file.startswith("types/")
    ]
    tables = {
        file.removeprefix(CURVES).removesuffix(".csv"): document.data
        for file, document in documents.items()
        if file.startswith(CURVES)
    }
    curve, periods = types.read_periods(
        documents["periods.yaml"], regions, sources, tables, problems
    )
    indexed = {}
    if INDICES in documents:  # packs and older rules may have none
        indexed = indices.read_indices(
            documents[INDICES], words, measurements, parts, sources, problems
        )
    return Rules(
        edition=edition,
        digest=name,
        attributes=words.attributes,
        start=start,
        couplets=couplets,
        losses=vocabulary.read_losses(documents["parts.yaml"], words, parts, problems),
        parts=parts,
        types={kind.id: kind for kind in kinds},
        regions=regions,
        sources=sources,
        measurements=measurements,
        derivations=derivations,
        cautions=types.read_cautions(documents["cautions.yaml"], problems),
        periods=periods,
        curve=curve,
        thesaurus=thesaurus.read_thesaurus(documents["thesaurus.yaml"], words, problems),
        many=words.many,
        **indexed,
    )


def compiled(rules: Rules) -> Rules:
    """Return the rules with their universe filled in."""
    return dataclasses.replace(rules, universe=universe(rules))


@cache
def shipped() -> Rules:
    """Return the rules that came with this installation."""
    return load(data.root("rules"))


def load(folder: Traversable | Path) -> Rules:
    """Load a rules folder, from the cache where the same bytes were compiled before.

    Raises:
        KeygenError: the rules are not usable; every problem of form that was found.
    """
    if not folder.is_dir():
        raise KeygenError(f"no rules folder at {folder}")
    files = read_folder(folder)
    name = digest(files)
    cached = _cached(name)
    if cached is not None:
        documents = {
            file: Document(f"rules/{file}", content) for file, content in cached[0].items()
        }
        rules = build(documents, name, [])
        return dataclasses.replace(rules, universe=tuple(tuple(box) for box in cached[1]))
    problems: list[Problem] = []
    parsed = parse_all(files, problems, "rules" if folder == data.root("rules") else str(folder))
    rules = build(parsed, name, problems)
    if problems:
        raise KeygenError(problems)
    rules = compiled(rules)
    _keep(name, parsed, rules)
    return rules


def _cache_file(name: str) -> Path:
    base = Path(os.environ.get("XDG_CACHE_HOME", ""))
    if not base.is_absolute():  # a relative one is to be ignored, by the same standard
        base = Path("~/.cache").expanduser()
    return base / "keygen" / f"rules-{CACHE_FORMAT}-{name}.json"


def _cached(name: str) -> tuple[dict[str, Any], list[list[int]]] | None:
    try:
        content = json.loads(_cache_file(name).read_text(encoding="utf-8"))
        return content["documents"], content["universe"]
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _keep(name: str, documents: Mapping[str, Document], rules: Rules) -> None:
    target = _cache_file(name)
    content = {
        "documents": {file: document.data for file, document in documents.items()},
        "universe": rules.universe,
    }
    partial = target.with_suffix(f".{os.getpid()}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        partial.write_text(json.dumps(content), encoding="utf-8")
        partial.replace(target)
        kept = sorted(target.parent.glob("rules-*.json"), key=lambda file: file.stat().st_mtime)
        for old in kept[:-MOST_KEPT]:
            old.unlink()
    except OSError:
        return
