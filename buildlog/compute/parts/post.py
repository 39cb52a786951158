"""What is ordered and has not arrived, and how long has it been waited for?"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Set
from decimal import Decimal
from typing import Any

from buildlog.compute.parts.arrivals import OrderArrival
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.parts.numbers import UNTRACKED_KINDS
from buildlog.frozen import frozen
from buildlog.problems import Place
from buildlog.read.records import Line


@frozen
class InThePost:
    """One order line on its way."""

    key: str | None
    "the part; None where it is not kept track of"
    name: str
    "as shown"
    qty: Decimal
    unit: str | None
    supplier: str
    ref: str | None
    ordered: datetime.date
    days: int
    "since it was ordered, as of the day asked for"
    entry: str
    "name of the entry that tells of the order"
    landed: Decimal | None
    "in the home currency; None where it cannot be known"
    paid: bool
    "False: committed, not spent"


def list_in_the_post(
    story: PartStory, as_of: datetime.date, *, landed: Mapping[Place, Decimal], committed: Set[Place]
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
        for line in _list_waiting(order, as_of):
            qty = line.qty - cancelled.get(line.place, Decimal(0))
            if qty > 0:
                rows.append(_describe(story, order, line, qty=qty, as_of=as_of, landed=landed, committed=committed))
    return tuple(sorted(rows, key=lambda item: item.ordered))


def _list_waiting(order: OrderArrival, as_of: datetime.date) -> Iterator[Line]:
    """The lines of goods that were ordered by the day and had not come."""
    for arrival in order.lines:
        here = arrival.arrived is not None and arrival.arrived <= as_of
        if order.ordered <= as_of and not here and arrival.line.kind not in UNTRACKED_KINDS:
            yield arrival.line


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
        landed=known["landed"].get(line.place),
        paid=line.place not in known["committed"],
    )
