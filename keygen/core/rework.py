"""Rework: when a blade was made over, and what is then not weighed for a type.

A piece reworked into another tool, or heavily resharpened, says little of the blade that it once
had. Its size still says something, for rework only takes away: a small drill can have been a large
point, but a large one was never a small point.
"""

from __future__ import annotations

from collections.abc import Sequence

from keygen.core.model import Rules


def rework_signs(rules: Rules) -> tuple[tuple[int, int], ...]:
    """Return the attributes that tell of rework, each with the states that do not make it certain.

    Rework into another tool, and heavy resharpening. A piece was made over if one of them shows
    none of the states named here.
    """
    return rules.once(_signs)


def set_aside(rules: Rules, known: Sequence[int], measured: frozenset[int]) -> frozenset[int]:
    """Return the attributes not weighed for a type: those of a blade that was made over.

    A state that was measured rather than judged by eye is still weighed.
    """
    for i, spared in rework_signs(rules):
        if not known[i] & spared:
            return blade(rules) - measured
    return frozenset()


def blade(rules: Rules) -> frozenset[int]:
    """Return the attributes of the blade."""
    return rules.once(_blade)


def _signs(rules: Rules) -> tuple[tuple[int, int], ...]:
    signs = []
    if (tool := rules.index.get("reworked_as")) is not None:
        signs.append((tool, rules.mask("reworked_as", "none")))
    if (wear := rules.index.get("resharpening")) is not None:
        signs.append((wear, rules.full[wear] & ~rules.mask("resharpening", "heavy")))
    return tuple(signs)


def _blade(rules: Rules) -> frozenset[int]:
    return frozenset(i for i, a in enumerate(rules.attributes) if a.stability == "blade")
