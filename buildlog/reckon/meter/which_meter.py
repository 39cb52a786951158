"""Which meter was a reading read off, on the day on which one took the place of the other?

What the owner says counts (`reading_of`). Unsaid, a reading belongs to the only meter that can have shown it, and
where both can have, it is asked for: nothing is chosen.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Literal

from buildlog.frozen import frozen
from buildlog.problems import Problem
from buildlog.source.records import Log, MeterChange, Serviced

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
    if not can:  # it falls either way, which is told where totals are compared
        return "new" if rises["old"] < 0 else "old"
    if len(can) == 2 and not any(rises.values()):  # both at the moment of the change: the total is the same
        return "old"
    likely = [which for which in can if rises[which] <= ways.reach] if len(can) == 2 else can
    return likely[0] if len(likely) == 1 else None


def check_reading_of(log: Log) -> Iterator[Problem]:
    """An error for each `reading_of` that stands beside no reading, or in an entry whose meter was not changed."""
    events = [(event.meter_changed, event.reading) for event in log.settings.history]
    for change, reading in (*events, *((entry.meter_changed, entry.reading) for entry in log.entries)):
        if change is not None and change.reading_of is not None and reading is None:
            yield _tell_of_nothing(change, "there is no `reading:` beside `meter_changed:`")
    for entry in log.entries:
        for done in entry.serviced:
            if done.reading_of is not None and done.reading is None:
                yield _tell_of_nothing(done, "this service has no `reading:` of its own")
            elif done.reading_of is not None and entry.meter_changed is None:
                yield _tell_of_nothing(done, "the entry has no `meter_changed:`")


def _tell_of_nothing(record: MeterChange | Serviced, why: str) -> Problem:
    return Problem(
        rule="reading-of-nothing",
        message=f"`reading_of: {record.reading_of}` says of which meter a reading is, and {why}",
        place=record.spot("reading_of"),
        help="add what is missing, or take `reading_of:` out",
    )
