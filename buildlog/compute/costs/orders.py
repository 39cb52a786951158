"""What did each line of one order really cost, with its share of everything that the order cost?

Prices, discount, carriage, tax and core charges in the order's currency; then what the card took, duty and other
charges in the home currency. Its tax, at which rates, or untaxed for which reason, comes first. When an order was paid
is for `purchases`; problems with an order are for `order_checks`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import reduce
from operator import add, sub

from buildlog.arithmetic import EXACT, sum_exactly
from buildlog.compute.costs.payments import Settlement, settle
from buildlog.compute.quantities.money import Column, Money, follow_signs, round_column, round_to_minor_unit, spread
from buildlog.frozen import frozen
from buildlog.read.records import Charge, Extra, Line, Order, Untaxed

ZERO = Decimal(0)
TaxKey = tuple[Decimal, str | None]
"A rate in percent and, of what is untaxed, why: the two that an invoice sorts its tax by (EN 16931 BT-118, BT-119)."


@frozen
class TaxTotal:
    """The tax of an order at one rate, or what of it is untaxed for one reason, in the order's currency."""

    rate: Decimal
    "percent"
    base: Money
    "what it is computed on, without it"
    tax: Money
    "half up, once for the rate"
    category: str | None = None
    "why there is none, in the guide's words; None: it is taxed"
    reason: str | None = None
    "the owner's words for it; None: not stated, or it is taxed"


def tax_line(order: Order, line: Line) -> TaxKey:
    """The rate of a line: its own, else the order's, else none."""
    return find_key(line.tax, line.untaxed) or find_key(order.tax, order.untaxed) or (ZERO, None)


def find_key(rate: Decimal | None, untaxed: Untaxed | None) -> TaxKey | None:
    """The rate that one record states; None where it states none."""
    if untaxed is not None:
        return ZERO, untaxed.category
    return None if rate is None else (rate, None)


def compute_tax(
    keys: Sequence[TaxKey],
    priced: Column,
    quantities: Sequence[Decimal],
    *,
    inside: bool,
    own: Sequence[tuple[TaxKey, Column]] = (),
) -> tuple[tuple[TaxTotal, ...], Column]:
    """The tax at each rate, on top of the amounts or inside them, and each line's share of all of it.

    `priced` are the lines' amounts, each taxed by its key; `own` are shares of charges and allowances, not in `priced`,
    that have a rate of their own.
    """
    totals, shares = [], [0] * len(keys)
    for key in dict.fromkeys((*keys, *(key for key, _ in own))):
        rate, category = key
        if not rate and category is None:
            continue
        units = [units if other == key else 0 for other, units in zip(keys, priced.units, strict=True)]
        for other, column in own:
            units = [*map(add, units, column.units)] if other == key else units
        # Of a rate that no line has, all lines bear the tax.
        rows = [n for n, other in enumerate(keys) if other == key or units[n]] or [*range(len(keys))]
        part = Column(tuple(units), priced.currency).pick(rows)
        whole = part.total()
        # Once for a rate and not line by line, as an invoice does: three lines of 0.03 at 20 % owe 0.02, not 0.03.
        tax = _compute_one_tax(whole, rate, inside=inside)
        totals.append(TaxTotal(rate=rate, base=whole - tax if inside else whole, tax=tax, category=category))
        mine = follow_signs(tax, part, [quantities[n] for n in rows])
        for n, more in zip(rows, mine.units, strict=True):
            shares[n] += more
    return tuple(totals), Column(tuple(shares), priced.currency)


def find_reason(order: Order, category: str | None) -> str | None:
    """The first reason that an order states for what it calls so."""
    records: list[Order | Line | Extra] = [order, *order.lines, *order.carriage, *order.handling, *order.discount]
    stated = (record.untaxed for record in records if record.untaxed and record.untaxed.category == category)
    return next((untaxed.why for untaxed in stated if untaxed.why), None)


def _compute_one_tax(whole: Money, rate: Decimal, *, inside: bool) -> Money:
    """The tax on top of a base (EN 16931 BT-117), or inside a price."""
    # A fraction: the sixth that 20 % is of a gross price ends in no decimal.
    if inside:
        return round_to_minor_unit(Fraction(whole.amount) * Fraction(rate) / (100 + Fraction(rate)), whole.currency)
    return round_to_minor_unit(EXACT.scaleb(EXACT.multiply(whole.amount, rate), -2), whole.currency)


OwnTaxes = list[tuple[TaxKey, Column]]
"The shares of charges and allowances that are not taxed as the lines are, each with its tax."


