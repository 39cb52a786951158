"""What pages say of a service item: every time that it was done, before this log too; if many, on their own pages."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from functools import partial
from typing import ClassVar

from buildlog.compute.evidence.claims import find_inherited_level
from buildlog.compute.measures.measures import MeasuredSet
from buildlog.compute.service.items import ServiceItemFigures, ServiceRow
from buildlog.frozen import frozen
from buildlog.read.records import Inherited
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import (
    list_legend,
    show_level,
)
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.measured import (
    SeriesView,
    describe_series,
    list_series_pages,
    split_sets,
)
from buildlog.render.pages.open_work import STATES, say_due_state
from buildlog.render.pages.periods import LATEST_TIMES, WHOLE_SERIES, list_neighbours, split_times
from buildlog.render.pieces import Evidence, Link, State, When
from buildlog.text import to_say


@frozen
class TimesView:
    """Each time in this period, how was it done, or what did it measure?"""

    TEMPLATE: ClassVar[str] = "service_times.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`Engine oil, 2024`"
    back: str = "service.html"
    "its place in the service history"
    before: Link | None = None
    "the period before; None: this is the first"
    after: Link | None = None
    "the one after; None: this is the last"
    done: tuple[DoneRow, ...] = ()
    "of a service item, oldest first"
    legend: tuple[Evidence, ...] = ()
    "what the letters of the evidence mean"
    series: SeriesView | None = None
    "of something measured, oldest first, without a drawing"


def list_times_pages(context: PageContext) -> dict[str, Callable[[], TimesView]]:
    """The pages by their paths; none where the service history has every time."""
    pages: dict[str, Callable[[], TimesView]] = {}
    for item in context.figures.service.items:
        links, rows = list_item_pages(context, item), _split_rows(item)
        pages |= {link.href: partial(_make_item, context, item, rows[at], at, links) for at, link in links.items()}
    for key, series in context.repeated_measures.items():
        links, sets = list_series_pages(context, key), split_sets(series)
        pages |= {link.href: partial(_make_series, context, key, sets[at], at, links) for at, link in links.items()}
    return pages


def _make_item(
    context: PageContext, item: ServiceItemFigures, rows: Iterable[ServiceRow], period: str, pages: Mapping[str, Link]
) -> TimesView:
    done = tuple(_describe_row(context, item, row) for row in rows)
    before, after = list_neighbours(pages)[period]
    say = context.words.say
    title = say("%(what)s, %(period)s", what=context.owner_text(item.name), period=context.period(period))
    description = say("%(title)s: each time that it was done.", title=title)
    return TimesView(
        frame=make_frame(context, pages[period].href, title, description),
        title=title,
        back=f"service.html#item-{item.key}",
        before=pages[before] if before else None,
        after=pages[after] if after else None,
        done=done,
        legend=list_legend(context, (row.evidence for row in done)),
    )


def _make_series(
    context: PageContext, key: str, sets: Iterable[MeasuredSet], period: str, pages: Mapping[str, Link]
) -> TimesView:
    before, after = list_neighbours(pages)[period]
    cut = replace(context.repeated_measures[key], sets=tuple(sets))
    series = describe_series(context, cut, key, draw=False)
    say = context.words.say
    title = say("%(what)s, %(period)s", what=series.what, period=context.period(period))
    description = say("%(title)s: each time that it was measured.", title=title)
    return TimesView(
        frame=make_frame(context, pages[period].href, title, description),
        title=title,
        back=f"service.html#measured-{key}",
        before=pages[before] if before else None,
        after=pages[after] if after else None,
        series=series,
    )


@frozen
class InheritedRow:
    """Something an earlier owner or a paper says."""

    when: When
    "no more exact than it is known"
    what: str
    "in the owner's words"
    reading: str = ""
    "of the meter then; empty: not noted"
    who: str = ""
    "empty: not known, or `what` names them"
    evidence: Evidence
    "on paper, or an earlier owner's word"


def describe_item(context: PageContext, item: ServiceItemFigures) -> ItemView:
    covers = context.figures.log.settings.service[item.key].covers
    return ItemView(
        key=item.key,
        name=context.owner_text(item.name),
        interval=_say_interval(context, item),
        state=STATES[item.state],
        state_text=say_due_state(context, item),
        covers=tuple(context.component_name(key) for key in covers),
        rows=tuple(_describe_row(context, item, row) for row in _pick(item.rows)),
        pages=tuple(list_item_pages(context, item).values()),
    )


def _pick(rows: tuple[ServiceRow, ...]) -> tuple[ServiceRow, ...]:
    """All of them; where they are many, the latest and every gap."""
    kept = len(rows) - LATEST_TIMES if len(rows) > WHOLE_SERIES else 0
    return tuple(row for at, row in enumerate(rows) if at >= kept or row.kind == "gap")


def list_item_pages(context: PageContext, item: ServiceItemFigures) -> dict[str, Link]:
    """The pages that have every time that an item was done, by period; none where the service history has them all."""
    return {
        period: Link(text=context.period(period), href=f"service/item-{item.key}-{period}.html")
        for period in _split_rows(item)
    }


def _split_rows(item: ServiceItemFigures) -> dict[str, list[ServiceRow]]:
    """Every time that an item was done, and every gap, by the period whose page has it; empty where none has."""
    return split_times(item.rows, _day_of)


def _day_of(row: ServiceRow) -> datetime.date:
    """When it was done; of a gap when that ended, or where it is still open began."""
    day = row.until or row.since
    assert day is not None, "a time has its day, and a gap has two ends, one at least known"
    return day


def _say_interval(context: PageContext, item: ServiceItemFigures) -> str:
    """`every 24 months or 12,000 mi, whichever comes first`"""
    say, say_count, distance = context.words.say, context.words.say_count, context.distance(item.distance)
    # Listed all the same: its history is of use without a plan.
    if not item.months:
        return say("every %(distance)s", distance=distance) if item.distance else say("no interval set")
    if not item.distance:
        return say_count("every %(number)s month", "every %(number)s months", item.months)
    return say_count(
        "every %(number)s month or %(distance)s, whichever comes first",
        "every %(number)s months or %(distance)s, whichever comes first",
        item.months,
        distance=distance,
    )


def _describe_row(context: PageContext, item: ServiceItemFigures, row: ServiceRow) -> DoneRow:
    if row.kind == "gap" or row.time is None:
        return DoneRow(when=None, gap=_say_gap(context, item, row))
    time, say = row.time, context.words.say
    return DoneRow(
        when=context.partial_text(time.when),
        reading=context.show_reading(time.reading) if time.reading else "",
        # In an entry it was the owner unless somebody else is named; before the log it may have been anybody.
        who=context.doer(time.who) or (say("the owner") if time.entry else say("not known")),
        parts=tuple(
            context.part_link(part.key, " ".join(filter(None, [part.name, part.number]))) for part in time.parts
        ),
        note=", ".join(filter(None, map(context.owner_text, [time.what, time.note]))),
        timing=_say_timing(context, row),
        late=(row.days_late or 0) > 0 or (row.distance_late or Decimal(0)) > 0,
        evidence=show_level(context, time.level, time.paper),
        entry=context.entry_link(time.entry) if time.entry else None,
    )


def _say_gap(context: PageContext, item: ServiceItemFigures, row: ServiceRow) -> str:
    """`A gap of 16.8 years and 14,200 mi. The interval is …`"""
    # Both, as either may be the one that passed its limit.
    words = context.words
    span = [_about(context, row.days_approximate, words.span(row.days))] if row.days else []
    distance = context.distance(row.distance)
    span += [_about(context, row.distance_approximate, distance)] if row.distance else []
    # TRANSLATORS: a time or a distance or both in which nothing was done, and as in: The interval is every 12 months.
    closed = to_say("A gap of %(gap)s. The interval is %(interval)s.")
    still_open = to_say("A gap of %(gap)s so far. The interval is %(interval)s.")
    text = still_open if row.until is None else closed
    return words.say(text, gap=words.join(span), interval=_say_interval(context, item))


def _say_timing(context: PageContext, row: ServiceRow) -> str:
    """`12 days late`, `600 mi early`; by both limits where both apply."""
    # Not "on time": nobody knows what was done before.
    if row.since is None:
        return context.words.say("first on record")
    phrases = []
    if row.days_late is not None:
        days = context.words.span(abs(row.days_late))
        phrases.append(_say_late(context, days, row.days_late, row.days_approximate))
    if row.distance_late is not None:
        distance = context.distance(abs(row.distance_late))
        phrases.append(_say_late(context, distance, row.distance_late, row.distance_approximate))
    return ", ".join(phrases)


def _about(context: PageContext, approximate: bool, amount: str) -> str:
    return context.words.say("about %(amount)s", amount=amount) if approximate else amount


def _say_late(context: PageContext, amount: str, late: int | Decimal, approximate: bool) -> str:
    say, about = context.words.say, _about(context, approximate, amount)
    if late:
        return say("%(amount)s late", amount=about) if late > 0 else say("%(amount)s early", amount=about)
    # Days come as `int` and distances as `Decimal`, which decides the word for neither early nor late.
    # TRANSLATORS: neither late nor early: on the day on which it was due, or at the reading
    return _about(context, approximate, say("on the day") if isinstance(late, int) else say("right on the limit"))


def list_inherited(context: PageContext) -> Iterator[InheritedRow]:
    # The owner may write it in any order.
    history = sorted(context.figures.log.settings.history, key=lambda event: event.date.earliest)
    for event in history:
        yield InheritedRow(
            when=context.partial(event.date),
            what=context.owner_text(event.what),
            reading=context.reading_at(event.field_place("reading")) if event.reading else "",
            who=context.doer(_name_doer(event)),
            evidence=show_level(context, find_inherited_level(event), event.paper),
        )


def _name_doer(event: Inherited) -> str:
    """Who did it, unless what was done names them already."""
    # "Brakes by Marsh, Marsh" would say it twice.
    return event.who if event.who and event.who.casefold() not in event.what.casefold() else ""


@frozen
class DoneRow:
    """One time a service item was done, or a stretch in which it was not."""

    when: When | None
    "None for a gap"
    gap: str = ""
    "the gap in words, in place of everything else: `31 months and 14,200 mi without it; the interval is …`"
    reading: str = ""
    "of the meter then: `87,412 mi`; empty: not noted"
    who: str = ""
    "`the owner`, a workshop's name, `not known`"
    parts: tuple[Link, ...] = ()
    "by name and number"
    note: str = ""
    "fluid, quantity, findings"
    timing: str = ""
    "`12 days late`, `600 mi early`, `first on record`"
    late: bool = False
    "whether either limit was passed before it was done"
    evidence: Evidence | None = None
    "None for a gap"
    entry: Link | None = None
    "None for what an earlier owner hands down"


@frozen
class ItemView:
    """One service item and its history."""

    key: str
    "its anchor is `item-KEY`"
    name: str
    "`Engine oil and filter`"
    interval: str
    "`every 24 months or 12,000 mi, whichever comes first`"
    state: State
    "chooses the mark"
    state_text: str
    "`overdue by 41 days`"
    covers: tuple[str, ...] = ()
    "components to look at at the same time"
    rows: tuple[DoneRow, ...] = ()
    "oldest first; empty: never done on record; where there are many, the latest and every gap"
    pages: tuple[Link, ...] = ()
    "the pages that have every time, where there are many; else empty"
