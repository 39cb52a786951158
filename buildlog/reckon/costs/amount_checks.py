"""Are the amounts of a log in currencies that exist, in whole minor units, and of a size that can be true?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from buildlog.problems import Problem, suggest
from buildlog.reckon.amounts.currencies import CURRENT, is_currency, minor_digits
from buildlog.reckon.amounts.money import to_minor
from buildlog.reckon.costs.orders import LandedOrder
from buildlog.source.records import Charge, Entry, Log, Order, Record, Returned, Settings

LARGEST = Decimal(10) ** 12
"An amount of this size is a slip of the keyboard; sums of smaller ones stay exact."

Written = tuple[Record, str, Decimal | None, str]
"A record, one of its fields, the amount in it, and its currency."


def check_amounts(log: Log) -> Iterator[Problem]:
    """The problems of every amount that is written, in the order of the log."""
    yield from _check_codes(log)
    for record, field, amount, currency in _list_amounts(log):
        if amount is not None and is_currency(currency) and amount != to_minor(amount, currency):
            yield _tell_decimals(record, field, amount, currency)


def check_size(order: LandedOrder) -> Iterator[Problem]:
    """A problem where an order comes to more than anything can cost."""
    largest = max((abs(amount) for line in order.lines for amount in (line.gross, line.landed)), default=Decimal(0))
    if largest >= LARGEST:
        message = f"a line of this order comes to {largest:,}, which nothing costs"
        help = "look at `qty:`, `each:` and `rate:` again"
        yield Problem(rule="amount-too-large", message=message, place=order.order.place, help=help)


def _check_codes(log: Log) -> Iterator[Problem]:
    yield from _check_code(log.settings.money, log.settings.money.currency)
    for order in (order for entry in log.entries for order in entry.bought):
        yield from _check_code(order, order.currency)
        for charge in _list_charges(order):
            yield from _check_code(charge, charge.currency)


def _check_code(record: Record, code: str | None) -> Iterator[Problem]:
    if code is not None and not is_currency(code):
        help = suggest(code, CURRENT) or "write the three letters of ISO 4217, as in `GBP`, `EUR`, `USD`"
        message = f"there is no currency `{code}`"
        yield Problem(rule="unknown-currency", message=message, place=record.spot("currency"), help=help)


def _list_charges(order: Order) -> tuple[Charge, ...]:
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


def _list_entry(entry: Entry, currencies: Mapping[str, str], home: str) -> Iterator[Written]:
    for order in entry.bought:
        yield from _list_order(order, home)
    for payment in entry.paid:
        yield payment, "charged", payment.charged, home
    for returned in entry.returned:
        yield from _list_returned(returned, currencies.get(returned.ref, home), home)
    for sold in entry.sold:
        yield sold, "price", sold.price, home


def _list_order(order: Order, home: str) -> Iterator[Written]:
    currency = order.currency or home
    yield order, "charged", order.charged, home
    for field in ("carriage", "handling", "discount"):
        yield order, field, getattr(order, field), currency
    for charge in _list_charges(order):
        yield charge, "amount", charge.amount, charge.currency or home
    for line in order.lines:
        for field in ("total", "core", "worth"):
            yield line, field, getattr(line, field), currency


def _list_returned(returned: Returned, currency: str, home: str) -> Iterator[Written]:
    yield returned, "core", returned.core, currency
    yield returned, "refund", returned.refund, currency
    yield returned, "charged", returned.charged, home


def _tell_decimals(record: Record, field: str, amount: Decimal, currency: str) -> Problem:
    digits = minor_digits(currency)
    many = f"{digits} decimals" if digits else "no decimals"
    return Problem(
        rule="too-many-decimals",
        message=f"`{amount}` is finer than {currency}, which has {many}",
        place=record.spot(field),
        help=f"write what was paid, with {many}; only the price of one, under `each:`, may be finer",
    )
