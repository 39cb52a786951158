"""What is due, when, and why?

An item is due at the earlier of last date plus months and last total plus distance. Whichever comes first is usual
wording in makers' schedules; the intervals are the owner's plan, and the maker's book comes first. What *due* and
*overdue* mean is in `due_status`; the times it was done come from `times`. Each of them makes a row of the history,
and so does each gap; what an item covers should have been looked at in the same go.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Literal

from buildlog.arithmetic import compute_due_date
from buildlog.compute.meter.meter import MeterFigures, find_total
from buildlog.compute.parts.names import PartNames
from buildlog.compute.service.due_status import Due, DueLimits, compute_due_status, rank_due
from buildlog.compute.service.times import ServiceTime, list_times
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Entry, Log, Serviced, ServiceItem

SAME_GO = datetime.timedelta(days=30)
"Work that goes on over some evenings is one go; our own rule."


def check_covers(log: Log) -> Iterator[Problem]:
    """A warning for each time that an item was done and some of what it covers was not, whatever day it is asked for.

    Looked at or renewed counts what an entry within 30 days fitted, removed, checked, serviced, or lists as
    `looked_at`. Nothing is asked of inherited events.
    """
    # Entries alone: nobody knows what an earlier owner looked at, and nobody can make up for it.
    for entry in log.entries:
        for done in entry.serviced:
            item = log.settings.service.get(done.item)
            if item is None or not item.covers:
                continue
            touched = _list_touched(log, entry)
            missed = [component for component in item.covers if component not in touched]
            if missed:
                yield _report_missed(entry, done, missed)


def _list_touched(log: Log, entry: Entry) -> set[str]:
    """Names of components that were worked on around the day of an entry.

    A check that clears a group clears what the component of its name drives; a new belt alone touches nothing else.
    """
    # Before as well as after: the hoses may be done a week ahead of the oil.
    near = [other for other in log.entries if abs(other.date - entry.date) <= SAME_GO]
    cleared = {name for other in near for check in other.checks for name in check.clears}
    members = {name for name, component in log.settings.components.items() if component.driven_by in cleared}
    return {name for other in near for name in _list_named(other)} | cleared | members


def _list_named(entry: Entry) -> Iterator[str]:
    for fitted in entry.fitted:
        yield from (fitted.part, fitted.instead_of or fitted.part)
    yield from (removed.part for removed in entry.removed)
    for done in entry.serviced:
        yield from (done.item, *done.parts, *done.looked_at)
    # What was found faulty was looked at, as what was cleared was.
    yield from (check.cause for check in entry.checks if check.cause)


def _report_missed(entry: Entry, done: Serviced, missed: list[str]) -> Problem:
    names = ", ".join(f"`{name}`" for name in missed)
    message = (
        f"`{done.item}` was done on {entry.date}, but nothing was done to {names}, which it covers, "
        f"within {SAME_GO.days} days"
    )
    return Problem(
        rule="cover-missed",
        message=message,
        place=done.place,
        help=f"serviced: {{item: {done.item}, looked_at: [{', '.join(missed)}]}}, if so; or name what was fitted",
        severity="warning",
    )


@frozen
class Limits:
    """How often an item is due, in what the meter counts."""

    months: int | None
    "calendar months; None: no limit in time"
    distance: Decimal | None
    "in the unit of the meter's figures, hours on an hour meter; None: no limit by the meter"


@frozen
class Mark:
    """A day and a total to count from, or to count to."""

    date: datetime.date
    "the day"
    total: Decimal | None
    "the true total on it; None where not known"


@frozen
class ServiceRow:
    """One row of an item's history: a time that it was done, or a gap before it or since."""

    kind: Literal["done", "gap"]
    "which of the two it is"
    time: ServiceTime | None
    "the time that it was done; None for a gap"
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
    "whether a day that `days` rests on is not known, so that it is about so many"
    distance_approximate: bool
    "whether no reading was taken on a day that `distance` rests on"


def compute_due(limits: Limits, anchor: Mark) -> tuple[datetime.date | None, Decimal | None]:
    """The date and the total at which an item is due next after an anchor; None for a limit that does not apply."""
    # From the day it was done, never from the day it was due: an oil change half a year late moves the next one too.
    date = None if limits.months is None else compute_due_date(anchor.date, limits.months)
    return date, None if limits.distance is None or anchor.total is None else anchor.total + limits.distance


def list_rows(times: Sequence[ServiceTime], limits: Limits, *, start: Mark | None, end: Mark) -> tuple[ServiceRow, ...]:
    """The history of an item, oldest first, its gaps in their places.

    `start` is where an item is counted from that has not been done before; `end` is the day asked for.
    """
    rows: list[ServiceRow] = []
    before: ServiceTime | None = None
    mark = start
    # Judged by today's interval: what the plan was when it was done is nowhere written.
    for time in times:
        now = Mark(date=time.date, total=time.total)
        row = _compare(limits, mark, now, ends=(before, time))
        # A gap is a row of its own, before the time that ended it, so that no reader has to work it out from two dates.
        rows += [_make_gap(row), row] if _is_gap(row) else [row]
        before, mark = time, now
    # Up to the day asked for: a gap that is still open is the one that matters most.
    if mark is not None:
        still = _compare(limits, mark, end, ends=(before, None))
        rows += [_make_gap(still)] if _is_gap(still) else []
    return tuple(rows)


def _compare(
    limits: Limits, before: Mark | None, now: Mark, *, ends: tuple[ServiceTime | None, ServiceTime | None]
) -> ServiceRow:
    """The row of what ended at `now`; `ends` are the times that were done at its start and end, where there are."""
    date, total = (None, None) if before is None else compute_due(limits, before)
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
        # A date known to the month counts from its first day, at either end, so the days may be too many or too few.
        days_approximate=any(not time.exact for time in times),
        distance_approximate=any(time.reading is None for time in times),
    )


