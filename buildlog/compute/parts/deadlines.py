"""What runs out with a date: warranties, days to send something back by, cores to be handed in?

What came off within its warranty is told too. Cores that are owed are for the costs, which hand them in.
"""

from __future__ import annotations

import datetime
from collections.abc import Container, Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Literal

from buildlog.arithmetic import add_months
from buildlog.compute.parts.arrivals import LineArrival, OrderArrival
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.parts.numbers import UNTRACKED_KINDS
from buildlog.compute.parts.spans import Ending, Span
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Line, Order, Warranty

NOTICE_DAYS = 30
"Days before a deadline from which it is called due, as of a service item."
DeadlineKind = Literal["warranty", "return", "core"]
DeadlineState = Literal["overdue", "due", "later"]


@frozen
class Deadline:
    """One thing about an order line that runs out."""

    kind: DeadlineKind
    "`warranty`: it ends; `return`: last day to send it back; `core`: last day to hand in the old unit"
    name: str
    "what it is about, as shown; empty where the owner gave it neither a name nor a number"
    part: str | None
    "the part's key, where it is kept track of"
    supplier: str
    "as written"
    ref: str | None
    "the order's; None: it has none"
    entry: str
    "name of the entry that the order stands in"
    place: Place
    "the order line"
    until: datetime.date
    "the last day"
    days_left: int
    "from the day asked for; below zero: over"
    state: DeadlineState
    "`overdue`: over, and still to be done, as only a core is; `due`: within the notice"


@frozen
class Failure:
    """Something that came off for a reason within its warranty."""

    part: str
    "the part's key"
    name: str
    "as shown"
    date: datetime.date
    "when it came off"
    entry: str
    "name of the entry that tells of it"
    place: Place
    "where that is written"
    until: datetime.date
    "the last day of the warranty"
    line: Place
    "the order line that brought it"


def list_deadlines(story: PartStory, as_of: datetime.date, *, owed: Container[Place]) -> tuple[Deadline, ...]:
    """What of the orders placed by a day is not over by then, by date; `owed` are the lines whose cores are."""
    gone = _count_gone(story, as_of)
    found = [
        _describe(story, order, arrival.line, kind, until, as_of)
        for order in story.orders
        if order.ordered <= as_of
        for arrival in order.lines
        for kind, until in _list_dates(order, arrival, as_of)
        # A core that was late is still to be handed in; all else is over with its day, and with what went back.
        if (kind == "core" and arrival.line.place in owed)
        or (kind != "core" and until >= as_of and gone.get(arrival.line.place, Decimal(0)) < arrival.line.qty)
    ]
    return tuple(sorted(found, key=lambda deadline: deadline.until))


def list_failures(story: PartStory, spans: Iterable[Span], as_of: datetime.date) -> tuple[Failure, ...]:
    """What came off for a reason by a day, within the warranty of the line that brought it."""
    ends = find_warranties(story, as_of)
    failures = [
        _describe_failure(story, span, ending, line, ends[line])
        for span in spans
        if (ending := span.ending) and ending.how == "removed" and ending.why and ending.date <= as_of
        for line in dict.fromkeys(unit.line for unit in span.units)
        if line is not None and line in ends and ending.date <= ends[line]
    ]
    return tuple(sorted(failures, key=lambda failure: failure.date))


def _describe_failure(story: PartStory, span: Span, ending: Ending, line: Place, until: datetime.date) -> Failure:
    key = span.move.key
    return Failure(
        part=key, name=story.names.parts[key].name, date=ending.date, entry=ending.entry, place=ending.place,
        until=until, line=line,
    )  # fmt: skip


def find_warranties(story: PartStory, as_of: datetime.date) -> Mapping[Place, datetime.date]:
    """The last day of each order line's warranty, by the line's place; of what is in the post on a day, none yet."""
    ends = {}
    for order in story.orders:
        for arrival in order.lines:
            end = _find_end(order, arrival, as_of)
            if end is not None:
                ends[arrival.line.place] = end
    return ends


