"""Trends: the slope of what was measured, and the day on which it reaches its limit if it goes on like that."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest

from buildlog.compute.figures import compute_figures
from buildlog.compute.measures.trends import Trend
from tests.support import log_of
from tests.work import count_steps


def trend_of(values: str, days: list[int], limits: str = "") -> Trend:
    """The trend of values measured so many days after 2023-12-31."""
    first = date(2023, 12, 31)
    heads = [
        f"date: {first + timedelta(days=day)}\nmeasured: {{what: Pad, unit: mm, value: {value}{limits}}}"
        for day, value in zip(days, values.split(), strict=True)
    ]
    figures = compute_figures(log_of(*heads), date(2026, 1, 1))
    assert figures.problems == ()
    [series] = figures.measures.series
    [trend] = series.trends
    return trend


MIN = ", limits: {min: 3}"


def test_a_pad_reaches_its_limit() -> None:
    """10, 9, 8 mm, 100 days apart: 1/100 mm a day. From 8 mm on day 201 it is 500 days to 3 mm: day 701, 1 Dec 2025."""
    trend = trend_of("10 9 8", [1, 101, 201], MIN)
    assert (trend.slope, trend.slope_times, trend.limit) == (Fraction(-1, 100), 3, Decimal(3))
    assert trend.reached == date(2023, 12, 31) + timedelta(days=701) == date(2025, 12, 1)


def test_a_slip_of_the_gauge_turns_no_trend() -> None:
    """80 typed for 8.0 in the middle of five: the ten slopes of the pairs, in order, have their middle at −1/100 still.

    10, 9, 80, 7, 6 on days 1, 101, 201, 301, 401: −0.73, −0.37, −0.01 five times over (of them 10→9, 10→7, 10→6, 9→7,
    9→6, 7→6 make six), 0.35, 0.71: median −0.01.
    """
    trend = trend_of("10 9 80 7 6", [1, 101, 201, 301, 401], MIN)
    assert trend.slope == Fraction(-1, 100)
    # The line's height on the last day is the median of 6, 6, 78, 6, 6: 300 days are left to 3 mm.
    assert trend.reached == date(2023, 12, 31) + timedelta(days=701)


@pytest.mark.parametrize(
    ("values", "days", "limits", "told"),
    [
        # Two times only; three within 59 days: nothing shows that it is more than the gauge.
        ("10 9", [1, 101], MIN, (None, None, None)),
        ("10 9 8", [1, 31, 60], MIN, (None, None, None)),
        # Away from the only limit, or level: nothing is run towards.
        ("8 9 10", [1, 101, 201], MIN, (Fraction(1, 100), None, None)),
        ("8 8 8", [1, 101, 201], MIN, (Fraction(0), None, None)),
        # Outside already: said as that, and no forecast.
        ("4 3 2", [1, 101, 201], MIN, (Fraction(-1, 100), None, None)),
        # Upwards to a maximum.
        ("1 2 3", [1, 101, 201], ", limits: {max: 4}", (Fraction(1, 100), Decimal(4), 301)),
        # In a hundred and fifty years: nobody waits for it.
        ("10.01 10.005 10", [1, 51, 101], ", limits: {min: 4}", (Fraction(-1, 10000), Decimal(4), None)),
        # Slopes −0.011, −0.0105, −0.01, −0.0078, −0.0063, 0.003: the middle two have the mean −0.0089. The line is at
        # 2.72 mm on the last day (median of 2.775, 2.665, 2.455, 3.05): beyond the limit, though the last value is not,
        # so no day is left to name.
        ("5 4 2.9 3.05", [1, 101, 201, 251], MIN, (Fraction(-89, 10000), Decimal(3), None)),
    ],
)
def test_when_there_is_a_forecast_and_when_none(
    values: str, days: list[int], limits: str, told: tuple[Fraction | None, Decimal | None, int | None]
) -> None:
    """A slope needs three times over sixty days; a day, a limit on that side that the last value has not passed."""
    trend = trend_of(values, days, limits)
    reached = None if trend.reached is None else (trend.reached - date(2023, 12, 31)).days
    assert (trend.slope, trend.limit, reached) == told


def test_values_of_several_units_make_one_line() -> None:
    """20, 10 psi and 0 bar, 100 days apart: converted exactly, the slope is −10 psi a hundred days, in bar."""
    heads = [
        f"date: {day}\nmeasured: {{what: Oil, {text}, limits: {{min: -10}}}}"
        for day, text in (
            ("2024-01-01", "unit: psi, value: 20"),
            ("2024-04-10", "unit: psi, value: 10"),
            ("2024-07-19", "unit: bar, value: 0"),
        )
    ]
    [series] = compute_figures(log_of(*heads), date(2025, 1, 1)).measures.series
    [trend] = series.trends
    # 1 psi = 6894.757293168 Pa, by 1 lbf = 4.4482216152605 N and 1 in = 0.0254 m (NIST SP 811, B.8).
    psi = Fraction("4.4482216152605") / Fraction("0.0254") ** 2 / 100_000
    assert trend.slope == -10 * psi / 100


def test_what_is_measured_every_week_for_years_takes_bounded_work() -> None:
    """A slope compares pairs, which grow by the square: of a long series the latest forty times make it."""
    days = [3 * n for n in range(1, 201)]
    trend = trend_of(" ".join(str(20 - n / 100) for n in range(200)), days, MIN)
    assert (trend.slope, trend.slope_times, trend.times) == (Fraction(-1, 300), 40, 200)


def test_work_of_long_series() -> None:
    """Beyond the latest forty, twice as many times take about twice the work."""
    from buildlog.compute.measures.measures import compute_measures

    def work(size: int) -> int:
        first = date(2015, 1, 1)
        heads = [
            f"date: {first + timedelta(days=7 * n)}\nmeasured: {{what: Pad, unit: mm, value: {20 - n / 100:.2f}{MIN}}}"
            for n in range(size)
        ]
        log = log_of(*heads)
        return count_steps(lambda: compute_measures(log))

    assert work(200) < 2.4 * work(100)
