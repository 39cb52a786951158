"""What doing it twice cost, to the penny and the tenth of an hour."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.costs.rework import LineSpent, ReworkFigures, charge_units, compute_rework
from buildlog.compute.parts.part_history import compute_parts
from buildlog.compute.quantities.money import Money, minor_digits, round_to_minor_unit, sum_money
from tests.support import gbp, log_of

DAY = datetime.date(2024, 12, 31)


def twice_of(*heads: str, as_of: datetime.date = DAY) -> ReworkFigures:
    """Doing it twice, where each line landed at its `each` times its quantity."""
    figures = compute_parts(log_of(*heads), as_of)
    assert [problem for problem in figures.problems if problem.severity == "error"] == []
    spent = {place: pay((line.each or Decimal(0)) * line.qty) for place, line in figures.story.lines.items()}
    return compute_rework(figures.story, figures.spans, spent=spent, as_of=as_of)


def pay(amount: Decimal) -> LineSpent:
    """A line that was paid, and of which nothing came back."""
    return LineSpent(units=Money(amount, "GBP"), left=Money(amount, "GBP"))


def order(day: str, *lines: str) -> str:
    return (
        f"date: {day}\nbought: {{from: Shop, arrived: {day}, lines: [{', '.join('{' + line + '}' for line in lines)}]}}"
    )


PUMP = order("2024-01-01", "part: pump, qty: 3, each: 118.40")
FIRST = (
    "date: 2024-02-01\nhours: 4.5\nremoved: {part: original, name: Pump}\nfitted: {part: pump, instead_of: original}"
)


def test_replacing_the_machines_own_is_not_doing_it_twice() -> None:
    """The first of its place costs what it costs, and nothing was done twice."""
    assert twice_of(PUMP, FIRST) == ReworkFigures(items=(), cost=gbp("0"), hours=Decimal(0))


def test_the_same_part_again_is_doing_it_twice() -> None:
    """One of three at 118.40, and the 3.0 hours of its entry: 118.40 and 3.0."""
    rework = twice_of(PUMP, FIRST, "date: 2024-03-01\nhours: 3.0\nremoved: pump\nfitted: pump")
    (item,) = rework.items
    assert (item.key, item.earlier, item.entry) == ("pump", "pump", "e3")
    assert (rework.cost, rework.hours) == (gbp("118.40"), Decimal("3.0"))
    assert [(unit.qty, unit.cost) for unit in item.units] == [(1, gbp("118.40"))]


def test_another_part_instead_is_doing_it_twice() -> None:
    """`instead_of` names what was fitted before, whether or not somebody wrote that it came off."""
    better = order("2024-02-20", "part: better-pump, each: 240.00")
    for removed in ("", "removed: pump\n"):
        rework = twice_of(
            PUMP, FIRST, better, f"date: 2024-03-01\n{removed}fitted: {{part: better-pump, instead_of: pump}}"
        )
        assert (rework.cost, rework.items[0].earlier) == (gbp("240.00"), "pump")


def test_what_was_planned_was_not_done_twice() -> None:
    """`planned: true`, and a part that is listed with its service item."""
    assert twice_of(PUMP, FIRST, "date: 2024-03-01\nremoved: pump\nfitted: {part: pump, planned: true}").items == ()
    settings = """
    machine: {name: Test machine}
    money: {currency: GBP}
    systems: {fuel: Fuel}
    service: {pump: {name: Pump, every: {months: 12}}}
    """
    for more in ("", "\nremoved: pump\nfitted: pump"):
        log = log_of(PUMP, FIRST, f"date: 2024-03-01\nserviced: {{item: pump, parts: pump}}{more}", settings=settings)
        figures = compute_parts(log, DAY)
        assert figures.problems == ()
        assert compute_rework(figures.story, figures.spans, spent={}, as_of=DAY).items == ()


def test_another_position_is_not_doing_it_twice() -> None:
    """A second pump elsewhere takes nothing's place; back in the first position it does."""
    left = "date: 2024-02-01\nfitted: {part: pump, at: left}"
    off = "date: 2024-02-02\nremoved: {part: pump, at: left}"
    assert twice_of(PUMP, left, off, "date: 2024-03-01\nfitted: {part: pump, at: right}").items == ()
    assert len(twice_of(PUMP, left, off, "date: 2024-03-01\nfitted: {part: pump, at: Left}").items) == 1


def test_one_place_is_filled_once() -> None:
    """Without positions: one came off, two go on. The first fills the place, the second is a pump more."""
    rework = twice_of(PUMP, FIRST, "date: 2024-03-01\nremoved: pump\nfitted: [pump, pump]")
    assert (len(rework.items), rework.cost) == (1, gbp("118.40"))


