"""From the bytes of rule files to `Rules`: parsed, built, compiled.

Nothing here is loaded where the rules are found in the cache.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from pathlib import Path

from keygen.core.graph import universe
from keygen.core.model import Rules
from keygen.errors import KeygenError, Problem
from keygen.rulebase import additions, indices, measures, thesaurus, types, vocabulary
from keygen.rulebase.fields import Fields
from keygen.rulebase.folder import CURVES
from keygen.rulebase.yamlio import Document, parse

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


def parse_all(
    files: Mapping[str, bytes], problems: list[Problem], folder: str = "rules"
) -> dict[str, Document]:
    """Parse every file, noting those that are not strict YAML in UTF-8.

    `folder` is how messages call the folder that they lie in. A table is kept as its text: a curve
    is read where a date asks for it. An addition is joined with the rules that it is laid over.
    """
    documents: dict[str, Document] = {}
    beneath = "rules" if any(name.startswith(additions.OWN) for name in files) else folder
    for name, content in files.items():
        own = name.startswith(additions.OWN)
        shown = f"{folder if own else beneath}/{name.removeprefix(additions.OWN)}"
        try:
            text = content.decode("utf-8")
            documents[name] = Document(shown, text) if name.endswith(".csv") else parse(text, shown)
        except UnicodeDecodeError as error:
            problems.append(
                Problem(shown, 0, 0, "K001", f"not UTF-8 at byte {error.start}", "Save as UTF-8.")
            )
        except KeygenError as error:
            problems.extend(error.problems)
    if not any(f"{single}.yaml" in documents for single in SINGLE) and not problems:
        what = "neither whole rules, which begin with edition.yaml, nor an addition to the shipped"
        remedy = f"An addition can hold {additions.ALLOWED}."
        problems.append(Problem(folder, 0, 0, "K003", what, remedy))
    return additions.joined(documents, problems)


def folder_of(documents: Mapping[str, Document]) -> str:
    """Return how messages call the folder that the rule files lie in."""
    return next((d.name.removesuffix(f"/{file}") for file, d in documents.items()), "rules")


def build(documents: Mapping[str, Document], name: str, problems: list[Problem]) -> Rules:
    """Build the model, without its compiled universe, noting every problem of form.

    Raises:
        KeygenError: so much is missing that nothing can be built.
    """
    if problems and not any(f"{single}.yaml" in documents for single in SINGLE):
        raise KeygenError(problems)
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
