"""How is an order paid: in one sum or several, on which days, less which credit notes, and what is left to pay?

Amounts in the order's currency first; then what each came to in the home currency. How a payment falls on the order's
lines is for `purchases`; what cannot be is for `order_checks`.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from buildlog.arithmetic import EXACT, divide, sum_exactly
from buildlog.compute.quantities.money import Money, round_to_minor_unit, sum_money
from buildlog.frozen import frozen
from buildlog.problems import Place
from buildlog.read.records import Instalment, Order, Payment

ZERO = Decimal(0)
Told = tuple[Instalment | Payment, datetime.date]
"A payment as it is written, with its day."
Credit = tuple[Place, datetime.date, Money]
"A return by its place, its day, and what was given back in the order's currency; money that reached the card is none."


@frozen
class Paid:
    """One payment of an order."""

    record: Instalment | Payment
    "as it is written"
    date: datetime.date
    "its own day, else its entry's"
    settled: Money
    "what it paid of the order, in the order's currency"
    home: Money
    "what left the account, in the home currency"
    over: Money
    "more than was left to pay, in the order's currency; it counts nowhere"
    again: bool
    "whether it pays an order that was paid before"


@frozen
class Credited:
    """What a credit note took off an order before it was paid."""

    place: Place
    "of the return that tells of it"
    date: datetime.date
    "its day"
    amount: Money
    "in the order's currency"
    home: Money
    "in the home currency"


@frozen
class Settlement:
    """How an order was paid; payments, credit notes and what is left make its total, in both currencies."""

    payments: tuple[Paid, ...]
    "in the order of time"
    credited: tuple[Credited, ...]
    "in the order of time"
    left: Money
    "not paid and not credited, in the order's currency"
    home: Money
    "the order's total, in the home currency"
    rate: Fraction | None
    "home currency for one of the order's, exact; None: not known"
    converted: bool
    "whether `home` is known; where it is not, what is not known counts as zero"
    settled_on: datetime.date | None
    "the day from which nothing was left to pay; None: something is, or nothing was ever paid"


@dataclass(slots=True)
class _Step:
    """A payment, a credit note, or in the end what is left to pay."""

    amount: Money
    "of the order, in its currency"
    known: Money | None
    "what it was in the home currency; None: to be converted"
    told: Told | None = None
    "the payment"
    credit: Credit | None = None
    "the credit note"
    over: Money | None = None
    "see `Paid.over`"
    again: bool = False
    "see `Paid.again`"


def settle(
    order: Order, total: Money, home_currency: str, told: Sequence[Told] = (), credits: Sequence[Credit] = ()
) -> Settlement:
    """How an order of this total was paid, by all that is told of it.

    In the order of time, payments before credit notes of one day. A payment without an amount pays what is left; a
    credit note takes off what is left to pay, and what is more than that is money back, which is no part of this.
    """
    steps, settled_on = _walk(total, home_currency, told, credits)
    payable = [step for step in steps if step.credit is None]
    if order.charged is not None and not _is_itemised(order, payable):
        # One sum for all of the order, over what was paid and what is left.
        _share_charged(round_to_minor_unit(order.charged, home_currency), payable)
    charged = _divide([step for step in payable if step.known is not None])
    stated = None if order.rate is None else Fraction(order.rate)
    if total.currency == home_currency:
        charged = stated = Fraction(1)
    # What a card took says nothing of the next payment where the owner states a rate for it.
    rate = charged if stated is None or order.charged is not None else stated
    homes = _bring_home(steps, stated if rate is None else rate, home_currency)
    rows = [*zip(steps, homes, strict=True)]
    return Settlement(
        payments=tuple(_describe_paid(step, home) for step, home in rows if step.told),
        credited=tuple(_describe_credited(step, home) for step, home in rows if step.credit),
        left=steps[-1].amount,
        home=sum_money(homes, home_currency),
        rate=stated if charged is None else charged,
        converted=not any(step.known is None and step.amount for step in steps) or (rate or stated) is not None,
        settled_on=settled_on,
    )


def _walk(
    total: Money, home_currency: str, told: Sequence[Told], credits: Sequence[Credit]
) -> tuple[list[_Step], datetime.date | None]:
    """Payments and credit notes in the order of time, then what they leave; and the day they left nothing."""
    steps: list[_Step] = []
    left, zero, settled_on = total, Money(ZERO, total.currency), None
    events = [*((date, 0, _Step(amount=zero, known=None, told=(record, date))) for record, date in told)]
    events += [(credit[1], 1, _Step(amount=zero, known=None, credit=credit)) for credit in credits]
    for date, _, step in sorted(events, key=lambda event: event[:2]):
        if step.told:
            record = step.told[0]
            amount = find_amount_paid(record, total.currency)
            step.known = read_charged(record, total.currency, home_currency)
            step.again = amount is None and not left and any(before.told for before in steps)
            step.amount = left if amount is None else min(amount, max(left, zero))
            step.over = zero if amount is None else amount - step.amount
        elif step.credit:
            step.amount = min(step.credit[2], max(left, zero))
        left -= step.amount
        # A credit note that found nothing to pay is money back.
        steps += [step] if step.told or step.amount else []
        if settled_on is None and not left and any(before.told for before in steps):
            settled_on = date
    return [*steps, _Step(amount=left, known=None)], settled_on


def find_amount_paid(record: Instalment | Payment, currency: str) -> Money | None:
    """What a payment says that it paid of an order in this currency; None: all that was left."""
    amount = record.amount if record.currency in (None, currency) else record.settles
    return None if amount is None else round_to_minor_unit(amount, currency)


def read_charged(record: Instalment | Payment, currency: str, home_currency: str) -> Money | None:
    """What the card or bank took for a payment of an order in this currency, where it is written."""
    # Home money handed over for an order abroad is what it cost.
    handed = record.amount if record.currency == home_currency != currency else None
    charged = handed if record.charged is None else record.charged
    return None if charged is None else round_to_minor_unit(charged, home_currency)


def _is_itemised(order: Order, payable: Sequence[_Step]) -> bool:
    """Whether the payments say how the sum that the order was charged is made up."""
    taken = [step.known for step in payable[:-1]]
    known = [amount.amount for amount in taken if amount is not None]
    return bool(known) and len(known) == len(taken) and not payable[-1].amount and sum_exactly(known) == order.charged


def _share_charged(charged: Money, payable: Sequence[_Step]) -> None:
    """Over payments and what is left, by what each is of the order; to the first where the order came to nothing."""
    amounts = [step.amount.amount for step in payable]
    # As nearly all are: paid at once, with nothing left.
    if sum(map(bool, amounts)) == 1:
        nothing = round_to_minor_unit(ZERO, charged.currency)
        for step in payable:
            step.known = charged if step.amount else nothing
        return
    weights = amounts if sum_exactly(amounts) else [Decimal(n == 0) for n in range(len(payable))]
    for step, part in zip(payable, _run(charged, weights), strict=True):
        step.known = part


def _run(whole: Money, weights: Sequence[Decimal]) -> list[Money]:
    """The amount by weights, each the growth of the rounded running sum, so that they add up to it."""
    total, before, parts = Fraction(sum_exactly(weights)), Money(ZERO, whole.currency), list[Money]()
    for n in range(len(weights)):
        share = Fraction(sum_exactly(weights[: n + 1])) / total
        now = round_to_minor_unit(Fraction(whole.amount) * share, whole.currency)
        parts.append(now - before)
        before = now
    return parts


def _divide(steps: Sequence[_Step]) -> Fraction | None:
    """Home currency for one of the order's, by what is known of some of it; None where nothing is."""
    of = sum_exactly([step.amount.amount for step in steps])
    return divide(sum_exactly([step.known.amount for step in steps if step.known]), of) if of else None


def _bring_home(steps: Sequence[_Step], rate: Fraction | None, home_currency: str) -> list[Money]:
    """Each step in the home currency: as known, else at the rate, else nothing."""
    # Rounded on the running sum: what is converted in parts comes to what it comes to in one.
    run, before, homes = ZERO, round_to_minor_unit(ZERO, home_currency), list[Money]()
    for step in steps:
        if step.known is not None:
            homes.append(step.known)
            continue
        run, now = EXACT.add(run, step.amount.amount), before
        if step.amount:  # nothing is left of nearly all orders
            now = round_to_minor_unit(Fraction(run) * (rate or 0), home_currency)
        homes.append(now - before)
        before = now
    return homes


def _describe_paid(step: _Step, home: Money) -> Paid:
    assert step.told is not None and step.over is not None
    record, date = step.told
    return Paid(record=record, date=date, settled=step.amount, home=home, over=step.over, again=step.again)


def _describe_credited(step: _Step, home: Money) -> Credited:
    assert step.credit is not None
    place, date, _ = step.credit
    return Credited(place=place, date=date, amount=step.amount, home=home)
