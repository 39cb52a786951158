"""What is still in the post, and how did each supplier do: orders, days from order to arrival, returns?

What was spent at a supplier is for the costs.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Set
from decimal import Decimal
from fractions import Fraction
from statistics import median
from typing import Any

from buildlog.compute.parts.arrivals import LineArrival, OrderArrival
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.parts.numbers import UNTRACKED_KINDS
from buildlog.compute.quantities.money import Money, round_to_minor_unit
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Line, Log, Order
from buildlog.text import fold_words


@frozen
class SupplierFigures:
    """One supplier up to some day."""

    name: str
    "as first written"
    orders: int
    "placed by the day"
    arrived: int
    "orders of which every line came"
    median_days: Decimal | None
    "days from order to the last line's arrival, in the middle of all orders that came; None: none came"
    longest_days: int | None
    "days of the order that took longest; None: none came"
    returns: int
    "times that money came back for goods, a core, or the price"


def compute_suppliers(story: PartStory, as_of: datetime.date) -> tuple[SupplierFigures, ...]:
    """Every supplier of an order placed by the day, in the order of the log."""
    grouped: dict[str, list[OrderArrival]] = {}
    for order in story.orders:
        if order.ordered <= as_of:
            grouped.setdefault(fold_words(order.order.supplier), []).append(order)
    returns = _count_returns(story.log, as_of)
    return tuple(_compute_supplier(orders, returns, as_of) for orders in grouped.values())


def check_suppliers(log: Log) -> Iterator[Problem]:
    """A warning for each spelling of a supplier that differs from another by capitals, blanks or signs alone."""
    first: dict[str, Order] = {}
    seen: set[str] = set()
    for order in (order for entry in log.entries for order in entry.bought):
        name = order.supplier
        # Once for a spelling: the remedy is to write it in one way everywhere.
        if name in seen:
            continue
        seen.add(name)
        # A name of signs alone, as `***`, stands for itself.
        letters = "".join(filter(str.isalnum, name.casefold())) or name
        before = first.setdefault(letters, order)
        if name != before.supplier:
            as_one = fold_words(name) == fold_words(before.supplier)
            yield Problem(
                rule="suppliers-alike",
                message=f"`{name}` is written `{before.supplier}` elsewhere: {COUNTED[as_one]}",
                place=order.field_place("supplier"),
                help="write each supplier one way; if they really are two, add a place or a word to tell them apart",
                severity="warning",
                also=(before.field_place("supplier"),),
            )


COUNTED = {True: "they are counted as one supplier", False: "they are counted as two suppliers"}


def _compute_supplier(orders: list[OrderArrival], returns: dict[str, int], as_of: datetime.date) -> SupplierFigures:
    # Whole orders: with a part of it still in the post nobody knows how long it takes.
    waits = [(order.whole - order.ordered).days for order in orders if order.whole and order.whole <= as_of]
    return SupplierFigures(
        name=orders[0].order.supplier,
        orders=len(orders),
        arrived=len(waits),
        # Of whole days it is whole or a half, which a binary float holds exactly.
        median_days=Decimal(median(waits)) if waits else None,
        longest_days=max(waits) if waits else None,
        # By refs in a set, as two orders of one ref would count its returns twice.
        returns=sum(returns.get(ref, 0) for ref in {order.order.ref for order in orders} if ref),
    )


def _count_returns(log: Log, as_of: datetime.date) -> dict[str, int]:
    """Times that money came back, by the order's ref."""
    counts: dict[str, int] = {}
    for entry in log.entries:
        for returned in entry.returned:
            if (returned.date or entry.date) <= as_of:
                counts[returned.ref] = counts.get(returned.ref, 0) + 1
    return counts


@frozen
class InThePost:
    """One order line on its way."""

    key: str | None
    "the part; None where it is not kept track of"
    name: str
    "as shown"
    qty: Decimal
    "how many, without those that came and those that were paid back"
    unit: str | None
    "of the quantity; None: pieces"
    supplier: str
    "as written"
    ref: str | None
    "the order's; None: it has none"
    ordered: datetime.date
    "the order's own date, else its entry's"
    days: int
    "since it was ordered, as of the day asked for"
    entry: str
    "name of the entry that tells of the order"
    landed: Money | None
    "what has not come yet cost, in the home currency; None where it cannot be known"
    paid: bool
    "False: committed, not spent, or not all of it"


def list_in_the_post(
    story: PartStory, as_of: datetime.date, *, landed: Mapping[Place, Money], committed: Set[Place]
) -> tuple[InThePost, ...]:
    """Every order line on its way on the day, the longest wait first.

    `landed` gives each line's landed cost and `committed` the lines that are not paid yet, both by the line's place.
    """
    cancelled: dict[Place, Decimal] = {}
    for move in story.movements:
        if move.kind == "cancelled" and move.line is not None and move.date <= as_of:
            cancelled[move.line] = cancelled.get(move.line, Decimal(0)) + move.qty
    rows = []
    for order in story.orders:
        for arrival in _list_waiting(order, as_of):
            left = arrival.line.qty - arrival.count_came(as_of)
            qty = left - cancelled.get(arrival.line.place, Decimal(0))
            if qty > 0:
                known = _share_left(landed.get(arrival.line.place), left, arrival.line.qty)
                paid = arrival.line.place not in committed
                rows.append(_describe(story, order, arrival.line, qty=qty, as_of=as_of, landed=known, paid=paid))
    return tuple(sorted(rows, key=lambda item: item.ordered))


def _share_left(landed: Money | None, left: Decimal, qty: Decimal) -> Money | None:
    """What of a line's cost is still on its way: by the piece, half up."""
    if landed is None or left == qty:
        return landed
    return round_to_minor_unit(Fraction(landed.amount) * Fraction(left) / Fraction(qty), landed.currency)


def _list_waiting(order: OrderArrival, as_of: datetime.date) -> Iterator[LineArrival]:
    """The lines of goods that were ordered by the day and had not come, or not all of it."""
    for arrival in order.lines:
        # Labour and fees never come in a parcel.
        here = arrival.arrived is not None and arrival.arrived <= as_of
        if order.ordered <= as_of and not here and arrival.line.kind not in UNTRACKED_KINDS:
            yield arrival


def _describe(
    story: PartStory, order: OrderArrival, line: Line, *, qty: Decimal, as_of: datetime.date, **known: Any
) -> InThePost:
    key = story.names.lines.get(line.place)
    return InThePost(
        key=key,
        name=story.names.parts[key].name if key else line.name or line.what or "",
        qty=qty,
        unit=line.unit,
        supplier=order.order.supplier,
        ref=order.order.ref,
        ordered=order.ordered,
        days=(as_of - order.ordered).days,
        entry=order.entry.name,
        landed=known["landed"],
        paid=known["paid"],
    )
