"""What is an amount of money, and how is it rounded?

Amounts are decimal, never binary. Nothing here depends on the precision or the rounding that a caller set for
`decimal`. Sharing an amount over lines is for `sharing`; what currencies there are, for `currencies`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from functools import reduce

from buildlog.reckon.amounts.currencies import is_currency, minor_digits

EXACT = Context(prec=200, rounding=ROUND_HALF_UP)
"Wide enough for the product of any three numbers that an owner can type (15 digits each) without rounding."

__all__ = ["EXACT", "Money", "is_currency", "minor_digits", "round_half_up", "sum_amounts", "to_minor"]


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in one currency; no two are added or compared, as each may be in another."""

    amount: Decimal
    "in the currency's main unit"
    currency: str
    "ISO 4217 code"


def sum_amounts(amounts: Iterable[Decimal]) -> Decimal:
    """The exact sum of amounts that are known to be in one currency."""
    return reduce(EXACT.add, amounts, Decimal(0))


def to_minor(amount: Decimal | Fraction, currency: str) -> Decimal:
    """The amount in whole minor units of its currency (ISO 4217), rounded half up."""
    return round_half_up(amount, minor_digits(currency))


def round_half_up(amount: Decimal | Fraction, digits: int) -> Decimal:
    """The amount to so many decimals; exactly half goes away from zero.

    Council Regulation (EC) No 1103/97, article 5: to the nearest cent, half-way up. A refund is a payment's mirror
    image, so −2.5 goes to −3. Never gives a negative zero.
    """
    if isinstance(amount, Decimal):
        rounded = amount.quantize(Decimal(1).scaleb(-digits), context=EXACT)
        return rounded if rounded else rounded.copy_abs()
    scaled = abs(amount) * 10**digits
    units = (2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator)
    return EXACT.scaleb(Decimal(units if amount > 0 else -units), -digits)
