"""A small whole report of several pieces, as Markdown: methods, table, descriptions, works cited.

What holds for every piece is said once. Wording is in `templates/document/`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from keygen.core.examine import Examination
from keygen.core.model import Basis, Rules
from keygen.prose.ages import dated, full_citation
from keygen.prose.grammar import fragment, sentence
from keygen.prose.naming import resolve
from keygen.prose.regional import MOST_AGED, cautions
from keygen.prose.render import Sentence, paragraphs, render
from keygen.prose.seen import look, stated
from keygen.prose.verdict import agrees

OF_THE_PIECE = ("sampling", "compromised")  # cautions that stay with the piece they belong to
_MARKUP = re.compile(r"([\\`*_<\[|])")


def report(
    rules: Rules,
    examinations: Sequence[Examination],
    title: str,
    preface: str = "",
    folder: Path | None = None,
) -> str:
    """Return a report in Markdown.

    Args:
        title: its title, as plain text.
        preface: a paragraph that stands before the methods, as plain text.
        folder: a folder of the user's own templates, if any.

    Raises:
        KeygenError: a template cannot be used.
    """
    rows = [_row(rules, e, folder) for e in examinations]
    blocks = [f"# {_plain(title)}", _plain(preface), _head("methods", 2, folder)]
    blocks += [_plain(methods(rules, examinations, folder))]
    blocks += [_plain(general_cautions(rules, examinations, folder))]
    blocks += [_head("table", 2, folder), render("document/table.j2", {"rows": rows}, folder)]
    blocks.append(_head("descriptions", 2, folder))
    for examination in examinations:
        label = _plain(examination.piece.label)
        blocks.append(f"### {label}" if label else _head("unnumbered", 3, folder))
        blocks += [_plain(text) for text in description(rules, examination, folder)]
    works = references(rules, examinations, folder)
    if works:
        blocks += [_head("references", 2, folder), _note(folder)]
        blocks.append("\n".join(f"- {_plain(work)}" for work in works))
    return "\n\n".join(block.strip() for block in blocks if block) + "\n"


def _plain(text: str) -> str:
    """Return a text on one line, with no sign that Markdown would read as markup."""
    return _MARKUP.sub(r"\\\1", " ".join(text.split()))


def _head(part: str, level: int, folder: Path | None) -> str:
    return f"{'#' * level} {fragment(render('document/heads.j2', {'part': part}, folder))}"


def _note(folder: Path | None) -> str:
    return sentence(render("document/references.j2", {}, folder))


def methods(rules: Rules, examinations: Sequence[Examination], folder: Path | None = None) -> str:
    """Return the paragraph on how the pieces were described and called."""
    used = {e.region for e in examinations if e.region}
    regions = [
        fragment(
            render(
                "document/region.j2",
                {"label": region.label, "count": len(rules.in_region(name))},
                folder,
            )
        )
        for name, region in rules.regions.items()
        if name in used
    ]
    values = {
        "edition": rules.edition,
        "digest": rules.digest,
        "attributes": len({a.item_of or a.id for a in rules.attributes}),
        "regions": regions,
    }
    return sentence(render("document/methods.j2", values, folder))


def general_cautions(
    rules: Rules, examinations: Sequence[Examination], folder: Path | None = None
) -> str:
    """Return the cautions that are not of one piece alone, each once."""
    wanted = {name for e in examinations for name in cautions(rules, e, look(rules, e))}
    texts = [
        caution.text
        for name, caution in rules.cautions.items()
        if name in wanted and caution.when not in (*OF_THE_PIECE, "context")
    ]
    return sentence(render("document/cautions.j2", {"texts": texts}, folder)) if texts else ""


def description(
    rules: Rules, examination: Examination, folder: Path | None = None
) -> tuple[str, ...]:
    """Return the paragraphs of one piece: the report's, without what is said once for all."""
    told = [" ".join(s.text for s in part) for part in _sentences(rules, examination, folder)]
    notes = " ".join(examination.piece.notes.split())
    if notes:
        told.append(sentence(render("document/notes.j2", {"notes": notes}, folder)))
    return tuple(text for text in told if text)


