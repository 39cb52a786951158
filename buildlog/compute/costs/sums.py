"""How do lines of money add up: by whatever is chosen of them, month by month, day by day, several months together?"""

from __future__ import annotations

import datetime
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import replace
from decimal import Decimal
from itertools import groupby

from buildlog.compute.costs.lines import CostLine
from buildlog.compute.quantities.money import Money, sum_money
from buildlog.frozen import frozen
from buildlog.read.records import Log

UNASSIGNED = "unassigned"
"The name of the total of lines that name no system, or no fault."


@frozen
class Total:
    """One sum, and the lines that make it."""

    key: str | None
    "the system, kind, supplier, fault or entry; `2024-05` for a month; None: the lines name none"
    name: str
    "the key, or `unassigned`"
    amount: Money
    "home currency"
    lines: tuple[CostLine, ...]
    "what makes it, in the order of time"


@frozen
class MonthFigures:
    """One calendar month in which money moved or hours went in."""

    month: str
    "`2024-05`"
    spent: Money
    "paid less come back; home currency"
    recovered: Money
    "brought in by sales"
    net: Money
    "spent less recovered"
    running: Money
    "net of all months up to the end of this one"
    hours: Decimal
    "own hours"
    lines: tuple[CostLine, ...]
    "what makes `spent` and `recovered`"


@frozen
class Step:
    """One day on which money moved."""

    date: datetime.date
    "the day"
    spent: Money
    "spent up to and with this day; home currency"
    net: Money
    "spent less recovered, up to and with this day"


def sum_lines(lines: Iterable[CostLine], currency: str) -> Money:
    """What the lines come to, in the home currency, which is given for where there is no line."""
    return sum_money([line.landed for line in lines], currency)


def total_lines(
    lines: Iterable[CostLine], choose: Callable[[CostLine], str | None], order: Iterable[str] = ()
) -> tuple[Total, ...]:
    """The lines by what is chosen of them: in the order given, then as they come, those without it last."""
    groups: dict[str | None, list[CostLine]] = defaultdict(list, {key: [] for key in order})
    for line in lines:
        groups[choose(line)].append(line)
    last = groups.pop(None, [])
    # A system that nothing was spent on has no row: the order that is given names more than there is.
    rows = [_make_total(key, group) for key, group in groups.items() if group]
    return (*rows, *([_make_total(None, last)] if last else []))


def _make_total(key: str | None, lines: list[CostLine]) -> Total:
    amount = sum_lines(lines, lines[0].landed.currency)
    return Total(key=key, name=UNASSIGNED if key is None else key, amount=amount, lines=tuple(lines))


def name_month(line: CostLine) -> str:
    return line.date.isoformat()[:7]


def list_months(lines: Iterable[CostLine], sales: Iterable[CostLine], log: Log) -> tuple[MonthFigures, ...]:
    hours: dict[str, Decimal] = {}
    for entry in log.entries:
        month = entry.date.isoformat()[:7]
        hours[month] = hours.get(month, Decimal(0)) + (entry.hours or 0)
    moved = {total.name: total.lines for total in total_lines((*lines, *sales), name_month)}
    currency = log.settings.money.currency
    rows, running = [], Money(Decimal(0), currency)
    # Months of work alone count too: the table has hours beside the money.
    for month in sorted(moved.keys() | {month for month, count in hours.items() if count}):
        mine = moved.get(month, ())
        spent = sum_lines((line for line in mine if line.sort != "sold"), currency)
        recovered = sum_lines((line for line in mine if line.sort == "sold"), currency)
        running += spent - recovered
        rows.append(
            MonthFigures(
                month=month,
                spent=spent,
                recovered=recovered,
                net=spent - recovered,
                running=running,
                hours=hours.get(month, Decimal(0)),
                lines=mine,
            )
        )
    return tuple(rows)


def list_steps(lines: Iterable[CostLine], sales: Iterable[CostLine], currency: str) -> tuple[Step, ...]:
    days: dict[datetime.date, tuple[Money, Money]] = {}
    spent = recovered = Money(Decimal(0), currency)
    for line in sorted((*lines, *sales), key=lambda line: line.date):
        if line.sort == "sold":
            recovered += line.landed
        else:
            spent += line.landed
        # The last line of a day is what the day comes to; a chart with several points on one day would jump.
        days[line.date] = spent, recovered
    return tuple(Step(date=day, spent=spent, net=spent - recovered) for day, (spent, recovered) in days.items())


def run_by_entry(log: Log, steps: tuple[Step, ...]) -> dict[str, Money]:
    """The running net total at the end of each entry's day."""
    days = [step.date for step in steps]
    nets = [Money(Decimal(0), log.settings.money.currency), *(step.net for step in steps)]
    # All of the day counts, also what another entry of the same day tells: the total is the machine's.
    return {entry.name: nets[bisect_right(days, entry.date)] for entry in log.entries}


def join_months(months: Iterable[MonthFigures], name: Callable[[str], str]) -> tuple[MonthFigures, ...]:
    """Months in order, as the longer periods that they are named into; those of one name follow each other."""
    return tuple(_join(key, tuple(some)) for key, some in groupby(months, lambda month: name(month.month)))


def _join(name: str, months: tuple[MonthFigures, ...]) -> MonthFigures:
    joined = replace(months[0], month=name)
    for month in months[1:]:
        joined = replace(
            joined,
            spent=joined.spent + month.spent,
            recovered=joined.recovered + month.recovered,
            net=joined.net + month.net,
            running=month.running,
            hours=joined.hours + month.hours,
            lines=(*joined.lines, *month.lines),
        )
    return joined
