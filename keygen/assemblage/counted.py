"""An assemblage counted, and if wanted ordered and dated: all of it together, in every form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from keygen.assemblage import ordered, plots, tabulated
from keygen.assemblage.gathered import Gathered, grouping
from keygen.assemblage.tally import Item, Sharing, Tally, tally
from keygen.assemblage.timeline import Span, timeline
from keygen.core.model import Rules
from keygen.errors import KeygenError
from keygen.prose.grammar import plain

FORMS = (".csv", ".json", ".html", ".svg")


@dataclass(frozen=True)
class Counted:
    """A tally with what else was asked of the assemblage.

    Attributes:
        of, by: what was counted, and over which columns, as given.
        seriated: the groups in order; None if that was not asked for.
        spans: date ranges of all calls and of `assigned` ones alone; None if not asked for.
    """

    rules: Rules
    of: str
    by: str
    table: Tally
    seriated: ordered.Seriated | None = None
    spans: tuple[tuple[Span, ...], tuple[Span, ...]] | None = None

    @property
    def title(self) -> str:
        """Return its title."""
        return tabulated.title(self.rules, self.of, self.by)

    def text(self) -> str:
        """Return everything as plain text."""
        parts = [tabulated.text(self.table, self.title, self.of)]
        if self.seriated:
            parts.append(ordered.text(self.seriated))
        if self.spans:
            parts.append(ordered.spans_text(self.rules, *self.spans))
        return "\n\n".join(parts)

    def data(self) -> dict[str, object]:
        """Return everything as mappings, lists, text and numbers."""
        told = tabulated.data(self.rules, self.table, self.of, self.by)
        if self.seriated:
            told["seriation"] = ordered.data(self.seriated)
        if self.spans:
            told["timeline"] = ordered.spans_data(*self.spans)
        return told

    def svg(self) -> str:
        """Return the drawing: the timeline if it was asked for, else the bars."""
        return (
            self._timeline()
            if self.spans
            else plots.centred_bars(tabulated.drawn(self.in_order), self.title)
        )

    @property
    def in_order(self) -> Tally:
        """Return the tally with its groups in the order found, if they were ordered."""
        if self.seriated is None:
            return self.table
        labels = [self.seriated.labels[i] for i in self.seriated.order.places]
        names = [*labels, *self.seriated.left_out]
        at = [self.table.groups.index(name) for name in names]
        return Tally(
            groups=tuple(names),
            categories=self.table.categories,
            counts=tuple(self.table.counts[i] for i in at),
            unrecorded=tuple(self.table.unrecorded[i] for i in at),
            sharing=self.table.sharing,
        )

    def page(self) -> str:
        """Return everything as one HTML page."""
        parts = [tabulated.part(self.in_order, self.title, self.of)]
        if self.seriated:
            head, *body = ordered.matrix_rows(self.seriated)
            notes = [line for line in ordered.text(self.seriated).splitlines() if line.strip()]
            notes = [n for n in notes if not n.startswith("Brainerd") and "  " not in n.strip()]
            parts.append(_part("Order", head, body, notes))
        if self.spans:
            notes = ordered.spans_text(self.rules, *self.spans).splitlines()
            parts.append({**_part("Ages of the types", (), [], notes), "drawing": self._drawn()})
        return tabulated.page(self.title, parts)

    def _timeline(self) -> str:
        spans = self.spans[0] if self.spans else ()
        names = [self.rules.types[s.type].name for s in spans]
        return plots.timeline(spans, names, f"Ages of the types, {self.by}")

    def _drawn(self) -> Markup:
        return Markup(self._timeline())  # noqa: S704  # its texts are escaped where it is drawn


def _part(
    head: str, columns: Sequence[str], rows: Sequence[Sequence[str]], notes: Sequence[str]
) -> dict[str, object]:
    return {"head": head, "columns": columns, "rows": rows, "drawing": "", "notes": notes}


def count(
    gathered: Gathered,
    of: str,
    by: Sequence[str],
    several: Sharing = "apart",
    seriate: bool = False,
    strata: Sequence[str] = (),
    dated: bool = False,
) -> Counted:
    """Count the specimens of a table.

    Args:
        gathered: the specimens.
        of: type, period, status, or the id of an attribute.
        by: the columns whose texts make a group.
        several: how specimens with several candidates or states are counted.
        seriate: whether the groups are ordered.
        strata: groups in stratigraphic order, which an order has to respect.
        dated: whether the date ranges behind the calls are gathered.

    Raises:
        KeygenError: there is nothing of this kind to count, to order or to group by.
    """
    rules = gathered.plan.rules
    tabulated.check_subject(rules, of)
    group = grouping(gathered.plan, by)
    if not gathered.examined:
        raise KeygenError("There is nothing to count: no row could be examined.")
    called = [e.call for _, e in gathered.examined if e.call]
    if not called and (of in tabulated.SUBJECTS or dated):
        raise KeygenError("Without a region there are no calls to count. Give --region.")
    items = [
        Item(group(entry), tabulated.categories(rules, e, of, several))
        for entry, e in gathered.examined
    ]
    states = rules.attributes[rules.index[of]].states if of in rules.index else ()
    table = tally(items, several, [plain(state.term) for state in states])
    unknown = sorted(set(strata) - set(table.groups))
    if unknown:
        known = ", ".join(table.groups)
        raise KeygenError(f"{unknown[0]!r} in --strata is no group. The groups are: {known}.")
    return Counted(
        rules=rules,
        of=of,
        by=" and ".join(by),
        table=table,
        seriated=_seriated(table, [c.region for c in called], strata) if seriate else None,
        spans=(timeline(rules, called), timeline(rules, called, "assigned")) if dated else None,
    )


def _seriated(table: Tally, regions: Sequence[str], strata: Sequence[str]) -> ordered.Seriated:
    try:
        return ordered.seriate(table, regions, strata)
    except ValueError as error:
        raise KeygenError(f"These groups cannot be ordered: {error}.") from None


def written(counted: Counted, suffix: str) -> str:
    """Return the content of a file of one of `FORMS`.

    Raises:
        KeygenError: there is no such form.
    """
    if suffix == ".csv":
        return tabulated.as_csv(counted.in_order)
    if suffix == ".svg":
        return counted.svg()
    if suffix == ".html":
        return counted.page()
    if suffix == ".json":
        from json import dumps

        return dumps(counted.data(), ensure_ascii=False, indent=2) + "\n"
    raise KeygenError(
        f"{suffix or 'no ending'!r} is no form to write. Endings: {', '.join(FORMS)}."
    )
