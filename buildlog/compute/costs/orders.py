"""What did each line of one order really cost, with its share of everything that the order cost?

Prices, discount, carriage, tax and core charges in the order's currency; then what the card took, duty and other
charges in the home currency. When an order was paid is for `purchases`; problems with an order are for `order_checks`.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from buildlog.compute.quantities.money import EXACT, minor_digits, share, share_by_value, sum_amounts, to_minor
from buildlog.frozen import frozen
from buildlog.read.records import Charge, Line, Order

Column = tuple[Decimal, ...]
"One amount a line, in the order of the lines."

ZERO = Decimal(0)


@frozen
class LandedLine:
    """One line of an order, and everything that it cost."""

    line: Line
    value: Decimal
    "quantity times price, or the stated total; order's currency; with tax inside where the order's prices are gross"
    discount: Decimal
    "its share of the discount, above zero; order's currency"
    carriage: Decimal
    "its share of the carriage; order's currency"
    handling: Decimal
    "its share of packing and handling; order's currency"
    core: Decimal
    "refundable surcharge on the old unit, for the whole line; order's currency"
    base: Decimal
    "what tax is computed on, without the tax; order's currency"
    tax_rate: Decimal
    "percent"
    tax: Decimal
    "its share of the tax at its rate; order's currency"
    gross: Decimal
    "base and tax; order's currency"
    home: Decimal
    "its share of what was charged; home currency"
    duty: Decimal
    "its share of the duty; home currency"
    charges: Decimal
    "its share of the other charges; home currency"
    landed: Decimal
    "home, duty and charges: the full cost; home currency"


@frozen
class TaxTotal:
    """The tax of an order at one rate, in the order's currency."""

    rate: Decimal
    "percent"
    base: Decimal
    tax: Decimal


@frozen
class LandedOrder:
    """One order with every amount of it shared over its lines; each sum is exactly that of its lines."""

    order: Order
    currency: str
    home_currency: str
    lines: tuple[LandedLine, ...]
    taxes: tuple[TaxTotal, ...]
    "one for each rate above zero, in the order in which they appear"
    total: Decimal
    "with tax, in the order's currency"
    home: Decimal
    "what was charged, or the total at the stated rate; home currency"
    landed: Decimal
    "home, duty and charges; home currency"
    rate: Fraction | None
    "home currency for one of the order's currency, exact; None: not known"
    converted: bool
    "whether `home` is known; where it is not, it is zero"


def land_order(order: Order, home_currency: str) -> LandedOrder:
    """The order with its landed costs.

    Line values are rounded half up to the minor unit (EN 16931 BT-131), tax once for each rate on its summed base
    (BT-117); shares go by the largest remainder, and every column adds up exactly. Amounts finer than the minor unit
    are rounded half up. Charges in another currency than the home currency, and amounts of an order without lines, are
    left out: `order_checks` finds them. Raises nothing for what an owner can type.
    """
    currency = order.currency or home_currency
    values = tuple(value_line(line, currency) for line in order.lines)
    quantities = tuple(line.qty for line in order.lines)

    def spread(amount: Decimal | None, code: str) -> Column:
        return _spread(to_minor(amount or ZERO, code), values, quantities, code)

    discount, carriage, handling = (spread(a, currency) for a in (order.discount, order.carriage, order.handling))
    core = tuple(to_minor(line.core or ZERO, currency) for line in order.lines)
    priced = _add(values, _negate(discount), carriage, handling, core)
    taxes, tax = _compute_tax(order, priced, currency)
    base = _add(priced, _negate(tax)) if order.prices == "gross" else priced
    gross = _add(base, tax)
    home, converted = _bring_home(order, gross, currency, home_currency)
    duty = spread(_sum_charges((order.duty,), home_currency), home_currency)
    charges = spread(_sum_charges(order.charges, home_currency), home_currency)
    landed = _add(home, duty, charges)
    rates = tuple(_tax_rate(order, line) for line in order.lines)
    columns = (values, discount, carriage, handling, core, base, rates, tax, gross, home, duty, charges, landed)
    return LandedOrder(
        order=order,
        currency=currency,
        home_currency=home_currency,
        lines=tuple(_make_line(line, *row) for line, row in zip(order.lines, zip(*columns, strict=True), strict=True)),
        taxes=taxes,
        total=sum_amounts(gross),
        home=sum_amounts(home),
        landed=sum_amounts(landed),
        rate=_find_rate(order, sum_amounts(gross), currency, home_currency),
        converted=converted,
    )


