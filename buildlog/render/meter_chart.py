"""How the readings of a meter are drawn: what it shows, broken where it was changed, and the true total above that.

One SVG, made of attributes and classes that the theme colours; the page has the same readings in a table beside it.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal

from buildlog.frozen import frozen
from buildlog.render.axes import Days, TickWords
from buildlog.render.drawing import (
    LINE,
    NARROW,
    WIDE,
    Label,
    Track,
    Wanted,
    choose_levels,
    clear_first,
    em,
    level,
    name_levels,
    percent,
    rule,
    show_place,
    stretch,
    thin,
    wrap,
    write_words,
)

TOP, PLOT = Decimal("2.8"), Decimal(9)
"Em of the highest level, and from there to the lowest."
BOTTOM = TOP + PLOT
"Em of the lowest level."
HEIGHT = BOTTOM + LINE + Decimal("0.4")
"Em of all of it."


@frozen
class Reading:
    """One reading."""

    first: datetime.date
    "the first day that it can be of"
    last: datetime.date
    "the last day that it can be of; as `first` where the day is known"
    shown: Decimal
    "what the meter showed, in the unit of the totals"
    total: Decimal
    "the true total"
    new: bool = False
    "whether it is the first of a meter that was changed or set: the line of what it shows is broken before it"

    @property
    def day(self) -> datetime.date:
        """Where it stands: in the middle of what it can be of."""
        return self.first + (self.last - self.first) // 2


@frozen
class Words:
    """The words of the drawing, in the site's language."""

    title: str
    "its short name, read aloud first"
    description: str
    "what it shows, in a sentence with figures"
    amount: Callable[[Decimal], str]
    "writes a round reading beside a line: `80,000 mi`"
    ticks: TickWords
    "how days are written below it"
    shown: str
    "what the line of what the meter shows is called, with the last reading"
    total: str
    "what the other is called, with the last total"
    change: str
    "what a break is called"


def draw_meter(readings: Sequence[Reading], words: Words, *, key: str = "readings") -> str:
    """The SVG; empty for fewer than three readings, which the table shows as well."""
    if len(readings) < 3 or readings[0].day == readings[-1].day:
        return ""
    apart = any(one.shown != one.total for one in readings)
    values = [value for one in readings for value in (one.shown, one.total)]
    # A meter that never moved is told in a word.
    if min(values) == max(values):
        return ""
    paper = _Paper(first=readings[0].day, last=readings[-1].day, levels=choose_levels(min(values), max(values), 4))
    wanted = [
        [
            *thin(lambda most: paper.list_ticks(words.ticks, BOTTOM, most), width=width, height=HEIGHT, most=10),
            *name_levels(paper.levels, paper.up, words.amount, _track(paper, readings), width),
            *_name_lines(paper, readings, words, width, apart=apart),
            *_name_changes(paper, readings, words),
        ]
        for width in (NARROW, WIDE)
    ]
    shapes, texts = write_words(*wanted, height=HEIGHT)
    parts = [
        *(level("level", paper.up(amount)) for amount in paper.levels),
        *(rule("break", x=paper.across(one.day), top=TOP, bottom=BOTTOM) for one in readings if one.new),
        *_draw_lines(paper, readings, apart=apart),
        *shapes,
        *texts,
    ]
    return wrap("chart meter", parts, height=HEIGHT, title=words.title, description=words.description, key=key)


@frozen
class _Paper(Days):
    """Where days and readings stand."""

    levels: tuple[Decimal, ...]
    "the level lines, lowest first"

    def up(self, value: Decimal) -> Decimal:
        """In em."""
        return BOTTOM - (value - self.levels[0]) * PLOT / (self.levels[-1] - self.levels[0])


def _track(paper: _Paper, readings: Sequence[Reading]) -> list[Track]:
    """The corners of both lines, that of what the meter shows in its pieces."""
    pieces: list[list[tuple[Decimal, Decimal]]] = []
    for n, one in enumerate(readings):
        if one.new or not n:
            pieces.append([])
        pieces[-1].append((paper.across(one.day), paper.up(one.shown)))
    return [*pieces, [(paper.across(one.day), paper.up(one.total)) for one in readings]]


def _name_lines(
    paper: _Paper, readings: Sequence[Reading], words: Words, width: Decimal, *, apart: bool
) -> Iterator[Wanted]:
    """Each line beside its end; one alone is what the meter shows."""
    last, tracks = readings[-1], _track(paper, readings)
    lines = [("shown", last.shown, words.shown)]
    if apart:
        lines.append(("total", last.total, words.total))
    for kind, value, text in sorted(lines, key=lambda line: line[1], reverse=True):
        y = paper.up(value)
        places = tuple(
            Label(kind="place" if kind == "shown" else "total", x=x, y=y + side, text=text, anchor="end")
            for x in (paper.right, Decimal(80), Decimal(70))
            for side in (Decimal("-0.7"), Decimal("1.5"), Decimal("-2"), Decimal("2.8"))
            if Decimal(1) < y + side < BOTTOM
        )
        yield Wanted(key=kind, places=clear_first(places, tracks, width))


def _name_changes(paper: _Paper, readings: Sequence[Reading], words: Words) -> Iterator[Wanted]:
    for one in readings:
        if one.new:
            x = paper.across(one.day)
            places = (
                Label(kind="name", x=x, y=Decimal(1), text=words.change, anchor="end", aside=Decimal("0.2")),
                Label(kind="name", x=x, y=Decimal(1), text=words.change),
            )
            yield Wanted(key=("change", one.day), places=places, foot=TOP)


def _draw_lines(paper: _Paper, readings: Sequence[Reading], *, apart: bool) -> Iterator[str]:
    """What the meter shows, with a gap at each change; the true total as a line of another kind, and a dot for each."""

    def write(one: Reading, value: Decimal) -> str:
        return f"{show_place(paper.across(one.day) * 10)} {show_place((paper.up(value) - TOP) * 1000 / PLOT)}"

    shown = "".join(f"{'M' if one.new or not n else 'L'}{write(one, one.shown)}" for n, one in enumerate(readings))
    paths = [f'<path class="line" d="{shown}"/>']
    if apart:
        total = "L".join(write(one, one.total) for one in readings)
        paths.insert(0, f'<path class="true" d="M{total}"/>')
    # What is known to the month or year alone is a line as long as that.
    paths += [
        f'<path class="vague" d="M{show_place(paper.across(max(one.first, paper.first)) * 10)} '
        f"{show_place((paper.up(one.shown) - TOP) * 1000 / PLOT)}"
        f'H{show_place(paper.across(min(one.last, paper.last)) * 10)}"/>'
        for one in readings
        if one.first != one.last
    ]
    yield stretch(paths, top=TOP, height=PLOT)
    for one in readings:
        yield f'<circle class="dot" cx="{percent(paper.across(one.day))}" cy="{em(paper.up(one.shown))}" r=".2em"/>'
