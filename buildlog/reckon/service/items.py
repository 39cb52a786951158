"""What is due, when, and why?

An item is due at the earlier of last date plus months and last total plus distance. Whichever comes first is usual
wording in makers' schedules; the intervals are the owner's plan, and the maker's book comes first. What *due* and
*overdue* mean stands in `standing`; the times it was done come from `service.times`, the history table from
`service.rows`, what should have been looked at in the same go from `service.covers`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from decimal import Decimal

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.reckon.meter.meter import MeterFigures, find_total
from buildlog.reckon.parts.names import PartNames
from buildlog.reckon.service.covers import check_covers
from buildlog.reckon.service.rows import Limits, Mark, ServiceRow, list_rows, reckon_due
from buildlog.reckon.service.standing import Due, DueLimits, rank_due, reckon_standing
from buildlog.reckon.service.times import ServiceTime, list_times
from buildlog.source.records import Log, ServiceItem

NOTICE_DAYS = 30
"Days before its date from which an item is called due, where the owner sets nothing else."
NOTICE_SHARE = 20
"The same for its reading: this part of the distance."
MOST_MONTHS = 1200
"A longer interval is a slip of the keyboard."


@frozen
class ServiceItemFigures(Due):
    """One recurring job as of a day."""

    system: str | None
    months: int | None
    "interval in calendar months"
    distance: Decimal | None
    "interval by the meter, in its unit"
    last: ServiceTime | None
    counted_from: datetime.date | None
    "the day that both limits are counted from: last done, else `since`"
    total_unknown: bool
    "whether a limit by the meter applies and cannot be reckoned, as no reading is known at or before that day"
    rows: tuple[ServiceRow, ...]
    "its history, oldest first, with gaps"
    place: Place


@frozen
class ServiceFigures:
    """Every recurring job as of a day."""

    items: tuple[ServiceItemFigures, ...]
    "most pressing first: by state, then by the day they are due, then in the owner's order"
    problems: tuple[Problem, ...]
    "of the whole log"


def reckon_service(log: Log, as_of: datetime.date, *, meter: MeterFigures, names: PartNames) -> ServiceFigures:
    """What is due as of a day, with the history of each item. `meter` is as of the same day."""
    times = list_times(log, as_of, meter=meter, names=names)
    items = [
        _reckon_item(key, item, times=times[key], meter=meter, as_of=as_of)
        for key, item in log.settings.service.items()
    ]
    problems = [problem for item in log.settings.service.values() for problem in _check_interval(item, meter.unit)]
    return ServiceFigures(items=rank_due(items), problems=(*problems, *check_covers(log)))


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
    since = anchor.date if anchor else None
    days, distance = _read_notice(item, limits.distance, meter.unit)
    due = DueLimits(date=due_date, total=due_total, since=since, notice_days=days, notice_distance=distance)
    now = meter.latest.total if meter.latest else None
    return ServiceItemFigures(
        **reckon_standing(due, meter=meter, as_of=as_of).as_fields(),
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
    every = item.every
    months = every.months if every.months is not None and every.months <= MOST_MONTHS else None
    return Limits(months=months, distance=None if unit is None else every.hours if unit == "h" else every.distance)


def _read_notice(item: ServiceItem, distance: Decimal | None, unit: str | None) -> tuple[int, Decimal]:
    """Days and distance before its limits from which an item is called due."""
    notice = item.notice
    days = notice.days if notice and notice.days is not None else NOTICE_DAYS
    written = None if notice is None else notice.hours if unit == "h" else notice.distance
    return days, written if written is not None else (distance or Decimal(0)) / NOTICE_SHARE


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
