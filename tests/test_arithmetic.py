"""Numbers: added exactly, rounded half up."""

from __future__ import annotations

from decimal import ROUND_DOWN, Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.arithmetic import divide, round_half_up, round_to_whole, sum_exactly


def test_the_surrounding_decimal_context_changes_nothing() -> None:
    """Three digits of precision, rounding down, set by somebody else: sums and roundings stay exact and half up."""
    with localcontext() as context:
        context.prec, context.rounding = 3, ROUND_DOWN
        assert sum_exactly([Decimal("12345.67"), Decimal("0.01")]) == Decimal("12345.68")
        assert round_half_up(Decimal("12345.675"), 2) == Decimal("12345.68")


@given(st.fractions(min_value=-(10**6), max_value=10**6), st.integers(0, 6))
def test_a_rounded_number_is_the_nearest(number: Fraction, places: int) -> None:
    """Never further off than half a last place; a decimal and the same fraction round alike."""
    rounded = round_half_up(number, places)
    assert abs(Fraction(rounded) - number) * 10**places <= Fraction(1, 2)
    assert round_half_up(rounded, places) == rounded
    assert -int(rounded.as_tuple().exponent) == places


@pytest.mark.parametrize("zero", [Decimal("-0.004"), Decimal("-0"), Fraction(-4, 1000), Fraction(0)])
def test_zero_has_no_sign(zero: Decimal | Fraction) -> None:
    """What rounds to nothing is `0.00`, never `-0.00`."""
    assert str(round_half_up(zero, 2)) == "0.00"


@pytest.mark.parametrize(("thirds", "expected"), [(1, "0.33"), (2, "0.67"), (-2, "-0.67")])
def test_rounds_what_no_decimal_can_hold(thirds: int, expected: str) -> None:
    """A fraction rounds by the same rule, without passing through a decimal of limited width."""
    assert str(round_half_up(Fraction(thirds, 3), 2)) == expected


def test_half_a_pixel_goes_to_the_even_one() -> None:
    """As Python rounds: what published pictures were scaled by is what they are made again by."""
    assert [round_to_whole(size) for size in (0.5, 1.5, 2.5, 2.51, -0.5)] == [0, 2, 2, 3, 0]


@given(st.decimals(allow_nan=False, allow_infinity=False), st.decimals(allow_nan=False, allow_infinity=False))
def test_a_quotient_is_that_of_the_standard_library_s_fractions(number: Decimal, by: Decimal) -> None:
    """Exact, of either sign and any scale; by nothing it is an error (CPython, `fractions`)."""
    if by:
        assert divide(number, by) == Fraction(number) / Fraction(by)
    else:
        with pytest.raises(ZeroDivisionError):
            divide(number, by)
