"""Any two ways of adding up a log agree to the minor unit, whatever the log and whatever the day."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from itertools import count
from typing import TypeVar

from hypothesis import given
from hypothesis import settings as tries
from hypothesis import strategies as st

from buildlog.compute.as_of import cut_to_day
from buildlog.compute.costs.totals import CostFigures, compute_costs
from buildlog.compute.parts.movements import follow_parts
from buildlog.compute.quantities.money import Money, minor_digits, sum_money
from buildlog.problems import Place
from buildlog.read.records import (
    LINE_KINDS,
    Charge,
    Delivery,
    Entry,
    Extra,
    Instalment,
    Line,
    Log,
    Machine,
    MoneyPlan,
    Order,
    Payment,
    Returned,
    Settings,
    Sold,
)

SYSTEMS = ("fuel", "brakes", "body")
PARTS = ("pump", "seal", "disc")
FIRST = datetime.date(2024, 1, 1)

T = TypeVar("T")

days = st.integers(0, 400).map(lambda n: FIRST + datetime.timedelta(days=n))
cents = st.decimals(min_value=0, max_value=5000, places=2)
systems = st.sampled_from((None, *SYSTEMS))
refs = st.sampled_from([f"A{n}" for n in range(1, 9)])


def maybe(strategy: st.SearchStrategy[T]) -> st.SearchStrategy[T | None]:
    return st.none() | strategy


def some(strategy: st.SearchStrategy[T], most: int) -> st.SearchStrategy[tuple[T, ...]]:
    return st.lists(strategy, max_size=most).map(tuple)


lines = st.builds(
    Line,
    part=maybe(st.sampled_from(PARTS)),
    qty=st.integers(1, 9).map(Decimal),
    each=st.decimals(min_value=-20, max_value=900, places=3),
    core=maybe(cents),
    tax=maybe(st.sampled_from([Decimal(0), Decimal("5.5")])),
    worth=maybe(cents),
    kind=maybe(st.sampled_from(LINE_KINDS)),
    system=systems,
    fault=maybe(st.just("hot-start")),
)
orders = st.builds(
    Order,
    supplier=st.sampled_from(["North", "north", "South"]),
    ref=maybe(refs),
    ordered=maybe(days),
    arrived=some(st.builds(Delivery, date=days), 1),
    paid=some(st.builds(Instalment, date=days, amount=maybe(cents), charged=maybe(cents)), 3),
    currency=st.sampled_from([None, "GBP", "EUR", "JPY", "KWD"]),
    charged=maybe(cents),
    rate=maybe(st.decimals(min_value="0.001", max_value=200, places=4)),
    prices=st.sampled_from(["net", "gross"]),
    tax=maybe(st.sampled_from([Decimal(20), Decimal(21)])),
    carriage=some(st.builds(Extra, amount=cents, tax=maybe(st.just(Decimal(9)))), 1),
    discount=some(st.builds(Extra, amount=cents), 1),
    rounding=maybe(st.decimals(min_value=-3, max_value=3, places=2)),
    duty=maybe(st.builds(Charge, amount=cents)),
    lines=some(lines, 4),
)
returns = st.builds(
    Returned,
    ref=refs,
    part=maybe(st.sampled_from(PARTS)),
    qty=maybe(st.integers(1, 3).map(Decimal)),
    core=maybe(cents),
    refund=maybe(cents),
    charged=maybe(cents),
    prices=st.sampled_from([None, "net", "gross"]),
    date=maybe(days),
)
entries = st.builds(
    Entry,
    date=days,
    hours=maybe(cents),
    systems=some(st.sampled_from(SYSTEMS), 2),
    bought=some(orders, 3),
    paid=some(st.builds(Payment, ref=refs, date=maybe(days), amount=maybe(cents), charged=maybe(cents)), 2),
    returned=some(returns, 2),
    sold=some(st.builds(Sold, what=st.just("X"), price=cents, date=maybe(days), system=systems), 2),
)
plans = st.sampled_from(["GBP", "EUR", "JPY", "KWD"]).map(
    lambda home: MoneyPlan(currency=home, hour_rate=Decimal(25), budget={"fuel": Decimal(300), "body": Decimal(100)})
)


def make_log(plan: MoneyPlan, drawn: tuple[Entry, ...]) -> Log:
    """A log of the entries, each record at a place of its own, as if it had been read."""
    places = (Place("entries/e.md", n) for n in count(1))
    named = (replace(_settle(entry, places), name=f"e{n}") for n, entry in enumerate(drawn))
    ordered = tuple(sorted(named, key=lambda entry: (entry.date, entry.name)))
    settings = Settings(machine=Machine(name="M"), money=plan, systems=dict.fromkeys(SYSTEMS, ""))
    return Log(settings=settings, entries=ordered)


def _settle(entry: Entry, places: Iterator[Place]) -> Entry:
    bought = tuple(
        replace(order, place=next(places), lines=tuple(replace(line, place=next(places)) for line in order.lines))
        for order in entry.bought
    )
    return replace(
        entry,
        bought=bought,
        paid=tuple(replace(record, place=next(places)) for record in entry.paid),
        returned=tuple(replace(record, place=next(places)) for record in entry.returned),
        sold=tuple(replace(record, place=next(places)) for record in entry.sold),
    )


logs = st.builds(make_log, plans, some(entries, 6))


def compute_figures(log: Log, as_of: datetime.date) -> CostFigures:
    return compute_costs(follow_parts(cut_to_day(log, as_of)), as_of)


def total(amounts: Iterable[Money], costs: CostFigures) -> Money:
    return sum_money(amounts, costs.currency)


@tries(max_examples=100)
@given(logs, days)
def test_any_two_ways_of_adding_up_agree(log: Log, as_of: datetime.date) -> None:
    """By month, system, kind, supplier, fault, entry, line and order: always what was spent, to the minor unit."""
    costs = compute_figures(log, as_of)
    assert total((line.landed for line in costs.lines), costs) == costs.spent
    ways = (costs.by_month, costs.by_system, costs.by_kind, costs.by_supplier, costs.by_fault, costs.by_entry)
    for way in ways:
        assert total((row.amount for row in way), costs) == costs.spent
        assert sorted(line.place for row in way for line in row.lines) == sorted(line.place for line in costs.lines)
        for row in way:
            assert total((line.landed for line in row.lines), costs) == row.amount
    assert total((row.spent for row in costs.months), costs) == costs.spent
    paid = [amount for p in costs.purchases for share in p.shares if share.date <= as_of for amount in share.lines]
    assert total(paid, costs) == costs.paid == costs.spent + costs.refunded


@tries(max_examples=100)
@given(logs, days)
def test_net_and_the_running_total_agree(log: Log, as_of: datetime.date) -> None:
    """Spent less recovered, the last step, the last month and the sum of what entries moved are one number."""
    costs = compute_figures(log, as_of)
    assert costs.net == costs.spent - costs.recovered
    assert (costs.steps[-1].net if costs.steps else total((), costs)) == costs.net
    assert (costs.months[-1].running if costs.months else total((), costs)) == costs.net
    moved = costs.moved_by_entry.values()
    assert total((m.paid - m.refunded - m.recovered for m in moved), costs) == costs.net
    assert total((m.committed for m in moved), costs) == costs.committed
    assert costs.committed == total((x.landed for x in costs.committed_lines), costs)
    assert sum(row.hours for row in costs.months) == costs.own_hours


@tries(max_examples=100)
@given(logs)
def test_every_amount_is_in_whole_minor_units(log: Log) -> None:
    """No line holds less than a penny (yen, fils): what is shown is what is added."""
    costs = compute_figures(log, datetime.date(2030, 1, 1))
    unit = Decimal(1).scaleb(-minor_digits(costs.currency))
    for line in (*costs.lines, *costs.committed_lines, *costs.recovered_lines):
        assert line.landed.amount % unit == 0


@tries(max_examples=100)
@given(logs)
def test_each_ordered_line_is_paid_or_committed_and_both_make_its_cost(log: Log) -> None:
    """On the last day what was paid of a line, on whatever days, and what is committed of it are what it cost."""
    costs = compute_figures(log, datetime.date(2030, 1, 1))
    stand: dict[Place, list[Money]] = {}
    for line in (*costs.lines, *costs.committed_lines):
        if line.sort in ("paid", "committed"):
            stand.setdefault(line.place, []).append(line.landed)
    for purchase in costs.purchases:
        left = [
            line.place for line in costs.committed_lines if line.place in {x.line.place for x in purchase.landed.lines}
        ]
        assert not (purchase.paid and left)
        for row in purchase.landed.lines:
            # What comes to nothing with all credit notes is not listed.
            if row.line.place in stand:
                assert total(stand[row.line.place], costs) == row.landed
