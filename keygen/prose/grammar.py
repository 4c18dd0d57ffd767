"""Grammar: lists, sets of states, articles, capitals and measures. Small, pure, and tested."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_READING = re.compile(r"\d+(?:[.,]\d+)?")
_UNIT = re.compile(r"mm|cm|in|g|oz|deg|°")
_UNTIDY = re.compile(r" [ ,.;:)]")
_LOOSE = re.compile(r"\s+([,.;:)]+(?=\s|$))")
KEPT = 1 << 12  # answers kept where the same texts come up again and again


def said(items: Iterable[object]) -> list[str]:
    """Return the texts that say something, in order."""
    return [text for item in items if (text := str(item).strip())]


def listed(items: Iterable[object], last: str = "and") -> str:
    """Join texts: `a`, `a and b`, `a, b and c`. Empty ones are dropped.

    Where an item holds the joining word itself, commas keep it together: `a, and b and c`.
    """
    texts = said(items)
    if len(texts) < 2:
        return texts[0] if texts else ""
    joining, comma = f" {last} ", ""
    for text in texts:
        if joining in text or ", " in text:
            comma = ","
    return f"{', '.join(texts[:-1])}{comma} {last} {texts[-1]}"


def clauses(items: Iterable[object]) -> str:
    """Join clauses or long items with semicolons: `a; b and c; d`."""
    return "; ".join(said(items))


def span(words: Sequence[str], graded: bool) -> str:
    """Word a set of states that are all still possible.

    Graded states are named by their ends, `straight to excurvate`; others are alternatives,
    `straight or pointed`. What the words end on alike is said once.
    """
    if graded and len(words) > 1:
        words = (words[0], words[-1])
    words = _shortened(words)
    return " to ".join(words) if graded else listed(words, "or")


def _shortened(words: Sequence[str]) -> Sequence[str]:
    """Say a shared last word once: `finely to coarsely serrated`, `side- or corner-notched`."""
    tails = {re.split(r"[ -]", word)[-1] for word in words}
    if len(words) < 2 or len(tails) > 1:
        return words
    tail = tails.pop()
    if all(word.endswith(f"-{tail}") for word in words):
        return [*(word[: -len(tail)] for word in words[:-1]), words[-1]]
    if all(word.endswith(f" {tail}") and word.count(" ") == 1 for word in words):
        return [*(word[: -len(tail) - 1] for word in words[:-1]), words[-1]]
    return words


def article(phrase: object) -> str:
    """Put `a` or `an` before a phrase, by its sound."""
    return _article(str(phrase))


@lru_cache(KEPT)
def _article(text: str) -> str:
    first = text.split(maxsplit=1)[0].lower() if text else ""
    vowel = first[:1] in ("a", "e", "i", "o", "u") or bool(re.match(r"(8|11\b|18\b)", first))
    if re.match(r"(u-|uni|one\b|use|eu)", first):
        vowel = False
    return f"{'an' if vowel else 'a'} {text}" if text else ""


def some(items: Sequence[object], most: int, noun: str) -> str:
    """Join the first few texts and count the rest: `a, b, c and two other observations`."""
    texts = said(items)
    rest = len(texts) - most
    if rest < 2:
        return listed(texts)
    return listed([*texts[:most], f"{number(rest)} other {noun}"])


def number(count: int) -> str:
    """Write a count: in words below ten, in figures from there."""
    return NUMBERS[count] if 0 <= count < len(NUMBERS) else str(count)


def counted(count: int, noun: str, plural: str = "") -> str:
    """Return a count with its noun: `one type`, `two types`."""
    return f"{number(count)} {noun if count == 1 else plural or noun + 's'}"


def capital(text: object) -> str:
    """Return a text with its first letter capital and the rest untouched."""
    plain = str(text)
    first = plain[:1].upper()
    return plain if plain.startswith(first) else first + plain[1:]


@lru_cache(KEPT)
def plain(text: str) -> str:
    """Return a label without anything in brackets."""
    return " ".join(re.sub(r"\([^)]*\)", "", text).split())


def fragment(text: str) -> str:
    """Tidy what a template gave: single spaces, and none before a stop."""
    text = text.strip()
    if _UNTIDY.search(text) or not text.isprintable():  # of all white space the space alone can be
        text = _LOOSE.sub(r"\1", " ".join(text.split()))
    return text.replace("( ", "(") if "(" in text else text


def sentence(text: str) -> str:
    """Tidy what a template gave into a sentence: a capital, and a full stop at the end."""
    text = fragment(text)
    return capital(text if text[-1] in ".?!" else f"{text}.") if text else ""


@lru_cache(KEPT)
def measure(entered: str, unit: str) -> str:
    """Return a measurement as it was entered: `34.2 mm`, `3.4 cm`, `110°`.

    The signs of incompleteness are left out, see `at_least`; nothing is rounded.

    Args:
        entered: the text as recorded.
        unit: the unit of record (mm, g or deg), where the text names none.
    """
    figure = _READING.search(entered)
    digits = figure[0].replace(",", ".") if figure else entered
    named = _UNIT.search(entered)
    unit = named[0] if named else unit
    return f"{digits}°" if unit in ("deg", "°") else f"{digits} {unit}"


def at_least(measured: str, incomplete: bool) -> str:
    """Mark a measure that was taken across a break."""
    return f"at least {measured}" if incomplete else measured
