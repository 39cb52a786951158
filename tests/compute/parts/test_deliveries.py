"""Orders that come in several parcels: what each brought, what waits on, and what cannot be."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest

from buildlog.compute.figures import compute_figures
from buildlog.problems import Problem
from tests.support import log_of, plain

ORDER = """date: 2024-03-01
bought:
  from: S
  ref: A1
  paid: 2024-03-01
  lines:
    - {part: seal, qty: 5, each: 10.00}
    - {what: Fuel hose 8 mm, qty: 3, unit: m, each: 2.00}
"""
FIRST = "date: 2024-03-05\narrived: {ref: A1, lines: {seal: 3, fuel-hose-8-mm: 1}}"
SECOND = "date: 2024-03-09\narrived: {ref: A1, lines: {seal: 1}}"
REST = "date: 2024-03-20\narrived: A1"


def count(*heads: str, day: str = "2024-12-31") -> tuple[list[tuple[str, str, str]], str, list[Problem]]:
    """What is in the post (name, how many, its cost), how many seals are on the shelf, and the problems."""
    figures = compute_figures(log_of(*heads), datetime.date.fromisoformat(day))
    post = [(item.name, str(item.qty), plain(item.landed)) for item in figures.in_the_post]
    shelf = {part.key: str(part.shelf) for part in figures.parts.parts}
    return post, shelf["seal"], [problem for problem in figures.problems if problem.severity == "error"]


def test_what_a_parcel_leaves_waits_on() -> None:
    """Three of five seals at 10.00 came and one metre of three at 2.00: 20.00 and 4.00 are still in the post."""
    hose = ("Fuel hose 8 mm", "2", "4.00")
    assert count(ORDER) == ([("Seal", "5", "50.00"), ("Fuel hose 8 mm", "3", "6.00")], "0", [])
    assert count(ORDER, FIRST) == ([("Seal", "2", "20.00"), hose], "3", [])
    assert count(ORDER, FIRST, SECOND) == ([("Seal", "1", "10.00"), hose], "4", [])
    assert count(ORDER, FIRST, SECOND, REST) == ([], "5", [])
    assert count(ORDER, FIRST, SECOND, REST, day="2024-03-08") == ([("Seal", "2", "20.00"), hose], "3", [])


def test_parcels_may_be_told_with_the_order() -> None:
    """The same on the order itself: counted parcels and one with the rest, in any order; the day decides."""
    told = ORDER + "  arrived: [2024-03-20, {date: 2024-03-09, lines: {seal: 1}}, {date: 2024-03-05, lines: {seal: 3}}]"
    assert count(told) == ([], "5", [])
    assert count(told, day="2024-03-10")[:2] == ([("Seal", "1", "10.00"), ("Fuel hose 8 mm", "3", "6.00")], "4")


def test_each_parcel_is_a_movement_of_its_own() -> None:
    """On the shelf when it came: fitted between the parcels, and short where it is fitted before."""
    between = "date: 2024-03-06\nfitted: {part: seal, qty: 3}"
    assert count(ORDER, FIRST, between, REST) == ([], "2", [])
    [problem] = count(ORDER, FIRST, between.replace("qty: 3", "qty: 4"), REST)[2]
    assert (problem.rule, problem.place.file) == ("shelf-below-zero", "entries/e3.md")


def test_what_came_goes_back_and_what_never_comes_is_cancelled() -> None:
    """Of five, three came: one of them goes back, two of the order will never come."""
    back = "date: 2024-03-10\nreturned: {ref: A1, part: seal, qty: 1, refund: 10.00}"
    never = "date: 2024-03-12\nreturned: {ref: A1, part: seal, cancelled: 2, refund: 20.00}"
    post, shelf, problems = count(ORDER, FIRST, back, never)
    assert (post, shelf, problems) == ([("Fuel hose 8 mm", "2", "4.00")], "2", [])
    figures = compute_figures(log_of(ORDER, FIRST, back, never), datetime.date(2024, 12, 31))
    part = figures.parts.parts[0]
    assert (part.arrived, part.returned, part.cancelled, part.in_the_post) == (3, 1, 2, 0)
    assert figures.costs.landed_lines[0].arrived == datetime.date(2024, 3, 5)


def test_a_line_of_which_nothing_came_is_cancelled_as_before() -> None:
    """`qty` of an order that has not come means what will not come: it leaves the post and touches no shelf."""
    post, shelf, problems = count(ORDER, "date: 2024-03-02\nreturned: {ref: A1, part: seal, qty: 2, refund: 20.00}")
    assert (post[0][:2], shelf, problems) == (("Seal", "3"), "0", [])


WRONG = {
    "more than was ordered": (
        FIRST, "arrived: {ref: A1, lines: {seal: 3}}",
        "arrived-too-many", "`3` of `seal` came, but 5 were ordered, and 3 came before",
    ),
    "more in one parcel": (
        "", "arrived: {ref: A1, lines: {seal: 6}}", "arrived-too-many", "`6` of `seal` came, but 5 were ordered",
    ),
    "a line that is not in it": (
        "", "arrived: {ref: A1, lines: {seel: 1}}", "part-not-in-order", "the order `A1` has no `seel`",
    ),
    "the rest twice": (REST, "arrived: A1", "arrived-twice", "the order `A1` has already arrived"),
    "cancelled and not in the post": (
        FIRST, "returned: {ref: A1, part: seal, cancelled: 3, refund: 30.00}",
        "cancelled-not-in-post", "3 will never come, but only 2 of it was still in the post",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_one_parcel_is_wrong(name: str) -> None:
    """One problem, at the later entry, with a remedy."""
    before, after, rule, message = WRONG[name]
    heads = [ORDER, *([before] if before else []), f"date: 2024-04-01\n{after}"]
    [problem] = count(*heads)[2]
    assert (problem.rule, problem.message, problem.place.file) == (rule, message, f"entries/e{len(heads)}.md")
    assert problem.help
    if rule == "part-not-in-order":
        assert problem.help == "did you mean `seal`?"


def test_a_day_before_the_order_is_told_once() -> None:
    """Each parcel by itself, and only the one whose day cannot be."""
    told = ORDER + "  arrived: [{date: 2024-02-05, lines: {seal: 3}}, 2024-03-20]"
    [problem] = count(told)[2]
    assert (problem.rule, problem.place.line) == ("arrived-before-ordered", 10)


@pytest.mark.parametrize("text", ["{date: 2024-03-05, lines: {seal: 0}}", "{lines: {seal: 3}}"])
def test_what_cannot_be_read(text: str) -> None:
    """None of a line came, or nobody says when."""
    with pytest.raises(AssertionError, match=r"not above zero|missing"):
        log_of(ORDER + f"  arrived: {text}")


def test_a_supplier_is_judged_by_the_last_parcel() -> None:
    """Nineteen days from the order to its last parcel."""
    figures = compute_figures(log_of(ORDER, FIRST, REST), datetime.date(2024, 12, 31))
    assert figures.parts.suppliers[0].longest_days == Decimal(19)
