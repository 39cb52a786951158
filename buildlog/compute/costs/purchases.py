"""What did each order come to, when was it paid, and what money came back on it?

Every entry of the log counts; dates inside the records are compared by `costs.lines`. Whether the records make sense is
for `order_checks`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import replace

from buildlog.compute.costs.orders import ZERO, LandedLine, LandedOrder, convert, land_order
from buildlog.compute.parts.arrivals import LineArrival, find_lines, list_refs
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.quantities.money import Money, round_to_minor_unit, share_by_value
from buildlog.frozen import frozen, maker
from buildlog.problems import Place, Problem
from buildlog.read.records import Arrival, Entry, Order, Payment, Returned


@frozen
class Purchase:
    """One order, landed, with the days on which it was placed and paid."""

    landed: LandedOrder
    "with the amount that a later entry's `paid:` gave, where it did"
    entry: Entry
    "the entry that the order stands in"
    ordered: datetime.date
    "the order's own date, else its entry's"
    paid: datetime.date | None
    "on the order itself, else told by a later entry; None: not paid, so committed"
    arrivals: tuple[LineArrival, ...]
    "one for each line"


@frozen
class LineRefund:
    """What came back on one line of an order."""

    line: LandedLine
    "the line it came back on"
    core: Money
    "core charge given back, in the order's currency"
    price: Money
    "price given back, in the order's currency"
    home: Money
    "both, in the home currency"


new_refund = maker(LineRefund)


@frozen
class Refund:
    """Money that came back once, shared over the lines that it is about."""

    returned: Returned
    "as it is written"
    entry: Entry
    "the entry that tells of it"
    date: datetime.date
    "when the money came: its own date, else its entry's"
    purchase: Purchase
    "the order that it belongs to"
    lines: tuple[LineRefund, ...]
    "one for each line that the refund is about, with its share"


def follow_purchases(story: PartStory) -> tuple[Purchase, ...]:
    """Every order, in the order of the log, with the payments told of it."""
    payments = _gather_payments(story)
    home = story.log.settings.money.currency
    purchases = []
    for arrival in story.orders:
        order, paid = _settle(arrival.order, payments.get(arrival.order.place))
        purchases.append(
            Purchase(
                landed=land_order(order, home),
                entry=arrival.entry,
                ordered=arrival.ordered,
                paid=paid,
                arrivals=arrival.lines,
            )
        )
    return tuple(purchases)


def follow_refunds(story: PartStory, purchases: tuple[Purchase, ...]) -> tuple[Refund, ...]:
    """Every return that leads to one of the purchases, in the order of the log."""
    refs, by_place = list_refs(story.log), {purchase.landed.order.place: purchase for purchase in purchases}
    refunds = []
    for entry in story.log.entries:
        for returned in entry.returned:
            found, _ = find_lines(returned, refs, story.names)
            purchase = by_place.get(found[0].place) if found else None
            # A return that leads to no order, or to one without lines, moves nothing: that is told by the checks.
            if found and purchase and found[1]:
                about = {line.place for line in found[1]}
                lines = tuple(line for line in purchase.landed.lines if line.line.place in about)
                refunds.append(
                    Refund(
                        returned=returned,
                        entry=entry,
                        date=returned.date or entry.date,
                        purchase=purchase,
                        lines=share_refund(returned, purchase.landed, lines),
                    )
                )
    return tuple(refunds)


def find_paid_order(
    payment: Payment, refs: Mapping[str, tuple[Order, ...]], story: PartStory
) -> tuple[Order | None, tuple[Problem, ...]]:
    """The order that a payment names; a payment names its order as an arrival does."""
    # The place and the fields are those of the payment, so that a problem points at what the owner wrote.
    found, problems = find_lines(
        Arrival(ref=payment.ref, place=payment.place, field_places=payment.field_places), refs, story.names
    )
    return found[0] if found else None, problems


def share_refund(returned: Returned, order: LandedOrder, lines: tuple[LandedLine, ...]) -> tuple[LineRefund, ...]:
    """What came back, over the lines that it is about: a core by core charges, the rest by what the lines cost.

    In the home currency it is what was charged back, else core and price at the order's own rate, half up; where
    neither is known, nothing.
    """
    core, price = (round_to_minor_unit(amount or ZERO, order.currency) for amount in (returned.core, returned.refund))
    gross, quantities = [line.gross.amount for line in lines], [line.line.qty for line in lines]
    # A core goes back to what carried one; where no line did, it goes by price, and `return_checks` tells.
    cores = share_by_value(core, [line.core.amount for line in lines], gross)
    prices = share_by_value(price, gross, quantities)
    given = cores + prices
    # Where `charged` alone is written, nothing says what it was for: then by what the lines cost.
    weights = given.units if any(given.units) else [line.landed.amount for line in lines]
    home = (
        convert(core + price, order)
        if returned.charged is None
        else round_to_minor_unit(returned.charged, order.home_currency)
    )
    # Not known counts as nothing, and becomes no line of the costs.
    homes = share_by_value(home or Money(ZERO, order.home_currency), weights, quantities)
    rows = zip(lines, cores.as_money(), prices.as_money(), homes.as_money(), strict=True)
    return tuple(new_refund(line=line, core=c, price=p, home=h) for line, c, p, h in rows)


def _gather_payments(story: PartStory) -> dict[Place, tuple[Payment, datetime.date]]:
    """The first payment told of each order, by the order's place."""
    payments: dict[Place, tuple[Payment, datetime.date]] = {}
    refs = list_refs(story.log)
    for payment, date in list_payments(story):
        order, _ = find_paid_order(payment, refs, story)
        if order is not None:
            # The first one told counts; a second one is a problem (`paid-twice`), and does not change figures.
            payments.setdefault(order.place, (payment, date))
    return payments


def list_payments(story: PartStory) -> Iterator[tuple[Payment, datetime.date]]:
    """Every payment told later than its order, with its date."""
    for entry in story.log.entries:
        for payment in entry.paid:
            yield payment, payment.date or entry.date


def _settle(order: Order, told: tuple[Payment, datetime.date] | None) -> tuple[Order, datetime.date | None]:
    """The order with what its payment adds, and the day that it was paid on."""
    if told is None or order.paid is not None:
        return order, order.paid
    # An amount on the order stands: a payment that says another is a problem (`charged-twice`), no correction.
    payment, date = told
    return (replace(order, charged=payment.charged) if order.charged is None else order), date
