"""Which region is meant: its id or its label, without regard to case or hyphens."""

from __future__ import annotations

from keygen.core.model import Rules
from keygen.errors import nearest
from keygen.rulebase.thesaurus import plain
from keygen.specimens.terms import one_of


def region_of(rules: Rules, words: str) -> str:
    """Return the id of the region that words name; nothing if they name none."""
    wanted = plain(words)
    names = ((name, form) for name, r in rules.regions.items() for form in (name, r.label))
    return next((name for name, form in names if plain(form) == wanted), "")


def regions_near(rules: Rules, words: str) -> str:
    """Return the sentence that names the region most like some words, or all of them."""
    near = nearest(plain(words).replace(" ", "_"), rules.regions)
    return near or one_of(tuple(rules.regions))
