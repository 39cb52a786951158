"""Sharing: exact sums, largest remainder, ties to the earlier line."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.quantities.money import Money, share, share_by_value, sum_money
from tests.support import gbp


def decimals(*texts: str) -> tuple[Decimal, ...]:
    return tuple(Decimal(text) for text in texts)


def pounds(*texts: str) -> tuple[Money, ...]:
    return tuple(map(gbp, texts))


def test_shares_carriage_by_value() -> None:
    """16.90 over 118.40, 14.70, 30.50: quotas 12.2309, 1.5185, 3.1507; the unit left goes to the second (0.85)."""
    assert share(gbp("16.90"), decimals("118.40", "14.70", "30.50")).as_money() == pounds("12.23", "1.52", "3.15")


def test_ties_go_to_the_earlier_line() -> None:
    """One penny over two equal lines is the first one's, and over three it stays the first one's."""
    assert share(gbp("0.01"), decimals("1", "1")).as_money() == pounds("0.01", "0.00")
    assert share(gbp("0.02"), decimals("5", "5", "5")).as_money() == pounds("0.01", "0.01", "0.00")


def test_a_negative_amount_is_the_mirror_image() -> None:
    """−1.00 over three equal lines: −0.34, −0.33, −0.33."""
    assert share(gbp("-1.00"), decimals("1", "1", "1")).as_money() == pounds("-0.34", "-0.33", "-0.33")


def test_a_line_that_takes_off_takes_its_share_off() -> None:
    """Tax of 21.00 over bases 110 and −10: 23.10 and −2.10."""
    assert share(gbp("21.00"), decimals("110", "-10")).as_money() == pounds("23.10", "-2.10")


def test_a_credit_shares_like_the_invoice_it_reverses() -> None:
    """−21.00 over −110 and 10, the same order taken back: −23.10 and 2.10."""
    assert share(gbp("-21.00"), decimals("-110", "10")).as_money() == pounds("-23.10", "2.10")


def test_shares_in_the_currency_s_own_units() -> None:
    """1000 yen over three lines has no decimals; 1.000 dinar has three."""
    thirds = decimals("1", "1", "1")
    yen, dinars = share(Money(Decimal(1000), "JPY"), thirds), share(Money(Decimal("1.000"), "KWD"), thirds)
    assert yen.as_money() == tuple(Money(part, "JPY") for part in decimals("334", "333", "333"))
    assert dinars.as_money() == tuple(Money(part, "KWD") for part in decimals("0.334", "0.333", "0.333"))


def test_an_amount_finer_than_the_unit_is_refused() -> None:
    """Half a penny cannot be shared in pennies."""
    with pytest.raises(ValueError, match=r"0\.005 GBP has more than 2 decimals"):
        share(gbp("0.005"), decimals("1"))


def test_weights_that_add_up_to_nothing_share_nothing() -> None:
    """Zero is shared by any weights; anything else is refused, no lines included."""
    assert share(gbp("0"), decimals("0", "0")).as_money() == pounds("0.00", "0.00")
    for weights in (decimals("0", "0"), decimals("5", "-5"), ()):
        with pytest.raises(ValueError, match="share nothing"):
            share(gbp("0.01"), weights)


def test_without_values_the_quantities_decide() -> None:
    """10.00 over two gifts, 3 pieces and 1: 7.50 and 2.50; of zero pieces each: half and half."""
    assert share_by_value(gbp("10"), decimals("0", "0"), decimals("3", "1")).as_money() == pounds("7.50", "2.50")
    assert share_by_value(gbp("10"), decimals("0", "0"), decimals("0", "0")).as_money() == pounds("5.00", "5.00")


def test_a_price_taken_off_takes_no_share() -> None:
    """Carriage of 10.00 over 60, 40 and −20: the line that takes off bears none of it."""
    shares = share_by_value(gbp("10"), decimals("60", "40", "-20"), decimals("1", "1", "1"))
    assert shares.as_money() == pounds("6.00", "4.00", "0.00")


amounts = st.decimals(min_value=-(10**9), max_value=10**9, places=2)
weights = st.lists(st.decimals(min_value=0, max_value=10**9, places=5), min_size=1, max_size=30)


@given(amounts, weights)
def test_shares_always_add_up(amount: Decimal, values: list[Decimal]) -> None:
    """The shares sum to the amount, none is a whole unit off its exact quota, and the mirror image holds."""
    money = Money(amount, "GBP")
    shares = share_by_value(money, values, values).as_money()
    assert sum_money(shares, "GBP") == money
    assert share_by_value(-money, values, values).as_money() == tuple(-part for part in shares)
    total = sum(values)
    for part, value in zip(shares, values, strict=True):
        if total:
            assert abs(part.amount * total - amount * value) < total / 100


@given(amounts, st.lists(st.decimals(min_value=-(10**6), max_value=10**9, places=3), min_size=1, max_size=30))
def test_signed_shares_add_up(amount: Decimal, values: list[Decimal]) -> None:
    """With lines below zero among them the shares still sum to the amount."""
    if sum(values):
        assert share(Money(amount, "GBP"), values).total() == Money(amount, "GBP")
