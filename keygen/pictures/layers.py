"""A drawing of an acyclic graph in layers: every edge points down, and edges to one end join.

Longest path for the layers, averages of the neighbours for the order in a layer and for the places
along it. An edge that crosses layers runs through a *pass* in each; edges to the same node share
their passes, so that they flow together and the drawing stays open.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

Spot = tuple[str, int]  # a node in its own layer, or a pass on the way to it in a layer above
_SWEEPS = 24
_STRAIGHT = 4.0  # how much more the place of a pass weighs than that of a node


@dataclass(frozen=True)
class Layout:
    """Where nodes and passes are.

    Attributes:
        layers: the spots of each layer, from left to right.
        x: the middle of each spot.
        links: pairs of spots in neighbouring layers that a line joins.
    """

    layers: tuple[tuple[Spot, ...], ...]
    x: Mapping[Spot, float]
    links: frozenset[tuple[Spot, Spot]]

    @property
    def layer(self) -> Mapping[str, int]:
        """Return the layer of each node: the lowest in which its name occurs."""
        return {name: k for k, spots in enumerate(self.layers) for name, _ in spots}


def layout(
    nodes: Sequence[str], edges: Iterable[tuple[str, str]], wide: float, narrow: float
) -> Layout:
    """Lay out a graph.

    Args:
        nodes: names in an order in which every edge points forward.
        edges: pairs of names; several between the same two count once.
        wide, narrow: room that a node and a pass take up along a layer.
    """
    edges = tuple(dict.fromkeys(edges))
    layer = _layers(nodes, edges)
    links = _links(edges, layer)
    rows: list[list[Spot]] = [[] for _ in range(max(layer.values(), default=-1) + 1)]
    for spot in dict.fromkeys(s for name in nodes for s in _spots(name, layer, links)):
        rows[spot[1]].append(spot)
    rows = _ordered(rows, links)
    room = {s: wide if s[1] == layer[s[0]] else narrow for row in rows for s in row}
    return Layout(tuple(map(tuple, rows)), _placed(rows, links, room, wide), links)


def _layers(nodes: Sequence[str], edges: Sequence[tuple[str, str]]) -> dict[str, int]:
    layer = dict.fromkeys(nodes, 0)
    rank = {name: i for i, name in enumerate(nodes)}
    for one, other in sorted(edges, key=lambda edge: rank[edge[0]]):
        layer[other] = max(layer[other], layer[one] + 1)
    return layer


def _links(
    edges: Iterable[tuple[str, str]], layer: Mapping[str, int]
) -> frozenset[tuple[Spot, Spot]]:
    links: set[tuple[Spot, Spot]] = set()
    for one, other in edges:
        way = [(one, layer[one]), *((other, k) for k in range(layer[one] + 1, layer[other] + 1))]
        links.update(pairwise(way))
    return frozenset(links)


def _spots(name: str, layer: Mapping[str, int], links: frozenset[tuple[Spot, Spot]]) -> list[Spot]:
    """Return a node and what it links to below, a first order from left to right."""
    own = (name, layer[name])
    return [own, *sorted(other for one, other in links if one == own and other[1] > own[1])]


def _neighbours(links: frozenset[tuple[Spot, Spot]], downward: bool) -> dict[Spot, list[Spot]]:
    found: dict[Spot, list[Spot]] = {}
    for one, other in sorted(links):
        if downward:
            found.setdefault(other, []).append(one)
        else:
            found.setdefault(one, []).append(other)
    return found


def _ordered(rows: list[list[Spot]], links: frozenset[tuple[Spot, Spot]]) -> list[list[Spot]]:
    """Return the layers in the order with the fewest crossings that sweeping comes upon."""
    missing = {spot for link in links for spot in link} - {s for row in rows for s in row}
    for spot in sorted(missing):  # passes below the first one on a way
        rows[spot[1]].append(spot)
    best, fewest = rows, _crossings(rows, links)
    for sweep in range(_SWEEPS):
        downward = sweep % 2 == 0
        near = _neighbours(links, downward)
        rows = [list(row) for row in rows]
        for k in range(len(rows)) if downward else reversed(range(len(rows))):
            beside = k - 1 if downward else k + 1
            if 0 <= beside < len(rows):
                place = {s: i for i, s in enumerate(rows[beside])}
                own = {s: i for i, s in enumerate(rows[k])}
                rows[k].sort(key=lambda s: _mean((place[n] for n in near.get(s, ())), own[s]))
        found = _crossings(rows, links)
        if found < fewest:
            best, fewest = rows, found
    return best


def _mean(values: Iterable[float], otherwise: float) -> float:
    found = list(values)
    return sum(found) / len(found) if found else otherwise


def _crossings(rows: Sequence[Sequence[Spot]], links: frozenset[tuple[Spot, Spot]]) -> int:
    place = {s: i for row in rows for i, s in enumerate(row)}
    by_layer: dict[int, list[tuple[int, int]]] = {}
    for one, other in links:
        by_layer.setdefault(one[1], []).append((place[one], place[other]))
    return sum(
        (a - c) * (b - d) < 0
        for ends in by_layer.values()
        for (a, b), (c, d) in combinations(ends, 2)
    )


def _placed(
    rows: Sequence[Sequence[Spot]],
    links: frozenset[tuple[Spot, Spot]],
    room: Mapping[Spot, float],
    wide: float,
) -> dict[Spot, float]:
    """Return the middles of all spots: near their neighbours, and never over one another."""
    x: dict[Spot, float] = {}
    for row in rows:
        edge = -sum(room[s] for s in row) / 2
        for spot in row:
            x[spot] = edge + room[spot] / 2
            edge += room[spot]
    for sweep in range(_SWEEPS):
        near = _neighbours(links, sweep % 2 == 0)
        for row in rows if sweep % 2 == 0 else reversed(rows):
            wanted = [_mean((x[n] for n in near.get(s, ())), x[s]) for s in row]
            weights = [1.0 if room[s] == wide else _STRAIGHT for s in row]
            apart = [(room[a] + room[b]) / 2 for a, b in pairwise(row)]
            x |= zip(row, spaced(wanted, apart, weights), strict=True)
    return x


def spaced(
    wanted: Sequence[float], apart: Sequence[float], weights: Sequence[float]
) -> list[float]:
    """Return places in order and at least so far apart, as near to those wanted as can be.

    Nearest by weighted squares: what would overlap moves together, as a block.

    Args:
        apart: the least distance from each place to the next.
    """
    offsets = [0.0]
    for gap in apart:
        offsets.append(offsets[-1] + gap)
    blocks: list[tuple[float, float, int]] = []  # place, weight, how many
    for want, offset, weight in zip(wanted, offsets, weights, strict=True):
        block = (want - offset, weight, 1)
        while blocks and blocks[-1][0] > block[0]:
            place, heavy, count = blocks.pop()
            whole = heavy + block[1]
            block = ((place * heavy + block[0] * block[1]) / whole, whole, count + block[2])
        blocks.append(block)
    places = [place for place, _, count in blocks for _ in range(count)]
    return [place + offset for place, offset in zip(places, offsets, strict=True)]
