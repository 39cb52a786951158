"""When was the meter read, and what is the true total at each reading?

A true total is a reading plus an offset. The offset moves where a meter was replaced or set (`meter_changed`), and by
the whole round of its drums where it passed its last digit (`rollover`); never because a reading fell. Readings are
kept in the unit that they were read in and computed in exact fractions. Whether the totals can be right is for `meter`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from buildlog.compute.meter.sessions import (
    Read,
    ReadingSource,
    Session,
    Ways,
    check_reading_of,
    choose_meter,
    find_latest,
    list_sessions,
)
from buildlog.compute.quantities.units import are_comparable, convert_distance, show_decimal
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Amount, Log, Meter, MeterChange

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
    "what kind of record gives it"
    entry: str | None
    "name of the entry that gives it; None in `log.yaml`"
    place: Place
    "where the reading is written"


@frozen
class MeterStep:
    """One move of the offset."""

    date: datetime.date
    "first day that it can be of"
    kind: Literal["replaced or set", "rollover"]
    "what moved it"
    old: str
    "last reading before, with its unit; empty for a rollover"
    new: str
    "first reading after, with its unit; empty for a rollover"
    offset: Decimal
    "true total less reading from here on, in the unit of the meter's figures"
    why: str | None
    "the owner's reason for a change; None: not stated, or a rollover"
    place: Place
    "where it is written"


@frozen
class MeterStory:
    """All that a log says of its meter, whatever day it is asked for."""

    unit: str | None
    "unit of every total; None where the log names no meter"
    readings: tuple[MeterReading, ...]
    "in the order of time, and of the log where two are of one day"
    steps: tuple[MeterStep, ...]
    "each move of the offset, in the order of time"
    problems: tuple[Problem, ...]
    "of the whole log"


def follow_readings(log: Log) -> MeterStory:
    """Every reading of a log with its true total, and what keeps one from having any."""
    # A stable sort, so that of one day the history comes before the purchase and that before entries; what is known to
    # the year alone counts from its first day.
    sessions = sorted(list_sessions(log), key=lambda session: session.when.earliest)
    meter = log.settings.machine.meter
    if meter is None:
        return MeterStory(unit=None, readings=(), steps=(), problems=_report_no_meter(sessions))
    walk = _Walk(meter, [session.change for session in sessions if session.change])
    for session in sessions:
        walk.take(session)
    problems = (*walk.problems, *check_reading_of(log))
    return MeterStory(unit=meter.unit, readings=tuple(walk.readings), steps=tuple(walk.steps), problems=problems)


class _Walk:
    """Goes through the sessions in the order of time and keeps the offset."""

    def __init__(self, meter: Meter, changes: list[MeterChange]) -> None:
        self._meter = meter
        # Before the first change a reading without a unit is in the old meter's, whatever `log.yaml` says of today's.
        self._unit = (changes[0].old.unit if changes else None) or meter.unit
        self._changed = bool(changes)
        # A fraction, so that miles added up in kilometres do not drift; it is rounded where it is shown.
        self._offset = Fraction(0)
        self.readings: list[MeterReading] = []
        self.steps: list[MeterStep] = []
        self.problems: list[Problem] = [*_check_meter(meter)]
        # Digits that no meter has are not used: a rollover of a thousand million digits would be computed in full.
        self._digits = None if self.problems else meter.digits

    def take(self, session: Session) -> None:
        """Add one session's readings: those before a change of meter, the change, those after it."""
        # Before the readings: those of a session that declares a rollover were taken after it.
        if session.rollover is not None:
            self._roll_over(session, session.rollover)
        change = self._read_change(session.change)
        before, after = self._part(session, change)
        self._add_all(session, before)
        if session.change is not None and change is not None:
            self._change(session, session.change, *change)
            self._add_all(session, after)

    def _part(self, session: Session, change: tuple[Amount, Amount] | None) -> tuple[list[Read], list[Read]]:
        """The readings of the meter that was there, and those of the one that took its place."""
        before: list[Read] = []
        after: list[Read] = []
        for reading in session.readings:
            # The owner's word first. Only what is not said is worked out, and what cannot be is asked for.
            which = "old" if change is None else reading.of or self._choose(session, reading, *change)
            unit = change[1].unit if change is not None and which == "new" else self._unit
            amount = _fill(reading.amount, unit or self._unit)
            filled = reading if amount is reading.amount else replace(reading, amount=amount)
            if which is not None and self._is_readable(filled.amount, filled.place):
                (after if which == "new" else before).append(filled)
        return before, after

    def _choose(self, session: Session, reading: Read, old: Amount, new: Amount) -> str | None:
        """The meter that can have shown a reading of the day of a change; None, with an error, where both can."""
        as_old, as_new = (self._to_figure(_fill(reading.amount, unit)) for unit in (self._unit, new.unit or self._unit))
        # Only readings surely before this one: what is known to the year may be later.
        known = [each.total for each in self.readings if each.latest <= session.when.earliest]
        days = max(1, (find_latest(session.when) - session.when.earliest).days)
        ways = Ways(
            as_old=as_old,
            as_new=as_new,
            last=self._to_figure(old),
            first=self._to_figure(new),
            falls=bool(known) and show_decimal(as_old + self._offset) < known[-1],
            reach=PLAUSIBLE_PER_DAY[self._meter.unit] * days,
        )
        which = choose_meter(ways)
        if which is None and session.change is not None:
            self.problems.append(self._report_two_ways(reading, ways, session.change))
        return which

    def _report_two_ways(self, reading: Read, ways: Ways, change: MeterChange) -> Problem:
        unit, amount = self._meter.unit, reading.amount
        value = f"{amount.value:f} {amount.unit}" if amount.unit else f"{amount.value:f}"
        old, new = ways.as_old + self._offset, ways.as_new + ways.last - ways.first + self._offset
        totals = f"`{show_decimal(old)} {unit}` or of `{show_decimal(new)} {unit}`"
        message = f"`{value}` could be from the old meter or the new one: a true total of {totals}"
        where = "this service" if reading.source == "serviced" else "`meter_changed:`"
        help = f"add `reading_of: old` or `reading_of: new` to {where}, to say which meter it was read from"
        place, also = reading.place, (change.place,)
        return Problem(rule="reading-two-ways", message=message, place=place, help=help, also=also)

    def _to_figure(self, amount: Amount) -> Fraction:
        return convert_distance(amount.value, amount.unit or self._unit, self._meter.unit)

    def _is_readable(self, amount: Amount, place: Place) -> bool:
        unit = amount.unit or self._unit
        if not are_comparable(unit, self._meter.unit):
            message = f"the reading is in `{unit}`, but the meter in `log.yaml` is in `{self._meter.unit}`"
            help = "give the reading of the meter in `machine: {meter: …}`"
            self.problems.append(Problem(rule="reading-unit", message=message, place=place, help=help))
            return False
        digits = self._digits
        # Not where a meter was changed: `digits` is of one of them, and nobody says how many the other had.
        if digits is not None and not self._changed and amount.value >= 10**digits:
            message = f"the reading `{amount.value}` is too long for a meter of {digits} digits"
            help = "correct the reading, or `digits:` in `machine: {meter: …}`"
            self.problems.append(
                Problem(rule="reading-digits", message=message, place=place, help=help, severity="warning")
            )
        return True

    def _read_change(self, change: MeterChange | None) -> tuple[Amount, Amount] | None:
        """The old meter's last and the new one's first reading, each with its unit; None where one cannot be used."""
        if change is None:
            return None
        old = _fill(change.old, self._unit)
        # A new meter without a unit counts in that of `log.yaml` where the old one's was stated, else as the old one.
        unit = change.new.unit or (self._meter.unit if change.old.unit else self._unit)
        new = Amount(change.new.value, unit)
        # Both are looked at before either is refused, so that a change with two wrong units is two problems in one run.
        readable = [
            self._is_readable(old, change.field_place("old")),
            self._is_readable(new, change.field_place("new")),
        ]
        return (old, new) if all(readable) else None

    def _add_all(self, session: Session, readings: list[Read]) -> None:
        # Within one session the order of writing says nothing: a service may have come before the drive home.
        for reading in sorted(readings, key=lambda reading: self._to_figure(reading.amount)):
            self._add(session, reading.source, reading.amount, reading.place)

    def _add(self, session: Session, source: ReadingSource, amount: Amount, place: Place) -> None:
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

    def _change(self, session: Session, change: MeterChange, old: Amount, new: Amount) -> None:
        # The ends of both meters are readings too, so that a fall across a change is seen.
        self._add(session, "old meter", old, change.field_place("old"))
        self._offset += self._to_figure(old) - self._to_figure(new)
        self._unit = new.unit or self._unit
        self._add(session, "new meter", new, change.field_place("new"))
        self._step(session, "replaced or set", change.place, change=(old, new), why=change.why)

    def _roll_over(self, session: Session, place: Place) -> None:
        digits = self._digits
        # Never guessed from a fall: a slip of the keyboard falls as well.
        if digits is None or not are_comparable(self._unit, self._meter.unit):
            message = "a rollover can only be worked out if the meter's number of digits is known"
            help = "machine: {meter: {unit: mi, digits: 5}}"
            self.problems.append(Problem(rule="rollover-digits", message=message, place=place, help=help))
            return
        if session.entry is not None:  # between two readings of long ago a whole round and more may lie
            self._check_fall(session, place)
        self._offset += convert_distance(Decimal(10**digits), self._unit, self._meter.unit)
        self._step(session, "rollover", place)

    def _check_fall(self, session: Session, place: Place) -> None:
        first = min((reading.amount.value for reading in session.readings), default=None)
        before = self.readings[-1] if self.readings else None
        if first is None or before is None or first < before.value:
            return
        message = f"a rollover is declared, but the meter did not fall: `{before.value}` before, `{first}` now"
        help = "remove `rollover:`, or correct the reading"
        self.problems.append(
            Problem(
                rule="rollover-not-seen", message=message, place=place, help=help, severity="warning",
                also=(before.place,),
            )
        )  # fmt: skip

    def _step(
        self,
        session: Session,
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


def _fill(amount: Amount, unit: str) -> Amount:
    return amount if amount.unit else Amount(amount.value, unit)


def _check_meter(meter: Meter) -> Iterator[Problem]:
    if meter.digits is not None and meter.digits > MOST_DIGITS:
        message = f"a meter of {meter.digits} digits is not plausible"
        help = "count the whole digits that it can show, as in `digits: 6`"
        yield Problem(rule="meter-digits", message=message, place=meter.field_place("digits"), help=help)


def _report_no_meter(sessions: list[Session]) -> tuple[Problem, ...]:
    places = [reading.place for session in sessions for reading in session.readings]
    places += [session.change.place for session in sessions if session.change]
    if not places:
        return ()
    message = "the meter was read, but `log.yaml` has no meter"
    help = "add `meter: {unit: mi}` (or km, or h) under `machine:`"
    return (Problem(rule="no-meter", message=message, place=places[0], help=help, also=tuple(places[1:2])),)
