"""Orders that arrive, movements in the order of time, and a shelf that never goes below zero unseen."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest

from buildlog.compute.parts.part_history import PartFigures, PartsFigures, compute_parts, find_parts
from buildlog.problems import Problem
from tests.support import log_of

DAY = datetime.date(2024, 12, 31)


def figures_of(*heads: str, as_of: datetime.date = DAY) -> PartsFigures:
    return compute_parts(log_of(*heads), as_of)


def part_of(figures: PartsFigures, key: str) -> PartFigures:
    (part,) = find_parts(figures, key)
    return part


def error_of(*heads: str) -> Problem:
    (problem,) = figures_of(*heads).problems
    return problem


def order(arrived: str = "arrived: 2024-05-16, ", *, qty: int = 1, ref: str = "K1") -> str:
    return f"""
        date: 2024-05-10
        bought: {{from: Shop, ref: {ref}, ordered: 2024-05-06, {arrived}lines: [
          {{part: lift-pump, number: LP 4410-A, qty: {qty}, each: 118.40, for: fuel}}]}}
    """


def test_the_shelf_is_what_came_less_what_went() -> None:
    """arrived 5 + kept 1 − fitted 2 − returned 1 − sold 1 − scrapped 1 = 1; each event stands in the part's life."""
    figures = figures_of(
        order(qty=5),
        """
        date: 2024-06-01
        reading: 112530
        fitted: {part: lift-pump, qty: 2, at: left}
        returned: {ref: K1, part: lift-pump, qty: 1, refund: 118.40, why: wrong thread}
        """,
        "date: 2024-06-02\nremoved: {part: lift-pump, at: left, fate: kept, why: leaks}",
        "date: 2024-06-03\nsold: {part: lift-pump, price: 20}\nscrapped: {part: lift-pump, why: cracked}",
    )
    part = part_of(figures, "lift-pump")
    assert figures.problems == ()
    assert (part.arrived, part.kept, part.fitted) == (5, 1, 2)
    assert (part.returned, part.sold, part.scrapped) == (1, 1, 1)
    assert (part.shelf, part.in_the_post, part.on_machine) == (1, 0, 1)
    assert [(event.kind, event.date.day, event.why) for event in part.life] == [
        ("ordered", 6, None), ("arrived", 16, None), ("fitted", 1, None), ("returned", 1, "wrong thread"),
        ("removed", 2, "leaks"), ("sold", 3, None), ("scrapped", 3, "cracked"),
    ]  # fmt: skip
    readings = [event.reading.value for event in part.life if event.reading]
    assert readings == [112530, 112530]


@pytest.mark.parametrize(
    ("day", "expected"), [("2024-05-05", None), ("2024-05-06", (0, 2)), ("2024-05-15", (0, 2)), ("2024-05-16", (2, 0))]
)
def test_in_the_post_is_what_was_ordered_and_has_not_come_by_the_day(day: str, expected: object) -> None:
    """Ordered on the 6th and arrived on the 16th, though both stand in an entry of the 10th: (shelf, post)."""
    figures = figures_of(order(qty=2), as_of=datetime.date.fromisoformat(day))
    found = [(part.shelf, part.in_the_post) for part in figures.parts]
    assert found == ([expected] if expected else [])


def test_a_later_entry_brings_an_order_in_pieces() -> None:
    """One part of an order comes first, the rest with the whole; the supplier waited for the last: 6 to 20 May."""
    figures = figures_of(
        """
        date: 2024-05-06
        bought: {from: Shop, ref: K1, lines: [{part: pump, each: 1}, {part: seal, each: 1}, {what: Oil, each: 1}]}
        """,
        "date: 2024-05-12\narrived: {ref: K1, part: seal}",
        "date: 2024-05-21\narrived: {ref: K1, date: 2024-05-20}",
    )
    came = {part.key: [event.date.day for event in part.life if event.kind == "arrived"] for part in figures.parts}
    assert came == {"pump": [20], "seal": [12]}
    assert (figures.problems, figures.suppliers[0].longest_days) == ((), 14)


