"""What a walk shows of the types: how many are left, what would part them, and the settled call."""

from __future__ import annotations

from collections.abc import Sequence

from keygen.core.call import Call, Judgement, call
from keygen.core.model import Rules
from keygen.core.nextlook import NextLook, looks, lost_look, next_look
from keygen.core.observe import observations
from keygen.core.separate import recorded
from keygen.core.walk import Position
from keygen.specimens.screen import call_line, left, wrapped

FEW = 3  # so many types are named


def types_left(rules: Rules, region: str, position: Position, with_look: bool = True) -> str:
    """Return how many types of a region are left, the names of few, and what would part them.

    Args:
        with_look: whether the next look is named too.
    """
    found = call(rules, region, position.known).candidates
    if not found:
        return "No type of this region is left."
    if len(found) == 1:
        return wrapped(_only(rules, found[0]))
    names = [rules.types[judgement.type].name for judgement in found]
    few = f": {', '.join(names[:-1])} or {names[-1]}" if len(found) <= FEW else ""
    told = [f"{len(found)} types left{few}."]
    if len(found) == 2:
        told += [f"{text.rstrip('.')}." for text in parting(rules, found)[:1]]
    if with_look:
        told += _look(rules, region, position, len(found))
    return wrapped(" ".join(told))


def _only(rules: Rules, judgement: Judgement) -> str:
    name = rules.types[judgement.type].name
    if not judgement.open:
        return f"Only {name} is left, and all that defines it is met."
    labels = [rules.attributes[c.attribute].label for c in judgement.open]
    return f"Only {name} is left. Not yet seen of what defines it: {', '.join(labels)}."


def parting(rules: Rules, pair: Sequence[Judgement]) -> tuple[str, ...]:
    """Return the tells between the last two types."""
    return recorded(rules, pair[0].type, pair[1].type)


def _look(rules: Rules, region: str, position: Position, count: int) -> list[str]:
    """Return the next look in words, and a better one that the piece cannot show any more."""
    found = observations(rules, position)
    hidden = frozenset(i for i, o in enumerate(found) if o.how == "missing")
    ranked = looks(rules, region, position.known, hidden)
    best, lost = next_look(ranked), lost_look(ranked)
    told = []
    if best:
        label = rules.attributes[best.attribute].label
        told.append(f"Next look: {label}, leaves {_leaving(best, count)}.")
    if lost:
        label = rules.attributes[lost.attribute].label
        told.append(
            f"This piece cannot show its {label}, which would leave {_leaving(lost, count)}."
        )
    return told


def _leaving(look: NextLook, count: int) -> str:
    """Word how many types a look leaves: `about 4 (at worst 6)`, in halves where few are left."""
    if count <= FEW:
        about = f"{look.leaves:.1f}".removesuffix(".0")
        return f"{about} on average"
    worst = "all" if look.at_worst >= count else str(look.at_worst)
    return f"about {max(1, round(look.leaves))}, at worst {worst}"


def offer(rules: Rules, region: str, position: Position) -> str:
    """Return the settled call, and the choice between finishing the description and leaving it."""
    made: Call = call(rules, region, position.known)
    lines = [call_line(rules, made), "No further couplet can change it."]
    if len(made.candidates) == 2:
        lines += [wrapped(f"{text.rstrip('.')}.") for text in parting(rules, made.candidates)[:1]]
    return "\n".join(
        [
            *lines,
            wrapped(f"Finish the description. {left(rules, position)}", "     a  "),
            wrapped("Leave it at that, and go on to measurements and notes.", "     b  "),
        ]
    )
