"""The page of costs: every sum of the log, and the lines behind it where prices are shown."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import ClassVar

from buildlog.compute.costs import totals as computed
from buildlog.compute.costs.beside_totals import CoreOwed, Gift
from buildlog.compute.costs.periods import join_months
from buildlog.compute.costs.rework import ReworkItem
from buildlog.frozen import frozen
from buildlog.render import charts
from buildlog.render.pages.context import PageContext, entry_href
from buildlog.render.pages.cost_sums import describe_lines, describe_periods, describe_total, list_ways, period_href
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pieces import CostLine as CostLineView
from buildlog.render.pieces import Link, Prices, Sum, SumTable, When


@frozen
class MonthRow:
    """One month of the table beside the chart; where they are many, one year."""

    when: When
    "the month, or the year"
    spent: str
    "paid in it, less what was refunded in it"
    recovered: str = ""
    "from sales; empty: nothing was sold"
    net: str
    "spent less recovered: what its lines come to"
    running: str
    "net at the month's end"
    hours: str = ""
    "own hours of its entries; empty: none stated"
    lines: tuple[CostLineView, ...] = ()
    "what moved in it, by date; empty unless prices are shown"
    href: str = ""
    "the month in the timeline; of a longer period the page that has its lines"


@frozen
class BudgetRow:
    """One system's budget."""

    name: str
    "the system's name, or `All of it`"
    budget: str
    "the amount planned"
    spent: str
    "paid so far, less refunds"
    committed: str
    "ordered and not paid"
    left: str
    "budget less spent and committed; below zero where `over`"
    forecast: str = ""
    "spent and committed together; empty: not shown"
    over: bool = False
    "spent and committed are more than the budget; said in words as well as drawn"


@frozen
class ReworkRow:
    """Something that was done a second time."""

    what: Link
    "the part that took its place, leading to its history"
    first: Link
    "the part that was there before"
    again: Link
    "entry that replaced it"
    amount: str = ""
    "what the replacement cost; empty unless prices are shown"
    hours: str = ""
    "own hours of doing it again; empty: none stated"


@frozen
class CoreRow:
    """A refundable surcharge that is still with the supplier."""

    part: Link
    "leads to the part, or to the entry that bought it"
    supplier: str = ""
    "who holds it; empty when hidden"
    ref: str = ""
    "order number; empty when suppliers are hidden"
    since: When
    "the day it was paid"
    amount: str
    "what is still to come back, in the order's currency; empty unless prices are shown"


@frozen
class GiftRow:
    """Something that was not paid for."""

    what: Link
    "leads to the part, where it is kept track of"
    when: When
    "the day it was ordered"
    worth: str = ""
    "empty when not stated or money is hidden"
    sponsored: bool = False
    "given in return for publicity: readers are told"
    entry: Link
    "the entry that it is in"


@frozen
class CostsView:
    """What has it cost?"""

    TEMPLATE: ClassVar[str] = "costs.html"
    frame: Frame
    "what surrounds the page"
    prices: Prices
    "`hidden`: everything below `currency` is empty"
    currency: str
    "`GBP`"
    statement: tuple[Sum, ...] = ()
    "paid, refunded, = spent, recovered, = net; totals carry `is_total`"
    not_in_totals: tuple[Sum, ...] = ()
    "apart from it: the purchase, committed, own hours and their worth"
    chart: str = ""
    "SVG, already safe; empty: fewer than two points"
    months: tuple[MonthRow, ...] = ()
    "oldest first"
    by_month: bool = True
    "False: `months` are years, and each leads to a page with its lines"
    tables: tuple[SumTable, ...] = ()
    "by system, by kind, by supplier, by fault"
    budget: tuple[BudgetRow, ...] = ()
    "empty: no budget was set"
    budget_total: BudgetRow | None = None
    "None: no budget was set"
    rework: tuple[ReworkRow, ...] = ()
    "empty: nothing fitted in this log was replaced"
    rework_total: Sum | None = None
    "None where `rework` is empty"
    rework_hours: str = ""
    "own hours of all of it; empty: none stated"
    cores: tuple[CoreRow, ...] = ()
    "paid and not given back"
    cores_total: str = ""
    "in the home currency; empty: none owed"
    refunds: tuple[CostLineView, ...] = ()
    "empty unless prices are shown; then `refunds_total` stands alone"
    refunds_by_period: tuple[Sum, ...] = ()
    "in place of the lines, where there are too many for one page: they lead to those that have them"
    refunds_total: str = ""
    "empty: nothing was refunded"
    sales: tuple[CostLineView, ...] = ()
    "empty unless prices are shown"
    sales_by_period: tuple[Sum, ...] = ()
    "as with refunds"
    sales_total: str = ""
    "empty: nothing was sold"
    gifts: tuple[GiftRow, ...] = ()
    "in the order of the log"


