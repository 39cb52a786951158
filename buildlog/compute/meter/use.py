"""How much is the machine used a day, and when will its meter reach a total?

Daily use is the Theil–Sen slope over the readings of the last 24 months, days laid up left out: the median of the
slopes of all pairs (H. Theil 1950; P. K. Sen, "Estimates of the regression coefficient based on Kendall's tau", J. Am.
Stat. Assoc. 63, 1968), which one mistyped reading leaves where it was. Common practice, no source: with fewer than
three readings, or less than 60 days, nothing is forecast.
"""

from __future__ import annotations

import datetime
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from math import ceil, lcm

from buildlog.arithmetic import add_months
from buildlog.compute.meter.readings import MeterReading
from buildlog.compute.quantities.units import round_thousandth
from buildlog.frozen import frozen
from buildlog.problems import Problem
from buildlog.read.records import LaidUp
from buildlog.spans import Say, SayCount, count_in_english, say_in_english

Point = tuple[int, Fraction]
"Day number and value."


def compute_slope(points: Sequence[Point]) -> Fraction | None:
    """The median slope of all pairs on different days, exactly; None where there is no such pair.

    An even number of slopes has the mean of the middle two, as `statistics.median`.
    """
    # Over one denominator, so that the thousands of pairs of a much-read meter are compared as whole numbers.
    scale = lcm(*(value.denominator for _, value in points)) if points else 1
    pairs = combinations(sorted((day, int(value * scale)) for day, value in points), 2)
    slopes = [(y2 - y1, x2 - x1) for (x1, y1), (x2, y2) in pairs if x1 != x2]
    if not slopes:
        return None
    # Division of whole numbers is rounded correctly, so it keeps their order: only slopes that share one binary
    # fraction have to be put in order exactly.
    rounded = [rise / run for rise, run in slopes]
    order = sorted(rounded)
    low, high = (len(slopes) - 1) // 2, len(slopes) // 2

    def pick(rank: int) -> Fraction:
        wanted = order[rank]
        alike = [slope for slope, near in zip(slopes, rounded, strict=True) if near == wanted]
        return _pick(alike, rank - bisect_left(order, wanted))

    below = pick(low)
    return (below + (below if low == high else pick(high))) / 2 / scale


def _pick(alike: Sequence[tuple[int, int]], rank: int) -> Fraction:
    """The slope of a rank, from 0, among some that share one binary fraction."""
    rise, run = alike[0]
    if all(y * run == rise * x for y, x in alike):
        return Fraction(rise, run)
    return sorted(Fraction(y, x) for y, x in alike)[rank]


WINDOW_MONTHS = 24
"Readings older than this say nothing about today's use."
EARLIEST = datetime.date(3, 1, 1)
"A day asked for before this has no 24 months before it in the calendar."
FEWEST_READINGS = 3
"Two readings give one slope, and nothing to show that neither was mistyped."
FEWEST_DAYS = 60
"One holiday trip in a shorter time would pass for everyday use."

Pause = tuple[datetime.date, datetime.date]
"First and last day of a time laid up."


@frozen
class DailyUse:
    """Use a day, an estimate; or why there is none."""

    slope: Fraction | None
    "in the meter's unit a day, exactly; None where there is no estimate"
    per_day: Decimal | None
    "the same, half up to a thousandth; None where there is no estimate"
    reason: str
    "why there is no estimate; empty where there is one"
    readings: int
    "number of days with a reading that it rests on"
    first: datetime.date | None
    "day of the first of them; None: there is none"
    last: datetime.date | None
    "day of the last of them; None: there is none"
    days: int
    "days in use between the two"


def list_pauses(laid_up: Iterable[LaidUp]) -> tuple[Pause, ...]:
    """The times laid up, in order, those that touch or overlap joined; one without an end never ends."""
    spans = sorted((span.since, span.until or datetime.date.max) for span in laid_up)
    joined: list[Pause] = []
    for since, until in spans:
        if joined and since.toordinal() <= joined[-1][1].toordinal() + 1:
            joined[-1] = (joined[-1][0], max(joined[-1][1], until))
        # One that ends before it starts is an error, and is left out: it would turn a count of days back.
        elif since <= until:
            joined.append((since, until))
    return tuple(joined)


