"""Daily use, days laid up, and the day on which a total will be reached."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.meter.meter import MeterFigures, compute_meter, forecast_total
from buildlog.compute.meter.use import add_days_in_use, count_days_in_use, list_pauses
from buildlog.read.records import LaidUp
from tests.support import log_of

START = date(2024, 1, 1)
# six month-end readings, 30 km a day by Theil–Sen (as scipy: tests/outside/test_theil_sen.py)
SERIES = list(zip([0, 31, 59, 90, 120, 151], [120000, 120930, 121770, 122700, 123590, 124530], strict=True))


def meter_of(series: list[tuple[int, int]], *, rest: str = "", as_of: date = date(2024, 6, 1)) -> MeterFigures:
    heads = [f"date: {START + timedelta(days=day)}\nreading: {km}" for day, km in series]
    settings = f"machine: {{name: Test machine, meter: {{unit: km}}}}\nmoney: {{currency: GBP}}\n{rest}"
    return compute_meter(log_of(*heads, settings=settings), as_of)


def test_daily_use() -> None:
    """Exactly 30 km a day, from six readings over 151 days."""
    use = meter_of(SERIES).use
    assert (use.slope, use.per_day, use.reason) == (30, 30, "")
    assert (use.readings, use.days, use.first, use.last) == (6, 151, START, date(2024, 5, 31))


def test_day_of_a_total() -> None:
    """130000 km: (130000 - 124530) / 30 = 182.33, so on the 183rd day after 2024-05-31, which is 2024-11-30."""
    meter = meter_of(SERIES)
    assert forecast_total(meter, Decimal(130000)) == date(2024, 11, 30)
    assert forecast_total(meter, Decimal(124530)) == forecast_total(meter, Decimal(0)) == date(2024, 5, 31)


@pytest.mark.parametrize(
    ("series", "as_of", "reason"),
    [
        ([], date(2024, 6, 1), "no readings in the last 24 months: 3 are needed"),
        (SERIES[:1], date(2024, 6, 1), "1 reading in the last 24 months: 3 are needed"),
        (SERIES[:2], date(2024, 6, 1), "2 readings in the last 24 months: 3 are needed"),
        (SERIES[:3], date(2024, 6, 1), "readings over 59 days in use: 60 are needed"),
        ([(0, 5), (30, 5), (60, 5)], date(2024, 6, 1), "no use in the last 24 months"),
        (SERIES, date(2026, 6, 1), "no readings in the last 24 months: 3 are needed"),
    ],
)
def test_no_forecast(series: list[tuple[int, int]], as_of: date, reason: str) -> None:
    """Fewer than three readings, less than 60 days, no rise, or nothing within 24 months: no forecast, and why."""
    meter = meter_of(series, as_of=as_of)
    assert (meter.use.slope, meter.use.per_day, meter.use.reason) == (None, None, reason)
    assert forecast_total(meter, Decimal(130000)) is None


@pytest.mark.parametrize("as_of", [date.min, date.max])
def test_ends_of_the_calendar(as_of: date) -> None:
    """The first and the last day of the calendar can be asked for like any other."""
    assert meter_of(SERIES, as_of=as_of).use.readings == 0


def test_sixty_days_are_enough() -> None:
    """Three readings over 60 days: 100 km in 60 days are 5/3 a day, shown as 1.667."""
    assert meter_of([(0, 0), (30, 50), (60, 100)]).use.per_day == Decimal("1.667")


def test_window_of_24_months() -> None:
    """As of 2026-01-01 the reading of 2024-01-01 still counts, as of 2026-01-02 it does not."""
    series = [(0, 0), (100, 1000), (200, 2000)]
    assert meter_of(series, as_of=date(2026, 1, 1)).use.readings == 3
    assert meter_of(series, as_of=date(2026, 1, 2)).use.readings == 2


def test_days_laid_up_are_left_out() -> None:
    """100 days at 10 km, 100 days laid up, 100 days at 10 km: 10 km a day, and not 6.67."""
    rest = f"laid_up: {{from: {START + timedelta(days=101)}, until: {START + timedelta(days=200)}}}\n"
    series = [(0, 0), (50, 500), (100, 1000), (200, 1000), (250, 1500), (300, 2000)]
    use = meter_of(series, rest=rest, as_of=date(2024, 12, 31)).use
    assert (use.slope, use.days) == (10, 200)


def test_forecast_waits_while_laid_up() -> None:
    """20 days of use from 2024-05-31, laid up all of June: 2024-07-20. Laid up without an end: no date."""
    total = Decimal(124530 + 20 * 30)
    laid_up = meter_of(SERIES, rest="laid_up: {from: 2024-06-01, until: 2024-06-30}\n")
    assert forecast_total(laid_up, total) == date(2024, 7, 20)
    assert forecast_total(meter_of(SERIES, rest="laid_up: {from: 2024-06-01}\n"), total) is None


def test_a_total_beyond_the_calendar() -> None:
    """A total that today's use reaches after the year 9999 has no date."""
    assert forecast_total(meter_of(SERIES), Decimal(10**15 - 1)) is None


def test_laid_up_backwards() -> None:
    """A time laid up that ends before it starts is an error, and is left out."""
    meter = meter_of(SERIES, rest="laid_up: {from: 2024-03-01, until: 2024-02-01}\n")
    assert [(p.rule, p.severity, p.place.line) for p in meter.problems] == [("laid-up-backwards", "error", 3)]
    assert (meter.pauses, meter.use.slope) == ((), 30)


SPANS = st.lists(
    st.tuples(st.integers(0, 120), st.integers(0, 30)).map(
        lambda s: LaidUp(since=START + timedelta(days=s[0]), until=START + timedelta(days=s[0] + s[1]))
    ),
    max_size=5,
)


@given(SPANS, st.integers(0, 80), st.integers(0, 100))
def test_days_in_use_by_counting(spans: list[LaidUp], start: int, days: int) -> None:
    """Days in use are the days after the start that lie in no span, counted one by one; spans may overlap."""
    pauses = list_pauses(spans)
    first, last = START + timedelta(days=start), START + timedelta(days=start + days)
    idle = {span.since + timedelta(days=n) for span in spans for n in range((span.until - span.since).days + 1)}
    counted = sum(first + timedelta(days=n) not in idle for n in range(1, days + 1))
    assert count_days_in_use(first, last, pauses) == counted
    reached = add_days_in_use(first, days, pauses)
    assert reached is not None
    assert count_days_in_use(first, reached, pauses) == days
    assert days == 0 or reached not in idle
