"""The money of a whole log as of a day: paid, come back, committed, recovered, and every way to add it up."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest

from buildlog.compute import figures
from buildlog.compute.costs.sums import Total
from buildlog.compute.costs.totals import CostFigures
from buildlog.read.records import Log
from tests.support import gbp, log_of, plain

SETTINGS = """
machine: {name: Test machine}
acquired: {date: 2024-02-03, price: 1850.00}
money: {currency: GBP, hour_rate: 25.00, budget: {fuel: 300.00, brakes: 100.00}}
systems: {fuel: Fuel, brakes: Brakes}
"""

PUMP = """
date: 2024-05-18
hours: 4.5
systems: [fuel]
bought:
  - from: Kanaal Motordelen
    ref: KM-77120
    ordered: 2024-05-06
    arrived: 2024-05-16
    paid: 2024-05-06
    currency: EUR
    charged: 231.15
    prices: net
    tax: 21
    carriage: 16.90
    duty: {amount: 14.20, currency: GBP}
    lines:
      - {part: lift-pump, number: LP 4410-A, maker: Vostrand, each: 118.40, core: 45.00, for: fuel}
      - {part: lift-pump-seal, number: "0410 223", qty: 2, each: 7.35, for: brakes, fault: hot-start}
      - {what: Fuel hose 8 mm, qty: 5, unit: m, each: 6.10, kind: consumable}
faults: {fault: hot-start, name: Will not start hot}
"""
CORE_BACK = """
date: 2024-06-03
returned: {ref: KM-77120, part: lift-pump, core: 45.00, charged: 38.70, date: 2024-06-02}
"""
DISCS = """
date: 2024-06-10
hours: 2
systems: [fuel, brakes]
bought:
  from: kanaal  motordelen
  ref: KM-2
  lines: [{part: disc, qty: 2, each: 30.00, for: brakes}, {what: Rags, each: 4.00}]
sold: {what: Old radiator, price: 20.00, for: fuel}
"""
DISCS_PAID = """
date: 2024-07-01
paid: {ref: KM-2, date: 2024-06-30}
arrived: {ref: KM-2, date: 2024-06-29}
"""


def compute_figures(*heads: str, as_of: str = "2024-12-31", settings: str = SETTINGS) -> CostFigures:
    return compute_log(log_of(*heads, settings=settings), as_of)


def compute_log(log: Log, as_of: str) -> CostFigures:
    return figures.compute_figures(log, datetime.date.fromisoformat(as_of)).costs


def rows(totals: tuple[Total, ...]) -> dict[str, str]:
    return {total.name: plain(total.amount) for total in totals}


def test_spent_is_paid_less_what_came_back() -> None:
    """245.35 for the pump order, 38.70 back for its core, 64.00 for discs and rags: 270.65; 20.00 recovered."""
    costs = compute_figures(PUMP, CORE_BACK, DISCS, DISCS_PAID)
    assert [problem.rule for problem in costs.problems] == ["suppliers-alike"]
    assert (plain(costs.paid), plain(costs.refunded), plain(costs.spent)) == ("309.35", "38.70", "270.65")
    assert (plain(costs.recovered), plain(costs.net), plain(costs.committed)) == ("20.00", "250.65", "0")


def test_the_purchase_and_own_hours_stand_apart() -> None:
    """The machine's 1850.00 and 6.5 hours at 25.00 = 162.50 are shown and are in no sum."""
    costs = compute_figures(PUMP, DISCS, DISCS_PAID)
    assert (plain(costs.acquired), str(costs.own_hours), plain(costs.own_hours_worth)) == ("1850.00", "6.5", "162.50")
    assert costs.spent == gbp("245.35") + gbp("64.00")


def test_every_total_opens_to_its_lines() -> None:
    """By month of payment, system, kind, supplier, fault and entry; the refund counts in June for the pump's system."""
    costs = compute_figures(PUMP, CORE_BACK, DISCS, DISCS_PAID)
    assert rows(costs.by_month) == {"2024-05": "245.35", "2024-06": "25.30"}
    # fuel: 190.30 pump − 38.70 core + 37.15 hose (the entry's only system); the entry with the rags names two
    assert rows(costs.by_system) == {"fuel": "188.75", "brakes": "77.90", "unassigned": "4.00"}
    assert rows(costs.by_kind) == {"part": "229.50", "consumable": "37.15", "other": "4.00"}
    assert rows(costs.by_supplier) == {"Kanaal Motordelen": "270.65"}
    assert rows(costs.by_fault) == {"hot-start": "17.90", "unassigned": "252.75"}
    assert rows(costs.by_entry) == {"e1": "245.35", "e2": "-38.70", "e3": "64.00"}
    assert costs.entry_totals["e2"] == gbp("-38.70")
    fuel = costs.by_system[0]
    assert [(line.what, line.sort, plain(line.landed)) for line in fuel.lines] == [
        ("Lift pump", "paid", "190.30"), ("Fuel hose 8 mm", "paid", "37.15"), ("Lift pump", "refund", "-38.70")
    ]  # fmt: skip
    assert costs.by_system[2].key is None


