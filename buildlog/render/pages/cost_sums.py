"""The ways of adding up the same money, and what each sum opens to: its lines, or the pages that have them."""

from __future__ import annotations

from collections.abc import Iterable

from buildlog.compute.costs.lines import CostLine
from buildlog.compute.costs.totals import Total, sum_lines, total_lines
from buildlog.frozen import frozen
from buildlog.render.pages.context import PageContext
from buildlog.render.pieces import CostLine as CostLineView
from buildlog.render.pieces import Sum
from buildlog.text import count

KIND_NAMES = {
    "part": "Parts",
    "consumable": "Consumables",
    "tool": "Tools",
    "labour": "Labour by others",
    "fee": "Fees",
    "other": "Other",
}
"Kinds of line, in readers' words."


@frozen
class NamedTotal:
    """One sum with its name as shown."""

    name: str
    "the system's, the kind's, the supplier's"
    key: str
    "its anchor is `WAY-KEY`"
    total: Total
    "the sum itself"


@frozen
class Way:
    """One way of adding up what was spent."""

    key: str
    "`by-system`: its anchor, and part of the addresses of its pages"
    title: str
    "`By system`"
    sums: tuple[NamedTotal, ...]
    "in the order shown"


def list_ways(context: PageContext) -> tuple[Way, ...]:
    """By system, by kind and, where their names are shown, by supplier."""
    costs = context.figures.costs
    ways = (
        Way(
            key="by-system",
            title="By system",
            sums=tuple(
                NamedTotal(name=context.system_name(one.key), key=one.key or "none", total=one)
                for one in costs.by_system
            ),
        ),
        Way(
            key="by-kind",
            title="By kind",
            sums=tuple(
                NamedTotal(name=KIND_NAMES[one.key or "other"], key=one.key or "other", total=one)
                for one in costs.by_kind
            ),
        ),
    )
    # With the names hidden, the amounts could still give a supplier away.
    if context.figures.log.settings.public.suppliers != "shown":
        return ways
    # Numbered, as a name may be any text, and an anchor may not.
    suppliers = tuple(
        NamedTotal(name=context.owner_text(one.name), key=str(n), total=one)
        for n, one in enumerate(costs.by_supplier, 1)
    )
    return (*ways, Way(key="by-supplier", title="By supplier", sums=suppliers))


def describe_total(context: PageContext, way: Way, one: NamedTotal) -> Sum:
    """A sum that opens to its lines; where there are too many for one page, to the periods that they fall into."""
    return Sum(
        name=one.name,
        amount=context.money(one.total.amount),
        note=count(len(one.total.lines), "line"),
        lines=() if context.cost_periods else describe_lines(context, one.total.lines),
        parts=describe_periods(context, way.key, one.total.lines, f"{way.key}-{one.key}"),
    )


def describe_periods(context: PageContext, way: str, lines: Iterable[CostLine], anchor: str = "") -> tuple[Sum, ...]:
    """What some lines come to in each period, leading to its page; empty where the page of costs has all lines."""
    return tuple(
        Sum(
            name=context.period(period),
            amount=context.money(sum_lines(some, context.figures.costs.currency)),
            note=count(len(some), "line"),
            href=f"{period_href(period, way)}#{anchor or way}",
        )
        for period, some in split_lines(context, lines).items()
    )


def split_lines(context: PageContext, lines: Iterable[CostLine]) -> dict[str, tuple[CostLine, ...]]:
    """The lines by the period that has them; empty where the page of costs has all."""
    periods = context.cost_periods
    if not periods:
        return {}
    totals = total_lines(lines, lambda line: periods[line.date.isoformat()[:7]])
    return {total.name: total.lines for total in totals}


def period_href(period: str, way: str = "") -> str:
    """The page of a period: month by month, or by one way of adding up."""
    return f"costs/{period}-{way}.html" if way else f"costs/{period}.html"


def describe_lines(context: PageContext, lines: Iterable[CostLine]) -> tuple[CostLineView, ...]:
    """The lines behind a sum; none unless prices are shown."""
    if context.prices != "shown":
        return ()
    return tuple(
        CostLineView(
            when=context.when(line.date),
            # Added after the owner's words, as it is not one of them.
            what=context.item_name(line.what) + (", refunded" if line.sort == "refund" else ""),
            supplier=context.supplier(line.supplier),
            entry=context.entry_link(line.entry),
            # With the sign by which it counts towards net, from which a sale takes off.
            amount=context.money(-line.landed if line.sort == "sold" else line.landed),
        )
        for line in lines
    )
