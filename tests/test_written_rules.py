"""Rules that the guide writes down, each beside what holds the program to it.

Each test quotes its sentence: where the guide says it otherwise one day, the test has to be looked at again.
"""

from __future__ import annotations

import datetime
from decimal import Decimal
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import buildlog
from buildlog.compute.costs.orders import LandedOrder, land_order
from buildlog.compute.figures import Figures, compute_figures
from buildlog.read.records import Charge, Extra, Line, Order
from tests.support import gbp, log_of, read_texts

GUIDE = Path(buildlog.__file__).parent / "guide"
LAST = datetime.date(2024, 12, 31)


def assert_says(page: str, sentence: str) -> None:
    """The guide says this, however its lines are broken."""
    text = " ".join((GUIDE / f"{page}.md").read_text(encoding="utf-8").split())
    assert sentence in text, f"{page}.md should say: {sentence}"


def figures_of(*heads: str, day: datetime.date = LAST) -> Figures:
    return compute_figures(log_of(*heads), day)


def rules_of(*heads: str) -> list[str]:
    return [problem.rule for problem in figures_of(*heads).problems]


# ── shares ───────────────────────────────────────────────────────────────────────────────────────────────────────

amounts = st.integers(0, 5000).map(lambda pence: Decimal(pence) / 100)


def land(*each: Decimal, duty: Decimal, charges: list[Decimal]) -> LandedOrder:
    lines = tuple(Line(what="X", each=price) for price in each)
    fees = tuple(Charge(amount=amount) for amount in charges)
    return land_order(Order(supplier="S", lines=lines, duty=Charge(amount=duty), charges=fees), "GBP")


def test_three_shares_are_rounded() -> None:
    """Over three equal lines duty of 0.05 is 2, 2, 1 pence; charges of 0.05 and 0.05 are 4, 3, 3: together 6, 5, 4.

    As one amount of 0.15 they would be 5, 5, 5; each charge by itself would make it 2 + 2 + 2 for the first line.
    """
    sentence = "Each of the three is shared out separately, in whole pence, and each adds up."
    assert_says("figures", f"its share of the duty, and its share of all other charges added together. {sentence}")
    order = land(*[Decimal(1)] * 3, duty=Decimal("0.05"), charges=[Decimal("0.05")] * 2)
    assert [line.landed - line.home for line in order.lines] == [gbp("0.06"), gbp("0.05"), gbp("0.04")]


@given(
    each=st.lists(amounts, min_size=1, max_size=5),
    duty=amounts,
    charges=st.lists(amounts, min_size=1, max_size=4),
)
def test_several_charges_are_shared_as_their_sum(each: list[Decimal], duty: Decimal, charges: list[Decimal]) -> None:
    """However many charges there are, and whatever the duty: the shares are those of one charge of all together."""
    several, one = land(*each, duty=duty, charges=charges), land(*each, duty=duty, charges=[sum(charges, Decimal(0))])
    assert [line.charges for line in several.lines] == [line.charges for line in one.lines]
    without = land(*each, duty=Decimal(0), charges=charges)
    assert [line.charges for line in several.lines] == [line.charges for line in without.lines]


@given(
    each=st.lists(amounts.filter(bool), min_size=1, max_size=4),
    off=amounts.filter(bool),
    amount=amounts,
    place=st.integers(0, 4),
)
def test_a_price_taken_off_bears_nothing(each: list[Decimal], off: Decimal, amount: Decimal, place: int) -> None:
    """Wherever the line below zero stands, the others bear all of carriage, handling, discount, duty and charges."""
    assert_says("figures", "It takes no share of any discount, carriage, handling, duty or charge.")
    prices = [*each[:place], -off, *each[place:]]
    at = prices.index(-off)
    fee, extra = Charge(amount=amount), Extra(amount=amount)
    record = Order(
        supplier="S", lines=tuple(Line(what="X", each=price) for price in prices), carriage=(extra,), handling=(extra,),
        discount=(extra,), duty=fee, charges=(fee,),
    )  # fmt: skip
    line = land_order(record, "GBP").lines[at]
    assert line.discount == line.carriage == line.handling == line.duty == line.charges == gbp("0")


# ── money that came back ─────────────────────────────────────────────────────────────────────────────────────────

