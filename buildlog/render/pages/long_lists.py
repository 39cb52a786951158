"""Lists that may be long: faults, the post, repairs, rework, cores, gifts, plans; their pages of all, by period.

What is short stands whole where it belongs. Of what is long the page that it belongs to keeps a few and leads to these.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any, ClassVar

from buildlog.frozen import frozen
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.cost_tables import (
    CoreRow,
    GiftRow,
    ReworkRow,
    describe_core,
    describe_gift,
    describe_rework,
)
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.hunt import FaultView, describe_fault, draw_some
from buildlog.render.pages.open_work import (
    ItemRow,
    MadeGoodRow,
    WantedRow,
    describe_items,
    describe_wanted,
    list_made_good,
    list_post,
    list_temporary,
)
from buildlog.render.pages.periods import LIST_FEW, LIST_ROWS, WHOLE_LIST, list_neighbours, name_periods
from buildlog.render.pieces import Link, PostRow, Prices, TemporaryRow
from buildlog.text import to_say


@frozen
class FaultPeriodView:
    """What became of the faults that came up in this period?"""

    TEMPLATE: ClassVar[str] = "fault_period.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`Faults, 2024`"
    prices: Prices
    "what of the money is public"
    before: Link | None = None
    "the period before; None: this is the first"
    after: Link | None = None
    "the one after; None: this is the last"
    open: tuple[FaultView, ...] = ()
    "not closed, least known first"
    closed: tuple[FaultView, ...] = ()
    "with a proof"


@frozen
class LongListView:
    """What else is on this list, of this period?"""

    TEMPLATE: ClassVar[str] = "long_list.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`In the post, 2024`"
    back: Link
    "the page on which a few of them stand"
    before: Link | None = None
    "the period before; None: this is the first"
    after: Link | None = None
    "the one after; None: this is the last"
    post: tuple[PostRow, ...] = ()
    "what was ordered then and has not arrived"
    temporary: tuple[TemporaryRow, ...] = ()
    "temporary repairs made then, and still there"
    made_good: tuple[MadeGoodRow, ...] = ()
    "temporary repairs that ended then"
    rework: tuple[ReworkRow, ...] = ()
    "what was replaced then"
    cores: tuple[CoreRow, ...] = ()
    "surcharges paid then, and not given back"
    gifts: tuple[GiftRow, ...] = ()
    "what was given then"
    items: tuple[ItemRow, ...] = ()
    "what was to be done next then, and is open"
    wanted: tuple[WantedRow, ...] = ()
    "what was wanted then, and is not ordered yet"


LongPage = FaultPeriodView | LongListView


Items = Callable[[PageContext], Sequence[Any]]
Day = Callable[[Any], datetime.date]
Show = Callable[[LongListView, PageContext, Iterable[Any]], LongListView]


@frozen
class LongList:
    """One list that may be long."""

    path: str
    "of its pages, in front of their periods: `parts/post`"
    title: str
    "`In the post`"
    home: Link
    "where a few of them stand"
    items: Items
    "all of them, in the order in which they are shown"
    day: Day
    "the day by which one has its period"
    show: Show
    "the page with the rows of some of them"
    ages: bool = False
    "whether they tell how long ago something was, which changes with the day"


LISTS = {
    "post": LongList(
        path="parts/post",
        title=to_say("In the post"),
        home=Link(text=to_say("All parts"), href="parts.html#post"),
        items=lambda context: context.figures.in_the_post,
        day=lambda item: item.ordered,
        show=lambda view, context, some: replace(view, post=list_post(context, some)),
        ages=True,
    ),
    "temporary": LongList(
        path="faults/temporary",
        title=to_say("Temporary repairs"),
        home=Link(text=to_say("All faults"), href="faults.html#temporary"),
        items=lambda context: [one for one in context.figures.temporary if one.made_good is None],
        day=lambda one: one.since,
        show=lambda view, context, some: replace(view, temporary=list_temporary(context, some)),
        ages=True,
    ),
    "made good": LongList(
        path="faults/made-good",
        title=to_say("Temporary repairs made good"),
        home=Link(text=to_say("All faults"), href="faults.html#temporary"),
        items=lambda context: [one for one in context.figures.temporary if one.made_good and one.made_good_in],
        day=lambda one: one.made_good,
        show=lambda view, context, some: replace(view, made_good=list_made_good(context, some)),
    ),
    "rework": LongList(
        path="costs/rework",
        title=to_say("Rework"),
        home=Link(text=to_say("All costs"), href="costs.html#twice"),
        items=lambda context: context.figures.rework.items if context.prices != "hidden" else (),
        day=lambda item: item.date,
        show=lambda view, context, some: replace(view, rework=tuple(describe_rework(context, one) for one in some)),
    ),
    "cores": LongList(
        path="costs/cores",
        title=to_say("Core charges owed"),
        home=Link(text=to_say("All costs"), href="costs.html#cores"),
        items=lambda context: context.figures.costs.cores_owed if context.prices != "hidden" else (),
        day=lambda core: core.since,
        show=lambda view, context, some: replace(view, cores=tuple(describe_core(context, one) for one in some)),
    ),
    "gifts": LongList(
        path="costs/gifts",
        title=to_say("Gifts and sponsored parts"),
        home=Link(text=to_say("All costs"), href="costs.html#gifts"),
        items=lambda context: context.figures.costs.gifts if context.prices != "hidden" else (),
        day=lambda gift: gift.date,
        show=lambda view, context, some: replace(view, gifts=tuple(describe_gift(context, one) for one in some)),
    ),
    "to do": LongList(
        path="to-do/open",
        title=to_say("Open items"),
        home=Link(text=to_say("All that is still to do"), href="to-do.html#items"),
        items=lambda context: context.figures.plans.list_open() if context.figures.plans.kept else (),
        day=lambda item: item.since,
        show=lambda view, context, some: replace(view, items=describe_items(context, some)),
        ages=True,
    ),
    "wanted": LongList(
        path="to-do/wanted",
        title=to_say("Wanted"),
        home=Link(text=to_say("All that is still to do"), href="to-do.html#wanted"),
        items=lambda context: [item for item in context.figures.costs.plan.list_open() if item.since],
        day=lambda item: item.since,
        show=lambda view, context, some: replace(view, wanted=describe_wanted(context, some)),
    ),
}
"Every one of them."


def pick_few(context: PageContext, key: str) -> Sequence[Any]:
    """What of a list stands on the page that it belongs to: all of it, or of a long one the first."""
    items = LISTS[key].items(context)
    return items[:LIST_FEW] if len(items) > WHOLE_LIST else items


def list_pages(context: PageContext, key: str) -> dict[str, Link]:
    """The pages that have all of a list, by period, oldest first; none where it is short."""
    return {
        period: Link(text=context.period(period), href=f"{LISTS[key].path}-{period}.html")
        for period in _cut(context, key)
    }


def _cut(context: PageContext, key: str) -> dict[str, list[Any]]:
    """The items of a list by period; none where it is short."""
    which, found = LISTS[key], dict[str, list[Any]]()
    items = which.items(context)
    if len(items) <= WHOLE_LIST:
        return found
    months = sorted(which.day(item).isoformat()[:7] for item in items)
    periods = name_periods(Counter(months), LIST_ROWS)
    found = {period: [] for period in periods.values()}
    for item in items:
        found[periods[which.day(item).isoformat()[:7]]].append(item)
    return found


def list_fault_pages(context: PageContext) -> dict[str, Link]:
    """The pages of faults by period, oldest first; none where one page has them all."""
    periods = dict.fromkeys(context.fault_periods.values())
    return {period: Link(text=context.period(period), href=f"faults/{period}.html") for period in periods}


def list_long_makers(context: PageContext) -> dict[str, Callable[[], LongPage]]:
    """The pages by their paths; none where every list is short."""

    def make_faults(period: str) -> Callable[[], LongPage]:
        return lambda: _make_faults(context, period)

    def make_list(key: str, period: str) -> Callable[[], LongPage]:
        return lambda: _make_list(context, key, period)

    makers = {link.href: make_faults(period) for period, link in list_fault_pages(context).items()}
    for key in LISTS:
        makers |= {link.href: make_list(key, period) for period, link in list_pages(context, key).items()}
    return makers


def _make_faults(context: PageContext, period: str) -> FaultPeriodView:
    pages, figures = list_fault_pages(context), context.figures
    before, after = list_neighbours(pages)[period]
    faults = [one for one in figures.faults.faults if context.fault_periods[one.opened.isoformat()[:7]] == period]
    described = draw_some([describe_fault(context, one, figures.next_checks.get(one.key)) for one in faults])
    say = context.words.say
    title = say("%(title)s, %(period)s", title=say("Faults"), period=context.period(period))
    # How long one has been open changes with the day.
    dated = any(fault.closed is None for fault in faults)
    return FaultPeriodView(
        frame=make_frame(
            context,
            pages[period].href,
            title,
            say("%(title)s: %(told)s.", title=context.title, told=title),
            dated=dated,
        ),
        title=title,
        prices=context.prices,
        before=pages[before] if before else None,
        after=pages[after] if after else None,
        open=tuple(fault for fault in described if fault.state != "proved"),
        closed=tuple(fault for fault in described if fault.state == "proved"),
    )


def _make_list(context: PageContext, key: str, period: str) -> LongListView:
    which, pages = LISTS[key], list_pages(context, key)
    before, after = list_neighbours(pages)[period]
    say = context.words.say
    title = say("%(title)s, %(period)s", title=say(which.title), period=context.period(period))
    view = LongListView(
        frame=make_frame(
            context,
            pages[period].href,
            title,
            say("%(title)s: %(told)s.", title=context.title, told=title),
            dated=which.ages,
        ),
        title=title,
        back=replace(which.home, text=say(which.home.text)),
        before=pages[before] if before else None,
        after=pages[after] if after else None,
    )
    return which.show(view, context, _cut(context, key)[period])
