"""Was what a service item covers looked at or renewed in the same go?

A plan says with `covers` what lies open then: common practice, no source, is to renew a belt's tensioner with the belt.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from buildlog.problems import Problem
from buildlog.source.records import Entry, Log, Serviced

SAME_GO = datetime.timedelta(days=30)
"Work that goes on over some evenings is one go; our own rule."


def check_covers(log: Log) -> Iterator[Problem]:
    """A doubt for each time that an item was done and some of what it covers was not, whatever day it is asked for.

    Looked at or renewed counts what an entry within 30 days fitted, removed, checked, serviced, or lists as
    `looked_at`. Nothing is asked of inherited events.
    """
    for entry in log.entries:
        for done in entry.serviced:
            item = log.settings.service.get(done.item)
            if item is None or not item.covers:
                continue
            touched = _list_touched(log, entry)
            missed = [component for component in item.covers if component not in touched]
            if missed:
                yield _tell(entry, done, missed)


def _list_touched(log: Log, entry: Entry) -> set[str]:
    """Names of components that were worked on around the day of an entry.

    A check that clears a group clears what the component of its name drives; a new belt alone touches nothing else.
    """
    near = [other for other in log.entries if abs(other.date - entry.date) <= SAME_GO]
    cleared = {name for other in near for check in other.checks for name in check.clears}
    members = {name for name, component in log.settings.components.items() if component.driven_by in cleared}
    return {name for other in near for name in _list_named(other)} | cleared | members


def _list_named(entry: Entry) -> Iterator[str]:
    for fitted in entry.fitted:
        yield from (fitted.part, fitted.instead_of or fitted.part)
    yield from (removed.part for removed in entry.removed)
    for done in entry.serviced:
        yield from (done.item, *done.parts, *done.looked_at)
    yield from (check.cause for check in entry.checks if check.cause)


def _tell(entry: Entry, done: Serviced, missed: list[str]) -> Problem:
    names = ", ".join(f"`{name}`" for name in missed)
    message = f"`{done.item}` was done on {entry.date} without {names}, which it covers, within {SAME_GO.days} days"
    return Problem(
        rule="cover-missed",
        message=message,
        place=done.place,
        help=f"serviced: {{item: {done.item}, looked_at: [{', '.join(missed)}]}}, if so; or name what was fitted",
        severity="doubt",
    )
