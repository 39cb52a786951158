"""What it will still cost: wanted things that an order closes, and forecasts that add up."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given

from buildlog.compute.costs.plan import SpendingPlan, WantedFigures
from buildlog.compute.figures import Figures, compute_figures
from buildlog.compute.quantities.money import Money, sum_money
from buildlog.problems import Problem
from buildlog.read.records import Log
from tests.random_logs import logs
from tests.support import list_problems, log_of, plain

SETTINGS = """
machine: {name: Test machine}
money: {currency: GBP, budget: {brakes: 100.00}}
systems: {fuel: Fuel, brakes: Brakes}
"""
WANTED = "date: 2024-05-01\nwanted: {part: hose, qty: 3, about: 45.00, for: brakes, from: The hose man}"
ORDER = "date: 2024-05-08\nbought: {from: S, ref: S-1, lines: [{part: hose, each: 40.00, for: brakes}]}"


def figures_of(*heads: str, settings: str = SETTINGS, as_of: str = "2024-06-01") -> Figures:
    return compute_figures(log_of(*heads, settings=settings), date.fromisoformat(as_of))


def plan_of(*heads: str, settings: str = SETTINGS, as_of: str = "2024-06-01") -> SpendingPlan:
    figures = figures_of(*heads, settings=settings, as_of=as_of)
    assert figures.problems == ()
    return figures.costs.plan


def tell(*heads: str, settings: str = SETTINGS) -> list[str]:
    [rows] = list_problems(figures_of(*heads, settings=settings).problems)
    return rows


def test_a_wish_is_counted_until_its_part_is_ordered() -> None:
    """45.00 wanted, then 40.00 committed in its place: the forecast is 45.00 before the order and 40.00 after it."""
    before, after = plan_of(WANTED), plan_of(WANTED, ORDER)
    (wish,) = before.wanted
    assert (wish.part, wish.what, str(wish.qty), plain(wish.about), wish.system, wish.supplier) == (
        "hose", "Hose", "3", "45.00", "brakes", "The hose man",
    )  # fmt: skip
    assert (wish.since, wish.entry, wish.state, wish.ended_in) == (date(2024, 5, 1), "e1", "open", None)
    assert [(row.system, plain(row.wanted), plain(row.forecast)) for row in before.by_system] == [
        ("brakes", "45.00", "45.00")
    ]
    assert (after.wanted[0].state, after.wanted[0].ended_in, after.list_open()) == ("ordered", "e2", ())
    assert (plain(after.wanted_sum), plain(after.forecast)) == ("0", "40.00")


def test_the_forecast_stands_against_the_budget() -> None:
    """Of 100.00 for brakes 30.00 are spent, 40.00 ordered and 45.00 wanted: 30.00 left, and 115.00 forecast."""
    paid = "date: 2024-05-02\nbought: {from: S, paid: 2024-05-02, lines: [{what: Pads, each: 30.00, for: brakes}]}"
    disc = "date: 2024-05-03\nbought: {from: S, lines: [{part: disc, each: 40.00, for: brakes}]}"
    plan = plan_of(WANTED, paid, disc, "date: 2024-05-04\nwanted: {what: Lamp oil, about: 5.00}")
    (budget,) = plan.budget
    assert (plain(budget.spent), plain(budget.committed), plain(budget.wanted)) == ("30.00", "40.00", "45.00")
    assert (plain(budget.left), plain(budget.forecast)) == ("30.00", "115.00")
    assert plan.budget_total is not None and plain(plan.budget_total.forecast) == "115.00"
    # What is for no system has a row of its own, and all rows make the whole.
    assert [(row.system, plain(row.forecast)) for row in plan.by_system] == [("brakes", "115.00"), (None, "5.00")]
    assert plain(plan.forecast) == "120.00"


@pytest.mark.parametrize(
    ("order", "state"),
    [
        (ORDER, "ordered"),
        # In the entry that wants it, or in one before: the first closes it, the other was of an earlier time.
        (ORDER.replace("05-08", "05-01"), "ordered"),
        (ORDER.replace("05-08", "04-30"), "open"),
        # Of another part, by another name of the same part, and ordered only after the day that is asked for.
        (ORDER.replace("hose", "pipe"), "open"),
        (ORDER.replace("date: 2024-05-08\n", "date: 2024-05-08\nsystems: [fuel]\n"), "ordered"),
        (ORDER.replace("ref: S-1", "ordered: 2024-07-01"), "open"),
    ],
)
def test_only_a_later_order_of_the_same_part_closes_it(order: str, state: str) -> None:
    """An order counts from its own entry on; one that was placed earlier was for something else."""
    heads = sorted([WANTED, order])
    assert plan_of(*heads).wanted[0].state == state


def test_since_lets_an_earlier_entry_close_it() -> None:
    """Wanted since 20 April, ordered on 30 April, written down on 1 May: closed by that, not by one of 10 April."""
    wanted = WANTED.replace("part: hose", "part: hose, since: 2024-04-20")
    assert plan_of(ORDER.replace("05-08", "04-30"), wanted).wanted[0].state == "ordered"
    assert plan_of(ORDER.replace("05-08", "04-10"), wanted).wanted[0].state == "open"


def test_a_wish_of_log_yaml_is_closed_by_any_order_or_by_one_since() -> None:
    """It has no day of its own: without `since` every order of the part counts, with it only those from then on."""
    plain_wish = SETTINGS + "wanted: [{part: hose, about: 45.00}]\n"
    since = SETTINGS + "wanted: [{part: hose, about: 45.00, since: 2024-05-09}]\n"
    assert plan_of(ORDER, settings=plain_wish).wanted[0].state == "ordered"
    (wish,) = plan_of(ORDER, settings=since).wanted
    assert (wish.state, wish.entry, wish.since, wish.system) == ("open", None, None, "brakes")


def test_a_thing_without_a_part_is_closed_by_its_words() -> None:
    """A line with the same `what`, however its capitals are."""
    lift = "date: 2024-05-01\nwanted: {what: A day on a lift, about: 60.00}"
    paid = "date: 2024-05-09\nbought: {from: S, paid: 2024-05-09, lines: [{what: a day on  a Lift, each: 55.00}]}"
    assert plan_of(lift, paid).wanted[0].state == "ordered"
    assert plan_of(lift, paid.replace("Lift", "bench")).wanted[0].state == "open"


def test_wanted_again_the_later_word_counts() -> None:
    """45.00, then 52.00: the forecast has 52.00 and not 97.00."""
    plan = plan_of(WANTED, WANTED.replace("05-01", "05-03").replace("45.00", "52.00"))
    assert [(wish.state, wish.ended_in) for wish in plan.wanted] == [("wanted again", "e2"), ("open", None)]
    assert plain(plan.wanted_sum) == "52.00"


def test_what_is_not_wanted_any_more_counts_no_longer() -> None:
    """By its part or its words."""
    lift = "date: 2024-05-02\nwanted: {what: A day on a lift, about: 60.00}"
    plan = plan_of(WANTED, lift, "date: 2024-05-09\nunwanted: [hose, day on a lift]")
    assert [(wish.state, wish.ended_in) for wish in plan.wanted] == [("unwanted", "e3")] * 2
    assert plan.by_system == ()


def test_what_has_no_price_is_counted_as_nothing_and_said() -> None:
    """One of two has none: the sum is the other's, and the number of those without stands beside it."""
    plan = plan_of(WANTED, "date: 2024-05-02\nsystems: [fuel]\nwanted: {what: A gauge}")
    assert (plain(plan.wanted_sum), plan.unpriced, plan.wanted[1].system) == ("45.00", 1, "fuel")


