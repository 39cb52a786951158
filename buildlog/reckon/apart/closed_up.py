"""Was something closed up with work left inside?

Asked of each strip-down that went back, about the last time that it was off, and only while the work is still to be
done: what cannot be helped any more is no doubt.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence

from buildlog.problems import Problem
from buildlog.reckon.apart.strip_downs import StripDownsFigures, Visit
from buildlog.reckon.apart.within_reach import Reach
from buildlog.source.records import Log

KINDS = {"suspect": "suspect", "cause": "cause", "service": "service item", "temporary": "temporary measure"}
"What should not be closed up undone, as it is told. A fix is proved by driving, and a shelf part may be a spare."

MOST_NAMED = 5
"Things that one doubt lists."


def check_closed_up(log: Log, things: Iterable[Reach], *, strip_downs: StripDownsFigures) -> Iterator[Problem]:
    """A doubt for each strip-down that went back with work behind it that was due by then and is not done yet.

    `things` and `strip_downs` are of the same day.
    """
    order = {entry.name: number for number, entry in enumerate(log.entries)}
    visits = {figures.key: figures.visits for figures in strip_downs.strip_downs}
    left: dict[Visit, list[Reach]] = {}
    for thing in things:
        closed = _find_closing(thing, visits, order)
        if closed is not None and thing.kind in KINDS and _was_due(thing, closed, order):
            left.setdefault(closed, []).append(thing)
    for visit, inside in left.items():
        yield _tell(log, visit, inside)


def _find_closing(thing: Reach, visits: Mapping[str, Sequence[Visit]], order: Mapping[str, int]) -> Visit | None:
    """The visit that ended the last time that a thing lay open; None: it never did, or does still.

    It lies open while everything in front of it is off, and is closed up by the first of that to go back.
    """
    fronts = [visits[key] for key in thing.needs]
    if all(front and front[-1].back_in is None for front in fronts):
        return None
    closed = [
        visit
        for visit in (visit for front in fronts for visit in front if visit.back_in is not None)
        if all(any(_was_off(other, order[visit.back_in or ""], order) for other in front) for front in fronts)
    ]
    last = {visit: (order[visit.back_in or ""], visit.key in thing.reached_by) for visit in closed}
    return max(closed, key=last.__getitem__, default=None)


def _was_off(visit: Visit, entry: int, order: Mapping[str, int]) -> bool:
    """Whether a strip-down was off until an entry or beyond it."""
    return order[visit.off_in] <= entry and (visit.back_in is None or order[visit.back_in] >= entry)


def _was_due(thing: Reach, visit: Visit, order: Mapping[str, int]) -> bool:
    """Whether a thing was to be done when a visit ended, and was not done in it."""
    if thing.kind != "service":
        return thing.entry is not None and order[thing.entry] < order[visit.back_in or ""]
    before = thing.since is None or thing.since < visit.off_on
    back = visit.back_on or datetime.date.max
    return before and (thing.state == "history unknown" or (thing.due_on is not None and thing.due_on <= back))


def _tell(log: Log, visit: Visit, inside: list[Reach]) -> Problem:
    entry = next(entry for entry in log.entries if entry.name == visit.back_in)
    names = ", ".join(_name(thing) for thing in inside[:MOST_NAMED])
    names += f" and {len(inside) - MOST_NAMED} more" if len(inside) > MOST_NAMED else ""
    return Problem(
        rule="closed-up",
        message=f"`{visit.key}` went back on {visit.back_on} with work left behind it: {names}",
        place=entry.spot("refitted", visit.key),
        help="if it was done, say so under `checks:`, `fixed:`, `serviced:` or `made_good:`; else see to it next time",
        severity="doubt",
    )


def _name(thing: Reach) -> str:
    fault = f" of `{thing.fault}`" if thing.fault is not None else ""
    return f"{KINDS[thing.kind]} `{thing.key}`{fault}"
