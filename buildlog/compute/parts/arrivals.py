"""When each line of each order was ordered and when it came; what became of it then is for `movements`.

An order may come in several parcels: each brings what it says, or all that had not come by then.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from buildlog.arithmetic import sum_exactly
from buildlog.compute.parts.names import PartNames
from buildlog.compute.parts.numbers import make_key
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, suggest
from buildlog.read.records import Arrival, Delivery, Entry, Line, Log, Order, Returned


@frozen
class Came:
    """Some of an order line that came in one parcel."""

    date: datetime.date
    "the day it came"
    qty: Decimal
    "how many, in the line's unit"
    told_in: Entry
    "the entry that tells of it"
    place: Place
    "where it is written"


@frozen
class LineArrival:
    """The way of one order line to the shelf."""

    line: Line
    "as it is written"
    ordered: datetime.date
    "the order's own date, else its entry's"
    came: tuple[Came, ...]
    "in the order of time; what they leave of the line is still in the post"
    arrived: datetime.date | None
    "the day on which the last of it came; None: some of it is still in the post"
    told_in: Entry
    "the entry that tells of the last of it; of the order, while some of it is in the post"
    place: Place
    "where that is written; the line itself, while some of it is in the post"

    def count_came(self, by: datetime.date) -> Decimal:
        """How many had come by the end of a day."""
        return sum_exactly(came.qty for came in self.came if came.date <= by)


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


@frozen
class _Parcel:
    """One parcel of one order, told with the order or later."""

    date: datetime.date
    "the day it came"
    record: Delivery | Arrival
    "as it is written"
    told_in: Entry
    "the entry that tells of it"
    lines: tuple[Line, ...]
    "what of the order it may have brought"


def follow_orders(log: Log, names: PartNames) -> tuple[tuple[OrderArrival, ...], tuple[Problem, ...]]:
    """Every order of the log with its arrivals, and each arrival that fits no order, or brings more than there was."""
    problems: list[Problem] = []
    told = _list_told(log, names, problems)
    never = _count_cancelled(log, names)
    orders = []
    for entry in log.entries:
        for order in entry.bought:
            parcels = [_Parcel(date=came.date, record=came, told_in=entry, lines=order.lines) for came in order.arrived]
            # By day, as each takes what earlier ones left; told with the order before told later, on one day.
            parcels = sorted((*parcels, *told.get(order.place, ())), key=lambda parcel: parcel.date)
            orders.append(_Follower(order, names, problems).follow(entry, parcels, never))
    for arrival in orders:
        problems += _check_dates(arrival)
    return tuple(orders), tuple(problems)


class OrderRefs:
    """The orders of each ref; more than one where two suppliers count alike."""

    def __init__(self, log: Log, names: PartNames) -> None:
        self._names = names
        self._orders: dict[str, list[Order]] = {}
        self._by_part: dict[str, dict[str, dict[int, Order]]] = {}
        for order in (order for entry in log.entries for order in entry.bought):
            if order.ref is not None:
                self._orders.setdefault(order.ref, []).append(order)

    def list_names(self) -> Collection[str]:
        """Every ref there is."""
        return self._orders

    def list_orders(self, ref: str) -> Sequence[Order]:
        """The orders of a ref."""
        return self._orders.get(ref, ())

    def find(self, ref: str, part: str | None) -> list[tuple[Order, tuple[Line, ...]]]:
        """Those of them that have a line about a part, each with these lines; all where no part is asked for."""
        if part is None:
            return [(order, order.lines) for order in self.list_orders(ref)]
        if ref not in self._by_part:
            self._by_part[ref] = self._index(self.list_orders(ref))
        # Few of thousands of orders of one ref, if any, so that asking for each of their parts stays cheap.
        index = self._by_part[ref]
        maybe = index.get(self._names.keys.get(part, part), {}) | index.get(part, {})
        picked = ((maybe[at], _pick_lines(maybe[at], part, self._names)) for at in sorted(maybe))
        return [pair for pair in picked if pair[1]]

    def _index(self, orders: Iterable[Order]) -> dict[str, dict[int, Order]]:
        """The orders that name each part, by their places among all."""
        index: dict[str, dict[int, Order]] = {}
        for at, order in enumerate(orders):
            for line in order.lines:
                named = (self._names.lines.get(line.place), line.part, make_key(line.what) if line.what else None)
                for key in filter(None, named):
                    index.setdefault(key, {})[at] = order
        return index


def find_lines(
    record: Arrival | Returned, refs: OrderRefs, names: PartNames
) -> tuple[tuple[Order, tuple[Line, ...]] | None, tuple[Problem, ...]]:
    """The order that a record's ref names, and its lines that are about the record's part, else all of them.

    None, with the problem, where there is no such order, no such part in it, or more than one order.
    """
    orders = refs.list_orders(record.ref)
    # A ref that two orders have does no harm where the part decides between them.
    holding = refs.find(record.ref, record.part)
    if len(holding) == 1:
        return holding[0], ()
    if not orders:
        help = (
            suggest(record.ref, refs.list_names()) or "write the `ref:` of the order exactly as it is under `bought:`"
        )
        message, rule, field_place = f"there is no order `{record.ref}`", "unknown-ref", "ref"
    elif not holding:
        parts = [name for order in orders for line in order.lines if (name := names.lines.get(line.place))]
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
    found = tuple(line for line in order.lines if key in (names.lines.get(line.place), line.part))
    # What is no part has no key; then it goes by its words, as in `fuel-hose-8-mm`.
    return found or tuple(line for line in order.lines if line.what and make_key(line.what) == part)


def _list_told(log: Log, names: PartNames, problems: list[Problem]) -> dict[Place, list[_Parcel]]:
    """The parcels told of in later entries, by the place of their order."""
    refs = OrderRefs(log, names)
    told: dict[Place, list[_Parcel]] = {}
    for entry in log.entries:
        for arrival in entry.arrived:
            found, wrong = find_lines(arrival, refs, names)
            problems += wrong
            if found is not None:
                order, lines = found
                parcel = _Parcel(date=arrival.date or entry.date, record=arrival, told_in=entry, lines=lines)
                told.setdefault(order.place, []).append(parcel)
    return told


def _count_cancelled(log: Log, names: PartNames) -> Mapping[Place, Decimal]:
    """How many of each order line will never come, as a later entry says in so many words."""
    refs = OrderRefs(log, names)
    never: dict[Place, Decimal] = {}
    for returned in (returned for entry in log.entries for returned in entry.returned):
        found = find_lines(returned, refs, names)[0] if returned.cancelled is not None else None
        for line in found[1] if found else ():
            never[line.place] = never.get(line.place, Decimal(0)) + (returned.cancelled or Decimal(0))
    return never


class _Follower:
    """Opens the parcels of one order."""

    def __init__(self, order: Order, names: PartNames, problems: list[Problem]) -> None:
        self._order, self._names, self._problems = order, names, problems
        self._left = {line.place: line.qty for line in order.lines}
        self._came: dict[Place, list[Came]] = {line.place: [] for line in order.lines}

    def follow(self, entry: Entry, parcels: list[_Parcel], never: Mapping[Place, Decimal]) -> OrderArrival:
        """The order, with what each parcel brought of its lines."""
        opened: list[_Parcel] = []
        for parcel in parcels:
            before = dict(self._left)
            if parcel.record.lines:
                self._open_counted(parcel)
            else:
                for line in parcel.lines:
                    self._bring(parcel, line, self._left[line.place])
                # Where nothing is left of it, it lies on the shelf already. An order without lines can come once.
                if self._left == before and (parcel.lines or opened):
                    self._problems.append(self._report_twice(parcel, opened))
            opened.append(parcel)
        ordered = self._order.ordered or entry.date
        lines = tuple(self._settle(entry, line, ordered, never) for line in self._order.lines)
        return OrderArrival(order=self._order, entry=entry, ordered=ordered, lines=lines)

    def _open_counted(self, parcel: _Parcel) -> None:
        for name, qty in parcel.record.lines.items():
            lines, left = _pick_lines(self._order, name, self._names), qty
            for line in lines:
                part = min(left, self._left[line.place])
                self._bring(parcel, line, part)
                left -= part
            if not lines:
                self._problems.append(self._report_unknown(parcel, name))
            elif left:
                self._problems.append(self._report_too_many(parcel, name, lines, qty - left))

    def _bring(self, parcel: _Parcel, line: Line, qty: Decimal) -> None:
        if qty:
            self._left[line.place] -= qty
            came = Came(date=parcel.date, qty=qty, told_in=parcel.told_in, place=parcel.record.place)
            self._came[line.place].append(came)

    def _settle(self, entry: Entry, line: Line, ordered: datetime.date, never: Mapping[Place, Decimal]) -> LineArrival:
        came = tuple(self._came[line.place])
        if not came or self._left[line.place] > never.get(line.place, Decimal(0)):
            return LineArrival(line=line, ordered=ordered, came=came, arrived=None, told_in=entry, place=line.place)
        last = came[-1]
        return LineArrival(
            line=line, ordered=ordered, came=came, arrived=last.date, told_in=last.told_in, place=last.place
        )

    def _report_twice(self, parcel: _Parcel, opened: list[_Parcel]) -> Problem:
        part = parcel.record.part if isinstance(parcel.record, Arrival) else None
        what = f"`{part}` of {name_order(self._order)}" if part else name_order(self._order)
        return Problem(
            rule="arrived-twice",
            message=f"{what} has already arrived",
            place=parcel.record.place,
            help="keep one of the two; if it came in parts, say how many came each time, as in `lines: {seal: 3}`",
            also=(opened[-1].record.place,) if opened else (),
        )

    def _report_unknown(self, parcel: _Parcel, name: str) -> Problem:
        return Problem(
            rule="part-not-in-order",
            message=f"{name_order(self._order)} has no `{name}`",
            place=parcel.record.field_place("lines", name),
            help=suggest(name, list_line_names(self._order, self._names)) or "write the short name of one of its lines",
            also=(self._order.place,),
        )

    def _report_too_many(self, parcel: _Parcel, name: str, lines: tuple[Line, ...], came: Decimal) -> Problem:
        ordered = sum_exactly(line.qty for line in lines)
        before = ordered - sum_exactly(self._left[line.place] for line in lines) - came
        earlier = f", and {before:f} came before" if before else ""
        return Problem(
            rule="arrived-too-many",
            message=f"`{parcel.record.lines[name]:f}` of `{name}` came, but {ordered:f} were ordered{earlier}",
            place=parcel.record.field_place("lines", name),
            help="write how many came this time; if more came than were ordered, add them to the order's `qty:`",
            also=(lines[0].place,),
        )


def name_order(order: Order) -> str:
    """An order as messages call it."""
    return f"the order `{order.ref}`" if order.ref else f"this order from {order.supplier}"


def list_line_names(order: Order, names: PartNames) -> list[str]:
    """The short names by which the lines of an order can be named."""
    return [
        name for line in order.lines if (name := line.part or names.lines.get(line.place) or make_key(line.what or ""))
    ]


def _check_dates(order: OrderArrival) -> Iterator[Problem]:
    told: set[Place] = set()
    for line in order.lines:
        for came in line.came:
            if came.date < order.ordered and came.place not in told:
                told.add(came.place)
                yield Problem(
                    rule="arrived-before-ordered",
                    message=f"this arrived on {came.date}, before it was ordered on {order.ordered}",
                    place=came.place,
                    help=(
                        "correct one of the two dates"
                        if order.order.ordered
                        else "add `ordered:` with the day of the order; without it, the entry's day counts"
                    ),
                    also=(order.order.field_place("ordered"),),
                )