def test_bad_wishes_are_told() -> None:
    """Nothing named; an amount finer than a penny; what was never wanted, what is no longer, what two wishes have."""
    assert tell("date: 2024-05-01\nwanted: {about: 5.00}") == [
        "entries/e1.md:3:9: error: this says neither which part is wanted nor what [wanted-nothing]",
        "at wanted",
        "help: add `part:` with its short name, or `what:` in words",
    ]
    assert tell("date: 2024-05-01\nwanted: {what: Oil, about: 5.001}")[0].endswith("[too-many-decimals]")
    assert tell(WANTED, "date: 2024-05-09\nunwanted: hoes") == [
        "entries/e2.md:3:11: error: nothing earlier says `hoes` under `wanted:` [not-wanted]",
        "at unwanted",
        "help: did you mean `hose`?",
    ]
    assert tell(WANTED, ORDER, "date: 2024-05-09\nunwanted: hose") == [
        "entries/e3.md:3:11: error: `Hose` is not wanted any more: see entry `e2` [not-wanted]",
        "at unwanted",
        "see also entries/e1.md:3:9",
        "at wanted",
        "help: remove it here",
    ]
    two = "date: 2024-05-01\nwanted: [{what: Oil of the engine}, {what: Oil of the box}]"
    assert tell(two, "date: 2024-05-09\nunwanted: oil of the")[0] == (
        "entries/e2.md:3:11: error: `oil of the` may mean any of 2: `Oil of the engine` and `Oil of the box` "
        "[unwanted-which]"
    )


def add_up_by_hand(log: Log, figures: Figures) -> Money:
    """The whole forecast, slowly: every line of the costs, and every open wish."""
    costs, currency = figures.costs, figures.costs.currency
    wishes = [wish.about for wish in costs.plan.wanted if wish.state == "open" and wish.about is not None]
    return sum_money([*(line.landed for line in (*costs.lines, *costs.committed_lines)), *wishes], currency)


@given(logs)
def test_every_system_of_a_forecast_adds_up(log: Log) -> None:
    """Over random logs: systems make the whole, the whole is spent, committed and wanted; budget rows are systems."""
    figures = compute_figures(log, date(2024, 4, 1))
    costs, plan = figures.costs, figures.costs.plan
    assert sum_money((row.forecast for row in plan.by_system), costs.currency) == plan.forecast
    assert plan.forecast == costs.spent + costs.committed + plan.wanted_sum == add_up_by_hand(log, figures)
    rows = {row.system: row for row in plan.by_system}
    for budget in plan.budget:
        row = rows.get(budget.system)
        assert budget.forecast == (row.forecast if row else Money(budget.budget.amount * 0, costs.currency))


def _keys(wanted: tuple[WantedFigures, ...]) -> list[tuple[str | None, str]]:
    return [(wish.part, wish.what) for wish in wanted]


@given(logs)
def test_nothing_is_wanted_twice(log: Log) -> None:
    """Of one thing, at most one wish is open at a time."""
    left = _keys(compute_figures(log, date(2024, 4, 1)).costs.plan.list_open())
    assert len(left) == len(set(left))


def _rules(problems: tuple[Problem, ...]) -> set[str]:
    return {problem.rule for problem in problems}


def test_an_early_day_hides_no_wrong_wish() -> None:
    """Problems are of the whole log, whatever day the figures are of."""
    assert _rules(figures_of(WANTED, "date: 2024-05-09\nunwanted: hoes", as_of="2024-05-02").problems) == {"not-wanted"}
