"""The page of a system: its service, faults, entries, parts as fitted, costs, measurements and fasteners in one place.

Where that is too much for one page, the page keeps what is open and the sums, and leads to the pages of its periods.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from typing import ClassVar, TypeVar

from buildlog.compute.measures.measures import MeasuredSet
from buildlog.compute.measures.tightening import TightenedFigures
from buildlog.compute.service.items import ServiceItemFigures
from buildlog.compute.systems import SystemFigures
from buildlog.frozen import frozen
from buildlog.render.pages.budget import BudgetRow, describe_budget
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.cost_tables import describe_years
from buildlog.render.pages.coverage import list_legend
from buildlog.render.pages.entry_work import TightenedRow, describe_tightened
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.measured import lead_to_times
from buildlog.render.pages.measured_words import OnceRow, describe_once
from buildlog.render.pages.open_work import (
    ItemRow,
    WantedRow,
    describe_items,
    describe_wanted,
    list_faults,
    list_post,
    list_temporary,
    show_due,
)
from buildlog.render.pages.part_tables import FittedGroup, ShelfRow, describe_fitting, list_shelf
from buildlog.render.pages.periods import SYSTEM_LATEST, list_neighbours, name_system_periods
from buildlog.render.pages.still_to_do import say_more
from buildlog.render.pages.timeline import say_span
from buildlog.render.pieces import DueRow, Evidence, FaultRow, Link, PostRow, Prices, Sum, TemporaryRow, When
from buildlog.text import to_say

Thing = TypeVar("Thing")


@frozen
class Told:
    """One entry, as the page of a system lists it."""

    when: When
    "its day"
    entry: Link
    "its title, leading to it"


@frozen
class Job:
    """One recurring job, as the page of a system lists it."""

    due: DueRow
    "its name, state and limits"
    last: When | None = None
    "the last time that it was done; None: never on record"
    entry: str = ""
    "address of the entry that did it; empty: it was before this log"
    times: str = ""
    "`4 times on record`; empty: never"


@frozen
class TightenedIn:
    """One fastener with the entry that tightened it."""

    told: Told
    "that entry"
    row: TightenedRow
    "the fastener"


@frozen
class MeasuredLast:
    """One thing that was measured, as it was the last time."""

    row: OnceRow
    "that time"
    all_times: Link
    "leads to every time in the service history"


@frozen
class SystemPeriod:
    """One page of a system's period, as its overview shows it."""

    page: Link
    "`2024`, leading to it"
    detail: str
    "`31 entries, 12 parts fitted, 2 faults`"


@frozen
class SystemView:
    """What is there to know about this system?"""

    TEMPLATE: ClassVar[str] = "system.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`Fuel`; of a period `Fuel, 2024`"
    span: str = ""
    "`14 entries from 3 February 2024 to 9 November 2024`"
    prices: Prices
    "what of the money is public"
    whole: str = ""
    "address of the system's own page, where this is that of a period"
    before: Link | None = None
    "the period before; None: none"
    after: Link | None = None
    "the one after; None: none"
    jobs: tuple[Job, ...] = ()
    "most pressing first"
    faults: tuple[FaultRow, ...] = ()
    "open ones first, least known first"
    temporary: tuple[TemporaryRow, ...] = ()
    "temporary repairs still there, oldest first"
    to_do: tuple[ItemRow, ...] = ()
    "open items of its entries, oldest first"
    more_to_do: Link | None = None
    "leads to the rest of them; None: these are all"
    wanted: tuple[WantedRow, ...] = ()
    "what is wanted for it and not ordered yet"
    more_wanted: Link | None = None
    "leads to the rest of it; None: this is all"
    periods: tuple[SystemPeriod, ...] = ()
    "the pages that have the rest, where it is too much for this one"
    entries: tuple[Told, ...] = ()
    "oldest first"
    fitted: tuple[FittedGroup, ...] = ()
    "what is on the machine as of the site's date, all in one; of a period, what was fitted in it and is still there"
    legend: tuple[Evidence, ...] = ()
    "what the letters of the evidence mean"
    shelf: tuple[ShelfRow, ...] = ()
    "parts on hand"
    post: tuple[PostRow, ...] = ()
    "ordered and not arrived, the longest wait first"
    costs: tuple[Sum, ...] = ()
    "what was spent, year by year, each with its lines or leading to them; empty when hidden"
    costs_total: Sum | None = None
    "None: nothing was spent, or money is hidden"
    budget: BudgetRow | None = None
    "None: no budget was set, or money is hidden"
    measured: tuple[MeasuredLast, ...] = ()
    "each thing that was measured, in the order of the first time"
    tightened: tuple[TightenedIn, ...] = ()
    "oldest first"


