"""What did each order come to, and when was how much of it paid, less which credit notes?

Every entry of the log counts; dates inside the records are compared by `costs.lines`. Whether the records make sense is
for `order_checks`; what of a return was money is for `refunds`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from buildlog.compute.costs.orders import (
    ZERO,
    LandedOrder,
    PricedOrder,
    compute_tax,
    land_priced,
    price_order,
    tax_line,
)
from buildlog.compute.costs.payments import Credit, Told, settle
from buildlog.compute.parts.arrivals import LineArrival, OrderRefs, find_lines
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.quantities.money import (
    Column,
    Money,
    follow_signs,
    round_column,
    round_to_minor_unit,
    share_by_value,
)
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Arrival, Entry, Order, Payment, Returned


@frozen
class Share:
    """What was paid of an order on one day, by its lines."""

    date: datetime.date
    "the day of the payment, or of several"
    lines: tuple[Money, ...]
    "one for each line, in the home currency; the last one bears duty and other charges as well"


@frozen
class Purchase:
    """One order, landed, with the days on which it was placed and paid."""

    landed: LandedOrder
    "with all that was paid of it, on the order or in later entries"
    entry: Entry
    "the entry that the order stands in"
    ordered: datetime.date
    "the order's own date, else its entry's"
    paid: datetime.date | None
    "the day from which nothing was left to pay; None: something is, and is committed, or nothing was paid"
    shares: tuple[Share, ...]
    "what was paid on each day, in order; with nothing left to pay they add up to the landed cost of each line"
    arrivals: tuple[LineArrival, ...]
    "one for each line"


@dataclass(slots=True)
class Return:
    """A return that leads to an order, before it is known what of it is money."""

    returned: Returned
    "as it is written"
    entry: Entry
    "the entry that tells of it"
    rows: tuple[int, ...]
    "which lines of the order it is about"

    @property
    def date(self) -> datetime.date:
        """Its own date, else its entry's."""
        return self.returned.date or self.entry.date


def follow_purchases(story: PartStory, told: Iterable[ReturnOf]) -> tuple[Purchase, ...]:
    """Every order, in the order of the log, with the payments and the credit notes told of it.

    `told` are all returns of the log, see `list_returns`.
    """
    payments, returns = _gather_payments(story), _gather_returns(told)
    home = story.log.settings.money.currency
    purchases = []
    for arrival in story.orders:
        order = arrival.order
        priced = price_order(order, home)
        paid = payments.get(order.place, ())
        credits = [credit for one in returns.get(order.place, ()) for credit in _list_credit(one, priced)]
        settlement = settle(order, priced.gross.total(), home, paid, credits)
        landed = land_priced(priced, settlement, home)
        purchases.append(
            Purchase(
                landed=landed,
                entry=arrival.entry,
                ordered=arrival.ordered,
                paid=settlement.settled_on,
                shares=tuple(_share_payments(landed)) if settlement.payments else (),
                arrivals=arrival.lines,
            )
        )
    return tuple(purchases)


def find_paid_order(payment: Payment, refs: OrderRefs, story: PartStory) -> tuple[Order | None, tuple[Problem, ...]]:
    """The order that a payment names; a payment names its order as an arrival does."""
    # The place and the fields are those of the payment, so that a problem points at what the owner wrote.
    found, problems = find_lines(
        Arrival(ref=payment.ref, place=payment.place, field_places=payment.field_places), refs, story.names
    )
    return found[0] if found else None, problems


def list_payments(story: PartStory) -> Iterator[tuple[Payment, datetime.date]]:
    """Every payment told later than its order, with its date."""
    for entry in story.log.entries:
        for payment in entry.paid:
            yield payment, payment.date or entry.date


def _gather_payments(story: PartStory) -> dict[Place, list[Told]]:
    """The payments told of each order, on it and later, by the order's place."""
    payments: dict[Place, list[Told]] = {}
    for arrival in story.orders:
        if arrival.order.paid:
            payments[arrival.order.place] = [(paid, paid.date) for paid in arrival.order.paid]
    refs = OrderRefs(story.log, story.names)
    for payment, date in list_payments(story):
        order, _ = find_paid_order(payment, refs, story)
        if order is not None:
            payments.setdefault(order.place, []).append((payment, date))
    return payments


