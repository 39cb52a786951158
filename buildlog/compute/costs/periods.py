"""What do several months of costs come to, taken together?"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import groupby

from buildlog.compute.costs.totals import MonthFigures


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
