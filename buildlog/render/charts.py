"""How is the life of a machine drawn? Its running cost with what happened named on it, and the hours beneath.

The same values always give the same bytes. Words and the writing of amounts come in; nothing is computed here but
places on the paper. The picture never stands alone: the page has the same figures in a table beside it.
"""

from __future__ import annotations

import datetime
from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from buildlog.frozen import frozen
from buildlog.render.axes import LEFT, RIGHT, Days, TickWords
from buildlog.render.drawing import (
    LINE,
    NARROW,
    WIDE,
    Anchor,
    Label,
    Track,
    Wanted,
    clear_first,
    cut_text,
    em,
    level,
    measure_text,
    name_levels,
    percent,
    place_labels,
    show_place,
    stretch,
    thin,
    wrap,
    write_words,
)
from buildlog.render.drawing import choose_levels as choose_lines

PLOT = Decimal(12)
"Em from the lowest level line to the highest."
BARS = Decimal("2.6")
"Em of the highest bar of hours."
MOST_LINES = 5
"Steps between level lines."
MOST_MONTHS = 12
"Ticks below the drawing; more would say no more."
MOST_ROWS = 5
"Lines of names above the drawing, one above the other."
MOST_BARS = 60
"Bars of hours; where there are more months than that, each is a year."
LONGEST = Decimal(15)
"Em of a name on the drawing, which is cut there and stands whole below."

Point = tuple[datetime.date, Decimal]
"A day, and the total at its end."
Named = tuple[datetime.date, str]
"A day, and what happened on it."


@frozen
class Words:
    """The words of one drawing, in the site's language."""

    title: str
    "its short name, read aloud first"
    description: str
    "what it shows, in a sentence with figures, for those who do not see it"
    amount: Callable[[Decimal], str]
    "writes a round amount beside a line: `£1,000`"
    ticks: TickWords
    "how days are written below it"
    hours: Callable[[Decimal], str]
    "writes a round number of hours: `20 h`"
    end: str
    "the last total, written out: `£4,212.80`"
    budget: tuple[str, ...] = ()
    "what the line of the budget is called, and what shorter where there is no room"


@frozen
class Life:
    """What is drawn."""

    points: tuple[Point, ...]
    "the total, in order of the days; it moves in steps"
    start: datetime.date
    "the day on which the drawing begins, at or before the first point"
    until: datetime.date
    "the day on which it ends, if that is after the last point"
    whole: bool = True
    "whether nothing was spent before the first point; False: what there was is not shown, and nothing is drawn there"
    milestones: tuple[Named, ...] = ()
    "oldest first"
    sales: tuple[Named, ...] = ()
    "what was sold, oldest first: the total dips there"
    hours: tuple[Point, ...] = ()
    "own hours of each month, by its first day"
    budget: Decimal | None = None
    "for all that the total is of; None: there is no such budget"


def draw_life(life: Life, words: Words, *, key: str = "life") -> str:
    """The SVG; empty for fewer than two points. `key` starts the ids."""
    # A single step shows no more than the total beside it.
    if len(life.points) < 2:
        return ""
    paper = _lay_out(life)
    shapes, texts = write_words(
        _list_words(paper, life, words, NARROW), _list_words(paper, life, words, WIDE), height=paper.height
    )
    parts = [
        *(level("level zero" if amount == 0 else "level", paper.up(amount)) for amount in paper.levels),
        *_draw_steps(paper, life),
        *([level("budget", paper.up(life.budget))] if life.budget is not None else []),
        *_draw_bars(paper, life),
        *shapes,
        *texts,
    ]
    named = {"title": words.title, "description": words.description, "key": key}
    return wrap("chart life", parts, height=paper.height, **named)