# Without its name, as no element of a head can say in which language that is.
ABOUT = to_say("%(machine)s: one system, with its entries, parts, costs, faults and service.")
"What the head says of each."
ABOUT_PERIOD = to_say("%(machine)s: one system with its entries, parts, costs, faults and service, %(period)s.")
"The same of each of its periods."


def list_system_makers(context: PageContext) -> dict[str, Callable[[], SystemView]]:
    """The pages of all systems by their paths: each has one, and where it is too long one for each period besides."""
    pages: dict[str, Callable[[], SystemView]] = {}
    for key, system in context.systems.items():
        # Split once for all pages of the system.
        cuts, links = _split(system), list_system_pages(context, key)
        pages[context.system_href(key)] = partial(_make_whole, context, key, cuts, links)
        pages |= {link.href: partial(_make_period, context, key, cuts[at], at, links) for at, link in links.items()}
    return pages


def list_system_pages(context: PageContext, key: str | None) -> dict[str, Link]:
    """The pages of a system's periods, oldest first; none where its own page has everything."""
    periods = dict.fromkeys(name_system_periods(context.systems[key]).values())
    stem = context.system_href(key).removesuffix(".html")
    # Two dashes, which no name of a system has: `brakes-2024` may be one.
    return {period: Link(text=context.period(period), href=f"{stem}--{period}.html") for period in periods}


def _make_whole(
    context: PageContext, key: str | None, cuts: Mapping[str, SystemFigures], pages: Mapping[str, Link]
) -> SystemView:
    system = context.systems[key]
    name, about = context.system_name(key), context.words.say(ABOUT, machine=context.title)
    frame = make_frame(context, context.system_href(key), name, about, dated=True)
    opened = [fault for fault in system.faults if fault.closed is None]
    closed = [fault for fault in system.faults if fault.closed is not None]
    view = SystemView(
        frame=frame,
        title=name,
        span=say_span(context, system.entries),
        prices=context.prices,
        jobs=tuple(_describe_job(context, item) for item in system.items),
        faults=list_faults(context, (*opened, *closed)),
        temporary=list_temporary(context, system.temporary),
        to_do=describe_items(context, system.to_do[:SYSTEM_LATEST]),
        more_to_do=say_more(context, len(system.to_do), SYSTEM_LATEST),
        # Which system each is for need not be said on its own page.
        wanted=tuple(replace(row, system="") for row in describe_wanted(context, system.wanted[:SYSTEM_LATEST])),
        more_wanted=say_more(context, len(system.wanted), SYSTEM_LATEST, "#wanted"),
        post=list_post(context, system.post),
        costs=describe_years(context, system.spent.lines, key) if system.spent and context.prices != "hidden" else (),
        costs_total=_sum_up(context, system),
        budget=describe_budget(context, system.budget, name) if system.budget and context.prices != "hidden" else None,
    )
    if not pages:
        return _fill(context, view, system)
    # What is closed stands with its period, and of what is open the latest here.
    return replace(
        view,
        faults=list_faults(context, opened[-SYSTEM_LATEST:]),
        temporary=view.temporary[-SYSTEM_LATEST:],
        post=view.post[:SYSTEM_LATEST],
        periods=tuple(_describe_period(context, link, cuts[period]) for period, link in pages.items()),
    )


def _make_period(
    context: PageContext, key: str | None, system: SystemFigures, period: str, pages: Mapping[str, Link]
) -> SystemView:
    before, after = list_neighbours(pages)[period]
    say, period_name = context.words.say, context.period(period)
    title = say("%(what)s, %(period)s", what=context.system_name(key), period=period_name)
    about = say(ABOUT_PERIOD, machine=context.title, period=period_name)
    view = SystemView(
        frame=make_frame(context, pages[period].href, title, about),
        title=title,
        prices=context.prices,
        whole=context.system_href(key),
        before=pages[before] if before else None,
        after=pages[after] if after else None,
        faults=list_faults(context, system.faults),
    )
    return _fill(context, view, system)