def test_a_line_knows_where_it_comes_from() -> None:
    """A refund carries the order line's part, system, kind and supplier, and its own date, entry and place."""
    costs = compute_figures(PUMP, CORE_BACK)
    back = costs.refund_lines[0]
    assert (back.part, back.system, back.kind, back.supplier) == ("lift-pump", "fuel", "part", "Kanaal Motordelen")
    assert (back.entry, back.date, back.place.file) == ("e2", datetime.date(2024, 6, 2), "entries/e2.md")
    assert back.line == costs.lines[0].place
    assert costs.lines[0].place.file == "entries/e1.md"


@pytest.mark.parametrize(
    ("as_of", "spent", "committed", "recovered"),
    [
        ("2024-05-17", "0", "0", "0"),  # the entry is not written yet
        ("2024-05-18", "245.35", "0", "0"),
        ("2024-06-02", "245.35", "0", "0"),  # came back that day, written the day after
        ("2024-06-03", "206.65", "0", "0"),
        ("2024-06-10", "206.65", "64.00", "20.00"),
        ("2024-06-30", "206.65", "64.00", "20.00"),  # paid that day, written the day after
        ("2024-07-01", "270.65", "0", "20.00"),
    ],
)
def test_only_what_is_known_by_the_day_counts(as_of: str, spent: str, committed: str, recovered: str) -> None:
    """Up to a day count the entries up to it, and of them the payments, refunds and sales up to it."""
    costs = compute_figures(PUMP, CORE_BACK, DISCS, DISCS_PAID, as_of=as_of)
    assert (plain(costs.spent), plain(costs.committed), plain(costs.recovered)) == (spent, committed, recovered)


def test_a_date_inside_an_entry_may_lie_ahead() -> None:
    """Ordered on the 6th, to be paid on the 20th, and written on the 5th: nothing, then committed, then spent."""
    head = "date: 2024-03-05\nbought: {from: S, ordered: 2024-03-06, paid: 2024-03-20, lines: [{what: X, each: 5.00}]}"
    for as_of, spent, committed in (("03-05", "0", "0"), ("03-19", "0", "5.00"), ("03-20", "5.00", "0")):
        costs = compute_figures(head, as_of=f"2024-{as_of}")
        assert (plain(costs.spent), plain(costs.committed)) == (spent, committed), as_of


AHEAD = """
date: 2024-03-05
hours: 3
bought:
  - from: S
    ref: A1
    ordered: 2024-03-06
    paid: 2024-03-06
    lines: [{part: pump, each: 5.00, core: 2.00, worth: 1.00}]
returned: {ref: A1, part: pump, core: 2.00, date: 2024-03-08}
sold: {what: X, price: 3.00, date: 2024-03-08}
"""


def test_nothing_ahead_of_the_day_counts() -> None:
    """Of an entry that is written, what is dated ahead waits for its day: order, gift, core charge, refund, sale."""
    before, between, after = (compute_figures(AHEAD, as_of=f"2024-03-0{day}") for day in (5, 7, 8))
    assert [*before.lines, *before.gifts, *before.cores_owed, *before.purchases, *before.landed_lines] == []
    assert (plain(between.spent), len(between.gifts), len(between.cores_owed)) == ("7.00", 1, 1)
    assert (between.refund_lines, between.recovered_lines) == ((), ())
    assert (plain(after.spent), plain(after.recovered), after.cores_owed) == ("5.00", "3.00", ())


def test_nothing_of_an_entry_ahead_of_the_day_counts() -> None:
    """An entry of the 5th that tells of February counts from the 5th; the machine counts from when it was acquired."""
    told = AHEAD.replace("2024-03-06", "2024-02-06").replace("2024-03-08", "2024-02-08")
    before = compute_figures(told, as_of="2024-03-04")
    assert [*before.lines, *before.gifts, *before.cores_owed, *before.recovered_lines, *before.landed_lines] == []
    assert (before.own_hours, before.months) == (Decimal(0), ())
    assert (compute_figures(as_of="2024-02-02").acquired, compute_figures(as_of="2024-02-03").acquired) == (
        None,
        gbp("1850.00"),
    )


