"""Text that a spreadsheet program could take for a formula, and characters no cell can show.

A cell is live if a program might evaluate it: it begins with = + - @ or one of their wide forms,
also behind blanks and quotation marks, or with a tab or a line break. In CSV such a cell gets an
apostrophe in front, a negative number too (`'-5.3`); reading takes it off again. In XLSX cells are
typed as text, so nothing has to be added there.
"""

from __future__ import annotations

import re

MARK = "'"
_SKIPPED = "\\s\"'`\u2018\u2019\u201a\u201c\u201d\u201e\u00ab\u00bb\u200b\u2060\ufeff"
_SIGNS = "=+\\-@\uff1d\uff0b\uff0d\uff20\ufe66\ufe62\ufe63\ufe6b\u2212"
_LIVE = re.compile(f"[\\t\\r\\n]|[{_SKIPPED}]*[{_SIGNS}]")
# What a live text begins with that begins printably; no other has to be looked at more closely.
STARTS = frozenset(" \"'`\u2018\u2019\u201a\u201c\u201d\u201e\u00ab\u00bb" + _SIGNS)
# Control characters but tab and line breaks, halves of a pair, and what is no character at all.
_UNSHOWN = re.compile("[\\x00-\\x08\\x0b\\x0c\\x0e-\\x1f\\x7f-\\x9f\\ud800-\\udfff\\ufffe\\uffff]")
_CONTROLS = bytes(i for i in range(128) if _UNSHOWN.match(chr(i)))


def live(text: str) -> bool:
    """Tell whether a spreadsheet program might take a text for a formula."""
    return _LIVE.match(text) is not None


def marked(text: str) -> str:
    """Return a text as it can stand in CSV: with an apostrophe in front if it is live."""
    return MARK + text if _LIVE.match(text) else text


def unmarked(text: str) -> str:
    """Return the text that `marked` was given."""
    return text[1:] if text[:1] == MARK and _LIVE.match(text, 1) else text


def shown(text: str) -> str:
    r"""Return a text with every character that no cell can show written out, as in `\x07`."""
    if text.isascii():  # as nearly all text is; the quicker look is enough for it
        plain = text.encode()
        if len(plain.translate(None, _CONTROLS)) == len(plain):
            return text
    return _UNSHOWN.sub(_escape, text)


def _escape(found: re.Match[str]) -> str:
    number = ord(found[0])
    return f"\\x{number:02x}" if number < 0x100 else f"\\u{number:04x}"
