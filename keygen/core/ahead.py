"""How much of the key is still to come from a position."""

from __future__ import annotations

from keygen.core.infer import gone_parts
from keygen.core.model import Rules
from keygen.core.states import narrow
from keygen.core.walk import Answer, Position, next_couplet, take


def left_at_most(rules: Rules, position: Position) -> int:
    """Return how many couplets can still be asked if each is answered a or b.

    With one branch this is the longest way to the end along leads that are still possible; with
    several, no more than the sum of theirs, nor than all the couplets that they can reach.
    """
    known = position.known
    gone = gone_parts(rules, known)
    answered = {passed.couplet for passed in position.trail}
    longest: dict[str, int] = {"": 0}
    reach: dict[str, frozenset[str]] = {"": frozenset()}
    for name in sorted(rules.couplets, key=rules.order.__getitem__, reverse=True):
        couplet = rules.couplets[name]
        ways = [
            lead
            for lead in couplet.leads
            if any(narrow(known, limits) is not None for limits in lead.leaves)
        ] or list(couplet.leads)
        asked = len(ways) == 2 and couplet.part not in gone and name not in answered
        longest[name] = asked + max(longest[lead.go] for lead in ways)
        reach[name] = frozenset({name} if asked else ()).union(*(reach[lead.go] for lead in ways))
    places = {branch.at for branch in position.branches}
    together = frozenset[str]().union(*(reach[at] for at in places))
    return min(len(together), sum(longest[at] for at in places))


def left_if_plain(rules: Rules, position: Position) -> int:
    """Return how many couplets will be asked if every answer is lead a, the commoner one."""
    asked = 0
    while couplet := next_couplet(rules, position):
        position = take(rules, position, Answer(couplet.id, "a"))
        asked += 1
    return asked
