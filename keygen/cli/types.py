"""`keygen types`: the types and the words of the rules, to look up and to compare."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from keygen.cli.describe import as_json
from keygen.cli.guard import guarded, talk
from keygen.cli.options import Format, FormatOption, RegionOption, RulesOption, SetOption
from keygen.errors import KeygenError, Problem, nearest

if TYPE_CHECKING:
    from keygen.core.model import Record, Rules, Type
    from keygen.core.observe import Observation
    from keygen.specimens.terms import Lexicon

IdArgument = Annotated[
    str,
    typer.Argument(
        metavar="[ID]",
        help="A type, by id, name, older id or synonym; with --terms, an attribute or a word.",
    ),
]
PeriodOption = Annotated[
    str, typer.Option("--period", help="Only types of this period, such as 'late archaic'.")
]
CompareOption = Annotated[
    tuple[str, str] | None,
    typer.Option("--compare", metavar="A B", help="Show what parts two types."),
]
TermsOption = Annotated[
    bool,
    typer.Option("--terms", help="List attributes and states instead; with [ID], their words."),
]
MOST_PERIODS = 2


@guarded
def types(
    wanted: IdArgument = "",
    region: RegionOption = "",
    period: PeriodOption = "",
    sets: SetOption = None,
    pair: CompareOption = None,
    terms: TermsOption = False,
    output: FormatOption = Format.TEXT,
    rules_folder: RulesOption = None,
) -> None:
    """List the types, show one, or compare two; with --terms, look up the words for --set.

    With --set only types are listed whose definition allows all that is given.

    Example: keygen types -r ozarks --period "late archaic" --set corner-notched
    """
    from keygen.cli.gather import known_region, rules_from

    if sum(map(bool, (wanted, period or sets, pair))) > 1 or (terms and (pair or period or sets)):
        raise KeygenError("Give one of these: a type or word, --period and --set, or --compare.")
    rules = rules_from(rules_folder)
    where = known_region(rules, region)
    if terms:
        found, text = _terms(rules, wanted)
    elif pair:
        found, text = _compared(rules, pair)
    elif wanted:
        found, text = _shown(rules, _one(rules, wanted), where)
    else:
        found, text = _listed(rules, where, period, sets or ())
    if output is Format.TEXT:
        typer.echo(text, nl=False)
        return
    digest = {"edition": rules.edition, "digest": rules.digest}
    typer.echo(as_json({"format_version": 1, **found, "rules": digest}), nl=False)


def _fault(what: str, remedy: str) -> KeygenError:
    return KeygenError(Problem("", 0, 0, "K005", what, remedy))


def _one(rules: Rules, wanted: str) -> Type:
    """Return a type by id, older id, name or synonym.

    Raises:
        KeygenError: there is none.
    """
    from keygen.prose.naming import folded, resolve

    name = resolve(rules, wanted)
    if not name:
        part = folded(wanted)
        like = [t.id for t in rules.types.values() if len(part) > 2 and part in folded(t.name)]
        remedy = f"These have it in their name: {', '.join(like)}." if like else ""
        remedy = remedy or nearest("_".join(wanted.replace("-", " ").split()), rules.names)
        raise _fault(f"the type {wanted!r} is not known", remedy or "`keygen types` lists them.")
    kind = rules.types[name]
    if folded(wanted) not in (folded(kind.id), folded(kind.name)):
        talk(f"{wanted} is kept under {name}")
    return kind


def _shown(rules: Rules, kind: Type, region: str) -> tuple[dict[str, Any], str]:
    from keygen.prose.typepage import data, page

    if region and not kind.record(region):
        talk(f"{kind.name} has no record for {region}")
    return {"types": [data(rules, kind, region, words=True)]}, page(rules, kind, region)


def _compared(rules: Rules, pair: tuple[str, str]) -> tuple[dict[str, Any], str]:
    from keygen.prose.compare import compare, compared, comparison

    one, other = (_one(rules, name) for name in pair)
    if one.id == other.id:
        raise KeygenError(f"{pair[0]} and {pair[1]} are the same type, {one.id}")
    found = compare(rules, one, other)
    return {"comparison": compared(rules, found)}, comparison(rules, found)


def _listed(
    rules: Rules, region: str, period: str, sets: Sequence[str]
) -> tuple[dict[str, Any], str]:
    """List the types of a region and period whose definition allows what is given."""
    from keygen.prose.typepage import data

    kinds: Iterable[Type] = rules.in_region(region) if region else rules.types.values()
    if sets:
        kinds = _allowing(rules, kinds, sets)
    if period and not any(_records(rules, k, "", period) for k in rules.types.values()):
        names = {r.period for kind in rules.types.values() for r in kind.records}
        raise _fault(f"no record has the period {period!r}", nearest(period.title(), names))
    records = {kind.id: _records(rules, kind, region, period) for kind in kinds}
    chosen = [rules.types[name] for name, found in records.items() if found]
    if not chosen:
        talk("No type fits all of this.")
    lines = [(kind.id, kind.name, _when(records[kind.id], region)) for kind in chosen]
    widths = [max((len(line[i]) for line in lines), default=0) for i in (0, 1)]
    text = "".join(
        f"{name.ljust(widths[0])}  {title.ljust(widths[1])}  {when}\n"
        for name, title, when in lines
    )
    return {"types": [data(rules, kind, region) for kind in chosen]}, text


def _allowing(rules: Rules, kinds: Iterable[Type], sets: Sequence[str]) -> list[Type]:
    """Return the types that a piece with the given observations could be.

    Raises:
        KeygenError: an observation is not known, or they contradict each other.
    """
    from keygen.core.call import Standing, judge
    from keygen.core.examine import Piece
    from keygen.specimens.given import parse_set
    from keygen.specimens.record import examined
    from keygen.specimens.terms import Lexicon

    lexicon = Lexicon(rules)
    observed: dict[int, Observation] = {}
    for text in sets:
        for i, found in parse_set(lexicon, text).items():
            before = observed.get(i, found)
            if not before.mask & found.mask:
                label = rules.attributes[i].label
                raise KeygenError(f"--set {text!r} contradicts another --set on the {label}")
            observed[i] = type(found)(before.mask & found.mask, found.how)
    known = examined(rules, Piece(observations=observed), "").known
    return [k for k in kinds if judge(rules, k, known).standing is not Standing.EXCLUDED]


def _records(rules: Rules, kind: Type, region: str, period: str) -> list[Record]:
    """Return a type's records in the region and period wanted; all of them if none is."""
    from keygen.core.periods import named_periods

    wanted = period.casefold().split()

    def of_period(record: Record) -> bool:
        named = [n.name.casefold() for n in named_periods(rules, record.region, record.period)]
        whole = f" {' '.join(record.period.casefold().split())} "
        phrase = f" {' '.join(wanted)} " in whole.replace("(", " ").replace(")", " ")
        return phrase or any(set(wanted) <= set(name.split()) for name in named)

    return [
        record
        for record in kind.records
        if region in ("", record.region) and (not wanted or of_period(record))
    ]