@pytest.mark.parametrize(
    ("arrival", "rule", "help"),
    [
        ("K2", "unknown-ref", "known here: `K1`"),
        ("{ref: K1, part: lift-pumb}", "part-not-in-order", "did you mean `lift-pump`?"),
    ],
)
def test_an_arrival_of_what_was_not_ordered_is_an_error(arrival: str, rule: str, help: str) -> None:
    """The nearest ref or part is offered."""
    problem = error_of(order(""), f"date: 2024-05-20\narrived: {arrival}")
    assert (problem.rule, problem.help, problem.place.file) == (rule, help, "entries/e2.md")


def test_a_reading_belongs_to_the_day_of_its_entry() -> None:
    """What is told later than it happened gets no reading of the day on which it was written down."""
    figures = figures_of(order().replace("bought:", "reading: 5\n        bought:"))
    assert [event.reading for event in part_of(figures, "lift-pump").life] == [None, None]
    figures = figures_of(
        order("").replace("bought:", "reading: 5\n        bought:"), "date: 2024-05-20\nreading: 7\narrived: K1"
    )
    ordered, arrived = part_of(figures, "lift-pump").life
    assert ordered.reading is None
    assert arrived.reading is not None and arrived.reading.value == 7


def test_an_order_that_arrives_twice_is_an_error() -> None:
    """Both places are named."""
    problem = error_of(order(), "date: 2024-05-20\narrived: K1")
    assert (problem.message, problem.also[0].file) == ("the order `K1` has already arrived", "entries/e1.md")
    again = "date: 2024-05-21\narrived: {ref: K1, part: lift-pump}"
    problem = error_of(order(""), "date: 2024-05-20\narrived: K1", again)
    assert problem.message == "`lift-pump` of the order `K1` has already arrived"
    assert (problem.place.file, problem.also[0].file) == ("entries/e3.md", "entries/e2.md")


def test_a_ref_of_two_orders_is_an_error_where_it_is_used() -> None:
    """Which of the two came cannot be known; where a part tells them apart it can."""
    two = "date: 2024-05-06\nbought:\n- {from: A, ref: K1, lines: [{part: a, each: 1}]}\n" \
          "- {from: B, ref: K1, lines: [{part: b, each: 1}]}"  # fmt: skip
    problem = error_of(two, "date: 2024-05-20\narrived: K1")
    assert (problem.rule, len(problem.also)) == ("ref-of-two-orders", 2)
    assert part_of(figures_of(two, "date: 2024-05-20\narrived: {ref: K1, part: b}"), "b").shelf == 1


def test_an_arrival_before_the_order_is_an_error() -> None:
    """One of the two dates is wrong."""
    problem = error_of(order("arrived: 2024-05-05, "))
    assert problem.message == "this arrived on 2024-05-05, before it was ordered on 2024-05-06"
    assert problem.help == "correct one of the two dates"
    undated = "date: 2024-05-06\nbought: {from: A, arrived: 2024-05-05, lines: [{part: a, each: 1}]}"
    assert error_of(undated).help == "add `ordered:` with the day of the order; without it, the entry's day counts"


def test_fitting_what_is_still_in_the_post_is_an_error() -> None:
    """The message counts, names the order's date and place, and says what to type."""
    problem = error_of(order(""), "date: 2024-05-18\nfitted: lift-pump")
    assert problem.message == (
        "`lift-pump` is fitted on 2024-05-18, but none is on the shelf: "
        "0 arrived; ordered on 2024-05-06 and still in the post"
    )
    assert problem.help == "add `arrived:` to the order, with the day it came"
    assert (problem.place.file, problem.also[0].file) == ("entries/e2.md", "entries/e1.md")


def test_fitting_what_comes_later_is_an_error() -> None:
    """One of the two dates is wrong; both places are named."""
    problem = error_of(order(), "date: 2024-05-15\nfitted: lift-pump")
    assert problem.message.endswith("but none is on the shelf: 0 arrived, and 1 came on 2024-05-16")
    assert problem.help == "correct one of the two dates"


def test_using_more_than_came_is_told_once_for_each_slip() -> None:
    """2 came; 3 are fitted, then 1 more is sold: two errors, and the counts that led there."""
    figures = figures_of(
        order(qty=2),
        "date: 2024-05-18\nfitted: {part: lift-pump, qty: 3}",
        "date: 2024-05-19\nsold: {part: lift-pump, price: 1}",
    )
    assert [problem.message for problem in figures.problems] == [
        "3 of `lift-pump` are fitted on 2024-05-18, but only 2 on the shelf: 2 arrived",
        "`lift-pump` is sold on 2024-05-19, but none is on the shelf: 2 arrived, 3 fitted",
    ]
    assert part_of(figures, "lift-pump").shelf == -2


