"""The order in which units leave the shelf, against a worked example of first in, first out."""

from __future__ import annotations

from decimal import Decimal

import pytest

from buildlog.compute.costs.rework import charge_units
from buildlog.compute.parts.ledger import Shelf
from buildlog.compute.quantities.money import Money
from buildlog.problems import Place

pytestmark = pytest.mark.outside

LOTS = {Place("opening"): (150, 21), Place("10 July"): (225, 27), Place("23 July"): (210, 33)}
"Units and price of each: opening stock and two purchases."


def test_a_textbook_month_of_purchases_and_sales() -> None:
    """OpenStax, Principles of Accounting volume 1 (CC BY), chapter 10, the perpetual first-in first-out example.

    From memory: 150 at 21, 225 at 27 and 210 at 33; 120 sold, then after the second purchase 180. Cost of what went
    7,200: 120 × 21 = 2,520, then 30 × 21 + 150 × 27 = 4,680. What is left 8,955: 75 × 27 + 210 × 33.
    """
    shelf = Shelf()
    opening, second, third = LOTS
    shelf.bring(opening, Decimal(150), None, Decimal(0))
    went = [cost_of(shelf, 120)]
    shelf.bring(second, Decimal(225), None, Decimal(0))
    went.append(cost_of(shelf, 180))
    shelf.bring(third, Decimal(210), None, Decimal(0))
    assert went == [dollars(2520), dollars(4680)]
    assert went[0] + went[1] == dollars(7200)
    assert cost_of(shelf, 1000) == dollars(8955)


def dollars(amount: int) -> Money:
    return Money(amount=Decimal(amount), currency="USD")


def cost_of(shelf: Shelf, qty: int) -> Money:
    """What units taken off the shelf cost."""
    cost = dollars(0)
    for unit in shelf.take(Decimal(qty), new_first=True):
        assert unit.line is not None
        bought, each = LOTS[unit.line]
        cost += charge_units(dollars(bought * each), Decimal(bought), skip=unit.skip, qty=unit.qty)
    return cost
