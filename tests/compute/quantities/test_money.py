"""Amounts: exact, half up, in the minor units of their currency."""

from __future__ import annotations

from decimal import ROUND_DOWN, Decimal, localcontext
from fractions import Fraction

import pytest

from buildlog.compute.quantities.money import is_currency, minor_digits, round_half_up, sum_amounts, to_minor


def test_the_surrounding_decimal_context_changes_nothing() -> None:
    """Three digits of precision, rounding down, set by somebody else: sums and roundings stay exact and half up."""
    with localcontext() as context:
        context.prec, context.rounding = 3, ROUND_DOWN
        assert sum_amounts([Decimal("12345.67"), Decimal("0.01")]) == Decimal("12345.68")
        assert to_minor(Decimal("12345.675"), "EUR") == Decimal("12345.68")
        assert to_minor(Fraction(24691351, 2000), "EUR") == Decimal("12345.68")


@pytest.mark.parametrize(("code", "digits"), [("EUR", 2), ("JPY", 0), ("KWD", 3), ("CLF", 4), ("ITL", 0), ("QQQ", 2)])
def test_knows_the_minor_unit(code: str, digits: int) -> None:
    """Two decimals, but for the exceptions of ISO 4217; an unknown code counts in two."""
    assert minor_digits(code) == digits
    assert is_currency(code) == (code != "QQQ")


@pytest.mark.parametrize("zero", [Decimal("-0.004"), Decimal("-0"), Fraction(-4, 1000), Fraction(0)])
def test_zero_has_no_sign(zero: Decimal | Fraction) -> None:
    """What rounds to nothing is `0.00`, never `-0.00`."""
    assert str(round_half_up(zero, 2)) == "0.00"


@pytest.mark.parametrize(("thirds", "expected"), [(1, "0.33"), (2, "0.67"), (-2, "-0.67")])
def test_rounds_what_no_decimal_can_hold(thirds: int, expected: str) -> None:
    """A fraction rounds by the same rule, without passing through a decimal of limited width."""
    assert str(round_half_up(Fraction(thirds, 3), 2)) == expected
