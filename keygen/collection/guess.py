"""Guesses at what a column holds, from its name cut short and from the values in its cells."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from statistics import median

from keygen.collection.cells import cells_of
from keygen.collection.figures import as_entered, likely_unit
from keygen.collection.model import Column
from keygen.collection.said import no_state
from keygen.collection.short import Short
from keygen.collection.stated import StatedCells
from keygen.core.measure import read
from keygen.core.model import Rules
from keygen.rulebase.thesaurus import plain
from keygen.specimens.provenience import trinomial
from keygen.specimens.terms import Lexicon

MOST_CODES = 30
ENOUGH = 0.75  # of the different values, to take a guess


@dataclass(frozen=True)
class Guess:
    """What a column may hold, the words that its codes stand for, and from what that was guessed.

    Without a column nothing was found; `why` then says what was considered.
    """

    column: Column | None
    why: str = ""
    codes: Mapping[str, Mapping[str, Sequence[str]]] = field(default_factory=dict)
    unread: tuple[str, ...] = ()


class Guesser:
    """Guesses under one edition of the rules."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.lexicon = Lexicon(rules)
        self.shorts: dict[str, Short] = {}
        attributes = {a.id: a.label for a in rules.attributes if not a.item_of} | dict(rules.many)
        self.attributes = {name: _tokens(name, label) for name, label in attributes.items()}
        parts = {a.item_of or a.id: a.part for a in rules.attributes}
        self.places = {name: (*self.attributes[name], (part,)) for name, part in parts.items()}
        self.measurements = {m.id: _tokens(m.id, m.label) for m in rules.measurements.values()}
        self.types = {
            plain(name)
            for kind in rules.types.values()
            for name in (kind.id, kind.name, *kind.aliases, *kind.also)
        }

    def guess(self, name: str, values: Counter[str]) -> Guess:
        """Guess at a column that its name does not place."""
        told = [value for value in values if not no_state(value)]
        if not told:
            return Guess(None, "its cells are empty")
        if _share(told, lambda value: plain(value) in self.types) >= ENOUGH:
            return Guess(Column(name, "call", "call"), "guessed from its values: names of types")
        if _share(told, lambda value: trinomial(value) is not None) >= ENOUGH:
            return Guess(Column(name, "detail", "site"), "guessed from its values: site numbers")
        if _share(told, lambda value: bool(as_entered(value, ""))) >= ENOUGH:
            return self._figures(name, values)
        short = [
            guess
            for target in _begun(name, self.attributes)
            if (guess := self.states(Column(name, "attribute", target), values)).column
        ]
        if len(short) == 1:
            return Guess(short[0].column, f"guessed from its name: {short[0].why}", short[0].codes)
        return self._by_values(name, values)

    def states(self, column: Column, values: Counter[str]) -> Guess:
        """Return which states the values of an attribute's column may be codes of.

        Codes are the beginnings or initials of terms; a guess is made if most values can be read.
        """
        guess = self.codes(column, values)
        told = [value for value in values if not no_state(value)]
        if len(guess.codes) + len(guess.unread) > MOST_CODES:
            return Guess(None)
        few = told and 1 - len(guess.unread) / len(told) < ENOUGH
        return Guess(None) if few else guess

    def codes(self, column: Column, values: Counter[str]) -> Guess:
        """Return which states the values of an attribute's column may be codes of, however few."""
        reader = cells_of(self.lexicon, column)
        words = [value for value in values if not no_state(value)]
        bad = [v for v in words if any(r.grade == "error" for r in reader[v].remarks)]
        codes = {value: said for value in bad if (said := self._short(column.target, value))}
        unread = tuple(value for value in bad if value not in codes)
        why = "codes guessed by their letters" if codes else "its values are terms"
        return Guess(column, why, codes, unread)

    def _short(self, name: str, value: str) -> dict[str, Sequence[str]]:
        """Return the one thing that a code may be short for, as states by attribute."""
        if name not in self.shorts:
            self.shorts[name] = StatedCells(self.lexicon, Column("", "attribute", name)).short
        limits = self.shorts[name].meant(value) or {}
        attributes = self.rules.attributes
        return {attributes[i].id: attributes[i].ids(mask) for i, mask in limits.items()}

    def _figures(self, name: str, values: Counter[str]) -> Guess:
        targets = _begun(name, self.measurements)
        if len(targets) != 1:
            several = f": {' or '.join(targets)}?" if targets else ""
            return Guess(None, f"it holds figures, but of what is not known{several}")
        column, why = self.unit(Column(name, "measurement", targets[0]), values)
        return Guess(column, "guessed from its name" + (f"; {why}" if why else ""))

    def unit(self, column: Column, values: Iterable[str]) -> tuple[Column, str]:
        """Return a column of figures with the unit that they are most likely in, and why."""
        measurement = self.rules.measurements[column.target]
        numbers = []
        for value in values:
            try:
                numbers.append(read(as_entered(value, "") or value, measurement.unit).value)
            except ValueError:
                continue
        unit = likely_unit(measurement, median(numbers)) if numbers and not column.unit else ""
        if not unit:
            return column, ""
        return replace(column, unit=unit), f"{unit} guessed from the size of its figures"

    def _by_values(self, name: str, values: Counter[str]) -> Guess:
        """Guess at the one attribute of which most values are states, or can be codes."""
        found = []
        for target in self.attributes:
            guess = self.states(Column(name, "attribute", target), values)
            if guess.column:
                found.append((len(guess.codes) + 2 * len(guess.unread), guess))
        if not found:
            return Guess(None, "nothing is known by its name or its values")
        best = min(cost for cost, _ in found)
        alike = [guess for cost, guess in found if cost == best]
        tokens = _split(name)
        named = [
            guess
            for guess in alike
            if guess.column and _shares(tokens, self.places[guess.column.target])
        ]
        alike = named or alike
        if len(alike) == 1:
            one = alike[0]
            return Guess(one.column, f"guessed from its values: {one.why}", one.codes, one.unread)
        targets = [guess.column.target for guess in alike if guess.column]
        return Guess(None, f"its values could be those of {', '.join(targets[:6])}")


def _split(name: str) -> list[str]:
    split = re.sub(r"(?<=[a-z])(?=[A-Z])|(?<=^max)(?=[a-z])", " ", name)
    words = re.sub(r"[\W_]+", " ", split).casefold().split()
    return [word for word in words if word not in ("max", "maximum", "of", "the")]


def _tokens(*names: str) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(_split(name)) for name in names)


def _begun(name: str, targets: Mapping[str, tuple[tuple[str, ...], ...]]) -> list[str]:
    """Return the targets of whose names every word of a shortened name is a beginning.

    `B.Width` is the basal width. Those of whose name least is left over go before the others.
    """
    short = _split(name)
    if not short or (max(map(len, short)) < 3 and not name.casefold().startswith("max")):
        return []
    left: dict[str, int] = {}
    for target, names in targets.items():
        for tokens in names:
            rest = list(tokens)
            for word in short:
                match = next((token for token in rest if token.startswith(word)), None)
                if match is None:
                    break
                rest.remove(match)
            else:
                left[target] = min(len(rest), left.get(target, len(rest)))
    least = min(left.values(), default=0)
    return [target for target, rest in left.items() if rest == least]


def _shares(short: list[str], names: tuple[tuple[str, ...], ...]) -> bool:
    return any(t.startswith(word) for word in short for tokens in names for t in tokens)


def _share(values: Sequence[str], test: Callable[[str], bool]) -> float:
    return sum(map(test, values)) / len(values)
