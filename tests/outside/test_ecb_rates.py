"""A converted order against the European Central Bank's reference rates.

The rates are those that `CurrencyConverter` 0.18 ships (a rate is foreign units for one euro); five of them are checked
against the bank's published table of 19 June 2009 first.
"""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
from currency_converter import CurrencyConverter

from buildlog.compute.costs.orders import land_order
from buildlog.compute.quantities.money import round_to_minor_unit, sum_money
from buildlog.read.records import Line, Order
from tests.support import plain

pytestmark = pytest.mark.outside


@pytest.fixture(scope="module")
def rates() -> CurrencyConverter:
    return CurrencyConverter(decimal=True)


@pytest.mark.parametrize(
    ("currency", "published"),
    [("USD", "1.3932"), ("JPY", "134.84"), ("GBP", "0.84715"), ("SEK", "10.9725"), ("CHF", "1.5102")],
)
def test_the_rates_are_the_bank_s(rates: CurrencyConverter, currency: str, published: str) -> None:
    """Reference rates of 19 June 2009 as a central bank's table printed them."""
    assert rates.convert(1, "EUR", currency, date=datetime.date(2009, 6, 19)) == Decimal(published)


@pytest.mark.parametrize(
    ("day", "home", "expected"),
    [
        (datetime.date(2009, 6, 19), "GBP", "231.15"),  # 272.86 × 0.84715 = 231.153349
        (datetime.date(2020, 1, 2), "GBP", "231.46"),  # 272.86 × 0.84828 = 231.4616808
        (datetime.date(2020, 1, 2), "JPY", "33221"),  # 272.86 × 121.75 = 33220.705
        (datetime.date(2020, 1, 2), "USD", "305.41"),  # 272.86 × 1.1193 = 305.412198
    ],
)
def test_an_order_at_the_day_s_rate(rates: CurrencyConverter, day: datetime.date, home: str, expected: str) -> None:
    """An order of 272.86 EUR in two lines, at the reference rate: rounded once, and shared so that it adds up."""
    rate = rates.convert(1, "EUR", home, date=day)
    lines = (Line(each=Decimal("212.51")), Line(each=Decimal("60.35")))
    order = land_order(Order(supplier="S", currency="EUR", rate=rate, lines=lines), home)
    assert plain(order.home, home) == expected
    assert sum_money((line.home for line in order.lines), home) == order.home
    assert order.home == round_to_minor_unit(rates.convert(Decimal("272.86"), "EUR", home, date=day), home)


def test_between_two_currencies_that_are_not_the_euro(rates: CurrencyConverter) -> None:
    """100 GBP on 2 January 2020: 100 / 0.84828 × 1.1193 = 131.949… → 131.95 USD."""
    rate = rates.convert(1, "GBP", "USD", date=datetime.date(2020, 1, 2))
    order = land_order(Order(supplier="S", currency="GBP", rate=rate, lines=(Line(each=Decimal(100)),)), "USD")
    assert plain(order.home, "USD") == "131.95"
