"""True totals, what cannot be right, and what may be stated about the meter."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.meter.meter import MeterFigures, compute_meter, find_reading, find_total
from buildlog.problems import has_errors
from tests.support import log_of

AS_OF = date(2025, 1, 1)


def meter_of(*heads: str, meter: str = "{unit: km, digits: 6}", rest: str = "", as_of: date = AS_OF) -> MeterFigures:
    settings = f"machine: {{name: Test machine, meter: {meter}}}\nmoney: {{currency: GBP}}\n{rest}"
    return compute_meter(log_of(*heads, settings=settings), as_of)


def totals(figures: MeterFigures) -> list[Decimal]:
    return [reading.total for reading in figures.readings]


def rules(figures: MeterFigures) -> list[tuple[str, str]]:
    return [(problem.rule, problem.severity) for problem in figures.problems]


FIVE_DIGITS = "{unit: km, digits: 5}"
ROLLED = (
    "date: 2024-01-01\nreading: 98500",
    "date: 2024-02-01\nreading: 99990",
    "date: 2024-02-02\nreading: 120\nrollover: true",
    "date: 2024-03-01\nreading: 5400",
)


def test_rollover() -> None:
    """98500, 99990, 120, 5400 on five drums are 98500, 99990, 100120, 105400 once the rollover is declared."""
    figures = meter_of(*ROLLED, meter=FIVE_DIGITS)
    assert totals(figures) == [98500, 99990, 100120, 105400]
    assert (figures.problems, figures.offset) == ((), 100000)


def test_rises() -> None:
    """1490, 130 and 5280 more than before; the first has none before it."""
    assert meter_of(*ROLLED, meter=FIVE_DIGITS).rises == (None, 1490, 130, 5280)


def test_no_rise_where_the_order_is_not_known() -> None:
    """2004 may be before or after 12 June of it: 60,000 in that year and 61,000 on that day give no difference."""
    history = "history: [{date: 2004, what: Oil, reading: 60000}, {date: 2004-06-12, what: Test, reading: 61000}]"
    assert meter_of(rest=history).rises == (None, None)


def test_a_slip_is_no_rollover() -> None:
    """98500, 99990, 99980: a naive rule would make it 199980; undeclared it is an error that names both places."""
    figures = meter_of(
        "date: 2024-01-01\nreading: 98500",
        "date: 2024-02-01\nreading: 99990",
        "date: 2024-02-02\nreading: 99980",
        meter=FIVE_DIGITS,
    )
    (problem,) = figures.problems
    assert (problem.rule, problem.severity) == ("meter-falls", "error")
    assert problem.message == "the meter falls from `99990 km` on 2024-02-01 to `99980 km` on 2024-02-02"
    assert str(problem.place) == "entries/e3.md:3:10"
    assert [str(place) for place in problem.also] == ["entries/e2.md:3:10"]


def test_one_slip_is_reported_once() -> None:
    """After a reading that falls the count goes on from it, so that one slip is not reported at every later entry."""
    figures = meter_of(*(f"date: 2024-0{n}-01\nreading: {r}" for n, r in enumerate((11500, 1160, 1700, 1800), 1)))
    assert rules(figures) == [("meter-falls", "error")]


def test_rollover_needs_the_digits() -> None:
    """How far a meter goes round is known from its digits only."""
    assert rules(meter_of(*ROLLED[:3], meter="{unit: km}")) == [("rollover-digits", "error"), ("meter-falls", "error")]


def test_digits_that_no_meter_has() -> None:
    """A meter of a thousand million digits is an error, and its round is not computed."""
    figures = meter_of("date: 2024-01-01\nreading: 5\nrollover: true", meter="{unit: km, digits: 1000000000}")
    assert rules(figures) == [("meter-digits", "error"), ("rollover-digits", "error")]


def test_rollover_of_a_meter_that_cannot_be_compared() -> None:
    """A meter changed from hours to kilometres is an error at each end of it, whatever else is declared."""
    figures = meter_of(
        "date: 2024-01-01\nreading: 5\nrollover: true", "date: 2024-02-01\nmeter_changed: {old: 10 h, new: 0 km}"
    )
    assert {rule for rule, _ in rules(figures)} == {"rollover-digits", "reading-unit"}


def test_rollover_that_nobody_saw() -> None:
    """A rollover declared where the meter did not fall is a warning, and the jump that it makes is another."""
    figures = meter_of(
        "date: 2024-01-01\nreading: 500", "date: 2024-02-01\nreading: 700\nrollover: true", meter=FIVE_DIGITS
    )
    assert rules(figures) == [("rollover-not-seen", "warning"), ("meter-jumps", "warning")]


def test_rollovers_before_the_log() -> None:
    """A drum that went round under an earlier owner is declared in `history:` or at the purchase.

    From 300 to 4000 in 24 years it need not have fallen: a whole round and more lies between.
    """
    rest = """
