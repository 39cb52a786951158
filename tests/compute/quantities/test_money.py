"""Amounts: exact, half up, in the minor units of their currency."""

from __future__ import annotations

import operator
from collections.abc import Callable
from dataclasses import FrozenInstanceError
from decimal import ROUND_DOWN, Decimal, localcontext
from fractions import Fraction

import pytest

from buildlog.compute.quantities.money import Money, is_currency, minor_digits, round_to_minor_unit, sum_money
from tests.support import gbp

EURO = Money(Decimal("1.00"), "EUR")


def test_the_surrounding_decimal_context_changes_nothing() -> None:
    """Three digits of precision, rounding down, set by somebody else: sums and roundings stay exact and half up."""
    with localcontext() as context:
        context.prec, context.rounding = 3, ROUND_DOWN
        assert sum_money([gbp("12345.67"), gbp("0.01")], "GBP") == gbp("12345.68")
        assert gbp("12345.67") + gbp("0.01") == -(gbp("-12345.67") - gbp("0.01")) == gbp("12345.68")
        assert abs(gbp("-12345.68")) == gbp("12345.68")
        assert round_to_minor_unit(Decimal("12345.675"), "GBP") == gbp("12345.68")
        assert round_to_minor_unit(Fraction(24691351, 2000), "GBP") == gbp("12345.68")


@pytest.mark.parametrize("act", [operator.add, operator.sub, operator.lt, operator.le, operator.gt, operator.ge, max])
def test_two_currencies_are_never_added_or_compared(act: Callable[..., object]) -> None:
    """A pound and a euro make no sum and have no order, and a bare number may be anything: both are refused."""
    assert act(gbp("2.00"), gbp("1.00")) is not None
    with pytest.raises(ValueError, match=r"1\.00 EUR is not in GBP|2\.00 GBP is not in EUR"):
        act(gbp("2.00"), EURO)
    for bare in (Decimal(1), 1):
        with pytest.raises(TypeError):
            act(gbp("2.00"), bare)
        with pytest.raises(TypeError):
            act(bare, gbp("2.00"))


def test_a_sum_keeps_its_currency() -> None:
    """Of nothing too; one stray amount in another currency is refused, and so is the sum that begins with a bare 0."""
    assert sum_money([gbp("1.10"), gbp("2.20")], "GBP") == gbp("3.30")
    assert sum_money([], "JPY") == Money(Decimal(0), "JPY")
    with pytest.raises(ValueError, match=r"1\.00 EUR is not in GBP"):
        sum_money([gbp("1.10"), EURO], "GBP")
    with pytest.raises(TypeError):
        sum([gbp("1.10"), gbp("2.20")])  # type: ignore[list-item]


def test_money_is_a_value() -> None:
    """Equal by amount and currency, whatever the decimals written; usable as a key; never changed; false where zero."""
    assert gbp("1.0") == gbp("1.00") != EURO
    assert {gbp("1.0"): "a pound"}[gbp("1.00")] == "a pound"
    assert (bool(gbp("0.00")), bool(gbp("-0.01"))) == (False, True)
    assert str(Money(Decimal("1E+3"), "JPY")) == "1000 JPY"
    with pytest.raises(FrozenInstanceError):
        EURO.currency = "GBP"  # type: ignore[misc]


@pytest.mark.parametrize(("code", "digits"), [("EUR", 2), ("JPY", 0), ("KWD", 3), ("CLF", 4), ("ITL", 0), ("QQQ", 2)])
def test_knows_the_minor_unit(code: str, digits: int) -> None:
    """Two decimals, but for the exceptions of ISO 4217; an unknown code counts in two."""
    assert minor_digits(code) == digits
    assert is_currency(code) == (code != "QQQ")