def value_line(line: Line, currency: str) -> Decimal:
    """The line's own price: its stated total, else quantity times price, half up (EN 16931 BT-131)."""
    if line.total is not None:
        return to_minor(line.total, currency)
    return to_minor(EXACT.multiply(line.qty, line.each or ZERO), currency)


def convert(amount: Decimal, order: LandedOrder) -> Decimal | None:
    """An amount of the order's currency at the order's own rate, half up; None where the order has none."""
    if order.rate is None:
        return None
    return to_minor(Fraction(amount) * order.rate, order.home_currency)


def _make_line(line: Line, *row: Decimal) -> LandedLine:
    value, discount, carriage, handling, core, base, rate, tax, gross, home, duty, charges, landed = row
    return LandedLine(
        line=line, value=value, discount=discount, carriage=carriage, handling=handling, core=core, base=base,
        tax_rate=rate, tax=tax, gross=gross, home=home, duty=duty, charges=charges, landed=landed,
    )  # fmt: skip


def _spread(amount: Decimal, weights: Column, quantities: Column, currency: str) -> Column:
    return share_by_value(amount, weights, quantities, digits=minor_digits(currency)) if weights else ()


def _add(*columns: Column) -> Column:
    return tuple(sum_amounts(row) for row in zip(*columns, strict=True))


def _negate(column: Column) -> Column:
    return tuple(-amount for amount in column)


def _tax_rate(order: Order, line: Line) -> Decimal:
    return line.tax if line.tax is not None else order.tax or ZERO


def _compute_tax(order: Order, priced: Column, currency: str) -> tuple[tuple[TaxTotal, ...], Column]:
    """The tax at each rate, and each line's share of it."""
    groups: dict[Decimal, list[int]] = {}
    for n, line in enumerate(order.lines):
        groups.setdefault(_tax_rate(order, line), []).append(n)
    totals, shares = [], [ZERO] * len(priced)
    for rate, rows in groups.items():
        part = tuple(priced[n] for n in rows)
        whole = sum_amounts(part)
        tax = _compute_one_tax(whole, rate, currency, inside=order.prices == "gross")
        if rate:
            totals.append(TaxTotal(rate=rate, base=whole - tax if order.prices == "gross" else whole, tax=tax))
        quantities = tuple(order.lines[n].qty for n in rows)
        for n, amount in zip(rows, _follow_signs(tax, part, quantities, currency), strict=True):
            shares[n] = amount
    return tuple(totals), tuple(shares)


def _compute_one_tax(whole: Decimal, rate: Decimal, currency: str, *, inside: bool) -> Decimal:
    """The tax on top of a base (EN 16931 BT-117), or inside a price."""
    if inside:
        return to_minor(Fraction(whole) * Fraction(rate) / (100 + Fraction(rate)), currency)
    return to_minor(EXACT.scaleb(EXACT.multiply(whole, rate), -2), currency)


def _follow_signs(amount: Decimal, weights: Column, quantities: Column, currency: str) -> Column:
    """Shares in which a line below zero takes its share off, where the weights leave something of the amount's sign."""
    if amount * sum_amounts(weights) > 0:
        return share(amount, weights, digits=minor_digits(currency))
    return _spread(amount, weights, quantities, currency)


def _bring_home(order: Order, gross: Column, currency: str, home_currency: str) -> tuple[Column, bool]:
    """Each line's share of what was charged in the home currency, and whether that is known."""
    total, quantities = sum_amounts(gross), tuple(line.qty for line in order.lines)
    if order.charged is not None:
        charged = to_minor(order.charged, home_currency)
        return _follow_signs(charged, gross, quantities, home_currency), True
    if currency == home_currency:
        return gross, True
    home = to_minor(EXACT.multiply(total, order.rate or ZERO), home_currency)
    return _follow_signs(home, gross, quantities, home_currency), order.rate is not None or total == 0


def _find_rate(order: Order, total: Decimal, currency: str, home_currency: str) -> Fraction | None:
    if currency == home_currency:
        return Fraction(1)
    if order.charged is not None and total:
        return Fraction(to_minor(order.charged, home_currency)) / Fraction(total)
    return Fraction(order.rate) if order.rate is not None else None


def _sum_charges(charges: Sequence[Charge | None], home_currency: str) -> Decimal:
    """The charges that are billed in the home currency."""
    return sum_amounts(
        to_minor(charge.amount, home_currency)
        for charge in charges
        if charge is not None and charge.currency in (None, home_currency)
    )
