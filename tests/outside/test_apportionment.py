"""Largest-remainder shares against apportionments that history and another library computed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from apportionment import methods
from hypothesis import assume, given
from hypothesis import strategies as st

from buildlog.compute.quantities.money import Money, share

pytestmark = pytest.mark.outside


def seats(total: int, people: list[int]) -> list[int]:
    """So many seats, shared as yen are: in whole ones."""
    return list(share(Money(Decimal(total), "JPY"), people).units)


def test_the_vetoed_bill_of_1792() -> None:
    """The first apportionment bill of the United States, vetoed in 1792, by Hamilton's method: 120 seats.

    3,615,920 people; populations and seats as printed in the usual textbooks. Floors sum to 111,
    so nine seats go by remainder.
    """
    people = {
        "VT": 85533, "KY": 68705, "NJ": 179570, "VA": 630560, "CT": 236841, "SC": 206236, "DE": 55540, "MA": 475327,
        "NC": 353523, "NH": 141822, "PA": 432879, "GA": 70835, "RI": 68446, "MD": 278514, "NY": 331589,
    }  # fmt: skip
    assert sum(people.values()) == 3615920
    assert sum(120 * n // 3615920 for n in people.values()) == 111
    assert dict(zip(people, seats(120, list(people.values())), strict=True)) == {
        "VT": 3, "KY": 2, "NJ": 6, "VA": 21, "CT": 8, "SC": 7, "DE": 2, "MA": 16, "NC": 12, "NH": 5, "PA": 14, "GA": 2,
        "RI": 2, "MD": 9, "NY": 11,
    }  # fmt: skip


def test_a_textbook_case() -> None:
    """42 seats over five states (an exercise found in several textbooks on apportionment): 6, 5, 11, 10, 10."""
    assert seats(42, [247000, 185000, 459000, 400000, 413000]) == [6, 5, 11, 10, 10]


@pytest.mark.parametrize(
    ("total", "weights", "expected"),
    [
        (100, [1, 1, 1], [34, 33, 33]),
        (1000, [1] * 7, [143, 143, 143, 143, 143, 143, 142]),  # rounding each half up would make 1001
        (1, [1, 1], [1, 0]),
        (500, [0, 1, 2], [0, 167, 333]),
        (4999, [12999, 4550, 899], [3522, 1233, 244]),
        (8750, [50000, 30000, 20000], [4375, 2625, 1750]),
    ],
)
def test_amounts_in_pennies(total: int, weights: list[int], expected: list[int]) -> None:
    """Freight and duty in pennies over line values; each case computed by hand from its quotas."""
    assert seats(total, weights) == expected


def test_the_alabama_paradox_is_part_of_the_method() -> None:
    """Weights 6, 6, 2: ten units give the last line 2, eleven give it 1 (quotas 1.43 and 1.57; the 0.71 go first)."""
    assert seats(10, [6, 6, 2]) == [4, 4, 2]
    assert seats(11, [6, 6, 2]) == [5, 5, 1]


def is_tied(total: int, weights: list[int]) -> bool:
    """Whether the last remainder that is served equals one that is not."""
    remainders = sorted((total * weight % sum(weights) for weight in weights), reverse=True)
    left = sum(remainders) // sum(weights)
    return 0 < left < len(weights) and remainders[left - 1] == remainders[left]


@given(st.lists(st.integers(0, 10**6), min_size=1, max_size=20).filter(any), st.integers(1, 10**6))
def test_agrees_with_another_library(weights: list[int], total: int) -> None:
    """`apportionment` 1.0, method `hamilton` on exact fractions: the same shares wherever no tie has to be broken.

    Ties are left out: the library walks the lines in order and serves a tied remainder before a larger one further
    down, so 169 over 200, 200, 177 comes out as 59, 59, 51 there.
    """
    assume(not is_tied(total, weights))
    assert seats(total, weights) == methods.compute("hamilton", weights, total, fractions=True, verbose=False)


def test_a_tie_never_passes_a_larger_remainder() -> None:
    """169 over 200, 200, 177: quotas 58.58, 58.58, 51.84 (floors 167); 0.84 is served first, then the earlier 0.58."""
    assert seats(169, [200, 200, 177]) == [59, 58, 52]


@pytest.mark.parametrize("lines", [2, 3, 7, 20])
def test_ties_agree_with_another_library(lines: int) -> None:
    """Among equal weights `apportionment` serves the earlier ones as well."""
    for total in range(1, 2 * lines):
        weights = [1] * lines
        assert seats(total, weights) == methods.compute("hamilton", weights, total, fractions=True, verbose=False)
