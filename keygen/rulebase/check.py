"""The proofs of `keygen check`: that the key is a sound dichotomous graph and the types make sense.

All problems are found in one run, each with its place, a code, the cause and a remedy. Codes K0 are
of form, K1 of the key, K2 of types and their records.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import networkx as nx

from keygen.core.graph import END, arrivals, possible_masks
from keygen.core.infer import Contradiction, close, conflict
from keygen.core.model import Couplet, Rules, Type
from keygen.core.states import Box, is_single, narrow, spread
from keygen.errors import KeygenError, Problem, nearest
from keygen.rulebase.aliases import alias_problems
from keygen.rulebase.build import INDICES, build, compiled, folder_of, parse_all
from keygen.rulebase.folder import digest
from keygen.rulebase.index_proofs import index_problems
from keygen.rulebase.measures import measure_problems
from keygen.rulebase.periods import period_problems
from keygen.rulebase.thesaurus import thesaurus_problems
from keygen.rulebase.yamlio import Document, Path

Places = Mapping[str, tuple[Document, Path]]


def check(files: Mapping[str, bytes], folder: str = "rules") -> tuple[list[Problem], Rules | None]:
    """Check the rule files (bytes by name inside the folder, which messages call `folder`).

    Returns:
        Every problem, sorted by place, and the rules if they could be built at all.
    """
    problems: list[Problem] = []
    documents = parse_all(files, problems, folder)
    try:
        rules = build(documents, digest(files), problems)
    except KeygenError as error:
        return sorted(set(error.problems)), None
    places = _couplet_places(documents)
    problems += graph_problems(rules, places)
    if not any(p.code in ("K101", "K005") for p in problems):
        rules = compiled(rules)
        problems += [*key_problems(rules, places), *unmeetable(rules, documents)]
        problems += thesaurus_problems(rules, documents["thesaurus.yaml"])
    problems += [*type_problems(rules, documents), *source_problems(rules, documents)]
    problems += alias_problems(rules, documents, places)
    problems += period_problems(rules, documents)
    problems += measure_problems(rules, documents["measures.yaml"])
    if INDICES in documents:
        problems += index_problems(rules, documents[INDICES])
    return sorted(set(problems)), rules


def _couplet_places(documents: Mapping[str, Document]) -> Places:
    return {
        " ".join(str(entry.get("id")).split()): (document, ("couplets", i))
        for name, document in documents.items()
        if name.startswith("key/")
        and isinstance(document.data, dict)
        and isinstance(listed := document.data.get("couplets"), list)
        for i, entry in enumerate(listed)
        if isinstance(entry, dict)
    }


def graph(rules: Rules) -> nx.DiGraph[str]:
    """Return the key as a directed graph; the end is the node `""`."""
    drawn: nx.DiGraph[str] = nx.DiGraph()
    drawn.add_nodes_from(rules.couplets)
    drawn.add_edges_from((c.id, lead.go) for c in rules.couplets.values() for lead in c.leads)
    return drawn


def graph_problems(rules: Rules, places: Places) -> Iterator[Problem]:
    """Prove one entry, and that every couplet can be reached; circles are refused before."""
    drawn = graph(rules)

    def at(couplet: str, code: str, what: str, remedy: str = "") -> Problem:
        document, path = places[couplet]
        return document.problem(path, code, what, remedy)

    reached = nx.descendants(drawn, rules.start) | {rules.start}
    for couplet in rules.couplets:
        if couplet not in reached:
            remedy = "Lead to it, or remove it."
            yield at(couplet, "K102", f"no walk reaches couplet {couplet!r}", remedy)
    if drawn.in_degree(rules.start):
        yield at(rules.start, "K102", f"leads run back to the first couplet {rules.start!r}")


def key_problems(rules: Rules, places: Places) -> Iterator[Problem]:
    """Prove that leads part and cover all that arrives, and that every path settles everything."""
    coming = arrivals(rules)
    for couplet in rules.couplets.values():
        document, path = places[couplet.id]
        for code, what, remedy in _lead_problems(rules, couplet, coming[couplet.id]):
            yield document.problem(
                path, code, f"couplet {couplet.number} {couplet.id}: {what}", remedy
            )
    possible = spread(coming[END])
    first, first_path = places[rules.start]
    for i, attribute in enumerate(rules.attributes):
        loose = sorted(m for m in possible_masks(rules, i) if not is_single(m))
        if loose:
            states = ", ".join(attribute.ids(loose[0]))
            what = f"a path ends with {attribute.id} unsettled ({states})"
            yield first.problem(first_path, "K105", what, "Add a couplet that parts these states.")
        never = attribute.full & ~(possible[i] if possible else 0)
        if never:
            states = ", ".join(attribute.ids(never))
            what = f"no path ends with {attribute.id} as {states}"
            yield first.problem(first_path, "K108", what, "Give a lead that leaves it.")


def _lead_problems(
    rules: Rules, couplet: Couplet, boxes: tuple[Box, ...]
) -> Iterator[tuple[str, str, str]]:
    first, second = couplet.leads
    for lead in couplet.leads:
        fits = any(narrow(box, limits) for box in boxes for limits in lead.leaves)
        if boxes and not fits:
            yield "K107", f"lead {lead.letter} can never be taken", "Nothing that arrives fits it."
    both = [
        part
        for one in first.leaves
        for other in second.leaves
        if all(one[i] & other[i] for i in one.keys() & other.keys())
        for box in boxes
        if (half := narrow(box, one)) is not None and (part := narrow(half, other)) is not None
    ]
    if both:
        what = "both leads fit the same piece, such as " + _example(rules, couplet, both[0])
        yield "K103", what, "Make the leads exclude each other."
    elif len(second.leaves) == 1:  # `otherwise` leaves out nothing
        missing = _missing(first.leaves[0], second.leaves[0], spread(boxes))
        if missing:
            index, mask = missing
            attribute = rules.attributes[index]
            states = ", ".join(attribute.ids(mask))
            what = f"neither lead says where {attribute.id} {states} goes"
            yield "K104", what, "Widen a lead, or write 'means: otherwise' on lead b."


def _missing(
    one: Mapping[int, int], other: Mapping[int, int], coming: Box
) -> tuple[int, int] | None:
    """Return an attribute and its states that neither lead takes; None if some attribute decides.

    An attribute decides if the leads part its states without overlap and take all that arrive. What
    a lead says of other attributes is then a consequence, part of what the key knows of pieces.
    """
    least: tuple[int, int] | None = None
    for i in sorted(one.keys() & other.keys()):
        if one[i] & other[i] or not coming:
            continue
        rest = coming[i] & ~(one[i] | other[i])
        if not rest:
            return None
        if least is None or rest.bit_count() < least[1].bit_count():
            least = (i, rest)
    return least


def _example(rules: Rules, couplet: Couplet, box: Box) -> str:
    return ", ".join(
        f"{rules.attributes[i].id} {'/'.join(rules.attributes[i].ids(box[i]))}"
        for i in sorted(couplet.attributes)
    )


def unmeetable(rules: Rules, documents: Mapping[str, Document]) -> Iterator[Problem]:
    """Prove that a piece can meet each definition, with each of the states that it names."""
    for kind in rules.types.values():
        document = documents[f"types/{kind.id}.yaml"]
        defined = list(rules.full)
        for criterion in kind.defined_by:
            defined[criterion.attribute] = criterion.allowed
        try:
            closed = close(rules, defined)
        except Contradiction:
            names = " and ".join(rules.attributes[i].id for i in conflict(rules, defined))
            what = f"no piece can meet the definition: {names} do not go together"
            yield document.problem(
                ("defined_by",), "K201", what, "Name states that the key allows."
            )
            continue
        for criterion in kind.defined_by:
            never = criterion.allowed & ~closed[criterion.attribute]
            if never:
                attribute = rules.attributes[criterion.attribute]
                states = ", ".join(attribute.ids(never))
                what = f"{attribute.id} {states} cannot occur with the rest of the definition"
                yield document.problem(
                    ("defined_by", attribute.id), "K204", what, "Leave it out, or widen the rest."
                )


def type_problems(rules: Rules, documents: Mapping[str, Document]) -> Iterator[Problem]:
    """Check names, aliases, look-alikes, records and usual traits of every type."""
    owners: dict[str, str] = {}
    for kind in rules.types.values():
        document = documents[f"types/{kind.id}.yaml"]
        for i, alias in enumerate((kind.id, *kind.aliases)):
            if owners.setdefault(alias, kind.id) != kind.id or (i and alias in rules.types):
                what = f"the name {alias!r} also leads to {owners[alias]!r}"
                yield document.problem(("aliases",), "K206", what, "One name, one type.")
        yield from _look_alike_problems(rules, kind, document)
        regions = [record.region for record in kind.records]
        for i, record in enumerate(kind.records):
            if record.region in regions[:i]:
                what = f"a second record for {record.region}"
                yield document.problem(("records", i), "K207", what, "Join the two.")
            if record.local_type and record.local_type not in rules.types:
                what = f"the local type {record.local_type!r} is not known"
                remedy = nearest(record.local_type, rules.types)
                yield document.problem(("records", i, "local_type"), "K205", what, remedy)
            elif record.local_type and not rules.types[record.local_type].record(record.region):
                what = f"{record.local_type} has no record for {record.region}"
                remedy = "Give it one, or write 'local_name'."
                yield document.problem(("records", i, "local_type"), "K205", what, remedy)
        defined = {c.attribute: c.allowed for c in kind.defined_by}
        for criterion in kind.usual:
            if criterion.allowed & ~defined.get(criterion.attribute, criterion.allowed):
                name = rules.attributes[criterion.attribute].id
                what = f"{name} is usual in states that the definition rules out"
                yield document.problem(("usual", name), "K208", what, "Keep within 'defined_by'.")


def _look_alike_problems(rules: Rules, kind: Type, document: Document) -> Iterator[Problem]:
    for i, other in enumerate(kind.look_alikes):
        place: Path = ("look_alikes", i, "type")
        if other.type not in rules.types:
            what = f"the look-alike {other.type!r} is not known"
            yield document.problem(place, "K205", what, nearest(other.type, rules.names))
        elif other.type == kind.id:
            yield document.problem(place, "K205", "a type cannot look like itself")


def source_problems(rules: Rules, documents: Mapping[str, Document]) -> Iterator[Problem]:
    """Check that every cited key exists and every source is cited somewhere."""
    cited = {key for k in rules.types.values() for key in k.sources}
    for kind in rules.types.values():
        cited.update(key for record in kind.records for key in record.sources)
        cited.update(key for measure in kind.measures for key in measure.sources)
    elsewhere = [
        ("measures.yaml", ("derived", d.id), d.sources, d.basis) for d in rules.derivations
    ]
    elsewhere += [
        ("cautions.yaml", ("cautions", c.id), c.sources, c.basis) for c in rules.cautions.values()
    ]
    elsewhere += [
        (f"vocabulary/{a.group}.yaml", ("attributes", a.item_of or a.id), a.sources, a.basis)
        for a in rules.attributes
    ]
    elsewhere += [
        ("thesaurus.yaml", ("words", w.word), w.sources, w.basis) for w in rules.thesaurus
    ]
    cited.update(key for ps in rules.periods.values() for p in ps for key in p.sources)
    cited.update(rules.curve.sources if rules.curve else ())
    cited.update(key for index in rules.indices.values() for key in index.sources)
    for file, path, keys, basis in elsewhere:
        cited.update(keys)
        for key in keys:
            if key not in rules.sources:
                what = f"the source {key!r} is not known"
                yield documents[file].problem(path, "K005", what, nearest(key, rules.sources))
        if basis != "common" and not keys:
            what = f"basis is {basis!r} but no source is given"
            yield documents[file].problem(path, "K203", what, "Give 'sources', or basis common.")
    if not rules.types:
        what = "the folder types is missing, or holds no type"
        yield Problem(folder_of(documents), 0, 0, "K003", what, "Give each type a file in it.")
        return
    listed, edition = documents["sources.yaml"], documents["edition.yaml"]
    for key in rules.sources:
        place: Path = ("sources", key)
        if edition.files and listed.file_of(place) == listed.name:
            continue  # that an addition put away who cited it is no fault of the shipped list
        if key not in cited:
            what = f"the source {key!r} is cited nowhere"
            yield listed.problem(place, "K209", what, "Remove it.")