def make_costs(context: PageContext) -> CostsView:
    """The finished page; where money is hidden it says so and holds nothing else."""
    costs, words = context.figures.costs, context.words
    frame = make_frame(context, "costs.html", "Costs", f"What {context.title} has cost, by month, system and supplier.")
    # Nothing else is filled, so that no template, the log's own included, can show what is hidden.
    if context.prices == "hidden":
        return CostsView(frame=frame, prices=context.prices, currency=costs.currency)
    rework, split = context.figures.rework, bool(context.cost_periods)
    return CostsView(
        frame=frame,
        prices=context.prices,
        currency=costs.currency,
        statement=tuple(_list_statement(context)),
        not_in_totals=tuple(_list_not_in_totals(context)),
        chart=_draw_chart(context),
        months=tuple(_list_months(context)),
        by_month=not split,
        tables=tuple(_list_tables(context)),
        budget=tuple(_describe_budget(context, row, context.system_name(row.system)) for row in costs.budget),
        budget_total=_describe_budget(context, costs.budget_total, "All of it") if costs.budget_total else None,
        rework=tuple(_describe_rework(context, item) for item in rework.items),
        rework_total=Sum(name="Rework", amount=context.money(rework.cost), is_total=True) if rework.items else None,
        rework_hours=words.hours(rework.hours) if rework.hours else "",
        cores=tuple(_describe_core(context, core) for core in costs.cores_owed),
        cores_total=context.money(costs.cores_owed_home) if costs.cores_owed else "",
        refunds=() if split else describe_lines(context, costs.refund_lines),
        refunds_by_period=describe_periods(context, "refunds", costs.refund_lines),
        refunds_total=context.money(costs.refunded) if costs.refunded else "",
        sales=() if split else describe_lines(context, costs.recovered_lines),
        sales_by_period=describe_periods(context, "sales", costs.recovered_lines),
        sales_total=context.money(costs.recovered) if costs.recovered else "",
        gifts=tuple(_describe_gift(context, gift) for gift in costs.gifts),
    )


def _list_statement(context: PageContext) -> Iterator[Sum]:
    costs = context.figures.costs
    # Without refunds, paid and spent are one amount.
    if costs.refunded:
        yield Sum(name="Paid", amount=context.money(costs.paid))
        yield Sum(
            name="Refunds",
            amount=context.money(-costs.refunded),
            note="goods sent back, core charges and price reductions",
        )
    yield Sum(name="Spent", amount=context.money(costs.spent), is_total=True)
    if costs.recovered:
        yield Sum(name="Recovered", amount=context.money(-costs.recovered), note="parts taken off and spares sold")
        yield Sum(name="Net", amount=context.money(costs.net), is_total=True)


def _list_not_in_totals(context: PageContext) -> Iterator[Sum]:
    costs = context.figures.costs
    if costs.committed:
        yield Sum(
            name="Committed",
            amount=context.money(costs.committed),
            note="ordered and not paid",
            lines=describe_lines(context, costs.committed_lines),
        )
    # Not in the totals: they say what the work cost. Own hours are left out as well, as no money was paid for them.
    # With `prices: totals` neither: the one is a single price, and worth by hours gives away the rate.
    if costs.acquired is not None and context.prices == "shown":
        yield Sum(name="The machine itself", amount=context.money(costs.acquired))
    if costs.own_hours:
        yield Sum(name="Own hours", amount=context.words.hours(costs.own_hours))
    # With the rate beside it, which is the owner's choice.
    if context.prices != "shown":
        return
    if costs.own_hours_worth is not None and costs.own_hours and costs.hour_rate is not None:
        rate = context.money(context.home_money(costs.hour_rate))
        yield Sum(name="Owner's labour", amount=context.money(costs.own_hours_worth), note=f"at {rate} an hour")


