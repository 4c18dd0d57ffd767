"""A document as Markdown: tables with pipes, bars drawn in signs of the typewriter."""

from __future__ import annotations

import re
from collections.abc import Iterator

from keygen.collection.document import (
    Block,
    Document,
    Figure,
    Heading,
    Items,
    Paragraph,
    Table,
    line,
)

# Signs that mark something up anywhere, what begins a named character, a closing row of # signs.
_MARKUP = re.compile(r"[\\`*_<\[\]|~$]|&(?=#?\w+;)|#(?=#*$)")
_START = re.compile(r"^(?=[#>+=-])")
_LINKS = re.compile(r"(?<=[a-z])(:)(?=//)|(?<=\bwww)(\.)", re.IGNORECASE)
_MAIL = re.compile(r"(?<=\w)@(?=[\w-]+\.)")
SIGNS = "#+."
WIDTH = 40


def markdown(document: Document) -> bytes:
    """Return a document as Markdown, in UTF-8."""
    blocks = [f"# {_plain(document.title)}"]
    told = [b for b in document.blocks if not (isinstance(b, Paragraph) and b.on_pictures)]
    head = next((i for i, b in enumerate(told) if isinstance(b, Heading)), 0)
    blocks += [_block(block) for block in told[:head]]
    blocks += [f"## {_plain(document.contents)}", "\n".join(_contents(document))]
    blocks += [_block(block) for block in told[head:]]
    return ("\n\n".join(blocks) + "\n").encode()


def _contents(document: Document) -> Iterator[str]:
    for heading in document.listed:
        yield f"{'  ' * (heading.level - 1)}- [{_plain(heading.text)}](#{heading.anchor})"


def _plain(text: str) -> str:
    """Return a text on one line, with no sign that Markdown would read as markup or as a link."""
    escaped = _LINKS.sub(r"\\\g<0>", _MARKUP.sub(r"\\\g<0>", line(text)))
    return _MAIL.sub("<!---->@", escaped)


def _block(block: Block) -> str:
    if isinstance(block, Heading):
        return f"{'#' * (block.level + 1)} {_plain(block.text)}"
    if isinstance(block, Paragraph):
        return _START.sub(r"\\", _plain(block.text))
    if isinstance(block, Items):
        return "\n".join("- " + _START.sub(r"\\", _plain(text)) for text in block.texts)
    return _table(block) if isinstance(block, Table) else _figure(block)


def _caption(block: Table | Figure) -> str:
    return f"{_plain(block.label)} {block.number}. {_plain(block.caption)}"


def _table(table: Table) -> str:
    rule = ("---:" if i in table.figures else "---" for i in range(len(table.head)))
    lines = [_row(table.head), f"|{'|'.join(rule)}|", *(_row(row) for row in table.rows)]
    parts = [_caption(table), "\n".join(lines)]
    return "\n\n".join([*parts, _plain(table.note)] if table.note else parts)


def _row(cells: tuple[str, ...]) -> str:
    return f"| {' | '.join(_plain(cell) for cell in cells)} |"


def _figure(figure: Figure) -> str:
    width = max(len(line(bar.label)) for bar in figure.bars)
    drawn = [
        f"{line(bar.label):<{width}}  {_bar(bar.parts, figure.longest)} {bar.length}"
        for bar in figure.bars
    ]
    key = "   ".join(
        f"{sign} {line(name)}" for sign, name in zip(SIGNS, figure.series, strict=False)
    )
    text = "\n".join([*drawn, "", key])
    fence = "`" * max(3, 1 + max(map(len, re.findall("`+", text)), default=0))
    return f"{_caption(figure)}\n\n{fence}text\n{text}\n{fence}"


def _bar(parts: tuple[int, ...], longest: int) -> str:
    scale = min(1.0, WIDTH / longest)
    return "".join(
        sign * max(1, round(part * scale)) for sign, part in zip(SIGNS, parts, strict=False) if part
    )
