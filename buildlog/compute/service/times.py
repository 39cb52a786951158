"""When was each service item done, at what total, by whom, with what parts, and on what evidence?

What is due next is for `service.items`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from decimal import Decimal

from buildlog.compute.evidence.claims import Level, find_inherited_level, find_level
from buildlog.compute.meter.meter import MeterFigures, find_total
from buildlog.compute.meter.readings import MeterReading
from buildlog.compute.parts.names import PartNames, plain_name
from buildlog.frozen import frozen
from buildlog.problems import Place
from buildlog.read.records import Entry, Inherited, Log, Serviced


@frozen
class ServicePart:
    """A part that went in."""

    key: str
    "the part's key in the parts' figures, or as written where it leads to none"
    name: str
    "as shown"
    number: str | None
    "the maker's number as written on the order line bought last before, else the newest; None where none is known"


@frozen
class ServiceTime:
    """One time that a service item was done."""

    date: datetime.date
    "the day; of an event known to the month or year, its first day, so that the next time is due sooner, not later"
    when: str
    "the date as it is known: `1998`, `1998-06`, `1998-06-12`"
    exact: bool
    "whether the day is known"
    total: Decimal | None
    "true total of the meter, in its unit; that of the last reading before where `reading` is None"
    reading: MeterReading | None
    "the reading taken for it, or in its entry; None: neither"
    who: str | None
    "who did it; None: the owner, or in an inherited event nobody knows"
    what: str | None
    "what an inherited event says was done; None for an entry"
    parts: tuple[ServicePart, ...]
    "what went in; empty for an inherited event"
    level: Level
    "how it is backed"
    paper: str | None
    "a paper that backs it, as a path from the log's folder; None: none does"
    note: str | None
    "the owner's words; None: none, or an inherited event"
    entry: str | None
    "name of the entry; None for an inherited event"
    place: Place
    "where it is written"


def list_times(
    log: Log, as_of: datetime.date, *, meter: MeterFigures, names: PartNames
) -> Mapping[str, tuple[ServiceTime, ...]]:
    """The times that each service item was done up to a day, by the item's key, oldest first."""
    times: dict[str, list[ServiceTime]] = {key: [] for key in log.settings.service}
    for item, time in _Times(log, meter, names).gather():
        # An item that `log.yaml` does not know is a problem of reading.
        if item in times and time.date <= as_of:
            times[item].append(time)
    # A stable sort: two times of one day stay in the order of the log, and the later one is the last.
    return {key: tuple(sorted(found, key=lambda time: time.date)) for key, found in times.items()}


class _Times:
    """Walks a log's history and entries."""

    def __init__(self, log: Log, meter: MeterFigures, names: PartNames) -> None:
        self._log = log
        self._meter = meter
        self._names = names
        self._readings = {reading.place: reading for reading in meter.readings}
        self._numbers = _list_numbers(log, names)

    def gather(self) -> Iterator[tuple[str, ServiceTime]]:
        """Each service item done, with its time: those of the history first."""
        for event in self._log.settings.history:
            for item in event.serviced:
                yield item, self._read_event(event)
        for entry in self._log.entries:
            for done in entry.serviced:
                yield done.item, self._read_done(entry, done)

    def _read_event(self, event: Inherited) -> ServiceTime:
        reading = None if event.reading is None else self._readings.get(event.field_place("reading"))
        return ServiceTime(
            date=event.date.earliest,
            when=event.date.text,
            exact=event.date.exact,
            # The last reading before is too low, if anything, so the next time is due sooner and not later.
            total=reading.total if reading else find_total(self._meter, event.date.earliest),
            reading=reading,
            who=event.who,
            what=event.what,
            parts=(),
            level=find_inherited_level(event),
            paper=event.paper,
            note=None,
            entry=None,
            place=event.place,
        )

    def _read_done(self, entry: Entry, done: Serviced) -> ServiceTime:
        # Its own reading first: a garage's invoice may give another than the entry, taken on the drive home.
        record = done if done.reading is not None else entry
        reading = None if record.reading is None else self._readings.get(record.field_place("reading"))
        return ServiceTime(
            date=entry.date,
            when=entry.date.isoformat(),
            exact=True,
            total=reading.total if reading else find_total(self._meter, entry.date),
            reading=reading,
            who=done.who,
            what=None,
            parts=tuple(self._find_part(part, entry.date) for part in done.parts),
            level=find_level(entry, done.item, done.paper),
            paper=done.paper,
            note=done.note,
            entry=entry.name,
            place=done.place,
        )

    def _find_part(self, written: str, day: datetime.date) -> ServicePart:
        part = self._names.parts.get(self._names.keys.get(written, ""))
        # A name that leads to no part is a problem of its own; here it is shown as it was written.
        if part is None:
            return ServicePart(key=written, name=plain_name(written), number=None)
        # The number ordered last by then: a later order may bring the part under its successor's number.
        bought = [number for date, number in self._numbers.get(part.key, ()) if date <= day]
        newest = part.numbers[0] if part.numbers else None
        return ServicePart(key=part.key, name=part.name, number=bought[-1] if bought else newest)


def _list_numbers(log: Log, names: PartNames) -> dict[str, list[tuple[datetime.date, str]]]:
    """Date and number of each order line that has one, in the order of the log, by the part's key."""
    numbers: dict[str, list[tuple[datetime.date, str]]] = {}
    for entry in log.entries:
        for order in entry.bought:
            for line in order.lines:
                key = names.lines.get(line.place)
                if key is not None and line.number is not None:
                    numbers.setdefault(key, []).append((order.ordered or entry.date, line.number))
    return numbers
