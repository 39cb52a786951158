"""How repeated measurements are drawn: a dot for each value at its day, a line for each place, the limits across.

One SVG, made of attributes and classes that the theme colours. The same values always give the same bytes. The
picture never stands alone: the page has the same figures in a table beside it.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from html import escape

from buildlog.frozen import frozen
from buildlog.site.charts import BOTTOM, HEIGHT, TOP, WIDTH, choose_step, show_place

FIRST, LAST = 110, 560
"Where the first and the last day stand; left of them is room for the level labels, right for the names of places."
MOST_LEVELS = 4
"Steps between level lines."
MOST_NAMES = 6
"Places that are named beside their last dots; more would run into each other, and the table names them all."
LONGEST_NAME = 12
"Characters of a place's name that have room there."
NAME_GAP = 22
"Units between two names, one below the other."
DAY_GAP = 160
"Units that the words of a day take on a phone."

Level = tuple[Decimal, str]
"A limit, and what it is called: `at least 24`."


@frozen
class Dot:
    """One value."""

    day: datetime.date
    value: Decimal
    outside: bool
    "of its own limits; ringed"


@frozen
class Line:
    """The values of one place, oldest first."""

    where: str
    dots: tuple[Dot, ...]


@frozen
class Words:
    """The words of one chart, in the site's language."""

    title: str
    "its short name, read aloud first"
    description: str
    "what it shows, in a sentence with figures, for those who do not see it"
    amount: Callable[[Decimal], str]
    "writes a round value beside a line: `24 bar`"
    day: Callable[[datetime.date], str]
    "writes a day below the drawing: `16 Dec 2023`"


def measure_chart(lines: Sequence[Line], *, least: Level | None, most: Level | None, words: Words, key: str) -> str:
    """The SVG of values at their days; empty where they were taken on fewer than two. `key` starts the ids."""
    days = sorted({dot.day for line in lines for dot in line.dots})
    if len(days) < 2:
        return ""
    limits = [limit for limit in (least, most) if limit]
    values = [dot.value for line in lines for dot in line.dots] + [value for value, _ in limits]
    levels = choose_span(min(values), max(values))
    paper = _Paper(first=days[0], last=days[-1], low=levels[0], high=levels[-1])
    parts = [
        f'<svg class="chart measures" viewBox="0 0 {WIDTH} {HEIGHT}" role="img"'
        f' aria-labelledby="{key}-title {key}-words" xmlns="http://www.w3.org/2000/svg">',
        f'<title id="{key}-title">{escape(words.title)}</title>',
        f'<desc id="{key}-words">{escape(words.description)}</desc>',
        *(_draw_level(paper, level, words) for level in levels),
        *(_draw_day(paper, day, words) for day in choose_days(days, paper.across)),
        *(_draw_limit(paper, limit, below=limit is least) for limit in limits),
        *(part for line in lines for part in _draw_line(paper, line)),
        *_draw_names(paper, lines),
        "</svg>",
    ]
    return "\n".join(parts)


def choose_span(low: Decimal, high: Decimal) -> tuple[Decimal, ...]:
    """Round level lines from at or below the least to at or above the greatest; zero is not drawn for its own sake."""
    step = choose_step(high - low, MOST_LEVELS) if high > low else Decimal(1)
    first = int((low / step).to_integral_value(ROUND_FLOOR))
    last = int((high / step).to_integral_value(ROUND_CEILING))
    return tuple(step * n for n in range(first, max(last, first + 1) + 1))


def choose_days(days: Sequence[datetime.date], across: Callable[[datetime.date], Decimal]) -> tuple[datetime.date, ...]:
    """The first and the last day, and those between that have room for their words."""
    kept = [days[0]]
    for day in days[1:-1]:
        if across(day) - across(kept[-1]) >= DAY_GAP and across(days[-1]) - across(day) >= DAY_GAP:
            kept.append(day)
    return (*kept, days[-1])


@frozen
class _Paper:
    """Where days and values stand on the drawing."""

    first: datetime.date
    last: datetime.date
    low: Decimal
    high: Decimal

    def across(self, day: datetime.date) -> Decimal:
        return FIRST + Decimal((day - self.first).days) * (LAST - FIRST) / (self.last - self.first).days

    def up(self, value: Decimal) -> Decimal:
        return BOTTOM - (value - self.low) * (BOTTOM - TOP) / (self.high - self.low)


def _draw_level(paper: _Paper, level: Decimal, words: Words) -> str:
    y = paper.up(level)
    line = _rule("level", y)
    return f'{line}<text class="amount" x="0" y="{show_place(y - 5)}">{escape(words.amount(level))}</text>'


def _rule(kind: str, y: Decimal) -> str:
    at = show_place(y)
    return f'<line class="{kind}" vector-effect="non-scaling-stroke" x1="0" y1="{at}" x2="{WIDTH}" y2="{at}"/>'


def _draw_day(paper: _Paper, day: datetime.date, words: Words) -> str:
    x = show_place(paper.across(day))
    tick = f'<line class="tick" vector-effect="non-scaling-stroke" x1="{x}" y1="{BOTTOM}" x2="{x}" y2="{BOTTOM + 7}"/>'
    return f'{tick}<text class="month" x="{x}" y="{HEIGHT - 12}" text-anchor="middle">{escape(words.day(day))}</text>'


def _draw_limit(paper: _Paper, limit: Level, *, below: bool) -> str:
    """The line of a limit; its words stand on the side that is not allowed, where no good value can be."""
    value, name = limit
    y = paper.up(value)
    x, words = (FIRST + LAST) // 2, show_place(y + (18 if below else -6))
    return f'{_rule("limit", y)}<text class="limit" x="{x}" y="{words}" text-anchor="middle">{escape(name)}</text>'


def _draw_line(paper: _Paper, line: Line) -> Iterator[str]:
    places = [(show_place(paper.across(dot.day)), show_place(paper.up(dot.value)), dot) for dot in line.dots]
    path = " L".join(f"{x} {y}" for x, y, _ in places)
    if len(places) > 1:
        yield f'<path class="between" vector-effect="non-scaling-stroke" d="M{path}"/>'
    for x, y, dot in places:
        yield f'<circle class="dot" cx="{x}" cy="{y}" r="4"/>'
        if dot.outside:
            yield f'<circle class="ring" vector-effect="non-scaling-stroke" cx="{x}" cy="{y}" r="8"/>'


def _draw_names(paper: _Paper, lines: Sequence[Line]) -> Iterator[str]:
    """The name of each place beside its last dot, pushed down where two would run into each other."""
    named = [line for line in lines if line.where]
    if len(named) > MOST_NAMES or any(len(line.where) > LONGEST_NAME for line in named):
        return
    ends = sorted(((paper.up(line.dots[-1].value) + 5, line) for line in named), key=lambda end: end[0])
    above = Decimal(-NAME_GAP)
    for left, (wanted, line) in zip(range(len(ends) - 1, -1, -1), ends, strict=True):
        # No lower than leaves room for the names still to come, and below the one before.
        y = min(wanted, Decimal(BOTTOM - NAME_GAP * left))
        above = y if y > above + NAME_GAP else above + NAME_GAP
        x = show_place(paper.across(line.dots[-1].day) + 14)
        yield f'<text class="place" x="{x}" y="{show_place(above)}">{escape(line.where)}</text>'
