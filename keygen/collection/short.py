"""What the codes of a house may be short for: guesses, made only where one thing is meant.

`SN` are the initials of `side-notched`, `contr.` is the beginning of `contracting`, `Stem-Exp` has
the beginnings of the words of `expanding stem`. Nothing is read so: a draft of a mapping proposes
it, and a message says that there is something to propose. Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence

from keygen.core.states import is_single
from keygen.rulebase.thesaurus import terms_of
from keygen.specimens.terms import Lexicon

Limits = Mapping[int, int]
LONGEST = 24  # characters; a code is shorter
MOST_INITIALS = 3
_CLEAR = 3  # letters with which a code may leave several states
_PART = re.compile(r"[^\W\d_]+")


class Short:
    """Guesses at the codes of one attribute's column."""

    def __init__(self, lexicon: Lexicon, name: str, limits: Callable[[str], Limits | None]) -> None:
        """Take what reads a word in this column (`limits`), so that kindred terms count too."""
        self.rules, self.name, self.limits = lexicon.rules, name, limits
        self.index = lexicon.rules.index.get(name) if name in lexicon.words else None
        self.groups = self._groups(lexicon) if self.index is not None else ()

    def _groups(self, lexicon: Lexicon) -> tuple[tuple[str, ...], ...]:
        """Return the words that a code can be short for, the likeliest first."""
        attribute = self.rules.attributes[self.index or 0]
        kin = [a.id for a in self.rules.attributes if a.group == attribute.group]
        return (
            tuple(word for state in attribute.states for word in terms_of(state)),
            tuple(lexicon.words[self.name]),
            tuple(word for name in kin if name in lexicon.own for word in lexicon.own[name]),
            tuple(lexicon.known(self.name)),
        )

    def meant(self, code: str) -> Limits | None:
        """Return what a code may stand for; None if that is nothing known, or several things."""
        if self.index is None or len(code) > LONGEST:
            return None
        attribute = self.rules.attributes[self.index]
        parts = _PART.findall(code.casefold())
        if parts == ["y"] and "none" in attribute.bits:
            return {self.index: attribute.full & ~attribute.bits["none"]}
        if not parts or not all(sign.isalpha() or sign in " .-_/" for sign in code):
            return None
        brief = max(map(len, parts)) < _CLEAR
        for depth, words in enumerate(self.groups):
            test = by_initials if brief and depth > 1 else fits
            fit = [word for word in words if test(word, parts)]
            found = self._said(fit, brief)
            if found:
                return found[0] if len(found) == 1 else None
        return None

    def _said(self, words: Iterable[str], brief: bool) -> list[Limits]:
        """Return the different things that words say here; of a brief code only single states."""
        found: list[Limits] = []
        for word in words:
            limits = self.limits(word) or {}
            own = limits.get(self.index or 0, 0)
            narrow = is_single(own) if brief else own not in (0, self.rules.full[self.index or 0])
            if own and narrow and limits not in found:
                found.append(limits)
        return found


def fits(word: str, parts: Sequence[str]) -> bool:
    """Tell whether the parts of a code are the beginnings of different words of a term.

    A single part is the beginning of the whole term, or its initials.
    """
    if len(parts) == 1:
        return word.startswith(parts[0]) or by_initials(word, parts)
    words = word.split()
    for part in parts:
        match = next((each for each in words if each.startswith(part)), None)
        if match is None:
            return False
        words.remove(match)
    return True


def by_initials(word: str, parts: Sequence[str]) -> bool:
    """Tell whether a code is the first letters of the words of a term: `SN`, `S-N`."""
    words = word.split()
    return 1 < len(words) <= MOST_INITIALS and "".join(w[0] for w in words) == "".join(parts)
