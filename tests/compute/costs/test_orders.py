"""Landed costs of one order: every amount shared over the lines, to the penny."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.costs.orders import LandedOrder, convert, land_order
from buildlog.compute.quantities.money import Money
from buildlog.read.records import Charge, Extra, Line, LineExtra, Order, Untaxed
from tests.support import gbp, plain


def line(each: str | None = None, **more: Any) -> Line:
    """A line at a price; amounts may be given as texts."""
    typed: dict[str, Any] = {key: Decimal(value) if isinstance(value, str) else value for key, value in more.items()}
    return Line(each=None if each is None else Decimal(each), **typed)


def extra(amount: str, **more: Any) -> Extra:
    """A sum of the whole order; its rate may be given as a text."""
    typed: dict[str, Any] = {key: Decimal(value) if isinstance(value, str) else value for key, value in more.items()}
    return Extra(amount=Decimal(amount), **typed)


def land(*lines: Line, home: str = "GBP", **more: Any) -> LandedOrder:
    amounts = ("charged", "rate", "tax", "rounding")
    typed: dict[str, Any] = {key: Decimal(value) if key in amounts else value for key, value in more.items()}
    for key in ("carriage", "handling", "discount"):
        if isinstance(more.get(key), str):
            typed[key] = (extra(more[key]),)
    return land_order(Order(supplier="S", lines=lines, **typed), home)


def column(order: LandedOrder, name: str) -> list[str]:
    """One amount of each line, which has to be in the currency that such an amount is in."""
    at_home = name in ("home", "duty", "charges", "landed")
    return [plain(getattr(row, name), order.home_currency if at_home else order.currency) for row in order.lines]


def test_a_foreign_order_lands_to_the_penny() -> None:
    """EUR order, net prices, 21 % tax, carriage 16.90, GBP 231.15 off the card, duty GBP 14.20 on line value.

    Carriage 16.90 over 118.40, 14.70, 30.50 (163.60). Tax 21 % of 225.50 = 47.355 → 47.36, over 175.63, 16.22, 33.65:
    quotas 36.886, 3.407, 7.067. Home 231.15 over 212.51, 19.63, 40.72 (272.86): quotas 180.025, 16.629, 34.495.
    """
    order = land(
        line("118.40", core="45.00"), line("7.35", qty="2"), line("6.10", qty="5"),
        currency="EUR", prices="net", tax="21", carriage="16.90", charged="231.15",
        duty=Charge(amount=Decimal("14.20"), currency="GBP"),
    )  # fmt: skip
    assert column(order, "value") == ["118.40", "14.70", "30.50"]
    assert column(order, "carriage") == ["12.23", "1.52", "3.15"]
    assert column(order, "base") == ["175.63", "16.22", "33.65"]
    assert column(order, "tax") == ["36.88", "3.41", "7.07"]
    assert column(order, "gross") == ["212.51", "19.63", "40.72"]
    assert column(order, "home") == ["180.02", "16.63", "34.50"]
    assert column(order, "duty") == ["10.28", "1.27", "2.65"]
    assert column(order, "landed") == ["190.30", "17.90", "37.15"]
    assert (plain(order.total, "EUR"), plain(order.home), plain(order.landed)) == ("272.86", "231.15", "245.35")
    assert [(str(tax.rate), plain(tax.base, "EUR"), plain(tax.tax, "EUR")) for tax in order.taxes] == [
        ("21", "225.50", "47.36")
    ]


def test_gross_prices_hold_their_tax() -> None:
    """100.00 and 21.00 with 21 % inside: tax 121 × 21/121 = 21.00, of which 17.36 and 3.64 (quotas 17.355, 3.645)."""
    order = land(line("100.00"), line("21.00"), prices="gross", tax="21")
    assert column(order, "tax") == ["17.36", "3.64"]
    assert column(order, "base") == ["82.64", "17.36"]
    assert column(order, "landed") == ["100.00", "21.00"]
    assert (order.taxes[0].base, order.taxes[0].tax) == (gbp("100.00"), gbp("21.00"))


def test_a_line_may_have_its_own_tax_rate() -> None:
    """20 % on 10.00 and on half the carriage of 2.00, none on the book: tax 20 % of 11.00 = 2.20."""
    order = land(line("10.00"), line("10.00", tax="0"), prices="net", tax="20", carriage="2.00")
    assert column(order, "tax") == ["2.20", "0.00"]
    assert column(order, "gross") == ["13.20", "11.00"]
    assert [tax.rate for tax in order.taxes] == [Decimal(20)]


def test_tax_is_computed_once_for_each_rate() -> None:
    """Three lines of 0.03 at 20 %: tax of 0.09 is 0.018 → 0.02, where line by line it would be 0.03."""
    order = land(line("0.03"), line("0.03"), line("0.03"), prices="net", tax="20")
    assert column(order, "tax") == ["0.01", "0.01", "0.00"]


def test_discount_carriage_and_handling_are_shared_each_for_itself() -> None:
    """Over 75 and 25: discount 10 is 7.50 and 2.50, carriage 4 is 3 and 1, handling 2 is 1.50 and 0.50."""
    order = land(line("75"), line("25"), discount="10", carriage="4", handling="2")
    assert (column(order, "discount"), column(order, "carriage")) == (["7.50", "2.50"], ["3.00", "1.00"])
    assert column(order, "handling") == ["1.50", "0.50"]
    assert column(order, "landed") == ["72.00", "24.00"]


def test_a_line_may_state_its_total() -> None:
    """3 for 10.00 altogether is 10.00, whatever a third of it is."""
    assert column(land(line(total="10.00", qty="3")), "landed") == ["10.00"]


def test_line_values_round_half_up() -> None:
    """EN 16931 BT-131: 3 × 0.335 = 1.005 → 1.01; 3 yen × 0.5 = 1.5 → 2."""
    assert column(land(line("0.335", qty="3")), "value") == ["1.01"]
    assert column(land(line("0.5", qty="3"), home="JPY"), "value") == ["2"]


def test_a_price_taken_off_takes_tax_and_home_money_off() -> None:
    """110 less 10 at 20 %, 120 EUR charged as 60 GBP: 132 − 12 and 66 − 6; the rebate bears no carriage."""
    order = land(line("110"), line("-10"), currency="EUR", prices="net", tax="20", charged="60.00")
    assert column(order, "tax") == ["22.00", "-2.00"]
    assert column(order, "home") == ["66.00", "-6.00"]
    assert column(land(line("110"), line("-10"), carriage="5"), "carriage") == ["5.00", "0.00"]


def test_the_stated_rate_converts_the_total_once() -> None:
    """3 × 0.01 EUR at 0.8567: 0.03 EUR is 0.025701 → 0.03 GBP, shared 0.01 each."""
    order = land(line("0.01"), line("0.01"), line("0.01"), currency="EUR", rate="0.8567")
    assert column(order, "home") == ["0.01", "0.01", "0.01"]
    assert order.rate == Fraction("0.8567")


def test_what_the_card_took_comes_before_the_rate() -> None:
    """With both written, the charged amount is the cost, and the order's rate follows from it: 50/100."""
    order = land(line("100"), currency="EUR", rate="0.9", charged="50.00")
    assert (order.home, order.rate) == (gbp("50.00"), Fraction(1, 2))
    assert convert(Money(Decimal("0.01"), "EUR"), order) == gbp("0.01")


