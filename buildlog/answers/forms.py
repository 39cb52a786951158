"""An answer in all its forms: tables for a terminal, JSON, CSV (RFC 4180), iCalendar (RFC 5545).

The figures are the same in each; CSV is for a spreadsheet, and iCalendar for what has a day.
"""

from __future__ import annotations

import csv
import datetime
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from buildlog.compute.costs.lines import UNNAMED
from buildlog.compute.figures import Figures
from buildlog.compute.parts.deadlines import Deadline
from buildlog.compute.quantities.money import Money, round_to_minor_unit
from buildlog.compute.service.due_status import Due
from buildlog.frozen import frozen
from buildlog.text import count, replace_unprintable, tame


@frozen
class Table:
    """Some rows under headings."""

    title: str
    "line above it; empty: none"
    columns: tuple[str, ...]
    "a heading that ends in `>` is of a column of figures, set to the right"
    rows: tuple[tuple[str, ...], ...]
    "a cell for each column, finished text; the owner's words are tamed when the table is drawn"
    empty: str = "nothing"
    "what to say when there is no row"

    def without_empty_columns(self) -> Table:
        """The table less the columns in which no row says anything."""
        kept = [at for at in range(len(self.columns)) if any(row[at] for row in self.rows)]
        rows = tuple(tuple(row[at] for at in kept) for row in self.rows)
        return replace(self, columns=tuple(self.columns[at] for at in kept), rows=rows)


@frozen
class Answer:
    """One answer in both forms."""

    tables: tuple[Table, ...]
    "in the order in which they are printed"
    data: Any
    "plain values; amounts are decimal strings in the home currency"

    def as_text(self) -> str:
        """Tables for a terminal."""
        return "\n".join(_draw(table) for table in self.tables)

    def as_json(self) -> str:
        """The figures, indented, with one line end at the end."""
        # Letters as they are: JSON is UTF-8 (RFC 8259, section 8.1), and an owner reads it too.
        return json.dumps(self.data, indent=2, ensure_ascii=False) + "\n"


def write_amount(money: Money) -> str:
    """An amount with all decimals of its currency, as text that no reader turns into a binary float."""
    return f"{round_to_minor_unit(money.amount, money.currency).amount:f}"


def _draw(table: Table) -> str:
    """The table as lines of text; columns as wide as their widest cell."""
    head = f"{table.title}\n" if table.title else ""
    if not table.rows:
        return f"{head}{tame(table.empty)}\n"
    titles = tuple(column.removesuffix(">") for column in table.columns)
    rows = [tuple(map(tame, row)) for row in table.rows]
    # Characters, not columns of the terminal: wide letters (East Asian ones) set a row askew, and no figure wrong.
    widths = [max(len(row[at]) for row in (titles, *rows)) for at in range(len(titles))]
    rule = tuple("-" * width for width in widths)
    lines = (_draw_row(row, widths, table.columns) for row in (titles, rule, *rows))
    return head + "".join(f"{line}\n" for line in lines)


def _draw_row(row: Sequence[str], widths: Sequence[int], columns: Sequence[str]) -> str:
    cells = (
        cell.rjust(width) if column.endswith(">") else cell.ljust(width)
        for cell, width, column in zip(row, widths, columns, strict=True)
    )
    return "  ".join(cells).rstrip()


FIGURES = frozenset(
    "landed qty bought came_with in_the_post shelf on_machine cancelled returned sold gone arrived fitted removed kept "
    "scrapped due_reading".split()
)
"Columns of numbers, which stand as they are."
FORMULA = re.compile(r"[=+\-@\t\r]")
"""What a text begins with that a spreadsheet would work out instead of showing it: OWASP, CSV Injection.

A single quote in front of it is how a spreadsheet is told that a cell is text.
"""
LONGEST_ROW = 75
"Octets of a line of a calendar, without its end (RFC 5545, section 3.1)."


# ── CSV ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def export_costs(data: Mapping[str, Any]) -> bytes:
    """Every amount of an answer about costs, a row each, and what it counts as."""
    kinds = (("lines", "spent"), ("committed_lines", "committed"), ("recovered_lines", "recovered"))
    rows = [{"counts_as": words, **line} for key, words in kinds for line in data[key]]
    head = "counts_as entry date what qty unit landed sort part system kind fault supplier order".split()
    return _write_csv([*head, "currency"], [{**row, "currency": data["currency"]} for row in rows])


def export_rows(data: Sequence[Mapping[str, Any]], head: Sequence[str]) -> bytes:
    """The rows of an answer that is a list, with these of their keys; a list in a cell is parted by `; `."""
    return _write_csv(head, data)


