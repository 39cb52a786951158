"""What is wrong with the money in a log: each rule with the log that breaks it, and the same log put right."""

from __future__ import annotations

import datetime

import pytest

from buildlog.compute.costs.totals import compute_costs
from buildlog.compute.parts.movements import follow_parts
from buildlog.problems import Problem
from tests.support import log_of

PAID = "date: 2024-03-01\nbought:\n  from: S\n  ref: A1\n  paid: 2024-03-01\n"
PUMP = PAID + "  lines: [{part: pump, qty: 2, each: 50.00, core: 10.00}]\n"
EURO = PAID + "  currency: EUR\n  charged: 80.00\n  lines: [{part: pump, each: 100.00}]\n"


def find(*heads: str, settings: str = "") -> list[Problem]:
    log = log_of(*heads, settings=settings) if settings else log_of(*heads)
    return list(compute_costs(follow_parts(log), datetime.date(2024, 12, 31)).problems)


def tell(*heads: str, settings: str = "") -> list[tuple[str, str, int]]:
    """Rule, severity and line of each problem."""
    return [(problem.rule, problem.severity, problem.place.line) for problem in find(*heads, settings=settings)]


BROKEN = {
    "unknown currency": (
        PAID + "  currency: EUX\n  rate: 0.9\n  lines: {what: X, each: 1.00}",
        ("unknown-currency", "error", 7),
    ),
    "unknown currency of a duty": (
        PAID + "  duty: {amount: 1.00, currency: GBX}\n  lines: {what: X, each: 1.00}",
        ("unknown-currency", "error", 7),
    ),
    "half a penny": (PAID + "  carriage: 1.005\n  lines: {what: X, each: 1.00}", ("too-many-decimals", "error", 7)),
    "half a yen": (
        PAID + "  currency: JPY\n  rate: 0.005\n  discount: 0.5\n  lines: {what: X, each: 100}",
        ("too-many-decimals", "error", 9),
    ),
    "a slip of the keyboard": (
        PAID + "  lines: {what: X, qty: 1000000, each: 1000000.00}",
        ("amount-too-large", "error", 4),
    ),
    "nothing bought": (PAID + "  charged: 5.00", ("order-without-lines", "error", 4)),
    "two prices": (PAID + "  lines: {what: X, each: 1.00, total: 1.00}", ("two-prices", "error", 7)),
    "no price": (PAID + "  lines: {what: X}", ("no-price", "error", 7)),
    "tax on an order": (PAID + "  tax: 21\n  lines: {what: X, each: 1.00}", ("tax-without-prices", "error", 7)),
    "tax on a line": (PAID + "  lines: {what: X, each: 1.00, tax: 21}", ("tax-without-prices", "error", 7)),
    "foreign duty": (
        PAID + "  duty: {amount: 1.00, currency: EUR}\n  lines: {what: X, each: 1.00}",
        ("foreign-charge", "error", 7),
    ),
    "foreign charge": (
        PAID + "  charges: [{amount: 1.00}, {amount: 2.00, currency: USD}]\n  lines: {what: X, each: 1.00}",
        ("foreign-charge", "error", 7),
    ),
    "a discount of more than the goods": (
        PAID + "  discount: 1.01\n  carriage: 5.00\n  lines: {what: X, each: 1.00}",
        ("discount-too-large", "error", 7),
    ),
    "paid abroad, and not what": (
        PAID + "  currency: EUR\n  lines: {what: X, each: 1.00}",
        ("no-rate", "error", 7),
    ),
    "ordered abroad, and not what": (
        "date: 2024-03-01\nbought: {from: S, currency: EUR, lines: {what: X, each: 1.00}}",
        ("no-rate", "warning", 3),
    ),
    "charged and not paid": (
        "date: 2024-03-01\nbought: {from: S, charged: 1.00, lines: {what: X, each: 1.00}}",
        ("charged-not-paid", "warning", 3),
    ),
    "a rate at home": (PAID + "  rate: 0.9\n  lines: {what: X, each: 1.00}", ("rate-at-home", "warning", 7)),
    "charged otherwise": (PAID + "  charged: 1.10\n  lines: {what: X, each: 1.00}", ("charged-differs", "warning", 7)),
    "a total and a discount": (
        PAID + "  lines: {what: X, total: 1.00, discount: 0.10}",
        ("total-and-more", "error", 7),
    ),
    "a total for several": (PAID + "  lines: {what: X, total: 1.00, per: 100}", ("total-and-more", "error", 7)),
    "a line's discount of more than it": (
        PAID + "  lines: {what: X, each: 1.00, discount: 1.01}",
        ("discount-too-large", "error", 7),
    ),
    "a line's surcharge finer than a penny": (
        PAID + "  lines: {what: X, each: 1.00, surcharge: 0.001}",
        ("too-many-decimals", "error", 7),
    ),
    "carriage with a tax, and prices unsaid": (
        PAID + "  carriage: {amount: 1.00, tax: 9}\n  lines: {what: X, each: 1.00}",
        ("tax-without-prices", "error", 7),
    ),
    "untaxed and taxed": (
        PAID + "  prices: net\n  lines: {what: X, each: 1.00, tax: 9, untaxed: export}",
        ("untaxed-and-taxed", "error", 8),
    ),
    "exempt, and not why": (
        PAID + "  untaxed: exempt\n  lines: {what: X, each: 1.00}",
        ("untaxed-without-reason", "warning", 7),
    ),
    "rounded by too much": (
        PAID + "  rounding: -5.01\n  lines: {what: X, each: 10.00}",
        ("rounding-large", "warning", 7),
    ),
    "rounded by less than a penny": (
        PAID + "  rounding: 0.001\n  lines: {what: X, each: 10.00}",
        ("too-many-decimals", "error", 7),
    ),
    "sold, and not what": ("date: 2024-03-01\nsold: {price: 5.00}", ("sold-what", "error", 3)),
}


