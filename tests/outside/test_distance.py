"""Distances against the definition of the mile and the library `pint`."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import UnitRegistry

from buildlog.compute.quantities.units import are_comparable, convert_distance, show_decimal

pytestmark = pytest.mark.outside

EXACT = UnitRegistry(non_int_type=Fraction)

# 1 ft = 0.3048 m and 5280 ft = 1 mi, exactly: 5280 x 0.3048 = 1609.344 m. Products by hand.
TO_KM = [
    ("1", "1.609344"),
    ("60", "96.56064"),
    ("12345", "19867.35168"),
    ("62137", "99999.808128"),
    ("99999", "160932.790656"),
    ("100000", "160934.4"),
]


@pytest.mark.parametrize(("miles", "km"), TO_KM)
def test_miles_to_km(miles: str, km: str) -> None:
    """Exact to the last digit; the factor 1.609 would be 34.4 km short at 100,000 mi."""
    assert show_decimal(convert_distance(Decimal(miles), "mi", "km")) == Decimal(km)


@pytest.mark.parametrize(("km", "miles"), [("100000", "62137.119"), ("15000", "9320.568")])
def test_km_to_miles(km: str, miles: str) -> None:
    """62 137.119224 and 9 320.567884 mi: no decimal holds them, so they are shown to the thousandth."""
    assert show_decimal(convert_distance(Decimal(km), "km", "mi")) == Decimal(miles)


@given(st.decimals(0, 10**9, places=1), st.sampled_from(["mi", "km"]), st.sampled_from(["mi", "km"]))
def test_distances_as_pint(value: Decimal, unit: str, to: str) -> None:
    """`pint`, computing in fractions, gives the same distance exactly."""
    names = {"mi": "mile", "km": "kilometer"}
    theirs = EXACT.Quantity(Fraction(value), names[unit]).to(names[to]).magnitude
    assert convert_distance(value, unit, to) == theirs


@given(st.decimals(0, 10**7, places=1), st.sampled_from(["mi", "km"]))
def test_there_and_back(value: Decimal, unit: str) -> None:
    """A distance converted and converted back is the same one: nothing is rounded on the way."""
    other = "km" if unit == "mi" else "mi"
    assert convert_distance(convert_distance(value, unit, other), other, unit) == value


def test_three_legs_of_a_mile() -> None:
    """Three legs of 1 mi make 4.828032 km; each rounded to whole kilometres first would make 6."""
    leg = convert_distance(Decimal(1), "mi", "km")
    assert show_decimal(leg * 3) == Decimal("4.828032")
    assert round(leg) * 3 == 6


def test_hours_are_no_distance() -> None:
    """Hours compare with hours only."""
    assert are_comparable("h", "h") and are_comparable("mi", "km")
    assert not are_comparable("h", "km")
    with pytest.raises(KeyError):
        convert_distance(Decimal(1), "h", "km")


def test_shown_decimals() -> None:
    """What a decimal holds is shown exactly, two thirds half up to the thousandth, a whole number without a point."""
    assert [str(show_decimal(Fraction(n))) for n in ("112530", "0", "0.1", "-2.50")] == ["112530", "0", "0.1", "-2.5"]
    assert show_decimal(Fraction(2, 3)) == Decimal("0.667")
