"""What must come off to reach something, what is off on a day, and what was taken off more than once?

What can be reached behind it is for `access`.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise

from buildlog.arithmetic import EXACT, sum_exactly
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Entry, Log, StripDown
from buildlog.text import agree


@frozen
class Visit:
    """One time that a strip-down was off."""

    key: str
    "the strip-down's key under `strip_downs:`"
    off_on: datetime.date
    "the day of the entry that took it off"
    off_in: str
    "name of the entry that took it off"
    back_on: datetime.date | None
    "the day of the entry that put it back; None: still off"
    back_in: str | None
    "name of that entry; None: still off"
    implied: bool
    "whether no entry says that it came off, and it must have, as something behind it did"


@frozen
class StripDownFigures:
    """One strip-down as of a day."""

    key: str
    "its key under `strip_downs:`"
    name: str
    "as shown"
    hours: Decimal
    "to take it off and put it back, what must come off first not included"
    needs: tuple[str, ...]
    "keys of all that must come off first, in an order in which they can"
    total_hours: Decimal
    "its own and those of all that it needs, each once"
    off: bool
    "whether it is off on the day"
    off_since: datetime.date | None
    "the day that it came off; None: it is on"
    off_in: str | None
    "name of the entry that took it off; None: it is on"
    visits: tuple[Visit, ...]
    "each time that it was off by the day, in order"
    again_hours: Decimal
    "hours spent on taking it off more than once: its hours for each time but the first"
    place: Place
    "where `log.yaml` describes it"


@frozen
class StripDownsFigures:
    """Every strip-down as of a day."""

    strip_downs: tuple[StripDownFigures, ...]
    "in the order of `log.yaml`"
    off: tuple[str, ...]
    "keys of those that are off, in an order in which they can come off"
    again_hours: Decimal
    "hours of everything taken off more than once"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day"


def list_needs(strip_downs: Mapping[str, StripDown], keys: Iterable[str]) -> tuple[str, ...]:
    """The strip-downs named and all that must come off first, in an order in which they can; unknown ones left out.

    Where strip-downs wait for each other in a circle, which is an error of the log, the order breaks it somewhere.
    """
    # Not `TopologicalSorter`: it refuses a circle, and would mix branches level by level. A stack and not recursion,
    # since nothing bounds the chain of `after:` that somebody may write.
    order: list[str] = []
    begun: set[str] = set()
    stack = [(key, False) for key in reversed(tuple(keys))]
    while stack:
        key, ready = stack.pop()
        if ready:
            order.append(key)
        elif key in strip_downs and key not in begun:
            begun.add(key)  # already when first met, or a circle would never end
            stack.append((key, True))
            stack += [(need, False) for need in reversed(strip_downs[key].after)]
    return tuple(order)


def list_to_open(strip_downs: Mapping[str, StripDown], keys: Iterable[str], *, off: Collection[str]) -> tuple[str, ...]:
    """What of the strip-downs named, and of all that must come off first, is on and has to come off; in order.

    That something behind it is off opens nothing: what went back in front of an open one has to come off again.
    """
    return tuple(key for key in list_needs(strip_downs, keys) if key not in off)


def sum_hours(strip_downs: Mapping[str, StripDown], keys: Iterable[str]) -> Decimal:
    """Hours of some strip-downs, those that they need not included."""
    return sum_exactly(strip_downs[key].hours for key in keys)


def compute_strip_downs(log: Log) -> StripDownsFigures:
    """What is off after the last entry, and every time that something came off."""
    strip_downs, walk = log.settings.strip_downs, _Walk(log)
    # What went back in front of something that is still off is among its needs, and is on.
    off = tuple(key for key in list_needs(strip_downs, walk.off) if key in walk.off)
    figures = tuple(_describe(strip_downs, key, walk) for key in strip_downs)
    return StripDownsFigures(
        strip_downs=figures,
        off=off,
        again_hours=sum_exactly(figure.again_hours for figure in figures),
        problems=(*_check_circles(strip_downs), *walk.problems),
    )


def _describe(strip_downs: Mapping[str, StripDown], key: str, walk: _Walk) -> StripDownFigures:
    strip_down, needs = strip_downs[key], list_needs(strip_downs, [key])
    visits = tuple(visit for visit in walk.visits.values() if visit.key == key)
    now = walk.off.get(key)
    return StripDownFigures(
        key=key,
        name=strip_down.name,
        hours=strip_down.hours,
        needs=needs[:-1],  # the last is the strip-down itself
        total_hours=sum_hours(strip_downs, needs),
        off=now is not None,
        off_since=visits[-1].off_on if now is not None else None,
        off_in=visits[-1].off_in if now is not None else None,
        visits=visits,
        # Its own hours alone: what came off in front of it again has visits, and hours, of its own.
        again_hours=EXACT.multiply(strip_down.hours, Decimal(max(len(visits) - 1, 0))),
        place=strip_down.place,
    )


class _Walk:
    """Goes through entries once; keeps what is off, every visit, and the problems that it meets."""

    def __init__(self, log: Log) -> None:
        self._strip_downs = log.settings.strip_downs
        # Visits by number, since a later entry may still change one: what was implied is written down, or it goes back.
        self.off: dict[str, int] = {}
        "number of the visit, by key of what is off"
        self.visits: dict[int, Visit] = {}
        self._written: dict[str, Place] = {}
        "where it is written that something came off"
        self.problems: list[Problem] = []
        for entry in log.entries:
            # In this order, since an entry may cover a whole job: off, done, and back on.
            self._strip(entry)
            self._refit(entry)

    def _strip(self, entry: Entry) -> None:
        stripped = set(entry.stripped)
        for key in list_needs(self._strip_downs, dict.fromkeys(entry.stripped)):
            known = self.off.get(key)
            if known is None:
                self._take_off(entry, key, implied=key not in stripped)
            elif key in stripped and self.visits[known].implied:
                # Written down late is no contradiction, and no second visit.
                self.visits[known] = replace(self.visits[known], implied=False)
            elif key in stripped:
                self.problems.append(self._report_already_off(entry, key))
            if key in stripped:
                self._written.setdefault(key, entry.field_place("stripped", key))

    def _take_off(self, entry: Entry, key: str, *, implied: bool) -> None:
        number = self.off[key] = len(self.visits)
        self.visits[number] = Visit(
            key=key, off_on=entry.date, off_in=entry.name, back_on=None, back_in=None, implied=implied
        )

    def _refit(self, entry: Entry) -> None:
        refitted = [key for key in dict.fromkeys(entry.refitted) if key in self._strip_downs]
        for key in refitted:
            if key in self.off:
                self._put_back(entry, key)
            else:
                self.problems.append(_report_not_off(entry, key))
        if refitted:
            # Nobody wrote that these came off, so nobody will write that they go back: they do as soon as nothing
            # behind them is known to be off.
            needed = list_needs(self._strip_downs, [key for key in self.off if not self._is_implied(key)])
            for key in [key for key in self.off if self._is_implied(key) and key not in needed]:
                self._put_back(entry, key)
            self.problems += [self._report_open_behind(entry, key) for key in refitted if key in needed]

    def _is_implied(self, key: str) -> bool:
        return self.visits[self.off[key]].implied

    def _put_back(self, entry: Entry, key: str) -> None:
        number = self.off.pop(key)
        self._written.pop(key, None)
        self.visits[number] = replace(self.visits[number], back_on=entry.date, back_in=entry.name)

    def _report_already_off(self, entry: Entry, key: str) -> Problem:
        since = self.visits[self.off[key]]
        return Problem(
            rule="stripped-twice",
            message=f"`{key}` comes off on {entry.date}, but it has been off since {since.off_on}",
            place=entry.field_place("stripped", key),
            help=f"add `refitted: [{key}]` where it went back in between, or remove it here",
            also=(self._written[key],),
        )

    def _report_open_behind(self, entry: Entry, key: str) -> Problem:
        behind = [other for other in self.off if key in list_needs(self._strip_downs, [other])]
        names, are = ", ".join(f"`{other}`" for other in behind), agree(len(behind), "is", "are")
        # A warning and no error: the entry may have forgotten what is behind, or the front may be on for a test drive.
        return Problem(
            rule="refitted-before",
            message=f"`{key}` goes back on {entry.date} while {names} behind it {are} off",
            place=entry.field_place("refitted", key),
            help=f"add {names} to `refitted:` if it went back too",
            severity="warning",
            also=tuple(self._written[other] for other in behind if other in self._written),
        )


def _report_not_off(entry: Entry, key: str) -> Problem:
    return Problem(
        rule="refitted-not-off",
        message=f"`{key}` goes back on {entry.date}, but nothing says it came off",
        place=entry.field_place("refitted", key),
        help=f"add `stripped: [{key}]` to the entry in which it came off, or to this one",
    )


def _check_circles(strip_downs: Mapping[str, StripDown]) -> Iterator[Problem]:
    """A problem for each circle in which strip-downs wait for each other."""
    graph = {key: [need for need in strip_downs[key].after if need in strip_downs] for key in strip_downs}
    while True:
        try:
            TopologicalSorter(graph).prepare()
        except CycleError as error:
            circle = _start_with_first(error.args[1], list(strip_downs))
            yield _report_circle(strip_downs, circle)
            # The sorter stops at its first circle. To see the next one, cut this one where the message says to.
            graph[circle[1]] = [need for need in graph[circle[1]] if need != circle[0]]
        else:
            return


def _start_with_first(circle: list[str], order: list[str]) -> list[str]:
    """The same circle, its first name again at its end, from the name that comes first in the owner's order."""
    # Where the sorter starts a circle is not documented; a message should not change with Python.
    start = circle.index(min(circle, key=order.index))
    return [*circle[start:-1], *circle[:start], circle[start]]


def _report_circle(strip_downs: Mapping[str, StripDown], circle: list[str]) -> Problem:
    """The circle as a problem; each of its names must come off before the next, and the last is the first again."""
    steps = ", ".join(f"`{first}` before `{then}`" for first, then in pairwise(circle))
    places = [strip_downs[then].field_place("after", first) for first, then in pairwise(circle)]
    return Problem(
        rule="strip-down-circle",
        message=f"strip-downs wait for each other, so none can come off first: {steps}",
        place=places[0],
        help=f"remove `{circle[0]}` from the `after:` of `{circle[1]}`, or break the circle elsewhere",
        also=tuple(places[1:]),
    )
