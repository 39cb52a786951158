"""How regularly was a service item done: each time with how early or late it was, and each gap?

A gap is a time between two services, or since the last one, that was longer than the interval.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Literal

from buildlog.frozen import frozen
from buildlog.reckon.service.calendar import reckon_due_date
from buildlog.reckon.service.times import ServiceTime


@frozen
class Limits:
    """How often an item is due, in what the meter counts."""

    months: int | None
    distance: Decimal | None
    "in the unit of the meter's figures, hours on an hour meter"


@frozen
class Mark:
    """A day and a total to count from, or to count to."""

    date: datetime.date
    total: Decimal | None


@frozen
class ServiceRow:
    """One row of an item's history: a time that it was done, or a gap before it or since."""

    kind: Literal["done", "gap"]
    time: ServiceTime | None
    "None for a gap"
    since: datetime.date | None
    "the time before, or the day that the item is counted from; None where there is neither"
    until: datetime.date | None
    "the day it was done; None for a gap that is still open"
    days: int | None
    "from the time before, or to the day asked for where a gap is still open"
    distance: Decimal | None
    "by the meter over the same time; None where either total is not known"
    days_late: int | None
    "after its due date; below zero: early; None where no date limit applied"
    distance_late: Decimal | None
    "beyond its due total; below zero: early; None where no such limit applied, or a total is not known"
    days_approximate: bool
    "whether a day that `days` rests on is not known, so that it is at most so many"
    distance_approximate: bool
    "whether no reading was taken on a day that `distance` rests on"


def reckon_due(limits: Limits, anchor: Mark) -> tuple[datetime.date | None, Decimal | None]:
    """The date and the total at which an item is due next after an anchor; None for a limit that does not apply."""
    date = None if limits.months is None else reckon_due_date(anchor.date, limits.months)
    return date, None if limits.distance is None or anchor.total is None else anchor.total + limits.distance


def list_rows(times: Sequence[ServiceTime], limits: Limits, *, start: Mark | None, end: Mark) -> tuple[ServiceRow, ...]:
    """The history of an item, oldest first, its gaps in their places.

    `start` is where an item is counted from that has not been done before; `end` is the day asked for.
    """
    rows: list[ServiceRow] = []
    before: ServiceTime | None = None
    mark = start
    for time in times:
        now = Mark(date=time.date, total=time.total)
        row = _compare(limits, mark, now, ends=(before, time))
        rows += [_make_gap(row), row] if _is_gap(row) else [row]
        before, mark = time, now
    if mark is not None:
        still = _compare(limits, mark, end, ends=(before, None))
        rows += [_make_gap(still)] if _is_gap(still) else []
    return tuple(rows)


def _compare(
    limits: Limits, before: Mark | None, now: Mark, *, ends: tuple[ServiceTime | None, ServiceTime | None]
) -> ServiceRow:
    """The row of what ended at `now`; `ends` are the times that were done at its start and end, where there are."""
    date, total = (None, None) if before is None else reckon_due(limits, before)
    times = [time for time in ends if time is not None] if before else []
    return ServiceRow(
        kind="done",
        time=ends[1],
        since=before.date if before else None,
        until=now.date if ends[1] else None,
        days=(now.date - before.date).days if before else None,
        distance=_subtract(now.total, before.total) if before else None,
        days_late=None if date is None else (now.date - date).days,
        distance_late=_subtract(now.total, total),
        days_approximate=any(not time.exact for time in times),
        distance_approximate=any(time.reading is None for time in times),
    )


def _subtract(total: Decimal | None, other: Decimal | None) -> Decimal | None:
    return None if total is None or other is None else total - other


def _is_gap(row: ServiceRow) -> bool:
    return (row.days_late or 0) > 0 or (row.distance_late or 0) > 0


def _make_gap(row: ServiceRow) -> ServiceRow:
    return replace(row, kind="gap", time=None)
