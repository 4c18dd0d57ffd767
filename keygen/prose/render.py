"""Facts into sentences: the templates of one register, rendered in a sandbox.

A template holds one sentence (or two that belong together) and never decides whether it is
needed: a slot without facts is not rendered at all. Sentences are joined here, so that no template
has to care about the white space around it.
"""

from __future__ import annotations

import traceback
from collections.abc import Mapping, Sequence
from functools import lru_cache, partial
from pathlib import Path
from typing import Literal, get_args

from jinja2 import FunctionLoader, StrictUndefined, Template, TemplateSyntaxError

from keygen import data
from keygen.core.examine import Examination
from keygen.core.memo import Memo
from keygen.core.model import Rules
from keygen.errors import KeygenError, Problem, nearest
from keygen.prose import grammar
from keygen.prose.facts import Slot, Values
from keygen.prose.form import form_slots
from keygen.prose.indices import INDICES
from keygen.prose.owntemplates import own_file, own_text
from keygen.prose.phrasebook import Paragraphs, Phrasebook, Render
from keygen.prose.phrasebook import Sentence as Sentence
from keygen.prose.sandbox import Bounded, Given, Names, Sandbox
from keygen.prose.verdict import VERDICT

MOST_FOLDERS = 8  # of templates that are kept ready
Register = Literal["note", "report", "catalogue", "account"]
REGISTERS: tuple[Register, ...] = get_args(Register)

ABOUT_FORM = (
    "piece",
    "measures",
    "blade",
    "haft",
    "barbs",
    "base",
    "margins",
    "flutes",
    "section",
    "others",
    "use",
    "damage",
    "unseen",
    "indices",
    "handling",
)
ABOUT_TYPE = (
    "disagreement",
    "call",
    "no_region",
    "support",
    "aside",
    "age",
    "analyst",
    "next_look",
    "elsewhere",
    "cautions",
)
# The slots of a register, paragraph by paragraph. The account comments on the report's sentences.
PARAGRAPHS: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "report": (ABOUT_FORM, ABOUT_TYPE),
    "note": ((*ABOUT_FORM, "context", "notes"), ABOUT_TYPE),
    "catalogue": (
        (
            *(
                "piece",
                "blade",
                "haft",
                "barbs",
                "base",
                "margins",
                "flutes",
                "others",
                "use",
                "damage",
            ),
            *("disagreement", "call", "no_region", "analyst"),
        ),
    ),
}


def _is_markup(name: str | None) -> bool:
    """Tell whether a template makes HTML or XML, in which every value has to be escaped."""
    return name is not None and name.endswith((".html.j2", ".xml.j2"))


@lru_cache(MOST_FOLDERS)
def environment(folder: Path | None = None) -> Sandbox:
    """Return the environment in which templates are rendered.

    Args:
        folder: a folder of the user's own templates; each file there stands in for the shipped one.
    """
    shipped = data.root("templates")

    def read(name: str) -> tuple[str, str, None] | None:
        if folder is not None and (own := own_file(folder, name)):
            return own_text(own), str(own), None
        file = shipped.joinpath(*name.split("/"))
        return (
            (file.read_text(encoding="utf-8"), f"templates/{name}", None)
            if file.is_file()
            else None
        )

    kind = Sandbox if folder is None else Bounded
    found = kind(
        loader=FunctionLoader(read),
        undefined=StrictUndefined,
        autoescape=_is_markup,  # other results are plain text; a page that shows one escapes it
    )
    found.add(
        {
            "a": grammar.article,
            "clauses": grammar.clauses,
            "listed": grammar.listed,
            "number": grammar.number,
            "said": grammar.said,
            "some": grammar.some,
        }
    )
    return found


def renderer(name: str, folder: Path | None = None) -> Render:
    """Return what renders a template.

    It does what `Template.render` does, in less than half the time for a short template: the values
    are handed over as they are, with no copy of them and of what every template can use.

    Raises:
        KeygenError: the template is missing, is not a template, or (when rendering) uses a name it
            was not given.
    """
    boxed = environment(folder)
    bounded = boxed if isinstance(boxed, Bounded) else None
    if bounded:
        bounded.begin({})
    try:
        found = boxed.get_template(name)
    except TemplateSyntaxError as error:
        place = error.filename or f"templates/{name}"
        problem = Problem(place, error.lineno, 0, "K601", error.message or "not a template")
        raise KeygenError(problem) from error
    except KeygenError:
        raise
    except Exception as error:  # what Python makes of a template can fail in ways of its own
        raise KeygenError(Problem(name, 0, 0, "K602", _what(error))) from error
    common, root, blocks = boxed.globals, found.root_render_func, found.blocks

    def rendered(values: Values) -> str:
        try:
            given = Names(common)
            given.update(values)
            parts = root(Given(boxed, given, name, blocks, found.globals))
            return bounded.whole(parts, values) if bounded else "".join(parts)
        except Exception as error:
            raise _fault(found, name, values) from error

    return rendered


