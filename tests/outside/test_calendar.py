"""Month arithmetic against python-dateutil and hand-written dates."""

from __future__ import annotations

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from buildlog.arithmetic import add_months, compute_due_date

pytestmark = pytest.mark.outside

DATES = st.dates(date(1900, 1, 1), date(2100, 12, 31))
ANY_DATES = st.dates(date(52, 1, 1), date(9948, 12, 31))
"All dates that 600 months, either way, leave inside the calendar."


@given(ANY_DATES, st.integers(-600, 600))
def test_months_as_dateutil(day: date, months: int) -> None:
    """`dateutil.relativedelta(months=n)` gives the same date."""
    assert add_months(day, months) == day + relativedelta(months=months)


# Start, months, result; the calendar itself is the source, and dateutil agrees.
@pytest.mark.parametrize(
    ("start", "months", "result"),
    [
        ("2023-01-31", 1, "2023-02-28"),
        ("2024-01-31", 1, "2024-02-29"),
        ("2024-02-29", 12, "2025-02-28"),
        ("2024-02-29", 24, "2026-02-28"),
        ("2024-02-29", 48, "2028-02-29"),
        ("2023-08-31", 6, "2024-02-29"),
        ("2024-08-31", 6, "2025-02-28"),
        ("2023-12-31", 2, "2024-02-29"),
        ("2023-11-30", 3, "2024-02-29"),
        ("2023-03-31", -1, "2023-02-28"),
        ("2100-01-31", 1, "2100-02-28"),
        ("2000-01-31", 1, "2000-02-29"),
    ],
)
def test_months_clamped(start: str, months: int, result: str) -> None:
    """The day is clamped to the month's length, leap years and centuries included."""
    assert add_months(date.fromisoformat(start), months) == date.fromisoformat(result)
    assert date.fromisoformat(start) + relativedelta(months=months) == date.fromisoformat(result)


def test_schedule_counts_from_its_anchor() -> None:
    """Monthly from 2024-01-31: 29 February, then 31 March again. Chained, it would stay at the 29th."""
    anchor = date(2024, 1, 31)
    due = [compute_due_date(anchor, 1, times=k) for k in (1, 2, 3, 4)]
    assert due == [date(2024, 2, 29), date(2024, 3, 31), date(2024, 4, 30), date(2024, 5, 31)]
    assert add_months(add_months(anchor, 1), 1) == date(2024, 3, 29)


@given(DATES, st.integers(1, 60), st.integers(1, 20))
def test_kth_time_as_dateutil(anchor: date, months: int, times: int) -> None:
    """The k-th time is anchor + k x months in one step."""
    assert compute_due_date(anchor, months, times=times) == anchor + relativedelta(months=months * times)


@pytest.mark.parametrize(("day", "months"), [(date(9999, 12, 1), 1), (date(1, 1, 1), -1), (date(2024, 1, 1), 10**15)])
def test_end_of_the_calendar(day: date, months: int) -> None:
    """Beyond the years 1 to 9999 there is no date, and that is said."""
    with pytest.raises(OverflowError, match="leave the calendar"):
        add_months(day, months)
