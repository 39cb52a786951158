"""What came back on each order, as money or as a credit note, and can it be right for the order?"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TypeVar

from buildlog.arithmetic import sum_exactly
from buildlog.compute.costs.orders import ZERO, LandedLine, LandedOrder, convert
from buildlog.compute.costs.purchases import Purchase, Return, ReturnOf, value_refund
from buildlog.compute.parts.arrivals import OrderRefs, find_lines
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.quantities.money import Column, Money, round_to_minor_unit, share_by_value, sum_money
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, Severity
from buildlog.read.records import Entry, Returned


@frozen
class LineRefund:
    """What came back on one line of an order."""

    line: LandedLine
    "the line it came back on"
    core: Money
    "core charge given back, in the order's currency"
    price: Money
    "price given back, with its tax, in the order's currency"
    home: Money
    "both, in the home currency"


@frozen
class Refund:
    """Money that came back once, shared over the lines that it is about."""

    returned: Returned
    "as it is written"
    entry: Entry
    "the entry that tells of it"
    told: datetime.date
    "its own date, else its entry's"
    date: datetime.date | None
    """the day on which it counts: a credit note on an order that was not paid yet on the day of its payment; None: that
    is not paid"""
    credit: bool
    "whether it is a credit note, which took off what was left to pay, or money"
    purchase: Purchase
    "the order that it belongs to"
    lines: tuple[LineRefund, ...]
    "one for each line that the refund is about, with its share"


def follow_refunds(purchases: tuple[Purchase, ...], told: Iterable[ReturnOf]) -> tuple[Refund, ...]:
    """Every return that leads to one of the purchases, in the order of the log; one in two where a part is a credit."""
    by_place = {purchase.landed.order.place: purchase for purchase in purchases}
    return tuple(
        refund
        for one, order in told
        if order.place in by_place
        for refund in _follow_return(by_place[order.place], one)
    )


def _follow_return(purchase: Purchase, one: Return) -> Iterator[Refund]:
    """The return as a credit note, as money, or as one of each."""
    order = purchase.landed
    cores, prices = value_refund(one.returned, order.priced, one.rows)
    given = cores + prices
    credit = next((each for each in order.settlement.credited if each.place == one.returned.place), None)
    noted = share_by_value(credit.amount, given.units, given.units) if credit else given - given
    if credit:
        # The price before the core: a core that is still owed is told as such.
        part = Column(tuple(map(min, noted.units, prices.units)), noted.currency)
        yield _make_refund(purchase, one, (noted - part, part), home=credit.home, credit=True)
        cores, prices = cores - (noted - part), prices - part
    if given.units != noted.units or not credit:
        yield _make_refund(
            purchase, one, (cores, prices), home=_value_home(one.returned, given - noted, order), credit=False
        )


def _value_home(returned: Returned, given: Column, order: LandedOrder) -> Money:
    """What reached the account, else what came back at the order's own rate, half up; not known, nothing."""
    if returned.charged is not None:
        return round_to_minor_unit(returned.charged, order.home_currency)
    # Not known counts as nothing, and becomes no line of the costs.
    return convert(given.total(), order) or Money(ZERO, order.home_currency)


def _make_refund(purchase: Purchase, one: Return, given: tuple[Column, Column], *, home: Money, credit: bool) -> Refund:
    lines = [purchase.landed.lines[row] for row in one.rows]
    whole = given[0] + given[1]
    # Where `charged` alone is written, nothing says what it was for: then by what the lines cost.
    weights = whole.units if any(whole.units) else [line.landed.amount for line in lines]
    homes = share_by_value(home, weights, [line.line.qty for line in lines])
    rows = zip(lines, *(column.as_money() for column in (*given, homes)), strict=True)
    return Refund(
        returned=one.returned,
        entry=one.entry,
        told=one.date,
        date=purchase.paid if credit else one.date,
        credit=credit,
        purchase=purchase,
        lines=tuple(LineRefund(line=line, core=c, price=p, home=h) for line, c, p, h in rows),
    )


# ── checks ───────────────────────────────────────────────────────────────────────────────────────────────────────


def check_returns(story: PartStory, refunds: Iterable[Refund]) -> Iterator[Problem]:
    """The problems of every return of a log; `refunds` are those of the whole log."""
    refs = OrderRefs(story.log, story.names)
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
    counted: set[Place] = field(default_factory=set)
    "the returns whose pieces are counted"


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
    purchase, ref = refund.purchase, refund.returned.ref
    message = ""
    if refund.credit and refund.told < purchase.ordered:
        message = f"there was a credit note on {refund.told} for the order `{ref}`, ordered on {purchase.ordered}"
    # A return of goods that brought no money needs no payment before it.
    elif not refund.credit and any(line.home for line in refund.lines):
        first = purchase.shares[0].date if purchase.shares else None
        if first is None or first > refund.told:
            when = "is not paid" if first is None else f"was paid on {first}"
            message = f"there was a refund on {refund.told} for the order `{ref}`, which {when}"
    if message:
        yield Problem(
            rule="refund-before-payment",
            message=message,
            place=refund.returned.place,
            help="add `paid:` to the order, or correct the date; a credit note on what is not paid has no `charged:`",
            also=(purchase.landed.order.place,),
        )


def _check_core(refund: Refund, back: _Back) -> Iterator[Problem]:
    # Counted even where one is too much already, so that the next return is judged by what really came back.
    over = [line for line in refund.lines if _count(back.cores, line.line.line.place, line.core) > line.line.core]
    if over:
        charged = sum_money((line.line.core for line in refund.lines), refund.purchase.landed.currency)
        yield _report_too_much(
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
        yield _report_too_much(refund, "refund-above-price", message, field_place="refund")


def _check_cost(refund: Refund, back: _Back) -> Iterator[Problem]:
    """In the home currency; with a foreign order the rate may have moved, so that more may come back than was paid."""
    landed = refund.purchase.landed
    given = sum_money((line.home for line in refund.lines), landed.home_currency)
    home = _count(back.home, landed.order.place, given)
    if home > landed.landed and landed.converted:
        # At home more than was paid is a slip; abroad it may be a better rate on the later day.
        severity: Severity = "error" if landed.currency == landed.home_currency else "warning"
        message = f"`{home.amount}` was refunded of the `{landed.landed}` that the order cost"
        yield _report_too_much(refund, "refund-above-cost", message, field_place="charged", severity=severity)


def _check_pieces(refund: Refund, back: _Back) -> Iterator[Problem]:
    returned = refund.returned
    # Of a return that is a credit note and money both, the goods are counted with the first of the two.
    if returned.qty is returned.cancelled is None or returned.place in back.counted:
        return
    back.counted.add(returned.place)
    bought = sum_exactly(line.line.line.qty for line in refund.lines)
    # By the first of the lines: a return that names no part is about all lines of its order at once.
    mine = (returned.qty or Decimal(0)) + (returned.cancelled or Decimal(0))
    gone = _count(back.pieces, refund.lines[0].line.line.place, mine)
    if gone > bought:
        message = f"`{gone}` went back of the `{bought}` that were bought"
        yield _report_too_much(refund, "returned-too-many", message, field_place="qty" if returned.qty else "cancelled")


def _report_too_much(
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
