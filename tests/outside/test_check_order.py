"""The order in which to look, checked against exhaustive search, the published ratio rule, and a worked example.

Exhaustive search tries every order of the suspects, and takes strip-downs off as late as it can: what it finds is best
by definition. The ratio rule, largest chance over cost first where nothing has to come off, is Theorem 1 of Kadane &
Simon (Artificial Intelligence 6, 1975) for trees of no depth, and the rule for repair plans of Heckerman, Breese &
Rommelse (Communications of the ACM 38, 1995); both are cited from memory.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.compute.faults import check_order
from buildlog.compute.faults.check_order import Job, find_check_order, order_jobs
from tests.compute.fault_logs import find_order, make_fault

Strips = list[tuple[int, tuple[int, ...]]]
"Hours of each strip-down, and the numbers of those before it that must come off first."
Suspects = list[tuple[int, int, int | None]]
"Hours of each check, weight, and the number of the strip-down that it lies behind."


def make_jobs(strips: Strips, suspects: Suspects) -> list[Job]:
    checks = [Job(hours, weight, () if behind is None else (behind,)) for hours, weight, behind in suspects]
    return [*(Job(hours, 0, after) for hours, after in strips), *checks]


def find_needs(jobs: list[Job], job: int) -> set[int]:
    needs = set(jobs[job].after)
    for other in jobs[job].after:
        needs |= find_needs(jobs, other)
    return needs


def cost_of(jobs: list[Job], order: tuple[int, ...]) -> int:
    """Weighted hours of an order of checks, by walking it: an independent count, in sets."""
    done: set[int] = set()
    hours = cost = 0
    for job in order:
        new = (find_needs(jobs, job) | {job}) - done
        hours += sum(jobs[other].hours for other in new)
        done |= new
        cost += jobs[job].weight * hours
    return cost


def search_all(jobs: list[Job]) -> int:
    """The least weighted hours of all orders there are."""
    checks = [number for number, job in enumerate(jobs) if job.weight]
    return min(cost_of(jobs, order) for order in permutations(checks))


@st.composite
def make_trees(draw: st.DrawFn, *, parents: int, most_suspects: int) -> list[Job]:
    """Strip-downs, each after some before it, and suspects behind some of them or behind none."""
    count = draw(st.integers(0, 6))
    strips: Strips = []
    for number in range(count):
        before = st.sets(st.integers(0, number - 1), max_size=parents) if number else st.just(set())
        strips.append((draw(st.integers(0, 9)), tuple(sorted(draw(before)))))
    behind = st.none() | st.integers(0, count - 1) if count else st.none()
    suspect = st.tuples(st.integers(1, 9), st.integers(1, 9), behind)
    return make_jobs(strips, draw(st.lists(suspect, min_size=1, max_size=most_suspects)))


@settings(max_examples=150, deadline=None)
@given(make_trees(parents=1, most_suspects=7))
def test_no_order_is_better_in_any_tree(jobs: list[Job]) -> None:
    """Up to seven suspects behind any tree of strip-downs: the order costs what the best of all 5,040 costs."""
    found = order_jobs(jobs)
    assert found.exact
    assert found.cost == cost_of(jobs, found.jobs) == search_all(jobs)


@settings(max_examples=150, deadline=None)
@given(make_trees(parents=3, most_suspects=6))
def test_no_order_is_better_where_strip_downs_meet(jobs: list[Job]) -> None:
    """Up to six strip-downs that wait for three each: the order is the best of all as well, and is known to be."""
    found = order_jobs(jobs)
    assert found.exact
    assert found.cost == cost_of(jobs, found.jobs) == search_all(jobs)


@given(st.lists(st.tuples(st.integers(1, 99), st.integers(1, 99)), min_size=1, max_size=12))
def test_without_strip_downs_it_is_the_ratio_rule(suspects: list[tuple[int, int]]) -> None:
    """Kadane & Simon 1975; Heckerman, Breese & Rommelse 1995: largest chance over cost first, and nothing else."""
    jobs = make_jobs([], [(hours, weight, None) for hours, weight in suspects])
    ratios = [Fraction(jobs[job].weight, jobs[job].hours) for job in order_jobs(jobs).jobs]
    assert all(first >= then for first, then in pairwise(ratios))


def test_the_ratio_rule_by_numbers() -> None:
    """Chances 1, 2, 3 of 6 and costs 1, 1, 3: ratios 1, 2, 1; (2×1 + 1×2 + 3×5) / 6 = 19/6, and 20/6 the other way."""
    jobs = make_jobs([], [(1, 1, None), (1, 2, None), (3, 3, None)])
    assert order_jobs(jobs) == ((1, 0, 2), 2 * 1 + 1 * 2 + 3 * 5, True)
    assert cost_of(jobs, (1, 2, 0)) == 2 * 1 + 3 * 4 + 1 * 5  # equal ratios may change places: 19 as well
    assert cost_of(jobs, (0, 1, 2)) == 1 * 1 + 2 * 2 + 3 * 5


def test_horns_block_goes_before_a_better_single() -> None:
    """Behind 2 hours lie weights 9 and 9 of 1 hour each (18 of 4 together, 4.5 an hour): before 4 an hour, after 5."""
    jobs = make_jobs([(2, ())], [(1, 4, None), (1, 9, 0), (1, 5, None), (1, 9, 0)])
    assert order_jobs(jobs).jobs == (3, 2, 4, 1)
    assert order_jobs(jobs).cost == search_all(jobs)


EXAMPLE = """
components:
  return-hose: {likely: 2, check_hours: 0.1}
  filter-head: {check_hours: 0.2}
  lift-pump: {likely: 3, check_hours: 0.3, reached_by: pump-cover}
  feed-banjo: {check_hours: 0.2, reached_by: pump-cover}
  tank-pickup: {likely: 4, check_hours: 0.2, reached_by: tank-down}
