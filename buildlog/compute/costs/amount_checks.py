"""Can an amount be as it is written: its currency, its decimals, its size?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from buildlog.arithmetic import has_places
from buildlog.compute.costs.orders import LandedOrder
from buildlog.compute.quantities.money import CURRENT, is_currency, minor_digits
from buildlog.problems import Problem, suggest
from buildlog.read.records import Charge, Entry, Instalment, Log, LogRecord, Order, Payment, Returned, Settings

LARGEST = Decimal(10) ** 12
"An amount of this size is a slip of the keyboard; sums of smaller ones stay exact."

Written = tuple[LogRecord, str, Decimal | None, str]
"A record, one of its fields, the amount in it, and its currency; None: nothing is written."


def check_amounts(log: Log) -> Iterator[Problem]:
    """The problems of every amount that is written, in the order of the log."""
    # An unknown currency is told once, by its code; how many decimals it has is anybody's guess then.
    yield from _check_codes(log)
    for record, field, amount, currency in _list_amounts(log):
        if amount is not None and is_currency(currency) and not has_places(amount, minor_digits(currency)):
            yield _report_decimals(record, field, amount, currency)


def check_size(order: LandedOrder) -> Iterator[Problem]:
    """A problem where an order comes to more than anything can cost."""
    # By line: a price taken off could hide a slip of the keyboard in the order's total.
    largest = max(
        (abs(amount) for line in order.lines for amount in (line.gross.amount, line.landed.amount)), default=0
    )
    if largest >= LARGEST:
        message = f"a line of this order comes to {largest:,}, more than anything costs"
        help = "check `qty:`, `each:` and `rate:`"
        yield Problem(rule="amount-too-large", message=message, place=order.order.place, help=help)


def _check_codes(log: Log) -> Iterator[Problem]:
    yield from _check_code(log.settings.money, log.settings.money.currency)
    for order in (order for entry in log.entries for order in entry.bought):
        yield from _check_code(order, order.currency)
        for charge in list_charges(order):
            yield from _check_code(charge, charge.currency)
        for paid in order.paid:
            yield from _check_code(paid, paid.currency)
    for payment in (payment for entry in log.entries for payment in entry.paid):
        yield from _check_code(payment, payment.currency)


def _check_code(record: LogRecord, code: str | None) -> Iterator[Problem]:
    if code is not None and not is_currency(code):
        help = suggest(code, CURRENT) or "write the three letters of ISO 4217, as in `GBP`, `EUR`, `USD`"
        message = f"there is no currency `{code}`"
        yield Problem(rule="unknown-currency", message=message, place=record.field_place("currency"), help=help)


def list_charges(order: Order) -> tuple[Charge, ...]:
    """What was billed at home beside an order: its duty, and its other charges."""
    return (*((order.duty,) if order.duty else ()), *order.charges)


def _list_amounts(log: Log) -> Iterator[Written]:
    home = log.settings.money.currency
    orders = [order for entry in log.entries for order in entry.bought]
    currencies = {order.ref: order.currency or home for order in orders if order.ref}
    yield from _list_settings(log.settings)
    for entry in log.entries:
        yield from _list_entry(entry, currencies, home)


def _list_settings(settings: Settings) -> Iterator[Written]:
    home = settings.money.currency
    if settings.acquired:
        yield settings.acquired, "price", settings.acquired.price, home
    for amount in settings.money.budget.values():
        yield settings.money, "budget", amount, home
    for wanted in settings.wanted:
        yield wanted, "about", wanted.about, home


def _list_entry(entry: Entry, currencies: Mapping[str, str], home: str) -> Iterator[Written]:
    for order in entry.bought:
        yield from _list_order(order, home)
    for payment in entry.paid:
        yield from _list_paid(payment, currencies.get(payment.ref, home), home)
    for returned in entry.returned:
        yield from _list_returned(returned, currencies.get(returned.ref, home), home)
    for sold in entry.sold:
        yield sold, "price", sold.price, home
    for wanted in entry.wanted:
        yield wanted, "about", wanted.about, home


def _list_order(order: Order, home: str) -> Iterator[Written]:
    currency = order.currency or home
    yield order, "charged", order.charged, home
    for paid in order.paid:
        yield from _list_paid(paid, currency, home)
    yield order, "rounding", order.rounding, currency
    for extra in (*order.carriage, *order.handling, *order.discount):
        yield extra, "amount", extra.amount, currency
    for charge in list_charges(order):
        yield charge, "amount", charge.amount, charge.currency or home
    for line in order.lines:
        # Not `each`: the price of one may be finer than any coin, as of a screw from a box of hundred.
        yield line, "total", line.total, currency
        for more in (*line.discount, *line.surcharge):
            yield more, "amount", more.amount, currency
        yield line, "core", line.core, currency
        yield line, "worth", line.worth, currency


def _list_paid(paid: Instalment | Payment, currency: str, home: str) -> Iterator[Written]:
    yield paid, "amount", paid.amount, paid.currency or currency
    yield paid, "settles", paid.settles, currency
    yield paid, "charged", paid.charged, home


def _list_returned(returned: Returned, currency: str, home: str) -> Iterator[Written]:
    yield returned, "core", returned.core, currency
    yield returned, "refund", returned.refund, currency
    yield returned, "charged", returned.charged, home


def _report_decimals(record: LogRecord, field: str, amount: Decimal, currency: str) -> Problem:
    digits = minor_digits(currency)
    many = f"{digits} decimals" if digits else "no decimals"
    return Problem(
        rule="too-many-decimals",
        message=f"`{amount}` has too many decimals: {currency} has {many}",
        place=record.field_place(field),
        help=f"write what was paid, with {many}; only the unit price, under `each:`, may have more",
    )
