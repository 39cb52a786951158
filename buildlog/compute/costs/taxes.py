"""What tax does an order bear: at which rates, or untaxed for which reason, and how does it fall on the lines?"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from buildlog.arithmetic import EXACT
from buildlog.compute.quantities.money import Column, Money, follow_signs, round_to_minor_unit
from buildlog.frozen import frozen
from buildlog.read.records import Extra, Line, Order, Untaxed

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
        parts = [column for other, column in own if other == key]
        units = [
            sum((part.units[n] for part in parts), priced.units[n] if keys[n] == key else 0) for n in range(len(keys))
        ]
        # Of a rate that no line has, all lines bear the tax.
        rows = [n for n, other in enumerate(keys) if other == key or units[n]] or [*range(len(keys))]
        part = Column(tuple([units[n] for n in rows]), priced.currency)
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