def test_the_very_same_item_costs_hours_and_no_new_money() -> None:
    """It was bought once: kept in March and put back, it costs the 2.5 hours."""
    single = order("2024-01-01", "part: pump, each: 118.40")
    rework = twice_of(single, FIRST, "date: 2024-03-01\nhours: 2.5\nremoved: {part: pump, fate: kept}\nfitted: pump")
    assert (rework.cost, rework.hours, rework.items[0].units) == (gbp("0"), Decimal("2.5"), ())


def test_the_very_same_item_is_charged_by_its_first_fitting() -> None:
    """A, then B for A, then A from the shelf for B: B's 90.00 is the whole cost of two replacements."""
    other = order("2024-02-20", "part: other, each: 90.00")
    single = order("2024-01-01", "part: pump, each: 118.40")
    rework = twice_of(
        single, FIRST, other,
        "date: 2024-03-01\nremoved: {part: pump, fate: kept}\nfitted: {part: other, instead_of: pump}",
        "date: 2024-04-01\nremoved: other\nfitted: {part: pump, instead_of: other}",
    )  # fmt: skip
    assert [item.cost for item in rework.items] == [gbp("90.00"), gbp("0")]


KEPT = "date: 2024-03-01\nremoved: {part: pump, fate: kept}\n"


@pytest.mark.parametrize(("spec", "cost"), [("", "110.00"), (", spec: used", "0"), (", spec: repaired", "0")])
def test_a_new_one_is_taken_before_the_one_that_came_off(spec: str, cost: str) -> None:
    """The old pump is kept for its core, and the new one at 110.00 goes on; `spec: used` says that the old one did."""
    dear = order("2024-01-01", "part: pump, each: 118.40")
    cheap = order("2024-02-20", "part: pump, each: 110.00")
    rework = twice_of(dear, FIRST, cheap, KEPT + f"fitted: {{part: pump{spec}}}")
    assert rework.cost == gbp(cost)


def test_units_are_taken_in_the_order_in_which_they_came() -> None:
    """118.40 came first and went on first; then 110.00, then 99.00: 209.00 was spent twice."""
    orders = [order(f"2024-01-0{n}", f"part: pump, each: {each}") for n, each in ((1, "118.40"), (2, "110"), (3, "99"))]
    again = "removed: pump\nfitted: pump"
    rework = twice_of(*orders, FIRST, f"date: 2024-03-01\n{again}", f"date: 2024-04-01\n{again}")
    assert [item.cost for item in rework.items] == [gbp("110"), gbp("99")]
    assert rework.cost == gbp("209")


def test_what_went_back_to_the_shop_is_of_its_own_order() -> None:
    """Of 110.00 and 99.00 on the shelf the younger went back: the 110.00 one was fitted."""
    orders = [
        order("2024-01-01", "part: pump, each: 118.40"),
        order("2024-01-02", "part: pump, each: 110.00"),
        order("2024-01-03", "part: pump, each: 99.00").replace("from: Shop", "from: Shop, ref: K3"),
    ]
    back = "date: 2024-02-10\nreturned: {ref: K3, part: pump, qty: 1, refund: 99.00}"
    assert twice_of(*orders, FIRST, back, "date: 2024-03-01\nremoved: pump\nfitted: pump").cost == gbp("110.00")


@pytest.mark.parametrize("away", ["sold: {part: pump, price: 5}", "scrapped: pump"])
def test_what_is_sold_or_scrapped_came_off_the_machine(away: str) -> None:
    """The old pump is kept and then sold; the new one at 110.00 is still there to be fitted."""
    orders = [order("2024-01-01", "part: pump, each: 118.40"), order("2024-01-02", "part: pump, each: 110.00")]
    assert twice_of(*orders, FIRST, f"{KEPT}{away}", "date: 2024-03-02\nfitted: pump").cost == gbp("110.00")


def test_back_in_a_place_that_another_held_meanwhile() -> None:
    """Pump left, hand pump left for it, pump left again: both replacements were doing it twice."""
    hand = order("2024-01-02", "part: hand-pump, each: 40.00")
    rework = twice_of(
        PUMP, hand, "date: 2024-02-01\nfitted: {part: pump, at: left}",
        "date: 2024-02-02\nremoved: pump\nfitted: {part: hand-pump, at: left, instead_of: pump}",
        "date: 2024-02-03\nremoved: hand-pump\nfitted: {part: pump, at: left}",
    )  # fmt: skip
    assert [(item.key, item.cost) for item in rework.items] == [
        ("hand-pump", gbp("40.00")), ("pump", gbp("118.40"))
    ]  # fmt: skip


