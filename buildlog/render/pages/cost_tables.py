"""What pages of costs show: the ways of adding up the same money, what each sum opens to, and what stands beside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from buildlog.compute.costs import plan as planned
from buildlog.compute.costs.beside_totals import CoreOwed, Gift
from buildlog.compute.costs.lines import CostLine
from buildlog.compute.costs.rework import ReworkItem
from buildlog.compute.costs.sums import MonthFigures, Total, sum_lines, total_lines
from buildlog.frozen import frozen
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.whereabouts import entry_href
from buildlog.render.pieces import CostLine as CostLineView
from buildlog.render.pieces import Link, Sum, When
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


def fold_rest(context: PageContext, way: Way) -> tuple[Sum, ...]:
    """Every sum of a way; with single prices closed, those that would give one away as one, so that all add up."""
    rows = [(one, describe_total(context, way, one)) for one in way.sums]
    rest = [line for one, row in rows if not row.amount for line in one.total.lines]
    shown = tuple(row for _, row in rows if row.amount)
    amount = context.total_money(sum_lines(rest, context.figures.costs.currency), rest) if rest else ""
    return (*shown, Sum(name="All others", amount=amount, note=count(len(rest), "line"))) if amount else shown


def describe_total(context: PageContext, way: Way, one: NamedTotal) -> Sum:
    """A sum that opens to its lines; where there are too many for one page, to the periods that they fall into."""
    return Sum(
        name=one.name,
        amount=context.total_money(one.total.amount, one.total.lines),
        note=count(len(one.total.lines), "line"),
        lines=() if context.cost_periods else describe_lines(context, one.total.lines),
        parts=describe_periods(context, way.key, one.total.lines, f"{way.key}-{one.key}"),
    )


def describe_periods(context: PageContext, way: str, lines: Iterable[CostLine], anchor: str = "") -> tuple[Sum, ...]:
    """What some lines come to in each period, leading to its page; empty where the page of costs has all lines."""
    return tuple(
        Sum(
            name=context.period(period),
            amount=context.total_money(sum_lines(some, context.figures.costs.currency), some),
            note=count(len(some), "line"),
            href=f"{period_href(period, way)}#{anchor or way}",
        )
        for period, some in split_lines(context, lines).items()
    )


def describe_years(context: PageContext, lines: Iterable[CostLine], system: str | None) -> tuple[Sum, ...]:
    """What was spent on a system, year by year; each opens to its lines, or leads to the pages that have them."""
    anchor = f"by-system-{system or 'none'}"
    rows = (
        Sum(
            name=total.name,
            amount=context.total_money(total.amount, total.lines),
            note=count(len(total.lines), "line"),
            lines=() if context.cost_periods else describe_lines(context, total.lines),
            parts=describe_periods(context, "by-system", total.lines, anchor),
        )
        for total in total_lines(lines, lambda line: str(line.date.year))
    )
    return tuple(row for row in rows if row.amount)


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
            amount=context.line_money(-line.landed if line.sort == "sold" else line.landed),
        )
        for line in lines
    )


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
    """What one system shall cost, has cost, and will come to."""

    name: str
    "the system's name, or what a sum is of"
    budget: str = ""
    "the amount planned; empty: it has no budget"
    spent: str
    "paid so far, less refunds"
    committed: str = ""
    "ordered and not paid; empty: nothing is"
    left: str = ""
    "budget less spent and committed; below zero where `over`; empty: no budget, or not shown"
    wanted: str = ""
    "not ordered yet; empty: nothing is wanted for it"
    forecast: str = ""
    "spent, committed and wanted together; empty: not shown"
    over: bool = False
    "spent and committed are more than the budget; said in words as well as drawn"
    forecast_over: bool = False
    "the forecast is more than the budget; said in words as well as drawn"
    is_total: bool = False
    "a row of several systems together"


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


def describe_month(context: PageContext, month: MonthFigures) -> MonthRow:
    """A month with its lines."""
    return replace(
        describe_period_row(context, month),
        when=context.month(month.month),
        href=context.month_href(month.month),
        lines=describe_lines(context, month.lines),
    )


def describe_period_row(context: PageContext, month: MonthFigures) -> MonthRow:
    """A month or a longer period, without its lines."""
    spent = [line for line in month.lines if line.sort != "sold"]
    sold = [line for line in month.lines if line.sort == "sold"]
    return MonthRow(
        when=When(iso=month.month[:4], text=context.period(month.month)),
        spent=context.total_money(month.spent, spent),
        recovered=context.total_money(month.recovered, sold) if month.recovered else "",
        net=context.total_money(month.net, spent, sold),
        running=context.running_money(month.running, month.month),
        hours=context.words.hours(month.hours) if month.hours else "",
    )


def describe_budget(context: PageContext, row: planned.BudgetRow, name: str) -> BudgetRow:
    """A plan is no price; what has become of it is made of prices, and so is what is left of it."""
    costs = context.figures.costs
    systems = {row.system} if row.system else {one.system for one in costs.plan.budget}
    spent = [line for line in costs.lines if line.system in systems]
    committed = [line for line in costs.committed_lines if line.system in systems]
    fixed = context.total_money(row.forecast - row.wanted, [*spent, *committed])
    forecast = context.total_money(row.forecast, [*spent, *committed])
    # Decided here, as templates do not compute.
    return BudgetRow(
        name=name,
        budget=context.planned_money(row.budget),
        spent=context.total_money(row.spent, spent),
        committed=context.total_money(row.committed, committed) if row.committed else "",
        # What one thing will cost is a price before it is paid.
        wanted=context.line_money(row.wanted) if row.wanted else "",
        left=context.planned_money(row.left) if fixed else "",
        forecast=forecast,
        over=bool(fixed) and row.left.amount < 0,
        forecast_over=bool(forecast) and bool(row.wanted) and (row.budget - row.forecast).amount < 0,
        is_total=row.system is None,
    )


def list_plan(context: PageContext) -> Iterator[BudgetRow]:
    """Each system that has a budget; where something is wanted, what else is ordered or wanted for; sums last.

    What is left out comes to what it has cost, which stands on the page already.
    """
    plan = context.figures.costs.plan
    yield from (describe_budget(context, row, context.system_name(row.system)) for row in plan.budget)
    planned_for = {row.system for row in plan.budget}
    others = [row for row in plan.by_system if row.system not in planned_for] if plan.list_open() else []
    yield from (_describe_forecast(context, row) for row in others if row.committed or row.wanted)
    if plan.budget_total:
        yield describe_budget(context, plan.budget_total, "All with a budget" if others else "All of it")
    if others:
        yield _describe_all(context)


def _describe_forecast(context: PageContext, row: planned.ForecastRow) -> BudgetRow:
    """A system without a budget."""
    costs = context.figures.costs
    spent = [line for line in costs.lines if line.system == row.system]
    committed = [line for line in costs.committed_lines if line.system == row.system]
    return BudgetRow(
        name=context.system_name(row.system),
        spent=context.total_money(row.spent, spent),
        committed=context.total_money(row.committed, committed) if row.committed else "",
        wanted=context.line_money(row.wanted) if row.wanted else "",
        forecast=context.total_money(row.forecast, [*spent, *committed]),
    )


def _describe_all(context: PageContext) -> BudgetRow:
    """Everything, with a budget and without."""
    costs, plan = context.figures.costs, context.figures.costs.plan
    return BudgetRow(
        name="All of it",
        spent=context.total_money(costs.spent, costs.lines),
        committed=context.total_money(costs.committed, costs.committed_lines) if costs.committed else "",
        wanted=context.line_money(plan.wanted_sum) if plan.wanted_sum else "",
        forecast=context.total_money(plan.forecast, (*costs.lines, *costs.committed_lines)),
        is_total=True,
    )


def describe_rework(context: PageContext, item: ReworkItem) -> ReworkRow:
    return ReworkRow(
        what=context.part_link(item.key),
        first=context.part_link(item.earlier),
        again=context.entry_link(item.entry),
        amount=context.line_money(item.cost),
        hours=context.words.hours(item.hours) if item.hours else "",
    )


def describe_core(context: PageContext, core: CoreOwed) -> CoreRow:
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


def describe_gift(context: PageContext, gift: Gift) -> GiftRow:
    return GiftRow(
        what=context.part_link(gift.part, gift.what) if gift.part else Link(text=context.item_name(gift.what)),
        when=context.when(gift.date),
        worth=context.line_money(gift.worth) if gift.worth is not None else "",
        sponsored=gift.from_sponsor,
        entry=context.entry_link(gift.entry),
    )
