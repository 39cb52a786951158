"""Where days stand across a drawing, and which of them are ticks with their names."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from decimal import Decimal

from buildlog.frozen import frozen
from buildlog.render.drawing import LINE, Label, Wanted, em, lean, percent

LEFT, RIGHT = Decimal("0.5"), Decimal(99)
"Percent of the width at which the first and the last day stand."


def choose_months(first: datetime.date, last: datetime.date, most: int) -> tuple[datetime.date, ...]:
    """First days of months from `first` to `last`, every one, or every second, third, sixth, twelfth …"""
    start = first.year * 12 + first.month - 1 + (first.day > 1)
    count = last.year * 12 + last.month - start
    # Each divides or counts years, so that January, which names the year, always has its tick.
    step = next(n for n in (1, 2, 3, 6, *range(12, 12 * 10_000, 12)) if count <= n * most)
    numbers = range(-(-start // step) * step, start + count, step)
    return tuple(datetime.date(number // 12, number % 12 + 1, 1) for number in numbers)


@frozen
class TickWords:
    """How an axis of days is written."""

    start: Callable[[datetime.date], str]
    "writes its first month: `May 2024`"
    month: Callable[[datetime.date], str]
    "writes any other: `May`, and the year where it begins"


@frozen
class Days:
    """Where days stand across a drawing."""

    first: datetime.date
    "the day at the left"
    last: datetime.date
    "the day at the right"
    left: Decimal = LEFT
    "percent of the first day"
    right: Decimal = RIGHT
    "percent of the last day"

    def across(self, day: datetime.date) -> Decimal:
        """In percent of the width."""
        # Everything may have happened on one day.
        days = max((self.last - self.first).days, 1)
        return self.left + Decimal((day - self.first).days) * (self.right - self.left) / days

    def day_at(self, x: Decimal) -> datetime.date:
        """The day that stands at a place across, or the nearest end."""
        days = (x - self.left) * (self.last - self.first).days / (self.right - self.left)
        return self.first + datetime.timedelta(days=min(max(int(days), 0), (self.last - self.first).days))

    def list_ticks(self, words: TickWords, y: Decimal, most: int) -> Sequence[Wanted]:
        """A tick with its month below it, for so many of them; the first says its year where none is a year."""
        months = choose_months(self.first, self.last, most)
        says_year = any(month.month == 1 for month in months)
        return [
            Wanted(
                key=("month", month),
                places=tuple(
                    Label(
                        kind="month",
                        x=self.across(month),
                        y=y + LINE,
                        text=words.month(month) if n or says_year else words.start(month),
                        anchor=anchor,
                    )
                    # At the ends a name leans inwards.
                    for anchor in dict.fromkeys((lean(self.across(month)), "start", "end"))
                ),
                shapes=(_tick(self.across(month), y),),
            )
            for n, month in enumerate(months)
        ]


def _tick(x: Decimal, y: Decimal) -> str:
    at = percent(x)
    return f'<line x1="{at}" y1="{em(y)}" x2="{at}" y2="{em(y + Decimal("0.4"))}" class="tick'
