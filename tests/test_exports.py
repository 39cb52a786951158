"""Answers for a spreadsheet and for a calendar, read back by the readers of others."""

from __future__ import annotations

import csv
import datetime
import io
import json
from decimal import Decimal
from pathlib import Path

import icalendar
import pytest

from buildlog.answers.forms import export_calendar
from buildlog.compute.figures import compute_figures
from tests.support import log_of
from tests.test_cli import run

EXAMPLE = Path(__file__).parent.parent / "example_project"
DAY = ("--as-of", "2024-11-30")

pytestmark = pytest.mark.outside


def read_csv(*arguments: str | Path) -> list[dict[str, str]]:
    """By Python's `csv`, as strictly as it can: RFC 4180."""
    done = run(*arguments, *DAY, "--csv")
    assert done.exit_code == 0, done.output
    text = done.stdout_bytes.decode()
    assert text.count("\r\n") == text.count("\n"), "each line ends in CRLF"
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_costs_are_a_row_for_each_amount() -> None:
    """The rows add up to the totals that the same answer gives."""
    rows = read_csv("costs", EXAMPLE)
    told = json.loads(run("costs", EXAMPLE, *DAY, "--json").stdout)
    for words in ("spent", "committed", "recovered"):
        summed = sum(Decimal(row["landed"]) for row in rows if row["counts_as"] == words)
        assert abs(summed) == abs(Decimal(told[words])), words
    assert {row["currency"] for row in rows} == {"GBP"}
    assert [row["what"] for row in rows if row["counts_as"] == "spent"] == [line["what"] for line in told["lines"]]


@pytest.mark.parametrize("question", ["parts", "due"])
def test_rows_are_those_of_the_json(question: str) -> None:
    """Each cell says what the JSON says; a list stands in one cell."""
    told = json.loads(run(question, EXAMPLE, *DAY, "--json").stdout)
    rows = read_csv(question, EXAMPLE)
    assert len(rows) == len(told) > 5
    for row, item in zip(rows, told, strict=True):
        for key, cell in row.items():
            value = item[key]
            shown = (
                "; ".join(value) if isinstance(value, list) else {True: "yes", False: "no", None: ""}.get(value, value)
            )
            assert cell == shown


FORMULAS = ("=1+1", "+49 123", "-x", "@SUM(A1)", '=HYPERLINK("http://127.0.0.1", "a, b")')


def test_no_text_is_a_formula(tmp_path: Path) -> None:
    """What a spreadsheet would work out is marked as text; numbers below zero stay numbers."""
    lines = ", ".join(f"{{what: '{text}', each: 1.00}}" for text in FORMULAS)
    (tmp_path / "entries").mkdir()
    (tmp_path / "log.yaml").write_text("machine: {name: M}\nmoney: {currency: GBP}\nsite: {id: x}\n")
    head = "date: 2024-05-18\ntitle: T\nbought: {from: '=A1', paid: 2024-05-18, lines: [%s, {what: Off, each: -2.00}]}"
    (tmp_path / "entries/2024-05-18-t.md").write_text(f"---\n{head % lines}\n---\n")
    rows = read_csv("costs", tmp_path)
    assert [row["what"] for row in rows] == [*(f"'{text}" for text in FORMULAS), "Off"]
    assert {row["supplier"] for row in rows} == {"'=A1"}
    assert rows[-1]["landed"] == "-2.00"


def read_events(data: bytes) -> list[icalendar.Event]:
    """By icalendar, with each line no longer than RFC 5545 has it."""
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    assert data.count(b"\r\n") == data.count(b"\n")
    calendar = icalendar.Calendar.from_ical(data)
    assert (calendar["VERSION"], calendar.errors) == ("2.0", [])
    events = [event for event in calendar.walk("VEVENT") if isinstance(event, icalendar.Event)]
    assert all(event.errors == [] for event in events)
    return events


def test_what_falls_due_is_an_event_on_its_day() -> None:
    """The earlier of the day it is due by and the day its reading is reached; what has no day is counted."""
    done = run("due", EXAMPLE, *DAY, "--ics")
    events = read_events(done.stdout_bytes)
    told = json.loads(run("due", EXAMPLE, *DAY, "--json").stdout)
    days = {
        f"The Sedge: {item['name']}": min(day for day in (item["due_date"], item["forecast"]) if day)
        for item in told
        if not item["deadline"] and (item["due_date"] or item["forecast"])
    }
    found = {str(event["SUMMARY"]): event["DTSTART"].dt.isoformat() for event in events}
    assert days.items() <= found.items()
    # What else runs out, that of later days too: the bush's warranty, and what `due` lists by now.
    rest = {name: day for name, day in found.items() if name not in days}
    soon = [f"The Sedge: {item['name']}, " for item in told if item["deadline"]]
    assert len(soon) == 3 and all(any(name.startswith(start) for name in rest) for start in soon)
    assert rest["The Sedge: Gear lever bush in nylon, warranty ends"] == "2025-02-23"
    assert f"{len([item for item in told if not item['deadline']]) - len(days)} item without a day" in done.stderr
    assert len({str(event["UID"]) for event in events}) == len(events)


def test_an_event_stays_the_same_one() -> None:
    """Its UID hangs on the log and the item alone, so that a calendar moves it; the same day makes the same bytes."""
    settings = (
        "machine: {name: %s, meter: km}\nmoney: {currency: GBP}\nsite: {id: tom}\n"
        "service: {oil: {name: '%s', every: {months: 12}}}\n"
    )
    heads = ["date: 2024-01-10\nserviced: oil\nreading: 100", "date: 2024-03-10\nserviced: oil\nreading: 200"]
    name = "Oil; filter, and a very long name with ümlauts ä ö ü \\ that has to be folded somewhere"
    first = compute_figures(log_of(heads[0], settings=settings % ("Tom", name)), datetime.date(2024, 2, 1))
    later = compute_figures(log_of(*heads, settings=settings % ("Old Tom", "Oil")), datetime.date(2024, 4, 1))
    [one], [two] = read_events(export_calendar(first)), read_events(export_calendar(later))
    assert one["UID"] == two["UID"]
    assert (one["DTSTART"].dt, two["DTSTART"].dt) == (datetime.date(2025, 1, 10), datetime.date(2025, 3, 10))
    assert str(one["SUMMARY"]) == f"Tom: {name}"
    assert export_calendar(first) == export_calendar(first)


def test_only_one_form_at_a_time() -> None:
    """Two forms in one output would be neither."""
    done = run("due", EXAMPLE, *DAY, "--csv", "--ics")
    assert (done.exit_code, done.stdout) == (2, "")
    assert "choose one of --csv and --ics" in done.stderr