PARTS = (
    "part name numbers maker system spec single_use original unit bought came_with in_the_post shelf on_machine "
    "cancelled returned sold gone"
).split()
DUE = "item name state due_date due_reading unit forecast last_done deadline".split()


def _write_csv(head: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> bytes:
    """RFC 4180: commas, CRLF, quotes where they are needed; UTF-8."""
    made = io.StringIO()
    writer = csv.writer(made, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([_write_cell(key, row.get(key)) for key in head] for row in rows)
    return made.getvalue().encode()


def _write_cell(key: str, value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = "; ".join(map(str, value)) if isinstance(value, list) else str(value)
    return text if key in FIGURES or not FORMULA.match(text) else f"'{text}"


# ── iCalendar ────────────────────────────────────────────────────────────────────────────────────────────────────


def export_calendar(figures: Figures) -> bytes:
    """What falls due as all-day events, each on the earlier of its day and the day its reading is reached.

    An event is the same one in the next file, so that a calendar moves it. What has no day is in none.
    """
    rows = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//buildlog//due//EN", "CALSCALE:GREGORIAN"]
    for item in figures.due:
        if item.due_on is not None:
            rows += _write_event(item, item.due_on, figures)
    for deadline in figures.deadlines:
        rows += _write_deadline(deadline, figures)
    rows.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for row in rows for part in _fold(row)).encode()


def count_dayless(figures: Figures) -> str:
    """How many are in no calendar, in words; empty: none."""
    number = sum(item.due_on is None for item in figures.due)
    return f"{count(number, 'item')} without a day {'is' if number == 1 else 'are'} not in it" if number else ""


RUNS_OUT = {"warranty": "warranty ends", "return": "last day to send it back", "core": "old unit to be handed in"}
"What a deadline is, in words."


def _write_deadline(deadline: Deadline, figures: Figures) -> Iterator[str]:
    machine, name = figures.log.settings.machine.name, deadline.name or UNNAMED
    seed = f"{figures.log.settings.site.id or machine}/{deadline.entry}/{deadline.ref}/{name}/{deadline.kind}"
    order = f", order {deadline.ref}" if deadline.ref else ""
    says = f"{deadline.state}, as of {figures.as_of}; {deadline.supplier}{order}"
    yield "BEGIN:VEVENT"
    yield f"UID:{_make_uid(seed)}"
    yield f"DTSTAMP:{figures.as_of:%Y%m%d}T000000Z"
    yield f"DTSTART;VALUE=DATE:{deadline.until:%Y%m%d}"
    yield f"SUMMARY:{_escape(f'{machine}: {name}, {RUNS_OUT[deadline.kind]}')}"
    yield f"DESCRIPTION:{_escape(says)}"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _write_event(item: Due, day: datetime.date, figures: Figures) -> Iterator[str]:
    machine = figures.log.settings.machine.name
    # of the log and the item alone: their names may change, and the event stays the same one
    seed = f"{figures.log.settings.site.id or machine}/{item.key}"
    says = [f"{item.state}, as of {figures.as_of}"]
    says += [f"by {item.due_date}"] if item.due_date else []
    if item.due_reading is not None:
        unit = f" {figures.meter.unit}" if figures.meter.unit else ""
        says.append(f"at {item.due_reading:f}{unit}{f', about {item.forecast}' if item.forecast else ''}")
    says.append(f"last done {item.last_when or 'never on record'}")
    yield "BEGIN:VEVENT"
    yield f"UID:{_make_uid(seed)}"
    # the moment of the answer and not of the clock: the same log and day make the same bytes
    yield f"DTSTAMP:{figures.as_of:%Y%m%d}T000000Z"
    yield f"DTSTART;VALUE=DATE:{day:%Y%m%d}"
    yield f"SUMMARY:{_escape(f'{machine}: {item.name}')}"
    yield f"DESCRIPTION:{_escape('; '.join(says))}"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _make_uid(seed: str) -> str:
    import uuid  # calendars alone need it

    return str(uuid.uuid5(uuid.NAMESPACE_URL, seed))


def _escape(text: str) -> str:
    """A text as a value (RFC 5545, section 3.3.11); what ends a line or is not seen is a blank."""
    return re.sub(r"([\\;,])", r"\\\1", replace_unprintable(text, " "))


def _fold(row: str) -> Iterator[str]:
    """A line in pieces that are short enough, those after the first behind a blank; no letter is cut in two."""
    piece, room = "", LONGEST_ROW
    for sign in row:
        size = len(sign.encode())
        if size > room:
            yield piece
            piece, room = " ", LONGEST_ROW - 1
        piece, room = piece + sign, room - size
    yield piece
