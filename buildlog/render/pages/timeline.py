"""The timeline: every entry in order, under headings for the months; where they are many, a page for each period."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby
from typing import ClassVar

from buildlog.compute.costs.sums import MonthFigures, join_months
from buildlog.frozen import frozen
from buildlog.read.records import Entry
from buildlog.render.addresses import entry_href
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.periods import list_neighbours
from buildlog.render.pieces import EntryCard, Link, Milestone, Prices, When
from buildlog.render.strips import Tally, TallyUnits, choose_unit, draw_tally


@frozen
class Sums:
    """What was done and spent in some time, in words and as strokes; of a closed amount neither."""

    hours: str = ""
    "own hours; empty: none stated"
    cost: str = ""
    "spent less recovered; empty when hidden"
    hour_strokes: Tally | None = None
    "the hours as strokes; None: none stated"
    cost_strokes: Tally | None = None
    "the cost as strokes; None: it is not shown, or nothing"


@frozen
class Month:
    """One month of the timeline."""

    when: When
    "`2024-05`, `May 2024`; its anchor is `m-2024-05`"
    entries: tuple[EntryCard, ...]
    "of that month, oldest first"
    sums: Sums
    "what was done and spent in the month"


@frozen
class Year:
    """The months of one year, to jump to."""

    name: str
    "`2024`"
    months: tuple[When, ...]
    "`2024-05`, `May`, oldest first; each one's heading is on the page"


@frozen
class SystemRow:
    """One system, as the timeline shows it."""

    key: str
    "short name, as in `EntryCard.system_keys`; its anchor is `system-KEY`"
    page: Link
    "its name, leading to its page"
    entries: str
    "`14 entries`"


@frozen
class PeriodSum:
    """One page of the timeline, as the overview shows it."""

    page: Link
    "`2024`, leading to it"
    entries: str
    "`122 entries`"
    sums: Sums
    "what was done and spent in it"
    months: tuple[Link, ...] = ()
    "each leading to its heading on that page; its anchor here is the same"


@frozen
class TimelinePeriodView:
    """What happened in this period, in order?"""

    TEMPLATE: ClassVar[str] = "timeline_period.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`Timeline, 2024`"
    before: Link | None = None
    "the period before; None: this is the first"
    after: Link | None = None
    "the one after; None: this is the last"
    months: tuple[Month, ...] = ()
    "oldest first, as are the entries in each"
    years: tuple[Year, ...] = ()
    "the same months by year, to jump to; empty: there is one at most"
    scale: str = ""
    "what a stroke beside a month stands for; empty: there are none"
    systems: tuple[Link, ...] = ()
    "systems with an entry here, each leading to its page; by the keys of `system_keys`"
    system_keys: tuple[str, ...] = ()
    "their short names, for the filter"


@frozen
class TimelineView:
    """What happened, in order?"""

    TEMPLATE: ClassVar[str] = "timeline.html"
    frame: Frame
    "what surrounds the page"
    prices: Prices
    "what of the money is public"
    scale: str = ""
    "what a stroke beside a month, or a period, stands for: `a stroke is 2 h, or £50`; empty: there are none"
    turns: bool = False
    "whether there is more than one thing to put in another order"
    span: str = ""
    "`41 entries from 3 February 2024 to 9 November 2024`"
    months: tuple[Month, ...] = ()
    "oldest first, as are the entries in each"
    years: tuple[Year, ...] = ()
    "the same months by year, to jump to; empty: there is one at most"
    systems: tuple[SystemRow, ...] = ()
    "systems with at least one entry, in the owner's order"
    milestones: tuple[Milestone, ...] = ()
    "oldest first"
    periods: tuple[PeriodSum, ...] = ()
    "the pages that have the entries, where they are too many for this one"


def make_timeline(context: PageContext) -> TimelineView:
    """The finished page."""
    span, split, say = say_span(context, context.figures.entries), bool(context.timeline_periods), context.words.say
    return TimelineView(
        frame=make_frame(
            context,
            "timeline.html",
            say("Timeline"),
            say("%(title)s: %(told)s.", title=context.title, told=span or say("no entry yet")),
        ),
        prices=context.prices,
        scale=_say_scale(context, _find_period_units(context) if split else context.tally_units),
        turns=len(context.entries) > 1,
        span=span,
        months=() if split else tuple(list_months(context, context.entries.values(), root="")),
        years=() if split else _list_years(context, context.entries.values()),
        systems=tuple(_list_systems(context)),
        milestones=list_milestones(context),
        periods=tuple(_list_periods(context)),
    )


def _list_periods(context: PageContext) -> Iterator[PeriodSum]:
    """The pages with what was done and spent in them, by the calendar as in the months."""
    periods, units, sums = context.timeline_periods, _find_period_units(context), _sum_periods(context)
    told = Counter(periods[entry.date.isoformat()[:7]] for entry in context.entries.values()) if periods else {}
    for period, entries in told.items():
        yield PeriodSum(
            page=Link(text=context.period(period), href=f"timeline/{period}.html"),
            entries=context.words.say_count(
                "%(number)s entry", "%(number)s entries", entries, number=context.words.number(entries)
            ),
            sums=_tell_sums(context, sums.get(period), units),
            months=tuple(
                Link(
                    text=context.words.short_month(datetime.date.fromisoformat(f"{month}-01")),
                    href=context.month_href(month),
                )
                for month in periods
                if periods[month] == period
            ),
        )


def _sum_periods(context: PageContext) -> dict[str, MonthFigures]:
    """What was done and spent on each page, by its period."""
    periods = context.timeline_periods
    months = (month for month in context.figures.costs.months if month.month in periods)
    return {total.month: total for total in join_months(months, lambda month: periods[month])}


def _find_period_units(context: PageContext) -> TallyUnits:
    """What a stroke beside a period stands for: more than beside a month."""
    sums = _sum_periods(context).values()
    shown = (total.net.amount for total in sums if context.moved_money(total.net, total.lines))
    return TallyUnits(hours=choose_unit(total.hours for total in sums), money=choose_unit(shown))


def say_span(context: PageContext, entries: Sequence[Entry]) -> str:
    """`41 entries from 3 February 2024 to 9 November 2024`, of entries in the order of their days."""
    if not entries:
        return ""
    first, last = context.words.day(entries[0].date), context.words.day(entries[-1].date)
    say_count, number = context.words.say_count, len(entries)
    if first == last:
        return say_count("%(number)s entry on %(day)s", "%(number)s entries on %(day)s", number, day=first)
    return say_count(
        "%(number)s entry from %(first)s to %(last)s",
        "%(number)s entries from %(first)s to %(last)s",
        number,
        first=first,
        last=last,
    )


def list_milestones(context: PageContext) -> tuple[Milestone, ...]:
    """What was reached, oldest first."""
    return tuple(
        Milestone(
            when=context.when(entry.date),
            text=context.owner_text(entry.milestone),
            href=entry_href(entry.name),
            reading=context.reading_in(entry.name),
        )
        for entry in context.entries.values()
        if entry.milestone
    )


def list_months(context: PageContext, shown: Iterable[Entry], *, root: str) -> Iterator[Month]:
    """The months of some entries, which are in order; `root` leads from the page to the top of the site."""
    # By the calendar: the cost of a month may be of an order told of in another.
    totals = {month.month: month for month in context.figures.costs.months}

    def month_of(entry: Entry) -> str:
        return entry.date.isoformat()[:7]

    # Entries are in order, or `groupby` would not do. A month without one is left out, even if money moved in it.
    for name, entries in groupby(shown, key=month_of):
        total = totals.get(name)
        yield Month(
            when=context.month(name),
            entries=tuple(context.card(entry, lambda photo: photo.small(root)) for entry in entries),
            sums=_tell_sums(context, total, context.tally_units),
        )


def _list_years(context: PageContext, shown: Iterable[Entry]) -> tuple[Year, ...]:
    """The months of some entries by year; nothing where there is nowhere to jump."""
    days = {entry.date.isoformat()[:7]: entry.date for entry in shown}
    years: dict[str, list[When]] = {}
    for name, day in days.items():
        years.setdefault(name[:4], []).append(When(iso=name, text=context.words.short_month(day)))
    return tuple(Year(name=year, months=tuple(months)) for year, months in years.items()) if len(days) > 1 else ()


def _tell_sums(context: PageContext, total: MonthFigures | None, units: TallyUnits) -> Sums:
    """Hours and cost of a month or more. Strokes are of what is shown in words, and of nothing else."""
    if total is None:
        return Sums()
    cost = context.moved_money(total.net, total.lines) if total.net else ""
    return Sums(
        hours=context.words.hours(total.hours) if total.hours else "",
        cost=cost,
        hour_strokes=draw_tally(total.hours, units.hours),
        cost_strokes=draw_tally(total.net.amount, units.money) if cost else None,
    )


def _say_scale(context: PageContext, units: TallyUnits) -> str:
    """`a stroke is 2 h, or £50`"""
    hours = context.words.hours(units.hours) if units.hours else ""
    money = context.words.round_money(units.money, context.figures.costs.currency) if units.money else ""
    if hours and money:
        # TRANSLATORS: what a stroke stands for, of work or of money
        return context.words.say("each stroke in the margin is %(hours)s, or %(money)s", hours=hours, money=money)
    amount = hours or money
    return context.words.say("each stroke in the margin is %(amount)s", amount=amount) if amount else ""


def _list_systems(context: PageContext) -> Iterator[SystemRow]:
    # A system without entries would be a choice that shows nothing.
    named = Counter(key for entry in context.entries.values() for key in entry.systems)
    for key in filter(named.get, context.figures.log.settings.systems):
        entries = context.words.say_count("%(number)s entry", "%(number)s entries", named[key])
        yield SystemRow(key=key, page=context.system_link(key), entries=entries)


def list_timeline_pages(context: PageContext) -> dict[str, Callable[[], TimelinePeriodView]]:
    """The pages by their paths, in order; none where the timeline has every entry."""
    pages: dict[str, Callable[[], TimelinePeriodView]] = {}

    def make_period(period: str) -> Callable[[], TimelinePeriodView]:
        return lambda: _make_period(context, period)

    for period in dict.fromkeys(context.timeline_periods.values()):
        pages[f"timeline/{period}.html"] = make_period(period)
    return pages


def _list_entries(context: PageContext, period: str) -> tuple[Entry, ...]:
    periods = context.timeline_periods
    return tuple(entry for entry in context.entries.values() if periods[entry.date.isoformat()[:7]] == period)


def _make_period(context: PageContext, period: str) -> TimelinePeriodView:
    entries = _list_entries(context, period)
    named = {key for entry in entries for key in entry.systems}
    keys = tuple(key for key in context.figures.log.settings.systems if key in named)
    say, name = context.words.say, context.period(period)
    title = say("%(title)s, %(period)s", title=say("Timeline"), period=name)
    before, after = list_neighbours(context.timeline_periods.values())[period]
    return TimelinePeriodView(
        frame=make_frame(
            context, f"timeline/{period}.html", title, say("%(title)s: %(told)s.", title=context.title, told=name)
        ),
        title=title,
        before=Link(text=context.period(before), href=f"timeline/{before}.html") if before else None,
        after=Link(text=context.period(after), href=f"timeline/{after}.html") if after else None,
        months=tuple(list_months(context, entries, root="../")),
        years=_list_years(context, entries),
        scale=_say_scale(context, context.tally_units),
        systems=context.system_links(keys),
        system_keys=keys,
    )
