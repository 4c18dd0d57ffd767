"""A type in one region, and all that prose says of it there; worked out once."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from keygen.core.memo import Memo
from keygen.core.model import Record, Rules, Type
from keygen.prose.ages import (
    age,
    before_1950,
    figures,
    in_period,
    middle,
    remarks,
    scale_remark,
    unbracketed,
)
from keygen.prose.naming import called, local_name


class Placed:
    """A type in one region, under its own name."""

    def __init__(self, rules: Rules, kind: Type, record: Record) -> None:
        self.rules = rules
        self.kind = kind
        self.record = record

    @cached_property
    def called(self) -> str:
        """Return its name, with what it is called there if that differs."""
        return called(self.rules, self.kind, self.record.region)

    @cached_property
    def dated(self) -> tuple[object, ...]:
        """Return what has to be the same for two ages to be one."""
        r, dates = self.record, self.record.dates
        when = (dates.start, dates.end, dates.scale, dates.sure)
        return (r.period, when, r.sources, r.basis, r.period_range)

    @cached_property
    def age_told(self) -> str:
        """Return period and range in one text, by which the same age under one name is known."""
        return repr(self.dated[:2])

    @cached_property
    def span(self) -> tuple[int, int]:
        """Return both ends of its age in years before 1950, older first, whatever the scale."""
        return before_1950(self.record.dates)

    @cached_property
    def in_period(self) -> str:
        """Return its period as a phrase: `in the Late Archaic`."""
        return in_period(self.record.period)

    @cached_property
    def remarks(self) -> tuple[str, ...]:
        """Return what a reader has to know of its age."""
        return tuple(remarks(self.record))

    @cached_property
    def age(self) -> Mapping[tuple[int, tuple[str, ...]], str]:
        """Return its age, by the sources named at most and the remarks left out."""
        return Memo(lambda of: age(self.rules, self.record, *of))

    @cached_property
    def middle(self) -> float:
        """Return the middle of its age in years before 1950, whatever the scale."""
        return middle(self.record.dates)

    @cached_property
    def when(self) -> str:
        """Return period, age, what is to be known of its scale, and another name there."""
        dates = self.record.dates
        remark = scale_remark(dates) if dates.sure else "scale uncertain"
        told = (unbracketed(self.record.period), figures(dates), remark)
        text = ", ".join(part for part in told if part)
        local = local_name(self.rules, self.kind, self.record)
        return f"{text}; locally {local}" if local else text


def places(rules: Rules) -> Mapping[tuple[str, str], Placed]:
    """Return what prose says of the types in their regions, by the ids of both."""
    return rules.once(_places)


def _places(rules: Rules) -> Mapping[tuple[str, str], Placed]:
    return {
        (kind.id, record.region): Placed(rules, kind, record)
        for kind in rules.types.values()
        for record in kind.records
        if not record.local_type
    }