def choose_levels(amounts: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """The level lines: round amounts from at or below the least (zero at most) to at or above the greatest."""
    # Zero is always drawn: the ground under the line is filled down to it, and has to be in proportion.
    return choose_lines(min(Decimal(0), *amounts), max(Decimal(0), *amounts), MOST_LINES)


@frozen
class _Paper(Days):
    """Where everything stands."""

    levels: tuple[Decimal, ...]
    "the level lines, lowest first"
    top: Decimal
    "em of the highest of them"
    bars: tuple[Point, ...]
    "hours by the first day of a month or year"
    rows: int = 0
    "lines of names above"
    most_hours: Decimal
    "of the level line above the bars; 0: there are none"

    @property
    def bottom(self) -> Decimal:
        """Em of the lowest level line."""
        return self.top + PLOT

    @property
    def ground(self) -> Decimal:
        """Em on which the bars stand."""
        return self.bottom + LINE * 3 + BARS

    @property
    def height(self) -> Decimal:
        """Em of all of it."""
        return self.ground + Decimal("0.2") if self.bars else self.bottom + LINE + Decimal("0.4")

    def up(self, amount: Decimal) -> Decimal:
        """In em."""
        return self.bottom - (amount - self.levels[0]) * PLOT / (self.levels[-1] - self.levels[0])


def _lay_out(life: Life) -> _Paper:
    bars = life.hours
    if len(bars) > MOST_BARS:
        years: dict[datetime.date, Decimal] = {}
        for month, hours in bars:
            years[month.replace(month=1)] = years.get(month.replace(month=1), Decimal(0)) + hours
        bars = tuple(years.items())
    most = max((hours for _, hours in bars), default=Decimal(0))
    amounts = [amount for _, amount in life.points]
    paper = _Paper(
        first=min(life.start, life.points[0][0]),
        last=max(life.until, life.points[-1][0]),
        levels=choose_levels([*amounts, *([life.budget] if life.budget is not None else [])]),
        top=Decimal("1.4"),
        bars=bars if most else (),
        most_hours=choose_lines(Decimal(0), most, MOST_LINES)[-1] if most else Decimal(0),
    )
    return _make_room(paper, life)


def _make_room(paper: _Paper, life: Life) -> _Paper:
    """The paper with as many lines of names above it as the names need on a narrow column."""
    best, most = paper, -1
    for rows in range(1, MOST_ROWS + 1) if life.milestones else ():
        taller = replace(paper, rows=rows, top=Decimal("1.4") + LINE * rows)
        fitting = len(place_labels(_name_milestones(taller, life, NARROW), width=NARROW, height=taller.height))
        if fitting > most:
            best, most = taller, fitting
    return best


def _list_words(paper: _Paper, life: Life, words: Words, width: Decimal) -> Sequence[Wanted]:
    """All that is named, in the order in which it gets its room: what a reader looks for comes first."""
    ticks = thin(
        lambda most: paper.list_ticks(words.ticks, paper.bottom, most),
        width=width,
        height=paper.height,
        most=MOST_MONTHS,
    )
    return [
        _name_end(paper, life, words.end, width),
        *name_levels(paper.levels, paper.up, words.amount, [_track(paper, life)], width),
        *ticks,
        *_name_hours(paper, words),
        *_name_budget(paper, life, words, width),
        *_name_milestones(paper, life, width),
        *_name_sales(paper, life, width),
    ]


def _name_end(paper: _Paper, life: Life, text: str, width: Decimal) -> Wanted:
    y = paper.up(life.points[-1][1])
    sides = [y - Decimal("0.6"), *([y + Decimal("1.5")] if y + Decimal("1.8") < paper.bottom else [])]
    places = (Label(kind="total", x=RIGHT, y=side, text=text, anchor="end") for side in sides)
    return Wanted(key="end", places=clear_first(places, [_track(paper, life)], width))


def _track(paper: _Paper, life: Life) -> Track:
    """The corners of the line."""
    start = (paper.first, Decimal(0)) if life.whole else life.points[0]
    corners, height = [(paper.across(start[0]), paper.up(start[1]))], paper.up(start[1])
    for day, amount in life.points:
        x = paper.across(day)
        corners += [(x, height), (x, height := paper.up(amount))]
    return [*corners, (RIGHT, height)]


def _name_hours(paper: _Paper, words: Words) -> Iterator[Wanted]:
    if paper.bars:
        y = paper.ground - BARS - Decimal("0.35")
        label = Label(kind="amount", x=Decimal(0), y=y, text=words.hours(paper.most_hours))
        yield Wanted(key="hours", places=(label,))


def _height_at(paper: _Paper, life: Life, day: datetime.date) -> Decimal:
    """The height of the line as it is drawn on a day: what is not drawn is not told by a name's place either."""
    at = bisect_right([point[0] for point in life.points], day)
    return paper.up(life.points[at - 1][1] if at else Decimal(0))


SIDES: tuple[tuple[Anchor, Decimal], ...] = (("start", Decimal("-0.1")), ("end", Decimal("0.1")))
"On which side of its stem a name stands: to the right of it, else to the left."
MIDDLE: tuple[tuple[Anchor, Decimal], ...] = (("middle", Decimal(0)),)
"Over its stem, where there is nothing else beneath."


def _name_milestones(paper: _Paper, life: Life, width: Decimal) -> Sequence[Wanted]:
    found = []
    for n, (day, name) in enumerate(life.milestones):
        x, y = paper.across(day), _height_at(paper, life, day)
        text = cut_text(name, LONGEST)
        # Moved to the left as far as it would leave the paper.
        inwards = min(SIDES[0][1], width - x * width / 100 - measure_text(text) - Decimal("0.05"))
        sides = (*SIDES, (SIDES[0][0], inwards))
        # From the left and from above: the stem of a later one, further down, then crosses no earlier name.
        places = tuple(
            Label(kind="name", x=x, y=Decimal("1.0") + LINE * row, text=text, anchor=anchor, aside=aside)
            for row in range(paper.rows)
            for anchor, aside in sides
        )
        dot = f'<circle cx="{percent(x)}" cy="{em(y)}" r=".3em" class="event'
        found.append(Wanted(key=("milestone", n), places=places, shapes=(dot,), foot=y))
    # From the other end where more of them have room that way.
    return max((found, found[::-1]), key=lambda order: len(place_labels(order, width=width, height=paper.height)))


def _name_sales(paper: _Paper, life: Life, width: Decimal) -> Iterator[Wanted]:
    for n, (day, name) in enumerate(life.sales):
        x, y = paper.across(day), _height_at(paper, life, day)
        text = cut_text(name, LONGEST)
        downs = [*(Decimal("1.5") + LINE * row for row in range(8)), *(Decimal("-1") - LINE * row for row in range(4))]
        places = (
            Label(kind="sale", x=x, y=y + down, text=text, anchor=anchor, aside=aside)
            for down in downs
            if paper.top < y + down < paper.bottom - Decimal("0.3")
            for anchor, aside in (*SIDES, *MIDDLE)
        )
        ring = f'<circle cx="{percent(x)}" cy="{em(y)}" r=".3em" class="sold'
        yield Wanted(key=("sale", n), places=clear_first(places, [_track(paper, life)], width), shapes=(ring,), foot=y)


def _name_budget(paper: _Paper, life: Life, words: Words, width: Decimal) -> Iterator[Wanted]:
    if life.budget is not None:
        y = paper.up(life.budget)
        for n, text in enumerate(words.budget):
            places = (
                Label(kind="budget", x=x, y=y + side, text=text, anchor="middle")
                for side in (Decimal("-0.4"), Decimal("1.2"))
                for x in (Decimal(50), Decimal(70), Decimal(80), Decimal(25))
            )
            wanted = Wanted(key="budget", places=clear_first(places, [_track(paper, life)], width))
            if n == len(words.budget) - 1 or _has_room(paper, life, wanted, width, words):
                yield wanted
                return


def _has_room(paper: _Paper, life: Life, wanted: Wanted, width: Decimal, words: Words) -> bool:
    """Whether it has room beside the amounts and the end of the line, which come first."""
    before = [
        _name_end(paper, life, words.end, width),
        *name_levels(paper.levels, paper.up, words.amount, [_track(paper, life)], width),
    ]
    return wanted.key in place_labels([*before, wanted], width=width, height=paper.height)


def _draw_steps(paper: _Paper, life: Life) -> Iterator[str]:
    """The ground under the line, the line, and its end."""

    def across(day: datetime.date) -> str:
        return show_place(paper.across(day) * 10)

    def up(amount: Decimal) -> str:
        return show_place((paper.up(amount) - paper.top) * 1000 / PLOT)

    base, first = up(Decimal(0)), life.points[0]
    begin = f"M{across(paper.first)} {base}" if life.whole else f"M{across(first[0])} {up(first[1])}"
    # Steps, not slopes: between two payments nothing was spent.
    steps = " ".join(f"H{across(day)}V{up(amount)}" for day, amount in life.points)
    last = across(paper.last)
    under = (
        f'<path class="under" d="M{across(paper.first if life.whole else first[0])} {base} {steps} H{last}V{base}Z"/>'
    )
    line = f'<path class="line" d="{begin} {steps} H{last}"/>'
    yield stretch((under, line), top=paper.top, height=PLOT)
    end = em(paper.up(life.points[-1][1]))
    yield f'<circle class="end" cx="{percent(RIGHT)}" cy="{end}" r=".3em"/>'


def _draw_bars(paper: _Paper, life: Life) -> Iterator[str]:
    if not paper.bars:
        return
    yield level("level", paper.ground - BARS)
    yearly = len(life.hours) > MOST_BARS
    for first, hours in paper.bars:
        after = (first + datetime.timedelta(days=366 if yearly else 31)).replace(
            day=1, **({"month": 1} if yearly else {})
        )
        left, right = (min(max(paper.across(day), LEFT), RIGHT) for day in (first, after))
        tall = hours * BARS / paper.most_hours
        wide = max((right - left) * Decimal("0.8"), Decimal("0.2"))
        yield (
            f'<rect class="hours" x="{percent(left)}" y="{em(paper.ground - tall)}" width="{percent(wide)}"'
            f' height="{em(tall)}"/>'
        )
    yield level("level zero", paper.ground)