def test_without_charge_or_rate_the_home_amount_is_not_known() -> None:
    """A foreign order that says neither has no home amount, and says so; one that comes to nothing needs none."""
    unknown = land(line("100"), currency="EUR")
    assert (unknown.converted, unknown.home, unknown.rate) == (False, gbp("0"), None)
    assert convert(Money(Decimal(1), "EUR"), unknown) is None
    assert land(line("0"), currency="EUR").converted


def test_home_money_needs_no_rate() -> None:
    """In the home currency what is due is the cost, unless another sum was charged; a refund is never converted."""
    order = land(line("60"), line("40"), charged="95.00")
    assert column(order, "home") == ["57.00", "38.00"]
    assert convert(gbp("10.00"), order) == gbp("10.00")


def test_a_gift_costs_what_its_charges_cost() -> None:
    """A warranty part for nothing with carriage of 12.00 and duty of 3.00 lands at 15.00; two gifts by quantity."""
    duty = Charge(amount=Decimal("3.00"))
    assert column(land(line("0", worth="200"), carriage="12.00", duty=duty), "landed") == ["15.00"]
    assert column(land(line("0", qty="3"), line("0"), carriage="12.00", duty=duty), "landed") == ["11.25", "3.75"]


def test_charges_in_the_home_currency_are_shared_by_value() -> None:
    """Fees of 3.00 and 2.00 together 5.00 over 80 and 20 dollars: 4.00 and 1.00; a foreign one is left out."""
    fees = (Charge(amount=Decimal("3.00")), Charge(amount=Decimal("2.00"), currency="GBP"))
    foreign = Charge(amount=Decimal("9.00"), currency="USD")
    order = land(line("80"), line("20"), currency="USD", rate="0.5", charges=(*fees, foreign))
    assert column(order, "charges") == ["4.00", "1.00"]
    assert column(order, "landed") == ["44.00", "11.00"]