acquired: {date: 2023-05-01, reading: 4000, rollover: true}
history:
  - {date: 1999, what: Passed the last digit, reading: 300, rollover: true}
  - {date: 1990-06-01, what: Test, reading: 91000}
"""
    figures = meter_of("date: 2024-01-01\nreading: 4100", meter=FIVE_DIGITS, rest=rest)
    assert totals(figures) == [91000, 100300, 204000, 204100]
    assert figures.owned == 100
    assert figures.problems == ()


def test_meter_replaced() -> None:
    """A meter replaced at 112530 by one at 0: 400 on the new one is a total of 112930."""
    figures = meter_of(
        "date: 2024-01-01\nreading: 112480",
        "date: 2024-02-01\nmeter_changed: {old: 112530, new: 0, why: cable broke}",
        "date: 2024-03-01\nreading: 400",
    )
    assert totals(figures) == [112480, 112530, 112530, 112930]
    assert (figures.offset, figures.problems) == (112530, ())
    (step,) = figures.steps
    assert (step.kind, step.old, step.new, step.why) == ("replaced or set", "112530 km", "0 km", "cable broke")


@pytest.mark.parametrize(("reading", "total"), [("112530", 112530), ("112500", 112500), ("12", 112542), ("0", 112530)])
def test_reading_on_the_day_of_a_change(reading: str, total: int) -> None:
    """On the day of a change (112530 to 0) a reading near the old one's last is before it, one near 0 is after it."""
    figures = meter_of(
        "date: 2024-01-01\nreading: 112480",
        f"date: 2024-02-01\nreading: {reading}\nmeter_changed: {{old: 112530, new: 0}}",
    )
    entry = next(r for r in figures.readings if r.date == date(2024, 2, 1) and r.source == "entry")
    assert entry.total == total
    assert figures.problems == ()


def test_unit_changed() -> None:
    """Miles replaced by kilometres at 100000 mi = 160934.4 km exactly: 1609.344 km later it is 101000 mi.

    A reading without a unit counts in the unit of the meter that was there: miles before, kilometres after.
    """
    figures = meter_of(
        "date: 2024-01-01\nreading: 99000",
        "date: 2024-02-01\nmeter_changed: {old: 100000 mi, new: 5 km}",
        "date: 2024-03-01\nreading: 1614.344",
        meter="{unit: mi, digits: 6}",
    )
    assert [(r.value, r.unit) for r in figures.readings] == [
        (99000, "mi"),
        (100000, "mi"),
        (5, "km"),
        (Decimal("1614.344"), "km"),
    ]
    assert totals(figures) == [99000, 100000, 100000, 101000]
    assert figures.problems == ()


def test_unit_of_today_in_the_settings() -> None:
    """Where `log.yaml` counts kilometres today, a reading before the change is still in the old meter's miles."""
    figures = meter_of(
        "date: 2024-01-01\nreading: 1000",
        "date: 2024-02-01\nmeter_changed: {old: 1010 mi, new: 0}",
        "date: 2024-03-01\nreading: 100",
    )
    # 1000 mi = 1609.344 km; 1010 mi = 1625.43744 km; and 100 km more
    assert totals(figures) == [Decimal("1609.344"), Decimal("1625.43744"), Decimal("1625.43744"), Decimal("1725.43744")]
    assert figures.unit == "km"


def test_reading_in_another_unit() -> None:
    """A reading in kilometres on a meter in miles is that distance, and is kept as read: 160.9344 km = 100 mi."""
    figures = meter_of("date: 2024-01-01\nreading: 160.9344 km", meter="{unit: mi}")
    assert [(r.value, r.unit, r.total) for r in figures.readings] == [(Decimal("160.9344"), "km", 100)]


