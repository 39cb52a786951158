"""Order arithmetic against the example invoices published with the European invoice standard.

EN 16931-1, the nine CEN TC 434 examples in UBL 2.1, as published with the standard's validation artefacts, edition
1.3.16 (EUPL 1.2); figures only. Those of plain lines are in `data/en16931_invoices.json` (1, 4, 6, 8 and 9), which
gives quantities without their sign: a line whose published net amount is below zero takes something off. Those with
allowances, charges, something paid before or no tax (2, 3, 5 and 7) are written down below as an owner types them. A
tenth file has the figures of the first.

So by published figures there stand here lines (BT-131), several rates (BT-116, BT-117), totals (BT-106, BT-109, BT-110,
BT-112), a price for several (BT-149), lines below zero, an allowance and a charge of the whole order (BG-20, BG-21), at
the rate of some of its lines, and of a line (BG-27, BG-28), what was paid before (BT-113), and two categories without
tax (BT-118, BT-120). Rounding (BT-114), an allowance or a charge at a rate that no line has, and an exempt charge stand
on our own arithmetic by the rules BR-CO-10 to 16 alone (`test_all_that_the_standard_has_together`).
"""

from __future__ import annotations

import datetime
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from buildlog.arithmetic import sum_exactly
from buildlog.compute.costs.orders import LandedOrder, land_order
from buildlog.compute.costs.totals import compute_costs
from buildlog.compute.parts.movements import follow_parts
from buildlog.read.records import Line, Order
from tests.support import log_of

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
    """Five invoices with 37 lines, and where they come from."""
    assert "EN 16931" in DATA["source"]
    assert sum(len(invoice["lines"]) for invoice in DATA["invoices"]) == 20 + 3 + 10 + 1 + 3


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


# ── as an owner types them ───────────────────────────────────────────────────────────────────────────────────────


def write_order(invoice: dict[str, Any]) -> str:
    """The invoice as an entry's front matter: each price as it is printed, for as many as it is printed for."""
    lines = []
    for row in invoice["lines"]:
        each = f"-{row['price']}" if row["net"].startswith("-") else row["price"]
        per = "" if row.get("price_base_qty", "1") == "1" else f", per: {row['price_base_qty']}"
        lines.append(f"    - {{what: X, qty: {row['qty']}, each: {each}{per}, tax: {row['rate']}}}")
    head = (
        f"date: 2024-03-01\nbought:\n  from: S\n  paid: 2024-03-01\n  prices: net\n  currency: {invoice['currency']}\n"
    )
    return f"{head}  rate: 1\n  lines:\n" + "\n".join(lines)


@INVOICES
def test_typed_by_an_owner(invoice: dict[str, Any]) -> None:
    """Every published invoice, read from a text: BT-131, BT-117, BT-112 to the cent, and no problem with it."""
    log = log_of(write_order(invoice))
    costs = compute_costs(follow_parts(log), datetime.date(2024, 12, 31))
    [purchase] = costs.purchases
    order = purchase.landed
    assert [str(row.value.amount) for row in order.lines] == [row["net"] for row in invoice["lines"]]
    assert {(str(tax.rate), str(tax.base.amount), str(tax.tax.amount)) for tax in order.taxes} == {
        (row["rate"], row["base"], row["tax"]) for row in invoice["tax"]
    }
    assert str(order.total.amount) == invoice["TaxInclusiveAmount"] == invoice["PayableAmount"]
    assert not [problem for problem in costs.problems if problem.severity == "error"]


SECOND = """
date: 2013-06-30
bought:
  from: S
  ordered: 2013-06-15
  prices: net
  tax: 25
  carriage: {amount: 100.00, what: Freight, tax: 25}
  discount: {amount: 100.00, what: Promotion discount, tax: 25}
  paid: {date: 2013-06-30, amount: 1000.00}
  lines:
    - {what: Laptop computer, qty: 2, each: 1273.00, per: 2, discount: {amount: 12.00, what: Damage},
       surcharge: {amount: 12.00, what: Testing}}
    - {what: Book sent back, each: -3.96, tax: 15}
    - {what: Book, qty: 2, each: 2.48, tax: 15}
    - {what: Computer sent back, each: -25.00, untaxed: {category: exempt, why: New means of transport}}
    - {what: Network cable, qty: 250, unit: m, each: 0.75}
"""
"Printed as 2 computers at 1273.00 each, in a line of 1273.00: it contradicts itself, and the line is summed."

THIRD = """
date: 2013-04-10
bought:
  from: S
  prices: net
  tax: 25
  carriage: {amount: 100.00, what: Freight charge, tax: 25}
  lines:
    - {what: Paper subscription, qty: 2, total: 800.00}
    - {what: Paper subscription, qty: 2, total: 800.00, tax: 10}
"""
"Printed as 2 at 800.00, in lines of 800.00: again the line is what is summed."

FIFTH = """
date: 2013-04-10
bought:
  from: S
  prices: net
  tax: 25
  discount: {amount: 150.00, what: Loyal customer, tax: 25}
  handling: {amount: 150.00, what: Packaging, tax: 25}
  paid: {date: 2013-04-10, amount: 2337.50}
  lines:
    - {what: Printing paper, qty: 1000, each: 1.00, discount: {amount: 100.00, what: Loyal customer},
       surcharge: {amount: 100.00, what: Packaging}}
    - {what: Pens, qty: 100, each: 5.00}
    - {what: Biscuits, qty: 500, each: 5.00, tax: 12}
"""
"Its tax is told a second time, as 628.62 EUR (BT-111), which an entry does not keep."

