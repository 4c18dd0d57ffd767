"""What is scored by eye for an index alone: words or numbers at one or more places of the piece."""

from __future__ import annotations

from keygen.core.indices import Scored
from keygen.core.span import Span, span

Marks = tuple[frozenset[str], ...]
LOST = "-"


def read_marks(scored: Scored, entered: str) -> Marks:
    """Read marks as analysts write them: `1 1 0.5 0 - ...`, `round`, `pointed,round`.

    Returns:
        One set of possible marks a place, in the order written; empty where it did not survive.

    Raises:
        ValueError: a word is no mark of this kind, or there are not as many as there are places.
    """
    allowed = {mark.word for mark in scored.marks}
    places = entered.split()
    if len(places) != scored.count:
        raise ValueError(f"{scored.count} marks are wanted, not {len(places)}")
    found = []
    for place in places:
        words = frozenset() if place == LOST else frozenset(place.split(","))
        wrong = sorted(words - allowed)
        if wrong:
            raise ValueError(
                f"{wrong[0]!r} is not one of {', '.join(m.word for m in scored.marks)}"
            )
        found.append(words)
    return tuple(found)


def mean(scored: Scored, marks: Marks) -> tuple[Span, int]:
    """Return the mean of the places scored, and their number; there has to be one.

    The figure is the mean of what was scored; its interval is what the lost places, scored as low
    or as high as can be, would make of it.
    """
    every = [float(mark.word) for mark in scored.marks]
    there = [[float(word) for word in place] for place in marks if place]
    lost = len(marks) - len(there)
    low = sum(min(place) for place in there) + lost * min(every)
    high = sum(max(place) for place in there) + lost * max(every)
    middle = sum((min(place) + max(place)) / 2 for place in there)
    return span(middle / len(there), low / len(marks), high / len(marks)), len(there)
