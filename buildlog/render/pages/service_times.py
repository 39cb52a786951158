"""The pages of the service history that have every time one thing was done, or measured, where these are many."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.render.pages.appendix import DoneRow
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import list_legend
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.measured import SeriesView, cut_series, describe_series, list_series_pages
from buildlog.render.pages.periods import list_neighbours
from buildlog.render.pages.service import describe_times, list_item_pages
from buildlog.render.pieces import Evidence, Link


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

    def make_item(key: str, period: str) -> Callable[[], TimesView]:
        return lambda: _make_item(context, key, period)

    def make_series(key: str, period: str) -> Callable[[], TimesView]:
        return lambda: _make_series(context, key, period)

    pages: dict[str, Callable[[], TimesView]] = {}
    for item in context.figures.service.items:
        for period, link in list_item_pages(context, item).items():
            pages[link.href] = make_item(item.key, period)
    for key in context.repeated_measures:
        for period, link in list_series_pages(context, key).items():
            pages[link.href] = make_series(key, period)
    return pages


def _make_item(context: PageContext, key: str, period: str) -> TimesView:
    item = next(item for item in context.figures.service.items if item.key == key)
    rows, pages = describe_times(context, item, period), list_item_pages(context, item)
    before, after = list_neighbours(pages)[period]
    title = f"{context.owner_text(item.name)}, {context.period(period)}"
    return TimesView(
        frame=make_frame(context, pages[period].href, title, f"{title}: each time that it was done."),
        title=title,
        back=f"service.html#item-{key}",
        before=pages[before] if before else None,
        after=pages[after] if after else None,
        done=rows,
        legend=list_legend(context, (row.evidence for row in rows)),
    )


def _make_series(context: PageContext, key: str, period: str) -> TimesView:
    pages = list_series_pages(context, key)
    before, after = list_neighbours(pages)[period]
    series = describe_series(context, cut_series(context, key, period), key, draw=False)
    title = f"{series.what}, {context.period(period)}"
    return TimesView(
        frame=make_frame(context, pages[period].href, title, f"{title}: each time that it was measured."),
        title=title,
        back=f"service.html#measured-{key}",
        before=pages[before] if before else None,
        after=pages[after] if after else None,
        series=series,
    )
