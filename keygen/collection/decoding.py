"""From bytes to text, when a file does not say its encoding."""

from __future__ import annotations

import codecs
import re
from typing import NamedTuple

SAMPLE = 1 << 20
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_OLDER = {"cp1252": "Windows-1252", "mac_roman": "Mac Roman"}
_PLAIN = re.compile("[\x00-\x7f]+")
_BAD = re.compile("[\udc80-\udcff\ufffd]+")


class Decoding(NamedTuple):
    """An encoding by Python's name for it, and a remark if it was guessed."""

    name: str
    remark: str = ""


def decide(sample: bytes, whole: bool) -> Decoding:
    """Return the encoding of a text file by its first bytes.

    A byte order mark decides; else it is UTF-8 if it can be, UTF-16 if every other byte is zero,
    UTF-8 too if more signs beyond ASCII are right in it than wrong, and else whichever of the two
    usual older encodings makes likelier words.

    Args:
        sample: the first bytes.
        whole: whether these are all.
    """
    for mark, name in _MARKS:
        if sample.startswith(mark):
            return Decoding(name)
    even, odd = sample[::2].count(0), sample[1::2].count(0)
    if max(even, odd) > len(sample) // 5:
        return Decoding("utf-16-le" if odd > even else "utf-16-be")
    try:
        codecs.getincrementaldecoder("utf-8")().decode(sample, whole)
    except UnicodeDecodeError:
        text = sample.decode("utf-8", "surrogateescape")
        bad = sum(map(len, _BAD.findall(text)))
        if len(text) - bad - sum(map(len, _PLAIN.findall(text))) > bad:
            return Decoding("utf-8")  # parts of another encoding, which are told where they stand
        best = max(_OLDER, key=lambda name: _likelihood(sample.decode(name, "replace")))
        return Decoding(best, f"not UTF-8: read as {_OLDER[best]}; check the accented letters")
    return Decoding("utf-8")


def _likelihood(text: str) -> int:
    """Return how much text reads like words and figures of the trade: higher is better."""
    score = 0
    for match in re.finditer("[^\x00-\x7f]", text):
        i, sign = match.start(), match[0]
        before, after = text[i - 1 : i], text[i + 1 : i + 2]
        if sign.isalpha():
            # a capital inside a word is the sure sign of a wrong guess
            score += -2 if sign.isupper() and before.islower() else 1
            score -= not (before.isalpha() or after.isalpha())
        elif sign in "\u00b0\u00bd\u00bc\u00be":
            score += 1 if before.isdigit() or before == " " else -1
        elif sign in "\u2019\u2018\u201c\u201d\u2013\u2014\u00b1\u00d7\u2026":
            # of these only an apostrophe stands between two letters
            score += sign == "\u2019" or not (before.isalpha() and after.isalpha())
        else:
            score -= 5 if sign == "\ufffd" or sign < "\u00a0" else 1
    return score


def repaired(text: str) -> str:
    """Return text in which bytes that could not be decoded are read as Windows-1252."""
    return _BAD.sub(lambda m: "".join(map(_older, m[0])), text)


def is_bad(text: str) -> bool:
    """Tell whether something in a text could not be decoded."""
    return not text.isascii() and bool(_BAD.search(text))


def _older(sign: str) -> str:
    return sign if sign == "\ufffd" else bytes((ord(sign) & 0xFF,)).decode("cp1252", "replace")
