"""What is due, when and why; how regularly it was done; what should have been looked at in the same go."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from buildlog.compute.meter.meter import compute_meter
from buildlog.compute.parts.names import name_parts
from buildlog.compute.service.items import ServiceFigures, ServiceItemFigures, compute_service
from tests.support import log_of

OIL = "oil: {name: Oil, every: {months: 12, distance: 15000}}"


def service_of(
    *heads: str, items: str = OIL, unit: str = "km", rest: str = "", as_of: str = "2025-01-01"
) -> ServiceFigures:
    meter = f", meter: {{unit: {unit}}}" if unit else ""
    settings = f"machine: {{name: Test machine{meter}}}\nmoney: {{currency: GBP}}\nservice:\n  {items}\n{rest}"
    log, day = log_of(*heads, settings=settings), date.fromisoformat(as_of)
    return compute_service(log, day, meter=compute_meter(log, day), names=name_parts(log)[0])


def item_of(
    *heads: str, items: str = OIL, unit: str = "km", rest: str = "", as_of: str = "2025-01-01"
) -> ServiceItemFigures:
    (item,) = service_of(*heads, items=items, unit=unit, rest=rest, as_of=as_of).items
    return item


def driven(per_day: int) -> list[str]:
    """Done on 2024-01-31 at 50000 km, and read after 29, 60 and 90 days at so many km a day."""
    days = [(date(2024, 1, 31) + timedelta(days=n), 50000 + n * per_day) for n in (29, 60, 90)]
    done = "date: 2024-01-31\nreading: 50000\nserviced: [oil]"
    return [done, *(f"date: {day}\nreading: {km}" for day, km in days)]


def test_whichever_first_by_reading() -> None:
    """12 months or 15000 km from 2024-01-31 at 50000 km: at 50 km a day 65000 km come after 300 days, 2024-11-26."""
    item = item_of(*driven(50), as_of="2024-05-01")
    assert (item.due_date, item.due_total) == (date(2025, 1, 31), 65000)
    assert (item.forecast, item.due_on, item.reason) == (date(2024, 11, 26), date(2024, 11, 26), "reading")
    assert (item.state, item.distance_left) == ("later", 65000 - 54500)


def test_whichever_first_by_date() -> None:
    """At 30 km a day 65000 km come after 500 days, 2025-06-14: the date is first, 2025-01-31."""
    item = item_of(*driven(30), as_of="2024-05-01")
    assert (item.forecast, item.due_on, item.reason) == (date(2025, 6, 14), date(2025, 1, 31), "date")


@pytest.mark.parametrize(
    ("as_of", "state", "left"),
    [
        ("2025-01-01", "due", 30),  # 30 days before: the notice
        ("2024-12-31", "later", 31),
        ("2025-01-31", "due", 0),
        ("2025-02-01", "overdue", -1),
    ],
)
def test_due_on_the_day_overdue_the_day_after(as_of: str, state: str, left: int) -> None:
    """Due from 30 days before and on the day itself, overdue the day after."""
    item = item_of("date: 2024-01-31\nserviced: [oil]", items="oil: {name: Oil, every: {months: 12}}", as_of=as_of)
    assert (item.state, item.days_left, item.due_on, item.reason) == (state, left, date(2025, 1, 31), "date")


@pytest.mark.parametrize(
    ("now", "state", "left"),
    [(64249, "later", 751), (64250, "due", 750), (65000, "due", 0), ("65000.1", "overdue", Decimal("-0.1"))],
)
def test_due_at_the_reading_overdue_above_it(now: str | int, state: str, left: Decimal | int) -> None:
    """Due from a twentieth of 15000 km (750) before and at the reading itself, overdue above it."""
    item = item_of(
        "date: 2024-01-31\nreading: 50000\nserviced: [oil]",
        f"date: 2024-02-10\nreading: {now}",
        items="oil: {name: Oil, every: {distance: 15000}}",
        as_of="2024-02-11",
    )
    assert (item.state, item.distance_left, item.reason) == (state, left, "reading")


def test_own_notice() -> None:
    """`notice:` sets when an item is called due; what it leaves out keeps 30 days and a twentieth."""
    items = "oil: {name: Oil, every: {months: 12, distance: 15000}, notice: {days: 5}}"
    heads = ["date: 2024-01-31\nreading: 50000\nserviced: [oil]"]
    assert item_of(*heads, items=items, as_of="2025-01-25").state == "later"
    assert item_of(*heads, items=items, as_of="2025-01-26").state == "due"
    assert item_of(*heads, "date: 2024-02-20\nreading: 64250", items=items, as_of="2024-02-20").state == "due"


def test_reached_reading_has_its_day() -> None:
    """A due reading that was passed is dated by the first reading at or above it, not by an estimate."""
    item = item_of(*driven(200), "date: 2024-06-01\nreading: 70000", as_of="2024-06-02")
    # 50000 + 60·200 = 62000, 50000 + 90·200 = 68000 on 2024-04-30
    assert (item.reached, item.forecast, item.due_on) == (date(2024, 4, 30), None, date(2024, 4, 30))
    assert (item.state, item.reason, item.distance_left) == ("overdue", "reading", -5000)


def test_a_forecast_day_that_passed_is_due_not_overdue() -> None:
    """When the day of a forecast passes with no new reading the item is due; overdue only when the meter shows it."""
    item = item_of(*driven(50), as_of="2024-12-15", items="oil: {name: Oil, every: {distance: 15000}}")
    assert (item.forecast, item.state, item.distance_left) == (date(2024, 11, 26), "due", 10500)


def test_month_ends() -> None:
    """From 31 August six months are 29 February in a leap year (calendar months, clamped)."""
    items = "oil: {name: Oil, every: {months: 6}}"
    assert item_of("date: 2023-08-31\nserviced: [oil]", items=items).due_date == date(2024, 2, 29)


# ------------------------------------------------------------------- unknown history


def test_never_done_is_unknown() -> None:
    """Never done on record: unknown, with no date and no row; it stands after what is due and before what is fine."""
    figures = service_of(
        "date: 2024-12-01\nserviced: [b, c]",
        "date: 2023-12-10\nserviced: [d]",
        items="""a: {name: A, every: {months: 12}}
  b: {name: B, every: {months: 12}}
  c: {name: C, every: {months: 24}}
  d: {name: D, every: {months: 12}}
  e: {name: E, every: {months: 12}, since: 2023-06-01}""",
        as_of="2024-12-01",
    )
    assert [(item.key, item.state) for item in figures.items] == [
        ("e", "overdue"),
        ("d", "due"),
        ("a", "history unknown"),
        ("b", "later"),
        ("c", "later"),
    ]
    unknown = figures.items[2]
    assert (unknown.due_on, unknown.reason, unknown.last, unknown.rows) == (None, None, None, ())


def test_counted_from_a_day() -> None:
    """`since:` stands in for a first time: its day, and the total of that day."""
    items = "oil: {name: Oil, every: {months: 12, distance: 1000}, since: 2024-03-01}"
    item = item_of("date: 2024-02-01\nreading: 500", "date: 2024-04-01\nreading: 600", items=items, as_of="2024-04-01")
    assert (item.due_date, item.due_total, item.counted_from) == (date(2025, 3, 1), 1500, date(2024, 3, 1))
    assert (item.last, item.state) == (None, "later")


def test_no_limit_can_be_computed() -> None:
    """Done at a total that nobody knows, and due by distance alone: unknown, never fine."""
    items = "oil: {name: Oil, every: {distance: 1000}}"
    item = item_of("date: 2024-02-01\nserviced: [oil]", "date: 2024-04-01\nreading: 600", items=items)
    assert (item.state, item.total_unknown, item.last is not None) == ("history unknown", True, True)


def test_total_of_the_reading_before() -> None:
    """A service without a reading counts from the last reading before it: never later than it is due."""
    item = item_of(
        "date: 2024-01-01\nreading: 500", "date: 2024-03-01\nserviced: [oil]", "date: 2024-04-01\nreading: 900"
    )
    assert item.due_total == 15500
    assert item.last is not None and item.last.reading is None and item.last.total == 500


@pytest.mark.parametrize(
    ("when", "due", "exact"),
    [("2023", "2024-01-01", False), ("2023-06", "2024-06-01", False), ("2023-06-15", "2024-06-15", True)],
)
def test_inherited_dates_are_taken_early(when: str, due: str, exact: bool) -> None:
    """An inherited date known to the year or month counts from its first day, so that the next is due sooner."""
    rest = f"history: [{{date: {when}, what: Oil, serviced: [oil], reading: 100, who: Garage}}]\n"
    item = item_of(rest=rest, as_of="2023-12-01")
    assert (item.due_date, item.due_total) == (date.fromisoformat(due), 15100)
    assert item.last is not None
    assert (item.last.when, item.last.exact, item.last.who, item.last.level) == (when, exact, "Garage", "handed down")


def test_nothing_from_after_the_day() -> None:
    """As of a day, what was done later is not known yet."""
    assert item_of("date: 2024-06-01\nserviced: [oil]", as_of="2024-05-31").state == "history unknown"


def test_true_totals_and_what_the_meter_shows() -> None:
    """Done at 112000, meter replaced at 112530 by one at 0: due at a total of 127000, which it shows as 14470."""
    item = item_of(
        "date: 2024-01-01\nreading: 112000\nserviced: [oil]",
        "date: 2024-02-01\nmeter_changed: {old: 112530, new: 0}",
        as_of="2024-02-02",
    )
    assert (item.due_total, item.due_reading, item.distance_left) == (127000, 14470, 14470)


def test_hours() -> None:
    """On an hour meter the interval is in hours; its notice is a twentieth of them, 5 of 100."""
    items = "oil: {name: Oil, every: {hours: 100}}"
    heads = ["date: 2024-01-01\nreading: 20.5\nserviced: [oil]"]
    due = item_of(*heads, "date: 2024-06-01\nreading: 115.5", items=items, unit="h")
    assert (due.due_total, due.distance_left, due.state) == (Decimal("120.5"), 5, "due")


# ------------------------------------------------------------------- history


def test_last_done() -> None:
    """Last done: date, reading as read, who, parts by the number bought last before, and evidence."""
    item = item_of(
        "date: 2024-01-01\nbought: {from: A, arrived: 2024-01-02, lines: [{part: oil-filter, number: W 7-1, each: 5}]}",
        """
        date: 2024-02-01
        reading: 900
        serviced: {item: oil, reading: 890, who: Village garage, parts: [oil-filter], note: 5 l of 15W-40}
        photos: {file: a.jpg, says: Oil filter, shows: [oil]}
        """,
        """
        date: 2024-03-01
        bought: {from: A, lines: [{part: oil-filter, number: W 7-2, replaces_number: W 7-1, each: 5}]}
        """,
    )
    last = item.last
    assert last is not None and last.reading is not None
    assert (last.date, last.reading.value, last.total, last.who) == (date(2024, 2, 1), 890, 890, "Village garage")
    assert [(part.key, part.number) for part in last.parts] == [("oil-filter", "W 7-1")]
    assert (last.level, last.note, last.entry) == ("in pictures", "5 l of 15W-40", "e2")


def rows_of(item: ServiceItemFigures) -> list[tuple[object, ...]]:
    return [(row.kind, str(row.until or "open"), row.days_late, row.distance_late) for row in item.rows]


def test_early_and_late() -> None:
    """Each time tells by how much it was early (below zero) or late against both limits; the first has no measure.

    2023-01-10 at 1000: due 2024-01-10 or 16000. 2023-12-31 at 15000: 10 days, 1000 km early. Then due 2024-12-30 or
    30000; as of 2024-12-30 nothing is late.
    """
    item = item_of(
        "date: 2023-01-10\nreading: 1000\nserviced: [oil]",
        "date: 2023-12-31\nreading: 15000\nserviced: [oil]",
        as_of="2024-12-30",
    )
    assert rows_of(item) == [("done", "2023-01-10", None, None), ("done", "2023-12-31", -10, -1000)]
    assert [(row.days, row.distance) for row in item.rows] == [(None, None), (355, 14000)]


def test_gaps_are_rows() -> None:
    """A time longer than the interval is a row of its own, before the time that ended it; an open one stands last.

    2021-01-10 to 2022-01-11 is a day more than 12 months; 2022-01-11 at 3000 to 2022-06-01 at 18001 is 1 km more than
    15000 km; from 2022-06-01 to 2023-06-02 is a day more again.
    """
    item = item_of(
        "date: 2021-01-10\nreading: 1000\nserviced: [oil]",
        "date: 2022-01-11\nreading: 3000\nserviced: [oil]",
        "date: 2022-06-01\nreading: 18001\nserviced: [oil]",
        as_of="2023-06-02",
    )
    assert rows_of(item) == [
        ("done", "2021-01-10", None, None),
        ("gap", "2022-01-11", 1, -13000),
        ("done", "2022-01-11", 1, -13000),
        ("gap", "2022-06-01", -224, 1),
        ("done", "2022-06-01", -224, 1),
        ("gap", "open", 1, -15000),
    ]
    assert item.state == "overdue"
    assert (item.rows[1].since, item.rows[1].days) == (date(2021, 1, 10), 366)


def test_a_gap_from_the_day_it_is_counted_from() -> None:
    """`since:` opens the history: a first time after its limit ends a gap, and none at all leaves one open."""
    items = "oil: {name: Oil, every: {months: 12}, since: 2022-01-01}"
    assert rows_of(item_of(items=items, as_of="2023-01-01")) == []
    assert rows_of(item_of(items=items, as_of="2023-01-02")) == [("gap", "open", 1, None)]
    done = item_of("date: 2023-02-01\nserviced: [oil]", items=items, as_of="2023-03-01")
    assert rows_of(done) == [("gap", "2023-02-01", 31, None), ("done", "2023-02-01", 31, None)]


def test_vague_rows_say_so() -> None:
    """Days are approximate where one of both days is not known, distances where one of both readings was not taken."""
    rest = "history: [{date: 2023, what: Oil, serviced: [oil], reading: 100}]\n"
    heads = ["date: 2023-12-01\nreading: 900\nserviced: [oil]", "date: 2024-11-01\nserviced: [oil]"]
    rows = item_of(*heads, rest=rest).rows
    assert [(row.days_approximate, row.distance_approximate) for row in rows] == [
        (False, False),
        (True, False),
        (False, True),
    ]


# ------------------------------------------------------------------- problems


@pytest.mark.parametrize(
    ("every", "unit", "rule"),
    [
        ("{}", "km", "interval-empty"),
        ("{hours: 50}", "km", "interval-unit"),
        ("{distance: 50}", "h", "interval-unit"),
        ("{distance: 50}", "", "interval-unit"),
        ("{months: 1201}", "km", "interval-too-long"),
    ],
)
def test_intervals_that_cannot_be_counted(every: str, unit: str, rule: str) -> None:
    """An interval that is empty, longer than a century, or in what the meter does not count is an error."""
    figures = service_of("date: 2024-01-01\nserviced: [oil]", items=f"oil: {{name: Oil, every: {every}}}", unit=unit)
    assert [(p.rule, p.severity, p.place.line) for p in figures.problems] == [(rule, "error", 4)]
    assert figures.items[0].state == "history unknown"


WINCH = "winch-oil: {name: Winch oil, every: {months: 60}, covers: [drag-brake, rope-guide]}"
PARTS_OF_WINCH = "components: {winch-oil: {}, drag-brake: {}, rope-guide: {driven_by: winch-oil}}\n"


def warnings(*heads: str) -> list[str]:
    figures = service_of(*heads, items=WINCH, rest=PARTS_OF_WINCH)
    assert all((p.rule, p.severity) == ("cover-missed", "warning") for p in figures.problems)
    return [p.message for p in figures.problems]


def test_covers_missed() -> None:
    """Winch oil changed without a look at the drag brake and the rope guide is a warning that names both."""
    (message,) = warnings("date: 2024-05-18\nserviced: [winch-oil]")
    missed = "`drag-brake`, `rope-guide`"
    said = f"`winch-oil` was done on 2024-05-18, but nothing was done to {missed}, which it covers, within 30 days"
    assert message == said


@pytest.mark.parametrize(
    "how",
    [
        "serviced: {item: winch-oil, looked_at: [drag-brake, rope-guide]}",
        "serviced: {item: winch-oil, parts: [drag-brake], looked_at: [rope-guide]}",
        "serviced: [winch-oil]\nfitted: [drag-brake, {part: guide-b, instead_of: rope-guide}]",
        "serviced: {item: winch-oil, looked_at: [drag-brake]}\nchecks: {fault: noise, did: Ran, clears: [winch-oil]}",
        "serviced: {item: winch-oil, looked_at: [drag-brake]}\nremoved: [rope-guide]",
    ],
)
def test_covers_done(how: str) -> None:
    """Fitted, removed, checked (by its group as well), or looked at in the same go: no warning."""
    assert warnings(f"date: 2024-05-18\n{how}") == []


@pytest.mark.parametrize(
    ("day", "missed"), [("2024-06-17", 0), ("2024-06-18", 1), ("2024-04-18", 0), ("2024-04-17", 1)]
)
def test_the_same_go_is_thirty_days(day: str, missed: int) -> None:
    """Work of 30 days before or after 2024-05-18 is the same go; a day more is not."""
    fitted = f"date: {day}\nfitted: [drag-brake, rope-guide]"
    assert len(warnings("date: 2024-05-18\nserviced: [winch-oil]", fitted)) == missed


@pytest.mark.parametrize(("years", "due", "days"), [(3, "2018-05-18", 2192), (5, "2020-05-18", 1461)])
def test_winch_oil_of_nine_years(years: int, due: str, days: int) -> None:
    """Winch oil of 18 May 2015 on 18 May 2024, common practice, no source: by an interval of three years it is overdue
    by six years to the day (4 × 365 + 2 × 366 days), by one of five by four (3 × 365 + 366 days)."""
    items = f"winch-oil: {{name: Winch oil, every: {{months: {years * 12}}}}}"
    rest = "history: {date: 2015-05-18, what: Winch oil renewed, serviced: [winch-oil]}\n"
    oil = item_of("date: 2024-05-18", items=items, rest=rest, as_of="2024-05-18")
    assert (oil.state, oil.due_date, oil.days_left) == ("overdue", date.fromisoformat(due), -days)
    assert oil.due_date.replace(year=oil.due_date.year + 9 - years) == date(2024, 5, 18)
