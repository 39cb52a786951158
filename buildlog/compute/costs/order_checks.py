"""What is wrong with the money in a log: orders, payments, returns and sales that cannot be as they are written?

Every entry is looked at, whatever day the figures are for: its amounts by themselves, then what they belong to.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from buildlog.arithmetic import sum_exactly
from buildlog.compute.costs.amount_checks import check_amounts, check_size, list_charges
from buildlog.compute.costs.orders import LandedOrder, value_line
from buildlog.compute.costs.payments import Paid
from buildlog.compute.costs.purchases import Purchase, find_paid_order, list_payments
from buildlog.compute.costs.refunds import Refund, check_returns
from buildlog.compute.parts.arrivals import OrderRefs, name_order
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.parts.suppliers import check_suppliers
from buildlog.compute.quantities.money import is_currency, sum_money
from buildlog.problems import Place, Problem
from buildlog.read.records import Extra, Line, Log, LogRecord, Order, Untaxed
from buildlog.text import count, fold_words


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
    records: list[Order | Line | Extra] = [*order.lines, order, *order.carriage, *order.handling, *order.discount]
    for record in records:
        if record.tax and order.prices is None:
            yield _report_prices(record.field_place("tax"))
        if record.untaxed is not None:
            yield from _check_untaxed(record, record.untaxed)
    # Common practice, no source: totals are rounded to the nearest coin, and the largest that is used so is of ten.
    if order.rounding is not None and abs(order.rounding) > 5:
        yield Problem(
            rule="rounding-large",
            message=f"`{order.rounding}` is more than a total is rounded by",
            place=order.field_place("rounding"),
            help="write only what the total was rounded by; other sums belong under `handling:` or `discount:`",
            severity="warning",
        )


def _check_untaxed(record: Order | Line | Extra, untaxed: Untaxed) -> Iterator[Problem]:
    if record.tax:
        yield Problem(
            rule="untaxed-and-taxed",
            message=f"this has tax of `{record.tax}` %, but is `{untaxed.category}`",
            place=untaxed.place,
            help="keep whichever of the two the invoice gives",
            also=(record.field_place("tax"),),
        )
    # EN 16931, BR-E-10 and BR-O-10: the other kinds say their reason by themselves.
    if untaxed.why is None and untaxed.category in ("exempt", "outside the tax"):
        yield Problem(
            rule="untaxed-without-reason",
            message=f"this is `{untaxed.category}`, but nothing says why",
            place=untaxed.place,
            help=f"untaxed: {{category: {untaxed.category}, why: …}}, as the invoice says it",
            severity="warning",
        )


def _check_line(line: Line) -> Iterator[Problem]:
    if line.each is not None and line.total is not None:
        yield Problem(
            rule="two-prices",
            message="this line has both `each:` and `total:`",
            place=line.field_place("total"),
            help="keep whichever of the two the invoice gives",
            also=(line.field_place("each"),),
        )
    for field in ("per", "discount", "surcharge"):
        if line.total is not None and line.is_written(field):
            yield Problem(
                rule="total-and-more",
                message=f"this line has both `total:` and `{field}:`",
                place=line.field_place(field),
                help=f"write `each:` instead of `total:`, or remove `{field}:` if the total is what it came to",
                also=(line.field_place("total"),),
            )
    off = sum_exactly(extra.amount for extra in line.discount)
    if off and line.total is None and (line.each or 0) >= 0 > value_line(line):
        yield Problem(
            rule="discount-too-large",
            message=f"the discount of `{off}` is more than the line comes to",
            place=line.field_place("discount"),
            help="write the amount that was taken off, not what was left to pay",
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
    for charge in list_charges(order):
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
    refs = OrderRefs(story.log, story.names)
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
