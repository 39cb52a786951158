"""What did each order come to, when was it paid, what came back on it, and can what came back be right for it?"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import TypeVar

from buildlog.arithmetic import sum_exactly
from buildlog.compute.costs.orders import ZERO, LandedLine, LandedOrder, convert, land_order
from buildlog.compute.parts.arrivals import LineArrival, find_lines, list_refs
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.quantities.money import Money, round_to_minor_unit, share_by_value, sum_money
from buildlog.frozen import frozen, maker
from buildlog.problems import Place, Problem, Severity
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
    # A core goes back to what carried one; where no line did, it goes by price, and `check_returns` tells.
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


def check_returns(story: PartStory, refunds: Iterable[Refund]) -> Iterator[Problem]:
    """The problems of every return of a log; `refunds` are those of the whole log."""
    refs = list_refs(story.log)
    for returned in (returned for entry in story.log.entries for returned in entry.returned):
        yield from find_lines(returned, refs, story.names)[1]
        yield from _check_empty(returned)
    # In the order of the log: each return is held against all that came back before it, not only against the order.
    back = _Back()
    for refund in refunds:
        yield from _check_payment(refund)
        yield from _check_core(refund, back)
        yield from _check_price(refund, back)
        yield from _check_cost(refund, back)
        yield from _check_pieces(refund, back)


@dataclass(slots=True)
class _Back:
    """What has come back so far in the walk through the returns."""

    cores: dict[Place, Money] = field(default_factory=dict)
    "by order line, in the order's currency"
    money: dict[Place, Money] = field(default_factory=dict)
    "cores and prices by order, in the order's currency"
    home: dict[Place, Money] = field(default_factory=dict)
    "by order, in the home currency"
    pieces: dict[Place, Decimal] = field(default_factory=dict)
    "by the first of the order lines that a return is about"


Counted = TypeVar("Counted", Decimal, Money)


def _count(counts: dict[Place, Counted], place: Place, more: Counted) -> Counted:
    counts[place] = counts[place] + more if place in counts else more
    return counts[place]


def _check_empty(returned: Returned) -> Iterator[Problem]:
    if returned.qty is returned.cancelled is returned.core is returned.refund is returned.charged is None:
        yield Problem(
            rule="empty-return",
            message="this return has neither goods nor money",
            place=returned.place,
            help="add `qty:` or `cancelled:` for goods; `core:`, `refund:` or `charged:` for money",
        )


def _check_payment(refund: Refund) -> Iterator[Problem]:
    paid = refund.purchase.paid
    # A return of goods that brought no money needs no payment before it.
    if any(line.home for line in refund.lines) and (paid is None or paid > refund.date):
        when = "is not paid" if paid is None else f"was paid on {paid}"
        yield Problem(
            rule="refund-before-payment",
            message=f"there was a refund on {refund.date} for the order `{refund.returned.ref}`, which {when}",
            place=refund.returned.place,
            help="add `paid:` to the order, or correct the date",
            also=(refund.purchase.landed.order.place,),
        )


def _check_core(refund: Refund, back: _Back) -> Iterator[Problem]:
    # Counted even where one is too much already, so that the next return is judged by what really came back.
    over = [line for line in refund.lines if _count(back.cores, line.line.line.place, line.core) > line.line.core]
    if over:
        charged = sum_money((line.line.core for line in refund.lines), refund.purchase.landed.currency)
        yield _tell_too_much(
            refund,
            "core-above-charge",
            f"more core charge was refunded than the `{charged.amount}` that was paid",
            field_place="core",
        )


def _check_price(refund: Refund, back: _Back) -> Iterator[Problem]:
    """Against what these lines cost, and with everything that came back before against the whole order."""
    landed = refund.purchase.landed
    given = sum_money((part for line in refund.lines for part in (line.core, line.price)), landed.currency)
    cost = sum_money((line.line.gross for line in refund.lines), landed.currency)
    whole = _count(back.money, landed.order.place, given)
    if given > cost or whole > landed.total:
        paid = f"{cost}" if given > cost else f"{landed.total} of the whole order"
        message = f"`{max(given, whole).amount}` was refunded of the `{paid}` that was paid"
        yield _tell_too_much(refund, "refund-above-price", message, field_place="refund")


def _check_cost(refund: Refund, back: _Back) -> Iterator[Problem]:
    """In the home currency; with a foreign order the rate may have moved, so that more may come back than was paid."""
    landed = refund.purchase.landed
    given = sum_money((line.home for line in refund.lines), landed.home_currency)
    home = _count(back.home, landed.order.place, given)
    if home > landed.landed and landed.converted:
        # At home more than was paid is a slip; abroad it may be a better rate on the later day.
        severity: Severity = "error" if landed.currency == landed.home_currency else "warning"
        message = f"`{home.amount}` was refunded of the `{landed.landed}` that the order cost"
        yield _tell_too_much(refund, "refund-above-cost", message, field_place="charged", severity=severity)


def _check_pieces(refund: Refund, back: _Back) -> Iterator[Problem]:
    returned = refund.returned
    if returned.qty is returned.cancelled is None:
        return
    bought = sum_exactly(line.line.line.qty for line in refund.lines)
    # By the first of the lines: a return that names no part is about all lines of its order at once.
    mine = (returned.qty or Decimal(0)) + (returned.cancelled or Decimal(0))
    gone = _count(back.pieces, refund.lines[0].line.line.place, mine)
    if gone > bought:
        message = f"`{gone}` went back of the `{bought}` that were bought"
        yield _tell_too_much(refund, "returned-too-many", message, field_place="qty" if returned.qty else "cancelled")


def _tell_too_much(
    refund: Refund, rule: str, message: str, *, field_place: str, severity: Severity = "error"
) -> Problem:
    return Problem(
        rule=rule,
        message=message,
        place=refund.returned.field_place(field_place),
        help="check the credit note, and whether another entry records the same return",
        severity=severity,
        also=(refund.purchase.landed.order.place,),
    )
