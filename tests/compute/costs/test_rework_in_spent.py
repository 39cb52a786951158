"""What doing it twice cost is a part of what was spent: paid by the day, less what came back."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from buildlog.compute.figures import Figures, compute_figures
from buildlog.compute.quantities.money import Money, sum_money
from buildlog.problems import Place
from buildlog.read.records import Log
from tests.random_logs import amounts, days, few, moments, read_heads, record, refs
from tests.support import gbp, log_of

FIRST = """
date: 2024-02-01
bought: {from: Shop, arrived: 2024-02-01, paid: 2024-02-01, lines: [{part: pump, each: 100.00}]}
fitted: pump
"""
AGAIN = """
date: 2024-03-01
bought:
  {from: Shop, ref: A1, arrived: 2024-03-01, paid: 2024-03-01, carriage: 4.00,
   lines: [{part: pump, qty: 2, each: 50.00, core: 10.00}]}
removed: pump
fitted: {part: pump, qty: 1}
"""
"Two at 50.00 with 4.00 carriage and 10.00 core: 114.00, one of them fitted again: 57.00."


def twice_of(*heads: str, day: str = "2024-12-31") -> Money:
    figures = compute_figures(log_of(*heads), datetime.date.fromisoformat(day))
    assert [problem for problem in figures.problems if problem.severity == "error"] == []
    assert figures.rework.cost == sum_money((item.cost for item in figures.rework.items), "GBP")
    return figures.rework.cost


def test_what_is_not_paid_was_not_spent_twice() -> None:
    """An order that is still owed costs nothing twice until the day that it is paid on."""
    owed = AGAIN.replace("paid: 2024-03-01, ", "")
    assert twice_of(FIRST, owed) == gbp("0")
    assert twice_of(FIRST, owed, "date: 2024-04-01\npaid: A1", day="2024-03-31") == gbp("0")
    assert twice_of(FIRST, owed, "date: 2024-04-01\npaid: A1") == twice_of(FIRST, AGAIN) == gbp("57.00")


@pytest.mark.parametrize(
    ("back", "cost"),
    [
        ("core: 10.00", "52.00"),  # 114.00 − 10.00 for two, without goods
        ("refund: 30.00", "42.00"),  # 114.00 − 30.00 for two: money off the price of both
        ("qty: 1, refund: 50.00", "57.00"),  # the other one went back, and what it cost with it
        ("qty: 1, refund: 90.00", "24.00"),  # no more than the 24.00 that are left of all
        ("qty: 1", "57.00"),  # sent back for nothing: still not done twice
    ],
)
def test_what_came_back_was_not_spent_twice(back: str, cost: str) -> None:
    """Money off the price or for a core lowers what each costs; for goods that went back, what those cost."""
    assert twice_of(FIRST, AGAIN, f"date: 2024-04-01\nreturned: {{ref: A1, part: pump, {back}}}") == gbp(cost)


def test_what_was_fitted_again_and_refunded_cost_nothing_twice() -> None:
    """Both were fitted, one after the other, and the whole price came back."""
    both = "date: 2024-03-10\nremoved: {part: pump, fate: kept}\nfitted: {part: pump}"
    back = "date: 2024-04-01\nreturned: {ref: A1, part: pump, qty: 1, charged: 114.00}"
    assert twice_of(FIRST, AGAIN, both) == gbp("114.00")
    assert twice_of(FIRST, AGAIN, both, back) == gbp("0")


def count_spent(figures: Figures) -> dict[Place | None, Money]:
    """What was spent on each order line by the day, where that is more than came back."""
    spent: dict[Place | None, Money] = {}
    for line in figures.costs.lines:
        spent[line.line] = spent.get(line.line, gbp("0")) + line.landed
    return spent


pumps = record({"part": st.just("pump"), "each": amounts(9_000)}, qty=few, core=amounts(500))
happenings = st.one_of(
    record(
        {"from": st.just("Shop"), "lines": st.lists(pumps, min_size=1, max_size=2), "arrived": st.just("2024-01-01")},
        ref=refs, paid=days, carriage=amounts(900),
    ).map(lambda order: {"bought": order}),
    st.just({"removed": {"part": "pump", "fate": "kept"}, "fitted": "pump"}),
    st.just({"fitted": {"part": "pump", "instead_of": "pump"}}),
    record({"ref": refs}, qty=few, core=amounts(500), refund=amounts(9_000)).map(lambda back: {"returned": back}),
    refs.map(lambda ref: {"paid": ref}),
)  # fmt: skip
"One pump on the machine, renewed again and again; pumps bought, paid for or not, and sent back."
entries = st.tuples(days, happenings).map(lambda drawn: {"date": drawn[0], "title": "T", **drawn[1]})


@settings(max_examples=200)
@given(log=st.lists(entries, min_size=3, max_size=12).map(read_heads), day=moments)
def test_no_line_costs_more_twice_than_was_spent_on_it(log: Log, day: datetime.date) -> None:
    """Whatever is owed, paid, sent back or refunded: what was done twice is in what was spent, line by line."""
    figures = compute_figures(log, day)
    spent, rework = count_spent(figures), dict[Place, Money]()
    for unit in (unit for item in figures.rework.items for unit in item.units):
        assert unit.cost >= gbp("0")
        rework[unit.line] = rework.get(unit.line, gbp("0")) + unit.cost
    event("something twice" if any(rework.values()) else "nothing twice")
    assert all(cost <= max(spent.get(line, gbp("0")), gbp("0")) for line, cost in rework.items())