strip_downs:
  tray-off: {name: Tray off, hours: 1}
  pump-cover: {name: Pump cover off, hours: 1.5, after: [tray-off]}
  tank-down: {name: Tank down, hours: 4}
"""
SUSPECTS = ["tank-pickup", "feed-banjo", "lift-pump", "filter-head", "return-hose"]


def test_the_worked_example() -> None:
    """2×0.1 + 1×0.3 + 3×3.1 + 1×3.3 + 4×7.5 = 43.1 of 11 chances: 431/110 h; invented, added up by hand."""
    look = find_order(SUSPECTS, EXAMPLE)
    assert [step.suspect for step in look.steps] == [
        "return-hose", "filter-head", "lift-pump", "feed-banjo", "tank-pickup",
    ]  # fmt: skip
    assert (look.expected, str(look.expected_hours), look.exact) == (Fraction(431, 110), "3.918", True)
    assert [(str(step.likely), str(step.hours)) for step in look.steps] == [
        ("2", "0.1"), ("1", "0.2"), ("3", "2.8"), ("1", "0.2"), ("4", "4.2"),
    ]  # fmt: skip
    assert [step.takes_off for step in look.steps] == [(), (), ("tray-off", "pump-cover"), (), ("tank-down",)]
    assert str(look.steps[-1].hours_so_far) == "7.5"


def test_likely_over_hours_alone_is_blind_to_strip_downs() -> None:
    """Ratios 20, 20, 10, 5, 5: 2×0.1 + 4×4.3 + 3×7.1 + 1×7.3 + 1×7.5 = 53.5 of 11 chances, 4.864 h."""
    strips: Strips = [(10, ()), (15, (0,)), (40, ())]
    jobs = make_jobs(strips, [(1, 2, None), (2, 4, 2), (3, 3, 1), (2, 1, None), (2, 1, 1)])
    blind = Fraction(cost_of(jobs, (3, 4, 5, 6, 7)), 10 * 11)
    assert blind == Fraction(535, 110)
    assert round(float(blind), 3) == 4.864
    assert Fraction(order_jobs(jobs).cost, 10 * 11) == Fraction(431, 110)


def test_what_is_off_costs_nothing() -> None:
    """With the tank down its pick-up is a check of 0.2 h for 4 chances: as good a ratio as the best there is."""
    look = find_order(SUSPECTS, EXAMPLE, off=["tank-down"])
    assert [step.suspect for step in look.steps][:3] == ["tank-pickup", "return-hose", "filter-head"]
    assert look.expected == Fraction(4 * 2 + 2 * 3 + 1 * 5 + 3 * 33 + 1 * 35, 110)


def test_what_went_back_in_front_has_to_come_off_again() -> None:
    """The pump cover is off and the tray back on: 1 h for the tray and 0.3 h for the check; both off, 0.3 h."""
    look = find_order(["lift-pump"], EXAMPLE, off=["pump-cover"])
    assert (look.steps[0].takes_off, look.expected) == (("tray-off",), Fraction(13, 10))
    assert find_order(["lift-pump"], EXAMPLE, off=["tray-off", "pump-cover"]).expected == Fraction(3, 10)


@st.composite
def make_half_open(draw: st.DrawFn) -> tuple[Strips, Suspects, set[int]]:
    """Strip-downs that wait for some before them, suspects behind them, and any of the strip-downs off."""
    count = draw(st.integers(1, 6))
    numbers = [st.sets(st.integers(0, number - 1), max_size=2) if number else st.just(set()) for number in range(count)]
    strips: Strips = [(draw(st.integers(1, 9)), tuple(sorted(draw(before)))) for before in numbers]
    suspects = st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9), st.integers(0, count - 1)), min_size=1)
    return strips, draw(suspects.filter(lambda some: len(some) <= 6)), draw(st.sets(st.integers(0, count - 1)))


@settings(max_examples=150, deadline=None)
@given(make_half_open())
def test_no_order_is_better_whatever_is_off(half_open: tuple[Strips, Suspects, set[int]]) -> None:
    """With any strip-downs off, those behind others that are on among them, the order costs what the best of all does.

    The count by hand: off is free, and everything on that a suspect lies behind is paid once, whatever lies between.
    """
    strips, suspects, off = half_open
    checks = [f"c{n}: {{check_hours: {h}, likely: {w}, reached_by: s{s}}}" for n, (h, w, s) in enumerate(suspects)]
    afters = [", ".join(f"s{other}" for other in after) for _, after in strips]
    downs = [f"s{n}: {{name: S, hours: {strips[n][0]}, after: [{after}]}}" for n, after in enumerate(afters)]
    plan = "\n  ".join(["components:", *checks]) + "\n" + "\n  ".join(["strip_downs:", *downs]) + "\n"
    look = find_order([f"c{n}" for n in range(len(suspects))], plan, off=[f"s{n}" for n in off])
    free = [(0 if number in off else hours, after) for number, (hours, after) in enumerate(strips)]
    best = search_all(make_jobs(free, suspects))
    assert look.expected == Fraction(best, sum(weight for _, weight, _ in suspects))
    taken = [key for step in look.steps for key in step.takes_off]
    assert len(taken) == len(set(taken))
    assert not {int(key[1:]) for key in taken} & off


def test_hours_that_nobody_states_are_not_invented() -> None:
    """A suspect without `check_hours` is listed apart; the chances still count it."""
    look = find_order(
        ["return-hose", "starter"], "components: {return-hose: {likely: 2, check_hours: 0.1}, starter: {}}"
    )
    assert ([step.suspect for step in look.steps], look.no_hours) == (["return-hose"], ("starter",))
    assert (look.chances, look.expected) == (3, Fraction(1, 10))


def test_nothing_left_is_no_order() -> None:
    """A fault without suspects has no step and no hours."""
    look = find_order([], EXAMPLE)
    assert (look.steps, look.expected, look.exact) == ((), 0, True)


def test_too_many_ways_are_admitted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where not every way could be tried the order is not called the best."""
    strips: Strips = [*((2, ()) for _ in range(4)), (1, (0, 1, 2, 3))]
    jobs = make_jobs(strips, [(1, 1, 0), (2, 1, 1), (1, 2, 2), (1, 1, 3), (1, 9, 4)])
    assert order_jobs(jobs).exact
    monkeypatch.setattr(check_order, "MOST_TREES", 3)
    found = order_jobs(jobs)
    assert not found.exact
    assert found.cost == cost_of(jobs, found.jobs)