@frozen
class LandedLine:
    """One line of an order, and everything that it cost."""

    line: Line
    "as it is written"
    value: Money
    "quantity times price, or the stated total; order's currency; with tax inside where the order's prices are gross"
    discount: Money
    "its share of the discount, above zero; order's currency"
    carriage: Money
    "its share of the carriage; order's currency"
    handling: Money
    "its share of packing and handling; order's currency"
    core: Money
    "refundable surcharge on the old unit, for the whole line; order's currency"
    base: Money
    "what tax is computed on, without the tax; order's currency"
    tax_rate: Decimal
    "percent"
    tax: Money
    "its share of the tax at its rate; order's currency"
    gross: Money
    "base, tax, and its share of what the total was rounded by; order's currency"
    home: Money
    "its share of what was charged; home currency"
    duty: Money
    "its share of the duty; home currency"
    charges: Money
    "its share of the other charges; home currency"
    landed: Money
    "home, duty and charges: the full cost; home currency"

    @property
    def rounding(self) -> Money:
        """Its share of what the total was rounded by; order's currency."""
        return self.gross - self.base - self.tax


@frozen
class LandedOrder:
    """One order with every amount of it shared over its lines; each sum is exactly that of its lines."""

    order: Order
    "as it is written"
    currency: str
    "what its prices are in: ISO 4217 code"
    home_currency: str
    "of the log: ISO 4217 code"
    lines: tuple[LandedLine, ...]
    "in the order of the invoice"
    taxes: tuple[TaxTotal, ...]
    "one for each rate above zero and each reason for none, in the order in which they appear"
    total: Money
    "with tax and rounded, in the order's currency"
    home: Money
    "what was charged, or the total at the stated rate; home currency"
    landed: Money
    "home, duty and charges; home currency"
    priced: PricedOrder
    "the same in the order's currency, column by column"
    settlement: Settlement
    "how it was paid, and at which rate"

    @property
    def converted(self) -> bool:
        """Whether `home` is known; where it is not, what is not known of it is zero."""
        return self.settlement.converted

    @property
    def rate(self) -> Fraction | None:
        """Home currency for one of the order's currency, exact; None: not known."""
        # What was really paid, for what is still in the order's currency: a core owed, a refund, a gift's worth.
        return self.settlement.rate


@frozen
class PricedOrder:
    """One order in its own currency: columns of amounts, one for each line."""

    order: Order
    "as it is written"
    values: Column
    "see `LandedLine.value`; so are the columns below"
    discount: Column
    "above zero"
    carriage: Column
    "postage"
    handling: Column
    "packing and handling"
    core: Column
    "refundable surcharges"
    base: Column
    "without tax"
    tax: Column
    "at each line's rate"
    rounding: Column
    "after the tax"
    gross: Column
    "base, tax and rounding"
    taxes: tuple[TaxTotal, ...]
    "one for each rate above zero and each reason for none"

    @property
    def quantities(self) -> list[Decimal]:
        """How many each line is of."""
        return [line.qty for line in self.order.lines]


def land_order(order: Order, home_currency: str) -> LandedOrder:
    """The order with its landed costs, where no payment is told of; see `land_priced`."""
    priced = price_order(order, home_currency)
    return land_priced(priced, settle(order, priced.gross.total(), home_currency), home_currency)


def price_order(order: Order, home_currency: str) -> PricedOrder:
    """The order's lines with their shares of what it adds and takes off, and their tax, in its own currency.

    Line values are rounded half up to the minor unit (EN 16931 BT-131), tax once for each rate on its summed base
    (BT-117); shares go by the largest remainder, and every column adds up exactly. Amounts finer than the minor unit
    are rounded half up. Amounts of an order without lines are left out: `order_checks` finds them. Raises nothing for
    what an owner can type.
    """
    currency = order.currency or home_currency
    values = round_column([value_line(line) for line in order.lines], currency)
    quantities = [line.qty for line in order.lines]
    zero = Column((0,) * len(order.lines), currency)
    own: OwnTaxes = []
    discount, carriage, handling = (
        _spread_extras(extras, values, quantities, own, sign=sign)
        for extras, sign in ((order.discount, -1), (order.carriage, 1), (order.handling, 1))
    )
    core = round_column([line.core for line in order.lines], currency)
    # A core charge costs what any price costs until it comes back: it is taxed, and charged with the rest.
    priced = values - discount + carriage + handling + core
    inside = order.prices == "gross"
    by_line = reduce(sub, (column for _, column in own), priced)
    keys = [tax_line(order, line) for line in order.lines]
    taxes, tax = compute_tax(keys, by_line, quantities, inside=inside, own=own)
    # Prices that hold their tax give it up here, so that both ways to write one invoice end in the same columns.
    base = priced - tax if inside else priced
    # Of what is to pay (EN 16931 BT-114), so after the tax and by what each line comes to with it.
    rounding = spread(round_to_minor_unit(order.rounding, currency), base + tax, quantities) if order.rounding else zero
    return PricedOrder(
        order=order, values=values, discount=discount, carriage=carriage, handling=handling, core=core, base=base,
        tax=tax, rounding=rounding, gross=base + tax + rounding, taxes=_reason_taxes(order, taxes),
    )  # fmt: skip


