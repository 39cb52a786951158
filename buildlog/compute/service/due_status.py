"""Is something that falls due overdue, due, or not yet?

On the day of its limit, and at the reading, it is *due*; a day after, or a reading above, it is *overdue*; within its
notice before the limit it is *due* as well. What the limits are is for `service.items` and `rechecks`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import fields
from decimal import Decimal
from typing import Any, Literal, TypeVar

from buildlog.compute.meter.meter import MeterFigures, forecast_total
from buildlog.frozen import frozen

ServiceState = Literal["overdue", "due", "history unknown", "later"]
STATES: tuple[ServiceState, ...] = ("overdue", "due", "history unknown", "later")
"""Most pressing first. The history of an item that was never done on record, or of which no limit can be computed, is
unknown: it is treated as due, and never shown as fine."""
Reason = Literal["date", "reading"]


@frozen
class DueStatus:
    """Two limits, and how near they are as of a day."""

    state: ServiceState
    "of the limit that is more pressing"
    reason: Reason | None
    "the limit that makes it due first; None while the history is unknown"
    due_on: datetime.date | None
    "the earlier of its date and the day its reading is or will be reached; None where neither is known"
    due_date: datetime.date | None
    "limit in time; None: there is none, or nothing to count it from"
    due_total: Decimal | None
    "limit by the meter, as a true total; None: there is none, or no total to count it from"
    due_reading: Decimal | None
    "the same as today's meter will show it, less its offset; None as `due_total`"
    reached: datetime.date | None
    "day of the first reading at or above `due_total`; None: none is"
    forecast: datetime.date | None
    "day on which `due_total` will be reached at today's use, an estimate; None where reached, or without an estimate"
    days_left: int | None
    "to `due_date`; below zero: overdue by so many; None as `due_date`"
    distance_left: Decimal | None
    "from the latest total to `due_total`; below zero: overdue by so much; None where either is not known"

    def as_fields(self) -> dict[str, Any]:
        """The fields by name, to make a `Due` of."""
        # Not `asdict`, which would copy what the fields hold; and no list by hand, which would miss the next field.
        return {field.name: getattr(self, field.name) for field in fields(DueStatus)}


@frozen
class Due(DueStatus):
    """One thing that falls due, and how near that is as of a day."""

    key: str
    "short name, unique among all that falls due in the log"
    name: str
    "as shown"
    last_when: str | None
    "when it was last done, as that is known: `1998`, `1998-06-12`; None: never on record"


D = TypeVar("D", bound=Due)


@frozen
class DueLimits:
    """What something is due by, whichever comes first."""

    date: datetime.date | None
    "limit in time; None: there is none"
    total: Decimal | None
    "limit by the meter, as a true total; None: there is none"
    since: datetime.date | None
    "the day that both are counted from; None where neither applies"
    notice_days: int
    "days before the date from which it is called due"
    notice_distance: Decimal
    "the same by the meter"


@frozen
class _Limit:
    """One of the two limits, judged."""

    name: Reason
    "which of the two it is"
    state: ServiceState
    "how near it is on the day"
    on: datetime.date | None
    "the day that it is, was or will be met; None where not known"


def compute_due_status(limits: DueLimits, *, meter: MeterFigures, as_of: datetime.date) -> DueStatus:
    """How near limits are as of a day; `meter` is as of the same day."""
    total = limits.total
    now = meter.latest.total if meter.latest else None
    reached = None if total is None else _find_reached(meter, total, limits.since or datetime.date.min)
    forecast = None if total is None or reached is not None else forecast_total(meter, total)
    left = None if total is None or now is None else total - now
    by_total = _judge_total(left, limits.notice_distance, on=reached or forecast, as_of=as_of)
    limit = _choose_limit([*_judge_date(limits.date, as_of, limits.notice_days), *by_total])
    return DueStatus(
        state=limit.state if limit else "history unknown",
        reason=limit.name if limit else None,
        # Whichever is first, and not the day of the more pressing limit: a plan for the year needs the earliest day.
        due_on=min((day for day in (limits.date, reached, forecast) if day is not None), default=None),
        due_date=limits.date,
        due_total=total,
        due_reading=None if total is None else total - meter.offset,
        reached=reached,
        forecast=forecast,
        days_left=None if limits.date is None else (limits.date - as_of).days,
        distance_left=left,
    )


def rank_due(items: Iterable[D]) -> tuple[D, ...]:
    """Most pressing first: by state, then by the day they are due, then in the order given."""
    # Without a date last of its state: what may come some day presses less than what has a day.
    return tuple(sorted(items, key=lambda item: (STATES.index(item.state), item.due_on or datetime.date.max)))


def say_counts(items: Iterable[Due]) -> str:
    """How many are in which state, most pressing first: `5 overdue, 1 due, 12 later`; the same count everywhere."""
    states = [item.state for item in items]
    return ", ".join(f"{states.count(state)} {state}" for state in STATES if state in states)


def _find_reached(meter: MeterFigures, total: Decimal, since: datetime.date) -> datetime.date | None:
    # Not before `since`: after a fall that nobody explained, an older reading may lie above the limit.
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
    # The day of a forecast may pass without a reading: due then, but not called overdue before the meter says so.
    if state == "later" and on is not None and on <= as_of:
        state = "due"
    yield _Limit(name="reading", state=state, on=on)


def _choose_limit(limits: Sequence[_Limit]) -> _Limit | None:
    """The more pressing limit; of two alike the one that comes first, the date where it is the same day."""
    return min(limits, key=lambda limit: (STATES.index(limit.state), limit.on or datetime.date.max), default=None)
