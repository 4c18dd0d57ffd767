"""The mapping file: what the columns and codes of a house mean. Its form is in docs/tables.md."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from keygen.collection.model import Column, Kind
from keygen.collection.stated import observed_always
from keygen.core.model import Measurement, Rules
from keygen.errors import KeygenError, Problem, nearest
from keygen.rulebase.bounded import bytes_of, text_of
from keygen.rulebase.fields import Fields
from keygen.rulebase.thesaurus import plain
from keygen.rulebase.yamlio import Path as Place
from keygen.rulebase.yamlio import parse
from keygen.specimens.provenience import CONTEXT
from keygen.specimens.regions import region_of, regions_near
from keygen.specimens.terms import Lexicon, one_of

DETAILS = ("material", "colour", *CONTEXT, "observer", "date")
# What a column can be besides an attribute or a measurement, by the word of the mapping file.
FIELDS: Mapping[str, tuple[Kind, str]] = {
    "number": ("number", "number"),
    "region": ("region", "region"),
    "notes": ("notes", "notes"),
    "call": ("call", "call"),
    "call_reason": ("call", "reason"),
    "call_by": ("call", "by"),
    "call_date": ("call", "date"),
    "location": ("location", "location"),
    "ignore": ("unread", ""),
    **{name: ("detail", name) for name in DETAILS},
}
UNITS = {"mm": ("mm", "cm", "in"), "g": ("g", "oz"), "deg": ("deg",)}
NOT_RECORDED = "not recorded"
Codes = dict[str, dict[str, tuple[str, ...]]]


@dataclass(frozen=True)
class House:
    """What a mapping file says.

    Attributes:
        name: how messages call the file.
        region: the region's id where no row says one.
        always: what holds for every row: words for states by attribute id.
        not_recorded: what stands in any column where nothing was recorded.
        columns: the columns by the name that the table has for them.
    """

    name: str = ""
    region: str = ""
    always: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    not_recorded: tuple[str, ...] = ()
    columns: Mapping[str, Column] = field(default_factory=dict)


def load(rules: Rules, path: Path) -> House:
    """Read a mapping file.

    Raises:
        KeygenError: it is not one; every problem in it, with line and column.
        OSError: it cannot be opened.
    """
    name = str(path)
    return read(rules, text_of(bytes_of(path, name), name), name)


def read(rules: Rules, text: str, name: str) -> House:
    """Read the text of a mapping file; `name` is how messages call it.

    Raises:
        KeygenError: it is not one; every problem in it, with line and column.
    """
    problems: list[Problem] = []
    top = Fields(parse(text, name, as_text=True), problems)
    written = top.text("region", "")
    region = region_of(rules, written) if written else ""
    if written and not region:
        remedy = regions_near(rules, written)
        top.fault("K005", f"the region {written!r} is not known", "region", remedy)
    reader = _Reader(Lexicon(rules))
    house = House(
        name=name,
        region=region,
        always=reader.always(top.child("always")),
        not_recorded=top.texts("not_recorded"),
        columns=reader.columns(top),
    )
    top.done()
    if problems:
        raise KeygenError(problems)
    return house


class _Reader:
    """Reads the parts of a mapping file with the words of one edition of the rules."""

    def __init__(self, lexicon: Lexicon) -> None:
        self.lexicon = lexicon
        self.rules = lexicon.rules

    def always(self, entries: Fields) -> dict[str, tuple[str, ...]]:
        return self._targets(entries, entries.values, ())

    def columns(self, top: Fields) -> dict[str, Column]:
        group = top.child("columns")
        found = {}
        for name, value in group.values.items():
            if isinstance(value, dict):
                entry = group.child(name)
                column = self._long(entry, name)
                entry.done()
            elif isinstance(value, str):
                column = self._short(group, name, value)
            else:
                group.fault("K004", f"{name!r} has to say one thing, not {value!r}", name)
                column = None
            if column:
                found[name] = column
        return found

    def _short(self, group: Fields, name: str, word: str) -> Column | None:
        """Read the short form: a field, an attribute or a measurement by its id or label."""
        if word in FIELDS:
            kind, target = FIELDS[word]
            return Column(name, kind, target)
        measurement = self._measured(word)
        if measurement:
            return Column(name, "measurement", measurement.id)
        try:
            return Column(name, "attribute", self.lexicon.attribute(word))
        except KeygenError as error:
            allowed = {*FIELDS, *self.rules.measurements, *self.lexicon.labels}
            remedy = nearest(word, allowed) or error.problems[0].remedy
            group.fault("K410", f"{word!r} is no attribute, measurement or field", name, remedy)
            return None

    def _long(self, entry: Fields, name: str) -> Column | None:
        attribute, measure = entry.text("attribute", ""), entry.text("measure", "")
        word, unit = entry.text("field", ""), entry.text("unit", "")
        split, order = str(entry.values.get("split") or "").strip(), entry.text("order", "")
        entry.text("split", "")
        if sum(map(bool, (attribute, measure, word))) > 1:
            entry.fault("K004", f"{name!r} can be one thing: attribute, measure or field")
        kind: Kind = "attribute"
        target = ""
        if attribute:
            target = self._attribute(entry, "attribute", attribute)
        elif measure:
            kind, target = "measurement", self._measurement(entry, measure, unit)
        elif word:
            kind, target = self._field(entry, word)
        elif not entry.has("codes"):
            entry.fault("K003", f"{name!r} says nothing", (), "Give attribute, measure or field.")
        if unit and not measure:
            entry.fault("K410", "only a measure has a unit", "unit")
        if order and (order not in ("day", "month") or target != "date"):
            entry.fault("K410", f"order {order!r}", "order", "Give day or month, for a date.")
        codes = self._codes(entry.child("codes"), kind, target)
        return Column(name, kind, target, unit, codes, split, order)

    def _attribute(self, entry: Fields, key: str, words: str) -> str:
        try:
            return self.lexicon.attribute(words)
        except KeygenError as error:
            entry.fault("K410", error.problems[0].what, key, error.problems[0].remedy)
            return ""

    def _measured(self, word: str) -> Measurement | None:
        """Return a measurement by its id or label."""
        for measurement in self.rules.measurements.values():
            if plain(word) in (plain(measurement.id), plain(measurement.label)):
                return measurement
        return None

    def _measurement(self, entry: Fields, word: str, unit: str) -> str:
        measurements = self.rules.measurements
        found = self._measured(word)
        if not found:
            remedy = nearest(word, measurements) or one_of(tuple(measurements))
            entry.fault("K410", f"the measurement {word!r} is not known", "measure", remedy)
            return ""
        if unit and unit not in UNITS[found.unit]:
            what = f"the {found.label} is not measured in {unit!r}"
            entry.fault("K410", what, "unit", one_of(UNITS[found.unit]))
        return found.id

    def _field(self, entry: Fields, word: str) -> tuple[Kind, str]:
        if word in FIELDS:
            return FIELDS[word]
        remedy = nearest(word, FIELDS) or one_of(tuple(FIELDS))
        entry.fault("K410", f"the field {word!r} is not known", "field", remedy)
        return ("unread", "")

    def _codes(self, entries: Fields, kind: Kind, target: str) -> Codes:
        found: Codes = {}
        for code, value in entries.values.items():
            if value is None or value == NOT_RECORDED:
                found[code] = {}
            elif isinstance(value, dict):
                found[code] = self._targets(entries.child(code), value, ())
                if kind != "attribute":
                    entries.fault("K411", f"the code {code!r} can only be one word here", code)
            elif kind == "measurement":
                what = f"the code {code!r} of a measurement can only mean {NOT_RECORDED!r}"
                entries.fault("K411", what, code)
            elif target:
                given = self._targets(entries, {target: value}, (code,), kind == "attribute")
                found[code] = given
            elif kind == "attribute":
                what = f"the code {code!r} does not say of which attribute it speaks"
                remedy = "Write it as in {stem_shape: straight}, or name the column's attribute."
                entries.fault("K411", what, code, remedy)
        return found

    def _targets(
        self, entries: Fields, given: Mapping[str, Any], at: Place, states: bool = True
    ) -> dict[str, tuple[str, ...]]:
        """Read words by target, noting each that is no state of it, at its place."""
        found = {}
        for key, value in given.items():
            place = at or (key,)
            words = tuple(str(w) for w in (value if isinstance(value, list) else [value]) if w)
            if not words or isinstance(value, dict) or (len(words) > 1 and not states):
                told = "a word or a list of words" if states else "one word"
                entries.fault("K004", f"{place[0]!r} has to be {told}", place)
                continue
            try:
                name = self.lexicon.attribute(key) if states else key
                if states:
                    observed_always(self.lexicon, {name: words})
                found[name] = words
            except KeygenError as error:
                for problem in error.problems:
                    entries.fault("K411", problem.what, place, problem.remedy)
        return found