def _when(records: Sequence[Record], region: str) -> str:
    """Return period and age in the region, or the periods and number of regions."""
    from keygen.prose.ages import dated

    if region:
        return f"{records[0].period}, {dated(records[0].dates)}"
    periods = list(dict.fromkeys(record.period for record in records))
    more = f" and {len(periods) - MOST_PERIODS} more" if len(periods) > MOST_PERIODS else ""
    count = f"{len(records)} region{'' if len(records) == 1 else 's'}"
    return f"{'; '.join(periods[:MOST_PERIODS])}{more} ({count})"


def _terms(rules: Rules, wanted: str) -> tuple[dict[str, Any], str]:
    """List all attributes with their states; or the words of one attribute; or what one means.

    Raises:
        KeygenError: what is wanted is neither an attribute nor a word.
    """
    from keygen.rulebase.thesaurus import plain
    from keygen.specimens.terms import Lexicon

    lexicon = Lexicon(rules)
    if not wanted:
        states = {name: lexicon.ids(name) for name in lexicon.words}
        text = "".join(f"{name}: {', '.join(ids)}\n" for name, ids in states.items())
        return {"terms": states}, text
    names = {plain(form): n for n in lexicon.words for form in (n, lexicon.labels[n])}
    if name := names.get(plain(wanted)):
        words = {state: lexicon.exact(name, state) for state in lexicon.ids(name)}
        text = "".join(f"{state}: {', '.join(found)}\n" for state, found in words.items())
        return {"terms": {name: words}}, text
    return _meanings(rules, lexicon, wanted)


def _meanings(rules: Rules, lexicon: Lexicon, wanted: str) -> tuple[dict[str, Any], str]:
    from keygen.prose.ages import grounds
    from keygen.rulebase.thesaurus import plain

    meanings = lexicon.find(wanted)
    if not meanings:
        remedy = lexicon.near(wanted) or "`keygen types --terms` lists attributes and states."
        raise _fault(f"{wanted!r} is neither an attribute nor a word of the trade", remedy)
    entry = lexicon.thesaurus.get(plain(wanted))
    told = [lexicon.told(meaning) for meaning in meanings]
    lines = [f"{wanted}: {'one of these' if len(told) > 1 else told[0]}"]
    lines += [f"  {text}" for text in told if len(told) > 1]
    if entry:
        cited = grounds(rules, entry.sources, entry.basis) if entry.sources else ""
        lines.append(f"  used: {entry.used}{f' ({cited})' if cited else ''}")
        lines += [f"  {entry.note}"] if entry.note else []
    data = {
        "word": wanted,
        "means": [
            {rules.attributes[i].id: rules.attributes[i].ids(m) for i, m in found.limits.items()}
            for found in meanings
        ],
        "used": entry.used if entry else None,
        "basis": entry.basis if entry else None,
        "sources": entry.sources if entry else (),
        "note": (entry.note or None) if entry else None,
    }
    return {"word": data}, "\n".join(lines) + "\n"