def test_preparations_of_one_thing_need_no_trying(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nine strip-downs that serve nothing but a tenth: nine trees, each with one rule more, not 9! of them."""
    monkeypatch.setattr(check_order, "MOST_TREES", 9)
    strips: Strips = [*((n + 1, ()) for n in range(9)), (1, tuple(range(9)))]
    jobs = make_jobs(strips, [(1, 1, 9), (2, 3, None), (60, 1, None)])
    assert order_jobs(jobs) == ((11, 10, 12), 3 * 2 + 49 + 109, True)


def test_forty_suspects_need_no_trying(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forty suspects behind twelve strip-downs, up to four deep, each waiting for one other at most: one tree."""
    monkeypatch.setattr(check_order, "MOST_TREES", 1)
    strips = [f"s{n}: {{name: S, hours: {n % 5 + 1}{f', after: s{n // 2}' if n > 1 else ''}}}" for n in range(12)]
    checks = [f"c{n}: {{check_hours: 0.{n % 9 + 1}, likely: {n % 7 + 1}, reached_by: s{n % 12}}}" for n in range(40)]
    plan = "components:\n  " + "\n  ".join(checks) + "\nstrip_downs:\n  " + "\n  ".join(strips)
    log, fault = make_fault([f"c{n}" for n in range(40)], plan)
    look = find_check_order(fault, log.settings, off=())
    assert (len(look.steps), look.exact) == (40, True)
    assert sorted(key for step in look.steps for key in step.takes_off) == sorted(f"s{n}" for n in range(12))