def test_a_line_that_does_not_divide_is_charged_whole() -> None:
    """Three at 10.00 together: 3.33, 3.34, 3.33, as the running cost 3.33, 6.67, 10.00 grows."""
    seals = order("2024-01-01", "part: seal, qty: 3, total: 10.00")
    again = "removed: seal\nfitted: seal"
    heads = (seals, "date: 2024-02-01\nfitted: seal", f"date: 2024-03-01\n{again}", f"date: 2024-04-01\n{again}")
    figures = compute_parts(log_of(*heads), DAY)
    spent = dict.fromkeys(figures.story.lines, pay(Decimal("10.00")))
    rework = compute_rework(figures.story, figures.spans, spent=spent, as_of=DAY)
    assert [item.cost for item in rework.items] == [gbp("3.34"), gbp("3.33")]


def test_a_part_fitted_in_one_go_and_taken_off_in_two_is_one_item() -> None:
    """Two of 118.40 replaced together, of which one came off again later: one item, 236.80."""
    rework = twice_of(
        PUMP.replace("qty: 3", "qty: 4"), FIRST.replace("{part: pump,", "{part: pump, qty: 2,"),
        "date: 2024-03-01\nremoved: {part: pump, qty: 2}\nfitted: {part: pump, qty: 2}",
        "date: 2024-04-01\nremoved: pump",
    )  # fmt: skip
    assert [(item.qty, item.cost) for item in rework.items] == [(2, gbp("236.80"))]


def test_hours_of_an_entry_count_once() -> None:
    """6.0 hours, of which 1.5 are one part's own: 1.5 there, the rest of 4.5 at the first of the others, 0 after."""
    parts = ("pump", "hose", "seal")
    bought = order("2024-01-01", *(f"part: {part}, qty: 2, each: 1" for part in parts))
    first = "date: 2024-02-01\nhours: 8\nfitted: [pump, hose, seal]"
    again = "date: 2024-03-01\nhours: 6.0\nremoved: [pump, hose, seal]\nfitted: [hose, {part: pump, hours: 1.5}, seal]"
    rework = twice_of(bought, first, again)
    assert [item.hours for item in rework.items] == [Decimal("4.5"), Decimal("1.5"), Decimal(0)]
    assert rework.hours == Decimal("6.0")


def test_own_hours_stand_for_the_entrys() -> None:
    """Of an entry of 6.0 hours only the 1.5 for this part were spent twice; an entry without hours has none."""
    own = "date: 2024-03-01\n%sremoved: pump\nfitted: {part: pump, hours: 1.5}"
    assert twice_of(PUMP, FIRST, own % "hours: 6.0\n").hours == Decimal("1.5")
    assert twice_of(PUMP, FIRST, own % "").hours == Decimal("1.5")
    assert twice_of(PUMP, FIRST, own.replace(", hours: 1.5", "") % "").hours == Decimal(0)


def test_only_what_was_done_by_the_day_counts() -> None:
    """On the day before, nothing was done twice."""
    heads = (PUMP, FIRST, "date: 2024-03-01\nremoved: pump\nfitted: pump")
    assert twice_of(*heads, as_of=datetime.date(2024, 2, 29)).items == ()
    assert len(twice_of(*heads, as_of=datetime.date(2024, 3, 1)).items) == 1


@given(
    whole=st.decimals("-500", "5000", places=2),
    parts=st.lists(st.decimals("0.001", "40", places=3), min_size=1, max_size=12),
    currency=st.sampled_from(["GBP", "JPY", "KWD"]),
)
def test_the_units_of_a_line_sum_to_its_cost(whole: Decimal, parts: list[Decimal], currency: str) -> None:
    """However a line is used up, in whatever pieces: the charges sum to the whole, to the minor unit."""
    cost = round_to_minor_unit(whole, currency)
    total = sum(parts, Decimal(0))
    skips = [sum(parts[:n], Decimal(0)) for n in range(len(parts))]
    charges = [charge_units(cost, total, skip=skip, qty=part) for skip, part in zip(skips, parts, strict=True)]
    assert sum_money(charges, currency) == cost
    unit = Decimal(1).scaleb(-minor_digits(currency))
    assert all(
        abs(charge.amount - cost.amount * part / total) <= unit for charge, part in zip(charges, parts, strict=True)
    )