def test_hours_and_miles_do_not_mix() -> None:
    """A reading in hours on an odometer, or a change from miles to hours, is an error at the reading."""
    figures = meter_of("date: 2024-01-01\nreading: 12 h", "date: 2024-02-01\nmeter_changed: {old: 10 mi, new: 0 h}")
    assert rules(figures) == [("reading-unit", "error")] * 2
    assert str(figures.problems[0].place) == "entries/e1.md:3:10"


def test_reading_without_a_meter() -> None:
    """A reading with no meter in `log.yaml` is one error, at the first of them."""
    log = log_of(
        "date: 2024-01-01\nreading: 5",
        "date: 2024-01-02\nreading: 6",
        settings="machine: {name: M}\nmoney: {currency: GBP}",
    )
    figures = compute_meter(log, AS_OF)
    assert rules(figures) == [("no-meter", "error")]
    assert (figures.unit, figures.latest, figures.use.reason) == (
        None,
        None,
        "no readings in the last 24 months: 3 are needed",
    )


def test_reading_too_long_for_the_drums() -> None:
    """112530 does not fit on five drums: a warning, for the digits may be what is wrong."""
    assert rules(meter_of("date: 2024-01-01\nreading: 112530", meter=FIVE_DIGITS)) == [("reading-digits", "warning")]


@pytest.mark.parametrize(
    ("meter", "rise", "days", "warned"),
    [
        ("{unit: km}", 1500, 1, False),
        ("{unit: km}", 1501, 1, True),
        ("{unit: km}", 3000, 2, False),
        ("{unit: km}", 3001, 2, True),
        ("{unit: km}", 1500, 0, False),
        ("{unit: km}", 1501, 0, True),
        ("{unit: mi}", 932, 1, False),
        ("{unit: mi}", 933, 1, True),
        ("{unit: h}", 24, 1, False),
        ("{unit: h}", Decimal("24.1"), 1, True),
    ],
)
def test_jump(meter: str, rise: Decimal | int, days: int, warned: bool) -> None:
    """More than 1,500 km (932 mi) or 24 hours a day is a warning; common practice, and the length of a day."""
    day = date(2024, 1, 1) + timedelta(days=days)
    figures = meter_of("date: 2024-01-01\nreading: 1000", f"date: {day}\nreading: {1000 + rise}", meter=meter)
    assert rules(figures) == ([("meter-jumps", "warning")] if warned else [])


def test_two_readings_of_one_day() -> None:
    """Two entries of one day must not fall in the order of their names; a service within one entry may be earlier."""
    fallen = meter_of("date: 2024-01-01\nreading: 500", "date: 2024-01-01\nreading: 499")
    assert rules(fallen) == [("meter-falls", "error")]
    rest = "service: {oil: {name: Oil, every: {months: 12}}}\n"
    one = meter_of("date: 2024-01-01\nreading: 500\nserviced: {item: oil, reading: 480}", rest=rest)
    assert [(r.total, r.source) for r in one.readings] == [(480, "serviced"), (500, "entry")]
    assert one.problems == ()


def test_dates_known_to_the_year() -> None:
    """A reading of "2005" may be of any day of it: it is held against what is surely before and surely after only."""
    rest = """
history:
  - {date: 2005, what: Garage bill, reading: 60000}
  - {date: 2005-03-01, what: Test, reading: 58000}
  - {date: 2006-01-10, what: Test, reading: 61000}
"""
    assert meter_of(rest=rest).problems == ()
    fallen = meter_of(rest=rest.replace("reading: 61000", "reading: 59000"))
    assert [(p.rule, p.place.line, p.also[0].line) for p in fallen.problems] == [("meter-falls", 7, 5)]
    low = meter_of(
        rest=rest.replace("2005, what: Garage bill, reading: 60000", "2007, what: Garage bill, reading: 60000")
    )
    assert [(p.rule, p.place.line, p.also[0].line) for p in low.problems] == [("meter-falls", 5, 7)]


def test_totals_as_of_a_day() -> None:
    """Figures know nothing of what comes after their day; problems are of the whole log."""
    figures = meter_of(*ROLLED, "date: 2024-04-01\nreading: 5000", meter=FIVE_DIGITS, as_of=date(2024, 2, 1))
    assert (totals(figures), figures.offset, figures.steps) == ([98500, 99990], 0, ())
    assert rules(figures) == [("meter-falls", "error")]


