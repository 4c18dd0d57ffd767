"""Cells that hold a measurement."""

from __future__ import annotations

import re

from keygen.collection.model import Column
from keygen.collection.said import NOTHING, Remark, Said, no_state, refused
from keygen.core.measure import LONGEST, Reading, doubts
from keygen.core.model import Measurement, Rules
from keygen.errors import KeygenError
from keygen.specimens.given import reading

# Common practice, no source: how units are written in headers and cells.
UNITS = {
    **dict.fromkeys(("mm", "millimeter", "millimeters", "millimetre", "millimetres"), "mm"),
    **dict.fromkeys(("cm", "cms", "centimeter", "centimeters", "centimetre", "centimetres"), "cm"),
    **dict.fromkeys(("in", "ins", "inch", "inches", '"', "\u2033", "''"), "in"),
    **dict.fromkeys(("g", "gm", "gms", "gr", "gram", "grams", "gramme", "grammes"), "g"),
    **dict.fromkeys(("oz", "ounce", "ounces"), "oz"),
    **dict.fromkeys(("deg", "degs", "degree", "degrees", "\u00b0"), "deg"),
}
_PARTS = re.compile(
    r"(?P<least>[>\u2265]\s*)?(?P<open>\()?\s*(?P<number>\d*[.,]?\d+|\d+[.,])\s*(?P<close>\))?\s*"
    r"(?P<unit>[a-z\u00b0\"\u2033']*)\.?\s*(?P<close2>\))?\s*(?P<plus>\+)?"
    r"\s*(?P<late>[a-z\u00b0\"\u2033']*)\.?",
    re.IGNORECASE,
)
_FRACTION = re.compile(
    r"(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)\s*(?:in\.?|inch(?:es)?|\"|\u2033)?", re.IGNORECASE
)
_OTHER = {"mm": ("cm", "in"), "g": ("oz",), "deg": ()}
_NAMES = {"in": "inches", "oz": "ounces"}
_FACTORS = {"cm": 10.0, "in": 25.4, "oz": 28.349523125}


class FigureCells:
    """Reads the cells of one column that holds a measurement."""

    def __init__(self, rules: Rules, column: Column) -> None:
        self.rules = rules
        self.column = column
        self.measurement = rules.measurements[column.target]
        self.unit = column.unit if column.unit != self.measurement.unit else ""

    def read(self, text: str) -> Said:
        """Return the reading of a cell, with a warning if it can hardly be right."""
        if not text or text in self.column.codes or no_state(text):
            return NOTHING
        entered = as_entered(text, self.unit)
        try:
            found = reading(self.rules, self.measurement.id, entered or text)
        except KeygenError as error:
            remedy = _fraction(text) or error.problems[0].remedy
            if found_zero(text):
                remedy = "Leave the cell empty where nothing was measured."
            return refused(f"{text!r} is not a measurement of the {self.measurement.label}", remedy)
        return Said(reading=found, remarks=self._doubts(found))

    def _doubts(self, found: Reading) -> tuple[Remark, ...]:
        told = doubts(self.rules, {self.measurement.id: found})
        unit = likely_unit(self.measurement, found.value)
        remedy = ""
        if unit:
            value = found.value * _FACTORS[unit]
            remedy = f"If it is in {_NAMES.get(unit, unit)}, it is {value:.4g} "
            remedy += f"{self.measurement.unit}."
        return tuple(Remark(what, remedy, "warning") for what in told)


def as_entered(text: str, unit: str) -> str:
    """Return a figure in the one form that records keep, or nothing if it has another form.

    The digits stay as they are; `unit`, that of the column, is added where the cell names none.
    """
    match = _PARTS.fullmatch(text) if len(text) <= LONGEST else None
    if not match:
        return ""
    named = (match["unit"] or match["late"]).lower()
    if (match["unit"] and match["late"]) or (named and named not in UNITS):
        return ""
    closed = bool(match["close"]) + bool(match["close2"])
    if closed != bool(match["open"]):
        return ""
    number = match["number"].rstrip(".,")
    number = f"0{number}" if number[0] in ".," else number
    said = UNITS[named] if named else unit
    figure = f"{number} {said}" if said else number
    if match["open"]:
        return f"({figure})"
    return f"{figure}+" if match["plus"] or match["least"] else figure


def found_zero(text: str) -> bool:
    """Tell whether a figure is zero."""
    digits = re.findall(r"\d", text)
    return bool(digits) and set(digits) == {"0"}


def likely_unit(measurement: Measurement, value: float) -> str:
    """Return in which other unit a figure would be an ordinary one, if it is none as it stands.

    Args:
        measurement: what was measured.
        value: the figure, taken to be in the measurement's own unit.
    """
    if measurement.low <= value <= measurement.high:
        return ""
    usual = (
        unit
        for unit in _OTHER[measurement.unit]
        if measurement.low <= value * _FACTORS[unit] <= measurement.high
    )
    return next(usual, "")


def _fraction(text: str) -> str:
    """Return how a fraction of an inch is written here, or nothing."""
    match = _FRACTION.fullmatch(text) if len(text) <= LONGEST else None
    if not match or not int(match[3]):
        return ""
    value = int(match[1] or 0) + int(match[2]) / int(match[3])
    return f"Write fractions as decimals: {value:.4g} in."
