"""How each supplier did: orders, days from order to arrival, returns; what was spent there is for the costs."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from decimal import Decimal
from statistics import median

from buildlog.compute.parts.arrivals import OrderArrival
from buildlog.compute.parts.movements import PartStory
from buildlog.frozen import frozen
from buildlog.problems import Problem
from buildlog.read.records import Log, Order


@frozen
class SupplierFigures:
    """One supplier up to some day."""

    name: str
    "as first written"
    orders: int
    arrived: int
    "orders of which every line came"
    median_days: Decimal | None
    "days from order to the last line's arrival, in the middle of all orders that came; None: none came"
    longest_days: int | None
    returns: int
    "times that money came back for goods, a core, or the price"


def compute_suppliers(story: PartStory, as_of: datetime.date) -> tuple[SupplierFigures, ...]:
    """Every supplier of an order placed by the day, in the order of the log."""
    grouped: dict[str, list[OrderArrival]] = {}
    for order in story.orders:
        if order.ordered <= as_of:
            grouped.setdefault(fold_supplier(order.order.supplier), []).append(order)
    returns = _count_returns(story.log, as_of)
    return tuple(_compute_supplier(orders, returns, as_of) for orders in grouped.values())


def fold_supplier(name: str) -> str:
    """A supplier's name as it is compared: without regard to case and spacing."""
    return " ".join(name.casefold().split())


def check_suppliers(log: Log) -> Iterator[Problem]:
    """A warning for each spelling of a supplier that differs from another by capitals, blanks or signs alone."""
    first: dict[str, Order] = {}
    told: set[str] = set()
    for order in (order for entry in log.entries for order in entry.bought):
        name = order.supplier
        letters = "".join(filter(str.isalnum, name.casefold())) or name
        before = first.setdefault(letters, order)
        if name != before.supplier and name not in told:
            told.add(name)
            as_one = fold_supplier(name) == fold_supplier(before.supplier)
            yield Problem(
                rule="suppliers-alike",
                message=f"`{name}` is written `{before.supplier}` elsewhere: {COUNTED[as_one]}",
                place=order.field_place("supplier"),
                help="write one supplier in one way; two of nearly one name want a place or a word behind it",
                severity="warning",
                also=(before.field_place("supplier"),),
            )


COUNTED = {True: "they are counted as one supplier", False: "they are counted as two suppliers"}


def _compute_supplier(orders: list[OrderArrival], returns: dict[str, int], as_of: datetime.date) -> SupplierFigures:
    waits = [(order.whole - order.ordered).days for order in orders if order.whole and order.whole <= as_of]
    return SupplierFigures(
        name=orders[0].order.supplier,
        orders=len(orders),
        arrived=len(waits),
        median_days=Decimal(median(waits)) if waits else None,
        longest_days=max(waits) if waits else None,
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
