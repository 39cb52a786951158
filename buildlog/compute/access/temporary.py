"""What is fitted only for now, and what was made good again?"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import NamedTuple

from buildlog.frozen import frozen
from buildlog.problems import Problem, suggest
from buildlog.read.records import Entry, Log, Temporary


@frozen
class TemporaryFigures:
    """One temporary measure as of a day."""

    key: str
    what: str
    until: str | None
    "what it waits for, as written"
    behind: str | None
    "key of the strip-down that lays it open"
    since: datetime.date
    entry: str
    "name of the entry that tells of it"
    made_good: datetime.date | None
    "None: still there"
    made_good_in: str | None
    "name of the entry that ended it"
    days: int
    "until it was made good, or until the day asked for"


def compute_temporary(log: Log, as_of: datetime.date) -> tuple[tuple[TemporaryFigures, ...], tuple[Problem, ...]]:
    """Every temporary measure of a log as it stood on a day, oldest first, and every name that is used wrongly."""
    stories, problems = _follow(log)
    known = [_describe(story, as_of) for story in stories]
    return tuple(sorted(known, key=lambda measure: (measure.since, measure.key))), problems


class _Story(NamedTuple):
    measure: Temporary
    begun: Entry
    ended: Entry | None = None


def _follow(log: Log) -> tuple[list[_Story], tuple[Problem, ...]]:
    opened: dict[str, _Story] = {}
    done: list[_Story] = []
    problems: list[Problem] = []
    for entry in log.entries:
        for measure in entry.temporary:
            if measure.name in opened:
                problems.append(_tell_open(measure, opened[measure.name].measure))
            else:
                opened[measure.name] = _Story(measure, entry)
        for key in entry.made_good:
            if key in opened:
                done.append(opened.pop(key)._replace(ended=entry))
            else:
                problems.append(_tell_nothing(entry, key, opened))
    return [*done, *opened.values()], tuple(problems)


def _describe(story: _Story, as_of: datetime.date) -> TemporaryFigures:
    measure, begun, ended = story.measure, story.begun, story.ended
    return TemporaryFigures(
        key=measure.name,
        what=measure.what,
        until=measure.until,
        behind=measure.behind,
        since=begun.date,
        entry=begun.name,
        made_good=ended.date if ended else None,
        made_good_in=ended.name if ended else None,
        days=((ended.date if ended else as_of) - begun.date).days,
    )


def _tell_nothing(entry: Entry, key: str, opened: Iterable[str]) -> Problem:
    return Problem(
        rule="nothing-to-make-good",
        message=f"no temporary measure `{key}` is open on {entry.date}",
        place=entry.field_place("made_good", key),
        help=suggest(key, opened) or "name it first under `temporary:`",
    )


def _tell_open(again: Temporary, first: Temporary) -> Problem:
    return Problem(
        rule="temporary-twice",
        message=f"the temporary measure `{again.name}` is open already",
        place=again.place,
        help=f"end the first one with `made_good: [{again.name}]`, or give this one a name of its own",
        also=(first.place,),
    )
