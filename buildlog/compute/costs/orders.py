"""What did each line of one order really cost, with its share of everything that the order cost?

Prices, discount, carriage, tax and core charges in the order's currency; then what the card took, duty and other
charges in the home currency. When an order was paid is for `purchases`; problems with an order are for `order_checks`.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from buildlog.arithmetic import EXACT
from buildlog.compute.costs.payments import Settlement, settle
from buildlog.compute.quantities.money import (
    Column,
    Money,
    round_column,
    round_to_minor_unit,
    share,
    share_by_value,
)
from buildlog.frozen import frozen, maker
from buildlog.read.records import Charge, Line, Order

ZERO = Decimal(0)


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
    "base and tax; order's currency"
    home: Money
    "its share of what was charged; home currency"
    duty: Money
    "its share of the duty; home currency"
    charges: Money
    "its share of the other charges; home currency"
    landed: Money
    "home, duty and charges: the full cost; home currency"


new_landed = maker(LandedLine)


@frozen
class TaxTotal:
    """The tax of an order at one rate, in the order's currency."""

    rate: Decimal
    "percent"
    base: Money
    "what it is computed on, without it"
    tax: Money
    "half up, once for the rate"


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
    "one for each rate above zero, in the order in which they appear"
    total: Money
    "with tax, in the order's currency"
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
    gross: Column
    "base and tax"
    taxes: tuple[TaxTotal, ...]
    "one for each rate above zero"

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
    values = round_column(map(value_line, order.lines), currency)
    quantities = [line.qty for line in order.lines]
    # Each by itself, as the invoice prints it: shared in one sum, no column would add up to what is printed. Rounded
    # first, as an amount finer than a penny cannot be shared in pennies: that is the owner's slip, and no crash.
    zero = Column((0,) * len(order.lines), currency)
    discount, carriage, handling = (
        _spread(round_to_minor_unit(extra, currency), values, quantities) if extra else zero
        for extra in (order.discount, order.carriage, order.handling)
    )
    core = round_column([line.core for line in order.lines], currency)
    # A core charge costs what any price costs until it comes back: it is taxed, and charged with the rest.
    priced = values - discount + carriage + handling + core
    rates = [tax_rate(order, line) for line in order.lines]
    taxes, tax = compute_tax(rates, priced, quantities, inside=order.prices == "gross")
    # Prices that hold their tax give it up here, so that both ways to write one invoice end in the same columns.
    base = priced - tax if order.prices == "gross" else priced
    return PricedOrder(
        order=order, values=values, discount=discount, carriage=carriage, handling=handling, core=core, base=base,
        tax=tax, gross=base + tax, taxes=taxes,
    )  # fmt: skip


def land_priced(priced: PricedOrder, settlement: Settlement, home_currency: str) -> LandedOrder:
    """The order's landed costs: what it came to in the home currency by how it was paid, and what was billed at home.

    Charges in another currency than the home currency are left out: `order_checks` finds them.
    """
    order, values, quantities = priced.order, priced.values, priced.quantities
    home = _bring_home(priced.gross, settlement.home, quantities)
    # By line value, as everything that is not tax: a line with a lower rate bears its carriage and duty in full.
    duty, charges = (
        _spread(_sum_charges(billed, home_currency), values, quantities)
        for billed in ([order.duty] if order.duty else [], order.charges)
    )
    landed = home + duty + charges
    in_order = (values, priced.discount, priced.carriage, priced.handling, priced.core, priced.base, priced.tax)
    columns = (*in_order, priced.gross, home, duty, charges, landed)
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


def value_line(line: Line) -> Decimal:
    """The line's own price before it is rounded: its stated total, else quantity times price (EN 16931 BT-131)."""
    return EXACT.multiply(line.qty, line.each or ZERO) if line.total is None else line.total


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


def follow_signs(amount: Money, weights: Column, quantities: Sequence[Decimal]) -> Column:
    """Shares in which a line below zero takes its share off, where the weights leave something of the amount's sign."""
    # Weights that come to nothing share nothing, and against the sign of the whole a line that costs would be credited:
    # then the lines above zero bear it all.
    if amount.amount * sum(weights.units) > 0:
        return share(amount, weights.units)
    return _spread(amount, weights, quantities)


def _make_line(order: Order, line: Line, *row: Money) -> LandedLine:
    value, discount, carriage, handling, core, base, tax, gross, home, duty, charges, landed = row
    return new_landed(
        line=line, value=value, discount=discount, carriage=carriage, handling=handling, core=core, base=base,
        tax_rate=tax_rate(order, line), tax=tax, gross=gross, home=home, duty=duty, charges=charges, landed=landed,
    )  # fmt: skip


def _spread(amount: Money, values: Column, quantities: Sequence[Decimal]) -> Column:
    """The amount over the lines by their values, whatever currency those are in."""
    # An order without lines has nowhere to put an amount, which `order_checks` tells; `share_by_value` would raise.
    return share_by_value(amount, values.units, quantities) if values.units else Column((), amount.currency)


def tax_rate(order: Order, line: Line) -> Decimal:
    """The rate of a line: its own, else the order's, else none."""
    return line.tax if line.tax is not None else order.tax or ZERO


def compute_tax(
    rates: Sequence[Decimal], priced: Column, quantities: Sequence[Decimal], *, inside: bool
) -> tuple[tuple[TaxTotal, ...], Column]:
    """The tax at each rate above zero, on top of the amounts or inside them, and each line's share of it."""
    groups: dict[Decimal, list[int]] = {}
    for n, rate in enumerate(rates):
        if rate:
            groups.setdefault(rate, []).append(n)
    totals, shares = [], [0] * len(rates)
    for rate, rows in groups.items():
        part = priced if len(rows) == len(shares) else priced.pick(rows)
        whole = part.total()
        # Once for a rate and not line by line, as an invoice does: three lines of 0.03 at 20 % owe 0.02, not 0.03.
        tax = _compute_one_tax(whole, rate, inside=inside)
        totals.append(TaxTotal(rate=rate, base=whole - tax if inside else whole, tax=tax))
        mine = follow_signs(tax, part, [quantities[n] for n in rows])
        for n, units in zip(rows, mine.units, strict=True):
            shares[n] = units
    return tuple(totals), Column(tuple(shares), priced.currency)


def _compute_one_tax(whole: Money, rate: Decimal, *, inside: bool) -> Money:
    """The tax on top of a base (EN 16931 BT-117), or inside a price."""
    # A fraction: the sixth that 20 % is of a gross price ends in no decimal.
    if inside:
        return round_to_minor_unit(Fraction(whole.amount) * Fraction(rate) / (100 + Fraction(rate)), whole.currency)
    return round_to_minor_unit(EXACT.scaleb(EXACT.multiply(whole.amount, rate), -2), whole.currency)


def _bring_home(gross: Column, home: Money, quantities: Sequence[Decimal]) -> Column:
    """Each line's share of what the order came to in the home currency."""
    # Converted once, on what was paid, and then shared: line by line the pennies would not add up to one conversion.
    return gross if gross.total() == home else follow_signs(home, gross, quantities)


def _sum_charges(charges: Sequence[Charge], home_currency: str) -> Money:
    """The charges that are billed in the home currency."""
    # One in another currency is an error that `order_checks` tells; its number would pass for home money here.
    billed = [charge.amount for charge in charges if charge.currency in (None, home_currency)]
    return round_column(billed, home_currency).total()
