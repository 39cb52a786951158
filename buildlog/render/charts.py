"""How is a running total drawn? As one SVG, made of attributes and classes that the theme colours.

The same points always give the same bytes. Words and the writing of amounts come in; nothing is computed here but
places on the paper. Labels are placed for the largest type that the theme sets, so that none stands over another at any
other size. The picture never stands alone: the page has the same figures in a table beside it.
"""

from __future__ import annotations

import datetime
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal
from html import escape
from math import ceil, floor
from typing import Literal, NamedTuple

from buildlog.frozen import frozen
from buildlog.render.language import remove_marks

# One drawing serves every window: it shrinks with the page, while the theme keeps its letters readable.
SIZE = 26
"Units of the letters on the narrowest phone; the theme sets none larger."
ASCENT, DESCENT = Decimal("0.95"), Decimal("0.25")
"Parts of the size above and below the base line, with accents, in the tallest of the usual fonts."
GAP = 3
"Units between two labels, at least."

Anchor = Literal["start", "middle", "end"]
BEFORE: dict[Anchor, Decimal] = {"start": Decimal(0), "middle": Decimal("0.5"), "end": Decimal(1)}
"Part of a label that stands left of its place."


class Box(NamedTuple):
    """The room of a label, in units of the drawing."""

    left: Decimal
    "the smaller x"
    top: Decimal
    "the smaller y: y grows downwards"
    right: Decimal
    "the greater x"
    bottom: Decimal
    "the greater y"


@frozen
class Label:
    """Words at a place."""

    kind: str
    "class, by which the theme sets it"
    x: Decimal
    "of the anchor"
    y: Decimal
    "of the base line"
    text: str
    "as shown; may hold the marks around an owner's words, which take no room"
    anchor: Anchor = "start"
    "which part of the text stands at `x`, as SVG's `text-anchor` names it"

    @property
    def box(self) -> Box:
        """The room that it takes at most."""
        width = measure_text(self.text)
        left = self.x - width * BEFORE[self.anchor]
        return Box(left, self.y - ASCENT * SIZE, left + width, self.y + DESCENT * SIZE)


def measure_text(text: str) -> Decimal:
    """How wide a text is at most, in units."""
    # An estimate, since only the browser knows which font the reader has.
    return Decimal(sum(map(_measure_letter, remove_marks(text)))) * SIZE / 100


def _measure_letter(letter: str) -> int:
    """Hundredths of the size, by the wider ones of the usual fonts without serifs."""
    # Better too wide: a label that is left out is hardly missed, two printed over each other cannot be read.
    if unicodedata.east_asian_width(letter) in "WF":
        return 105
    if letter in "ijl.,:;'|!’":
        return 36
    if letter in "mwMW%@—…":
        return 105
    if letter.isspace() or letter in "frt()-":
        return 46
    return 80 if letter.isupper() else 66 if letter.isascii() or letter.islower() else 80


def place_labels(
    wanted: Iterable[Sequence[Label]], *, width: int, height: int, placed: Iterable[Label] = ()
) -> Iterator[Label]:
    """Each label at the first of its places that is free and on the paper; one without such a place is left out.

    Who comes first is placed first. `placed` are there already.
    """
    # Nothing that is placed is moved again. A search for the best places of all might fit one more, at no use.
    taken = [label.box for label in placed]
    for places in wanted:
        free = (place for place in places if _fits(place.box, taken, width, height))
        if label := next(free, None):
            taken.append(label.box)
            yield label


def _fits(box: Box, taken: Iterable[Box], width: int, height: int) -> bool:
    on_paper = box.left >= 0 and box.top >= 0 and box.right <= width and box.bottom <= height
    # No gap is asked for above and below, where ascent and descent leave some.
    return on_paper and not any(
        box.left < other.right + GAP
        and other.left < box.right + GAP
        and box.top < other.bottom
        and other.top < box.bottom
        for other in taken
    )


