"""When each line of each order was ordered and when it came; what became of it then is for `movements`."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping

from buildlog.compute.parts.names import PartNames
from buildlog.frozen import frozen, maker
from buildlog.problems import Place, Problem, suggest
from buildlog.read.records import Arrival, Entry, Line, Log, Order, Returned


@frozen
class LineArrival:
    """The way of one order line to the shelf."""

    line: Line
    "as it is written"
    ordered: datetime.date
    "the order's own date, else its entry's"
    arrived: datetime.date | None
    "None: still in the post"
    told_in: Entry
    "the entry that tells of its arrival; of the order, while it is in the post"
    place: Place
    "where its arrival is written; the line itself, while it is in the post"


new_arrival = maker(LineArrival)


@frozen
class OrderArrival:
    """One order, and the way of each of its lines."""

    order: Order
    "as it is written"
    entry: Entry
    "the entry that the order stands in"
    ordered: datetime.date
    "its own date, else its entry's"
    lines: tuple[LineArrival, ...]
    "one for each of its lines"

    @property
    def whole(self) -> datetime.date | None:
        """The day on which the last of its lines came; None while any is in the post, or where it has no lines."""
        # Half an order has not come: a supplier is judged by when work could begin.
        days = [line.arrived for line in self.lines if line.arrived is not None]
        return max(days) if days and len(days) == len(self.lines) else None


def follow_orders(log: Log, names: PartNames) -> tuple[tuple[OrderArrival, ...], tuple[Problem, ...]]:
    """Every order of the log with its arrivals, and each arrival that fits no order, or fits one twice."""
    problems: list[Problem] = []
    told = _list_told(log, names, problems)
    orders = tuple(_follow(order, entry, told) for entry in log.entries for order in entry.bought)
    for order in orders:
        problems += _check_dates(order)
    return orders, tuple(problems)


def list_refs(log: Log) -> Mapping[str, tuple[Order, ...]]:
    """The orders of each ref; more than one where two suppliers count alike."""
    refs: dict[str, tuple[Order, ...]] = {}
    for order in (order for entry in log.entries for order in entry.bought):
        if order.ref is not None:
            refs[order.ref] = (*refs.get(order.ref, ()), order)
    return refs


def find_lines(
    record: Arrival | Returned, refs: Mapping[str, tuple[Order, ...]], names: PartNames
) -> tuple[tuple[Order, tuple[Line, ...]] | None, tuple[Problem, ...]]:
    """The order that a record's ref names, and its lines that are about the record's part, else all of them.

    None, with the problem, where there is no such order, no such part in it, or more than one order.
    """
    orders = [(order, _pick_lines(order, record.part, names)) for order in refs.get(record.ref, ())]
    # A ref that two orders have does no harm where the part decides between them.
    holding = [pair for pair in orders if record.part is None or pair[1]]
    if len(holding) == 1:
        return holding[0], ()
    if not orders:
        help = suggest(record.ref, refs) or "write the `ref:` of the order exactly as it is under `bought:`"
        message, rule, field_place = f"there is no order `{record.ref}`", "unknown-ref", "ref"
    elif not holding:
        parts = [name for order, _ in orders for line in order.lines if (name := names.lines.get(line.place))]
        help = suggest(record.part or "", parts) or "no part of this order is tracked: leave out `part:`"
        message, rule, field_place = f"the order `{record.ref}` has no `{record.part}`", "part-not-in-order", "part"
    else:
        help = "give each order its own `ref:`, for instance with the supplier's name in front"
        message, rule, field_place = (
            f"the ref `{record.ref}` belongs to {len(holding)} orders",
            "ref-of-two-orders",
            "ref",
        )
    also = tuple(order.field_place("ref") for order, _ in holding)
    return None, (Problem(rule=rule, message=message, place=record.field_place(field_place), help=help, also=also),)


def _pick_lines(order: Order, part: str | None, names: PartNames) -> tuple[Line, ...]:
    if part is None:
        return order.lines
    # Labour names the part that it was for and is not kept track of: such a line is found by what it says.
    key = names.keys.get(part, part)
    return tuple(line for line in order.lines if key in (names.lines.get(line.place), line.part))


Told = dict[Place, tuple[Entry, Arrival]]
"The later arrival of each order line, by the line's place, with the entry that tells of it."


def _list_told(log: Log, names: PartNames, problems: list[Problem]) -> Told:
    refs = list_refs(log)
    told: Told = {}
    for entry in log.entries:
        for arrival in entry.arrived:
            found, wrong = find_lines(arrival, refs, names)
            problems += wrong
            if found is not None:
                order, lines = found
                # `arrived:` on the order is about all of it, and the first entry that tells of a line counts: told
                # again, it would lie on the shelf twice.
                news = [line for line in lines if line.place not in told and order.arrived is None]
                told.update({line.place: (entry, arrival) for line in news})
                if (lines or order.arrived) and not news:
                    problems.append(_tell_twice(order, arrival, told.get(lines[0].place) if lines else None))
    return told


def _tell_twice(order: Order, arrival: Arrival, before: tuple[Entry, Arrival] | None) -> Problem:
    what = f"`{arrival.part}` of the order `{order.ref}`" if arrival.part else f"the order `{order.ref}`"
    return Problem(
        rule="arrived-twice",
        message=f"{what} has already arrived",
        place=arrival.place,
        help="keep one of the two; if one part came on its own, give its `part:`, and later the rest without `part:`",
        also=(before[1].place if before else order.field_place("arrived"),),
    )


def _follow(order: Order, entry: Entry, told: Told) -> OrderArrival:
    ordered = order.ordered or entry.date

    def follow(line: Line) -> LineArrival:
        # A later entry knows better than none; where the order has its own date, nothing is in `told`.
        if line.place in told:
            teller, arrival = told[line.place]
            came = arrival.date or teller.date
            return new_arrival(line=line, ordered=ordered, arrived=came, told_in=teller, place=arrival.place)
        place = order.field_place("arrived") if order.arrived else line.place
        return new_arrival(line=line, ordered=ordered, arrived=order.arrived, told_in=entry, place=place)

    return OrderArrival(order=order, entry=entry, ordered=ordered, lines=tuple(follow(line) for line in order.lines))


def _check_dates(order: OrderArrival) -> Iterator[Problem]:
    told: set[Place] = set()
    for line in order.lines:
        if line.arrived is not None and line.arrived < order.ordered and line.place not in told:
            told.add(line.place)
            yield Problem(
                rule="arrived-before-ordered",
                message=f"this arrived on {line.arrived}, before it was ordered on {order.ordered}",
                place=line.place,
                help=(
                    "correct one of the two dates"
                    if order.order.ordered
                    else "add `ordered:` with the day of the order; without it, the entry's day counts"
                ),
                also=(order.order.field_place("ordered"),),
            )
