"""What happened to every part, in the order of time; what is left where in the end is for `part_history`, `fittings`.

On one day parts arrive first, come off next, and then are fitted, returned, sold and scrapped, in the order of the log.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from functools import cached_property
from typing import Literal

from buildlog.compute.parts.arrivals import OrderArrival, OrderRefs, find_lines, follow_orders
from buildlog.compute.parts.names import ORIGINAL, PartNames, find_named, list_bought, name_parts
from buildlog.compute.parts.numbers import only_system
from buildlog.frozen import frozen
from buildlog.problems import Choices, Place, Problem
from buildlog.read.records import Amount, Entry, Fitted, Line, Log, LogRecord, Returned, Scrapped, Serviced, Sold

MovementKind = Literal["ordered", "cancelled", "arrived", "removed", "fitted", "returned", "sold", "scrapped"]
# A part may come, go on, and free another for sale within one day, and nobody writes the hours: this is the order in
# which all of that is possible.
DAY_ORDER: tuple[MovementKind, ...] = (
    "ordered", "cancelled", "arrived", "removed", "fitted", "returned", "sold", "scrapped",
)  # fmt: skip
"What comes before what on one day."
DAY_RANK = {kind: rank for rank, kind in enumerate(DAY_ORDER)}


ZERO = Decimal(0)


@frozen
class Movement:
    """One thing that happened to some of one part."""

    kind: MovementKind
    "`cancelled`: money came back for what had not arrived, so that it never will"
    date: datetime.date
    "when it happened"
    key: str
    "the part"
    qty: Decimal
    "how many; always above zero, `kind` says which way"
    entry: str
    "name of the entry that tells it"
    place: Place
    "where it is written"
    reading: Amount | None = None
    "the meter, where the entry is of the same day and has it"
    line: Place | None = None
    "the order line that it is about, by its place: ordered, cancelled, arrived, returned"
    supplier: str | None = None
    "as written: ordered, cancelled, arrived, returned"
    ref: str | None = None
    "the order's, for the same"
    at: str | None = None
    "position: fitted, removed"
    why: str | None = None
    "as written: removed, returned, scrapped"
    fate: str | None = None
    "what became of a removed one"
    shelf: str | None = None
    "where a removed one was put"
    instead_of: str | None = None
    "key of the part whose place a fitted one takes; `original` for the machine's own"
    fitted: Fitted | None = None
    "what was written of a fitted one"
    system: str | None = None
    "system of a fitted one: as written, as bought, or the one that its entry is about"
    entry_hours: Decimal | None = None
    "hours of the entry that a part was fitted in"

    @property
    def which(self) -> tuple[Place, str]:
        """What tells one fitting from every other: its record, and the part, as a service's record may fit several."""
        return self.place, self.key


@frozen
class PartStory:
    """All that a log tells of its parts; the figures of any day are computed from it."""

    log: Log
    "what it is the story of"
    names: PartNames
    "every part, and every way to name one"
    orders: tuple[OrderArrival, ...]
    "in the order of the log, with when each line came"
    lines: Mapping[Place, Line]
    "every order line by its place"
    movements: tuple[Movement, ...]
    "in the order of time"
    problems: tuple[Problem, ...]
    "of the whole log, whatever day it is computed for"


def follow_parts(log: Log) -> PartStory:
    """The story of every part of a log, and every name in it that leads to no part or no order."""
    names, name_problems = name_parts(log)
    orders, order_problems = follow_orders(log, names)
    gatherer = _Gatherer(log, names, orders)
    moves = sorted(gatherer.gather(), key=lambda move: (move.date, DAY_RANK[move.kind]))
    problems = (*name_problems, *order_problems, *gatherer.problems)
    lines = {line.line.place: line.line for order in orders for line in order.lines}
    return PartStory(
        log=log, names=names, orders=orders, lines=lines, movements=tuple(moves), problems=problems
    )  # fmt: skip


