"""The pages of costs: every sum of the log with its lines; where lines are many, a page for each period has them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import ClassVar

from buildlog.compute.costs.lines import CostLine
from buildlog.compute.costs.sums import join_months, sum_lines
from buildlog.frozen import frozen, kept
from buildlog.render.pages.budget import BudgetRow, describe_budget, list_plan
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.cost_tables import (
    CoreRow,
    GiftRow,
    MonthRow,
    ReworkRow,
    describe_core,
    describe_gift,
    describe_lines,
    describe_month,
    describe_period_row,
    describe_periods,
    describe_rework,
    fold_rest,
    list_ways,
    period_href,
    split_lines,
)
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.life import LifeView, draw_life
from buildlog.render.pages.long_lists import list_pages, pick_few
from buildlog.render.pages.open_work import WantedRow
from buildlog.render.pages.periods import list_neighbours
from buildlog.render.pages.still_to_do import list_wanted, say_more
from buildlog.render.pieces import CostLine as CostLineView
from buildlog.render.pieces import Link, Prices, Sum, SumTable
from buildlog.text import to_say


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
    life: LifeView = LifeView()
    "what it has cost day by day, as a drawing; empty: there is too little to draw"
    months: tuple[MonthRow, ...] = ()
    "oldest first"
    by_month: bool = True
    "False: `months` are years, and each leads to a page with its lines"
    tables: tuple[SumTable, ...] = ()
    "by system, by kind, by supplier, by fault"
    plan: tuple[BudgetRow, ...] = ()
    "system by system, with sums last; empty: there is no budget and nothing is wanted"
    budget_total: BudgetRow | None = None
    "None: no budget was set"
    wanted: tuple[WantedRow, ...] = ()
    "what is wanted and not ordered, the oldest first"
    more_wanted: Link | None = None
    "the page that has the rest of it; None: this is all"
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
    more_rework: tuple[Link, ...] = ()
    "the pages that have all of it, where it is much; else empty"
    more_cores: tuple[Link, ...] = ()
    "the same of cores"
    more_gifts: tuple[Link, ...] = ()
    "the same of gifts"


WANTED_LINES = 40
"Wanted things that the page of costs shows; the page of what is still to do has the rest."


def make_costs(context: PageContext) -> CostsView:
    """The finished page; where money is hidden it says so and holds nothing else."""
    costs, words = context.figures.costs, context.words
    description = words.say("What %(machine)s has cost, by month, system and supplier.", machine=context.title)
    frame = make_frame(context, "costs.html", words.say("Costs"), description, dated=True)
    # Nothing else is filled, so that no template, the log's own included, can show what is hidden.
    if context.prices == "hidden":
        return CostsView(frame=frame, prices=context.prices, currency=costs.currency)
    rework, split = context.figures.rework, bool(context.cost_periods)
    return CostsView(
        frame=frame,
        prices=context.prices,
        currency=costs.currency,
        statement=tuple(one for one in _list_statement(context) if one.amount),
        not_in_totals=tuple(one for one in _list_not_in_totals(context) if one.amount),
        life=draw_life(context),
        months=tuple(_list_months(context)),
        by_month=not split,
        tables=tuple(_list_tables(context)),
        plan=tuple(list_plan(context)),
        budget_total=describe_budget(context, costs.plan.budget_total, words.say("All of it"))
        if costs.plan.budget_total
        else None,
        wanted=list_wanted(context)[:WANTED_LINES],
        more_wanted=say_more(context, len(costs.plan.list_open()), WANTED_LINES, "#wanted"),
        rework=tuple(describe_rework(context, item) for item in pick_few(context, "rework")),
        more_rework=tuple(list_pages(context, "rework").values()),
        rework_total=Sum(name=words.say("Rework"), amount=context.line_money(rework.cost), is_total=True)
        if rework.items
        else None,
        rework_hours=words.hours(rework.hours) if rework.hours else "",
        cores=tuple(describe_core(context, core) for core in pick_few(context, "cores")),
        more_cores=tuple(list_pages(context, "cores").values()),
        cores_total=context.line_money(costs.cores_owed_home) if costs.cores_owed else "",
        refunds=() if split else describe_lines(context, costs.refund_lines),
        refunds_by_period=describe_periods(context, "refunds", costs.refund_lines),
        refunds_total=context.total_money(costs.refunded, (), costs.refund_lines) if costs.refunded else "",
        sales=() if split else describe_lines(context, costs.recovered_lines),
        sales_by_period=describe_periods(context, "sales", costs.recovered_lines),
        sales_total=context.total_money(costs.recovered, costs.recovered_lines) if costs.recovered else "",
        gifts=tuple(describe_gift(context, gift) for gift in pick_few(context, "gifts")),
        more_gifts=tuple(list_pages(context, "gifts").values()),
    )


def _list_statement(context: PageContext) -> Iterator[Sum]:
    costs, say = context.figures.costs, context.words.say
    # Without refunds, paid and spent are one amount.
    if costs.refunded:
        paid = [line for line in costs.lines if line.sort == "paid"]
        yield Sum(name=say("Paid"), amount=context.total_money(costs.paid, paid))
        yield Sum(
            name=say("Refunds"),
            amount=context.total_money(-costs.refunded, costs.refund_lines),
            note=say("goods sent back, core charges and price reductions"),
        )
    yield Sum(name=say("Spent"), amount=context.total_money(costs.spent, costs.lines), is_total=True)
    if costs.recovered:
        recovered = context.total_money(-costs.recovered, (), costs.recovered_lines)
        yield Sum(name=say("Recovered"), amount=recovered, note=say("parts taken off and spares sold"))
        net = context.total_money(costs.net, costs.lines, costs.recovered_lines)
        # TRANSLATORS: what was spent, less what came back by selling
        yield Sum(name=say("Net"), amount=net, is_total=True)


def _list_not_in_totals(context: PageContext) -> Iterator[Sum]:
    costs, say = context.figures.costs, context.words.say
    if costs.committed:
        yield Sum(
            name=say("Committed"),
            amount=context.total_money(costs.committed, costs.committed_lines),
            note=say("ordered and not paid"),
            lines=describe_lines(context, costs.committed_lines),
        )
    # Not in the totals: they say what the work cost. Own hours are left out as well, as no money was paid for them.
    # With `prices: totals` neither: the one is a single price, and worth by hours gives away the rate.
    if costs.acquired is not None and context.prices == "shown":
        yield Sum(name=say("The machine itself"), amount=context.line_money(costs.acquired))
    if costs.own_hours:
        yield Sum(name=say("Own hours"), amount=context.words.hours(costs.own_hours))
    # With the rate beside it, which is the owner's choice.
    if context.prices != "shown":
        return
    if costs.own_hours_worth is not None and costs.own_hours and costs.hour_rate is not None:
        rate = context.line_money(costs.hour_rate)
        worth = context.line_money(costs.own_hours_worth)
        yield Sum(name=say("Owner's labour"), amount=worth, note=say("at %(rate)s an hour", rate=rate))


def _list_months(context: PageContext) -> Iterator[MonthRow]:
    """The months with their lines; where those are too many for one page, the years, each leading to its own."""
    periods, months = context.cost_periods, context.figures.costs.months
    if not periods:
        yield from (describe_month(context, month) for month in months)
        return
    for period in join_months(months, lambda month: periods[month]):
        yield replace(describe_period_row(context, period), href=period_href(period.month))


NONE_SHOWN = to_say("No total here can be shown without giving away a single amount.")


def _list_tables(context: PageContext) -> Iterator[SumTable]:
    # The same total below each table: every way of adding up comes to it.
    costs, say = context.figures.costs, context.words.say
    total = Sum(name=say("Spent"), amount=context.total_money(costs.spent, costs.lines), is_total=True)
    for way in list_ways(context):
        sums = fold_rest(context, way)
        yield SumTable(
            key=way.key,
            title=way.title,
            rows=sums,
            total=total if sums else None,
            empty=say(NONE_SHOWN) if way.sums else "",
        )


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
    say = context.words.say
    titles = {"": say("By month")} | {way.key: way.title for way in list_ways(context)}
    titles |= {"refunds": say("Refunds"), "sales": say("Sold")}

    def group(way: str) -> Groups:
        return _group_lines(context, way)

    def make(period: str, way: str) -> Callable[[], CostPeriodView]:
        return lambda: _make_period(context, period, way, titles, group)

    return {
        period_href(period, way): make(period, way)
        for way in titles
        for period in (_list_periods(context) if not way else group(way))
    }


def list_cost_links(context: PageContext) -> Iterator[tuple[str, tuple[tuple[str, str, Link], ...]]]:
    """What stands on each of those pages, kind by kind of page: its address, its period, and a link to there."""
    periods = context.cost_periods
    months = ((month, period, period_href(period)) for month, period in periods.items())
    yield (
        context.words.say("Costs"),
        tuple((page, period, Link(text=context.month(m).text, href=f"{page}#m-{m}")) for m, period, page in months),
    )
    for way, title in list(_name_costs(context).items())[1:] if periods else ():
        pages = {period: period_href(period, way) for period in _group_lines(context, way)}
        yield title, tuple((page, p, Link(text=context.period(p), href=page)) for p, page in pages.items())


def _name_costs(context: PageContext) -> dict[str, str]:
    """What the pages of periods are called, by their way of adding up; first those that have everything by month."""
    say = context.words.say
    names = {"": say("Costs")} | {way.key: way.costs_title for way in list_ways(context)}
    return names | {"refunds": say("Refunds"), "sales": say("Sold")}


def _list_periods(context: PageContext) -> tuple[str, ...]:
    return tuple(dict.fromkeys(context.cost_periods.values()))


@kept
def _group_lines(context: PageContext, key: str) -> Groups:
    """The lines of the sums of one way, by period."""
    costs = context.figures.costs
    sums: Iterable[tuple[str, str, Iterable[CostLine]]]
    if key == "refunds":
        sums = [(context.words.say("All of them"), key, costs.refund_lines)]
    elif key == "sales":
        sums = [(context.words.say("All of them"), key, costs.recovered_lines)]
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
    say, name = context.words.say, context.period(period)
    # TRANSLATORS: what a page tells of, and the time: Costs by system, 2024
    title = say("%(what)s, %(period)s", what=_name_costs(context)[way], period=name)
    description = say("What %(machine)s has cost, line by line: %(period)s.", machine=context.title, period=name)
    here = period_href(period, way)
    before, after = list_neighbours(group(way) if way else _list_periods(context))[period]
    months = (month for month in context.figures.costs.months if context.cost_periods.get(month.month) == period)
    return CostPeriodView(
        frame=make_frame(context, here, title, description),
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
                amount=context.total_money(sum_lines(lines, context.figures.costs.currency), lines),
                key=anchor,
                lines=describe_lines(context, lines),
            )
            for name, anchor, lines in sums
        ),
    )
