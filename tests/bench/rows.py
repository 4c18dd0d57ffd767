"""Rows of a table of pieces, for the benchmarks: drawn from the types, with losses and doubts.

Each row is a piece of some type in a region where it is known. Of what the type shows some is lost,
some left between states, some seen otherwise; what the type says nothing of was seen now and then.
So few rows are alike, as in a large collection. The same seed draws the same rows.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from random import Random

from keygen.core.examine import Piece
from keygen.core.measure import read
from keygen.core.model import Rules
from keygen.core.observe import Observation

SEED = 20_240
OPEN = ("", "", "", "?")  # how a cell says nothing
LOST, DOUBTED, OTHERWISE = 0.15, 0.08, 0.01
BESIDE = 0.3  # of the attributes that the type leaves free
MADE_OVER = 0.05
MEASURED = 0.3
SPANS = {
    "length": (25.0, 90.0),
    "width": (15.0, 40.0),
    "thickness": (4.0, 11.0),
    "neck_width": (8.0, 24.0),
    "base_width": (7.0, 28.0),
    "haft_length": (6.0, 22.0),
    "weight": (1.5, 20.0),
}


@dataclass(frozen=True)
class BenchRow:
    """A row of raw text: cells by attribute id, measurements by id, and a region's id."""

    number: str
    cells: Mapping[str, str]
    measures: Mapping[str, str]
    region: str


def attributes_told(rules: Rules) -> tuple[str, ...]:
    """Return the attributes that rows have a cell for: all about form, and the portion."""
    return tuple(a.id for a in rules.attributes if a.stability != "record" or a.id == "portion")


def rows(rules: Rules, count: int, seed: int = SEED) -> Iterator[BenchRow]:
    """Draw rows. A cell is empty, `?`, a state's id, or several joined by a slash."""
    chance = Random(seed)
    placed = [(region, kind.id) for region in rules.regions for kind in rules.in_region(region)]
    told = [(name, rules.index[name]) for name in attributes_told(rules)]
    for number in range(1, count + 1):
        region, name = chance.choice(placed)
        usual = {c.attribute: c.allowed for c in rules.types[name].usual}
        defined = {c.attribute for c in rules.types[name].defined_by}
        box = chance.choice(rules.pieces[name])
        cells = {}
        for attribute, i in told:
            masks = (box[i] & usual.get(i, box[i])) or box[i]
            shown = i in defined or i in usual or chance.random() < BESIDE
            cells[attribute] = _cell(rules, chance, i, masks, shown)
        cells["portion"] = chance.choice(("complete", "complete", "complete", "near_complete"))
        made_over = chance.random() < MADE_OVER
        cells["reworked_as"] = chance.choice(("drill", "scraper")) if made_over else "none"
        cells["resharpening"] = chance.choice(("none",) * 4 + ("light",) * 4 + ("", "heavy"))
        measures = {}
        if chance.random() < MEASURED:
            for key, (low, high) in SPANS.items():
                if chance.random() > LOST:
                    measures[key] = f"{chance.uniform(low, high):.1f}"
        yield BenchRow(f"{number:07}", cells, measures, region)


def _cell(rules: Rules, chance: Random, i: int, mask: int, shown: bool) -> str:
    attribute = rules.attributes[i]
    if not shown or chance.random() < LOST:
        return chance.choice(OPEN)
    state = chance.choice(attribute.ids(mask))
    if chance.random() < OTHERWISE:
        state = chance.choice([s.id for s in attribute.states])
    if chance.random() < DOUBTED:
        other = chance.choice([s.id for s in attribute.states])
        return f"{state}/{other}" if other != state else state
    return state


def made_over(row: BenchRow) -> bool:
    """Tell whether a row says that the blade was made over, so that it is set aside."""
    return row.cells["reworked_as"] != "none" or row.cells["resharpening"] == "heavy"


class CellReader:
    """What reads the cells of one attribute, as `keygen.core.brief.Cells` asks for it.

    Attributes:
        asked: how many cells were read.
    """

    def __init__(self, rules: Rules, name: str) -> None:
        self._attribute, self._i = rules.attributes[rules.index[name]], rules.index[name]
        self.asked = 0

    def __call__(self, text: str) -> dict[int, int]:
        """Return the states that a cell leaves."""
        self.asked += 1
        if text in OPEN:
            return {}
        return {self._i: sum({self._attribute.bits[word] for word in text.split("/")})}


def piece_of(rules: Rules, row: BenchRow) -> Piece:
    """Return a row as a piece, each state seen."""
    observations = {
        i: Observation(mask, "seen")
        for name, text in row.cells.items()
        for i, mask in CellReader(rules, name)(text).items()
    }
    readings = {
        name: read(text, rules.measurements[name].unit) for name, text in row.measures.items()
    }
    return Piece(label=row.number, observations=observations, readings=readings)
