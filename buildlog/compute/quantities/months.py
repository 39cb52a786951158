"""Which day is so many months after another?

Month arithmetic with the day clamped to the month's length. It is neither associative nor invertible, so a repeating
date is always counted from its anchor and never from the date before it.
"""

from __future__ import annotations

import calendar
import datetime


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
