"""The Theil–Sen slope against scipy, published data and exact arithmetic."""

from __future__ import annotations

import datetime
import statistics
import warnings
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from buildlog.compute.measures.trends import Point, follow_place
from buildlog.compute.meter.use import FEWEST_DAYS, compute_slope
from buildlog.read.records import Limits

pytestmark = pytest.mark.outside

DAYS = [0, 31, 59, 90, 120, 151]
KM = [120000, 120930, 121770, 122700, 123590, 124530]


def slope_of(days: list[int], values: list[str] | list[int]) -> Fraction | None:
    return compute_slope([(day, Fraction(value)) for day, value in zip(days, values, strict=True)])


def test_series_of_readings() -> None:
    """Six month-end readings: exactly 30 km a day, as scipy; least squares gives 29.97."""
    assert slope_of(DAYS, KM) == 30
    assert theilslopes(KM, DAYS)[0] == 30.0
    assert statistics.linear_regression(DAYS, KM).slope == pytest.approx(29.971701189812432, rel=1e-12)


def test_one_slip_changes_nothing() -> None:
    """12270 typed for 122700: least squares falls to -73.42 km a day, the median slope stays at 30."""
    slipped = [12270 if km == 122700 else km for km in KM]
    assert slope_of(DAYS, slipped) == 30
    assert theilslopes(slipped, DAYS)[0] == 30.0
    assert statistics.linear_regression(DAYS, slipped).slope == pytest.approx(-73.42, abs=0.005)


def test_small_case() -> None:
    """x 0..3, y 0, 10, 20, 31: slopes 10, 10, 31/3, 10, 10.5, 11; median (10 + 31/3) / 2 = 61/6 = 10.1666667."""
    assert slope_of([0, 1, 2, 3], [0, 10, 20, 31]) == Fraction(61, 6)
    assert theilslopes([0, 10, 20, 31], [0, 1, 2, 3])[0] == pytest.approx(10.1666667, abs=5e-8)


# F. J. Anscombe, "Graphs in Statistical Analysis", The American Statistician 27 (1973), sets 1 to 3 (values from memory
# of the paper; the least-squares figures that it prints are asserted below). Slopes by scipy.
X = [10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5]
SETS = {
    1: "8.04 6.95 7.58 8.81 8.33 9.96 7.24 4.26 10.84 4.82 5.68".split(),
    2: "9.14 8.14 8.74 8.77 9.26 8.10 6.13 3.10 9.13 7.26 4.74".split(),
    3: "7.46 6.77 12.74 7.11 7.81 8.84 6.08 5.39 8.15 6.42 5.73".split(),
}


@pytest.mark.parametrize("number", SETS)
def test_anscombe(number: int) -> None:
    """scipy agrees on all three sets; the least-squares slope of each is the paper's 0.500."""
    ys = [float(y) for y in SETS[number]]
    assert statistics.linear_regression(X, ys).slope == pytest.approx(0.500, abs=0.0005)
    slope = slope_of(X, SETS[number])
    assert slope is not None
    assert float(slope) == pytest.approx(theilslopes(ys, X)[0], rel=1e-12)


def test_anscombe_outlier() -> None:
    """Set 3, one point off a line: 0.3455556, where least squares gives 0.4997273."""
    slope = slope_of(X, SETS[3])
    assert slope is not None
    assert float(slope) == pytest.approx(0.3455556, abs=5e-8)


def scipy_slope(days: list[int], values: list[int]) -> float:
    """scipy's slope; its warning is about its confidence interval, which few and repeated days do not have."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        return float(theilslopes(values, days)[0])


POINTS = st.lists(st.tuples(st.integers(0, 730), st.integers(0, 10**7)), min_size=2, max_size=25)


@given(POINTS)
def test_any_series_as_scipy(points: list[tuple[int, int]]) -> None:
    """scipy's median slope, within its binary fractions; days may repeat."""
    days, values = [day for day, _ in points], [value for _, value in points]
    slope = slope_of(days, values)
    if len(set(days)) == 1:
        assert slope is None
    else:
        assert float(slope or 0) == pytest.approx(scipy_slope(days, values), rel=1e-9, abs=1e-9)


@given(st.lists(st.tuples(st.integers(0, 60), st.fractions(-(10**6), 10**6, max_denominator=10**6)), max_size=12))
def test_exact(points: list[tuple[int, Fraction]]) -> None:
    """The median of the list of all exact slopes, to the last digit."""
    slopes = [Fraction(y2 - y1, x2 - x1) for i, (x1, y1) in enumerate(points) for x2, y2 in points[i + 1 :] if x1 != x2]
    assert compute_slope(points) == (statistics.median(slopes) if slopes else None)


def test_slopes_that_share_a_binary_fraction() -> None:
    """Values n + k/10^18 on day n make slopes that are all 1.0 in binary, and are still put in order exactly.

    k = 0, 9, 2, 4, 1 on days 0 to 4. Rises of k a day, in order: -7, -3, -8/3, -5/2, -1/2, 1/4, 1, 2, 9/2, 9.
    The middle two are -1/2 and 1/4, so the median is 1 - 1/8·10^-18.
    """
    points = [(day, day + Fraction(k, 10**18)) for day, k in enumerate((0, 9, 2, 4, 1))]
    slopes = [(y2 - y1) / (x2 - x1) for i, (x1, y1) in enumerate(points) for x2, y2 in points[i + 1 :]]
    assert {float(slope) for slope in slopes} == {1.0}
    assert compute_slope(points) == 1 - Fraction(1, 8 * 10**18)


@given(st.lists(st.integers(-200, 200), min_size=3, max_size=12), st.integers(FEWEST_DAYS // 2, 60))
def test_a_limit_is_reached_where_scipys_line_reaches_it(values: list[int], step: int) -> None:
    """The line of scipy (`method="joint"`: its height is the median of what is left) meets the limit on that day."""
    days = [step * n for n in range(len(values))]
    points = [
        Point(date=datetime.date(2024, 1, 1) + datetime.timedelta(days=day), shown=Decimal(v), exact=Decimal(v))
        for day, v in zip(days, values, strict=True)
    ]
    trend = follow_place("", points, read_limits(min(values) - 50, max(values) + 50))
    line = theilslopes(values, days, method="joint")
    assert trend.slope is not None and float(trend.slope) == pytest.approx(line[0], rel=1e-12, abs=1e-12)
    if trend.reached is not None:
        assert trend.limit is not None
        meets = (float(trend.limit) - line[1]) / line[0]
        # scipy's line is binary: where ours meets a limit on the very day, its own may do so a rounding later
        assert -1e-6 < (trend.reached - points[0].date).days - meets < 1 + 1e-6


def read_limits(least: int, most: int) -> Limits:
    return Limits(min=Decimal(least), max=Decimal(most))
