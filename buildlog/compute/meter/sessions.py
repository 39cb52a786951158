"""What does each record of a log say of its meter? In one shape, whether it is in `log.yaml` or in an entry.

Also which meter a reading was read off, on the day on which one took the place of another.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from fractions import Fraction
from typing import Literal

from buildlog.arithmetic import add_months
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Acquired, Amount, Entry, Inherited, Log, MeterChange, PartialDate, Serviced

ReadingSource = Literal["history", "acquired", "entry", "serviced", "old meter", "new meter"]


@frozen
class Read:
    """A reading as one record gives it."""

    source: ReadingSource
    "what kind of record gives it"
    amount: Amount
    "the number, with its unit where the owner wrote one"
    place: Place
    "where the reading is written"
    of: str | None = None
    "`old` or `new`: the meter that it was read off, as the owner says; None: not said"


@frozen
class Session:
    """What one record says of the meter."""

    when: PartialDate
    "the day of its entry, or an event's date as far as it is known"
    readings: tuple[Read, ...]
    "in the order of the record, those of its services last"
    change: MeterChange | None
    "one meter, or one setting of it, in place of another"
    rollover: Place | None
    "where it is declared that the meter passed its last digit; None: it is not"
    entry: str | None
    "name of the entry; None in `log.yaml`"


def list_sessions(log: Log) -> Iterator[Session]:
    """What each event of the history, the purchase and each entry says, in this order."""
    yield from (_read_event(event) for event in log.settings.history)
    if log.settings.acquired is not None:
        yield _read_acquired(log.settings.acquired)
    yield from (_read_entry(entry) for entry in log.entries)


def find_latest(when: PartialDate) -> datetime.date:
    """The last day that a date known to the day, month or year can mean."""
    # By the length of what was written, `1998` or `1998-06`: a `PartialDate` keeps no other mark of it.
    months = {4: 12, 7: 1}.get(len(when.text))
    return when.earliest if months is None else add_months(when.earliest, months) - datetime.timedelta(days=1)


def _read_acquired(acquired: Acquired) -> Session:
    bought = acquired.reading
    return Session(
        when=PartialDate(acquired.date.isoformat()),
        readings=()
        if bought is None
        else (Read(source="acquired", amount=bought, place=acquired.field_place("reading")),),
        change=None,
        rollover=acquired.field_place("rollover") if acquired.rollover else None,
        entry=None,
    )


def _read_event(event: Inherited) -> Session:
    return Session(
        when=event.date,
        readings=tuple(_read_own("history", event)),
        change=event.meter_changed,
        rollover=event.field_place("rollover") if event.rollover else None,
        entry=None,
    )


def _read_entry(entry: Entry) -> Session:
    services = (
        Read(source="serviced", amount=done.reading, place=done.field_place("reading"), of=done.reading_of)
        for done in entry.serviced
        if done.reading is not None
    )
    return Session(
        when=PartialDate(entry.date.isoformat()),
        readings=(*_read_own("entry", entry), *services),
        change=entry.meter_changed,
        rollover=entry.field_place("rollover") if entry.rollover else None,
        entry=entry.name,
    )


def _read_own(source: ReadingSource, record: Entry | Inherited) -> Iterator[Read]:
    if record.reading is not None:
        # Said beside the change: `reading: 400` is a bare number, with no room for it.
        of = record.meter_changed.reading_of if record.meter_changed else None
        yield Read(source=source, amount=record.reading, place=record.field_place("reading"), of=of)


Which = Literal["old", "new"]


@frozen
class Ways:
    """A reading beside a change of meter, taken either way; all in one unit."""

    as_old: Fraction
    "the reading, in the old meter's unit where it has none"
    as_new: Fraction
    "the reading, in the new meter's unit where it has none"
    last: Fraction
    "the old meter's last reading"
    first: Fraction
    "the new one's first"
    falls: bool
    "whether it is less than the old meter had shown before"
    reach: int
    "most that the day can bring"


def choose_meter(ways: Ways) -> Which | None:
    """The meter that can have shown the reading; None where both can, and the totals differ.

    A meter never falls: the old one showed no less than before and no more than at its end, the new one no less than
    at its start. Where that leaves both, one that would have run further than a day can bring is out.
    """
    rises: dict[Which, Fraction] = {"old": ways.last - ways.as_old, "new": ways.as_new - ways.first}
    can = [which for which, rise in rises.items() if rise >= 0 and not (which == "old" and ways.falls)]
    if not can:  # it falls either way, which is reported where totals are compared
        return "new" if rises["old"] < 0 else "old"
    if len(can) == 2 and not any(rises.values()):  # both at the moment of the change: the total is the same
        return "old"
    # Only between two that both can be: where one is left, more than a day can bring is a jump, and warned of as one.
    # Never the nearer of two: 8 h beside a change from 20 to 0 can be either, so the owner is asked.
    likely = [which for which in can if rises[which] <= ways.reach] if len(can) == 2 else can
    return likely[0] if len(likely) == 1 else None


def check_reading_of(log: Log) -> Iterator[Problem]:
    """An error for each `reading_of` beside no reading, or in an entry whose meter was not changed."""
    events = [(event.meter_changed, event.reading) for event in log.settings.history]
    for change, reading in (*events, *((entry.meter_changed, entry.reading) for entry in log.entries)):
        # Likely a reading that was meant and left out: passed over, its total would be missing without a word.
        if change is not None and change.reading_of is not None and reading is None:
            yield _report_of_nothing(change, "there is no `reading:` beside `meter_changed:`")
    for entry in log.entries:
        for done in entry.serviced:
            if done.reading_of is not None and done.reading is None:
                yield _report_of_nothing(done, "this service has no `reading:` of its own")
            elif done.reading_of is not None and entry.meter_changed is None:
                yield _report_of_nothing(done, "the entry has no `meter_changed:`")


def _report_of_nothing(record: MeterChange | Serviced, why: str) -> Problem:
    return Problem(
        rule="reading-of-nothing",
        message=f"`reading_of: {record.reading_of}` says which meter a reading is from, but {why}",
        place=record.field_place("reading_of"),
        help="add what is missing, or remove `reading_of:`",
    )
