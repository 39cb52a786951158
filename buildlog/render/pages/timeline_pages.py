"""The pages of the timeline where the entries are too many for one: a period, and a system's entries."""

from __future__ import annotations

from collections.abc import Callable

from buildlog.read.records import Entry
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import make_frame
from buildlog.render.pages.periods import list_neighbours
from buildlog.render.pages.timeline import SystemView, TimelinePeriodView, list_months, list_system_pages
from buildlog.render.pieces import Link

TimelinePage = TimelinePeriodView | SystemView


def list_timeline_pages(context: PageContext) -> dict[str, Callable[[], TimelinePage]]:
    """The pages by their paths, in order; none where the timeline has every entry."""
    pages: dict[str, Callable[[], TimelinePage]] = {}

    def make_period(period: str) -> Callable[[], TimelinePage]:
        return lambda: _make_period(context, period)

    def make_system(key: str, period: str) -> Callable[[], TimelinePage]:
        return lambda: _make_system(context, key, period)

    for period in dict.fromkeys(context.timeline_periods.values()):
        pages[f"timeline/{period}.html"] = make_period(period)
    for key in filter(context.entries_by_system.get, context.figures.log.settings.systems):
        for period, link in list_system_pages(context, key).items():
            pages[link.href] = make_system(key, period)
    return pages


def _list_entries(context: PageContext, period: str) -> tuple[Entry, ...]:
    periods = context.timeline_periods
    return tuple(
        entry for entry in context.entries.values() if not period or periods[entry.date.isoformat()[:7]] == period
    )


def _make_period(context: PageContext, period: str) -> TimelinePeriodView:
    entries = _list_entries(context, period)
    named = {key for entry in entries for key in entry.systems}
    keys = tuple(key for key in context.figures.log.settings.systems if key in named)
    title = f"Timeline, {context.period(period)}"
    before, after = list_neighbours(context.timeline_periods.values())[period]
    return TimelinePeriodView(
        frame=make_frame(context, f"timeline/{period}.html", title, f"{context.title}: {context.period(period)}."),
        title=title,
        before=Link(text=context.period(before), href=f"timeline/{before}.html") if before else None,
        after=Link(text=context.period(after), href=f"timeline/{after}.html") if after else None,
        months=tuple(list_months(context, entries)),
        systems=context.system_links(keys),
        system_keys=keys,
    )


def _make_system(context: PageContext, key: str, period: str) -> SystemView:
    pages = list_system_pages(context, key)
    before, after = list_neighbours(pages)[period]
    title = ", ".join(filter(None, [context.system_name(key), period and context.period(period)]))
    return SystemView(
        frame=make_frame(context, pages[period].href, title, f"{context.title}: every entry about {title}."),
        title=title,
        before=pages[before] if before else None,
        after=pages[after] if after else None,
        entries=tuple(context.card(entry) for entry in _list_entries(context, period) if key in entry.systems),
    )
