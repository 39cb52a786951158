"""The life of the machine as it is drawn: what it has cost day by day, what happened meanwhile, and the hours.

A point of the drawing is a total that is written somewhere, and no other; so single prices that are closed stay closed.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from decimal import Decimal
from functools import partial

from buildlog.compute.costs.sums import Step
from buildlog.frozen import frozen
from buildlog.render import charts
from buildlog.render.axes import TickWords
from buildlog.render.pages.context import PageContext
from buildlog.render.pieces import Link, When

MOST_POINTS = 150
"Points of the line; where there are more days on which money moved, the last of each month, quarter or year."
MOST_NAMED = 24
"Milestones, and sales, that stand on the drawing and below it, the latest; their own lists have all."


@frozen
class OnTheLine:
    """Something that is marked on the drawing."""

    when: When
    "its day"
    what: Link
    "what happened, leading to its entry"


@frozen
class LifeView:
    """The drawing and what its marks mean."""

    chart: str = ""
    "SVG, already safe; empty: fewer than two points"
    named: tuple[OnTheLine, ...] = ()
    "what is marked on it, oldest first"
    note: str = ""
    "that the machine was bought long before the drawing begins; empty: it begins there, or nobody says when that was"


def draw_life(context: PageContext) -> LifeView:
    """The drawing of the page of costs; empty where there is too little to draw."""
    figures, words = context.figures, context.words
    # Drawn as exactly as it is written: between two points that are shown, no other.
    steps = [step for step in figures.costs.steps if context.running_money(step.net, step.date.isoformat())]
    # The chart would be empty, and the description below needs a first and a last step.
    if len(steps) < 2:
        return LifeView()
    shown = _thin(steps)
    start, note = _choose_start(context, steps[0])
    named = tuple(sorted([*_list_milestones(context), *_list_sales(context)], key=lambda one: one[0].when.iso))
    budget = _find_budget(context)
    life = charts.Life(
        points=tuple((step.date, step.net.amount) for step in shown),
        start=start,
        until=figures.as_of,
        # Of closed prices a first total may be all that is shown of what came before it.
        whole=context.prices == "shown" or steps[0] == figures.costs.steps[0],
        milestones=tuple((day, one.what.text) for one, day, sold in named if not sold),
        sales=tuple((day, one.what.text) for one, day, sold in named if sold),
        hours=_list_hours(context),
        budget=budget,
    )
    chart_words = charts.Words(
        title=words.say("What it has cost so far"),
        description=_describe(context, steps, named),
        amount=lambda amount: words.round_money(amount, figures.costs.currency),
        ticks=TickWords(start=words.axis_start, month=words.axis_month),
        hours=partial(_say_hours, context, yearly=len(life.hours) > charts.MOST_BARS),
        end=context.planned_money(steps[-1].net),
        budget=_name_budget(context, budget) if budget is not None else (),
    )
    return LifeView(chart=charts.draw_life(life, chart_words), named=tuple(one for one, _, _ in named), note=note)


def _say_hours(context: PageContext, hours: Decimal, *, yearly: bool) -> str:
    say, worked = context.words.say, context.words.hours(hours)
    # TRANSLATORS: beside the line up to which bars of hours are drawn
    return (
        say("%(hours)s of own work a year", hours=worked)
        if yearly
        else say("%(hours)s of own work a month", hours=worked)
    )


def _name_budget(context: PageContext, budget: Decimal) -> tuple[str, str]:
    """With its amount; and where there is no room for that, without."""
    say = context.words.say
    return say("budget %(amount)s", amount=context.planned_money(context.home_money(budget))), say("budget")


FARTHEST = 3
"How many times as long as the log itself the time since the purchase may be, to be drawn."


def _choose_start(context: PageContext, first: Step) -> tuple[datetime.date, str]:
    """The day of the purchase; where the log was begun long after that, its first day, and a sentence about it."""
    acquired, entries = context.figures.log.settings.acquired, context.figures.entries
    begun = min([first.date, *(entry.date for entry in entries[:1])])
    if acquired is None or acquired.date >= begun:
        return begun.replace(day=1) if acquired is None else begun, ""
    # Else the years before would be an empty drawing with all that is told in a corner.
    as_of = context.figures.as_of
    if (as_of - acquired.date) > (as_of - begun) * FARTHEST:
        say, day = context.words.say, context.words.day(acquired.date)
        return begun.replace(day=1), say("The machine was bought on %(day)s, before the drawing begins.", day=day)
    return acquired.date, ""


Found = tuple[OnTheLine, datetime.date, bool]
"What is marked, its day, and whether it is a sale."


def _list_milestones(context: PageContext) -> Iterator[Found]:
    entries = [entry for entry in context.entries.values() if entry.milestone]
    for entry in entries[-MOST_NAMED:]:
        what = Link(text=context.owner_text(entry.milestone), href=context.entry_link(entry.name).href)
        yield OnTheLine(when=context.when(entry.date), what=what), entry.date, False


def _list_sales(context: PageContext) -> Iterator[Found]:
    # What came in on a day is a single price as often as not.
    sales = context.figures.costs.recovered_lines if context.prices == "shown" else ()
    for line in sales[-MOST_NAMED:]:
        text = context.words.say("sold: %(what)s", what=context.item_name(line.what))
        what = Link(text=text, href=context.entry_link(line.entry).href)
        yield OnTheLine(when=context.when(line.date), what=what), line.date, True


def _thin(steps: list[Step]) -> list[Step]:
    """As many as the eye can tell apart, and the drawing stays small: the last one of each month, quarter or year."""
    for length in (1, 3, 12, 120):
        if len(steps) <= MOST_POINTS:
            return steps
        # By its number, so that a quarter is one everywhere.
        steps = list({(step.date.year * 12 + step.date.month - 1) // length: step for step in steps}.values())
    return steps


def _find_budget(context: PageContext) -> Decimal | None:
    """What was planned for all that the line is of; None where a system has no budget, as the two compare nothing."""
    costs = context.figures.costs
    planned = {row.system for row in costs.plan.budget}
    everything = {line.system for line in (*costs.lines, *costs.recovered_lines)}
    if costs.plan.budget_total is None or not everything <= planned:
        return None
    return costs.plan.budget_total.budget.amount


def _list_hours(context: PageContext) -> tuple[charts.Point, ...]:
    return tuple(
        (datetime.date.fromisoformat(f"{month.month}-01"), month.hours) for month in context.figures.costs.months
    )


def _describe(context: PageContext, steps: list[Step], named: tuple[Found, ...]) -> str:
    first, last, words = steps[0], steps[-1], context.words
    said = words.say(
        "Net of what was recovered: %(first)s on %(first_day)s, %(last)s on %(last_day)s.",
        first=context.planned_money(first.net),
        first_day=words.day(first.date),
        last=context.planned_money(last.net),
        last_day=words.day(last.date),
    )
    if named:
        by_years = words.say("What is marked is listed below, and the table of years has the same figures.")
        by_months = words.say("What is marked is listed below, and the table of months has the same figures.")
    else:
        by_years = words.say("The table of years has the same figures.")
        by_months = words.say("The table of months has the same figures.")
    return f"{said} {by_years if context.cost_periods else by_months}"
