"""Facts about ages, and the cautions that belong to a piece."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from keygen.core.call import Call
from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.prose.ages import said_of_all
from keygen.prose.facts import Fact, Page, Slot
from keygen.prose.placed import Placed, places
from keygen.prose.seen import NOTHING, Seen

MOST_AGED = 3


class Aged(NamedTuple):
    """Types whose ages are told, in one region."""

    region: str
    types: tuple[str, ...]


def _aged(page: Page) -> Aged | None:
    """Return the types called, or nothing where too many are left."""
    call = page.examination.call
    if call is None or not call.types or len(call.types) > MOST_AGED:
        return None
    return Aged(call.region, call.types)


def _ages(rules: Rules, found: Aged) -> Iterator[Fact]:
    """Return the ages of the types called, the same age once.

    What is to be known of every age (from memory, range of a period) is said once, at the end.
    """
    groups: dict[tuple[object, ...], list[Placed]] = {}
    known = places(rules)
    for name in found.types:
        at = known[name, found.region]
        groups.setdefault(at.dated, []).append(at)
    shared: tuple[str, ...] = ()
    first, *others = [group[0] for group in groups.values()]
    if others:
        shared = tuple(r for r in first.remarks if all(r in other.remarks for other in others))
    values = {
        "single": len(found.types) == 1,
        "groups": [
            {
                "names": [at.kind.name for at in group],
                "period": group[0].record.period,
                "when": group[0].in_period,
                "age": group[0].age[3, shared],
                "brief": group[0].age[1, shared],
            }
            for group in groups.values()
        ],
        "shared": said_of_all(shared),
    }
    sources = tuple(dict.fromkeys(s for at in (first, *others) for s in at.record.sources))
    yield Fact("age", values, types=found.types, sources=sources)


class Pressing(NamedTuple):
    """What the cautions of a short text depend on."""

    typed: bool
    untyped: bool
    sampling: Seen
    handling: Seen

    @property
    def holds(self) -> dict[str, bool]:
        """Tell which kinds of them belong to a piece."""
        planned = self.sampling.ids == ("planned",) and self.sampling.how != "not_asked"
        return {
            "typed": self.typed,
            "untyped": self.untyped,
            "sampling": planned,
            "compromised": planned and self.handling.ids == ("compromised",),
        }


def cautions(rules: Rules, examination: Examination, seen: Mapping[str, Seen]) -> list[str]:
    """Return the ids of the cautions that belong to a piece, most pressing first."""
    call = examination.call
    reworked = seen.get("reworked_as", NOTHING)
    short = _pressing(call, seen.get("sampling", NOTHING), seen.get("handling", NOTHING))
    holds = {
        **short.holds,
        "any": True,
        "dated": short.typed and call is not None and len(call.types) <= MOST_AGED,
        "elsewhere": bool(examination.elsewhere),
        "reworked": (bool(reworked) and not reworked.none)
        or seen.get("resharpening", NOTHING).ids == ("heavy",),
        "context": True,
    }
    return [name for name, caution in rules.cautions.items() if holds.get(caution.when, False)]


def _pressing(call: Call | None, sampling: Seen, handling: Seen) -> Pressing:
    typed = call is not None and bool(call.types)
    untyped = call is not None and call.reason == "none_fits"
    return Pressing(typed, untyped, sampling, handling)


def _short(page: Page) -> Pressing:
    return _pressing(page.examination.call, page["sampling"], page["handling"])


def _short_cautions(rules: Rules, found: Pressing) -> Iterator[Fact]:
    """Return the two most pressing cautions of those that a short text carries."""
    holds = found.holds
    short = [c for c in rules.cautions.values() if holds.get(c.when, False)][:2]
    if short:
        sampling = any(c.when == "sampling" for c in short)
        about = tuple(s.id for s in (found.sampling, found.handling) if sampling and s)
        values = {"texts": [c.text for c in short], "sampling": sampling}
        yield Fact("cautions", values, about)


AGE = Slot(_aged, _ages)
CAUTIONS = Slot(_short, _short_cautions)