def write_label(label: Label) -> str:
    """The label in SVG."""
    anchor = "" if label.anchor == "start" else f' text-anchor="{label.anchor}"'
    where = f'x="{show_place(label.x)}" y="{show_place(label.y)}"'
    # The stroke lies behind the letters, where a theme sets one: the ground, so that no line runs through them.
    return f'<text class="{label.kind}" paint-order="stroke" {where}{anchor}>{escape(label.text)}</text>'


def show_place(value: Decimal) -> str:
    """A coordinate to a tenth of a unit, without needless zeros."""
    return f"{value:.1f}".removesuffix(".0")


WIDTH, HEIGHT = 720, 320
"User units of the whole drawing."
TOP, BOTTOM = 38, 276
"Heights of the highest and the lowest line; above is room for the end label, below for the months."
LEFT, RIGHT = 4, 716
"""Where days and words begin and end: a letter may hang over its place by a little.

The amounts stand on their lines, inside the drawing, so that narrow screens lose no room to them."""
MOST_LINES = 5
"Level lines above zero."
MOST_MONTHS = 8
"Ticks below the drawing; more would say no more."

Point = tuple[datetime.date, Decimal]
"A day, and the total at its end."


@frozen
class Words:
    """The words of one chart, in the site's language."""

    title: str
    "its short name, read aloud first"
    description: str
    "what it shows, in a sentence with figures, for those who do not see it"
    amount: Callable[[Decimal], str]
    "writes a round amount beside a line: `£1,000`"
    month: Callable[[datetime.date], str]
    "writes a month below the drawing from its first day: `May`, and the year where it begins"
    end: str
    "the last total, written out: `£4,212.80`"


def running_total_chart(points: Sequence[Point], *, until: datetime.date, words: Words, key: str = "running") -> str:
    """The SVG of a total that moves in steps, drawn on to the day `until`; empty for fewer than two points.

    `points` are in order of their days; `key` starts the ids, one chart a page needs none of its own.
    """
    # A single step shows no more than the total beside it.
    if len(points) < 2:
        return ""
    levels = choose_levels([amount for _, amount in points])
    # From the first of the month, for the sake of its tick, on to the site's day: months without spending count too.
    first, last = points[0][0].replace(day=1), max(until, points[-1][0])
    paper = _Paper(first=first, last=last, low=levels[0], high=levels[-1])
    months = choose_months(first, last)
    parts = [
        f'<svg class="chart" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-labelledby="{key}-title {key}-words"'
        ' xmlns="http://www.w3.org/2000/svg">',
        f'<title id="{key}-title">{escape(words.title)}</title>',
        f'<desc id="{key}-words">{escape(words.description)}</desc>',
        *(_draw_level(paper, level) for level in levels),
        *(_draw_tick(paper, month) for month in months),
        *_draw_steps(paper, points),
        *map(write_label, _place_words(paper, points[-1][1], levels, months, words)),
        "</svg>",
    ]
    return "\n".join(parts)


def choose_step(span: Decimal, most: int = MOST_LINES) -> Decimal:
    """The smallest of 1, 2, 5, 10, 20, 50 … (and 0.5, 0.2, 0.1 …) of which at most `most` steps cover the span."""
    if span <= 0:
        return Decimal(1)
    # The power of ten at or below the step that is wanted, so that one of the four factors always fits.
    power = Decimal(1).scaleb((span / most).adjusted())
    return next(power * n for n in (1, 2, 5, 10) if power * n * most >= span)