def test_one_day_brings_in_before_it_takes_out() -> None:
    """What arrives or comes off on a day can be fitted, returned or sold on the same day, in any order of entries."""
    figures = figures_of(
        """
        date: 2024-05-16
        fitted: [{part: lift-pump, at: left}]
        removed: [{part: original, name: Lift pump, fate: kept}]
        sold: {name: Lift pump, price: 15}
        """,
        order(),
    )
    assert figures.problems == ()


def test_the_machines_own_part_can_be_kept_and_sold_or_go_back() -> None:
    """kept 2 − fitted 1 − sold 1 = 0 on the shelf; one that was scrapped when it came off cannot be sold."""
    kept = "date: 2024-05-01\nremoved: {part: original, name: Wheel, qty: 2, fate: kept}"
    back = "date: 2024-05-02\nfitted: {part: original, name: wheel}\nsold: {name: Wheel, price: 5}"
    figures = figures_of(kept, back)
    assert (figures.problems, part_of(figures, "wheel").shelf) == ((), 0)
    problem = error_of(kept.replace("kept", "scrapped"), "date: 2024-05-02\nsold: {name: Wheel, price: 5}")
    assert problem.rule == "shelf-below-zero"
    assert problem.help == "say where it came off, with `fate: kept`, or correct one of the dates"


@pytest.mark.parametrize(
    "block",
    ["fitted: lift-pumb", "scrapped: lift-pumb", "sold: {part: lift-pumb, price: 1}", "removed: lift-pumb",
     "serviced: {item: oil, parts: lift-pumb}", "fitted: {part: lift-pump, instead_of: lift-pumb}",
     "tightened: {what: Bolts, to: 22 N·m, part: lift-pumb}"],
)  # fmt: skip
def test_an_unknown_part_is_an_error_with_the_nearest_name(block: str) -> None:
    """Wherever a part is named."""
    settings = """
    machine: {name: Test machine}
    money: {currency: GBP}
    systems: {fuel: Fuel}
    service: {oil: {name: Oil, every: {months: 12}}}
    """
    log = log_of(order(), f"date: 2024-06-01\n{block}", settings=settings)
    (problem,) = compute_parts(log, DAY).problems
    assert (problem.rule, problem.help) == ("unknown-part", "did you mean `lift-pump`?")
    assert problem.place.file == "entries/e2.md"


def test_an_unknown_original_is_an_error() -> None:
    """`original` needs a name, and one that came off."""
    problem = error_of("date: 2024-06-01\nfitted: {part: original}")
    assert (problem.rule, problem.help) == ("original-without-name", "{part: original, name: Lift pump}")
    problem = error_of(
        "date: 2024-06-01\nremoved: {part: original, name: Lift pump, fate: kept}\nsold: {name: Lift pum, price: 1}"
    )
    assert (problem.message, problem.help) == (
        "no original `Lift pum` was taken off in this log", "did you mean `Lift pump`?"
    )  # fmt: skip


def test_money_back_without_a_quantity_moves_nothing() -> None:
    """A core or a price given back leaves the part where it is."""
    figures = figures_of(order(), "date: 2024-06-01\nreturned: {ref: K1, part: lift-pump, core: 45.00}")
    assert part_of(figures, "lift-pump").shelf == 1
    assert figures.suppliers[0].returns == 1


def test_what_is_paid_back_before_it_came_never_comes() -> None:
    """3 ordered, 1 cancelled on the 10th, the rest arrive on the 16th: 2 on the shelf, none in the post."""
    figures = figures_of(order(qty=3), "date: 2024-05-10\nreturned: {ref: K1, part: lift-pump, qty: 1, refund: 118.40}")
    part = part_of(figures, "lift-pump")
    assert (part.bought, part.cancelled, part.arrived, part.shelf, part.in_the_post) == (3, 1, 2, 2, 0)
    lost = figures_of(order("", qty=1), "date: 2024-07-01\nreturned: {ref: K1, qty: 1, refund: 118.40}")
    assert (part_of(lost, "lift-pump").in_the_post, lost.problems) == (0, ())