def _subtract(total: Decimal | None, other: Decimal | None) -> Decimal | None:
    return None if total is None or other is None else total - other


def _is_gap(row: ServiceRow) -> bool:
    return (row.days_late or 0) > 0 or (row.distance_late or 0) > 0


def _make_gap(row: ServiceRow) -> ServiceRow:
    return replace(row, kind="gap", time=None)


NOTICE_DAYS = 30
"Days before its date from which an item is called due, where the owner sets nothing else; our own choice."
NOTICE_SHARE = 20
"The same for its reading: this part of the distance; our own choice."
MOST_MONTHS = 1200
"A longer interval is a slip of the keyboard."


@frozen
class ServiceItemFigures(Due):
    """One recurring job as of a day."""

    system: str | None
    "key of the system it belongs to; None: none is stated"
    months: int | None
    "interval in calendar months; None: it is due by the meter alone"
    distance: Decimal | None
    "interval by the meter, in its unit; None: it is due by the date alone"
    last: ServiceTime | None
    "the last time that it was done; None: never on record"
    counted_from: datetime.date | None
    "the day that both limits are counted from: last done, else `since`; None where there is neither"
    total_unknown: bool
    "whether a limit by the meter applies and cannot be computed, as no reading is known at or before that day"
    rows: tuple[ServiceRow, ...]
    "its history, oldest first, with gaps"
    place: Place
    "where `log.yaml` describes it"


@frozen
class ServiceFigures:
    """Every recurring job as of a day."""

    items: tuple[ServiceItemFigures, ...]
    "most pressing first: by state, then by the day they are due, then in the owner's order"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day"


def compute_service(log: Log, as_of: datetime.date, *, meter: MeterFigures, names: PartNames) -> ServiceFigures:
    """What is due as of a day, with the history of each item. `meter` is as of the same day."""
    times = list_times(log, as_of, meter=meter, names=names)
    items = [
        _compute_item(key, item, times=times[key], meter=meter, as_of=as_of)
        for key, item in log.settings.service.items()
    ]
    problems = [problem for item in log.settings.service.values() for problem in _check_interval(item, meter.unit)]
    return ServiceFigures(items=rank_due(items), problems=(*problems, *check_covers(log)))


def _compute_item(
    key: str, item: ServiceItem, *, times: Sequence[ServiceTime], meter: MeterFigures, as_of: datetime.date
) -> ServiceItemFigures:
    limits = _read_limits(item, meter.unit)
    last = times[-1] if times else None
    start = None
    # `since` counts only where no older time is on record: from it to that time would be days below zero.
    if item.anchor is not None and (not times or item.anchor <= times[0].date):
        start = Mark(date=item.anchor, total=find_total(meter, item.anchor))
    anchor = Mark(date=last.date, total=last.total) if last else start
    due_date, due_total = (None, None) if anchor is None else compute_due(limits, anchor)
    since = anchor.date if anchor else None
    days, distance = _read_notice(item, limits.distance, meter.unit)
    due = DueLimits(date=due_date, total=due_total, since=since, notice_days=days, notice_distance=distance)
    now = meter.latest.total if meter.latest else None
    return ServiceItemFigures(
        **compute_due_status(due, meter=meter, as_of=as_of).as_fields(),
        key=key,
        name=item.name,
        last_when=last.when if last else None,
        system=item.system,
        months=limits.months,
        distance=limits.distance,
        last=last,
        counted_from=since,
        total_unknown=limits.distance is not None and anchor is not None and due_total is None,
        rows=list_rows(times, limits, start=start, end=Mark(date=as_of, total=now)),
        place=item.place,
    )


def _read_limits(item: ServiceItem, unit: str | None) -> Limits:
    """The interval in what the meter counts; what cannot be counted, or is a slip, is a problem and left out."""
    # `hours` on an odometer, or `distance` on an hour meter, cannot be counted; `_check_interval` reports it.
    every = item.every
    months = every.months if every.months is not None and every.months <= MOST_MONTHS else None
    return Limits(months=months, distance=None if unit is None else every.hours if unit == "h" else every.distance)


def _read_notice(item: ServiceItem, distance: Decimal | None, unit: str | None) -> tuple[int, Decimal]:
    """Days and distance before its limits from which an item is called due."""
    notice = item.notice
    days = notice.days if notice and notice.days is not None else NOTICE_DAYS
    written = None if notice is None else notice.hours if unit == "h" else notice.distance
    # In proportion, as a fixed distance would be nothing to one interval and half of another.
    return days, written if written is not None else (distance or Decimal(0)) / NOTICE_SHARE


def _check_interval(item: ServiceItem, unit: str | None) -> Iterator[Problem]:
    every, place = item.every, item.field_place("every")
    if every.months is None and every.distance is None and every.hours is None:
        help = "every: {months: 24, distance: 12000}"
        yield Problem(rule="interval-empty", message=f"`{item.name}` has no interval", place=place, help=help)
    if every.months is not None and every.months > MOST_MONTHS:
        message = f"`{item.name}` is due every {every.months} months, more than a century"
        yield Problem(rule="interval-too-long", message=message, place=every.field_place("months"), help="write months")
    for key, applies in (("distance", unit in ("mi", "km")), ("hours", unit == "h")):
        if getattr(every, key) is not None and not applies:
            meter = f"the meter is in `{unit}`" if unit else "`log.yaml` has no meter"
            message = f"`{item.name}` is due by {key}, but {meter}"
            help = "add `meter: {unit: …}` under `machine:`, or use the meter's unit"
            yield Problem(rule="interval-unit", message=message, place=every.field_place(key), help=help)
