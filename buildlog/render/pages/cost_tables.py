"""What pages of costs show: the ways of adding up the same money, what each sum opens to, and what stands beside it."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from buildlog.compute.costs.beside_totals import CoreOwed, Gift
from buildlog.compute.costs.lines import CostLine
from buildlog.compute.costs.rework import ReworkItem
from buildlog.compute.costs.sums import MonthFigures, Total, sum_lines, total_lines
from buildlog.compute.quantities.money import Money
from buildlog.frozen import frozen, kept
from buildlog.render.addresses import entry_href
from buildlog.render.pages.context import PageContext
from buildlog.render.pieces import CostLine as CostLineView
from buildlog.render.pieces import Link, Sum, When
from buildlog.render.strips import Scale, draw_bar, make_scale
from buildlog.text import to_say

KIND_NAMES = {
    "part": to_say("Parts"),
    "consumable": to_say("Consumables"),
    "tool": to_say("Tools"),
    "labour": to_say("Labour by others"),
    "fee": to_say("Fees"),
    # TRANSLATORS: a kind of costs, beside parts, tools and fees
    "other": to_say("Other"),
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
    costs_title: str
    "`Costs by system`"
    sums: tuple[NamedTotal, ...]
    "in the order shown"


def list_ways(context: PageContext) -> tuple[Way, ...]:
    """By system, by kind and, where their names are shown, by supplier."""
    costs, say = context.figures.costs, context.words.say
    ways = (
        Way(
            key="by-system",
            title=say("By system"),
            costs_title=say("Costs by system"),
            sums=tuple(
                NamedTotal(name=context.system_name(one.key), key=one.key or "none", total=one)
                for one in costs.by_system
            ),
        ),
        Way(
            key="by-kind",
            title=say("By kind"),
            costs_title=say("Costs by kind"),
            sums=tuple(
                NamedTotal(name=say(KIND_NAMES[one.key or "other"]), key=one.key or "other", total=one)
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
    title, costs_title = say("By supplier"), say("Costs by supplier")
    return (*ways, Way(key="by-supplier", title=title, costs_title=costs_title, sums=suppliers))


def fold_rest(context: PageContext, way: Way) -> tuple[Sum, ...]:
    """Every sum of a way, the largest first, each with its bar.

    With single prices closed, those that would give one away stand as one, so that all add up.
    """
    rows = [(one.total.amount.amount, one, describe_total(context, way, one)) for one in way.sums]
    # Of what is shown alone: neither the order nor the length of a bar tells of what is not.
    shown = sorted((row for row in rows if row[2].amount), key=lambda row: -row[0])
    rest = [line for _, one, row in rows if not row.amount for line in one.total.lines]
    left = sum_lines(rest, context.figures.costs.currency)
    folded = context.total_money(left, rest) if rest else ""
    amounts = [*(amount for amount, *_ in shown), *([left.amount] if folded else [])]
    budgets = _list_budgets(context) if way.key == "by-system" else {}
    # A budget far beyond all that was spent would leave no bar to be seen, and is told in words alone.
    near = [budget.amount for _, one, _ in shown if (budget := budgets.get(one.total.key))]
    scale = make_scale([*amounts, *(budget for budget in near if budget <= max(amounts) * FARTHEST)])
    sums = tuple(_add_bar(context, row, amount, scale, budgets.get(one.total.key)) for amount, one, row in shown)
    if not folded:
        return sums
    others = Sum(name=context.words.say("All others"), amount=folded, note=_count_lines(context, len(rest)))
    return (*sums, _add_bar(context, others, left.amount, scale, None))


FARTHEST = 2
"How many times the largest sum a budget may be, to be drawn beside the bars."


def _list_budgets(context: PageContext) -> dict[str | None, Money]:
    return {row.system: row.budget for row in context.figures.costs.plan.budget}


def _add_bar(context: PageContext, row: Sum, amount: Decimal, scale: Scale | None, budget: Money | None) -> Sum:
    note = row.note
    if budget is not None:
        say, planned = context.words.say, context.planned_money(budget)
        if amount > budget.amount:
            # TRANSLATORS: behind an amount, as in: 12 lines, over its budget of £500.00
            note = say("%(lines)s, over its budget of %(budget)s", lines=note, budget=planned)
        else:
            note = say("%(lines)s, of a budget of %(budget)s", lines=note, budget=planned)
    drawn = budget.amount if budget and scale and budget.amount <= scale.high else None
    bar = draw_bar(amount, scale, drawn) if scale else ""
    return replace(row, note=note, bar=bar)


def describe_total(context: PageContext, way: Way, one: NamedTotal) -> Sum:
    """A sum that opens to its lines; where there are too many for one page, to the periods that they fall into."""
    return Sum(
        name=one.name,
        amount=context.total_money(one.total.amount, one.total.lines),
        note=_count_lines(context, len(one.total.lines)),
        lines=() if context.cost_periods else describe_lines(context, one.total.lines),
        parts=describe_periods(context, way.key, one.total.lines, f"{way.key}-{one.key}"),
    )


def describe_periods(context: PageContext, way: str, lines: Iterable[CostLine], anchor: str = "") -> tuple[Sum, ...]:
    """What some lines come to in each period, leading to its page; empty where the page of costs has all lines."""
    return tuple(
        Sum(
            name=context.period(period),
            amount=context.total_money(sum_lines(some, context.figures.costs.currency), some),
            note=_count_lines(context, len(some)),
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
            note=_count_lines(context, len(total.lines)),
            lines=() if context.cost_periods else describe_lines(context, total.lines),
            parts=describe_periods(context, "by-system", total.lines, anchor),
        )
        for total in total_lines(lines, lambda line: str(line.date.year))
    )
    return tuple(row for row in rows if row.amount)


def _count_lines(context: PageContext, number: int) -> str:
    # TRANSLATORS: lines of orders, each with an amount
    return context.words.say_count("%(number)s line", "%(number)s lines", number)


def split_lines(context: PageContext, lines: Iterable[CostLine]) -> dict[str, tuple[CostLine, ...]]:
    """The lines by the period that has them; empty where the page of costs has all."""
    if not context.cost_periods:
        return {}
    found: dict[str, list[CostLine]] = {}
    for line in lines:
        found.setdefault(_find_period(context, line.date), []).append(line)
    return {period: tuple(some) for period, some in found.items()}


@kept
def _find_period(context: PageContext, day: datetime.date) -> str:
    return context.cost_periods[day.isoformat()[:7]]


def period_href(period: str, way: str = "") -> str:
    """The page of a period: month by month, or by one way of adding up."""
    return f"costs/{period}-{way}.html" if way else f"costs/{period}.html"


def describe_lines(context: PageContext, lines: Iterable[CostLine]) -> tuple[CostLineView, ...]:
    """The lines behind a sum; none unless prices are shown."""
    if context.prices != "shown":
        return ()
    return tuple([_describe_line(context, line) for line in lines])


@kept  # a line stands under its month, and once more for each way of adding up
def _describe_line(context: PageContext, line: CostLine) -> CostLineView:
    return CostLineView(
        when=context.when(line.date),
        what=_name_line(context, line),
        supplier=context.supplier(line.supplier),
        entry=context.entry_link(line.entry),
        # With the sign by which it counts towards net, from which a sale takes off.
        amount=context.line_money(-line.landed if line.sort == "sold" else line.landed),
    )


def _name_line(context: PageContext, line: CostLine) -> str:
    what = context.item_name(line.what)
    return context.words.say("%(what)s, refunded", what=what) if line.sort == "refund" else what


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