def _spread_extras(
    extras: Sequence[Extra], values: Column, quantities: Sequence[Decimal], own: OwnTaxes, *, sign: int
) -> Column:
    """Charges or allowances over the lines; the shares of those with a tax of their own are noted with their sign."""
    whole = zero = Column((0,) * len(values.units), values.currency)
    for extra in extras:
        # Each by itself, as the invoice prints it: shared in one sum, no column would add up to what is printed.
        # Rounded first, as an amount finer than a penny cannot be shared in pennies: the owner's slip, and no crash.
        part = spread(round_to_minor_unit(extra.amount, values.currency), values, quantities)
        whole += part
        if key := find_key(extra.tax, extra.untaxed):
            own.append((key, part if sign > 0 else zero - part))
    return whole


def _reason_taxes(order: Order, taxes: tuple[TaxTotal, ...]) -> tuple[TaxTotal, ...]:
    return tuple(replace(tax, reason=find_reason(order, tax.category)) if tax.category else tax for tax in taxes)


def land_priced(priced: PricedOrder, settlement: Settlement, home_currency: str) -> LandedOrder:
    """The order's landed costs: what it came to in the home currency by how it was paid, and what was billed at home.

    Charges in another currency than the home currency are left out: `order_checks` finds them.
    """
    order, values, quantities = priced.order, priced.values, priced.quantities
    home = _bring_home(priced.gross, settlement.home, quantities)
    # By line value, as everything that is not tax: a line with a lower rate bears its carriage and duty in full.
    duty, charges = (
        spread(_sum_charges(billed, home_currency), values, quantities)
        for billed in ([order.duty] if order.duty else [], order.charges)
    )
    landed = home + duty + charges
    parts = (values, priced.discount, priced.carriage, priced.handling, priced.core, priced.base)
    columns = (*parts, priced.tax, priced.gross, home, duty, charges, landed)
    rows = zip(order.lines, *[column.as_money() for column in columns], strict=True)
    return LandedOrder(
        order=order,
        currency=priced.gross.currency,
        home_currency=home_currency,
        lines=tuple([_make_line(order, *row) for row in rows]),
        taxes=priced.taxes,
        total=priced.gross.total(),
        home=home.total(),
        landed=landed.total(),
        priced=priced,
        settlement=settlement,
    )


def value_line(line: Line) -> Decimal | Fraction:
    """The line's own price before it is rounded (EN 16931 BT-131).

    Its stated total; else quantity times price, for as many as the price is of (BT-149), with its own surcharges and
    less its own discounts (BT-141, BT-136).
    """
    if line.total is not None:
        return line.total
    value: Decimal | Fraction = EXACT.multiply(line.qty, line.each or ZERO)
    if line.per != 1:
        value = Fraction(value) / Fraction(line.per)
    if line.surcharge or line.discount:
        more = sum_exactly(extra.amount for extra in line.surcharge)
        value = Fraction(value) + Fraction(more) - Fraction(sum_exactly(extra.amount for extra in line.discount))
    return value


def convert(amount: Money, order: LandedOrder) -> Money | None:
    """An amount of the order's currency at the order's own rate, half up; None where the order has none.

    Raises `ValueError` for an amount in another currency: the rate says nothing of it.
    """
    if amount.currency != order.currency:
        raise ValueError(f"{amount} is not in {order.currency}, which is what the order's rate is of")
    # No rate is looked up or guessed: what an owner did not write is not known.
    if order.rate is None:
        return None
    # A fraction, as the rate of a card (231.15 for 272.86) ends in no decimal.
    return round_to_minor_unit(Fraction(amount.amount) * order.rate, order.home_currency)


def _make_line(order: Order, line: Line, *row: Money) -> LandedLine:
    value, discount, carriage, handling, core, base, tax, gross, home, duty, charges, landed = row
    return LandedLine(
        line=line, value=value, discount=discount, carriage=carriage, handling=handling, core=core, base=base,
        tax_rate=tax_line(order, line)[0], tax=tax, gross=gross, home=home, duty=duty, charges=charges, landed=landed,
    )  # fmt: skip


def _bring_home(gross: Column, home: Money, quantities: Sequence[Decimal]) -> Column:
    """Each line's share of what the order came to in the home currency."""
    # Converted once, on what was paid, and then shared: line by line the pennies would not add up to one conversion.
    return gross if gross.total() == home else follow_signs(home, gross, quantities)


def _sum_charges(charges: Sequence[Charge], home_currency: str) -> Money:
    """The charges that are billed in the home currency."""
    # One in another currency is an error that `order_checks` tells; its number would pass for home money here.
    billed = [charge.amount for charge in charges if charge.currency in (None, home_currency)]
    return round_column(billed, home_currency).total()
