"""Small drawings in a row of words: an amount's bar or tally strokes, a suspect's thread, a part's life in its place.

The words beside each say the same, so none of them has a name of its own or any letters: whoever hears the page is told
by the row. Across, all but strokes are percents, so that they are stretched and never scaled. A stroke stands for a
whole of some unit, in fives, as they are made by hand beside a column of figures; strokes are drawn of shown amounts
alone: they tell less than the words beside them.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

from buildlog.frozen import frozen
from buildlog.render.drawing import percent, show_place

HUNDRED = Decimal(100)
PLANNED = Decimal(60)
"Percent at which the budget's rule stands in its own bar, the same in each: what is over it crosses it."


@frozen
class Scale:
    """Amounts of one list on one length."""

    low: Decimal
    "the least, or zero"
    high: Decimal
    "the greatest, or zero; above `low`"

    def across(self, amount: Decimal) -> Decimal:
        """In percent."""
        return (amount - self.low) * HUNDRED / (self.high - self.low)


def make_scale(amounts: Iterable[Decimal]) -> Scale | None:
    """The scale on which all of them have room beside zero; None where all are zero, or there is none."""
    some = (Decimal(0), *amounts)
    low, high = min(some), max(some)
    return Scale(low=low, high=high) if high > low else None


def draw_bar(amount: Decimal, scale: Scale, budget: Decimal | None = None) -> str:
    """An amount from zero on; what is above a budget is of another kind, and a rule stands at the budget."""
    zero, end = scale.across(Decimal(0)), scale.across(amount)
    parts = [_rect("", min(zero, end), max(zero, end))]
    if budget is not None:
        at = scale.across(budget)
        parts = [_rect("", zero, min(end, at))] if end > zero else parts
        # Taller as well, as a colour alone would be lost in print.
        parts += [_rect("over", at, end).replace("<rect", '<rect y="-60%"')] if end > at else []
        parts.append(f'<line class="limit" x1="{percent(at)}" y1="-120%" x2="{percent(at)}" y2="100%"/>')
    return _wrap("bar", parts)


def draw_budget(share: Decimal, forecast: Decimal | None) -> str:
    """What is spent and committed as a share of its budget, and what it will come to with what is wanted."""
    end = min(max(share * PLANNED, Decimal(0)), HUNDRED)
    parts = [_rect("", Decimal(0), min(end, PLANNED))]
    parts += [_rect("over", PLANNED, end)] if end > PLANNED else []
    if forecast is not None and forecast > share:
        parts.append(_rect("wanted", end, min(forecast * PLANNED, HUNDRED)))
    at = percent(PLANNED)
    parts.append(f'<line class="limit" x1="{at}" y1="0" x2="{at}" y2="130%"/>')
    return _wrap("strip plan", parts)


def place_step(number: Decimal, steps: int) -> Decimal:
    """Where one of so many steps of a hunt stands, in percent; 0 is its begin, and one more than there are its end."""
    return 1 + number * 98 / (steps + 1)


def draw_thread(begin: Decimal, end: Decimal, *, verdict: str, steps: int) -> str:
    """A suspect's thread over so many steps of a hunt: `left` runs on, `cleared` is cut off, `condemned` is tied up.

    `begin` and `end` count steps from 0, the day on which the fault came up, to one more than the last check.
    """
    left, right = (place_step(n, steps) for n in (begin, end))
    parts = [_line(verdict, left, right)]
    at = percent(right)
    # Told apart by shape: a stroke across, a full square, an open end.
    if verdict == "cleared":
        parts.append(f'<line class="cut" x1="{at}" y1="22%" x2="{at}" y2="78%"/>')
    elif verdict == "condemned":
        parts.append(f'<rect class="found" x="{at}" y="25%" width=".5em" height="50%"/>')
    else:
        parts.append(f'<circle class="open" cx="{at}" cy="50%" r=".28em"/>')
    return _wrap("strip", parts)


Stretch = tuple[str, Decimal, Decimal]
"What a part did (`post`, `shelf`, `on`), from where to where in percent."


def draw_place(stretches: Iterable[Stretch], ends: Iterable[Decimal]) -> str:
    """The life of what was in one place; a stroke at each end, where something was taken off."""
    parts = [_rect(kind, begin, end) if kind != "post" else _line(kind, begin, end) for kind, begin, end in stretches]
    strokes = (f'<line class="cut" x1="{percent(x)}" y1="10%" x2="{percent(x)}" y2="90%"/>' for x in ends)
    return _wrap("strip", [*parts, *strokes])


def _rect(kind: str, left: Decimal, right: Decimal) -> str:
    named = f' class="{kind}"' if kind else ""
    return f'<rect{named} x="{percent(left)}" width="{show_place(max(right - left, Decimal(0)), 2)}%"/>'


def _line(kind: str, left: Decimal, right: Decimal) -> str:
    return f'<line class="{kind}" x1="{percent(left)}" y1="50%" x2="{percent(right)}" y2="50%"/>'


def _wrap(kind: str, parts: Iterable[str]) -> str:
    return f'<svg class="{kind}" aria-hidden="true">{"".join(parts)}</svg>'


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