def _fault(template: Template, name: str, values: Values) -> KeygenError:
    """Return what is wrong with a template that just failed, with the line of it."""
    try:
        template.environment.handle_exception()
    except Exception as error:
        frames = [
            f for f in traceback.extract_tb(error.__traceback__) if f.filename.endswith(".j2")
        ]
        where = template.filename or name
        file, line = (frames[-1].filename, frames[-1].lineno or 0) if frames else (where, 0)
        remedy = "Names given here: " + ", ".join(sorted(values)) + "." if values else ""
        return KeygenError(Problem(file, line, 0, "K602", _what(error), remedy))


def _what(error: Exception) -> str:
    if isinstance(error, RecursionError):
        return "this goes too deep: it calls or includes itself, or is nested too often"
    return str(error) or type(error).__name__


def render(name: str, values: Values, folder: Path | None = None) -> str:
    """Render one template.

    Raises:
        KeygenError: as `renderer`.
    """
    return _renderers(folder)[name](values)


@lru_cache(MOST_FOLDERS)
def _renderers(folder: Path | None) -> Memo[str, Render]:
    return Memo(partial(renderer, folder=folder))


def check_register(register: str) -> None:
    """Refuse a register that does not exist.

    Raises:
        KeygenError: naming the nearest one.
    """
    if register not in REGISTERS:
        what = f"there is no register {register!r}"
        raise KeygenError(Problem("", 0, 0, "K603", what, nearest(register, REGISTERS)))


def told(
    rules: Rules, examinations: Sequence[Examination], register: str, folder: Path | None = None
) -> list[Paragraphs]:
    """Return the sentences of a register about some pieces, paragraph by paragraph."""
    check_register(register)
    source = "report" if register == "account" else register
    return rules.once(_phrasebooks)[source, folder].told(examinations)


def paragraphs(
    rules: Rules, examination: Examination, register: str, folder: Path | None = None
) -> Paragraphs:
    """Return the sentences of a register, paragraph by paragraph."""
    return told(rules, (examination,), register, folder)[0]


def slots(rules: Rules) -> dict[str, Slot]:
    """Return the slots of all registers by name."""
    return {**form_slots(rules), "indices": INDICES, **VERDICT}


def _phrasebooks(rules: Rules) -> Memo[tuple[str, Path | None], Phrasebook]:
    every = rules.once(slots)

    def phrasebook(of: tuple[str, Path | None]) -> Phrasebook:
        source, folder = of
        finish = grammar.fragment if source == "catalogue" else grammar.sentence
        templates = _renderers(folder)
        return Phrasebook(
            rules, PARAGRAPHS[source], every, lambda slot: templates[f"{source}/{slot}.j2"], finish
        )

    return Memo(phrasebook, len(REGISTERS) * MOST_FOLDERS)


def sentences(
    rules: Rules, examination: Examination, register: str = "report", folder: Path | None = None
) -> tuple[Sentence, ...]:
    """Return the sentences of a description, each with what it rests on.

    The catalogue's are parts of its one line; the account's are those of the report.

    Args:
        folder: the user's own templates, if any.

    Raises:
        KeygenError: no such register, or a template that cannot be used.
    """
    return tuple(s for part in paragraphs(rules, examination, register, folder) for s in part)


def texts(
    rules: Rules, examinations: Sequence[Examination], register: str, folder: Path | None = None
) -> list[str]:
    """Return the descriptions of some pieces in the registers note, report or catalogue."""
    found = told(rules, examinations, register, folder)
    if register == "catalogue":
        return ["; ".join([s.text for part in parts for s in part]) + "." for parts in found]
    between = "\n" if register == "note" else "\n\n"
    return [
        between.join([" ".join([s.text for s in part]) for part in parts if part])
        for parts in found
    ]