def _gather_returns(told: Iterable[ReturnOf]) -> dict[Place, list[Return]]:
    """The returns of each order, by the order's place."""
    returns: dict[Place, list[Return]] = {}
    for one, order in told:
        returns.setdefault(order.place, []).append(one)
    return returns


ReturnOf = tuple[Return, Order]
"A return, and the order that it leads to."


def list_returns(story: PartStory) -> Iterator[ReturnOf]:
    """Every return with its order, in the order of the log."""
    refs = OrderRefs(story.log, story.names)
    for entry in story.log.entries:
        for returned in entry.returned:
            found, _ = find_lines(returned, refs, story.names)
            # A return that leads to no order, or to one without lines, moves nothing: that is told by the checks.
            if found and found[1]:
                about = {line.place for line in found[1]}
                rows = tuple([n for n, line in enumerate(found[0].lines) if line.place in about])
                yield Return(returned, entry, rows), found[0]


# ── payments ─────────────────────────────────────────────────────────────────────────────────────────────────────


def _share_payments(landed: LandedOrder) -> Iterator[Share]:
    """What was paid on each day, over the lines: each payment by what is left to pay of them, the last one all."""
    days: dict[datetime.date, Money] = {}
    for paid in landed.settlement.payments:
        days[paid.date] = days[paid.date] + paid.home if paid.date in days else paid.home
    last = landed.settlement.settled_on
    if last is not None:
        days = {day: amount for day, amount in days.items() if day < last}
    if last is not None and not days:  # as nearly all are: paid at once
        yield Share(date=last, lines=tuple([line.landed for line in landed.lines]))
        return
    left = round_column([line.home.amount for line in landed.lines], landed.home_currency)
    extra = round_column([line.landed.amount - line.home.amount for line in landed.lines], landed.home_currency)
    quantities = [line.line.qty for line in landed.lines]
    for day, amount in days.items():
        part = follow_signs(amount, left, quantities)
        left -= part
        yield Share(date=day, lines=part.as_money())
    if last is not None:
        # What a credit note took off is in it, and comes off again as a refund of the same day.
        yield Share(date=last, lines=(left + extra).as_money())


# ── credit notes ─────────────────────────────────────────────────────────────────────────────────────────────────


def _list_credit(one: Return, priced: PricedOrder) -> Iterator[Credit]:
    # What reached the card was money, and none of it was left to pay.
    if one.returned.charged is None:
        cores, prices = value_refund(one.returned, priced, one.rows)
        if amount := (cores + prices).total():
            yield one.returned.place, one.date, amount


def value_refund(returned: Returned, priced: PricedOrder, rows: Sequence[int]) -> tuple[Column, Column]:
    """What came back over some lines of an order, in its currency: core charges by core charges, the rest by price.

    A refund without tax, as one on an order of net prices is unless it says otherwise, brings the tax of its lines with
    it: once for each rate, half up. A core is as it is on the order.
    """
    order, currency = priced.order, priced.gross.currency
    core, price = (round_to_minor_unit(amount or ZERO, currency) for amount in (returned.core, returned.refund))
    gross, quantities = priced.gross.pick(rows), [order.lines[row].qty for row in rows]
    # A core goes back to what carried one; where no line did, it goes by price, and `refunds` tells.
    cores = share_by_value(core, priced.core.pick(rows).units, gross.units)
    if (returned.prices or order.prices) != "net":
        return cores, share_by_value(price, gross.units, quantities)
    net = share_by_value(price, priced.base.pick(rows).units, quantities)
    taxed = net + cores if order.prices == "net" else net
    _, tax = compute_tax([tax_line(order, order.lines[row]) for row in rows], taxed, quantities, inside=False)
    return cores, net + tax