def test_the_running_total_steps_on_each_day_that_moved_money() -> None:
    """245.35, less 38.70, less 20.00 recovered (net only), plus 64.00; each entry is shown the net of its day."""
    costs = compute_figures(PUMP, CORE_BACK, DISCS, DISCS_PAID)
    assert [(f"{step.date:%m-%d}", plain(step.spent), plain(step.net)) for step in costs.steps] == [
        ("05-06", "245.35", "245.35"), ("06-02", "206.65", "206.65"), ("06-10", "206.65", "186.65"),
        ("06-30", "270.65", "250.65"),
    ]  # fmt: skip
    running = {name: plain(net) for name, net in costs.running_by_entry.items()}
    assert running == {"e1": "245.35", "e2": "206.65", "e3": "186.65", "e4": "250.65"}


def test_months_show_money_and_hours_side_by_side() -> None:
    """May: 245.35 and 4.5 h; June: 64.00 − 38.70 spent, 20.00 recovered, 2 h; running net 250.65 at its end."""
    may, june = compute_figures(PUMP, CORE_BACK, DISCS, DISCS_PAID).months
    assert (may.month, plain(may.spent), str(may.hours), plain(may.running)) == ("2024-05", "245.35", "4.5", "245.35")
    assert (plain(june.spent), plain(june.recovered), plain(june.net)) == ("25.30", "20.00", "5.30")
    assert (str(june.hours), plain(june.running), len(june.lines)) == ("2", "250.65", 4)


def test_an_entry_shows_what_it_moved() -> None:
    """Paid, come back, recovered and committed, each above zero, for the entry that states it."""
    moved = compute_figures(PUMP, CORE_BACK, DISCS).moved_by_entry
    assert (plain(moved["e1"].paid), plain(moved["e2"].refunded)) == ("245.35", "38.70")
    assert (plain(moved["e3"].recovered), plain(moved["e3"].committed)) == ("20.00", "64.00")


def test_the_budget_tells_what_is_left() -> None:
    """Fuel: 300 − 188.75 spent = 111.25. Brakes: 100 − 17.90 spent − 60.00 committed = 22.10, forecast 77.90."""
    costs = compute_figures(PUMP, CORE_BACK, DISCS)
    fuel, brakes = costs.plan.budget
    assert (fuel.system, plain(fuel.spent), plain(fuel.committed), plain(fuel.left)) == (
        "fuel",
        "188.75",
        "0",
        "111.25",
    )
    assert (plain(brakes.spent), plain(brakes.committed)) == ("17.90", "60.00")
    assert (plain(brakes.left), plain(brakes.forecast)) == ("22.10", "77.90")
    total = costs.plan.budget_total
    assert total is not None
    assert (plain(total.budget), plain(total.left), plain(total.forecast)) == ("400.00", "133.35", "266.65")


def test_core_charges_are_owed_until_they_come_back() -> None:
    """45.00 EUR paid and not back; at the order's own rate 231.15/272.86 that is 38.12 GBP; 20.00 back leaves 25.00."""
    owed = compute_figures(PUMP).cores_owed
    assert [(core.what, str(core.core.amount), core.core.currency, plain(core.home)) for core in owed] == [
        ("Lift pump", "45.00", "EUR", "38.12")
    ]
    assert (owed[0].since, owed[0].supplier) == (datetime.date(2024, 5, 6), "Kanaal Motordelen")
    some = "date: 2024-06-03\nreturned: {ref: KM-77120, part: lift-pump, core: 20.00}"
    assert [str(core.core.amount) for core in compute_figures(PUMP, some).cores_owed] == ["25.00"]
    assert compute_figures(PUMP, CORE_BACK).cores_owed == ()
    assert plain(compute_figures(PUMP).cores_owed_home) == "38.12"


def test_a_part_sent_back_for_its_whole_price_owes_no_core() -> None:
    """100 and core 20 at 21 %: 145.20 back for the part is all of it, core included."""
    bought = """
    date: 2024-03-01
    bought: {from: S, ref: A1, paid: 2024-03-01, prices: net, tax: 21, lines: [{part: pump, each: 100.00, core: 20.00}]}
    returned: {ref: A1, part: pump, qty: 1, refund: %s}
    """
    for refund in ("145.20, prices: gross", "120.00", "120.00, prices: net"):
        costs = compute_figures(bought % refund)
        assert (costs.cores_owed, plain(costs.spent), costs.problems) == ((), "0.00", ())


def test_a_refund_without_a_charged_amount_takes_the_order_s_rate() -> None:
    """10.00 EUR back on an order of 272.86 EUR that was charged 231.15 GBP: 8.4713… → 8.47 GBP; of 12.10 EUR 10.25."""
    some = "date: 2024-06-03\nreturned: {ref: KM-77120, part: lift-pump, refund: 10.00%s}"
    assert [plain(line.landed) for line in compute_figures(PUMP, some % ", prices: gross").refund_lines] == ["-8.47"]
    # As the order's prices are net, so is a refund that says nothing.
    assert [plain(line.landed) for line in compute_figures(PUMP, some % "").refund_lines] == ["-10.25"]


