"""The wording of documents: templates of `templates/document/`, or of the user's own folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from keygen import data
from keygen.core.model import Rules
from keygen.errors import KeygenError, Problem, nearest
from keygen.prose.grammar import fragment, sentence
from keygen.prose.owntemplates import WORDED, template_names
from keygen.prose.render import render
from keygen.specimens.files import written_together


@dataclass(frozen=True)
class House:
    """The rules a document speaks of, and the folder of templates whose words it uses."""

    rules: Rules
    folder: Path | None = None

    def phrase(self, template: str, **values: object) -> str:
        """Return what a template of `document/` says, as a part of a sentence.

        Raises:
            KeygenError: the template cannot be used.
        """
        return fragment(render(f"document/{template}.j2", values, self.folder))

    def sentence(self, template: str, **values: object) -> str:
        """Return what a template of `document/` says, as whole sentences.

        Raises:
            KeygenError: the template cannot be used.
        """
        return sentence(render(f"document/{template}.j2", values, self.folder))

    def word(self, part: str) -> str:
        """Return a word or two that stand alone: in a cell, before a number."""
        return self.phrase("words", part=part)

    def heads(self, *parts: str) -> tuple[str, ...]:
        """Return the heads of some columns."""
        return tuple(self.phrase("columns", part=part) for part in parts)


def unknown_templates(folder: Path) -> tuple[Problem, ...]:
    """Return a warning for each file of a folder of templates that stands in for no shipped one.

    Raises:
        KeygenError: there is no such folder.
    """
    if not folder.is_dir():
        what = "there is no such folder of templates"
        raise KeygenError(Problem(str(folder), 0, 0, "K604", what))
    shipped = set(template_names(data.root("templates")))
    own = [
        name
        for name in template_names(folder)
        if not any(part.startswith(".") for part in name.split("/"))
    ]
    return tuple(
        Problem(str(folder / name), 0, 0, "K605", _UNUSED, nearest(name, shipped))
        for name in own
        if name not in shipped
    )


_UNUSED = "is not used: no template that ships has this name"


def copy_templates(folder: Path) -> int:
    """Write the shipped templates of descriptions and reports to a folder; return how many.

    Raises:
        KeygenError: the folder holds something, or is no folder.
        OSError: it cannot be written.
    """
    if folder.exists() and not folder.is_dir():
        raise KeygenError(f"{folder} is not a folder; give another name")
    if folder.is_dir() and any(folder.iterdir()):
        raise KeygenError(f"{folder} is not empty; give another folder")
    shipped = data.root("templates")
    texts = {
        folder / name: shipped.joinpath(*name.split("/")).read_text(encoding="utf-8")
        for name in template_names(shipped)
        if name.split("/")[0] in WORDED
    }
    for parent in {file.parent for file in texts}:
        parent.mkdir(parents=True, exist_ok=True)
    with written_together([*texts]) as partials:
        for partial, text in zip(partials, texts.values(), strict=True):
            partial.write_text(text, encoding="utf-8", newline="\n")
    return len(texts)
