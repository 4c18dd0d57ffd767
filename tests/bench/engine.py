"""The rules of the types in a general-purpose rule engine, to be timed beside the core.

CLIPS 6.4 through clipspy (extra `bench`): the fastest found in the package registry. Of two others
that were tried on one rule a type, zen-engine took 2.4 times and rule-engine 15 times as long.

One rule stands for each part of the universe in which a type can be met, so that the engine also
knows what goes together on one piece: it names exactly the types that a call lists. It does not
weigh rework, nor tell consistent from possible, nor close what was observed over the key; pieces
that were made over are therefore left out of the comparison.
"""

from __future__ import annotations

from collections.abc import Iterable
from importlib import import_module
from typing import Any

from keygen.core.model import Rules
from tests.bench.rows import BenchRow

ANY = "any"  # how a fact says that nothing is known of an attribute


class Engine:
    """An environment of CLIPS with the rules of all types in all regions.

    Args:
        rules: the rules to write out.
        told: the attributes that facts speak of.
    """

    def __init__(self, rules: Rules, told: Iterable[str]) -> None:
        clips: Any = import_module("clips")
        self._told = frozenset(told)
        self._environment = clips.Environment()
        slots = " ".join(f"(multislot {name} (default {ANY}))" for name in sorted(self._told))
        self._environment.build("(defglobal ?*found* = (create$))")
        self._environment.build(f"(deftemplate piece (slot region) {slots})")
        self.rules = 0
        for name, kind in rules.types.items():
            regions = [region for region in rules.regions if kind in rules.in_region(region)]
            for patterns in {self._patterns(rules, box) for box in rules.pieces[name]}:
                if regions:
                    self._add(name, f"(region {'|'.join(regions)}) {patterns}")
        self._template = self._environment.find_template("piece")
        self._found = self._environment.find_global("found")
        words = {*rules.regions, *(s.id for a in rules.attributes for s in a.states)}
        self._symbols = {word: clips.Symbol(word) for word in words}

    def _patterns(self, rules: Rules, box: Iterable[int]) -> str:
        return " ".join(
            f"({a.id} $? {'|'.join((*a.ids(mask), ANY))} $?)"
            for a, mask in zip(rules.attributes, box, strict=True)
            if a.id in self._told and mask != a.full
        )

    def _add(self, name: str, patterns: str) -> None:
        self.rules += 1
        self._environment.build(
            f"(defrule r{self.rules} (piece {patterns})"
            f" => (bind ?*found* (create$ ?*found* {name})))"
        )

    def types(self, row: BenchRow) -> set[str]:
        """Return the types that fit the cells of a row, by id."""
        symbols = self._symbols
        said = {
            name: [symbols[word] for word in text.split("/")]
            for name, text in row.cells.items()
            if text not in ("", "?")
        }
        fact = self._template.assert_fact(region=symbols[row.region], **said)
        self._environment.run()
        found = {str(name) for name in self._found.value}
        self._found.value = ()
        fact.retract()
        return found
