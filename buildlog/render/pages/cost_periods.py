"""The pages of a period, a year as a rule, where the lines of money are too many for the page of costs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import ClassVar

from buildlog.compute.costs.lines import CostLine
from buildlog.compute.costs.totals import sum_lines
from buildlog.frozen import frozen
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.cost_sums import describe_lines, list_ways, period_href, split_lines
from buildlog.render.pages.costs import MonthRow, describe_month
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.periods import list_neighbours
from buildlog.render.pieces import Link, Sum, SumTable


@frozen
class CostPeriodView:
    """What did it cost in this period, line by line?"""

    TEMPLATE: ClassVar[str] = "cost_period.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`Costs, 2024`, `Costs by system, 2024`"
    before: Link | None = None
    "the same for the period before; None: this is the first"
    after: Link | None = None
    "the same for the one after; None: this is the last"
    others: tuple[Link, ...] = ()
    "the other pages of this period, and this one without an address"
    months: tuple[MonthRow, ...] = ()
    "with their lines; empty on a page of sums"
    table: SumTable | None = None
    "one way of adding up, each sum with its lines; None on the page by month"


Groups = Mapping[str, tuple[tuple[str, str, tuple[CostLine, ...]], ...]]
"Of one way, by period: each sum that has lines in it, with its name, its anchor and those lines."


def list_cost_periods(context: PageContext) -> dict[str, Callable[[], CostPeriodView]]:
    """The pages by their paths, in order; none where the page of costs has every line."""
    if not context.cost_periods:
        return {}
    titles = {"": "By month"} | {way.key: way.title for way in list_ways(context)}
    titles |= {"refunds": "Refunds", "sales": "Sold"}

    # Once for all pages, and only when one of them is asked for.
    @cache
    def group(way: str) -> Groups:
        return _group_lines(context, way)

    def make(period: str, way: str) -> Callable[[], CostPeriodView]:
        return lambda: _make_period(context, period, way, titles, group)

    return {
        period_href(period, way): make(period, way)
        for way in titles
        for period in (_list_periods(context) if not way else group(way))
    }


def _list_periods(context: PageContext) -> tuple[str, ...]:
    return tuple(dict.fromkeys(context.cost_periods.values()))


def _group_lines(context: PageContext, key: str) -> Groups:
    costs = context.figures.costs
    sums: Iterable[tuple[str, str, Iterable[CostLine]]]
    if key == "refunds":
        sums = [("All of them", key, costs.refund_lines)]
    elif key == "sales":
        sums = [("All of them", key, costs.recovered_lines)]
    else:
        way = next(way for way in list_ways(context) if way.key == key)
        sums = [(one.name, f"{key}-{one.key}", one.total.lines) for one in way.sums]
    found: dict[str, tuple[tuple[str, str, tuple[CostLine, ...]], ...]] = {}
    for name, anchor, lines in sums:
        for period, some in split_lines(context, lines).items():
            found[period] = (*found.get(period, ()), (name, anchor, some))
    # In the order of time, which the first sum alone may not have.
    return {period: found[period] for period in _list_periods(context) if period in found}


def _make_period(
    context: PageContext, period: str, way: str, titles: Mapping[str, str], group: Callable[[str], Groups]
) -> CostPeriodView:
    name = context.period(period)
    title = f"Costs, {name}" if not way else f"Costs {titles[way].lower()}, {name}"
    if way in ("refunds", "sales"):
        title = f"{titles[way]}, {name}"
    here = period_href(period, way)
    before, after = list_neighbours(group(way) if way else _list_periods(context))[period]
    months = (month for month in context.figures.costs.months if context.cost_periods.get(month.month) == period)
    return CostPeriodView(
        frame=make_frame(context, here, title, f"What {context.title} has cost, line by line: {name}."),
        title=title,
        before=Link(text=context.period(before), href=period_href(before, way)) if before else None,
        after=Link(text=context.period(after), href=period_href(after, way)) if after else None,
        others=tuple(
            Link(text=titles[other], href="" if other == way else period_href(period, other))
            for other in titles
            if not other or period in group(other)
        ),
        months=() if way else tuple(describe_month(context, month) for month in months),
        table=_describe_table(context, way, titles[way], group(way)[period]) if way else None,
    )


def _describe_table(
    context: PageContext, key: str, title: str, sums: Iterable[tuple[str, str, tuple[CostLine, ...]]]
) -> SumTable:
    return SumTable(
        key=key,
        title=title,
        rows=tuple(
            Sum(
                name=name,
                amount=context.money(sum_lines(lines, context.figures.costs.currency)),
                key=anchor,
                lines=describe_lines(context, lines),
            )
            for name, anchor, lines in sums
        ),
    )
