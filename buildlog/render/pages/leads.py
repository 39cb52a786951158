"""Small pages at addresses that were given up, which lead on: entries that were renamed, periods that are cut finer.

People link to a page and keep the link. None of these pages is linked from the site, or in its sitemap.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import ClassVar

from buildlog.frozen import frozen, kept_by
from buildlog.read.records import Entry, list_old_names
from buildlog.render.addresses import anchor, entry_href
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.costs import list_cost_links
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.long_lists import LISTS, list_pages
from buildlog.render.pages.measured import list_series_pages
from buildlog.render.pages.meter_readings import list_reading_pages
from buildlog.render.pages.part_tables import list_life_pages
from buildlog.render.pages.periods import MOST_MOVED, list_wider
from buildlog.render.pages.service_items import list_item_pages
from buildlog.render.pages.system import list_system_pages
from buildlog.render.pieces import Link

Told = Iterable[tuple[str, str, Link]]
"What stands on the pages of periods: the page's address, its period, and where on it something stands."


@frozen
class LeadRow:
    """One thing that stood at the old address."""

    link: Link
    "where it is told now"
    key: str = ""
    "the anchor that it had there; empty: none, or another has it"


@frozen
class LeadView:
    """Where is it told now?"""

    TEMPLATE: ClassVar[str] = "lead.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`Timeline, 2024`"
    rows: tuple[LeadRow, ...] = ()
    "oldest first"


@frozen
class MovedView:
    """Where is the entry that was called so?"""

    TEMPLATE: ClassVar[str] = "moved.html"
    frame: Frame
    "what surrounds the page, of which it shows next to nothing; its address is that of the entry"
    entry: Link
    "the entry; from the folder of both"


def list_moved_makers(context: PageContext) -> dict[str, Callable[[], MovedView]]:
    """The pages at the old addresses of entries, by their paths."""

    def make(old: str, entry: Entry) -> Callable[[], MovedView]:
        title, site = context.owner_text(entry.title), context.figures.log.settings.site
        frame = replace(
            make_frame(context, entry_href(old), title, ""),
            address=site.address and site.address + entry_href(entry.name),
        )
        return lambda: MovedView(frame=frame, entry=Link(text=title, href=f"{entry.name}.html"))

    return {entry_href(old): make(old, entry) for old, entry in list_old_names(context.entries.values()).items()}


def list_lead_makers(context: PageContext) -> dict[str, Callable[[], LeadView]]:
    """The pages by their paths: of each year, and quarter, that was one page and is several now."""

    say = context.words.say

    def make(path: str, title: str, links: tuple[Link, ...]) -> Callable[[], LeadView]:
        return lambda: LeadView(
            frame=replace(
                make_frame(context, path, title, say("%(title)s: now on several pages.", title=title)), unlisted=True
            ),
            title=title,
            rows=tuple(_list_rows(links)),
        )

    return {path: make(path, title, links) for path, (title, links) in find_leads(context).items()}


@kept_by
def find_leads(context: PageContext) -> Mapping[str, tuple[str, tuple[Link, ...]]]:
    """What each of these pages is called and what stood there, by the page's path."""
    found: dict[str, tuple[str, tuple[Link, ...]]] = {}
    for name, told in _list_told(context):
        for (path, period), links in _give_up(told).items():
            found[path] = context.words.say("%(title)s, %(period)s", title=name, period=context.period(period)), links
    return found


def _give_up(told: Told) -> Mapping[tuple[str, str], tuple[Link, ...]]:
    """The wider periods whose pages there are no longer, by their addresses, with what stood there."""
    found: dict[tuple[str, str], dict[Link, None]] = {}
    for page, period, link in told:
        for wider in list_wider(period):
            head, _, tail = page.rpartition(period)
            found.setdefault((f"{head}{wider}{tail}", wider), {})[link] = None
    return {address: tuple(links) for address, links in found.items()}


def _list_rows(links: Iterable[Link]) -> Iterator[LeadRow]:
    used: set[str] = set()
    for link in links:
        key = link.href.partition("#")[2]
        # The same sum stands in each quarter: the first is where the year's began.
        yield LeadRow(link=link, key="" if key in used else key)
        used.add(key)


def _list_told(context: PageContext) -> Iterator[tuple[str, Told]]:
    say = context.words.say
    yield say("Timeline"), _list_months(context)
    yield from list_cost_links(context)
    yield say("Parts"), _list_parts(context)
    yield say("Faults"), _list_faults(context)
    for key, which in LISTS.items():
        yield say(which.title), _list_pages(list_pages(context, key))
    for part in context.figures.parts.parts:
        # Of thousands of parts hardly one has any.
        if pages := list_life_pages(context, part):
            yield context.owner_text(part.name), _list_pages(pages)
    yield say("Readings"), _list_pages(list_reading_pages(context))
    for item in context.figures.service.items:
        yield context.owner_text(item.name), _list_pages(list_item_pages(context, item))
    for key, series in context.repeated_measures.items():
        yield context.owner_text(series.what), _list_pages(list_series_pages(context, key))
    for system in context.systems:
        yield context.system_name(system), _list_pages(list_system_pages(context, system))


def _list_pages(pages: Mapping[str, Link]) -> Told:
    for period, link in pages.items():
        yield link.href, period, link


def _list_faults(context: PageContext) -> Told:
    for fault in context.figures.faults.faults if context.fault_pages else ():
        period = context.fault_periods[fault.opened.isoformat()[:7]]
        yield context.fault_pages[fault.key], period, context.fault_link(fault.key)


def _list_months(context: PageContext) -> Told:
    for month, period in context.timeline_periods.items():
        yield f"timeline/{period}.html", period, Link(text=context.month(month).text, href=context.month_href(month))


def _list_parts(context: PageContext) -> Told:
    moved: dict[str, int] = {}
    for part in context.figures.parts.parts if context.part_pages else ():
        page = context.part_pages[part.key]
        period = context.part_periods[part.life[0].date.isoformat()[:7]]
        # No more than once had room on the page of a year, of which these are the first.
        moved[period[:4]] = moved.get(period[:4], 0) + 1
        link = Link(text=context.owner_text(part.name), href=f"{page}#{anchor(part.key)}")
        yield (
            f"parts/{period}.html",
            period,
            link if moved[period[:4]] <= MOST_MOVED else Link(text=context.period(period), href=page),
        )