def test_a_return_of_a_whole_order_must_say_what_went_back() -> None:
    """A quantity without a part is clear only where the order brought one."""
    problem = error_of(
        "date: 2024-05-06\nbought: {from: S, ref: K1, arrived: 2024-05-07, lines: "
        "[{part: a, each: 1}, {part: b, each: 1}]}",
        "date: 2024-06-01\nreturned: {ref: K1, qty: 1, refund: 1}",
    )
    assert (problem.rule, problem.help) == ("returned-which", "add one of `part: a`, `part: b`")


def test_parts_of_a_service_item_leave_the_shelf_once() -> None:
    """They count as fitted; where the entry fits them itself, that counts and no more."""
    settings = """
    machine: {name: Test machine}
    money: {currency: GBP}
    systems: {fuel: Fuel}
    service: {oil: {name: Oil, every: {months: 12}}}
    """
    both = "date: 2024-06-01\nserviced: {item: oil, parts: [lift-pump]}\nfitted: lift-pump"
    for head in (both, both.removesuffix("\nfitted: lift-pump")):
        figures = compute_parts(log_of(order(qty=2), head, settings=settings), DAY)
        assert (part_of(figures, "lift-pump").fitted, part_of(figures, "lift-pump").shelf) == (1, 1)


@pytest.mark.parametrize("query", ["lift-pump", "Lift Pump", "lp4410a", "LP-4410.A", "LP 4410 B", "lift pump"])
def test_a_part_is_found_by_any_number_key_or_name(query: str) -> None:
    """A search for any number of a chain finds the part."""
    figures = figures_of(
        order(),
        "date: 2024-07-01\nbought: {from: Shop, lines: "
        "[{part: lift-pump, number: LP 4410-B, replaces_number: LP 4410-A, each: 1}]}",
    )
    assert [part.key for part in find_parts(figures, query)] == ["lift-pump"]
    assert find_parts(figures, "x") == find_parts(figures, "-") == ()


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("Lift pump", ["lift-pump"]),  # its name, though the seal has both words too
        ("lp-4410/a", ["lift-pump"]),  # its number, though the seal's has the same pieces
        ("pump", ["lift-pump", "pump-seal"]),
        ("VOSTRAND", ["lift-pump", "pump-seal"]),
        ("seal vostrand", ["pump-seal"]),
        ("4410", ["lift-pump", "pump-seal"]),
        ("joint a lèvre", ["pump-seal"]),
        ("lp4410a1", ["pump-seal"]),
        ("seal gasket", []),
        ("pum", []),
    ],
)
def test_parts_are_found_by_any_of_their_words(query: str, found: list[str]) -> None:
    """What means one part finds that alone; else every part that has all of the words, whole ones."""
    figures = figures_of(
        "date: 2024-05-18\nbought: {from: Shop, lines: ["
        "{part: lift-pump, name: Lift pump, number: LP 4410-A, maker: Vostrand, each: 1}, "
        "{part: pump-seal, name: Lift pump seal (joint à lèvre), number: LP 4410-A 1, maker: Vostrand, each: 1}]}"
    )
    assert [part.key for part in find_parts(figures, query)] == found


def test_supplier_figures() -> None:
    """Waits of 4, 10 and 13 days: the middle one is 10, the longest 13; one order is in the post; one return.

    A supplier's name is one whatever its capitals; without the longest the middle of 4 and 10 is 7.
    """
    heads = [
        f"date: 2024-05-{day:02}\nbought: {{from: {name}, ref: R{day}, arrived: 2024-05-{came:02}, "
        "lines: [{what: x, each: 1}]}"
        for day, came, name in ((1, 5, "Kanaal Parts"), (2, 12, "kanaal  parts"), (3, 16, "KANAAL PARTS"))
    ]
    post = "date: 2024-05-20\nbought: {from: Kanaal Parts, lines: [{what: x, each: 1}]}\nreturned: {ref: R2, refund: 1}"
    (supplier,) = figures_of(*heads, post).suppliers
    assert (supplier.name, supplier.orders, supplier.arrived, supplier.returns) == ("Kanaal Parts", 4, 3, 1)
    assert (supplier.median_days, supplier.longest_days) == (Decimal(10), 13)
    (supplier,) = figures_of(*heads, post, as_of=datetime.date(2024, 5, 15)).suppliers
    assert (supplier.median_days, supplier.longest_days, supplier.returns) == (Decimal(7), 10, 0)
