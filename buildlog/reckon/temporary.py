"""What is fitted only for now, and what was made good again?"""

from __future__ import annotations

import datetime

from buildlog.frozen import frozen
from buildlog.problems import Problem, suggest
from buildlog.source.records import Log, Temporary


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


def reckon_temporary(log: Log, as_of: datetime.date) -> tuple[tuple[TemporaryFigures, ...], tuple[Problem, ...]]:
    """Every temporary measure taken by the day in the order of the log, and every name that ends none."""
    opened: dict[str, tuple[Temporary, datetime.date, str]] = {}
    done: list[TemporaryFigures] = []
    problems: list[Problem] = []
    for entry in log.entries:
        for measure in entry.temporary:
            if measure.name in opened:
                problems.append(_tell_open(measure, opened[measure.name][0]))
            elif entry.date <= as_of:
                opened[measure.name] = (measure, entry.date, entry.name)
        for key in entry.made_good:
            if entry.date > as_of:
                continue
            if key in opened:
                done.append(_describe(*opened.pop(key), ended=(entry.date, entry.name), as_of=as_of))
            else:
                message = f"no temporary measure `{key}` is open on {entry.date}"
                help = suggest(key, opened) or "name it first under `temporary:`"
                problems.append(
                    Problem(rule="nothing-to-make-good", message=message, place=entry.spot("made_good"), help=help)
                )
    open_now = [_describe(*story, ended=None, as_of=as_of) for story in opened.values()]
    return tuple(sorted([*done, *open_now], key=lambda m: (m.since, m.key))), tuple(problems)


def _describe(
    measure: Temporary,
    since: datetime.date,
    entry: str,
    *,
    ended: tuple[datetime.date, str] | None,
    as_of: datetime.date,
) -> TemporaryFigures:
    return TemporaryFigures(
        key=measure.name,
        what=measure.what,
        until=measure.until,
        behind=measure.behind,
        since=since,
        entry=entry,
        made_good=ended[0] if ended else None,
        made_good_in=ended[1] if ended else None,
        days=((ended[0] if ended else as_of) - since).days,
    )


def _tell_open(again: Temporary, first: Temporary) -> Problem:
    return Problem(
        rule="temporary-twice",
        message=f"the temporary measure `{again.name}` is open already",
        place=again.place,
        help=f"end the first one with `made_good: [{again.name}]`, or give this one a name of its own",
        also=(first.place,),
    )
