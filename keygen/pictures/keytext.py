"""The printed key as plain text, for a terminal or a text printer: 78 columns, nothing but letters.

Leads end in dots and a number, so that the eye finds where to go.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from textwrap import wrap

from keygen.pictures.keybook import Book, Entry, PrintedCouplet
from keygen.pictures.keyregion import GroupPage, RegionBook, RegionCouplet, RegionLead, TypeEntry

WIDTH = 78
_NUMBER = 6  # columns for the number of a couplet
_END = "end"


def book_text(book: Book) -> str:
    """Return the printed key as text."""
    count = sum(len(section.couplets) for section in book.sections)
    lines = [
        *_title("KEY TO CHIPPED-STONE POINTS", f"{count} couplets", book.edition, book.digest),
        *_paragraphs(book.how),
    ]
    for section in book.sections:
        lines += _heading(section.title)
        for couplet in section.couplets:
            lines += ["", *_couplet(couplet)]
    lines += [*_heading("Index of terms"), ""]
    for entry in book.index:
        lines += _hung(_entry(entry), "  ")
    return _text(lines)


def region_text(book: RegionBook) -> str:
    """Return the printed key to a region's types as text."""
    size = f"{len(book.types)} types, {len(book.couplets)} couplets, {len(book.groups)} groups"
    found = book.lengths
    path = f"couplets to a group: {found.mean:.1f} on average, {found.longest} at most"
    head = f"KEY TO THE TYPES: {book.label}"
    lines = [
        *_title(head, f"{size}; {path}", book.edition, book.digest),
        *_paragraphs(book.how),
        *(_heading("Couplets") if book.couplets else ()),
    ]
    for couplet in book.couplets:
        lines += ["", *_region_couplet(couplet)]
    lines += _heading("Groups")
    for group in book.groups:
        lines += ["", *_group(group)]
    lines += _heading("Types")
    for kind in book.types:
        lines += ["", *_type(kind)]
    lines += _heading("Terms")
    for label, terms in book.glossary:
        lines += ["", label]
        for term in terms:
            lines += _hung(f"{term.term}: {term.means}", "  ")
    return _text(lines)


def _text(lines: Iterable[str]) -> str:
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _title(title: str, size: str, edition: str, digest: str) -> list[str]:
    return [*wrap(title, WIDTH), *wrap(size, WIDTH), f"edition {edition}, digest {digest}"]


def _heading(title: str) -> list[str]:
    return ["", "", title.upper(), "-" * len(title)]


def _paragraphs(texts: Iterable[str]) -> Iterator[str]:
    for text in texts:
        yield from ("", *wrap(text, WIDTH, break_on_hyphens=False))


def _hung(text: str, indent: str) -> list[str]:
    """Return a paragraph whose first line stands out to the left of the rest."""
    return wrap(
        text,
        WIDTH,
        initial_indent=indent,
        subsequent_indent=f"{indent}    ",
        break_on_hyphens=False,
    )


def _block(text: str) -> list[str]:
    indent = " " * _NUMBER
    return wrap(
        text, WIDTH, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False
    )


def _asked(number: str, ask: str, behind: str) -> list[str]:
    """Return the first lines of a couplet: its number, its question, and what stands behind."""
    lines = wrap(f"{ask} {behind}".strip(), WIDTH - _NUMBER, break_on_hyphens=False)
    return [f"{number if i == 0 else '':{_NUMBER}}{line}" for i, line in enumerate(lines)]


def _lead(letter: str, say: str, to: str) -> list[str]:
    """Return a lead whose last line runs in dots up to where it goes."""
    indent = " " * _NUMBER
    lines = wrap(say, WIDTH - _NUMBER - 3 - 8, break_on_hyphens=False)
    lines = [f"{indent}{letter if i == 0 else ' '}  {line}" for i, line in enumerate(lines)]
    dots = WIDTH - len(lines[-1]) - len(to) - 2
    if dots < 2:
        dots = WIDTH - _NUMBER - 3 - len(to) - 1
        return [*lines, f"{indent}   {'.' * dots} {to}"]
    return [*lines[:-1], f"{lines[-1]} {'.' * dots} {to}"]


def _couplet(couplet: PrintedCouplet) -> Iterator[str]:
    behind = f"({', '.join(map(str, couplet.before))})" if couplet.before else ""
    yield from _asked(str(couplet.number), couplet.ask, behind)
    for lead in couplet.leads:
        yield from _lead(lead.letter, lead.say, str(lead.to or _END))
        for line in lead.do:
            yield from _hung(f"- {line}", " " * (_NUMBER + 3))
    yield from _block(
        f"{couplet.look} Needs the {couplet.needs}." if couplet.needs else couplet.look
    )


def _entry(entry: Entry) -> str:
    if entry.see:
        return f"{entry.term}: see {'; '.join(entry.see)}"
    means = f": {entry.means}" if entry.means else ""
    at = f"; {', '.join(entry.at)}" if entry.at else ""
    return f"{entry.term} ({entry.about}){means}{at}"


def _region_couplet(couplet: RegionCouplet) -> Iterator[str]:
    yield from _asked(f"R{couplet.number}", couplet.ask, f"({couplet.look})")
    for lead in couplet.leads:
        yield from _lead(lead.letter, lead.say, _goes_to(lead))


def _goes_to(lead: RegionLead) -> str:
    """Return where a lead goes: a couplet, or a group with its types if they are few."""
    if lead.couplet:
        return f"R{lead.couplet}"
    return f"{' or '.join(lead.names)}, group {lead.group}" if lead.names else f"group {lead.group}"


def _group(group: GroupPage) -> Iterator[str]:
    before = f" ({', '.join(group.before)})" if group.before else ""
    yield f"Group {group.number}{before}"
    for row in group.rows:
        yield from _hung(f"[ ] {row.name}. {row.age}", "  ")
        yield from _block("; ".join(row.checks))
    for text in group.alike:
        yield from _hung(f"=  {text}", "  ")


def _type(kind: TypeEntry) -> Iterator[str]:
    yield kind.name
    for text in (kind.definition, kind.age, *kind.alike):
        yield from _hung(text, "  ")