SEVENTH = """
date: 2013-03-11
bought:
  from: S
  untaxed: {category: outside the tax, why: Tax}
  lines:
    - {what: Road tax, each: 2500.00}
    - {what: Road register fee, each: 700.00}
"""

TYPED = {
    # currency, entry; BT-131; BT-119, BT-116, BT-117 and BT-118 of each rate; BT-109, BT-110, BT-112; BT-113 and BT-115
    "2": (
        "NOK", SECOND, ["1273.00", "-3.96", "4.96", "-25.00", "187.50"],
        [("25", "1460.50", "365.13", None), ("15", "1.00", "0.15", None), ("0", "-25.00", "0.00", "exempt")],
        ("1436.50", "365.28", "1801.78"), ("1000.00", "801.78"),
    ),
    "3": (
        "DKK", THIRD, ["800.00", "800.00"], [("25", "900.00", "225.00", None), ("10", "800.00", "80.00", None)],
        ("1700.00", "305.00", "2005.00"), ("0", "2005.00"),
    ),
    "5": (
        "DKK", FIFTH, ["1000.00", "500.00", "2500.00"],
        [("25", "1500.00", "375.00", None), ("12", "2500.00", "300.00", None)],
        ("4000.00", "675.00", "4675.00"), ("2337.50", "2337.50"),
    ),
    "7": (
        "SEK", SEVENTH, ["2500.00", "700.00"], [("0", "3200.00", "0.00", "outside the tax")],
        ("3200.00", "0.00", "3200.00"), ("0", "3200.00"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("number", TYPED)
def test_examples_with_all_their_charges_typed_by_an_owner(number: str) -> None:
    """BG-20, BG-21, BG-27, BG-28, BT-113, BT-118, BT-120: examples 2, 3, 5 and 7 of CEN TC 434, to the cent."""
    currency, text, lines, taxes, totals, paid_and_open = TYPED[number]
    log = log_of(text, settings=f"machine: {{name: M}}\nmoney: {{currency: {currency}}}\n")
    costs = compute_costs(follow_parts(log), datetime.date(2013, 12, 31))
    [purchase] = costs.purchases
    order = purchase.landed
    assert [str(row.value.amount) for row in order.lines] == lines
    assert [(str(tax.rate), str(tax.base.amount), str(tax.tax.amount), tax.category) for tax in order.taxes] == taxes
    base, tax = (sum_exactly(getattr(row, name).amount for row in order.lines) for name in ("base", "tax"))
    assert (str(base), str(tax), str(order.total.amount)) == totals
    assert (str(costs.spent.amount), str(costs.committed.amount)) == paid_and_open
    assert not [problem for problem in costs.problems if problem.severity == "error"]


WHOLE = """
date: 2024-03-01
bought:
  from: S
  ref: 17
  prices: net
  tax: 25
  discount: {amount: 100.00, what: Promotion, tax: 25}
  carriage: {amount: 80.00, tax: 12}
  handling: {amount: 20.00, what: Insurance, untaxed: {category: exempt, why: insurance}}
  rounding: 0.40
  paid: [{date: 2024-03-01, amount: 1000.00}, 2024-04-02]
  lines:
    - {what: Computer, qty: 2, each: 635.00, discount: {amount: 12.00, what: Damaged box}, surcharge: 12.00}
    - {what: Computer sent back, each: -634.00}
    - {what: Book, qty: 10, each: 4.95, tax: 12, discount: 1.00}
    - {what: Screws, qty: 2500, each: 12.40, per: 1000}
    - {what: Training, each: 300.00, untaxed: {category: exempt, why: vocational training}}
"""


def test_all_that_the_standard_has_together() -> None:
    """BG-20, BG-21, BG-27, BG-28, BT-149, BT-113, BT-114, BT-118 and BT-120 by the rules of EN 16931 BR-CO-10 to 16.

    Lines 1270.00, −634.00, 48.50, 31.00, 300.00: BT-106 1015.50. BT-107 100.00, BT-108 100.00, so BT-109 1015.50.
    At 25 %: 1270 − 634 + 31 − 100 = 567.00, tax 141.75. At 12 %: 48.50 + 80 = 128.50, tax 15.42. Exempt: 320.00.
    BT-110 157.17, BT-112 1172.67, with BT-114 1173.07; BT-113 1000.00 leaves BT-115 173.07.
    """
    costs = compute_costs(follow_parts(log_of(WHOLE)), datetime.date(2024, 3, 31))
    [purchase] = costs.purchases
    order = purchase.landed
    assert [str(row.value.amount) for row in order.lines] == ["1270.00", "-634.00", "48.50", "31.00", "300.00"]
    assert [(str(tax.rate), str(tax.base.amount), str(tax.tax.amount), tax.category) for tax in order.taxes] == [
        ("25", "567.00", "141.75", None), ("12", "128.50", "15.42", None), ("0", "320.00", "0.00", "exempt")
    ]  # fmt: skip
    assert order.taxes[2].reason == "vocational training"
    assert (str(order.total.amount), str(costs.spent.amount), str(costs.committed.amount)) == (
        "1173.07", "1000.00", "173.07"
    )  # fmt: skip
    assert not costs.problems
