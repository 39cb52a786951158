"""What is due, when, and why?

An item is due at the earlier of last date plus months and last total plus distance. On the day, and at the reading, it
is *due*; a day after, or a reading above, it is *overdue*. Whichever comes first is usual wording in makers' schedules;
the intervals are the owner's plan, and the maker's book comes first. The times it was done come from `service_times`,
the history table from `service_rows`, what should have been looked at in the same go from `service_covers`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from buildlog.problems import Place, Problem
from buildlog.reckon.meter import MeterFigures, find_total, forecast_total
from buildlog.reckon.part_names import PartNames
from buildlog.reckon.service_covers import check_covers
from buildlog.reckon.service_rows import Limits, Mark, ServiceRow, list_rows, reckon_due
from buildlog.reckon.service_times import ServiceTime, list_times
from buildlog.source.records import Log, ServiceItem

ServiceState = Literal["overdue", "due", "history unknown", "later"]
STATES: tuple[ServiceState, ...] = ("overdue", "due", "history unknown", "later")
"""Most pressing first. The history of an item that was never done on record, or of which no limit can be reckoned, is
unknown: it is treated as due, and never shown as fine."""
Reason = Literal["date", "reading"]

NOTICE_DAYS = 30
"Days before its date from which an item is called due, where the owner sets nothing else."
NOTICE_SHARE = 20
"The same for its reading: this part of the distance."
MOST_MONTHS = 1200
"A longer interval is a slip of the keyboard."


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceItemFigures:
    """One recurring job as of a day."""

    key: str
    name: str
    system: str | None
    months: int | None
    "interval in calendar months"
    distance: Decimal | None
    "interval by the meter, in its unit"
    state: ServiceState
    reason: Reason | None
    "the limit that makes it due first; None while the history is unknown"
    due_on: datetime.date | None
    "the earlier of its date and the day its reading is or will be reached; None where neither is known"
    due_date: datetime.date | None
    "limit in time"
    due_total: Decimal | None
    "limit by the meter, as a true total"
    due_reading: Decimal | None
    "the same as today's meter will show it, less its offset"
    reached: datetime.date | None
    "day of the first reading at or above `due_total`"
    forecast: datetime.date | None
    "day on which `due_total` will be reached at today's use, an estimate; None where reached, or not to be foretold"
    days_left: int | None
    "to `due_date`; below zero: overdue by so many"
    distance_left: Decimal | None
    "from the latest total to `due_total`; below zero: overdue by so much"
    last: ServiceTime | None
    counted_from: datetime.date | None
    "the day that both limits are counted from: last done, else `since`"
    total_unknown: bool
    "whether a limit by the meter applies and cannot be reckoned, as no reading is known at or before that day"
    rows: tuple[ServiceRow, ...]
    "its history, oldest first, with gaps"
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceFigures:
    """Every recurring job as of a day."""

    items: tuple[ServiceItemFigures, ...]
    "most pressing first: by state, then by the day they are due, then in the owner's order"
    problems: tuple[Problem, ...]
    "of the whole log"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Limit:
    """One of an item's limits as of a day."""

    name: Reason
    state: ServiceState
    on: datetime.date | None


def reckon_service(log: Log, as_of: datetime.date, *, meter: MeterFigures, names: PartNames) -> ServiceFigures:
    """What is due as of a day, with the history of each item. `meter` is as of the same day."""
    times = list_times(log, as_of, meter=meter, names=names)
    items = [
        _reckon_item(key, item, times=times[key], meter=meter, as_of=as_of)
        for key, item in log.settings.service.items()
    ]
    ranked = sorted(items, key=lambda item: (STATES.index(item.state), item.due_on or datetime.date.max))
    problems = [problem for item in log.settings.service.values() for problem in _check_interval(item, meter.unit)]
    return ServiceFigures(items=tuple(ranked), problems=(*problems, *check_covers(log)))


