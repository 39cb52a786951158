"""What does each record of a log tell of its meter? In one shape, whether it stands in `log.yaml` or in an entry."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Literal

from buildlog.frozen import frozen
from buildlog.problems import Place
from buildlog.reckon.service.calendar import add_months
from buildlog.source.records import Acquired, Amount, Entry, Inherited, Log, MeterChange, PartialDate

ReadingSource = Literal["history", "acquired", "entry", "serviced", "old meter", "new meter"]


@frozen
class Read:
    """A reading as one record tells it."""

    source: ReadingSource
    amount: Amount
    place: Place
    of: str | None = None
    "`old` or `new`: the meter that it was read off, as the owner says"


@frozen
class Session:
    """What one record tells of the meter."""

    when: PartialDate
    readings: tuple[Read, ...]
    change: MeterChange | None
    rollover: Place | None
    entry: str | None


def list_sessions(log: Log) -> Iterator[Session]:
    """What each event of the history, the purchase and each entry tells, in this order."""
    yield from (_read_event(event) for event in log.settings.history)
    if log.settings.acquired is not None:
        yield _read_acquired(log.settings.acquired)
    yield from (_read_entry(entry) for entry in log.entries)


def find_latest(when: PartialDate) -> datetime.date:
    """The last day that a date known to the day, month or year can mean."""
    months = {4: 12, 7: 1}.get(len(when.text))
    return when.earliest if months is None else add_months(when.earliest, months) - datetime.timedelta(days=1)


def _read_acquired(acquired: Acquired) -> Session:
    bought = acquired.reading
    return Session(
        when=PartialDate(acquired.date.isoformat()),
        readings=() if bought is None else (Read(source="acquired", amount=bought, place=acquired.spot("reading")),),
        change=None,
        rollover=acquired.spot("rollover") if acquired.rollover else None,
        entry=None,
    )


def _read_event(event: Inherited) -> Session:
    return Session(
        when=event.date,
        readings=tuple(_read_own("history", event)),
        change=event.meter_changed,
        rollover=event.spot("rollover") if event.rollover else None,
        entry=None,
    )


def _read_entry(entry: Entry) -> Session:
    services = (
        Read(source="serviced", amount=done.reading, place=done.spot("reading"), of=done.reading_of)
        for done in entry.serviced
        if done.reading is not None
    )
    return Session(
        when=PartialDate(entry.date.isoformat()),
        readings=(*_read_own("entry", entry), *services),
        change=entry.meter_changed,
        rollover=entry.spot("rollover") if entry.rollover else None,
        entry=entry.name,
    )


def _read_own(source: ReadingSource, record: Entry | Inherited) -> Iterator[Read]:
    if record.reading is not None:
        of = record.meter_changed.reading_of if record.meter_changed else None
        yield Read(source=source, amount=record.reading, place=record.spot("reading"), of=of)
