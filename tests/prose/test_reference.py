"""Facts about the reference pages: complete, and what the rules say now."""

from __future__ import annotations

from pathlib import Path

from keygen.core.model import Rules
from keygen.prose.reference import pages

DOCS = Path(__file__).parent.parent.parent / "docs" / "reference"


def test_pages_are_current(rules: Rules) -> None:
    """The pages in docs/reference are those that the rules give."""
    made = pages(rules)
    assert {path.name for path in DOCS.glob("*.md")} == set(made)
    stale = [n for n, text in made.items() if (DOCS / n).read_text(encoding="utf-8") != text]
    assert stale == [], "run python -m keygen.cli.reference docs/reference"


def test_pages_are_complete(rules: Rules) -> None:
    """Every couplet, attribute, state, type of a region and source has its place."""
    made = pages(rules)
    for couplet in rules.couplets.values():
        assert f"## {couplet.number}. {couplet.ask}" in made["key.md"]
    for attribute in rules.attributes:
        assert f"`{attribute.item_of or attribute.id}`" in made["vocabulary.md"]
    for region in rules.regions.values():
        assert f"## {region.label}" in made["types.md"]
        for kind in rules.in_region(region.id):
            assert f"| {kind.name} (`{kind.id}`) |" in made["types.md"]
    for source in rules.sources.values():
        assert source.cite in made["sources.md"]