def check_deadlines(story: PartStory) -> Iterator[Problem]:
    """The problems of every deadline of a log."""
    for order in story.orders:
        yield from _check_warranty(order.order.warranty)
        yield from _check_before(order, order.order, "return_by", order.order.return_by)
        for line in order.order.lines:
            yield from _check_warranty(line.warranty)
            yield from _check_before(order, line, "return_by", line.return_by)
            yield from _check_before(order, line, "core_by", line.core_by)
            if line.core_by is not None and not line.core:
                yield Problem(
                    rule="core-by-without-core",
                    message="there is a day to hand the old unit in by, but no core charge",
                    place=line.field_place("core_by"),
                    help="add `core: …` with the surcharge; goods go back by `return_by:`",
                )
        for warranty in dict.fromkeys((order.order.warranty, *(line.warranty for line in order.order.lines))):
            if warranty is not None:
                yield from _check_before(order, warranty, "until", warranty.until)


def _list_dates(
    order: OrderArrival, arrival: LineArrival, as_of: datetime.date
) -> Iterator[tuple[DeadlineKind, datetime.date]]:
    line, end = arrival.line, _find_end(order, arrival, as_of)
    if end is not None:
        yield "warranty", end
    if back := line.return_by or order.order.return_by:
        yield "return", back
    if line.core_by is not None:
        yield "core", line.core_by


def _start(order: OrderArrival, arrival: LineArrival) -> datetime.date | None:
    """The day that months of warranty count from: when the last of it came; of work, which never comes, the order's."""
    return order.ordered if arrival.line.kind in UNTRACKED_KINDS else arrival.arrived


def _find_end(order: OrderArrival, arrival: LineArrival, as_of: datetime.date) -> datetime.date | None:
    start = _start(order, arrival)
    # As of the day: what comes later has no warranty yet, though its parcel may be announced.
    known = start if start is not None and start <= as_of else None
    return _end_warranty(arrival.line.warranty or order.order.warranty, known)


def _end_warranty(warranty: Warranty | None, start: datetime.date | None) -> datetime.date | None:
    if warranty is None or warranty.until is not None:
        return warranty.until if warranty else None
    if start is None or warranty.months is None:
        return None
    try:
        return add_months(start, warranty.months)
    except OverflowError:
        return datetime.date.max


def _count_gone(story: PartStory, as_of: datetime.date) -> Mapping[Place, Decimal]:
    gone: dict[Place, Decimal] = {}
    for move in story.movements:
        if move.kind in ("returned", "cancelled") and move.line is not None and move.date <= as_of:
            gone[move.line] = gone.get(move.line, Decimal(0)) + move.qty
    return gone


def _describe(
    story: PartStory, order: OrderArrival, line: Line, kind: DeadlineKind, until: datetime.date, as_of: datetime.date
) -> Deadline:
    key, left = story.names.lines.get(line.place), (until - as_of).days
    return Deadline(
        kind=kind,
        name=story.names.parts[key].name if key else line.name or line.what or "",
        part=key,
        supplier=order.order.supplier,
        ref=order.order.ref,
        entry=order.entry.name,
        place=line.place,
        until=until,
        days_left=left,
        state="overdue" if left < 0 else "due" if left <= NOTICE_DAYS else "later",
    )


def _check_warranty(warranty: Warranty | None) -> Iterator[Problem]:
    if warranty is None or (warranty.months is None) != (warranty.until is None):
        return
    both = warranty.until is not None
    yield Problem(
        rule="warranty-two-ends" if both else "warranty-without-end",
        message="this warranty has both `months:` and `until:`"
        if both
        else "this warranty does not say how long it lasts",
        place=warranty.field_place("until") if both else warranty.place,
        help="keep whichever of the two the papers give" if both else "add `months: 24`, or `until:` with its last day",
    )


def _check_before(
    order: OrderArrival, record: Order | Line | Warranty, field: str, day: datetime.date | None
) -> Iterator[Problem]:
    if day is not None and day < order.ordered:
        yield Problem(
            rule="deadline-before-order",
            message=f"this runs out on {day}, before the order of {order.ordered}",
            place=record.field_place(field),
            help="correct one of the two dates",
            also=(order.order.field_place("ordered"),),
        )
