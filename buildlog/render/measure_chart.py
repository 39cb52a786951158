"""How repeated measurements are drawn: a dot for each value at its day, a line for each place, the band of the limits.

All are of one size, so that they can be looked over. The same values always give the same bytes. The picture never
stands alone: the page has the same figures in a table beside it.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal

from buildlog.frozen import frozen
from buildlog.render.axes import Days
from buildlog.render.drawing import (
    LINE,
    NARROW,
    Label,
    Wanted,
    choose_levels,
    em,
    level,
    name_levels,
    percent,
    place_labels,
    show_place,
    stretch,
    wrap,
    write_words,
)

FIRST, LAST = Decimal(22), Decimal(76)
"Percent at which the first and the last day stand; left of them is room for the levels, right for names of places."
TOP, PLOT = Decimal("1.6"), Decimal(7)
"Em of the highest level, and from there to the lowest."
BOTTOM = TOP + PLOT
"Em of the lowest level."
HEIGHT = BOTTOM + LINE + Decimal("0.4")
"Em of all of it."
MOST_LEVELS = 3
"Steps between level lines: names of limits need room between them."

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
    """The SVG of values at their days; empty where they were taken on fewer than three. `key` starts the ids."""
    days = sorted({dot.day for line in lines for dot in line.dots})
    # Two values are told in a sentence, and one day shows no change.
    if len(days) < 3:
        return ""
    # Part of the span even where every value is far off: how far is what a reader wants to see.
    limits = [limit for limit in (least, most) if limit]
    values = [dot.value for line in lines for dot in line.dots] + [value for value, _ in limits]
    paper = _Paper(first=days[0], last=days[-1], levels=choose_span(min(values), max(values)))
    wanted = [
        *_name_days(paper, days, words),
        *name_levels(paper.levels, paper.up, words.amount, (), NARROW),
        *(_name_limit(paper, limit, below=limit is least) for limit in limits),
    ]
    wanted = _name_places(paper, lines, wanted)
    shapes, texts = write_words(wanted, wanted, height=HEIGHT, widest=NARROW)
    parts = [
        *_draw_band(paper, least, most),
        *(level("level", paper.up(amount)) for amount in paper.levels),
        *(level("limit", paper.up(value)) for value, _ in limits),
        *(part for line in lines for part in _draw_line(paper, line)),
        *shapes,
        *texts,
    ]
    return wrap("chart measures", parts, height=HEIGHT, title=words.title, description=words.description, key=key)


def choose_span(low: Decimal, high: Decimal) -> tuple[Decimal, ...]:
    """Round level lines from at or below the least to at or above the greatest; zero is not drawn for its own sake."""
    # Zero is not forced in: beside it, 22 bar instead of 24 would hardly show, and that is a worn engine.
    return choose_levels(low, high, MOST_LEVELS)


@frozen
class _Paper(Days):
    """Where days and values stand on the drawing."""

    left: Decimal = FIRST
    "percent of the first day"
    right: Decimal = LAST
    "percent of the last day"
    levels: tuple[Decimal, ...]
    "the level lines, lowest first"

    def up(self, value: Decimal) -> Decimal:
        """In em."""
        return BOTTOM - (value - self.levels[0]) * PLOT / (self.levels[-1] - self.levels[0])


def _name_days(paper: _Paper, days: Sequence[datetime.date], words: Words) -> Iterator[Wanted]:
    # The ends come first, as days between them may find no room.
    for day in (days[0], days[-1], *days[1:-1]):
        x = paper.across(day)
        label = Label(kind="month", x=x, y=BOTTOM + LINE, text=words.day(day), anchor="middle")
        at = percent(x)
        tick = f'<line x1="{at}" y1="{em(BOTTOM)}" x2="{at}" y2="{em(BOTTOM + Decimal("0.4"))}" class="tick'
        yield Wanted(key=day, places=(label,), shapes=(tick,))


def _name_limit(paper: _Paper, limit: Level, *, below: bool) -> Wanted:
    """Where the words of a limit may stand: best on the side that is not allowed, where no good value can be."""
    value, name = limit
    y = paper.up(value)
    sides = (y + Decimal("1.15"), y - Decimal("0.4"))
    places = tuple(
        Label(kind="limit", x=Decimal(x), y=side, text=name, anchor="middle")
        for side in (sides if below else sides[::-1])
        if Decimal("0.9") < side < HEIGHT
        for x in (49, 60, 40)
    )
    return Wanted(key=("limit", below, value), places=places)


def _name_places(paper: _Paper, lines: Sequence[Line], wanted: list[Wanted]) -> list[Wanted]:
    """All places are named or none: a few names alone would be taken for all that there are."""
    names = list(_name_lines(paper, lines))
    fitting = place_labels([*wanted, *names], width=NARROW, height=HEIGHT)
    # Before the days between the ends and the words of limits, which can be done without.
    return [*wanted, *names] if all(name.key in fitting for name in names) else wanted


def _name_lines(paper: _Paper, lines: Sequence[Line]) -> Iterator[Wanted]:
    """The name of each place beside its last dot, pushed down where two would run into each other."""
    named = [line for line in lines if line.where]
    ends = sorted(((paper.up(line.dots[-1].value) + Decimal("0.35"), line) for line in named), key=lambda end: end[0])
    above = -LINE
    for n, (wanted, line) in enumerate(ends):
        # No lower than leaves room for the names still to come, and below the one before.
        above = max(min(wanted, BOTTOM - LINE * (len(ends) - 1 - n)), above + LINE)
        x = paper.across(line.dots[-1].day)
        label = Label(kind="place", x=x, y=above, text=line.where, aside=Decimal("0.7"))
        yield Wanted(key=("place", n), places=(label,))


def _draw_band(paper: _Paper, least: Level | None, most: Level | None) -> Iterator[str]:
    """The ground of what is allowed; to the end of the drawing where only one limit is stated."""
    if least is None and most is None:
        return
    top = paper.up(most[0]) if most else TOP
    bottom = paper.up(least[0]) if least else BOTTOM
    # Limits that exclude each other allow nothing.
    if bottom > top:
        yield f'<rect class="band" x="0" y="{em(top)}" width="100%" height="{em(bottom - top)}"/>'


def _draw_line(paper: _Paper, line: Line) -> Iterator[str]:
    places = [(paper.across(dot.day), paper.up(dot.value), dot) for dot in line.dots]
    # Slopes, unlike a total's steps: a part goes on wearing between two measurements.
    path = "L".join(f"{show_place(x * 10)} {show_place((y - TOP) * 1000 / PLOT)}" for x, y, _ in places)
    if len(places) > 1:
        yield stretch([f'<path class="between" d="M{path}"/>'], top=TOP, height=PLOT)
    for x, y, dot in places:
        yield f'<circle class="dot" cx="{percent(x)}" cy="{em(y)}" r=".26em"/>'
        # A ring, not a colour, which would be lost in print and on the colour-blind.
        if dot.outside:
            yield f'<circle class="ring" cx="{percent(x)}" cy="{em(y)}" r=".55em"/>'
