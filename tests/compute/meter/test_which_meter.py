"""Of which meter a reading is on the day on which the meter was changed: said, or the only one that can be."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.meter.meter import MeterFigures, compute_meter
from tests.support import log_of

SERVICE = "service: {oil: {name: Oil, every: {months: 12}}}"
MOST = {"km": 1500, "mi": 932, "h": 24}


def meter_of(*heads: str, unit: str = "mi", rest: str = "") -> MeterFigures:
    settings = f"machine: {{name: M, meter: {unit}}}\nmoney: {{currency: GBP}}\n{SERVICE}\n{rest}"
    return compute_meter(log_of(*heads, settings=settings), date(2025, 1, 1))


def total_of(figures: MeterFigures, source: str = "entry") -> Decimal:
    return [reading.total for reading in figures.readings if reading.source == source][-1]


def rules(figures: MeterFigures) -> list[tuple[str, str]]:
    return [(problem.rule, problem.severity) for problem in figures.problems]


def test_the_only_meter_that_can_be() -> None:
    """After 400 the old meter cannot show 12, so 12 is the new one's: 600 + 12 = 612, and nothing has to be said."""
    figures = meter_of(
        "date: 2024-01-01\nreading: 400", "date: 2024-03-01\nreading: 12\nmeter_changed: {old: 600, new: 0}"
    )
    assert total_of(figures) == 612
    assert figures.problems == ()


def test_two_ways_are_refused() -> None:
    """8 h can be the old meter's on its way to 20, or the new one's: both totals are told, and none is taken."""
    figures = meter_of("date: 2024-03-01\nreading: 8\nmeter_changed: {old: 20, new: 0}", unit="h")
    (problem,) = figures.problems
    assert (problem.rule, problem.severity, str(problem.place)) == ("reading-two-ways", "error", "entries/e1.md:3:10")
    assert problem.message == "`8` could be from the old meter or the new one: a true total of `8 h` or of `28 h`"
    assert "`reading_of: new`" in problem.help
    assert [reading.source for reading in figures.readings] == ["old meter", "new meter"]


@pytest.mark.parametrize(("which", "total"), [("new", 28), ("old", 8)])
def test_what_the_owner_says_counts(which: str, total: int) -> None:
    """`reading_of` decides, and nothing is told."""
    head = f"date: 2024-03-01\nreading: 8\nmeter_changed: {{old: 20, new: 0, reading_of: {which}}}"
    figures = meter_of(head, unit="h")
    assert (total_of(figures), figures.problems) == (total, ())


def test_each_service_says_its_own() -> None:
    """A service before the change and one after it: 8 h of the old meter is 8, 3 h of the new one is 23."""
    figures = meter_of(
        "date: 2024-03-01\nmeter_changed: {old: 20, new: 0}\n"
        "serviced: [{item: oil, reading: 8, reading_of: old}, {item: oil, reading: 3, reading_of: new}]",
        unit="h",
    )
    assert [reading.total for reading in figures.readings] == [8, 20, 20, 23]
    assert figures.problems == ()
    unsaid = meter_of("date: 2024-03-01\nmeter_changed: {old: 20, new: 0}\nserviced: {item: oil, reading: 8}", unit="h")
    assert rules(unsaid) == [("reading-two-ways", "error")]
    assert "this service" in unsaid.problems[0].help


def test_an_event_of_the_history_says_it_too() -> None:
    """A change under an earlier owner, known to the year: 300 can be before 20400 or after it, until it is said."""
    event = "history: {{date: 2011, what: New clocks, reading: 300, meter_changed: {{old: 20400, new: 0{}}}}}"
    assert rules(meter_of(rest=event.format(""))) == [("reading-two-ways", "error")]
    said = meter_of(rest=event.format(", reading_of: new"))
    assert (total_of(said, "history"), said.problems) == (20700, ())


def test_a_reading_without_a_unit_is_in_its_own_meters() -> None:
    """100 on a new meter in kilometres is 100 km, although the old one counted miles: 1000 mi are 1609.344 km."""
    figures = meter_of(
        "date: 2024-01-01\nreading: 990 mi",
        "date: 2024-03-01\nreading: 100\nmeter_changed: {old: 1000 mi, new: 0 km}",
        unit="km",
    )
    assert (total_of(figures), figures.problems) == (Decimal("1709.344"), ())


@pytest.mark.parametrize(
    "head",
    [
        "meter_changed: {old: 20, new: 0, reading_of: new}",
        "reading: 3\nserviced: {item: oil, reading: 3, reading_of: new}",
        "reading: 3\nmeter_changed: {old: 20, new: 0, reading_of: new}\nserviced: {item: oil, reading_of: new}",
    ],
)
def test_said_of_nothing(head: str) -> None:
    """`reading_of` beside no reading, or without a change of meter, is a slip and told as one."""
    assert ("reading-of-nothing", "error") in rules(meter_of(f"date: 2024-03-01\n{head}", unit="h"))


# ------------------------------------------------------------------- against a plain computing


def compute_plainly(before: int | None, reading: int, old: int, new: int, most: int) -> set[int]:
    """Every total that the reading can stand for: both ways are written out in full, and what cannot be is struck."""
    start = [] if before is None else [before]
    as_old = (reading, [*start, reading, old, old])
    as_new = (old + reading - new, [*start, old, old, old + reading - new])
    rising = [way for way in (as_old, as_new) if all(a <= b for a, b in pairwise(way[1]))]
    if len({total for total, _ in rising}) > 1:
        a_day = [way for way in rising if way[1][-1] - way[1][-3] <= most]
        rising = a_day if len(a_day) == 1 else rising
    return {total for total, _ in rising}


NUMBERS = st.one_of(st.integers(0, 40), st.integers(0, 3000), st.integers(0, 120_000))


@given(st.one_of(st.none(), NUMBERS), NUMBERS, NUMBERS, NUMBERS, st.sampled_from(["mi", "km", "h"]))
def test_no_total_that_can_be_another(before: int | None, reading: int, old: int, new: int, unit: str) -> None:
    """One total is taken where a plain computing of both ways leaves one, and asked for where it leaves two.

    Where it leaves none, the meter falls, which is told.
    """
    heads = [] if before is None else [f"date: 2024-01-01\nreading: {before}"]
    change = f"date: 2024-03-01\nreading: {reading}\nmeter_changed: {{old: {old}, new: {new}}}"
    figures = meter_of(*heads, change, unit=unit)
    expected = compute_plainly(before, reading, old, new, MOST[unit])
    errors = {rule for rule, severity in rules(figures) if severity == "error"}
    taken = {r.total for r in figures.readings if r.source == "entry" and r.date == date(2024, 3, 1)}
    if len(expected) == 1:
        assert (taken, errors) == (expected, set())
    elif expected:
        assert (taken, errors) == (set(), {"reading-two-ways"})
    else:
        assert errors == {"meter-falls"}
        assert len(taken) == 1


@given(NUMBERS, NUMBERS, NUMBERS, st.sampled_from(["old", "new"]))
def test_said_is_taken(reading: int, old: int, new: int, which: str) -> None:
    """Whatever the numbers, what `reading_of` says is what is computed with, and a fall that it makes is told."""
    change = f"meter_changed: {{old: {old}, new: {new}, reading_of: {which}}}"
    figures = meter_of(f"date: 2024-03-01\nreading: {reading}\n{change}", unit="h")
    assert total_of(figures) == (reading if which == "old" else old + reading - new)
    falls = reading > old if which == "old" else reading < new
    assert ("meter-falls" in {rule for rule, _ in rules(figures)}) is falls