@pytest.mark.parametrize("name", BROKEN)
def test_one_entry_breaks_one_rule(name: str) -> None:
    """One thing wrong gives one problem, at the line where it is written, with a remedy."""
    head, expected = BROKEN[name]
    assert tell(head) == [expected]
    assert find(head)[0].help


LATER = {
    "paid and told paid": (PUMP, "paid: A1", ("paid-twice", "error", 3)),
    "paid an unknown order": (PUMP, "paid: A2", ("unknown-ref", "error", 3)),
    "an unknown order came back": (PUMP, "returned: {ref: A2, refund: 1.00}", ("unknown-ref", "error", 3)),
    "a part of another order": (
        PUMP, "returned: {ref: A1, part: seal, refund: 1.00}", ("part-not-in-order", "error", 3)
    ),
    "nothing came back": (PUMP, "returned: {ref: A1, part: pump}", ("empty-return", "error", 3)),
    "more went back than was bought": (
        PUMP, "returned: {ref: A1, part: pump, qty: 3}", ("returned-too-many", "error", 3)
    ),
    "more core than was charged": (
        PUMP, "returned: {ref: A1, part: pump, core: 10.01}", ("core-above-charge", "error", 3)
    ),
    "more money than a foreign order cost": (
        EURO, "returned: {ref: A1, refund: 100.00, charged: 80.01}", ("refund-above-cost", "warning", 3)
    ),
    "money before it was paid": (
        PUMP, "returned: {ref: A1, refund: 1.00, date: 2024-02-29}", ("refund-before-payment", "error", 3)
    ),
    "a return finer than a penny": (PUMP, "returned: {ref: A1, refund: 0.005}", ("too-many-decimals", "error", 3)),
    "a return finer than a yen": (
        EURO.replace("EUR", "JPY"),
        "returned: {ref: A1, refund: 9.50, charged: 8.00}",
        ("too-many-decimals", "error", 3),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", LATER)
def test_a_later_entry_breaks_one_rule(name: str) -> None:
    """What a later entry says about an earlier order must fit it; the problem stands at the later entry."""
    first, later, expected = LATER[name]
    problems = find(first, f"date: 2024-04-01\n{later}")
    assert [(p.rule, p.severity, p.place.line) for p in problems] == [expected]
    assert problems[0].place.file == "entries/e2.md"
    assert problems[0].help


def test_more_money_back_than_was_paid_at_home() -> None:
    """110.01 of 110.00: too much of the price, and too much of the cost."""
    assert tell(PUMP, "date: 2024-04-01\nreturned: {ref: A1, refund: 110.01}") == [
        ("refund-above-price", "error", 3),
        ("refund-above-cost", "error", 3),
    ]


def test_returns_are_counted_together() -> None:
    """Each return is possible by itself; the second goes too far, and says so where it stands."""
    back = "date: 2024-04-0{}\nreturned: {{ref: A1, part: pump, qty: 1, core: 5.00, refund: 40.00}}"
    assert tell(PUMP, back.format(1), back.format(2)) == []
    problems = find(PUMP, back.format(1), back.format(2), back.format(3))
    assert [p.rule for p in problems] == [
        "core-above-charge", "refund-above-price", "refund-above-cost", "returned-too-many"
    ]  # fmt: skip
    assert {p.place.file for p in problems} == {"entries/e4.md"}
    assert problems[1].message == "`135.00` was refunded of the `110.00 GBP of the whole order` that was paid"


def test_money_back_on_an_order_that_nobody_paid() -> None:
    """An order without a payment cannot give money back; a credit note or goods may come and go all the same."""
    order = "date: 2024-03-01\nbought: {from: S, ref: A1, lines: {part: pump, each: 5.00}}"
    back = "date: 2024-04-01\nreturned: {ref: A1, refund: 5.00%s}"
    assert tell(order, back % ", charged: 5.00") == [("refund-before-payment", "error", 3)]
    assert tell(order, back % ", date: 2024-02-29") == [("refund-before-payment", "error", 3)]
    assert tell(order, back % "") == []
    assert tell(order, "date: 2024-04-01\nreturned: {ref: A1, part: pump, qty: 1}") == []


def test_two_orders_of_one_supplier_with_one_ref() -> None:
    """The same supplier, written with other capitals, and the same ref: both places are named."""
    problems = find(PUMP, PUMP.replace("from: S", "from: s"))
    assert [(p.rule, p.place.file, p.also[0].file) for p in problems] == [
        ("suppliers-alike", "entries/e2.md", "entries/e1.md"),
        ("repeated-ref", "entries/e2.md", "entries/e1.md"),
    ]


def test_two_suppliers_may_count_alike_until_one_is_meant() -> None:
    """Two suppliers with a ref `A1` are fine; a payment for `A1` then does not say which."""
    other = PUMP.replace("from: S", "from: Other").replace("pump", "disc").replace("  paid: 2024-03-01\n", "")
    assert tell(PUMP, other) == []
    assert tell(PUMP, other, "date: 2024-04-01\npaid: A1") == [("ref-of-two-orders", "error", 3)]


def test_an_order_is_charged_once() -> None:
    """A payment that names another amount than the order does: both places are named."""
    order = "date: 2024-03-01\nbought: {from: S, ref: A1, charged: 5.00, lines: {what: X, each: 5.00}}"
    assert tell(order, "date: 2024-04-01\npaid: {ref: A1, charged: 5.00}") == []
    assert tell(order, "date: 2024-04-01\npaid: {ref: A1, charged: 5.01}") == [("charged-twice", "error", 3)]


def test_a_payment_is_told_once() -> None:
    """The second payment of an order is the problem, and it names the first."""
    order = "date: 2024-03-01\nbought: {from: S, ref: A1, lines: {what: X, each: 5.00}}"
    problems = find(order, "date: 2024-04-01\npaid: A1", "date: 2024-04-02\npaid: A1")
    assert [p.rule for p in problems] == ["paid-twice"]
    assert (problems[0].place.file, problems[0].also[0].file) == ("entries/e3.md", "entries/e2.md")


def test_settings_are_looked_at_too() -> None:
    """The home currency, the purchase and the budget."""
    settings = """
    machine: {name: M}
    acquired: {date: 2024-01-01, price: 100.001}
    money: {currency: GBP, budget: {fuel: 0.001}}
    systems: {fuel: Fuel}
    """
    assert tell(settings=settings) == [("too-many-decimals", "error", 3), ("too-many-decimals", "error", 4)]
    assert tell(settings="machine: {name: M}\nmoney: {currency: GBX}") == [("unknown-currency", "error", 2)]


def test_a_whole_message() -> None:
    """Lower case, values in backticks, and what to type."""
    problem = find(PAID + "  carriage: 1.005\n  lines: {what: X, each: 1.00}")[0]
    assert problem.message == "`1.005` has too many decimals: GBP has 2 decimals"
    assert problem.help == "write what was paid, with 2 decimals; only the unit price, under `each:`, may have more"


def test_nothing_is_wrong_with_a_full_order() -> None:
    """Everything that an order may say, said rightly, gives no problem."""
    assert (
        tell(
            PAID
            + """  ordered: 2024-02-20
  arrived: 2024-02-28
  currency: JPY
  charged: 61.44
  prices: gross
  tax: 10
  carriage: 500
  handling: 100
  discount: 50
  duty: {amount: 3.10, currency: GBP}
  charges: {amount: 12.00, what: customs agent}
  lines:
    - {part: pump, each: 10000, core: 1000}
    - {what: Rebate, each: -100}
    - {part: seal, each: 0.5, qty: 10, worth: 100, from_sponsor: true}
returned: {ref: A1, part: pump, core: 1000, charged: 5.00}
sold: {what: Old pump, price: 7.50}
"""
        )
        == []
    )
