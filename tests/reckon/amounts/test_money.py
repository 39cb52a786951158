"""Amounts: one currency at a time, exact, half up."""

from __future__ import annotations

from decimal import ROUND_DOWN, Decimal, localcontext
from fractions import Fraction

import pytest

from buildlog.reckon.amounts.money import (
    CurrencyMismatch,
    Money,
    is_currency,
    minor_digits,
    round_half_up,
    sum_amounts,
    sum_money,
    to_minor,
)


def euros(text: str) -> Money:
    return Money(Decimal(text), "EUR")


def test_adds_and_takes_away_within_one_currency() -> None:
    """118.40 + 14.70 − 3.10 = 130.00, and the mirror image is −130.00."""
    total = euros("118.40") + euros("14.70") - euros("3.10")
    assert total == euros("130.00")
    assert -total == euros("-130.00")


def test_compares_within_one_currency() -> None:
    """Order is that of the amounts; 1.5 and 1.50 are the same money."""
    assert euros("1.49") < euros("1.50") <= euros("1.5")
    assert euros("1.51") > euros("1.50") >= euros("1.5")
    assert euros("1.5") == euros("1.50")


@pytest.mark.parametrize("sign", ["__add__", "__sub__", "__lt__", "__le__", "__gt__", "__ge__"])
def test_two_currencies_never_mix(sign: str) -> None:
    """Adding or comparing two currencies is refused with both names; equality is plain False."""
    with pytest.raises(CurrencyMismatch, match="EUR and GBP cannot be added or compared"):
        getattr(euros("1"), sign)(Money(Decimal(1), "GBP"))
    assert euros("1") != Money(Decimal(1), "GBP")


def test_sums_many() -> None:
    """A sum names its currency, so that nothing sums to zero of it, and finds a stranger among the items."""
    assert sum_money([euros("0.10"), euros("0.20")], "EUR") == euros("0.30")
    assert sum_money([], "EUR") == euros("0")
    with pytest.raises(CurrencyMismatch):
        sum_money([euros("1")], "GBP")


def test_the_surrounding_decimal_context_changes_nothing() -> None:
    """Three digits of precision, rounding down, set by somebody else: sums and roundings stay exact and half up."""
    with localcontext() as context:
        context.prec, context.rounding = 3, ROUND_DOWN
        assert euros("12345.67") + euros("0.01") == euros("12345.68")
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
