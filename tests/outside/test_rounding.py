"""Rounding half up against the euro changeover's published rules and examples."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from buildlog.arithmetic import round_half_up
from buildlog.compute.quantities.money import round_to_minor_unit

pytestmark = pytest.mark.outside


@pytest.mark.parametrize(
    ("value", "digits", "expected"),
    [
        ("0.125", 2, "0.13"),
        ("1.005", 2, "1.01"),
        ("2.345", 2, "2.35"),
        ("2.675", 2, "2.68"),
        ("2.5", 0, "3"),
        ("-2.5", 0, "-3"),
        ("-0.125", 2, "-0.13"),
    ],
)
def test_half_goes_away_from_zero(value: str, digits: int, expected: str) -> None:
    """Values on which half-even (0.12, 1.00, 2.34, 2.68, 2, −2) and binary floats (1.005 → 1.0, 2.675 → 2.67) go wrong.

    Each follows from the rule itself; the rule is Regulation (EC) No 1103/97, article 5, mirrored below zero.
    """
    assert str(round_half_up(Decimal(value), digits)) == expected
    assert str(round_half_up(Fraction(value), digits)) == expected


@pytest.mark.parametrize(
    ("amount", "rate", "expected"),
    [
        ("500", "239.640", "2.09"),  # 2.0864…: the Slovenian changeover authority's example
        ("1000", "239.640", "4.17"),  # 4.1729…: the same
        ("100", "1.95583", "51.13"),  # DEM; Regulation (EC) No 2866/98 for this rate and the next two (from memory)
        ("1000", "6.55957", "152.45"),  # FRF
        ("1000", "1936.27", "0.52"),  # ITL
    ],
)
def test_the_euro_changeover(amount: str, rate: str, expected: str) -> None:
    """National currency divided by the fixed rate, never multiplied by an inverse: Regulation 1103/97, article 4(3)."""
    assert str(round_to_minor_unit(Fraction(amount) / Fraction(rate), "EUR").amount) == expected


@pytest.mark.parametrize(("amount", "expected"), [("24.784", "24.78"), ("24.785", "24.79")])
def test_the_changeover_authority_s_rounding_examples(amount: str, expected: str) -> None:
    """The Slovenian changeover authority's two examples around the half."""
    assert str(round_to_minor_unit(Decimal(amount), "EUR").amount) == expected


def test_between_two_national_currencies() -> None:
    """100 DEM to FRF goes through euro rounded to three decimals: 51.129 × 6.55957 = 335.38425453 → 335.38.

    Regulation (EC) No 1103/97, article 4(4).
    """
    euro = round_half_up(Fraction(100) / Fraction("1.95583"), 3)
    assert str(euro) == "51.129"
    assert str(round_to_minor_unit(euro * Decimal("6.55957"), "FRF").amount) == "335.38"