def test_total_on_a_day() -> None:
    """On a day between readings the total is the last one before: never more than it was."""
    figures = meter_of("date: 2024-01-10\nreading: 100", "date: 2024-02-10\nreading: 300")
    days = [date(2024, 1, 9), date(2024, 1, 10), date(2024, 2, 9), date(2024, 2, 10), date(2024, 12, 1)]
    assert [find_total(figures, day) for day in days] == [None, 100, 100, 300, 300]
    nearest = find_reading(figures, date(2024, 2, 9))
    assert nearest is not None and nearest.date == date(2024, 1, 10)


# ------------------------------------------------------------------- statement (49 CFR 580.5)


def test_statement_is_never_inferred() -> None:
    """49 CFR 580.5(e): the category is the transferor's to state; without one there is none, rolled over or not."""
    assert meter_of(*ROLLED, meter=FIVE_DIGITS).statement is None
    assert meter_of(meter="{unit: km, statement: exempt}").statement == "exempt"


def test_statement_against_the_record() -> None:
    """`actual` beside a rollover or a changed meter is a warning; it names what may fit and leaves it to the owner."""
    rolled = meter_of(*ROLLED, meter="{unit: km, digits: 5, statement: actual}")
    assert rules(rolled) == [("meter-statement", "warning")]
    assert "exceeds mechanical limits" in rolled.problems[0].help
    assert rolled.problems[0].message == "the meter is stated to show the actual total, but shows `100000 km` less"
    assert rolled.statement == "actual"
    changed = meter_of("date: 2024-02-01\nmeter_changed: {old: 500, new: 0}", meter="{unit: km, statement: actual}")
    assert "`statement: not actual`" in changed.problems[0].help
    higher = meter_of("date: 2024-02-01\nmeter_changed: {old: 500, new: 800}", meter="{unit: km, statement: actual}")
    assert higher.problems[0].message.endswith("shows `300 km` more")


@pytest.mark.parametrize("statement", ["exceeds mechanical limits", "not actual", "exempt"])
def test_other_statements_stand(statement: str) -> None:
    """The other categories say that the total is not shown, which a rollover does not contradict."""
    assert meter_of(*ROLLED, meter=f"{{unit: km, digits: 5, statement: {statement}}}").problems == ()


def test_meter_set_to_the_old_ones_total() -> None:
    """A new meter set to the old one's total shows the actual total, as 49 USC 32704(a) wants it where it can."""
    figures = meter_of("date: 2024-02-01\nmeter_changed: {old: 500, new: 500}", meter="{unit: km, statement: actual}")
    assert (figures.offset, figures.problems) == (0, ())


# ------------------------------------------------------------------- properties


MOVES = st.lists(
    st.tuples(st.integers(0, 40), st.integers(0, 99_999), st.sampled_from(["", "rollover: true", "change"])), max_size=8
)


@given(MOVES)
def test_an_accepted_total_never_falls(moves: list[tuple[int, int, str]]) -> None:
    """Whatever is read, changed and rolled over: where there is no error, the true total never falls."""
    day, heads = date(2020, 1, 1), []
    for days, value, how in moves:
        day += timedelta(days=days)
        change = f"meter_changed: {{old: {value}, new: {value // 3}}}"
        heads.append(f"date: {day}\n" + (change if how == "change" else f"reading: {value}\n{how}"))
    figures = meter_of(*heads, meter=FIVE_DIGITS)
    fell = any(later < earlier for earlier, later in pairwise(totals(figures)))
    assert fell is has_errors(figures.problems)


@given(st.lists(st.integers(0, 300), min_size=1, max_size=12), st.integers(95_000, 99_999))
def test_drums_followed_round(rises: list[int], start: int) -> None:
    """Five drums that pass 99999 and are declared to: the true totals are those that were driven."""
    true, heads, day = start, [], date(2024, 1, 1)
    for rise in rises:
        before, true, day = true, true + rise * 50, day + timedelta(days=30)
        rolled = "\nrollover: true" if true // 100_000 > before // 100_000 else ""
        heads.append(f"date: {day}\nreading: {true % 100_000}{rolled}")
    first = f"date: 2024-01-01\nreading: {start}"
    figures = meter_of(first, *heads, meter=FIVE_DIGITS, as_of=date(2030, 1, 1))
    assert totals(figures)[-1] == true
    assert not has_errors(figures.problems)