def test_currencies_without_and_with_three_decimals() -> None:
    """Yen to dinar: 1000 JPY shared in whole yen, 2.345 KWD in fils."""
    order = land(line("700"), line("290"), currency="JPY", carriage="10", charged="2.345", home="KWD")
    assert column(order, "carriage") == ["7", "3"]
    assert column(order, "home") == ["1.658", "0.687"]


def test_an_order_without_lines_comes_to_nothing() -> None:
    """There is nothing to share over: that is told as a problem, and is no fault of the sharing."""
    order = land(carriage="5", charged="9.00", duty=Charge(amount=Decimal(1)))
    assert (order.lines, order.total, order.landed) == ((), gbp("0"), gbp("0"))


def test_sums_of_an_order_may_have_a_rate_of_their_own() -> None:
    """EN 16931 BG-20, BG-21: 80 and 20 at 25 %; carriage of 10 at 12 %, a discount of 5 at 25 %, 4 exempt.

    25 % of 100 − 5 = 95 is 23.75; 12 % of 10 is 1.20; the lines bear 8 and 2, 4 and 1, 3.20 and 0.80.
    """
    order = land(
        line("80"), line("20"), prices="net", tax="25",
        carriage=(extra("10", tax="12"),), discount=(extra("5", tax="25"),),
        handling=(extra("4", untaxed=Untaxed(category="exempt", why="insurance")),),
    )  # fmt: skip
    assert [(plain(tax.base), plain(tax.tax), tax.category, tax.reason) for tax in order.taxes] == [
        ("95.00", "23.75", None, None), ("10.00", "1.20", None, None), ("4.00", "0.00", "exempt", "insurance")
    ]  # fmt: skip
    assert column(order, "base") == ["87.20", "21.80"]
    # 23.75 over 76 and 19, 1.20 over 8 and 2.
    assert column(order, "tax") == ["19.96", "4.99"]
    assert plain(order.total) == "133.95"


def test_a_price_may_be_for_several_and_a_line_has_its_own_sums() -> None:
    """BT-149: 132 at 15.24 for 12 is 167.64. BG-27, BG-28: 2 × 11 + 3 − 1.50 is 23.50."""
    more = {"surcharge": (LineExtra(amount=Decimal(3)),), "discount": (LineExtra(amount=Decimal("1.50")),)}
    assert column(land(line("15.24", qty="132", per="12"), line("11", qty="2", **more)), "value") == ["167.64", "23.50"]
    # A third of a penny is rounded once, with all that is added: 1/3 + 0.00 is 0.33.
    assert column(land(line("1", per="3")), "value") == ["0.33"]


def test_the_total_may_be_rounded() -> None:
    """BT-114: 121.03 with tax, rounded down by 0.03, over lines of 96.82 and 24.21 (0.024, 0.006)."""
    order = land(line("80.02"), line("20.01"), prices="net", tax="21", rounding="-0.04")
    assert (plain(order.total), plain(order.taxes[0].tax)) == ("121.00", "21.01")
    assert column(order, "rounding") == ["-0.03", "-0.01"]


