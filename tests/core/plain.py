"""The rules of judging, written out plainly: dictionaries of sets, and loops over all of them.

Nothing here knows of bit sets or of an index. The core is held against it, piece by piece, and the
benchmark of calls against its time. An attribute of which nothing is said is left out of a box.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, field

from keygen.core.model import Criterion, Rules

States = Mapping[str, Set[str]]  # states by attribute id


@dataclass(frozen=True)
class Judged:
    """A type held against a piece: its criteria by attribute id."""

    type: str
    met: tuple[str, ...]
    open: tuple[str, ...]
    against: tuple[str, ...]
    usual_met: tuple[str, ...] = ()
    usual_against: tuple[str, ...] = ()
    set_aside: tuple[str, ...] = ()

    @property
    def standing(self) -> str:
        """Return consistent, possible or excluded."""
        if self.against:
            return "excluded"
        return "possible" if self.open else "consistent"


@dataclass(frozen=True)
class Called:
    """A call: status, and the types that it names; candidates and near misses by type id."""

    status: str
    reason: str
    candidates: Mapping[str, str]
    near_misses: Set[str] = field(default_factory=set)

    @property
    def types(self) -> Set[str]:
        """Return the types that the call names."""
        return set() if self.reason else set(self.candidates)


class Plain:
    """Some rules as dictionaries of sets."""

    def __init__(self, rules: Rules) -> None:
        self.every = {a.id: frozenset(state.id for state in a.states) for a in rules.attributes}
        self.stability = {a.id: a.stability for a in rules.attributes}
        self.lessens = {a.id: [s.id for s in a.states] for a in rules.attributes if a.lessens}
        self.universe = [
            self._said((a.id, a.ids(mask)) for a, mask in zip(rules.attributes, box, strict=True))
            for box in rules.universe
        ]
        self.defined = {k.id: self._criteria(rules, k.defined_by) for k in rules.types.values()}
        self.usual = {k.id: self._criteria(rules, k.usual) for k in rules.types.values()}
        self.regions = {r: [kind.id for kind in rules.in_region(r)] for r in rules.regions}
        self.ordinary = {
            a.id: frozenset(a.ids(a.unless_said)) for a in rules.attributes if a.unless_said
        }
        self.pieces = {name: list(self._within(self.defined[name])) for name in self.defined}

    def _said(self, states: Iterable[tuple[str, Iterable[str]]]) -> dict[str, frozenset[str]]:
        found = {name: frozenset(ids) for name, ids in states}
        return {name: ids for name, ids in found.items() if ids != self.every[name]}

    def _criteria(self, rules: Rules, found: Iterable[Criterion]) -> dict[str, frozenset[str]]:
        attributes = rules.attributes
        return {
            attributes[c.attribute].id: frozenset(attributes[c.attribute].ids(c.allowed))
            for c in found
        }

    def _within(self, limits: States) -> Iterable[dict[str, Set[str]]]:
        """Return the pieces of the universe that have some states, narrowed to them."""
        for box in self.universe:
            for name, states in limits.items():
                shown = box.get(name)
                if shown is not None and shown.isdisjoint(states):
                    break
            else:
                yield {**box, **{n: box[n] & s if n in box else s for n, s in limits.items()}}

    def known(self, rules: Rules, masks: Iterable[int]) -> dict[str, frozenset[str]]:
        """Return masks as states by attribute id."""
        return self._said(
            (a.id, a.ids(mask)) for a, mask in zip(rules.attributes, masks, strict=True)
        )

    def close(self, observed: States) -> dict[str, Set[str]] | None:
        """Return what follows from some observations; None if no piece can have them together."""
        boxes = list(self._within(observed))
        if not boxes:
            return None
        found: dict[str, Set[str]] = {}
        for name, every in self.every.items():
            states: set[str] = set()
            for box in boxes:
                states |= box.get(name, every)
                if len(states) == len(every):
                    break
            else:
                found[name] = states
        return found

    def set_aside(self, known: States, measured: Set[str] = frozenset()) -> set[str]:
        """Return the attributes not weighed: of the blade, if it was made over."""
        wear = known.get("resharpening", {"none"})
        if "none" in known.get("reworked_as", {"none"}) and wear != {"heavy"}:
            return set()
        return {n for n, kind in self.stability.items() if kind == "blade" and n not in measured}

    def weighed(self, name: str, known: States, aside: Set[str]) -> States:
        """Return the criteria of a type that count for a piece."""
        return {
            a: states
            for a, states in self.defined[name].items()
            if a not in aside or self._outgrown(a, states, known)
        }

    def _outgrown(self, attribute: str, allowed: Set[str], known: States) -> bool:
        """Tell whether a piece is larger than a type allows even if it was larger once."""
        order = self.lessens.get(attribute)
        if order is None or attribute not in known:
            return False
        return max(map(order.index, allowed)) < min(map(order.index, known[attribute]))

    def together(self, name: str, known: States, aside: Set[str]) -> bool:
        """Tell whether some piece meets a whole definition and all that is weighed."""
        limits = [(a, states) for a, states in known.items() if a not in aside]
        for piece in self.pieces[name]:
            for attribute, states in limits:
                shown = piece.get(attribute)
                if shown is not None and shown.isdisjoint(states):
                    break
            else:
                return True
        return False

    def standing(self, name: str, known: States, aside: Set[str]) -> str:
        """Return the standing of a type, and stop at the first thing that speaks against it."""
        standing = "consistent"
        for attribute, allowed in self.weighed(name, known, aside).items():
            shown = known.get(attribute)
            if shown is None:
                standing = "possible"
            elif shown.isdisjoint(allowed):
                return "excluded"
            elif not shown <= allowed:
                standing = "possible"
        return standing if self.together(name, known, aside) else "excluded"

    def rests_on_haft(self, name: str, known: States) -> bool:
        """Tell whether something that defines a type is met on the haft."""
        return any(
            self.stability[a] == "haft" and a in known and known[a] <= allowed
            for a, allowed in self.defined[name].items()
        )

    def call(self, region: str, known: States, measured: Set[str] = frozenset()) -> Called:
        """Return the call without its reasons; no near misses."""
        aside = self.set_aside(known, measured)
        standings = {name: self.standing(name, known, aside) for name in self.regions[region]}
        listed = {name: found for name, found in standings.items() if found != "excluded"}
        if not listed:
            return Called("untyped", "none_fits", {})
        if not any(self.rests_on_haft(name, known) for name in listed):
            return Called("untyped", "haft_unknown", listed)
        if len(listed) > 1:
            return Called("either", "", listed)
        return Called("assigned" if "consistent" in listed.values() else "cf.", "", listed)

    def judge(self, name: str, known: States, aside: Set[str]) -> Judged:
        """Hold one type against a piece, with reasons."""
        weighed = self.weighed(name, known, aside)
        seen = {a: known.get(a, self.every[a]) for a in self.every}
        met = [a for a, allowed in weighed.items() if seen[a] <= allowed]
        against = [a for a, allowed in weighed.items() if not seen[a] & allowed]
        if not against and not self.together(name, known, aside):
            against = self._clash(weighed, known)
        usual = {a: states for a, states in self.usual[name].items() if a not in aside}
        unsaid = self.ordinary.keys() - self.defined[name].keys() - self.usual[name].keys() - aside
        odd = [a for a in self.every if a in unsaid and not seen[a] & self.ordinary[a]]
        return Judged(
            type=name,
            met=tuple(a for a in met if a not in against),
            open=tuple(a for a in weighed if a not in met and a not in against),
            against=tuple(against),
            usual_met=tuple(
                a
                for a, allowed in usual.items()
                if seen[a] <= allowed and (seen[a] != {"none"} or allowed == {"none"})
            ),
            usual_against=(*(a for a, allowed in usual.items() if not seen[a] & allowed), *odd),
            set_aside=tuple(
                a
                for said in (self.defined[name], self.usual[name])
                for a in said
                if a in aside and (said is self.usual[name] or a not in weighed)
            ),
        )

    def _clash(self, weighed: States, known: States) -> list[str]:
        """Leave out one criterion after another as long as the rest cannot be met."""
        left = list(weighed)
        for attribute in weighed:
            limits = dict(known)
            for a in left:
                if a != attribute:
                    limits[a] = known.get(a, self.every[a]) & weighed[a]
            if not list(self._within(limits)):
                left.remove(attribute)
        return left
