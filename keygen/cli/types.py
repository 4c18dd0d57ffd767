"""`keygen types`: the types and the words of the rules, to look up and to compare."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from keygen.cli import values
from keygen.cli.describe import as_json
from keygen.cli.drawn import Form, fault, form_of
from keygen.cli.guard import guarded, report, talk
from keygen.cli.options import (
    Format,
    FormatOption,
    OutOption,
    RulesOption,
    SetOption,
    TemplatesOption,
    regions_for,
)
from keygen.cli.put import put
from keygen.errors import KeygenError, nearest

if TYPE_CHECKING:
    from keygen.core.model import Record, Rules, Type
    from keygen.core.observe import Observation

IdArgument = Annotated[
    str,
    typer.Argument(
        metavar="[ID]",
        help="A type, by id, name, older id or synonym; with --terms, an attribute or a word.",
        autocompletion=values.words,
    ),
]
PeriodOption = Annotated[
    str, typer.Option("--period", help="Only types of this period, such as 'late archaic'.")
]
CompareOption = Annotated[
    tuple[str, str] | None,
    typer.Option(
        "--compare",
        metavar="A B",
        help="Show what parts two types.",
        autocompletion=values.types,
    ),
]
TermsOption = Annotated[
    bool,
    typer.Option("--terms", help="List attributes and states instead; with [ID], their words."),
]
RegionsOption = Annotated[list[str] | None, regions_for("atlas")]
AsOption = Annotated[
    Form | None,
    typer.Option(
        "--as",
        help="html, svg: one type, or two with --compare, drawn; atlas: all types of regions in "
        "order of age, outlines at one scale, to read and print. If not given, by the ending of "
        "--out, else text.",
    ),
]
PicturesOption = Annotated[
    bool | None,
    typer.Option(
        "--pictures/--no-pictures",
        help="Show outlines above the text. If neither is given, they are shown at a terminal; "
        "--no-pictures suits a screen reader.",
    ),
]

MOST_PERIODS = 2


@guarded
def types(
    wanted: IdArgument = "",
    region: RegionsOption = None,
    period: PeriodOption = "",
    sets: SetOption = None,
    pair: CompareOption = None,
    terms: TermsOption = False,
    form: AsOption = None,
    out: OutOption = None,
    pictures: PicturesOption = None,
    templates: TemplatesOption = None,
    output: FormatOption = Format.TEXT,
    rules_folder: RulesOption = None,
) -> None:
    """List the types, show one, or compare two; with --terms, look up the words for --set.

    With --set only types are listed whose definition allows all that is given.

    Example: keygen types -r ozarks --period "late archaic" --set corner-notched
    """
    from keygen.cli import drawn, words
    from keygen.cli.gather import known_region, rules_from

    chosen = form_of(form, out)
    listing = bool(period or sets)
    if sum(map(bool, (wanted, listing, pair))) > 1 or (terms and (pair or listing)):
        raise KeygenError("Give one of these: a type or word, --period and --set, or --compare.")
    _check_form(chosen, bool(wanted and not terms), bool(pair), terms or listing, output)
    if templates:
        from keygen.collection.house import unknown_templates

        report(unknown_templates(templates))
    rules = rules_from(rules_folder)
    regions = tuple(dict.fromkeys(known_region(rules, name) for name in region or ()))
    if len(regions) > 1 and chosen is not Form.ATLAS:
        several = f"{len(regions)} regions are given, and only the atlas takes several"
        raise fault("K722", several, "Give one, or add --as atlas.")
    where = regions[0] if regions else ""
    if chosen is Form.ATLAS:
        put(drawn.atlas_of(rules, regions, templates), out)
        return
    kinds = _each(rules, pair or ((wanted,) if wanted and not terms else ()))
    if chosen is not Form.TEXT:
        put(drawn.drawn(rules, kinds, chosen, where, templates), out)
        return
    if terms:
        found, text = words.looked_up(rules, wanted)
    elif pair:
        found, text = _compared(rules, kinds[0], kinds[1], templates)
    elif wanted:
        found, text = _shown(rules, kinds[0], where, templates)
    else:
        found, text = _listed(rules, where, period, sets or ())
    if output is Format.TEXT:
        shown = drawn.in_signs(rules, kinds, pictures if out is None else False)
        put(shown + text, out)
        return
    digest = {"edition": rules.edition, "digest": rules.digest}
    put(as_json({"format_version": 1, **found, "rules": digest}), out)


def _check_form(form: Form, one: bool, pair: bool, other: bool, output: Format) -> None:
    """Refuse a form that does not go with the rest of what is asked for.

    Raises:
        KeygenError: naming what does.
    """
    if form is not Form.TEXT and output is not Format.TEXT:
        raise fault("K720", f"--format json and {form} do not go together", "Leave out one.")
    if form is Form.ATLAS and (one or pair or other):
        what = "the atlas holds all types of its regions"
        raise fault("K721", what, "Give --region only, or --as html for one type.")
    if form in (Form.HTML, Form.SVG) and not (one or pair):
        what = f"{form} shows one type, or two with --compare"
        raise fault("K721", what, "Name a type; all types of a region come with --as atlas.")


def _fault(what: str, remedy: str) -> KeygenError:
    return fault("K005", what, remedy)


def _each(rules: Rules, names: Sequence[str]) -> list[Type]:
    """Return the types of some names.

    Raises:
        KeygenError: there is no such type, or two names lead to the same.
    """
    kinds = [_one(rules, name) for name in names]
    if len(kinds) > len({kind.id for kind in kinds}):
        raise KeygenError(f"{names[0]} and {names[1]} are the same type, {kinds[0].id}")
    return kinds


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


def _shown(
    rules: Rules, kind: Type, region: str, folder: Path | None
) -> tuple[dict[str, Any], str]:
    from keygen.prose.typepage import data, page

    if region and not kind.record(region):
        talk(f"{kind.name} has no record for {region}")
    return {"types": [data(rules, kind, region, words=True)]}, page(rules, kind, region, folder)


def _compared(
    rules: Rules, one: Type, other: Type, folder: Path | None
) -> tuple[dict[str, Any], str]:
    from keygen.prose.compare import compare, compared, comparison

    found = compare(rules, one, other)
    return {"comparison": compared(rules, found)}, comparison(rules, found, folder)


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
