"""When was the meter read, and what true total does each reading stand for?

A true total is a reading plus an offset. The offset moves where a meter was replaced or set (`meter_changed`), and by
the whole round of its drums where it passed its last digit (`rollover`); never because a reading fell. Readings are
kept in the unit that they were read in and reckoned in exact fractions. Whether the totals can be right is for `meter`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.reckon.meter.distances import are_comparable, convert_distance, show_decimal
from buildlog.reckon.service.calendar import add_months
from buildlog.source.records import Amount, Entry, Inherited, Log, Meter, MeterChange, PartialDate

ReadingSource = Literal["history", "acquired", "entry", "serviced", "old meter", "new meter"]

PLAUSIBLE_PER_DAY = {"km": 1500, "mi": 932, "h": 24}
"Most that a day can bring. Distance: common practice, no source (1,500 km, in miles 932); hours: a day has 24."


MOST_DIGITS = 9
"More whole digits than any meter has; a larger number is a slip of the keyboard."


@frozen
class MeterReading:
    """One reading of the meter."""

    date: datetime.date
    "the day; of a reading known to the month or year, the first day that it can be of"
    latest: datetime.date
    "the last day that it can be of; as `date` where the day is known"
    when: str
    "the date as it is known: `1998`, `1998-06`, `1998-06-12`"
    value: Decimal
    "as read"
    unit: str
    "as read: `mi`, `km` or `h`"
    total: Decimal
    "true total in the unit of the meter's figures; exact, or to a thousandth where a unit was crossed"
    source: ReadingSource
    entry: str | None
    "name of the entry that tells it; None in `log.yaml`"
    place: Place


@frozen
class MeterStep:
    """One move of the offset."""

    date: datetime.date
    "first day that it can be of"
    kind: Literal["replaced or set", "rollover"]
    old: str
    "last reading before, with its unit; empty for a rollover"
    new: str
    "first reading after, with its unit; empty for a rollover"
    offset: Decimal
    "true total less reading from here on, in the unit of the meter's figures"
    why: str | None
    place: Place


@frozen
class MeterStory:
    """All that a log tells of its meter, whatever day it is asked for."""

    unit: str | None
    "unit of every total; None where the log names no meter"
    readings: tuple[MeterReading, ...]
    "in the order of time, and of the log where two are of one day"
    steps: tuple[MeterStep, ...]
    problems: tuple[Problem, ...]


@frozen
class _Session:
    """What one record tells of the meter."""

    when: PartialDate
    readings: tuple[tuple[ReadingSource, Amount, Place], ...]
    change: MeterChange | None
    rollover: Place | None
    entry: str | None


def follow_readings(log: Log) -> MeterStory:
    """Every reading of a log with its true total, and what keeps one from having any."""
    sessions = sorted(_list_sessions(log), key=lambda session: session.when.earliest)
    meter = log.settings.machine.meter
    if meter is None:
        return MeterStory(unit=None, readings=(), steps=(), problems=_tell_no_meter(sessions))
    walk = _Walk(meter, [session.change for session in sessions if session.change])
    for session in sessions:
        walk.take(session)
    return MeterStory(
        unit=meter.unit, readings=tuple(walk.readings), steps=tuple(walk.steps), problems=tuple(walk.problems)
    )


def find_latest(when: PartialDate) -> datetime.date:
    """The last day that a date known to the day, month or year can mean."""
    months = {4: 12, 7: 1}.get(len(when.text))
    return when.earliest if months is None else add_months(when.earliest, months) - datetime.timedelta(days=1)


def _list_sessions(log: Log) -> Iterator[_Session]:
    for event in log.settings.history:
        yield _read_event(event)
    acquired = log.settings.acquired
    if acquired is not None:
        yield _Session(
            when=PartialDate(acquired.date.isoformat()),
            readings=() if acquired.reading is None else (("acquired", acquired.reading, acquired.spot("reading")),),
            change=None,
            rollover=acquired.spot("rollover") if acquired.rollover else None,
            entry=None,
        )
    for entry in log.entries:
        yield _read_entry(entry)


def _read_event(event: Inherited) -> _Session:
    return _Session(
        when=event.date,
        readings=() if event.reading is None else (("history", event.reading, event.spot("reading")),),
        change=event.meter_changed,
        rollover=event.spot("rollover") if event.rollover else None,
        entry=None,
    )


def _read_entry(entry: Entry) -> _Session:
    readings: list[tuple[ReadingSource, Amount, Place]] = []
    if entry.reading is not None:
        readings.append(("entry", entry.reading, entry.spot("reading")))
    readings += [
        ("serviced", done.reading, done.spot("reading")) for done in entry.serviced if done.reading is not None
    ]
    return _Session(
        when=PartialDate(entry.date.isoformat()),
        readings=tuple(readings),
        change=entry.meter_changed,
        rollover=entry.spot("rollover") if entry.rollover else None,
        entry=entry.name,
    )


class _Walk:
    """Goes through the sessions in the order of time and keeps the offset."""

    def __init__(self, meter: Meter, changes: list[MeterChange]) -> None:
        self._meter = meter
        # Before the first change a reading without a unit is in the old meter's, whatever `log.yaml` says of today's.
        self._unit = (changes[0].old.unit if changes else None) or meter.unit
        self._changed = bool(changes)
        self._offset = Fraction(0)
        self.readings: list[MeterReading] = []
        self.steps: list[MeterStep] = []
        self.problems: list[Problem] = [*_check_meter(meter)]
        self._digits = None if self.problems else meter.digits

    def take(self, session: _Session) -> None:
        """Add one session's readings: those before a change of meter, the change, those after it."""
        if session.rollover is not None:
            self._roll_over(session, session.rollover)
        readings = [(source, self._fill(amount), place) for source, amount, place in session.readings]
        readings = [reading for reading in readings if self._is_readable(*reading[1:])]
        # Within one session the order of writing says nothing: a service may have come before the drive home.
        readings.sort(key=lambda reading: self._to_figure(reading[1]))
        change = self._read_change(session.change)
        after = [r for r in readings if change is not None and self._is_after(r[1], *change)]
        for source, amount, place in readings:
            if (source, amount, place) not in after:
                self._add(session, source, amount, place)
        if session.change is not None and change is not None:
            self._change(session, session.change, *change)
        for source, amount, place in after:
            self._add(session, source, amount, place)

    def _fill(self, amount: Amount) -> Amount:
        return amount if amount.unit else Amount(amount.value, self._unit)

    def _to_figure(self, amount: Amount) -> Fraction:
        return convert_distance(amount.value, amount.unit or self._unit, self._meter.unit)

    def _is_readable(self, amount: Amount, place: Place) -> bool:
        unit = amount.unit or self._unit
        if not are_comparable(unit, self._meter.unit):
            message = f"the reading is in `{unit}`, and the meter in `log.yaml` counts `{self._meter.unit}`"
            help = "write the reading of the meter that `machine: {meter: …}` names"
            self.problems.append(Problem(rule="reading-unit", message=message, place=place, help=help))
            return False
        digits = self._digits
        if digits is not None and not self._changed and amount.value >= 10**digits:
            message = f"the reading `{amount.value}` does not fit on a meter of {digits} digits"
            help = "mend the reading, or `digits:` in `machine: {meter: …}`"
            self.problems.append(
                Problem(rule="reading-digits", message=message, place=place, help=help, severity="doubt")
            )
        return True

    def _read_change(self, change: MeterChange | None) -> tuple[Amount, Amount] | None:
        """The old meter's last and the new one's first reading, each with its unit; None where one cannot be used."""
        if change is None:
            return None
        old = self._fill(change.old)
        # A new meter without a unit counts in that of `log.yaml` where the old one's was stated, else as the old one.
        unit = change.new.unit or (self._meter.unit if change.old.unit else self._unit)
        new = Amount(change.new.value, unit)
        readable = [self._is_readable(old, change.spot("old")), self._is_readable(new, change.spot("new"))]
        return (old, new) if all(readable) else None

    def _is_after(self, amount: Amount, old: Amount, new: Amount) -> bool:
        """Whether a reading of the session of a change is one of the new meter.

        It is not where it lies at most a day's use below the old one's last reading; else it is where it lies at most
        a day's use above the new one's first reading, or above all that the old one showed.
        """
        value, last, first = (self._to_figure(a) for a in (amount, old, new))
        reach = PLAUSIBLE_PER_DAY[self._meter.unit]
        if 0 <= last - value <= reach:
            return False
        return 0 <= value - first <= reach or value > last

    def _add(self, session: _Session, source: ReadingSource, amount: Amount, place: Place) -> None:
        self.readings.append(
            MeterReading(
                date=session.when.earliest,
                latest=find_latest(session.when),
                when=session.when.text,
                value=amount.value,
                unit=amount.unit or self._unit,
                total=show_decimal(self._to_figure(amount) + self._offset),
                source=source,
                entry=session.entry,
                place=place,
            )
        )

    def _change(self, session: _Session, change: MeterChange, old: Amount, new: Amount) -> None:
        self._add(session, "old meter", old, change.spot("old"))
        self._offset += self._to_figure(old) - self._to_figure(new)
        self._unit = new.unit or self._unit
        self._add(session, "new meter", new, change.spot("new"))
        self._step(session, "replaced or set", change.place, change=(old, new), why=change.why)

    def _roll_over(self, session: _Session, place: Place) -> None:
        digits = self._digits
        if digits is None or not are_comparable(self._unit, self._meter.unit):
            message = "a rollover can be reckoned only where the meter's digits are known"
            help = "machine: {meter: {unit: mi, digits: 5}}"
            self.problems.append(Problem(rule="rollover-digits", message=message, place=place, help=help))
            return
        if session.entry is not None:  # between two readings of long ago a whole round and more may lie
            self._check_fall(session, place)
        self._offset += convert_distance(Decimal(10**digits), self._unit, self._meter.unit)
        self._step(session, "rollover", place)

    def _check_fall(self, session: _Session, place: Place) -> None:
        first = min((amount.value for _, amount, _ in session.readings), default=None)
        before = self.readings[-1] if self.readings else None
        if first is None or before is None or first < before.value:
            return
        message = f"a rollover is declared, and the meter did not fall: `{before.value}` before, `{first}` now"
        help = "take `rollover:` out, or mend the reading"
        self.problems.append(
            Problem(
                rule="rollover-not-seen", message=message, place=place, help=help, severity="doubt",
                also=(before.place,),
            )
        )  # fmt: skip

    def _step(
        self,
        session: _Session,
        kind: Literal["replaced or set", "rollover"],
        place: Place,
        *,
        change: tuple[Amount, Amount] | None = None,
        why: str | None = None,
    ) -> None:
        old, new = ("", "") if change is None else (f"{amount.value} {amount.unit}" for amount in change)
        self.steps.append(
            MeterStep(
                date=session.when.earliest,
                kind=kind,
                old=old,
                new=new,
                offset=show_decimal(self._offset),
                why=why,
                place=place,
            )
        )


def _check_meter(meter: Meter) -> Iterator[Problem]:
    if meter.digits is not None and meter.digits > MOST_DIGITS:
        message = f"a meter of {meter.digits} digits is not plausible"
        help = "count the whole digits that it can show, as in `digits: 6`"
        yield Problem(rule="meter-digits", message=message, place=meter.spot("digits"), help=help)


def _tell_no_meter(sessions: list[_Session]) -> tuple[Problem, ...]:
    places = [place for session in sessions for _, _, place in session.readings]
    places += [session.change.place for session in sessions if session.change]
    if not places:
        return ()
    message = "the meter was read, and `log.yaml` names no meter"
    help = "add `meter: {unit: mi}` (or km, or h) under `machine:`"
    return (Problem(rule="no-meter", message=message, place=places[0], help=help, also=tuple(places[1:2])),)