def check_pauses(laid_up: Iterable[LaidUp]) -> tuple[Problem, ...]:
    """An error for each time laid up that ends before it starts."""
    return tuple(
        Problem(
            rule="laid-up-backwards",
            message=f"it was laid up from {span.since} until {span.until}: the end comes before the start",
            place=span.field_place("until"),
            help="`from:` is the first day, `until:` the last one",
        )
        for span in laid_up
        if span.until is not None and span.until < span.since
    )


def count_days_in_use(start: datetime.date, end: datetime.date, pauses: Iterable[Pause]) -> int:
    """Days after `start` up to `end` on which the machine was not laid up."""
    idle = sum(
        max(0, min(until, end).toordinal() - max(since.toordinal() - 1, start.toordinal())) for since, until in pauses
    )
    return (end - start).days - idle


def add_days_in_use(start: datetime.date, days: int, pauses: Iterable[Pause]) -> datetime.date | None:
    """The day on which so many days in use have passed; None where it never comes or lies beyond the year 9999."""
    # In day numbers, since a pause without an end lies at the very end of the calendar, where dates cannot be added to.
    day, left = start.toordinal(), days
    for since, until in pauses:
        if until.toordinal() <= day:
            continue
        free = max(0, since.toordinal() - 1 - day)
        if left <= free:
            break
        left -= free
        day = until.toordinal()
    day += left
    return datetime.date.fromordinal(day) if day < datetime.date.max.toordinal() else None


def compute_use(readings: Sequence[MeterReading], as_of: datetime.date, pauses: Sequence[Pause]) -> DailyUse:
    """Daily use as of a day, from readings whose day is known."""
    start = add_months(max(as_of, EARLIEST), -WINDOW_MONTHS)
    # The last reading of a day stands for it, so that a change of meter counts once.
    by_day = {r.date: r for r in readings if start <= r.date <= as_of and r.date == r.latest}
    recent = [by_day[day] for day in sorted(by_day)]
    # By days in use, so that a winter laid up does not make the summer's use look half of what it is.
    points = [(count_days_in_use(start, r.date, pauses), Fraction(r.total)) for r in recent]
    days = points[-1][0] - points[0][0] if points else 0
    slope = compute_slope(points) if len(points) >= FEWEST_READINGS and days >= FEWEST_DAYS else None
    reason = "" if slope is not None and slope > 0 else say_no_forecast(len(points), days)
    return DailyUse(
        slope=None if reason else slope,
        per_day=None if reason or slope is None else round_thousandth(slope),
        reason=reason,
        readings=len(points),
        first=recent[0].date if recent else None,
        last=recent[-1].date if recent else None,
        days=days,
    )


def forecast_date(
    latest: MeterReading, total: Decimal, *, use: DailyUse, pauses: Sequence[Pause]
) -> datetime.date | None:
    """The day on which the meter will reach a total at today's use, counted from its latest reading; an estimate.

    None where the use is not known, or the machine is laid up until further notice. A total that is reached already
    has the day of the latest reading.
    """
    if use.slope is None:
        return None
    # From the latest reading and not from the day asked for: the days since then may have been driven or not.
    return add_days_in_use(latest.date, max(0, ceil(Fraction(total - latest.total) / use.slope)), pauses)


def say_no_forecast(readings: int, days: int, say: Say = say_in_english, say_count: SayCount = count_in_english) -> str:
    """Why there is no daily use, from how many readings there are and over how many days in use they are."""
    needed = {"months": WINDOW_MONTHS, "fewest": FEWEST_READINGS if readings < FEWEST_READINGS else FEWEST_DAYS}
    if not readings:
        return say("no readings in the last %(months)s months: %(fewest)s are needed", **needed)
    if readings < FEWEST_READINGS:
        return say_count(
            "%(number)s reading in the last %(months)s months: %(fewest)s are needed",
            "%(number)s readings in the last %(months)s months: %(fewest)s are needed",
            readings,
            **needed,
        )
    if not days:
        return say("readings over no days in use: %(fewest)s are needed", **needed)
    if days < FEWEST_DAYS:
        return say_count(
            "readings over %(number)s day in use: %(fewest)s are needed",
            "readings over %(number)s days in use: %(fewest)s are needed",
            days,
            **needed,
        )
    return say("no use in the last %(months)s months", **needed)
