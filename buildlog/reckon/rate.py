"""How fast does a series of readings rise, when one of them may be a slip?

The Theil–Sen estimator: the median of the slopes of all pairs (H. Theil 1950; P. K. Sen, "Estimates of the regression
coefficient based on Kendall's tau", J. Am. Stat. Assoc. 63, 1968). One mistyped reading leaves it where it was.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations
from math import lcm

Point = tuple[int, Fraction]
"Day number and value."


def reckon_slope(points: Sequence[Point]) -> Fraction | None:
    """The median slope of all pairs on different days, exactly; None where there is no such pair.

    An even number of slopes has the mean of the middle two, as `statistics.median`.
    """
    scale = lcm(*(value.denominator for _, value in points)) if points else 1
    whole = [(day, int(value * scale)) for day, value in points]
    slopes = [(y2 - y1, x2 - x1) for (x1, y1), (x2, y2) in combinations(sorted(whole), 2) if x1 != x2]
    if not slopes:
        return None
    # Division of whole numbers is rounded correctly, so it keeps their order: only slopes that share one binary
    # fraction have to be put in order exactly.
    slopes.sort(key=lambda slope: slope[0] / slope[1])
    middle = (_pick(slopes, (len(slopes) - 1) // 2) + _pick(slopes, len(slopes) // 2)) / 2
    return middle / scale


def _pick(slopes: list[tuple[int, int]], rank: int) -> Fraction:
    """The slope of a rank, from 0, among slopes in the order of their binary fractions."""
    rise, run = slopes[rank]
    first, last = rank, rank
    while first > 0 and slopes[first - 1][0] / slopes[first - 1][1] == rise / run:
        first -= 1
    while last + 1 < len(slopes) and slopes[last + 1][0] / slopes[last + 1][1] == rise / run:
        last += 1
    alike = slopes[first : last + 1]
    if all(y * run == rise * x for y, x in alike):
        return Fraction(rise, run)
    return sorted(Fraction(y, x) for y, x in alike)[rank - first]
