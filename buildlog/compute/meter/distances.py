"""How are meter readings in different units compared?

1 mi = 1.609344 km exactly: 1 ft = 0.3048 m (international yard and pound agreement, 1959; NIST SP 811 appendix B.6)
and 5,280 ft make a mile. Hours are no distance. Readings are stored as read; this converts for comparing and showing.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from buildlog.compute.quantities.money import round_half_up

KM_PER_UNIT = {"km": Fraction(1), "mi": Fraction(1609344, 1_000_000)}
"Kilometres in one of each unit of distance."


def convert_distance(value: Decimal | Fraction, unit: str, to: str) -> Fraction:
    """The same distance in another unit, exactly. Raises `KeyError` for a unit that is no distance."""
    if unit == to:
        return Fraction(value)
    return Fraction(value) * KM_PER_UNIT[unit] / KM_PER_UNIT[to]


def are_comparable(unit: str, other: str) -> bool:
    """Whether readings in two units can be told apart in size: both distances, or the same unit."""
    return unit == other or {unit, other} <= KM_PER_UNIT.keys()


def show_decimal(value: Fraction) -> Decimal:
    """The value as a decimal: exactly where one of up to 12 places holds it, else half up to a thousandth."""
    exact, rest = divmod(value.numerator * 10**12, value.denominator)
    if rest == 0:
        whole, places = divmod(exact, 10**12)
        shown = Decimal(whole) if places == 0 else Decimal(exact).scaleb(-12).normalize()
        return shown
    return round_thousandth(value)


def round_thousandth(value: Fraction) -> Decimal:
    """The value as a decimal, half up (away from zero) to a thousandth, without zeros at its end."""
    return show_decimal(Fraction(round_half_up(value, 3)))
