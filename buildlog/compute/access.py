"""What can be reached while something is stripped, and which repairs there are only temporary?

A temporary repair comes first: to make it good is one of the things that lie within reach.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any, Literal, NamedTuple

from buildlog.arithmetic import add_months
from buildlog.compute.faults.faults import FaultFigures
from buildlog.compute.parts.names import plain_name
from buildlog.compute.parts.part_history import PartFigures
from buildlog.compute.service.items import ServiceItemFigures
from buildlog.compute.strip_downs import StripDownsFigures, Visit, list_needs
from buildlog.frozen import frozen
from buildlog.problems import Problem, suggest
from buildlog.read.records import Entry, Log, Settings, Temporary
from buildlog.text import name_some


@frozen
class TemporaryFigures:
    """One temporary repair as of a day."""

    key: str
    "the owner's short name for it, by which `made_good` ends it; free again once that is done"
    what: str
    "the repair in the owner's words"
    until: str | None
    "what it waits for, as written"
    behind: str | None
    "key of the strip-down that lays it open"
    since: datetime.date
    "the day of the entry that made it"
    entry: str
    "name of the entry that made it"
    made_good: datetime.date | None
    "the day it was made good; None: it is still there"
    made_good_in: str | None
    "name of the entry that ended it"
    days: int
    "until it was made good, or until the day asked for"


def compute_temporary(log: Log, as_of: datetime.date) -> tuple[tuple[TemporaryFigures, ...], tuple[Problem, ...]]:
    """Every temporary repair of a log as it stood on a day, oldest first, and every name that is used wrongly."""
    stories, problems = _follow(log)
    known = [_describe(story, as_of) for story in stories]
    return tuple(sorted(known, key=lambda repair: (repair.since, repair.key))), problems


class _Story(NamedTuple):
    """One temporary repair and the entries in which it came and went."""

    repair: Temporary
    "as the owner wrote it"
    begun: Entry
    "the entry that made it"
    ended: Entry | None = None
    "the entry that made it good; None: none has yet"


def _follow(log: Log) -> tuple[list[_Story], tuple[Problem, ...]]:
    opened: dict[str, _Story] = {}
    done: list[_Story] = []
    problems: list[Problem] = []
    for entry in log.entries:
        # Before `made_good`: what holds in the morning may be made good in the evening, in one entry.
        for repair in entry.temporary:
            # A name is free again once it was made good. While it is open, a second repair of that name is refused:
            # `made_good` could not say which of the two it ends.
            if repair.name in opened:
                problems.append(_report_open(repair, opened[repair.name].repair))
            else:
                opened[repair.name] = _Story(repair, entry)
        for key in entry.made_good:
            if key in opened:
                done.append(opened.pop(key)._replace(ended=entry))
            else:
                problems.append(_report_nothing_open(entry, key, opened))
    return [*done, *opened.values()], tuple(problems)


def _describe(story: _Story, as_of: datetime.date) -> TemporaryFigures:
    repair, begun, ended = story.repair, story.begun, story.ended
    return TemporaryFigures(
        key=repair.name,
        what=repair.what,
        until=repair.until,
        behind=repair.behind,
        since=begun.date,
        entry=begun.name,
        made_good=ended.date if ended else None,
        made_good_in=ended.name if ended else None,
        days=((ended.date if ended else as_of) - begun.date).days,
    )


def _report_nothing_open(entry: Entry, key: str, opened: Iterable[str]) -> Problem:
    return Problem(
        rule="nothing-to-make-good",
        message=f"there is no open temporary repair `{key}` on {entry.date}",
        place=entry.field_place("made_good", key),
        help=suggest(key, opened) or "add it first under `temporary:`",
    )


def _report_open(again: Temporary, first: Temporary) -> Problem:
    return Problem(
        rule="temporary-twice",
        message=f"there is already an open temporary repair `{again.name}`",
        place=again.place,
        help=f"end the first one with `made_good: [{again.name}]`, or give this one a different name",
        also=(first.place,),
    )


ReachKind = Literal["suspect", "cause", "fix", "service", "temporary", "shelf"]
"""A suspect that is left; a cause that waits for its fix; a fix that waits for its proof; a service item that is due
within a year; a temporary repair; a part on the shelf."""

MONTHS_AHEAD = 12
"A service item that is due within so many months is worth doing while it is exposed; our own choice."


@frozen
class Reach:
    """One thing to do behind one strip-down or several."""

    kind: ReachKind
    "why it is on the list"
    key: str
    "component (suspect, cause, fix), service item, temporary repair or part"
    name: str
    "the same as shown"
    reached_by: tuple[str, ...]
    "keys of the strip-downs right in front of it, one or more"
    needs: tuple[str, ...]
    "keys of those and all that must come off first, in an order in which they can"
    fault: str | None = None
    "key of the fault: suspect, cause, fix; None for the other kinds"
    fault_name: str | None = None
    "its symptom, as shown; None where `fault` is None"
    hours: Decimal | None = None
    "to check it: suspect; None where not stated"
    state: str | None = None
    "service: `overdue`, `due`, `history unknown` or `later`"
    due_on: datetime.date | None = None
    "service: when it is due; None where not known"
    since: datetime.date | None = None
    "day it was suspected, found faulty, fixed or temporarily repaired; service: last done, None: never on record"
    qty: Decimal | None = None
    "shelf: how many lie there"
    entry: str | None = None
    "name of the entry of `since`, where there is one"


def list_to_do(
    settings: Settings,
    as_of: datetime.date,
    *,
    faults: Iterable[FaultFigures],
    service: Iterable[ServiceItemFigures],
    temporary: Iterable[TemporaryFigures],
    parts: Iterable[PartFigures],
) -> tuple[Reach, ...]:
    """All that is to be done behind strip-downs as of the day of the figures, in the order of `ReachKind`."""
    finder = _Finder(settings, as_of)
    of_faults = [reach for fault in faults for reach in finder.list_fault(fault)]
    kinds: tuple[ReachKind, ...] = ("suspect", "cause", "fix")
    return (
        *(reach for kind in kinds for reach in of_faults if reach.kind == kind),
        *(reach for item in service for reach in finder.list_service(item)),
        *(reach for repair in temporary for reach in finder.list_temporary(repair)),
        *(reach for part in parts for reach in finder.list_shelf(part)),
    )


class _Finder:
    """Finds by which strip-downs things are reached; each of its lists is empty where none has to come off."""

    def __init__(self, settings: Settings, as_of: datetime.date) -> None:
        self._settings = settings
        self._as_of = as_of

    def list_fault(self, fault: FaultFigures) -> Iterator[Reach]:
        """What is left of a fault, or its cause, or its fix."""
        common: dict[str, Any] = {"fault": fault.key, "fault_name": fault.name}
        if fault.state in ("open", "narrowed"):
            yield from self._list_suspects(fault, common)
        elif fault.state == "cause known" and fault.cause is not None:
            judged = next(suspect for suspect in fault.suspects if suspect.key == fault.cause)
            common |= {"since": judged.judged_on, "entry": judged.judged_in}
            yield from self._reach("cause", fault.cause, judged.name, **common)
        # A fix made without a known cause names no component, so nobody can say what it lies behind.
        elif fault.state == "fixed, not proved" and fault.fixes[-1].cause is not None:
            fix, key = fault.fixes[-1], fault.fixes[-1].cause
            name = next((suspect.name for suspect in fault.suspects if suspect.key == key), plain_name(key))
            yield from self._reach("fix", key, name, since=fix.date, entry=fix.entry, **common)

    def _list_suspects(self, fault: FaultFigures, common: Mapping[str, Any]) -> Iterator[Reach]:
        again = [seen for seen in fault.sightings if seen.reopened]
        for suspect in fault.suspects:
            if suspect.key in fault.left:
                since, entry = suspect.since, suspect.entry
                # After a fix everybody took the fault for gone, so a suspect counts from the day it came back: a refit
                # in between, with the suspect still behind it, is no warning.
                if again and again[-1].date >= since:
                    since, entry = again[-1].date, again[-1].entry
                component = self._settings.components.get(suspect.key)
                hours = component.check_hours if component else None
                yield from self._reach(
                    "suspect", suspect.key, suspect.name, hours=hours, since=since, entry=entry, **common
                )

    def list_service(self, item: ServiceItemFigures) -> Iterator[Reach]:
        """A service item that is due, or will be before long."""
        plan = self._settings.service.get(item.key)
        # Only `later` needs the look ahead: what is overdue, due or of unknown history is worth doing anyhow.
        soon = item.due_on is not None and item.due_on <= add_months(self._as_of, MONTHS_AHEAD)
        if plan is not None and (item.state != "later" or soon):
            last = item.last
            yield from self._reach(
                "service",
                item.key,
                item.name,
                covers=plan.covers,
                state=item.state,
                due_on=item.due_on,
                since=last.date if last else None,
                entry=last.entry if last else None,
            )

    def list_temporary(self, repair: TemporaryFigures) -> Iterator[Reach]:
        """A temporary repair that was not made good."""
        # `behind` names the strip-down itself: what was bodged need not be a component that `log.yaml` knows.
        front = repair.behind
        if repair.made_good is None and front is not None and front in self._settings.strip_downs:
            more: dict[str, Any] = {"since": repair.since, "entry": repair.entry}
            yield self._make("temporary", repair.key, repair.what, (front,), **more)

    def list_shelf(self, part: PartFigures) -> Iterator[Reach]:
        """A part that lies on the shelf."""
        if part.shelf > 0:
            # A part goes by several names, and any of them may be that of the component whose place is known.
            yield from self._reach("shelf", part.key, part.name, covers=part.aliases, qty=part.shelf)

    def _reach(
        self, kind: ReachKind, key: str, name: str, *, covers: Iterable[str] = (), **more: Any
    ) -> Iterator[Reach]:
        """The thing, where the component of its name, or one that it covers, lies behind a strip-down."""
        # All that a service item covers counts, so that it is within reach only where the whole job can be done.
        components = (self._settings.components.get(component) for component in (key, *covers))
        fronts = [component.reached_by for component in components if component and component.reached_by]
        reached_by = tuple(dict.fromkeys(front for front in fronts if front in self._settings.strip_downs))
        if reached_by:
            yield self._make(kind, key, name, reached_by, **more)

    def _make(self, kind: ReachKind, key: str, name: str, reached_by: tuple[str, ...], **more: Any) -> Reach:
        needs = list_needs(self._settings.strip_downs, reached_by)
        return Reach(kind=kind, key=key, name=name, reached_by=reached_by, needs=needs, **more)


KINDS = {"suspect": "suspect", "cause": "cause", "service": "service item", "temporary": "temporary repair"}
"What should not be closed up undone, as messages call it. A fix is proved by driving, and a shelf part may be a spare."

MOST_NAMED = 5
"Things that one warning lists; our own choice, so that it stays a sentence."


def check_closed_up(log: Log, things: Iterable[Reach], *, strip_downs: StripDownsFigures) -> Iterator[Problem]:
    """A warning for each strip-down that went back with work behind it that was due by then and is not done yet.

    `things` and `strip_downs` are of the same day.
    """
    # Entries by their number, not by their day: a check and the refit after it are often of one evening.
    order = {entry.name: number for number, entry in enumerate(log.entries)}
    visits = {figures.key: figures.visits for figures in strip_downs.strip_downs}
    left: dict[Visit, list[Reach]] = {}
    for thing in things:
        closed = _find_closing(thing, visits, order)
        if closed is not None and thing.kind in KINDS and _was_due(thing, closed, order):
            left.setdefault(closed, []).append(thing)
    for visit, inside in left.items():
        yield _report_closed_up(log, visit, inside)


def _find_closing(thing: Reach, visits: Mapping[str, Sequence[Visit]], order: Mapping[str, int]) -> Visit | None:
    """The visit that ended the last time that a thing was exposed; None: it never was, or still is.

    It is exposed while everything in front of it is off, until the first of that goes back.
    """
    fronts = [visits[key] for key in thing.needs]
    # Still open: there is time to do it before it goes back.
    if all(front and front[-1].back_in is None for front in fronts):
        return None
    closed = [
        visit
        for visit in (visit for front in fronts for visit in front if visit.back_in is not None)
        if all(any(_was_off(other, order[visit.back_in or ""], order) for other in front) for front in fronts)
    ]
    last = {visit: (order[visit.back_in or ""], visit.key in thing.reached_by) for visit in closed}
    # Of several that went back in one entry the one right in front of the thing is named: the owner thinks of that.
    return max(closed, key=last.__getitem__, default=None)


def _was_off(visit: Visit, entry: int, order: Mapping[str, int]) -> bool:
    """Whether a strip-down was off until an entry or beyond it."""
    return order[visit.off_in] <= entry and (visit.back_in is None or order[visit.back_in] >= entry)


def _was_due(thing: Reach, visit: Visit, order: Mapping[str, int]) -> bool:
    """Whether a thing was to be done when a visit ended, and was not done in it."""
    if thing.kind != "service":
        return thing.entry is not None and order[thing.entry] < order[visit.back_in or ""]
    # Days here, for a service known from `history:` has no entry; done on the day that it came off is done in time.
    before = thing.since is None or thing.since < visit.off_on
    back = visit.back_on or datetime.date.max
    return before and (thing.state == "history unknown" or (thing.due_on is not None and thing.due_on <= back))


def _report_closed_up(log: Log, visit: Visit, inside: list[Reach]) -> Problem:
    entry = next(entry for entry in log.entries if entry.name == visit.back_in)
    names = name_some([_name(thing) for thing in inside])
    return Problem(
        rule="refitted-over-work",
        message=f"`{visit.key}` went back on {visit.back_on} with work left behind it: {names}",
        place=entry.field_place("refitted", visit.key),
        help="if it was done, say so under `checks:`, `fixed:`, `serviced:` or `made_good:`; otherwise do it next time",
        severity="warning",
    )


def _name(thing: Reach) -> str:
    fault = f" of `{thing.fault}`" if thing.fault is not None else ""
    return f"{KINDS[thing.kind]} `{thing.key}`{fault}"