def test_what_is_untaxed_says_why() -> None:
    """BT-118, BT-120: on the order, with a line that is taxed all the same; a rate beside it is not taken."""
    order = land(line("50"), line("50", tax="20"), prices="net", untaxed=Untaxed(category="reverse charge"))
    assert [(str(tax.rate), plain(tax.base), plain(tax.tax), tax.category) for tax in order.taxes] == [
        ("0", "50.00", "0.00", "reverse charge"), ("20", "50.00", "10.00", None)
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["999999999999999", "0.00000000000001"])
def test_the_largest_and_smallest_numbers_do_no_harm(text: str) -> None:
    """Fifteen digits everywhere, the most that is read: sums stay exact, nothing is raised."""
    sums = {"rate": text, "carriage": text, "rounding": text}
    order = land(line(text, qty=text), line(text), currency="EUR", prices="net", tax="99.9", **sums)
    assert sum(Fraction(row.home.amount) for row in order.lines) == Fraction(order.home.amount)


money = st.decimals(min_value=0, max_value=10**6, places=2)
line_extras = st.lists(st.builds(LineExtra, amount=st.decimals(min_value=0, max_value=50, places=2)), max_size=2)
reasons = st.none() | st.builds(Untaxed, category=st.sampled_from(["exempt", "export"]))
extras = st.lists(
    st.builds(Extra, amount=money, tax=st.sampled_from([None, Decimal(9), Decimal(21)]), untaxed=reasons),
    max_size=2,
).map(tuple)
line_records = st.builds(
    Line,
    per=st.sampled_from([Decimal(1), Decimal(3), Decimal(100)]),
    discount=line_extras.map(tuple),
    surcharge=line_extras.map(tuple),
    untaxed=reasons,
    qty=st.decimals(min_value="0.01", max_value=1000, places=2),
    each=st.decimals(min_value=-50, max_value=10**5, places=3),
    core=st.none() | money,
    tax=st.none() | st.sampled_from([Decimal(0), Decimal("5.5"), Decimal(21)]),
)
order_records = st.builds(
    Order,
    supplier=st.just("S"),
    currency=st.sampled_from(["GBP", "EUR", "JPY", "KWD"]),
    charged=st.none() | money,
    rate=st.none() | st.decimals(min_value="0.0001", max_value=1000, places=6),
    prices=st.sampled_from(["net", "gross"]),
    tax=st.none() | st.sampled_from([Decimal(0), Decimal(21)]),
    carriage=extras,
    handling=extras,
    discount=extras,
    rounding=st.none() | st.decimals(min_value=-3, max_value=3, places=2),
    duty=st.none() | st.builds(Charge, amount=money),
    charges=st.lists(st.builds(Charge, amount=money), max_size=2).map(tuple),
    lines=st.lists(line_records, min_size=1, max_size=8).map(tuple),
)


@given(order_records)
def test_every_column_adds_up_exactly(record: Order) -> None:
    """Shares of discount, carriage, handling, tax, charged amount, duty and charges sum to what was shared."""
    order = land_order(record, "GBP")
    digits = {"JPY": 0, "KWD": 3}.get(order.currency, 2)

    def total(name: str) -> Decimal:
        return sum((getattr(row, name).amount for row in order.lines), Decimal(0))

    for name in ("discount", "carriage", "handling"):
        stated = [each.amount for each in getattr(record, name)]
        assert abs(total(name) - sum(stated)) <= (Decimal("0.5") * len(stated) if digits == 0 else 0)
    assert total("tax") == sum(tax.tax.amount for tax in order.taxes)
    assert abs(total("rounding") - (record.rounding or 0)) <= (Decimal("0.5") if digits == 0 else 0)
    assert total("base") + total("tax") + total("rounding") == total("gross") == order.total.amount
    if record.charged is not None:
        assert total("home") == record.charged
    assert total("duty") == (record.duty.amount if record.duty else 0)
    assert total("charges") == sum(charge.amount for charge in record.charges)
    assert total("home") + total("duty") + total("charges") == total("landed") == order.landed.amount