class _Gatherer:
    """Walks a log once; keeps the problems that it meets."""

    def __init__(self, log: Log, names: PartNames, orders: tuple[OrderArrival, ...]) -> None:
        self._log = log
        self._names = names
        self._orders = orders
        self._refs = OrderRefs(log, names)
        self._arrivals = {line.line.place: line for order in orders for line in order.lines}
        self._gone: dict[Place, Decimal] = {}
        self._lost: dict[Place, Decimal] = {}
        self.problems: list[Problem] = []

    @cached_property
    def _bought(self) -> Choices:
        return list_bought(self._names)

    def gather(self) -> list[Movement]:
        """Every movement, those of orders first, the others in the order of the log."""
        told = [move for entry in self._log.entries for move in self._follow_entry(entry)]
        cancelled: dict[Place, Decimal] = {}
        for move in told:
            if move.kind == "cancelled" and move.line is not None:
                cancelled[move.line] = cancelled.get(move.line, Decimal(0)) + move.qty
        return [*self._follow_orders(cancelled), *told]

    def _follow_orders(self, cancelled: Mapping[Place, Decimal]) -> Iterator[Movement]:
        for order in self._orders:
            for arrival in order.lines:
                line, key = arrival.line, self._names.lines.get(arrival.line.place)
                if key is None:
                    continue
                supplier, ref = order.order.supplier, order.order.ref
                yield Movement(
                    kind="ordered", date=order.ordered, entry=order.entry.name, key=key, qty=line.qty,
                    place=line.place, reading=_find_reading(order.entry, order.ordered), line=line.place,
                    supplier=supplier, ref=ref,
                )  # fmt: skip
                # What was paid back before it came does not come, whatever `arrived:` says of the order.
                left = line.qty - cancelled.get(line.place, Decimal(0))
                for came in arrival.came:
                    qty = min(came.qty, left)
                    left -= qty
                    if qty > 0:
                        yield Movement(
                            kind="arrived", date=came.date, entry=came.told_in.name, key=key, qty=qty,
                            place=came.place, reading=_find_reading(came.told_in, came.date), line=line.place,
                            supplier=supplier, ref=ref,
                        )  # fmt: skip

    def _follow_entry(self, entry: Entry) -> Iterator[Movement]:
        yield from self._follow_removed(entry)
        yield from self._follow_fitted(entry)
        for returned in entry.returned:
            yield from self._follow_returned(entry, returned)
        for sold in entry.sold:
            # `what:` alone is something that was never a part here, as the old seats: it leaves no shelf.
            if sold.part or sold.name:
                yield from self._follow_leaving(entry, "sold", sold, sold.date or entry.date)
        for scrapped in entry.scrapped:
            yield from self._follow_leaving(entry, "scrapped", scrapped, entry.date)
        for tightened in entry.tightened:
            # Tightening moves nothing, but a name that means no part is a slip here as anywhere.
            if tightened.part:
                self._find(tightened, tightened.part, field_place="part")

    def _follow_removed(self, entry: Entry) -> Iterator[Movement]:
        for removed in entry.removed:
            key = self._find(removed, removed.part, name=removed.name, field_place="part")
            if key is not None:
                yield Movement(
                    kind="removed", date=entry.date, entry=entry.name, key=key, qty=removed.qty, place=removed.place,
                    reading=entry.reading, at=removed.at, why=removed.why, fate=removed.fate,
                    shelf=removed.shelf,
                )  # fmt: skip

    def _follow_fitted(self, entry: Entry) -> Iterator[Movement]:
        # A filter that is fitted and named with its service item was due to be changed: planned, so no rework.
        serviced = {self._names.keys.get(part) for done in entry.serviced for part in done.parts}
        fitted_here = set()
        for fitted in entry.fitted:
            key = self._find(fitted, fitted.part, name=fitted.name, field_place="part")
            instead = fitted.instead_of
            if instead is not None and instead != ORIGINAL:
                instead = self._find(fitted, instead, field_place="instead_of")
            if key is not None:
                fitted_here.add(key)
                yield self._fit(entry, replace(fitted, planned=True) if key in serviced else fitted, key, instead)
        for done in entry.serviced:
            yield from self._follow_serviced(entry, done, fitted_here)

    def _follow_serviced(self, entry: Entry, done: Serviced, fitted_here: Collection[str]) -> Iterator[Movement]:
        """The parts that went in for a service item count as fitted, unless the entry says so itself."""
        for part in done.parts:
            key = self._find(done, part, field_place="parts")
            # Both `fitted:` and `serviced:` may name it; one filter went on.
            if key is not None and key not in fitted_here:
                place = done.field_place("parts")
                record = Fitted(part=part, planned=True, paper=done.paper, note=done.note, place=place)
                yield self._fit(entry, record, key, key)

    def _follow_returned(self, entry: Entry, returned: Returned) -> Iterator[Movement]:
        """What went back, and what will never come; nothing where only money came."""
        if returned.qty is returned.cancelled is None:
            return
        found, wrong = find_lines(returned, self._refs, self._names)
        self.problems += wrong
        if found is None:
            return
        lines = [line for line in found[1] if line.place in self._names.lines]
        # Goods have to go back from some shelf, and which part they were is not guessed. Money alone may be for all.
        if returned.part is None and len(lines) > 1:
            self.problems.append(_report_which(returned, [self._names.lines[line.place] for line in lines]))
            return
        date = returned.date or entry.date
        for line, kind, qty in self._share_back(returned, lines, date):
            yield Movement(
                kind=kind, date=date, entry=entry.name, key=self._names.lines[line.place], qty=qty,
                place=returned.place, reading=_find_reading(entry, date), line=line.place,
                supplier=found[0].supplier, ref=returned.ref, why=returned.why,
            )  # fmt: skip

    def _share_back(
        self, returned: Returned, lines: list[Line], date: datetime.date
    ) -> Iterator[tuple[Line, MovementKind, Decimal]]:
        """How many of which line left the shelf, and how many never arrive."""
        back, never = returned.qty or ZERO, returned.cancelled or ZERO
        for line in lines:
            last = line is lines[-1]
            arrival = self._arrivals[line.place]
            came = arrival.count_came(date) - self._gone.get(line.place, ZERO)
            here = arrival.arrived is not None and arrival.arrived <= date
            # More than was bought falls on the last line, where the shelf runs short and the ledger tells of it.
            qty = back if last else min(back, line.qty)
            # What had not come cannot leave the shelf: it never arrives. Of a line that came in part, what goes back
            # is what came; what will never come has a key of its own.
            gone = qty if here else min(qty, max(came, ZERO))
            posted = line.qty - arrival.count_came(datetime.date.max) - self._lost.get(line.place, ZERO)
            lost = never if last else min(never, posted)
            if lost > posted:
                self.problems.append(_report_not_posted(returned, line, lost, posted))
                lost = max(posted, ZERO)
            back, never = back - qty, never - lost
            self._gone[line.place] = self._gone.get(line.place, ZERO) + gone
            self._lost[line.place] = self._lost.get(line.place, ZERO) + lost
            if gone > 0:
                yield line, "returned", gone
            if qty - gone + lost > 0:
                yield line, "cancelled", qty - gone + lost

    def _follow_leaving(
        self, entry: Entry, kind: MovementKind, record: Sold | Scrapped, date: datetime.date
    ) -> Iterator[Movement]:
        key = self._find(record, record.part or ORIGINAL, name=record.name, field_place="part")
        if key is not None:
            why = record.why if isinstance(record, Scrapped) else None
            yield Movement(
                kind=kind, date=date, entry=entry.name, key=key, qty=record.qty, place=record.place,
                reading=_find_reading(entry, date), why=why,
            )  # fmt: skip

    def _fit(self, entry: Entry, record: Fitted, key: str, instead: str | None) -> Movement:
        system = record.system or self._names.parts[key].system or only_system(entry)
        return Movement(
            kind="fitted", date=entry.date, entry=entry.name, key=key, qty=record.qty, place=record.place,
            reading=entry.reading, at=record.at, fitted=record, instead_of=instead, system=system,
            entry_hours=entry.hours,
        )  # fmt: skip

    def _find(self, record: LogRecord, part: str, *, name: str | None = None, field_place: str) -> str | None:
        found = find_named(self._names, record, part, bought=lambda: self._bought, name=name, field_place=field_place)
        if isinstance(found, Problem):
            self.problems.append(found)
            return None
        return found


def _find_reading(entry: Entry, date: datetime.date) -> Amount | None:
    """The meter on the day of what an entry tells."""
    # The meter of an entry was read on its own day; an arrival of the week before had another.
    return entry.reading if entry.date == date else None


def _report_not_posted(returned: Returned, line: Line, lost: Decimal, posted: Decimal) -> Problem:
    left = f"only {posted:f} of it" if posted > 0 else "none of it"
    return Problem(
        rule="cancelled-not-in-post",
        message=f"{lost:f} will never come, but {left} was still in the post",
        place=returned.field_place("cancelled"),
        help="write `qty:` for what came and went back, `cancelled:` for what was ordered and will never come",
        also=(line.place,),
    )


def _report_which(returned: Returned, keys: list[str]) -> Problem:
    return Problem(
        rule="returned-which",
        message=f"the order `{returned.ref}` included several parts, and this does not say which went back",
        place=returned.place,
        help="add one of " + ", ".join(f"`part: {key}`" for key in keys),
    )
