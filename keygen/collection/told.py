"""What a report tells of one specimen: its paragraphs, its line in the table, its works."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from keygen.collection.house import House
from keygen.collection.model import Outcome
from keygen.core.basis import Basis
from keygen.core.call import Call
from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.core.scores import answered
from keygen.prose.ages import dated, full_citation
from keygen.prose.grammar import sentence
from keygen.prose.indices import WEAPON
from keygen.prose.naming import resolve
from keygen.prose.regional import MOST_AGED, cautions
from keygen.prose.render import Sentence, paragraphs
from keygen.prose.seen import Seen, stated
from keygen.prose.sights import look
from keygen.prose.verdict import agrees
from keygen.specimens import places

CONTEXT = ("site", "unit", "feature", "level", "provenience")
OF_THE_PIECE = ("sampling", "compromised")  # cautions that stay with the piece they belong to


@dataclass(frozen=True)
class Told:
    """One specimen of a report.

    Attributes:
        examination: without exact locations in what somebody wrote; None if there is none.
        paragraphs: its description, without the cautions that are said once for all.
        cautions: the ids of all cautions that belong to it.
        used: each source that its text rests on, with the basis of the fact it is for.
        call: what the key calls it, and the analyst where that differs, as the table has it.
        cells: its other cells in the table of specimens: region, portion, published ages.
    """

    outcome: Outcome
    examination: Examination | None
    label: str
    paragraphs: tuple[str, ...]
    cautions: tuple[str, ...]
    used: frozenset[tuple[str, Basis]]
    call: str
    cells: tuple[str, str, str]

    @property
    def called(self) -> Call | None:
        """Return what the key says of it, if it says anything."""
        return self.examination.call if self.examination else None


def tell(house: House, outcome: Outcome) -> Told:
    """Return what a report tells of one specimen.

    Raises:
        KeygenError: a template cannot be used.
    """
    found = outcome.examination
    label = outcome.entry.piece.label or house.phrase("unnumbered", row=outcome.entry.row.number)
    if found is None:
        region = house.rules.regions.get(outcome.entry.region)
        cells = (region.label if region else house.word("no_region"), house.word("no_portion"))
        call = house.word("contradicts" if contradicts(outcome) else "unreadable")
        return Told(outcome, None, label, (), (), frozenset(), call, (*cells, house.word("no_age")))
    found = replace(found, piece=places.of_piece(found.piece, house.word("withheld")))
    seen = look(house.rules, found)
    parts = paragraphs(house.rules, found, "report", house.folder)
    held = tuple(cautions(house.rules, found, seen))
    return Told(
        outcome,
        found,
        label,
        _paragraphs(house, found, parts, held),
        held,
        frozenset(_used(house.rules, found, parts, held)),
        call_in_words(house, found, own_call(house.rules, found)),
        _cells(house, found, seen),
    )


def contradicts(outcome: Outcome) -> bool:
    """Tell whether a row contradicts itself; one without examination may also be unreadable."""
    return outcome.examination is None and bool(outcome.entry.piece.observations)


def _paragraphs(
    house: House,
    found: Examination,
    parts: Iterable[Sequence[Sentence]],
    held: Iterable[str],
) -> tuple[str, ...]:
    own = [
        text
        for name in held
        if (caution := house.rules.cautions[name]).when in OF_THE_PIECE
        for text in (caution.text,)
    ]
    told = []
    for part in parts:
        kept = [s.text for s in part if s.slot != "cautions"]
        if own and len(kept) < len(part):
            kept.append(sentence(" ".join(own)))
        told.append(" ".join(kept))
    if notes := " ".join(found.piece.notes.split()):
        told.append(house.sentence("notes", notes=notes))
    return tuple(text for text in told if text)


def general_cautions(house: House, told: Iterable[Told]) -> str:
    """Return the cautions that are not of one piece alone, each once."""
    wanted = {name for each in told for name in each.cautions}
    texts = [
        caution.text
        for name, caution in house.rules.cautions.items()
        if name in wanted and caution.when not in (*OF_THE_PIECE, "context")
    ]
    return house.sentence("cautions", texts=texts) if texts else ""


def call_in_words(house: House, found: Examination, own: str = "") -> str:
    """Return what the key calls a piece in a few words: `cf. Alder Stemmed`.

    Args:
        own: what the analyst calls it, if that is to be said with it.
    """
    call = found.call
    names = [house.rules.types[name].name for name in call.types] if call else []
    return house.phrase(
        "call",
        status=call.status if call else "",
        reason=call.reason if call else "",
        names=names,
        few=len(names) <= MOST_AGED,
        own=own,
    )


def own_call(rules: Rules, found: Examination) -> str:
    """Return what the analyst calls the piece, where that is not what the key calls it."""
    own = found.piece.analyst
    if own is None or agrees(rules, found):
        return ""
    kind = resolve(rules, own.call)
    return rules.types[kind].name if kind else own.call


def _cells(house: House, found: Examination, seen: Mapping[str, Seen]) -> tuple[str, str, str]:
    rules = house.rules
    region = rules.regions.get(found.region)
    portion = seen.get("portion")
    said = stated(portion.attribute, portion.mask) if portion and portion.attribute else ""
    types = found.call.types if found.call else ()
    records = [rules.types[name].record(found.region) for name in types[: MOST_AGED + 1]]
    ages = [dated(r.dates) for r in records if r] if len(types) <= MOST_AGED else []
    return (
        region.label if region else house.word("no_region"),
        said or house.word("no_portion"),
        "; ".join(dict.fromkeys(ages)) or house.word("no_age"),
    )


def references(house: House, told: Iterable[Told]) -> tuple[str, ...]:
    """Return the works that calls and ages rest on, and which of them were cited from memory.

    Works behind the ages in other regions are left out: no sentence names them.
    """
    bases: dict[str, set[Basis]] = {}
    for each in told:
        for key, basis in each.used:
            bases.setdefault(key, set()).add(basis)
    return tuple(
        sorted(
            house.phrase(
                "reference",
                cite=full_citation(house.rules.sources[key]),
                memory="" if "memory" not in found else "some" if len(found) > 1 else "all",
            )
            for key, found in bases.items()
        )
    )


def _used(
    rules: Rules,
    found: Examination,
    parts: Iterable[Sequence[Sentence]],
    held: Iterable[str],
) -> Iterator[tuple[str, Basis]]:
    for caution in (rules.cautions[name] for name in held):
        if caution.when != "context":
            yield from ((key, caution.basis) for key in caution.sources)
    measured = [*found.derived.values(), *(d.derivation for d in found.disagreements)]
    for rule in measured:
        yield from ((key, rule.basis) for key in rule.sources)
    for part in parts:
        for told in part:
            for basis, sources in _facts(rules, found, told):
                yield from ((key, basis) for key in sources if key in told.sources)


def _facts(
    rules: Rules, found: Examination, told: Sentence
) -> Iterator[tuple[Basis, tuple[str, ...]]]:
    """Return what a sentence rests on: the basis of each fact, with its sources."""
    if told.slot == "indices":
        answers = answered(rules, found, WEAPON)
        yield from ((g.basis, g.sources) for a in answers for g in rules.indices[a.id].grounds)
    for kind in (rules.types[name] for name in told.types):
        if told.slot == "support":
            measures = (m for m in kind.measures if m.measurement in told.measures)
            yield from ((m.basis, m.sources) for m in measures)
        elif told.slot == "age":
            records = (r for r in kind.records if r.region == found.region)
            yield from ((r.basis, r.sources) for r in records)
        elif told.slot == "call":
            yield kind.basis, kind.sources


def provenience(found: Examination) -> str:
    """Return where a piece comes from, from the site down; never an exact location."""
    details = found.piece.details
    named = (details.get(name, "").strip() for name in CONTEXT)
    return ", ".join(text for text in named if text)
