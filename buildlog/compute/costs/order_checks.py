"""What is wrong with the money in a log: orders, payments, returns and sales that cannot be as they are written?

Every entry is looked at, whatever day the figures are for: its amounts by themselves, then what they belong to.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from buildlog.arithmetic import has_places, sum_exactly
from buildlog.compute.costs.orders import LandedOrder
from buildlog.compute.costs.payments import Paid
from buildlog.compute.costs.purchases import Purchase, find_paid_order, list_payments
from buildlog.compute.costs.refunds import Refund, check_returns
from buildlog.compute.parts.arrivals import list_refs, name_order
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.parts.suppliers import check_suppliers
from buildlog.compute.quantities.money import CURRENT, is_currency, minor_digits, sum_money
from buildlog.problems import Place, Problem, suggest
from buildlog.read.records import Charge, Entry, Instalment, Line, Log, LogRecord, Order, Payment, Returned, Settings
from buildlog.text import count, fold_words

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
        for charge in _list_charges(order):
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
    yield order, "carriage", order.carriage, currency
    yield order, "handling", order.handling, currency
    yield order, "discount", order.discount, currency
    for charge in _list_charges(order):
        yield charge, "amount", charge.amount, charge.currency or home
    for line in order.lines:
        # Not `each`: the price of one may be finer than any coin, as of a screw from a box of hundred.
        yield line, "total", line.total, currency
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


def check_orders(story: PartStory, purchases: Iterable[Purchase], refunds: Iterable[Refund]) -> tuple[Problem, ...]:
    """Every problem with the money of a log; `purchases` and `refunds` are all that it tells of."""
    purchases = tuple(purchases)
    problems = [*check_amounts(story.log), *check_suppliers(story.log), *_check_refs(story.log)]
    for purchase in purchases:
        problems += _check_purchase(purchase)
    problems += _check_payments(story, purchases)
    problems += check_returns(story, refunds)
    problems += _check_sales(story.log)
    return tuple(problems)


def _check_purchase(purchase: Purchase) -> Iterator[Problem]:
    order = purchase.landed.order
    yield from _check_prices(order)
    # Asked of an order without lines too; the rest is about what lines come to.
    yield from _check_charges(order, purchase.landed.home_currency)
    if order.lines:
        yield from check_size(purchase.landed)
        if order.discount:
            yield from _check_discount(purchase.landed)
        yield from _check_conversion(purchase)


def _check_prices(order: Order) -> Iterator[Problem]:
    if not order.lines:
        yield Problem(
            rule="order-without-lines",
            message="this order does not say what was bought, so its cost has nowhere to go",
            place=order.place,
            help="lines: [{what: …, each: …}]",
        )
    for line in order.lines:
        yield from _check_line(line)
        if line.tax and order.prices is None:
            yield _report_prices(line.field_place("tax"))
    if order.tax and order.prices is None:
        yield _report_prices(order.field_place("tax"))


def _check_line(line: Line) -> Iterator[Problem]:
    if line.each is not None and line.total is not None:
        yield Problem(
            rule="two-prices",
            message="this line has both `each:` and `total:`",
            place=line.field_place("total"),
            help="keep whichever of the two the invoice gives",
            also=(line.field_place("each"),),
        )
    if line.each is None and line.total is None and line.worth is None:
        yield Problem(
            rule="no-price",
            message="this line has no price",
            place=line.place,
            help="add `each: …` with what one cost; for a gift or warranty part `each: 0` and `worth: …`",
        )


def _report_prices(place: Place) -> Problem:
    return Problem(
        rule="tax-without-prices",
        message="there is a tax rate, but nothing says whether the prices already include tax",
        place=place,
        help="add `prices: net` if tax comes on top, or `prices: gross` if it is included",
    )


def _check_charges(order: Order, home: str) -> Iterator[Problem]:
    for charge in (*((order.duty,) if order.duty else ()), *order.charges):
        # A code that is none is told already; told twice it would look like two mistakes.
        if charge.currency not in (None, home) and is_currency(charge.currency or home):
            yield Problem(
                rule="foreign-charge",
                message=f"duty and other charges are in {home}, but this one is in {charge.currency}",
                place=charge.field_place("currency"),
                help=f"write what was paid in {home}; what the supplier billed belongs under `handling:` or a line",
            )


def _check_discount(landed: LandedOrder) -> Iterator[Problem]:
    """A discount of more than the goods; what a gift's carriage costs is no price."""
    # A gift has no price, and what its carriage costs is none: a discount can only come off what was to be paid.
    prices = sum_money((line.value for line in landed.lines if line.value.amount > 0), landed.currency)
    discount = sum_money((line.discount for line in landed.lines), landed.currency)
    if discount > prices:
        yield Problem(
            rule="discount-too-large",
            message=f"the discount of `{discount.amount}` is more than the lines come to (`{prices.amount}`)",
            place=landed.order.field_place("discount"),
            help="write the amount that was taken off, not what was left to pay",
        )