def _reckon_item(
    key: str, item: ServiceItem, *, times: Sequence[ServiceTime], meter: MeterFigures, as_of: datetime.date
) -> ServiceItemFigures:
    limits = _read_limits(item, meter.unit)
    last = times[-1] if times else None
    start = None
    if item.anchor is not None and (not times or item.anchor <= times[0].date):
        start = Mark(date=item.anchor, total=find_total(meter, item.anchor))
    anchor = Mark(date=last.date, total=last.total) if last else start
    due_date, due_total = (None, None) if anchor is None else reckon_due(limits, anchor)
    now = meter.latest.total if meter.latest else None
    reached = None if due_total is None or anchor is None else _find_reached(meter, due_total, anchor.date)
    forecast = None if due_total is None or reached is not None else forecast_total(meter, due_total)
    left = None if due_total is None or now is None else due_total - now
    days, distance = _read_notice(item, limits.distance, meter.unit)
    by_total = _judge_total(left, distance, on=reached or forecast, as_of=as_of)
    limit = _choose_limit([*_judge_date(due_date, as_of, days), *by_total])
    return ServiceItemFigures(
        key=key,
        name=item.name,
        system=item.system,
        months=limits.months,
        distance=limits.distance,
        state=limit.state if limit else "history unknown",
        reason=limit.name if limit else None,
        due_on=min((day for day in (due_date, reached, forecast) if day is not None), default=None),
        due_date=due_date,
        due_total=due_total,
        due_reading=None if due_total is None else due_total - meter.offset,
        reached=reached,
        forecast=forecast,
        days_left=None if due_date is None else (due_date - as_of).days,
        distance_left=left,
        last=last,
        counted_from=anchor.date if anchor else None,
        total_unknown=limits.distance is not None and anchor is not None and due_total is None,
        rows=list_rows(times, limits, start=start, end=Mark(date=as_of, total=now)),
        place=item.place,
    )


def _read_limits(item: ServiceItem, unit: str | None) -> Limits:
    """The interval in what the meter counts; what cannot be counted, or is a slip, is a problem and left out."""
    every = item.every
    months = every.months if every.months is not None and every.months <= MOST_MONTHS else None
    return Limits(months=months, distance=None if unit is None else every.hours if unit == "h" else every.distance)


def _read_notice(item: ServiceItem, distance: Decimal | None, unit: str | None) -> tuple[int, Decimal]:
    """Days and distance before its limits from which an item is called due."""
    notice = item.notice
    days = notice.days if notice and notice.days is not None else NOTICE_DAYS
    written = None if notice is None else notice.hours if unit == "h" else notice.distance
    return days, written if written is not None else (distance or Decimal(0)) / NOTICE_SHARE


def _find_reached(meter: MeterFigures, total: Decimal, since: datetime.date) -> datetime.date | None:
    known = (r for r in meter.readings if r.date == r.latest and r.date >= since and r.total >= total)
    return next((reading.date for reading in known), None)


def _judge_date(due: datetime.date | None, as_of: datetime.date, notice: int) -> Iterator[_Limit]:
    if due is None:
        return
    state: ServiceState = "overdue" if as_of > due else "due" if (due - as_of).days <= notice else "later"
    yield _Limit(name="date", state=state, on=due)


def _judge_total(
    left: Decimal | None, notice: Decimal, *, on: datetime.date | None, as_of: datetime.date
) -> Iterator[_Limit]:
    if left is None:
        return
    state: ServiceState = "overdue" if left < 0 else "due" if left <= notice else "later"
    # A day that was only foretold may have passed unseen: due, but not called overdue before the meter says so.
    if state == "later" and on is not None and on <= as_of:
        state = "due"
    yield _Limit(name="reading", state=state, on=on)


def _choose_limit(limits: Sequence[_Limit]) -> _Limit | None:
    """The more pressing limit; of two alike the one that comes first, the date where it is the same day."""
    return min(limits, key=lambda limit: (STATES.index(limit.state), limit.on or datetime.date.max), default=None)


def _check_interval(item: ServiceItem, unit: str | None) -> Iterator[Problem]:
    every, place = item.every, item.spot("every")
    if every.months is None and every.distance is None and every.hours is None:
        help = "every: {months: 24, distance: 12000}"
        yield Problem(rule="interval-empty", message=f"`{item.name}` has no interval", place=place, help=help)
    if every.months is not None and every.months > MOST_MONTHS:
        message = f"`{item.name}` is due every {every.months} months, more than a century"
        yield Problem(rule="interval-too-long", message=message, place=every.spot("months"), help="write months")
    for key, applies in (("distance", unit in ("mi", "km")), ("hours", unit == "h")):
        if getattr(every, key) is not None and not applies:
            meter = f"the meter counts `{unit}`" if unit else "`log.yaml` names no meter"
            message = f"`{item.name}` is due by {key}, and {meter}"
            help = "add `meter: {unit: …}` under `machine:`, or count in what the meter does"
            yield Problem(rule="interval-unit", message=message, place=every.spot(key), help=help)