ORDER = """
date: 2024-03-01
bought:
  {from: S, ref: A1, paid: 2024-03-01, arrived: 2024-03-01, prices: net, tax: 20, carriage: 5.00,
   lines: [{part: pump, each: 100.00, core: 10.00}]}
"""
"100.00, 5.00 carriage and 10.00 core, with tax 138.00."


def test_a_refund_is_with_tax_as_the_order_is_and_a_core_as_on_it() -> None:
    """Of 115.00 net all that can come back is 138.00; the core is 10.00, and with its tax 12.00."""
    assert_says("figures", "A `refund` includes tax if the order's prices do")
    assert_says("figures", "with `prices: net` on both, its tax is added in the same way")
    back = "date: 2024-04-01\nreturned: {ref: A1, part: pump, %s}"
    for core in ("core: 10.00", "core: 10.00, refund: 2.00, prices: gross"):
        assert figures_of(ORDER, back % core).costs.refunded == gbp("12.00")
    assert rules_of(ORDER, back % "core: 12.00") == ["core-above-charge"]
    for whole in ("core: 10.00, refund: 105.00", "core: 10.00, refund: 128.00, prices: gross"):
        assert rules_of(ORDER, back % f"qty: 1, {whole}") == []
        assert figures_of(ORDER, back % f"qty: 1, {whole}").costs.spent == gbp("0")
    assert "refund-above-price" in rules_of(ORDER, back % "qty: 1, core: 10.00, refund: 105.01")
    assert "refund-above-price" in rules_of(ORDER, back % "qty: 1, core: 10.00, refund: 128.01, prices: gross")


# ── days ─────────────────────────────────────────────────────────────────────────────────────────────────────────

AHEAD = """
date: 2024-05-01
bought:
  {from: S, ref: A1, ordered: 2024-05-01, paid: 2024-05-20, arrived: 2024-05-10,
   lines: [{part: pump, qty: 2, each: 100.00}]}
returned: {ref: A1, part: pump, qty: 1, refund: 100.00, date: 2024-06-10}
sold: {what: Rack, price: 15.00, date: 2024-06-20}
"""


@pytest.mark.parametrize(
    ("day", "post", "shelf", "committed", "spent", "recovered"),
    [
        ("2024-05-01", "2", "0", "200.00", "0", "0"),
        ("2024-05-09", "2", "0", "200.00", "0", "0"),
        ("2024-05-10", "0", "2", "200.00", "0", "0"),
        ("2024-05-20", "0", "2", "0", "200.00", "0"),
        ("2024-06-10", "0", "1", "0", "100.00", "0"),
        ("2024-06-20", "0", "1", "0", "100.00", "15.00"),
    ],
)
def test_a_day_given_ahead_counts_once_it_has_come(
    day: str, post: str, shelf: str, committed: str, spent: str, recovered: str
) -> None:
    """An arrival, a payment, a return and a sale that an entry gives ahead need no other entry, and count on time."""
    assert_says(
        "figures",
        "A date may lie after the day of its entry: a parcel that has been announced, a payment that falls due.",
    )
    assert_says("figures", "It counts from that day on, as if it had happened; if it did not, correct the date.")
    figures = figures_of(AHEAD, day=datetime.date.fromisoformat(day))
    (pump,) = figures.parts.parts
    assert (pump.in_the_post, pump.shelf) == (Decimal(post), Decimal(shelf))
    assert sum(item.qty for item in figures.in_the_post) == Decimal(post)
    costs = figures.costs
    assert (costs.committed, costs.spent, costs.recovered) == (gbp(committed), gbp(spent), gbp(recovered))


@pytest.mark.parametrize("names", list(permutations(["2024-05-18-a", "2024-05-18-b", "zero"])))
def test_file_names_order_the_entries_of_one_day(names: tuple[str, ...]) -> None:
    """In whatever order the files are found: by day, then by name; so the second reading of a day is the later one."""
    assert_says("entry", "Two entries for the same day count in the order of their file names.")
    readings = {"2024-05-18-a": 100, "2024-05-18-b": 110, "zero": 120}
    texts = {name: f"date: 2024-05-18\ntitle: T\nreading: {readings[name]}" for name in names}
    log = read_texts(texts | {"z-before": "date: 2024-05-17\ntitle: T\nreading: 90"}).log
    assert log is not None
    assert [entry.name for entry in log.entries] == ["z-before", *sorted(names)]
    figures = compute_figures(log, LAST)
    assert figures.problems == ()
    assert figures.meter.latest is not None and figures.meter.latest.total == 120
