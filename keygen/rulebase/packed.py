"""The model as plain lists, as they are kept in the cache, and back.

A value of a class is the list of its fields in their order, a mapping a list of pairs, a tuple a
list; `packed` makes them of anything. The way back is written down below, class by class: which
fields are more than text or figures. A test compares what comes back with what went in, so a field
that is forgotten here does not pass.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields, is_dataclass
from typing import Any, TypeVar

from keygen.core import model

T = TypeVar("T")
Unpack = Callable[[Any], Any]


def packed(value: Any) -> Any:
    """Return a value of the model as lists, text and figures."""
    if is_dataclass(value):
        return [packed(getattr(value, field.name)) for field in fields(value)]
    if isinstance(value, Mapping):
        return [[key, packed(inner)] for key, inner in value.items()]
    if isinstance(value, tuple):
        return [packed(inner) for inner in value]
    return value


def made(kind: type[T], **inner: Unpack) -> Callable[[Iterable[Any]], T]:
    """Return what makes values of a class of lists of their fields.

    Args:
        kind: a frozen dataclass. Its fields are filled in at once: its own way, one guarded field
            after the other, takes five times as long, and rules are made of ten thousand values.
        inner: what is to be made of the fields that are more than text or a figure.
    """
    names = tuple(field.name for field in fields(kind))  # type: ignore[arg-type]
    ways = tuple(inner.items())

    def make(values: Iterable[Any]) -> T:
        value = object.__new__(kind)
        own = value.__dict__
        own.update(zip(names, values, strict=True))
        for name, way in ways:
            own[name] = way(own[name])
        return value

    return make


def each(item: Unpack) -> Unpack:
    """Return what makes a tuple of a list of items."""
    return lambda values: tuple([item(value) for value in values])


def table(item: Unpack) -> Unpack:
    """Return what makes a mapping of a list of pairs."""
    return lambda pairs: {key: item(value) for key, value in pairs}


def maybe(item: Unpack) -> Unpack:
    """Return what makes a value where there is one."""
    return lambda value: None if value is None else item(value)


def as_it_is(value: T) -> T:
    """Return text or a figure."""
    return value


words, masks = tuple, dict
_state = made(model.State, also=words, aliases=words, draw=each(words))
_attribute = made(model.Attribute, states=each(_state), sources=words, aliases=words)
_lead = made(model.Lead, leaves=each(masks), do=words)
_couplet = made(model.Couplet, leads=each(_lead), aliases=words)
_criterion = made(model.Criterion)
_dates = made(model.Dates)
_type = made(
    model.Type,
    defined_by=each(_criterion),
    usual=each(_criterion),
    measures=each(made(model.MeasureRange, sources=words)),
    records=each(made(model.Record, dates=_dates, sources=words)),
    look_alikes=each(made(model.LookAlike)),
    sources=words,
    aliases=words,
    also=words,
)
_gauge = made(model.Gauge, terms=words, bands=each(made(model.Band)))
_derivation = made(model.Derivation, by=each(_gauge), when=masks, sources=words)
_period = made(model.Period, dates=_dates, sources=words)


def _indices() -> dict[str, Unpack]:
    """Return how the fields about indices are unpacked; their classes load only where wanted."""
    from keygen.core import indices

    ground = made(indices.Ground, sources=words)
    code = made(indices.Code, when=masks)
    index = made(
        indices.Index,
        formula=ground,
        terms=words,
        when=masks,
        stand_ins=each(made(indices.StandIn, when=masks)),
        zones=each(made(indices.Zone, says=words)),
        groups=each(made(indices.Group, weights=each(made(indices.Weight)))),
        undecided=maybe(made(indices.Undecided, ground=ground)),
        characters=each(made(indices.Character, codes=each(code))),
        numbers=maybe(ground),
        limits=words,
        see=words,
    )
    return {
        "indices": table(index),
        "questions": table(made(indices.Question, outcomes=each(made(indices.Outcome)))),
        "scored": table(made(indices.Scored, marks=each(made(indices.Mark)))),
        "cuts": each(made(indices.Cut, measurements=words, when=masks)),
    }


# What the first question of a walk needs, and whatever takes longer to put off than to read.
SOON: Mapping[str, Unpack] = {
    "edition": as_it_is,
    "digest": as_it_is,
    "attributes": each(_attribute),
    "start": as_it_is,
    "couplets": table(_couplet),
    "losses": each(made(model.Loss, parts=words, when=masks, unless=masks)),
    "parts": masks,
    "regions": table(made(model.Region, states=words, neighbours=words)),
    "many": masks,
    "universe": each(words),
}
LATER: Mapping[str, Unpack] = {
    "types": table(_type),
    "sources": table(made(model.Source)),
    "measurements": table(made(model.Measurement, parts=words)),
    "derivations": each(_derivation),
    "cautions": table(made(model.Caution, sources=words)),
    "thesaurus": each(made(model.Word, means=each(masks), sources=words, also=words)),
    "periods": table(each(_period)),
    "curve": maybe(made(model.CurveTable, sources=words)),
    **{
        name: (lambda value, name=name: _indices()[name](value))  # type: ignore[misc]
        for name in ("indices", "questions", "scored", "cuts")
    },
}
