"""How is one amount shared over several lines, so that the shares add up to it exactly?

By the largest remainder (Hamilton) in minor units. The quotas are exact, and of two equal remainders the earlier line
takes the unit. Shares are a result of all lines together: a larger amount may lower the share of one of them (the
Alabama paradox), which is in the nature of the method.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from math import lcm

from buildlog.reckon.amounts.money import EXACT


def share(amount: Decimal, weights: Sequence[Decimal], *, digits: int) -> tuple[Decimal, ...]:
    """The amount in shares by weight, one for each weight, each in whole units of the last of so many decimals.

    A weight may be negative (a line that takes something off), and then so is its share. A negative amount shares as
    the mirror image of the positive one. Raises `ValueError` where the amount is no whole number of units, or where
    there is an amount to share and the weights add up to zero.
    """
    units = _to_units(amount, digits)
    if units == 0:
        return _from_units([0], digits) * len(weights)
    parts = _to_whole_numbers(weights)
    total = sum(parts)
    if total == 0:
        raise ValueError("weights that add up to zero share nothing")
    if total < 0:
        parts, total = [-part for part in parts], -total
    shares = _apportion(abs(units), parts, total)
    return _from_units(shares if units > 0 else [-units for units in shares], digits)


def share_by_value(
    amount: Decimal, values: Sequence[Decimal], quantities: Sequence[Decimal], *, digits: int
) -> tuple[Decimal, ...]:
    """The amount shared by value; where every value is zero, by quantity; where those are zero too, evenly.

    A value below zero (a price taken off) takes no share. Raises `ValueError` as `share` does, and where there is an
    amount and no line.
    """
    for weights in (values, quantities):
        above = [max(weight, Decimal(0)) for weight in weights]
        if any(above):
            return share(amount, above, digits=digits)
    return share(amount, [Decimal(1)] * len(values), digits=digits)


def _apportion(units: int, parts: Sequence[int], total: int) -> list[int]:
    quotas = [divmod(units * part, total) for part in parts]
    shares = [whole for whole, _ in quotas]
    by_remainder = sorted(range(len(parts)), key=lambda n: -quotas[n][1])
    for n in by_remainder[: units - sum(shares)]:
        shares[n] += 1
    return shares


def _to_units(amount: Decimal, digits: int) -> int:
    units = EXACT.scaleb(amount, digits)
    if units != int(units):
        raise ValueError(f"{amount} has more than {digits} decimals")
    return int(units)


def _from_units(units: Sequence[int], digits: int) -> tuple[Decimal, ...]:
    return tuple(EXACT.scaleb(Decimal(unit), -digits) for unit in units)


def _to_whole_numbers(weights: Sequence[Decimal]) -> list[int]:
    """The weights as integers in the same proportion."""
    ratios = [weight.as_integer_ratio() for weight in weights]
    scale = lcm(*(denominator for _, denominator in ratios))
    return [numerator * (scale // denominator) for numerator, denominator in ratios]
