"""Facts into sentences: the templates of one register, rendered in a sandbox.

A template holds one sentence (or two that belong together) and never decides whether it is
needed: a slot without facts is not rendered at all. Sentences are joined here, so that no template
has to care about the white space around it.
"""

from __future__ import annotations

import traceback
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal, get_args

from jinja2 import FunctionLoader, StrictUndefined, TemplateError, TemplateSyntaxError
from jinja2.sandbox import ImmutableSandboxedEnvironment

from keygen import data
from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.errors import KeygenError, Problem, nearest
from keygen.prose import grammar
from keygen.prose.facts import Fact
from keygen.prose.form import form
from keygen.prose.seen import look
from keygen.prose.verdict import verdict

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
    "use",
    "damage",
    "unseen",
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
            *("piece", "blade", "haft", "barbs", "base", "margins", "flutes", "use", "damage"),
            *("disagreement", "call", "no_region", "analyst"),
        ),
    ),
}


@dataclass(frozen=True)
class Sentence:
    """A sentence and what it rests on.

    `about` are attribute ids, `measures` measurement ids, `details` fields of the record, `types`
    type ids and `sources` source keys.
    """

    slot: str
    text: str
    about: tuple[str, ...] = ()
    measures: tuple[str, ...] = ()
    details: tuple[str, ...] = ()
    types: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


@cache
def environment(folder: Path | None = None) -> ImmutableSandboxedEnvironment:
    """Return the environment in which templates are rendered.

    Args:
        folder: a folder of the user's own templates; each file there stands in for the shipped one.
    """
    shipped = data.root("templates")

    def read(name: str) -> tuple[str, str, None] | None:
        if folder is not None and (own := folder / name).is_file():
            return own.read_text(encoding="utf-8"), str(own), None
        file = shipped.joinpath(*name.split("/"))
        return (
            (file.read_text(encoding="utf-8"), f"templates/{name}", None)
            if file.is_file()
            else None
        )

    found = ImmutableSandboxedEnvironment(
        loader=FunctionLoader(read),
        undefined=StrictUndefined,
        autoescape=False,  # the result is plain text; a page that shows it escapes it
    )
    found.filters |= {
        "a": grammar.article,
        "clauses": grammar.clauses,
        "listed": grammar.listed,
        "number": grammar.number,
        "said": grammar.said,
        "some": grammar.some,
    }
    return found


def render(name: str, values: Mapping[str, object], folder: Path | None = None) -> str:
    """Render one template.

    Raises:
        KeygenError: the template is missing, is not a template, or uses a name it was not given.
    """
    try:
        return environment(folder).get_template(name).render(values)
    except TemplateSyntaxError as error:
        place = error.filename or f"templates/{name}"
        problem = Problem(place, error.lineno, 0, "K601", error.message or "not a template")
        raise KeygenError(problem) from error
    except (TemplateError, TypeError, AttributeError) as error:
        frames = [
            f for f in traceback.extract_tb(error.__traceback__) if f.filename.endswith(".j2")
        ]
        file, line = (frames[-1].filename, frames[-1].lineno or 0) if frames else (name, 0)
        remedy = "Names given here: " + ", ".join(sorted(values)) + "." if values else ""
        raise KeygenError(Problem(file, line, 0, "K602", str(error), remedy)) from error


def check_register(register: str) -> None:
    """Refuse a register that does not exist.

    Raises:
        KeygenError: naming the nearest one.
    """
    if register not in REGISTERS:
        what = f"there is no register {register!r}"
        raise KeygenError(Problem("", 0, 0, "K603", what, nearest(register, REGISTERS)))


def paragraphs(
    rules: Rules, examination: Examination, register: str, folder: Path | None = None
) -> tuple[tuple[Sentence, ...], ...]:
    """Return the sentences of a register, paragraph by paragraph; empty ones are left out."""
    check_register(register)
    source = "report" if register == "account" else register
    seen = look(rules, examination)
    facts: dict[str, list[Fact]] = {}
    for fact in (*form(rules, examination, seen), *verdict(rules, examination, seen)):
        facts.setdefault(fact.slot, []).append(fact)
    finish = grammar.fragment if source == "catalogue" else grammar.sentence
    return tuple(
        tuple(
            Sentence(slot, text, fact.about, fact.measures, fact.details, fact.types, fact.sources)
            for slot in slots
            for fact in facts.get(slot, ())
            if (text := finish(render(f"{source}/{slot}.j2", fact.values, folder)))
        )
        for slots in PARAGRAPHS[source]
    )


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


def text(rules: Rules, examination: Examination, register: str, folder: Path | None = None) -> str:
    """Return the description in the registers note, report or catalogue."""
    parts = paragraphs(rules, examination, register, folder)
    if register == "catalogue":
        return "; ".join(s.text for part in parts for s in part) + "."
    between = "\n" if register == "note" else "\n\n"
    return between.join(" ".join(s.text for s in part) for part in parts if part)
