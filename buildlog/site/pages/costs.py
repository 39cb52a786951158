"""The page of costs: every sum of the log, and the lines behind it where prices are shown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from buildlog.reckon.costs import totals as reckoned
from buildlog.reckon.costs.cores import CoreOwed
from buildlog.reckon.costs.gifts import Gift
from buildlog.reckon.costs.lines import CostLine
from buildlog.reckon.costs.twice import TwiceItem
from buildlog.site import charts
from buildlog.site.pages.edition import Edition, entry_href
from buildlog.site.pages.framing import make_frame
from buildlog.site.pieces import CostLine as CostLineView
from buildlog.site.pieces import Link, Sum, SumTable
from buildlog.site.view_costs import BudgetRow, CoreRow, CostsView, GiftRow, MonthRow, TwiceRow
from buildlog.site.words import count

KIND_NAMES = {
    "part": "Parts",
    "consumable": "Consumables",
    "tool": "Tools",
    "labour": "Labour by others",
    "fee": "Fees",
    "other": "Other",
}
"Kinds of line, in readers' words."


def make_costs(edition: Edition) -> CostsView:
    """The finished page; where money is hidden it says so and holds nothing else."""
    costs, words = edition.figures.costs, edition.words
    frame = make_frame(edition, "costs.html", "Costs", f"What {edition.title} has cost, by month, system and supplier.")
    if edition.prices == "hidden":
        return CostsView(frame=frame, prices=edition.prices, currency=costs.currency)
    twice = edition.figures.twice
    return CostsView(
        frame=frame,
        prices=edition.prices,
        currency=costs.currency,
        statement=tuple(_list_statement(edition)),
        beside=tuple(_list_beside(edition)),
        chart=_draw_chart(edition),
        months=tuple(_describe_month(edition, month) for month in costs.months),
        tables=tuple(_list_tables(edition)),
        budget=tuple(_describe_budget(edition, row, edition.system_name(row.system)) for row in costs.budget),
        budget_total=_describe_budget(edition, costs.budget_total, "All of it") if costs.budget_total else None,
        twice=tuple(_describe_twice(edition, item) for item in twice.items),
        twice_total=Sum(name="Done twice", amount=edition.money(twice.cost), is_total=True) if twice.items else None,
        twice_hours=words.hours(twice.hours) if twice.hours else "",
        cores=tuple(_describe_core(edition, core) for core in costs.cores_owed),
        cores_total=edition.money(costs.cores_owed_home) if costs.cores_owed else "",
        refunds=describe_lines(edition, costs.refund_lines),
        refunds_total=edition.money(costs.refunded) if costs.refunded else "",
        sales=describe_lines(edition, costs.recovered_lines),
        sales_total=edition.money(costs.recovered) if costs.recovered else "",
        gifts=tuple(_describe_gift(edition, gift) for gift in costs.gifts),
    )


def _list_statement(edition: Edition) -> Iterator[Sum]:
    costs = edition.figures.costs
    if costs.refunded:
        yield Sum(name="Paid", amount=edition.money(costs.paid))
        yield Sum(name="Came back", amount=edition.money(-costs.refunded), note="returned goods, cores and prices")
    yield Sum(name="Spent", amount=edition.money(costs.spent), is_total=True)
    if costs.recovered:
        yield Sum(name="Recovered", amount=edition.money(-costs.recovered), note="take-offs and spares sold")
        yield Sum(name="Net", amount=edition.money(costs.net), is_total=True)


def _list_beside(edition: Edition) -> Iterator[Sum]:
    costs = edition.figures.costs
    if costs.committed:
        yield Sum(
            name="Committed",
            amount=edition.money(costs.committed),
            note="ordered and not paid",
            lines=describe_lines(edition, costs.committed_lines),
        )
    if costs.acquired is not None:
        yield Sum(name="The machine itself", amount=edition.money(costs.acquired), note="stands apart from every sum")
    if costs.own_hours:
        yield Sum(name="Own hours", amount=edition.words.hours(costs.own_hours))
    if costs.own_hours_worth is not None and costs.own_hours and costs.hour_rate is not None:
        rate = edition.money(costs.hour_rate)
        yield Sum(name="Worth of own hours", amount=edition.money(costs.own_hours_worth), note=f"at {rate} an hour")


def _draw_chart(edition: Edition) -> str:
    figures, words = edition.figures, edition.words
    steps = figures.costs.steps
    if len(steps) < 2:
        return ""
    first, last = steps[0], steps[-1]
    description = (
        f"Net of what was recovered: {edition.money(first.net)} on {words.day(first.date)}, "
        f"{edition.money(last.net)} on {words.day(last.date)}. The table of months has the same figures."
    )
    chart_words = charts.Words(
        title="What it has cost so far",
        description=description,
        amount=lambda amount: words.round_money(amount, figures.costs.currency),
        month=words.axis_month,
        end=edition.money(last.net),
    )
    points = [(step.date, step.net) for step in steps]
    return charts.running_total_chart(points, until=figures.as_of, words=chart_words)


def _describe_month(edition: Edition, month: reckoned.MonthFigures) -> MonthRow:
    return MonthRow(
        when=edition.month(month.month),
        spent=edition.money(month.spent),
        recovered=edition.money(month.recovered) if month.recovered else "",
        net=edition.money(month.net),
        running=edition.money(month.running),
        hours=edition.words.hours(month.hours) if month.hours else "",
        lines=describe_lines(edition, month.lines),
    )


def _list_tables(edition: Edition) -> Iterator[SumTable]:
    costs = edition.figures.costs
    ways = [
        ("by-system", "By system", [(edition.system_name(t.key), t) for t in costs.by_system]),
        ("by-kind", "By kind", [(KIND_NAMES[t.key or "other"], t) for t in costs.by_kind]),
    ]
    if edition.figures.log.settings.public.suppliers == "shown":
        ways.append(("by-supplier", "By supplier", [(edition.said(t.name), t) for t in costs.by_supplier]))
    total = Sum(name="Spent", amount=edition.money(costs.spent), is_total=True)
    for key, title, rows in ways:
        sums = tuple(_describe_total(edition, name, row) for name, row in rows)
        yield SumTable(key=key, title=title, rows=sums, total=total if sums else None, empty="Nothing was spent yet.")


def _describe_total(edition: Edition, name: str, total: reckoned.Total) -> Sum:
    return Sum(
        name=name,
        amount=edition.money(total.amount),
        note=count(len(total.lines), "line"),
        lines=describe_lines(edition, total.lines),
    )


def describe_lines(edition: Edition, lines: Iterable[CostLine]) -> tuple[CostLineView, ...]:
    """The lines behind a sum; none unless prices are shown."""
    if edition.prices != "shown":
        return ()
    return tuple(
        CostLineView(
            when=edition.when(line.date),
            what=edition.said(line.what) + (", came back" if line.sort == "refund" else ""),
            supplier=edition.supplier(line.supplier),
            entry=edition.entry_link(line.entry),
            amount=edition.money(-line.landed if line.sort == "sold" else line.landed),
        )
        for line in lines
    )


def _describe_budget(edition: Edition, row: reckoned.BudgetRow, name: str) -> BudgetRow:
    return BudgetRow(
        name=name,
        budget=edition.money(row.budget),
        spent=edition.money(row.spent),
        committed=edition.money(row.committed),
        left=edition.money(row.left),
        forecast=edition.money(row.forecast),
        over=row.left < 0,
    )


def _describe_twice(edition: Edition, item: TwiceItem) -> TwiceRow:
    return TwiceRow(
        what=edition.part_link(item.key),
        first=edition.part_link(item.earlier),
        again=edition.entry_link(item.entry),
        amount=edition.line_money(item.cost),
        hours=edition.words.hours(item.hours) if item.hours else "",
    )


def _describe_core(edition: Edition, core: CoreOwed) -> CoreRow:
    return CoreRow(
        part=edition.part_link(core.part, core.what)
        if core.part
        else Link(text=edition.said(core.what), href=entry_href(core.entry)),
        supplier=edition.supplier(core.supplier),
        ref=edition.order_ref(core.ref),
        since=edition.when(core.since),
        amount=edition.line_money(core.core.amount, core.core.currency),
    )


def _describe_gift(edition: Edition, gift: Gift) -> GiftRow:
    return GiftRow(
        what=edition.part_link(gift.part, gift.what) if gift.part else Link(text=edition.said(gift.what)),
        when=edition.when(gift.date),
        worth=edition.line_money(gift.worth.amount, gift.worth.currency) if gift.worth else "",
        sponsored=gift.from_sponsor,
        entry=edition.entry_link(gift.entry),
    )
