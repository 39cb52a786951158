"""What was planned and what it will come to, system by system, in words and beside a rule that stands for the plan."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.compute.costs import plan as planned
from buildlog.frozen import frozen
from buildlog.render.pages.context import PageContext
from buildlog.render.strips import draw_budget


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
    bar: str = ""
    "spent and committed beside the budget: SVG, already safe; empty: not shown"


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
        bar=_draw_plan(context, row) if fixed and row.budget.amount > 0 else "",
    )


def _draw_plan(context: PageContext, row: planned.BudgetRow) -> str:
    whole = row.budget.amount
    # What is wanted is a single price before it is paid.
    forecast = row.forecast.amount / whole if context.prices == "shown" and row.wanted else None
    return draw_budget((whole - row.left.amount) / whole, forecast)


def list_plan(context: PageContext) -> Iterator[BudgetRow]:
    """Each system that has a budget; where something is wanted, what else is ordered or wanted for; sums last.

    What is left out comes to what it has cost, which stands on the page already.
    """
    plan, words = context.figures.costs.plan, context.words
    yield from (describe_budget(context, row, context.system_name(row.system)) for row in plan.budget)
    planned_for = {row.system for row in plan.budget}
    others = [row for row in plan.by_system if row.system not in planned_for] if plan.list_open() else []
    yield from (_describe_forecast(context, row) for row in others if row.committed or row.wanted)
    if plan.budget_total:
        yield describe_budget(
            context, plan.budget_total, words.say("All with a budget") if others else words.say("All of it")
        )
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
        name=context.words.say("All of it"),
        spent=context.total_money(costs.spent, costs.lines),
        committed=context.total_money(costs.committed, costs.committed_lines) if costs.committed else "",
        wanted=context.line_money(plan.wanted_sum) if plan.wanted_sum else "",
        forecast=context.total_money(plan.forecast, (*costs.lines, *costs.committed_lines)),
        is_total=True,
    )