def test_a_refund_for_the_whole_order_is_shared_by_what_its_lines_cost() -> None:
    """24.54 GBP over landed 190.30, 17.90, 37.15 (245.35): quotas 19.034, 1.790, 3.716."""
    some = "date: 2024-06-03\nreturned: {ref: KM-77120, charged: 24.54}"
    assert [plain(line.landed) for line in compute_figures(PUMP, some).refund_lines] == ["-19.03", "-1.79", "-3.72"]


def test_a_core_that_comes_back_goes_to_the_line_that_had_it() -> None:
    """Without a part named, 45.00 of core is the pump's, though seal and hose were bought with it."""
    some = "date: 2024-06-03\nreturned: {ref: KM-77120, core: 45.00, charged: 38.70}"
    costs = compute_figures(PUMP, some)
    assert [(line.part, plain(line.landed)) for line in costs.refund_lines] == [("lift-pump", "-38.70")]
    assert costs.cores_owed == ()


def test_a_part_is_found_by_its_number_as_well() -> None:
    """A return names the part by any name that leads to it: here the number as a key."""
    some = "date: 2024-06-03\nreturned: {ref: KM-77120, part: 0410223, qty: 1, charged: 5.00}"
    back = compute_figures(PUMP, some).refund_lines
    assert [(line.part, plain(line.landed), str(line.qty)) for line in back] == [("lift-pump-seal", "-5.00", "1")]


def test_a_later_payment_gives_the_charged_amount() -> None:
    """Ordered in EUR and not converted; once 45.00 GBP went off the card that is the cost, and only from then on."""
    ordered = "date: 2024-03-01\nbought: {from: S, ref: A1, currency: EUR, lines: [{what: X, each: 50.00}]}"
    paid = "date: 2024-03-20\npaid: {ref: A1, charged: 45.00}"
    before, after = compute_figures(ordered, paid, as_of="2024-03-10"), compute_figures(ordered, paid)
    assert [(plain(line.landed), line.converted) for line in before.committed_lines] == [("0.00", False)]
    assert (plain(after.spent), after.lines[0].date) == ("45.00", datetime.date(2024, 3, 20))
    assert after.problems == ()


def test_gifts_are_disclosed_with_their_worth() -> None:
    """A sponsor's part worth 80 EUR at 0.85 is 68.00 GBP and costs its carriage; it is in `spent` with that only."""
    head = """
    date: 2024-03-01
    bought:
      from: S
      paid: 2024-03-01
      currency: EUR
      rate: 0.85
      carriage: 10.00
      lines: {part: pump, each: 0, worth: 80.00, from_sponsor: true}
    """
    costs = compute_figures(head)
    gift = costs.gifts[0]
    assert gift.worth is not None
    assert (gift.what, gift.from_sponsor, str(gift.worth.amount), gift.worth.currency) == ("Pump", True, "80.00", "EUR")
    assert (plain(gift.home), plain(gift.landed), plain(costs.spent)) == ("68.00", "8.50", "8.50")


def test_a_gift_without_cost_commits_to_nothing() -> None:
    """An order of nothing but a gift is never paid, and does not stand among what is still to be paid."""
    head = "date: 2024-03-01\nbought: {from: A friend, lines: {part: pump, each: 0, worth: 80.00}}"
    costs = compute_figures(head)
    assert (costs.committed_lines, len(costs.gifts), costs.problems) == ((), 1, ())


def test_bought_lines_come_in_the_order_of_arrival() -> None:
    """What arrived first stands first; what is in the post, or told to have come by a later entry, stands last."""
    late = compute_figures(DISCS, PUMP, DISCS_PAID)
    assert [line.part for line in late.landed_lines] == ["lift-pump", "lift-pump-seal", None, "disc", None]
    assert late.landed_lines[3].arrived == datetime.date(2024, 6, 29)
    early = compute_figures(DISCS, PUMP, DISCS_PAID, as_of="2024-06-30")
    assert [line.arrived for line in early.landed_lines][3:] == [None, None]


def test_an_empty_log_comes_to_nothing() -> None:
    """No entries: zero everywhere, no rows, and no fault."""
    costs = compute_log(log_of(settings="machine: {name: M}\nmoney: {currency: GBP}"), "2024-12-31")
    assert (costs.spent, costs.net) == (gbp("0"), gbp("0"))
    assert [*costs.lines, *costs.months, *costs.steps, *costs.by_system] == []
    assert (costs.acquired, costs.own_hours_worth, costs.plan.budget_total) == (None, None, None)