def _check_conversion(purchase: Purchase) -> Iterator[Problem]:
    landed, order = purchase.landed, purchase.landed.order
    if not landed.converted:
        yield Problem(
            rule="no-rate",
            message=f"this order in {landed.currency} does not say what it cost in {landed.home_currency}",
            place=order.field_place("currency"),
            help=f"add `charged:` with the {landed.home_currency} on the card statement, or a `rate:`",
            # Until the statement comes nobody can know it. Once it is paid, leaving it out would leave a hole in
            # `spent`.
            severity="error" if purchase.shares else "warning",
        )
    # Only the day says in which month it counts, so it is not taken as paid.
    if order.charged is not None and not purchase.shares:
        yield Problem(
            rule="charged-not-paid",
            message="this order was charged but has no payment date, so it counts as committed, not as spent",
            place=order.field_place("charged"),
            help="add `paid:` with the date",
            severity="warning",
        )
    if landed.currency == landed.home_currency:
        yield from _check_home_order(landed)


def _check_home_order(landed: LandedOrder) -> Iterator[Problem]:
    order = landed.order
    if order.rate is not None:
        yield Problem(
            rule="rate-at-home",
            message=f"this order is in {landed.home_currency}, so its rate is not used",
            place=order.field_place("rate"),
            help="remove `rate:`, or add the order's `currency:`",
            severity="warning",
        )
    settlement = landed.settlement
    credited = sum_money((credit.amount for credit in settlement.credited), landed.currency)
    if order.charged is not None:
        yield from _compare_charged(order, order.charged, (landed.total - credited).amount)
    for paid in settlement.payments:
        if order.charged is None and paid.record.charged is not None and not paid.again:
            yield from _compare_charged(paid.record, paid.record.charged, paid.settled.amount)


def _compare_charged(record: LogRecord, charged: Decimal, due: Decimal) -> Iterator[Problem]:
    # A warning: shops round and forget, and what left the account is what counts.
    if charged != due:
        yield Problem(
            rule="charged-differs",
            message=f"`{charged}` was charged, but the lines with tax and carriage come to `{due}`",
            place=record.field_place("charged"),
            help="check the prices, tax, carriage and discount; the amount charged is what counts",
            severity="warning",
        )


def _check_refs(log: Log) -> Iterator[Problem]:
    first: dict[tuple[str, str], Order] = {}
    for order in (order for entry in log.entries for order in entry.bought if order.ref is not None):
        known = first.setdefault((fold_words(order.supplier), order.ref or ""), order)
        # Per supplier: two shops may well count alike.
        if known is not order:
            yield Problem(
                rule="repeated-ref",
                message=f"there are two orders `{order.ref}` from {order.supplier}",
                place=order.field_place("ref"),
                help="if it is the same order, keep it in one entry and give only its payment or arrival in the other",
                also=(known.field_place("ref"),),
            )


def _check_payments(story: PartStory, purchases: Iterable[Purchase]) -> Iterator[Problem]:
    refs = list_refs(story.log)
    for payment, _ in list_payments(story):
        # Told here alone: `find_paid_order` is asked for the figures as well, where problems are dropped.
        yield from find_paid_order(payment, refs, story)[1]
    for purchase in purchases:
        settlement = purchase.landed.settlement
        for n, paid in enumerate(settlement.payments):
            yield from _check_payment(purchase.landed, paid, settlement.payments[:n])
        if not any(paid.again for paid in settlement.payments):
            yield from _check_charged(purchase.landed)


def _check_payment(landed: LandedOrder, paid: Paid, before: Sequence[Paid]) -> Iterator[Problem]:
    record, name = paid.record, name_order(landed.order)
    foreign = record.currency not in (None, landed.currency)
    if paid.again:
        yield Problem(
            rule="paid-twice",
            message=f"{name} is already paid",
            place=record.place,
            help="keep one of the two; if it was paid in instalments, give each its `amount:`",
            also=(before[-1].record.place,),
        )
    elif paid.over:
        left = f"only `{paid.settled.amount}` of {name}" if paid.settled else f"nothing of {name}"
        yield Problem(
            rule="paid-too-much",
            message=f"`{(paid.settled + paid.over).amount}` was paid, but {left} was left to pay",
            place=record.field_place("settles" if foreign else "amount"),
            help="write what was paid of the order this time; check its prices, tax and carriage, and credit notes",
            also=(landed.order.place,),
        )
    if record.settles is not None and not foreign:
        yield Problem(
            rule="settles-without-currency",
            message="`settles:` is for a payment in another currency than the order's",
            place=record.field_place("settles"),
            help=f"amount: {record.settles}" if record.amount is None else "remove `settles:`, or add the `currency:`",
        )


def _check_charged(landed: LandedOrder) -> Iterator[Problem]:
    order, records = landed.order, [paid.record for paid in landed.settlement.payments]
    charged = [record for record in records if record.charged is not None]
    together = sum_exactly(record.charged for record in charged if record.charged is not None)
    whole = len(charged) == len(records) and not landed.settlement.left and together == order.charged
    if order.charged is not None and charged and not whole:
        here = "here" if len(records) == 1 else f"for {count(len(charged), 'payment')} of it"
        yield Problem(
            rule="charged-twice",
            message=f"{name_order(order)} was charged `{order.charged}` there and `{together}` {here}",
            place=charged[0].field_place("charged"),
            help="keep the amounts on the statements, each with its payment; refunds go under `returned:`",
            also=(order.field_place("charged"),),
        )


def _check_sales(log: Log) -> Iterator[Problem]:
    for sold in (sold for entry in log.entries for sold in entry.sold):
        if not (sold.part or sold.name or sold.what):
            yield Problem(
                rule="sold-what",
                message="this does not say what was sold",
                place=sold.place,
                help="add `part:` for something from the shelf, otherwise `what:`",
            )
