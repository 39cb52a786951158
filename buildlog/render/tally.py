"""Tally strokes: an amount as so many strokes in fives, as they are made by hand beside a column of figures.

A stroke stands for a whole of some unit, and strokes are drawn of shown amounts alone: they tell less than the words
beside them.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

from buildlog.frozen import frozen

MOST = 25
"Strokes for the largest amount of all."
APART, AFTER_FIVE = 5, 4
"Pixels from one stroke to the next, and how many more there are after five."
LENGTH, HEIGHT = 11, 13
"Pixels of a stroke, and of the drawing; a theme may set it aslant, as a pen does."


@frozen
class Tally:
    """The strokes of one amount."""

    way: str
    "the path of them, from the left"
    width: int
    "pixels; the height is `HEIGHT`"
    height: int = HEIGHT
    "pixels"
    back: bool = False
    "whether the amount is below zero: more came back than went out"


@frozen
class TallyUnits:
    """What one stroke stands for, so that all months of a log can be held against each other; None: nothing to draw."""

    hours: Decimal | None = None
    "own hours"
    money: Decimal | None = None
    "of the home currency"


def choose_unit(amounts: Iterable[Decimal]) -> Decimal | None:
    """1, 2, 5, 10, 20 …: the least by which no amount has more than `MOST` strokes; None: all are nothing."""
    largest = max(map(abs, amounts), default=Decimal(0))
    if not largest:
        return None
    unit, steps = Decimal(1), (Decimal(2), Decimal("2.5"), Decimal(2))
    at = 0
    while _count(largest, unit) > MOST:
        unit, at = unit * steps[at % 3], at + 1
    return unit


def _count(amount: Decimal, unit: Decimal) -> int:
    # At least one: something is not nothing, however little.
    return max(1, int((abs(amount) / unit).to_integral_value(ROUND_HALF_UP)))


def draw_tally(amount: Decimal, unit: Decimal | None) -> Tally | None:
    """The strokes of an amount; None where it is nothing."""
    if not amount or unit is None:
        return None
    steps = [APART + AFTER_FIVE * (at % 5 == 0) for at in range(1, _count(amount, unit))]
    # From stroke to stroke, and no numbers that grow: a page of a year has hundreds of them.
    way = f"M3 1v{LENGTH}" + "".join(f"m{step}-{LENGTH}v{LENGTH}" for step in steps)
    return Tally(way=way, width=sum(steps) + 4, back=amount < 0)
