"""Order arithmetic against the example invoices published with the European invoice standard.

EN 16931-1, the CEN TC 434 examples in UBL 2.1 (Apache-2.0); figures only, in `data/en16931_invoices.json`. That file
gives quantities without their sign: a line whose published net amount is below zero takes something off.
"""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from buildlog.arithmetic import sum_exactly
from buildlog.compute.costs.orders import LandedOrder, land_order
from buildlog.read.records import Line, Order

pytestmark = pytest.mark.outside

DATA = json.loads((Path(__file__).parent / "data" / "en16931_invoices.json").read_text(encoding="utf-8"))
INVOICES = pytest.mark.parametrize("invoice", DATA["invoices"], ids=lambda invoice: invoice["file"])


def land(invoice: dict[str, Any], *, prices: str = "net") -> LandedOrder:
    lines = tuple(
        Line(qty=Decimal(row["qty"]), each=price_each(row), tax=Decimal(row["rate"])) for row in invoice["lines"]
    )
    return land_order(Order(supplier="S", prices=prices, lines=lines), invoice["currency"])


def price_each(row: dict[str, str]) -> Decimal:
    """The price of one: the published price is for `price_base_qty` (BT-149) of them."""
    price = Decimal(row["price"]) / Decimal(row.get("price_base_qty", "1"))
    return -price if row["net"].startswith("-") else price


def test_the_file_is_whole() -> None:
    """Four invoices with 34 lines, and where they come from."""
    assert "EN 16931" in DATA["source"]
    assert sum(len(invoice["lines"]) for invoice in DATA["invoices"]) == 20 + 3 + 10 + 1


@INVOICES
def test_line_net_amounts(invoice: dict[str, Any]) -> None:
    """BT-131: quantity times price, to the minor unit, for every line."""
    assert [row.value.amount for row in land(invoice).lines] == [Decimal(row["net"]) for row in invoice["lines"]]


@INVOICES
def test_tax_at_each_rate(invoice: dict[str, Any]) -> None:
    """BT-116 and BT-117: base and tax at each rate."""
    stated = {Decimal(row["rate"]): (Decimal(row["base"]), Decimal(row["tax"])) for row in invoice["tax"]}
    assert {tax.rate: (tax.base.amount, tax.tax.amount) for tax in land(invoice).taxes} == stated


@INVOICES
def test_totals(invoice: dict[str, Any]) -> None:
    """BT-106 and BT-109 without tax, BT-110 the tax, BT-112 with tax; and the lines' shares make each of them."""
    order = land(invoice)
    assert sum_exactly(row.base.amount for row in order.lines) == Decimal(invoice["TaxExclusiveAmount"])
    assert sum_exactly(row.value.amount for row in order.lines) == Decimal(invoice["LineExtensionAmount"])
    assert sum_exactly(row.tax.amount for row in order.lines) == Decimal(invoice["tax_total"])
    assert order.total.amount == order.landed.amount == Decimal(invoice["TaxInclusiveAmount"])


@INVOICES
def test_tax_taken_out_of_the_gross_lines(invoice: dict[str, Any]) -> None:
    """BT-116 and BT-117 again, told the other way: the gross lines of each rate hold the published base and tax."""
    order = land(invoice)
    gross_lines = tuple(Line(total=row.gross.amount, tax=row.tax_rate) for row in order.lines)
    told_gross = land_order(Order(supplier="S", prices="gross", lines=gross_lines), invoice["currency"])
    assert [(tax.rate, tax.base, tax.tax) for tax in told_gross.taxes] == [(t.rate, t.base, t.tax) for t in order.taxes]