def _split(system: SystemFigures) -> dict[str, SystemFigures]:
    """What of a system began in each period, oldest first; empty where its own page has everything."""
    periods = name_system_periods(system)

    def group(things: Iterable[Thing], day_of: Callable[[Thing], datetime.date]) -> dict[str, list[Thing]]:
        found: dict[str, list[Thing]] = {}
        for thing in things if periods else ():
            found.setdefault(periods[day_of(thing).isoformat()[:7]], []).append(thing)
        return found

    entries = group(system.entries, lambda entry: entry.date)
    fittings = group(system.fittings, lambda one: one.since)
    shelf = group((part for part in system.parts if part.shelf > 0), lambda part: part.life[0].date)
    faults = group(system.faults, lambda fault: fault.opened)
    measured = group(system.measured, lambda one: one.date)
    tightened = group(system.tightened, lambda one: one.date)
    return {
        period: replace(
            system,
            entries=tuple(entries.get(period, ())),
            fittings=tuple(fittings.get(period, ())),
            parts=tuple(shelf.get(period, ())),
            faults=tuple(faults.get(period, ())),
            measured=tuple(measured.get(period, ())),
            tightened=tuple(tightened.get(period, ())),
        )
        for period in dict.fromkeys(periods.values())
    }


def _fill(context: PageContext, view: SystemView, system: SystemFigures) -> SystemView:
    """The page with every row of what belongs to the system."""
    fitted = tuple(describe_fitting(context, one) for one in system.fittings)
    return replace(
        view,
        entries=tuple(_tell(context, entry.name) for entry in system.entries),
        fitted=(FittedGroup(rows=fitted),) if fitted else (),
        legend=list_legend(context, (row.evidence for row in fitted)),
        shelf=tuple(list_shelf(context, system.parts)),
        measured=tuple(_list_measured(context, system.measured)),
        tightened=tuple(_describe_tightened(context, one) for one in system.tightened),
    )


def _sum_up(context: PageContext, system: SystemFigures) -> Sum | None:
    if system.spent is None or context.prices == "hidden":
        return None
    amount = context.total_money(system.spent.amount, system.spent.lines)
    return Sum(name=context.words.say("Spent"), amount=amount, is_total=True) if amount else None


def _tell(context: PageContext, name: str) -> Told:
    return Told(when=context.when(context.entries[name].date), entry=context.entry_link(name))


def _describe_job(context: PageContext, item: ServiceItemFigures) -> Job:
    last, times = item.last, sum(row.kind == "done" for row in item.rows)
    told = context.words.say_count("%(number)s time on record", "%(number)s times on record", times) if times else ""
    return Job(
        due=show_due(context, item),
        last=context.partial_text(last.when) if last else None,
        entry=context.entry_link(last.entry).href if last and last.entry else "",
        times=told,
    )


def _list_measured(context: PageContext, sets: Iterable[MeasuredSet]) -> Iterator[MeasuredLast]:
    last: dict[object, MeasuredSet] = {}
    for one in sets:
        # What was measured at one time only is in no series of the service history, and stands for itself.
        last[context.measured_times.get(one.record.place, one.record.place)] = one
    for one in last.values():
        row = describe_once(context, one.record.what, one)
        yield MeasuredLast(row=row, all_times=lead_to_times(context, one.record))


def _describe_tightened(context: PageContext, one: TightenedFigures) -> TightenedIn:
    return TightenedIn(told=_tell(context, one.entry), row=describe_tightened(context, one.record))


def _describe_period(context: PageContext, link: Link, system: SystemFigures) -> SystemPeriod:
    say_count = context.words.say_count
    entries, fittings, parts = len(system.entries), len(system.fittings), len(system.parts)
    faults, measured, tightened = len(system.faults), len(system.measured), len(system.tightened)
    phrases = (
        (entries, say_count("%(number)s entry", "%(number)s entries", entries)),
        (fittings, say_count("%(number)s part fitted", "%(number)s parts fitted", fittings)),
        (parts, say_count("%(number)s part on the shelf", "%(number)s parts on the shelf", parts)),
        (faults, say_count("%(number)s fault", "%(number)s faults", faults)),
        (measured, say_count("%(number)s measurement", "%(number)s measurements", measured)),
        (tightened, say_count("%(number)s fastener tightened", "%(number)s fasteners tightened", tightened)),
    )
    return SystemPeriod(page=link, detail=", ".join(phrase for number, phrase in phrases if number))
