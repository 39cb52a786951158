"""How are numbers added and multiplied without losing anything, how is one rounded, and which day is months later?

The only place that rounds: `tests/test_house.py` reads the source for any other. Imported by everything. Months are
counted with the day clamped to the month's length: that is neither associative nor invertible, so a repeating date is
always counted from its anchor and never from the date before it.
"""

from __future__ import annotations

import calendar
import datetime
from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from functools import cache, reduce

EXACT = Context(prec=200, rounding=ROUND_HALF_UP)
"Wide enough for the product of any three numbers that an owner can type (15 digits each) without rounding."


def sum_exactly(numbers: Iterable[Decimal]) -> Decimal:
    """The sum of hours, pieces, chances: of numbers that are no money, which has a currency to watch."""
    # Not `sum`: it rounds to whatever precision the decimal context of the moment has.
    return reduce(EXACT.add, numbers, Decimal(0))


def round_half_up(number: Decimal | Fraction, places: int) -> Decimal:
    """The number with so many decimals; exactly half goes away from zero.

    Council Regulation (EC) No 1103/97, article 5: to the nearest cent, half-way up. A refund is a payment's mirror
    image, so −2.5 goes to −3. Never gives a negative zero.
    """
    if isinstance(number, Decimal):
        rounded = EXACT.quantize(number, find_unit_of(places))
        # Minus nothing would be shown as −0.00.
        return rounded if rounded else rounded.copy_abs()
    return EXACT.scaleb(Decimal(round_to_units(number, places)), -places)


@cache
def find_unit_of(places: int) -> Decimal:
    """One of the smallest unit that so many decimals have: 0.01 for two."""
    return Decimal(1).scaleb(-places)


def divide(number: Decimal, by: Decimal) -> Fraction:
    """The exact quotient; raises `ZeroDivisionError`."""
    # As one fraction of whole numbers: to make two of decimals and divide them takes five times as long.
    (above, below), (by_above, by_below) = number.as_integer_ratio(), by.as_integer_ratio()
    return Fraction(above * by_below, below * by_above)


def round_to_units(number: Decimal | Fraction, places: int) -> int:
    """The number so rounded, as a count of the smallest unit that so many decimals have: 12.345 with two is 1235."""
    if isinstance(number, Decimal):
        return int(EXACT.to_integral_value(EXACT.scaleb(number, places)))
    # By whole numbers: a third made a decimal first would be rounded twice, and a `Fraction` would look for a common
    # divisor at every step.
    scaled, denominator = abs(number.numerator) * 10**places, number.denominator
    units: int = (2 * scaled + denominator) // (2 * denominator)
    return units if number > 0 else -units


def has_places(number: Decimal, places: int) -> bool:
    """Whether so many decimals hold the number without rounding it."""
    scaled = EXACT.scaleb(number, places)
    return bool(scaled == EXACT.to_integral_value(scaled))


def round_to_whole(number: float) -> int:
    """The nearest whole number of pixels, shades or seconds; exactly half goes to the even one.

    For what is only drawn or estimated, never for a figure. A published picture has its size from it, and is made again
    from its sealed photo to be compared byte for byte: so it stays as Python's own `round` does it.
    """
    return round(number)


def add_months(day: datetime.date, months: int) -> datetime.date:
    """The same day of the month so many months later (or earlier), or that month's last day where it is shorter.

    Raises `OverflowError` where the calendar of `datetime` (years 1 to 9999) ends.
    """
    year, month_before = divmod(day.year * 12 + day.month - 1 + months, 12)
    # What `date` plus a `timedelta` raises there; `date` alone would call it a `ValueError`, as any slip of ours.
    if not datetime.MINYEAR <= year <= datetime.MAXYEAR:
        raise OverflowError(f"{day} and {months} months leave the calendar")
    _, last = calendar.monthrange(year, month_before + 1)
    return datetime.date(year, month_before + 1, min(day.day, last))


def compute_due_date(anchor: datetime.date, months: int, *, times: int = 1) -> datetime.date:
    """The date on which something that recurs every so many months is due for the given time after its anchor.

    31 January, every month: 29 February (2024), 31 March, 30 April … Raises `OverflowError` as `add_months` does.
    """
    # From the anchor each time: counted from the last date, 31 January would be the 29th from February on.
    return add_months(anchor, months * times)
