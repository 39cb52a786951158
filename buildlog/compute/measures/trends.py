"""How has a measured value moved, and when does it reach its limit if it goes on like that?

The slope is the median of the slopes of all pairs of times on different days (H. Theil, "A rank-invariant method of
linear and polynomial regression analysis", 1950; P. K. Sen, J. Am. Statist. Assoc. 63, 1968), so that one slip of the
gauge does not turn it. The line lies so that as many values are above it as below.
"""

from __future__ import annotations

import datetime
import statistics
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil

from buildlog.arithmetic import EXACT, round_half_up
from buildlog.compute.meter.use import FEWEST_DAYS, compute_slope
from buildlog.frozen import frozen
from buildlog.read.records import Limits

MOST_PLACES = 15
"Decimals of a spread, as many as its limit can have digits; and of a change."
DIGITS_THAT_COUNT = 3
"Digits of a change between values that were converted; common practice, no source."
FEWEST_TIMES = 3
"Two times give one slope, and nothing to show that neither was misread; as with readings of the meter."
LATEST_TIMES = 40
"Times that a slope is made of, the latest: each is compared with each, and old ones say little; our own limit."
MOST_DAYS = 36_525
"A limit that is further off than a century is none that anybody waits for; our own limit."


@frozen
class Point:
    """One value of one place."""

    date: datetime.date
    "the day of its entry"
    shown: Decimal
    "as `MeasuredValue.common`"
    exact: Decimal | Fraction
    "in the series' unit, never rounded; a `Decimal` where it was written in that unit"


@frozen
class Trend:
    """How the value of one place has moved from the first set that has it to the last."""

    where: str
    "the place, as `MeasuredValue.where`"
    first: Decimal
    "in the series' unit, as `MeasuredValue.common`"
    last: Decimal
    "the same, of the last set"
    change: Decimal
    "last less first before either was rounded: as exact as they are shown, and to three digits that count at least"
    days: int
    "from the first set to the last"
    times: int
    "in how many sets it was measured: two or more"
    slope: Fraction | None
    "in the series' unit a day, exactly; None: fewer than three times, or over fewer than 60 days"
    slope_times: int
    "of how many times that is made, the latest; 0 where there is none"
    limit: Decimal | None
    "the limit that it runs towards; None: there is none on that side, or the last value is not within it"
    reached: datetime.date | None
    "the day on which the line reaches that limit; None also where it is beyond it already, or a century away"


def follow_place(where: str, points: Sequence[Point], limits: Limits | None) -> Trend:
    """The trend of one place, from its points in the order of time; `limits` are those of the last set."""
    first, last = points[0], points[-1]
    latest = points[-LATEST_TIMES:]
    slope = _find_slope(latest)
    limit = _find_limit(slope, last, limits)
    return Trend(
        where=where,
        first=first.shown,
        last=last.shown,
        change=subtract(first, last),
        days=(last.date - first.date).days,
        times=len(points),
        slope=slope,
        slope_times=len(latest) if slope is not None else 0,
        limit=limit,
        reached=None if limit is None or slope is None else _find_day(latest, slope, limit),
    )


def _find_slope(points: Sequence[Point]) -> Fraction | None:
    # As with readings of the meter: over fewer days the gauge is all that moves.
    if len(points) < FEWEST_TIMES or (points[-1].date - points[0].date).days < FEWEST_DAYS:
        return None
    return compute_slope([(point.date.toordinal(), Fraction(point.exact)) for point in points])


def _find_limit(slope: Fraction | None, last: Point, limits: Limits | None) -> Decimal | None:
    if not slope or limits is None:
        return None
    limit = limits.min if slope < 0 else limits.max
    if limit is None:
        return None
    within = last.exact >= limit if slope < 0 else last.exact <= limit
    return limit if within else None


def _find_day(points: Sequence[Point], slope: Fraction, limit: Decimal) -> datetime.date | None:
    """The first day on which the line is at the limit or beyond it, if that is after the last time."""
    end = points[-1].date
    # Counted from the last day: the line's height there is the median of what each value would have come to by then.
    at_end = statistics.median(Fraction(p.exact) + slope * (end - p.date).days for p in points)
    days = ceil((Fraction(limit) - at_end) / slope)
    if not 0 < days <= MOST_DAYS or end.toordinal() + days > datetime.date.max.toordinal():
        return None
    return end + datetime.timedelta(days=days)


def subtract(before: Point, now: Point) -> Decimal:
    """How far a value has moved, from what was never rounded."""
    # In decimals where both were written in one unit, as nearly all are: exact as well, and fractions take longer.
    if isinstance(now.exact, Decimal) and isinstance(before.exact, Decimal):
        change: Decimal | Fraction = EXACT.subtract(now.exact, before.exact)
    else:
        change = Fraction(now.exact) - Fraction(before.exact)
    # As exact as the two are shown; more only where that would leave a small change as nearly nothing.
    return round_counting(change, max(0, _count_places(before.shown), _count_places(now.shown)))


def round_counting(number: Decimal | Fraction, places: int) -> Decimal:
    """A number to so many places, or to as many as leave three digits that count."""
    rounded = round_half_up(number, places)
    while rounded != number and len(rounded.as_tuple().digits) < DIGITS_THAT_COUNT and places < MOST_PLACES:
        places += 1
        rounded = round_half_up(number, places)
    return rounded


def _count_places(number: Decimal) -> int:
    return -int(number.as_tuple().exponent)
