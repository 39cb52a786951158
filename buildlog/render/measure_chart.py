"""How repeated measurements are drawn: a dot for each value at its day, a line for each place, the limits across.

One SVG, made of attributes and classes that the theme colours. The same values always give the same bytes. The
picture never stands alone: the page has the same figures in a table beside it.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from html import escape
from math import ceil, floor

from buildlog.frozen import frozen
from buildlog.render.charts import (
    BOTTOM,
    HEIGHT,
    LEFT,
    TOP,
    WIDTH,
    Label,
    choose_step,
    place_labels,
    show_place,
    write_label,
)

FIRST, LAST = 110, 560
"Where the first and the last day stand; left of them is room for the level labels, right for the names of places."
# One fewer than for a total, as the names of limits need room between them.
MOST_LEVELS = 4
"Steps between level lines."
NAME_GAP = 32
"Units between two names, one below the other."

Level = tuple[Decimal, str]
"A limit, and what it is called: `at least 24`."


@frozen
class Dot:
    """One value."""

    day: datetime.date
    "when it was measured"
    value: Decimal
    "in the unit of the whole chart"
    outside: bool
    "of its own limits; ringed"


@frozen
class Line:
    """The values of one place, oldest first."""

    where: str
    "its name, as shown beside the last dot; empty: the thing has one place only"
    dots: tuple[Dot, ...]
    "at least one"


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
    # One day shows no change, and the table has its values.
    if len(days) < 2:
        return ""
    # Part of the span even where every value is far off: how far is what a reader wants to see.
    limits = [limit for limit in (least, most) if limit]
    values = [dot.value for line in lines for dot in line.dots] + [value for value, _ in limits]
    levels = choose_span(min(values), max(values))
    paper = _Paper(first=days[0], last=days[-1], low=levels[0], high=levels[-1])
    # By identity, as the two may be equal.
    limited = [_list_limit_places(paper, limit, below=limit is least) for limit in limits]
    parts = [
        f'<svg class="chart measures" viewBox="0 0 {WIDTH} {HEIGHT}" role="img"'
        f' aria-labelledby="{key}-title {key}-words" xmlns="http://www.w3.org/2000/svg">',
        f'<title id="{key}-title">{escape(words.title)}</title>',
        f'<desc id="{key}-words">{escape(words.description)}</desc>',
        *(_rule("level", paper.up(level)) for level in levels),
        *(_rule("limit", paper.up(value)) for value, _ in limits),
        *(_draw_tick(paper, day) for day in days),
        *(part for line in lines for part in _draw_line(paper, line)),
        *map(write_label, _place_words(paper, lines, levels=levels, days=days, limited=limited, words=words)),
        "</svg>",
    ]
    return "\n".join(parts)


def choose_span(low: Decimal, high: Decimal) -> tuple[Decimal, ...]:
    """Round level lines from at or below the least to at or above the greatest; zero is not drawn for its own sake."""
    # Zero is not forced in: beside it, 22 bar instead of 24 would hardly show, and that is a worn engine.
    step = choose_step(high - low, MOST_LEVELS) if high > low else Decimal(1)
    first = floor(low / step)
    last = ceil(high / step)
    return tuple(step * n for n in range(first, max(last, first + 1) + 1))


@frozen
class _Paper:
    """Where days and values stand on the drawing."""

    first: datetime.date
    "the day at `FIRST`"
    last: datetime.date
    "the day at `LAST`; after `first`"
    low: Decimal
    "the value at `BOTTOM`"
    high: Decimal
    "the value at `TOP`; above `low`"

    def across(self, day: datetime.date) -> Decimal:
        return FIRST + Decimal((day - self.first).days) * (LAST - FIRST) / (self.last - self.first).days

    def up(self, value: Decimal) -> Decimal:
        return BOTTOM - (value - self.low) * (BOTTOM - TOP) / (self.high - self.low)


def _place_words(
    paper: _Paper,
    lines: Sequence[Line],
    *,
    levels: Sequence[Decimal],
    days: Sequence[datetime.date],
    limited: Sequence[Sequence[Label]],
    words: Words,
) -> list[Label]:
    """The first and the last day, the levels, the limits, the places, and the other days, as far as they have room."""
    dated = [
        [Label(kind="month", x=paper.across(day), y=Decimal(HEIGHT - 12), text=words.day(day), anchor="middle")]
        # The ends come first, as days between them may find no room.
        for day in (days[0], days[-1], *days[1:-1])
    ]
    valued = [
        [Label(kind="amount", x=Decimal(LEFT), y=paper.up(level) - 5, text=words.amount(level))] for level in levels
    ]
    placed = list(place_labels([*dated[:2], *valued, *limited], width=WIDTH, height=HEIGHT))
    # All places are named or none: a few names alone would be taken for all that there are.
    names = _name_lines(paper, lines)
    named = list(place_labels([[name] for name in names], width=WIDTH, height=HEIGHT, placed=placed))
    placed += named if len(named) == len(names) else []
    return [*placed, *place_labels(dated[2:], width=WIDTH, height=HEIGHT, placed=placed)]


def _list_limit_places(paper: _Paper, limit: Level, *, below: bool) -> list[Label]:
    """Where the words of a limit may stand: best on the side that is not allowed, where no good value can be."""
    value, name = limit
    y = paper.up(value)
    sides = (y + 25, y - 6) if below else (y - 6, y + 25)
    return [
        Label(kind="limit", x=Decimal(x), y=side, text=name, anchor="middle")
        for side in sides
        for x in ((FIRST + LAST) // 2, FIRST + (LAST - FIRST) * 3 // 4)
    ]


def _rule(kind: str, y: Decimal) -> str:
    at = show_place(y)
    return f'<line class="{kind}" vector-effect="non-scaling-stroke" x1="0" y1="{at}" x2="{WIDTH}" y2="{at}"/>'


def _draw_tick(paper: _Paper, day: datetime.date) -> str:
    x = show_place(paper.across(day))
    return f'<line class="tick" vector-effect="non-scaling-stroke" x1="{x}" y1="{BOTTOM}" x2="{x}" y2="{BOTTOM + 7}"/>'


def _draw_line(paper: _Paper, line: Line) -> Iterator[str]:
    places = [(show_place(paper.across(dot.day)), show_place(paper.up(dot.value)), dot) for dot in line.dots]
    # Slopes, unlike a total's steps: a part goes on wearing between two measurements.
    path = " L".join(f"{x} {y}" for x, y, _ in places)
    if len(places) > 1:
        yield f'<path class="between" vector-effect="non-scaling-stroke" d="M{path}"/>'
    for x, y, dot in places:
        yield f'<circle class="dot" cx="{x}" cy="{y}" r="4"/>'
        # A ring, not a colour, which would be lost in print and on the colour-blind.
        if dot.outside:
            yield f'<circle class="ring" vector-effect="non-scaling-stroke" cx="{x}" cy="{y}" r="8"/>'


def _name_lines(paper: _Paper, lines: Sequence[Line]) -> list[Label]:
    """The name of each place beside its last dot, pushed down where two would run into each other."""
    named = [line for line in lines if line.where]
    ends = sorted(((paper.up(line.dots[-1].value) + 5, line) for line in named), key=lambda end: end[0])
    above = Decimal(-NAME_GAP)
    labels = []
    for left, (wanted, line) in zip(range(len(ends) - 1, -1, -1), ends, strict=True):
        # No lower than leaves room for the names still to come, and below the one before.
        above = max(min(wanted, Decimal(BOTTOM - NAME_GAP * left)), above + NAME_GAP)
        labels.append(Label(kind="place", x=paper.across(line.dots[-1].day) + 14, y=above, text=line.where))
    return labels
