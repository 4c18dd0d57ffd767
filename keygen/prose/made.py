"""How an observation came about, in words."""

from __future__ import annotations

from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.prose.grammar import listed
from keygen.prose.seen import readings


def made(rules: Rules, examination: Examination, index: int) -> str:
    """Say how an observation came about: at which couplet, from which figures, or not at all."""
    observation = examination.observations[index]
    if index in examination.derived:
        rule = examination.derived[index]
        return f"measured: {readings(rules, examination, rule.terms)} (rule {rule.id})"
    at = [
        f"couplet {rules.couplets[c].number} ({c})" for c in observation.at if c in rules.couplets
    ]
    where = listed(at) or "named outright"
    return {
        "seen": f"seen: {where}",
        "unsure": f"left open: {where}",
        "measured": f"measured: {where}",
        "missing": "could not be observed",
        "implied": "follows from the other answers",
        "not_asked": "not observed",
    }[observation.how]