def _draw_chart(context: PageContext) -> str:
    figures, words = context.figures, context.words
    steps = figures.costs.steps
    # The chart would be empty, and the description below needs a first and a last step.
    if len(steps) < 2:
        return ""
    first, last, table = steps[0], steps[-1], "years" if context.cost_periods else "months"
    description = (
        f"Net of what was recovered: {context.money(first.net)} on {words.day(first.date)}, "
        f"{context.money(last.net)} on {words.day(last.date)}. The table of {table} has the same figures."
    )
    chart_words = charts.Words(
        title="What it has cost so far",
        description=description,
        amount=lambda amount: words.round_money(amount, figures.costs.currency),
        month=words.axis_month,
        end=context.money(last.net),
    )
    # One a month is as close as the eye can tell where there are years of them, and the drawing stays small.
    shown = {step.date.isoformat()[:7]: step for step in steps}.values() if context.cost_periods else steps
    points = [(step.date, step.net.amount) for step in shown]
    return charts.running_total_chart(points, until=figures.as_of, words=chart_words)


def describe_month(context: PageContext, month: computed.MonthFigures) -> MonthRow:
    """A month with its lines."""
    return replace(
        _describe_row(context, month),
        when=context.month(month.month),
        href=context.month_href(month.month),
        lines=describe_lines(context, month.lines),
    )


def _list_months(context: PageContext) -> Iterator[MonthRow]:
    """The months with their lines; where those are too many for one page, the years, each leading to its own."""
    periods, months = context.cost_periods, context.figures.costs.months
    if not periods:
        yield from (describe_month(context, month) for month in months)
        return
    for period in join_months(months, lambda month: periods[month]):
        yield replace(_describe_row(context, period), href=period_href(period.month))


def _describe_row(context: PageContext, month: computed.MonthFigures) -> MonthRow:
    return MonthRow(
        when=When(iso=month.month[:4], text=context.period(month.month)),
        spent=context.money(month.spent),
        recovered=context.money(month.recovered) if month.recovered else "",
        net=context.money(month.net),
        running=context.money(month.running),
        hours=context.words.hours(month.hours) if month.hours else "",
    )


def _list_tables(context: PageContext) -> Iterator[SumTable]:
    # The same total below each table: every way of adding up comes to it.
    total = Sum(name="Spent", amount=context.money(context.figures.costs.spent), is_total=True)
    for way in list_ways(context):
        sums = tuple(describe_total(context, way, one) for one in way.sums)
        yield SumTable(
            key=way.key,
            title=way.title,
            rows=sums,
            total=total if sums else None,
            empty="Nothing has been spent yet.",
        )


def _describe_budget(context: PageContext, row: computed.BudgetRow, name: str) -> BudgetRow:
    return BudgetRow(
        name=name,
        budget=context.money(row.budget),
        spent=context.money(row.spent),
        committed=context.money(row.committed),
        left=context.money(row.left),
        forecast=context.money(row.forecast),
        over=row.left.amount < 0,  # decided here, as templates do not compute
    )


def _describe_rework(context: PageContext, item: ReworkItem) -> ReworkRow:
    return ReworkRow(
        what=context.part_link(item.key),
        first=context.part_link(item.earlier),
        again=context.entry_link(item.entry),
        amount=context.line_money(item.cost),
        hours=context.words.hours(item.hours) if item.hours else "",
    )


def _describe_core(context: PageContext, core: CoreOwed) -> CoreRow:
    return CoreRow(
        # Leads to the entry where there is no part: a core that is owed is something to see to.
        part=context.part_link(core.part, core.what)
        if core.part
        else Link(text=context.item_name(core.what), href=entry_href(core.entry)),
        supplier=context.supplier(core.supplier),
        ref=context.order_ref(core.ref),
        since=context.when(core.since),
        amount=context.line_money(core.core),
    )


def _describe_gift(context: PageContext, gift: Gift) -> GiftRow:
    return GiftRow(
        what=context.part_link(gift.part, gift.what) if gift.part else Link(text=context.item_name(gift.what)),
        when=context.when(gift.date),
        worth=context.line_money(gift.worth) if gift.worth is not None else "",
        sponsored=gift.from_sponsor,
        entry=context.entry_link(gift.entry),
    )