def _sentences(
    rules: Rules, examination: Examination, folder: Path | None
) -> Iterator[list[Sentence]]:
    own = [
        rules.cautions[name].text
        for name in cautions(rules, examination, look(rules, examination))
        if rules.cautions[name].when in OF_THE_PIECE
    ]
    for part in paragraphs(rules, examination, "report", folder):
        kept = [s for s in part if s.slot != "cautions"]
        if own and len(kept) < len(part):
            kept.append(Sentence("cautions", sentence(" ".join(own))))
        yield kept


def _row(rules: Rules, examination: Examination, folder: Path | None) -> dict[str, object]:
    """Return one piece as a line of the table."""
    call = examination.call
    types = [rules.types[name] for name in call.types] if call else []
    few = len(types) <= MOST_AGED
    records = [kind.record(examination.region) for kind in types] if few else []
    values = {
        "status": call.status if call else "",
        "reason": call.reason if call else "",
        "names": [kind.name for kind in types],
        "few": few,
        "own": _own_call(rules, examination),
    }
    region = rules.regions.get(examination.region)
    portion = look(rules, examination).get("portion")
    return {
        "label": _plain(examination.piece.label),
        "region": _plain(region.label) if region else "",
        "portion": stated(portion.attribute, portion.mask) if portion and portion.attribute else "",
        "call": _plain(fragment(render("document/call.j2", values, folder))),
        "ages": list(dict.fromkeys(_plain(dated(r.dates)) for r in records if r is not None)),
    }


def _own_call(rules: Rules, examination: Examination) -> str:
    """Return what the analyst calls the piece, where that is not what the key calls it."""
    own = examination.piece.analyst
    if own is None or agrees(rules, examination):
        return ""
    kind = resolve(rules, own.call)
    return rules.types[kind].name if kind else own.call


def references(
    rules: Rules, examinations: Sequence[Examination], folder: Path | None = None
) -> list[str]:
    """Return the works that calls and ages rest on, and which of them were cited from memory.

    Works behind the ages in other regions are left out: they are many, and `keygen elsewhere` names
    them beside each age.
    """
    bases: dict[str, set[Basis]] = {}
    for examination in examinations:
        for key, basis in _used(rules, examination, folder):
            bases.setdefault(key, set()).add(basis)
    works = []
    for key, found in bases.items():
        memory = "" if "memory" not in found else "some" if len(found) > 1 else "all"
        values = {"cite": full_citation(rules.sources[key]), "memory": memory}
        works.append(fragment(render("document/reference.j2", values, folder)))
    return sorted(works)


def _used(
    rules: Rules, examination: Examination, folder: Path | None
) -> Iterator[tuple[str, Basis]]:
    """Return each source that a piece's text rests on, with the basis of the fact it is for."""
    measured = [*examination.derived.values(), *(d.derivation for d in examination.disagreements)]
    for rule in measured:
        yield from ((key, rule.basis) for key in rule.sources)
    for part in paragraphs(rules, examination, "report", folder):
        for told in part:
            for name in told.types:
                for basis, sources in _facts(rules, examination, told, name):
                    yield from ((key, basis) for key in sources if key in told.sources)


def _facts(
    rules: Rules, examination: Examination, told: Sentence, name: str
) -> Iterator[tuple[Basis, tuple[str, ...]]]:
    kind = rules.types[name]
    if told.slot == "support":
        yield from ((m.basis, m.sources) for m in kind.measures if m.measurement in told.measures)
    elif told.slot == "age":
        yield from ((r.basis, r.sources) for r in kind.records if r.region == examination.region)
    elif told.slot == "call":
        yield kind.basis, kind.sources
