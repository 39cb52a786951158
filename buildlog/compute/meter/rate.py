"""How fast does a series of readings rise, when one of them may be a slip?

The Theil–Sen estimator: the median of the slopes of all pairs (H. Theil 1950; P. K. Sen, "Estimates of the regression
coefficient based on Kendall's tau", J. Am. Stat. Assoc. 63, 1968). One mistyped reading leaves it where it was.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations
from math import lcm

Point = tuple[int, Fraction]
"Day number and value."


def compute_slope(points: Sequence[Point]) -> Fraction | None:
    """The median slope of all pairs on different days, exactly; None where there is no such pair.

    An even number of slopes has the mean of the middle two, as `statistics.median`.
    """
    scale = lcm(*(value.denominator for _, value in points)) if points else 1
    pairs = combinations(sorted((day, int(value * scale)) for day, value in points), 2)
    slopes = [(y2 - y1, x2 - x1) for (x1, y1), (x2, y2) in pairs if x1 != x2]
    if not slopes:
        return None
    # Division of whole numbers is rounded correctly, so it keeps their order: only slopes that share one binary
    # fraction have to be put in order exactly.
    order = sorted(rise / run for rise, run in slopes)
    low, high = (len(slopes) - 1) // 2, len(slopes) // 2
    below = _pick(slopes, order, low)
    return (below + (below if low == high else _pick(slopes, order, high))) / 2 / scale


def _pick(slopes: Sequence[tuple[int, int]], order: Sequence[float], rank: int) -> Fraction:
    """The slope of a rank, from 0; `order` holds the slopes' binary fractions, least first."""
    wanted = order[rank]
    alike = [(rise, run) for rise, run in slopes if rise / run == wanted]
    rise, run = alike[0]
    if all(y * run == rise * x for y, x in alike):
        return Fraction(rise, run)
    return sorted(Fraction(y, x) for y, x in alike)[rank - bisect_left(order, wanted)]
