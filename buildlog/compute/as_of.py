"""Which entries count as of a day, and which are still ahead."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import replace

from buildlog.problems import Problem
from buildlog.read.records import Log


def cut_to_day(log: Log, as_of: datetime.date) -> Log:
    """The log as it stood at the end of a day; itself where nothing was written later."""
    entries = tuple(entry for entry in log.entries if entry.date <= as_of)
    return log if len(entries) == len(log.entries) else replace(log, entries=entries)


AHEAD = "entry-ahead"
"The rule that tells of entries which are left out; every command names them."


def find_ahead(log: Log, as_of: datetime.date) -> Iterator[Problem]:
    """A warning for each entry that is left out because its day has not come: a wrong year would lose it in silence."""
    for entry in log.entries:
        if entry.date > as_of:
            yield Problem(
                rule=AHEAD,
                message=f"this entry is dated `{entry.date}`, after `{as_of}`, so it is left out",
                place=entry.field_place("date"),
                help=f"correct its `date:`, or use `--as-of {entry.date}`",
                severity="warning",
            )
