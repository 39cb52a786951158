"""`buildlog costs`: what was spent, recovered and committed, and on what?"""

from __future__ import annotations

from collections.abc import Iterable

from buildlog.answers.tables import Answer, Table, write_amount
from buildlog.compute.costs.lines import CostLine
from buildlog.compute.costs.totals import BudgetRow, Total
from buildlog.compute.figures import Figures


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
        **{name: write_amount(figures, amount) for name, amount in sums.items()},
        "paid": write_amount(figures, costs.paid),
        "refunded": write_amount(figures, costs.refunded),
        "acquired": None if costs.acquired is None else write_amount(figures, costs.acquired),
        "own_hours": f"{costs.own_hours:f}",
        "own_hours_worth": None if costs.own_hours_worth is None else write_amount(figures, costs.own_hours_worth),
        "done_twice": {
            "cost": write_amount(figures, figures.rework.cost),
            "hours": f"{figures.rework.hours:f}",
        },
        **{way: {total.name: write_amount(figures, total.amount) for total in totals} for way, totals in ways.items()},
        "budget": [{"system": row.system, **_write_plan(figures, row)} for row in costs.budget],
        "budget_total": _write_plan(figures, costs.budget_total) if costs.budget_total else None,
        "lines": [_cost_line(figures, line) for line in costs.lines],
        "committed_lines": [_cost_line(figures, line) for line in costs.committed_lines],
        "recovered_lines": [_cost_line(figures, line) for line in costs.recovered_lines],
    }
    rows = [(name, write_amount(figures, amount)) for name, amount in sums.items()]
    if costs.acquired is not None:
        rows.append(("the machine itself, apart", write_amount(figures, costs.acquired)))
    if figures.rework.items:
        rows.append(("rework, in spent", write_amount(figures, figures.rework.cost)))
    tables = [Table(title=f"Costs as of {figures.as_of}", columns=("", f"{costs.currency}>"), rows=tuple(rows))]
    tables += [_draw_budget(figures)] if costs.budget else []
    for title in ("System", "Kind", "Supplier", "Month"):
        tables.append(_total_table(figures, title, ways[f"by_{title.lower()}"]))
    return Answer(tables=tuple(tables), data=data)


def _write_plan(figures: Figures, row: BudgetRow) -> dict[str, str]:
    amounts = {
        "budget": row.budget, "spent": row.spent, "committed": row.committed, "left": row.left, "forecast": row.forecast
    }  # fmt: skip
    return {name: write_amount(figures, amount) for name, amount in amounts.items()}


def _draw_budget(figures: Figures) -> Table:
    costs = figures.costs
    plans = (*costs.budget, *([costs.budget_total] if costs.budget_total and len(costs.budget) > 1 else []))
    rows = tuple((plan.system or "all", *_write_plan(figures, plan).values()) for plan in plans)
    columns = ("Budget", f"{costs.currency}>", "Spent>", "Committed>", "Left>", "Forecast>")
    return Table(title="", columns=columns, rows=rows)


def _cost_line(figures: Figures, line: CostLine) -> dict[str, str | None]:
    return {
        "entry": line.entry,
        "what": line.what,
        "landed": write_amount(figures, line.landed),
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
    rows = tuple((total.name, write_amount(figures, total.amount)) for total in totals)
    return Table(title="", columns=(title, f"{figures.costs.currency}>"), rows=rows, empty=f"{title}: nothing spent")
