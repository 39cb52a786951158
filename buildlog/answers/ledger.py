"""What `buildlog costs`, `buildlog parts`, `buildlog due` and `buildlog next` print, as tables and as JSON."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal
from typing import Any

from buildlog.answers.forms import Answer, Table, write_amount
from buildlog.compute.costs.beside_totals import ShelfItem
from buildlog.compute.costs.lines import UNNAMED, CostLine
from buildlog.compute.costs.plan import BudgetRow, ForecastRow, WantedFigures
from buildlog.compute.costs.sums import Total
from buildlog.compute.figures import Figures
from buildlog.compute.parts.deadlines import Deadline
from buildlog.compute.parts.part_history import PartFigures, find_parts
from buildlog.compute.plans import ListFigures, PlanItem, TickItem
from buildlog.compute.service.due_status import Due, say_counts
from buildlog.text import shorten


def answer_costs(figures: Figures) -> Answer:
    """What was spent, recovered and committed, and on what."""
    costs = figures.costs
    sums = {"spent": costs.spent, "recovered": costs.recovered, "net": costs.net, "committed": costs.committed}
    ways = {
        "by_month": costs.by_month,
        "by_system": costs.by_system,
        "by_kind": costs.by_kind,
        "by_supplier": costs.by_supplier,
        "by_fault": costs.by_fault,
        "by_entry": costs.by_entry,
    }
    data = {
        "currency": costs.currency,
        "as_of": figures.as_of.isoformat(),
        **{name: write_amount(amount) for name, amount in sums.items()},
        "paid": write_amount(costs.paid),
        "refunded": write_amount(costs.refunded),
        "acquired": None if costs.acquired is None else write_amount(costs.acquired),
        "own_hours": f"{costs.own_hours:f}",
        "own_hours_worth": None if costs.own_hours_worth is None else write_amount(costs.own_hours_worth),
        "rework": {
            "cost": write_amount(figures.rework.cost),
            "hours": f"{figures.rework.hours:f}",
        },
        **{way: {total.name: write_amount(total.amount) for total in totals} for way, totals in ways.items()},
        "budget": [{"system": row.system, **_write_plan(row)} for row in costs.plan.budget],
        "budget_total": _write_plan(costs.plan.budget_total) if costs.plan.budget_total else None,
        "wanted": write_amount(costs.plan.wanted_sum),
        "forecast": write_amount(costs.plan.forecast),
        "forecast_by_system": [_write_forecast(row) for row in costs.plan.by_system],
        "wanted_items": [_write_wanted(item) for item in costs.plan.list_open()],
        "lines": [_cost_line(line) for line in costs.lines],
        "committed_lines": [_cost_line(line) for line in costs.committed_lines],
        "recovered_lines": [_cost_line(line) for line in costs.recovered_lines],
    }
    rows = [(name, write_amount(amount)) for name, amount in sums.items()]
    if costs.acquired is not None:
        rows.append(("the machine itself (not in these totals)", write_amount(costs.acquired)))
    if figures.rework.items:
        rows.append(("rework (part of spent)", write_amount(figures.rework.cost)))
    tables = [Table(title=f"Costs as of {figures.as_of}", columns=("", f"{costs.currency}>"), rows=tuple(rows))]
    tables += [_draw_budget(figures)] if costs.plan.budget else []
    tables += [_draw_forecast(figures)] if costs.plan.list_open() else []
    for title in ("System", "Kind", "Supplier", "Month"):
        tables.append(_total_table(figures, title, ways[f"by_{title.lower()}"]))
    return Answer(tables=tuple(tables), data=data)


def _write_plan(row: BudgetRow) -> dict[str, str]:
    amounts = {
        "budget": row.budget, "spent": row.spent, "committed": row.committed, "wanted": row.wanted, "left": row.left,
        "forecast": row.forecast,
    }  # fmt: skip
    return {name: write_amount(amount) for name, amount in amounts.items()}


def _draw_budget(figures: Figures) -> Table:
    costs, plan = figures.costs, figures.costs.plan
    budgets = (*plan.budget, *([plan.budget_total] if plan.budget_total and len(plan.budget) > 1 else []))
    rows = tuple((row.system or "all", *_write_plan(row).values()) for row in budgets)
    columns = ("Budget", f"{costs.currency}>", "Spent>", "Committed>", "Wanted>", "Left>", "Forecast>")
    return Table(title="", columns=columns, rows=rows)


def _write_forecast(row: ForecastRow) -> dict[str, str | None]:
    return {
        "system": row.system,
        "spent": write_amount(row.spent),
        "committed": write_amount(row.committed),
        "wanted": write_amount(row.wanted),
        "forecast": write_amount(row.forecast),
        "budget": None if row.budget is None else write_amount(row.budget),
    }


def _write_wanted(item: WantedFigures) -> dict[str, str | None]:
    return {
        "part": item.part,
        "what": item.what,
        "qty": f"{item.qty:f}",
        "about": None if item.about is None else write_amount(item.about),
        "system": item.system,
        "supplier": item.supplier,
        "since": item.since.isoformat() if item.since else None,
        "entry": item.entry,
    }


def _draw_forecast(figures: Figures) -> Table:
    costs, plan = figures.costs, figures.costs.plan
    amounts = [
        (row.system or "unassigned", row.spent, row.committed, row.wanted, row.forecast) for row in plan.by_system
    ]
    amounts.append(("all", costs.spent, costs.committed, plan.wanted_sum, plan.forecast))
    rows = tuple((name, *(write_amount(amount) for amount in some)) for name, *some in amounts)
    return Table(title="", columns=("Forecast", "Spent>", "Committed>", "Wanted>", f"{costs.currency}>"), rows=rows)


def _cost_line(line: CostLine) -> dict[str, str | None]:
    return {
        "entry": line.entry,
        "what": line.what or UNNAMED,
        "landed": write_amount(line.landed),
        "sort": line.sort,
        "date": line.date.isoformat(),
        "qty": f"{line.qty:f}",
        "unit": line.unit,
        "part": line.part,
        "system": line.system,
        "kind": line.kind,
        "fault": line.fault,
        "supplier": line.supplier,
        "order": line.ref,
    }


def _total_table(figures: Figures, title: str, totals: Iterable[Total]) -> Table:
    rows = tuple((total.name, write_amount(total.amount)) for total in totals)
    return Table(title="", columns=(title, f"{figures.costs.currency}>"), rows=rows, empty=f"{title}: nothing spent")


LONGEST_SOUGHT = 60
"Characters of what was sought that are said again."
COLUMNS: tuple[tuple[str, Callable[[PartFigures], Decimal]], ...] = (
    ("Bought>", lambda part: part.bought),
    ("Own>", lambda part: part.came_with),
    ("In post>", lambda part: part.in_the_post),
    ("Shelf>", lambda part: part.shelf),
    ("On it>", lambda part: part.on_machine),
    ("Cancelled>", lambda part: part.cancelled),
    ("Sent back>", lambda part: part.returned),
    ("Sold>", lambda part: part.sold),
    ("Gone>", lambda part: part.gone),
)
"What a row counts: the first two columns are all that there was, and the others add up to that."
QUANTITIES = (
    "bought", "came_with", "in_the_post", "shelf", "on_machine", "cancelled", "returned", "sold", "gone", "arrived",
    "fitted", "removed", "kept", "scrapped",
)  # fmt: skip


def answer_parts(figures: Figures, find: str | None = None) -> Answer:
    """Every part, or those that a number or a name means."""
    parts = find_parts(figures.parts, find) if find else figures.parts.parts
    heads = ("Part", "Short name", "Numbers", "Unit", *(head for head, _ in COLUMNS))
    table = Table(
        title=f"Parts as of {figures.as_of}",
        columns=heads,
        rows=tuple(_draw_part(part) for part in parts),
        empty=f"no part has the number or name `{shorten(find, LONGEST_SOUGHT)}`" if find else "no parts on record",
    )
    shelf, currency = figures.shelf, figures.costs.currency
    lying = {item.key: item for item in shelf.items}
    tables = [table.without_empty_columns()]
    rows = tuple(
        (part.name, f"{some.qty:f}", some.where or "", write_amount(lying[part.key].worth) if not n else "")
        for part in parts
        if part.key in lying
        for n, some in enumerate(lying[part.key].lying)
    )
    if shelf.placed and rows:
        title = f"On the shelf, worth {write_amount(shelf.worth)} {currency} in all"
        tables.append(Table(title=title, columns=("Part", "Lying>", "Where", f"Worth {currency}>"), rows=rows))
    return Answer(tables=tuple(tables), data=[_write_part(figures, part, lying.get(part.key)) for part in parts])


def _draw_part(part: PartFigures) -> tuple[str, ...]:
    # Nothing instead of 0: what is there stands out, and a column that no part needs is dropped.
    counts = (count(part) for _, count in COLUMNS)
    return part.name, part.key, ", ".join(part.numbers), part.unit or "", *(f"{qty:f}" if qty else "" for qty in counts)


def _write_part(figures: Figures, part: PartFigures, lying: ShelfItem | None) -> dict[str, Any]:
    dates = [deadline for deadline in figures.deadlines if deadline.part == part.key]
    return {
        "part": part.key,
        "aliases": list(part.aliases),
        "name": part.name,
        "numbers": list(part.numbers),
        "maker": part.maker,
        "system": part.system,
        "spec": part.spec,
        "single_use": part.single_use,
        "original": part.original,
        "unit": part.unit,
        # `f`, as plain `str` writes a hundred that was computed so as `1E+2`
        **{name: f"{getattr(part, name):f}" for name in QUANTITIES},
        "lying": [{"where": some.where, "qty": f"{some.qty:f}"} for some in lying.lying] if lying else [],
        "shelf_worth": write_amount(lying.worth) if lying else None,
        "deadlines": [{"kind": one.kind, "until": one.until.isoformat(), "state": one.state} for one in dates],
        "failed": [
            {"date": one.date.isoformat(), "entry": one.entry, "warranty_until": one.until.isoformat()}
            for one in figures.failures
            if one.part == part.key
        ],
    }


def answer_due(figures: Figures) -> Answer:
    """Every service item and every fastener to be checked again, most pressing first."""
    items = figures.due
    data = [
        {
            "item": item.key,
            "name": item.name,
            "state": item.state,
            "due_date": item.due_date.isoformat() if item.due_date else None,
            "due_reading": None if item.due_reading is None else f"{item.due_reading:f}",
            "unit": figures.meter.unit if item.due_reading is not None else None,
            "forecast": item.forecast.isoformat() if item.forecast else None,
            "last_done": item.last_when,
            "deadline": None,
            "supplier": None,
            "order": None,
            "entry": None,
        }
        for item in items
    ]
    rows = tuple(
        (
            item.name,
            item.state,
            item.due_date.isoformat() if item.due_date else "",
            _say_reading(item, figures.meter.unit),
            item.forecast.isoformat() if item.forecast else "",
            item.last_when or "no record",
        )
        for item in items
    )
    columns = ("Item", "State", "Due by", "Or at>", "Reached about", "Last done")
    title = ": ".join(filter(None, [f"Service as of {figures.as_of}", say_counts(items)]))
    empty = "no service intervals in `log.yaml`"
    tables = [Table(title=title, columns=columns, rows=rows, empty=empty)]
    # What runs out later than its notice is in `parts` and in figures.json: this is what to do now.
    soon = [deadline for deadline in figures.deadlines if deadline.state != "later"]
    if soon:
        drawn = tuple((one.name or UNNAMED, one.kind, one.state, str(one.until), one.ref or "") for one in soon)
        tables.append(Table(title="Running out", columns=("Item", "What", "State", "Until", "Order"), rows=drawn))
    return Answer(tables=tuple(tables), data=[*data, *map(_write_deadline, soon)])


def _write_deadline(deadline: Deadline) -> dict[str, str | None]:
    return {
        "item": deadline.part,
        "name": deadline.name or UNNAMED,
        "state": deadline.state,
        "due_date": deadline.until.isoformat(),
        "due_reading": None,
        "unit": None,
        "forecast": None,
        "last_done": None,
        "deadline": deadline.kind,
        "supplier": deadline.supplier,
        "order": deadline.ref,
        "entry": deadline.entry,
    }


def _say_reading(item: Due, unit: str | None) -> str:
    """The true total, and what the meter will show then where that is something else."""
    if item.due_total is None:
        return ""
    shown = "" if item.due_reading in (None, item.due_total) else f" (meter {item.due_reading:f})"
    return f"{item.due_total:f} {unit}{shown}"


def answer_next(figures: Figures) -> Answer:
    """What is still to be done: open `next:` items, what is wanted, and the lists with what is missing of them."""
    plans, plan, currency = figures.plans, figures.costs.plan, figures.costs.currency
    data = {
        "as_of": figures.as_of.isoformat(),
        "currency": currency,
        "items": [_write_item(item) for item in plans.list_open()],
        "wanted": [_write_wanted(item) for item in plan.list_open()],
        "lists": [_write_list(checklist) for checklist in plans.lists],
    }
    items = tuple((item.what, item.name or "", str(item.since), item.entry) for item in plans.list_open())
    wanted = tuple(
        (
            item.what,
            f"{item.qty:f}",
            item.system or "",
            item.supplier or "",
            write_amount(item.about) if item.about else "",
        )
        for item in plan.list_open()
    )
    tables = [
        Table(
            title=f"Still to do as of {figures.as_of}",
            columns=("Item", "Short name", "Since", "Entry"),
            rows=items,
            empty="nothing that an entry put under `next:` is still open",
        ).without_empty_columns(),
        Table(
            title="",
            columns=("Wanted", "Qty>", "For", "From", f"About, {currency}>"),
            rows=wanted,
            empty="nothing is wanted that has not been ordered",
        ).without_empty_columns(),
        *(_draw_list(checklist) for checklist in plans.lists),
    ]
    return Answer(tables=tuple(tables), data=data)


def _draw_list(checklist: ListFigures) -> Table:
    rows = tuple((item.what, _say_tick(item), item.caution or "") for item in checklist.items)
    name = f"{checklist.name}: {checklist.ticked} of {len(rows)} ticked"
    return Table(title=name, columns=("Item", "Ticked", "Caution"), rows=rows, empty="no items").without_empty_columns()


def _say_tick(item: TickItem) -> str:
    if item.ticked is None:
        return "missing"
    return f"{item.ticked}, worked on since" if item.worked_on else str(item.ticked)


def _write_item(item: PlanItem) -> dict[str, Any]:
    return {
        "what": item.what,
        "name": item.name,
        "since": item.since.isoformat(),
        "entry": item.entry,
        "days": item.days,
    }


def _write_list(checklist: ListFigures) -> dict[str, Any]:
    return {
        "list": checklist.key,
        "name": checklist.name,
        "ticked": checklist.ticked,
        "missing": checklist.missing,
        "items": [
            {
                "what": item.what,
                "name": item.name,
                "caution": item.caution,
                "system": item.system,
                "ticked": item.ticked.isoformat() if item.ticked else None,
                "entry": item.ticked_in,
                "worked_on": item.worked_on.isoformat() if item.worked_on else None,
                "worked_in": item.worked_in,
            }
            for item in checklist.items
        ],
    }