def choose_levels(amounts: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """The level lines: round amounts from at or below the least (zero at most) to at or above the greatest."""
    # Zero is always drawn: the ground under the line is filled down to it, and has to be in proportion.
    low, high = min(Decimal(0), *amounts), max(Decimal(0), *amounts)
    step = choose_step(high - low)
    first = floor(low / step)
    last = ceil(high / step)
    # At least two lines: totals that are all zero span nothing, and heights are divided by the span.
    return tuple(step * n for n in range(first, max(last, first + 1) + 1))


def choose_months(first: datetime.date, last: datetime.date, most: int = MOST_MONTHS) -> tuple[datetime.date, ...]:
    """First days of months from `first` to `last`, every one, or every second, third, sixth, twelfth …"""
    start = first.year * 12 + first.month - 1
    count = last.year * 12 + last.month - start
    # Each divides or counts years, so that January, which names the year, always has its tick.
    step = next(n for n in (1, 2, 3, 6, *range(12, 12 * 10_000, 12)) if count <= n * most)
    numbers = range(-(-start // step) * step, start + count, step)
    return tuple(datetime.date(number // 12, number % 12 + 1, 1) for number in numbers)


@frozen
class _Paper:
    """Where days and amounts stand on the drawing."""

    first: datetime.date
    "the day at `LEFT`"
    last: datetime.date
    "the day at `RIGHT`"
    low: Decimal
    "the amount at `BOTTOM`"
    high: Decimal
    "the amount at `TOP`; above `low`"

    def across(self, day: datetime.date) -> Decimal:
        # Everything may have happened today, on the first of the month.
        days = max((self.last - self.first).days, 1)
        return LEFT + Decimal((day - self.first).days) * (RIGHT - LEFT) / days

    def up(self, amount: Decimal) -> Decimal:
        return BOTTOM - (amount - self.low) * (BOTTOM - TOP) / (self.high - self.low)


def _place_words(
    paper: _Paper, end: Decimal, levels: Sequence[Decimal], months: Sequence[datetime.date], words: Words
) -> Iterator[Label]:
    """The last total, the amounts of the level lines, and the months, as far as they have room."""
    above = paper.up(end) - 10
    # Above the end of the line, else below it; placed first, as it is what a reader looks for.
    total = [Label(kind="total", x=Decimal(RIGHT), y=above + lower, text=words.end, anchor="end") for lower in (0, 40)]
    amounts = [
        Label(kind="amount", x=Decimal(LEFT), y=paper.up(level) - 5, text=words.amount(level))
        for level in levels
        if level  # zero is drawn in another stroke, and needs no amount
    ]
    names = [Label(kind="month", x=paper.across(day), y=Decimal(HEIGHT - 12), text=words.month(day)) for day in months]
    return place_labels([total, *([label] for label in (*amounts, *names))], width=WIDTH, height=HEIGHT)


def _draw_level(paper: _Paper, level: Decimal) -> str:
    # Strokes do not scale with the drawing: they would fade on a phone and be bars on a wide screen.
    kind = "level zero" if level == 0 else "level"
    y = show_place(paper.up(level))
    return f'<line class="{kind}" vector-effect="non-scaling-stroke" x1="0" y1="{y}" x2="{WIDTH}" y2="{y}"/>'


def _draw_tick(paper: _Paper, month: datetime.date) -> str:
    x = show_place(paper.across(month))
    return f'<line class="tick" vector-effect="non-scaling-stroke" x1="{x}" y1="{BOTTOM}" x2="{x}" y2="{BOTTOM + 7}"/>'


def _draw_steps(paper: _Paper, points: Sequence[Point]) -> tuple[str, str, str]:
    """The ground under the line, the line, and its end."""
    base = show_place(paper.up(Decimal(0)))
    start, end = show_place(paper.across(points[0][0])), paper.across(paper.last)
    # Steps, not slopes: between two payments nothing was spent.
    steps = " ".join(f"H{show_place(paper.across(day))} V{show_place(paper.up(amount))}" for day, amount in points)
    top, last = show_place(paper.up(points[-1][1])), show_place(end)
    return (
        f'<path class="under" d="M{start} {base} {steps} H{last} V{base} Z"/>',
        f'<path class="line" vector-effect="non-scaling-stroke" d="M{start} {base} {steps} H{last}"/>',
        f'<circle class="end" cx="{show_place(end - 2)}" cy="{top}" r="4"/>',
    )
