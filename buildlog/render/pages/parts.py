"""The pages of parts: one of them all; where they are too many, those of a period, and the indexes to all."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import cache, partial
from typing import ClassVar

from buildlog.compute.parts.part_history import PartFigures
from buildlog.frozen import frozen
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import list_legend
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.long_lists import list_pages, pick_few
from buildlog.render.pages.open_work import list_post
from buildlog.render.pages.part_lives import PartLives, say_scale
from buildlog.render.pages.part_tables import (
    FittedGroup,
    NumberRow,
    PartGroup,
    PartsPeriod,
    ShelfRow,
    group_parts,
    list_fitted,
    list_groups,
    list_indexes,
    list_life_pages,
    list_names,
    list_numbers,
    list_periods,
    list_shelf,
    name_part_page,
    say_shelf_worth,
)
from buildlog.render.pages.periods import INDEX_ROWS, MOST_MOVED, list_neighbours, month_of, name_life_periods
from buildlog.render.pieces import Evidence, Link, PostRow, Prices
from buildlog.text import fold_words


@frozen
class SupplierRow:
    """One supplier's figures."""

    name: str
    "as first written"
    orders: str
    "how many were placed by the day"
    spent: str = ""
    "empty when money is hidden"
    typical_wait: str = ""
    "from order to arrival; empty: nothing has arrived"
    longest_wait: str = ""
    "from order to arrival; empty: nothing has arrived"
    returns: str = ""
    "times that money came back; empty: never"


@frozen
class PartsView:
    """What was bought, where is it now, what is fitted?"""

    TEMPLATE: ClassVar[str] = "parts.html"
    frame: Frame
    "what surrounds the page"
    prices: Prices
    "what of the money is public"
    count: str = ""
    "`38 parts: 26 fitted, 7 on the shelf, 2 in the post`"
    groups: tuple[PartGroup, ...] = ()
    "by system, in the owner's order; empty: there is no part yet"
    scale: str = ""
    "what the bars of the parts mean"
    by_name: tuple[Link, ...] = ()
    "every part by name, leading to `parts.html#part-KEY`"
    by_number: tuple[NumberRow, ...] = ()
    "every number, superseded ones included"
    shelf_worth: str = ""
    "`Worth £123.40, at what it cost delivered.`; empty where nothing is said to lie anywhere, or money is hidden"
    shelf: tuple[ShelfRow, ...] = ()
    "in the order of the log"
    post: tuple[PostRow, ...] = ()
    "the longest wait first"
    more_post: tuple[Link, ...] = ()
    "the pages that have all of it, where it is much; else empty"
    fitted: tuple[FittedGroup, ...] = ()
    "as of the site's date"
    legend: tuple[Evidence, ...] = ()
    "what the letters of the evidence mean"
    suppliers: tuple[SupplierRow, ...] = ()
    "empty when hidden"
    systems: tuple[Link, ...] = ()
    "each leading to its page, where the parts are too many for this one: what is fitted stands there"
    earliest: tuple[Link, ...] = ()
    "the first parts of the log, which stood on this page while it was short: their anchors lead on; else empty"
    periods: tuple[PartsPeriod, ...] = ()
    "the pages that have the parts, where they are too many for this one; empty: they are here"
    names: tuple[Link, ...] = ()
    "the pages of the index by name, where the parts are too many for this one"
    numbers: tuple[Link, ...] = ()
    "the same by number"


def make_parts(context: PageContext) -> PartsView:
    """The finished page."""
    # Where there are too many for one page, this one has none of them, but leads to the pages that do.
    split = bool(context.part_pages)
    parts = () if split else context.figures.parts.parts
    fitted, say = tuple(list_fitted(context, () if split else context.figures.as_fitted)), context.words.say
    description = say("Every part: bought, fitted, on the shelf, in the post.")
    lives = PartLives(context) if parts else None
    return PartsView(
        frame=make_frame(context, "parts.html", say("Parts"), description, dated=True),
        prices=context.prices,
        count=_count_parts(context, context.figures.parts.parts),
        groups=tuple(list_groups(context, parts, lives)) if lives else (),
        scale=say_scale(context, lives) if lives else "",
        by_name=() if split else list_names(context),
        by_number=() if split else list_numbers(context),
        shelf_worth=say_shelf_worth(context),
        shelf=tuple(list_shelf(context, parts)),
        post=list_post(context, pick_few(context, "post")),
        more_post=tuple(list_pages(context, "post").values()),
        fitted=fitted,
        legend=list_legend(context, (row.evidence for group in fitted for row in group.rows)),
        suppliers=tuple(_list_suppliers(context)),
        systems=tuple(context.system_link(key) for key in context.systems) if split else (),
        earliest=_list_earliest(context) if split else (),
        periods=tuple(list_periods(context)),
        names=list_indexes(context, "name", [link.text for link in list_names(context)]) if split else (),
        numbers=list_indexes(context, "number", [row.number for row in list_numbers(context)]) if split else (),
    )


def _list_earliest(context: PageContext) -> tuple[Link, ...]:
    """No more than ever had room here: the page was whole for as long as it had few rows."""
    earliest = sorted(context.figures.parts.parts, key=month_of)[:MOST_MOVED]
    return tuple(context.part_link(part.key) for part in earliest)


def _count_parts(context: PageContext, parts: tuple[PartFigures, ...]) -> str:
    if not parts:
        return ""
    count = context.words.number
    return context.words.say_count(
        "%(number)s part: %(fitted)s fitted, %(shelf)s on the shelf, %(post)s in the post",
        "%(number)s parts: %(fitted)s fitted, %(shelf)s on the shelf, %(post)s in the post",
        len(parts),
        # Not shares of the total: a part may have one fitted and one on the shelf.
        fitted=count(sum(part.on_machine > 0 for part in parts)),
        shelf=count(sum(part.shelf > 0 for part in parts)),
        post=count(sum(part.in_the_post > 0 for part in parts)),
    )


def _list_suppliers(context: PageContext) -> Iterator[SupplierRow]:
    # Matched as they are counted: capitals and blanks do not make another supplier.
    spent = {fold_words(total.name): (total.amount, total.lines) for total in context.figures.costs.by_supplier}
    nothing = context.home_money(Decimal(0)), ()
    for supplier in context.figures.parts.suppliers:
        # With names hidden the table stays empty: rows without a name help nobody.
        if context.supplier(supplier.name):
            median: Decimal | None = supplier.median_days
            yield SupplierRow(
                name=context.owner_text(supplier.name),
                orders=str(supplier.orders),
                spent=context.total_money(*spent.get(fold_words(supplier.name), nothing)),
                typical_wait="" if median is None else context.words.span(median),
                longest_wait="" if supplier.longest_days is None else context.words.span(supplier.longest_days),
                returns=str(supplier.returns) if supplier.returns else "",
            )


@frozen
class PartPeriodView:
    """What became of the parts that came in this period?"""

    TEMPLATE: ClassVar[str] = "part_period.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`Parts, 2024`"
    before: Link | None = None
    "the period before; None: this is the first"
    after: Link | None = None
    "the one after; None: this is the last"
    groups: tuple[PartGroup, ...] = ()
    "all of them with their lives, by system"
    scale: str = ""
    "what the bars of the parts mean"


@frozen
class PartIndexView:
    """Where is the part of this name, or of this number?"""

    TEMPLATE: ClassVar[str] = "part_index.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`Parts by name: Bearing to Pump`"
    before: Link | None = None
    "what stands before in the alphabet; None: this is the first"
    after: Link | None = None
    "what follows; None: this is the last"
    names: tuple[Link, ...] = ()
    "each leads to the part's life"
    numbers: tuple[NumberRow, ...] = ()
    "each with its part"


PartPage = PartPeriodView | PartIndexView


def list_life_makers(context: PageContext) -> dict[str, Callable[[], PartPeriodView]]:
    """The pages of the long lives of single parts, by their paths."""

    # Once for all pages, and only when one of them is asked for.
    find_lives = cache(partial(PartLives, context))

    def make(part: PartFigures, period: str) -> Callable[[], PartPeriodView]:
        return lambda: _make_life(context, part, period, find_lives())

    return {
        link.href: make(part, period)
        for part in context.figures.parts.parts
        for period, link in list_life_pages(context, part).items()
    }


def _make_life(context: PageContext, part: PartFigures, period: str, lives: PartLives) -> PartPeriodView:
    pages, periods = list_life_pages(context, part), name_life_periods(part)
    before, after = list_neighbours(pages)[period]
    some = tuple(event for event in part.life if periods[event.date.isoformat()[:7]] == period)
    say = context.words.say
    title = say("%(what)s, %(period)s", what=context.owner_text(part.name), period=context.period(period))
    description = say("%(title)s: bought, fitted, removed.", title=title)
    return PartPeriodView(
        frame=make_frame(context, pages[period].href, title, description),
        title=title,
        before=pages[before] if before else None,
        after=pages[after] if after else None,
        groups=tuple(list_groups(context, [part], lives, life=some)),
        scale=say_scale(context, lives),
    )


def list_part_pages(context: PageContext) -> dict[str, Callable[[], PartPage]]:
    """The pages by their paths; none where one page has every part."""
    if not context.part_pages:
        return {}
    groups, names, numbers = group_parts(context), list_names(context), list_numbers(context)
    beside = list_neighbours(groups)
    find_lives = cache(partial(PartLives, context))  # once for all pages, and only when one of them is asked for

    def lead(path: str | None) -> Link | None:
        return Link(text=name_part_page(context, path), href=path) if path else None

    def make_period(path: str) -> Callable[[], PartPage]:
        before, after = beside[path]
        return lambda: _make_period(context, path, groups[path], lead(before), lead(after), find_lives())

    pages = {path: make_period(path) for path in groups}
    for kind, rows in (("name", names), ("number", numbers)):
        links: tuple[Link | None, ...] = (None, *list_indexes(context, kind, [_say_row(row) for row in rows]), None)
        for n, (before, here, after) in enumerate(zip(links, links[1:], links[2:], strict=False)):
            if here:
                shown = rows[n * INDEX_ROWS : (n + 1) * INDEX_ROWS]
                pages[here.href] = _make_index(context, kind, here, shown, before, after)
    return pages


def _say_row(row: Link | NumberRow) -> str:
    return row.text if isinstance(row, Link) else row.number


def _make_period(
    context: PageContext,
    path: str,
    parts: tuple[PartFigures, ...],
    before: Link | None,
    after: Link | None,
    lives: PartLives,
) -> PartPeriodView:
    say = context.words.say
    title = say("%(what)s, %(period)s", what=say("Parts"), period=name_part_page(context, path))
    return PartPeriodView(
        frame=make_frame(context, path, title, say("%(title)s: bought, fitted, on the shelf.", title=title)),
        title=title,
        before=before,
        after=after,
        groups=tuple(list_groups(context, parts, lives)),
        scale=say_scale(context, lives),
    )


def _make_index(
    context: PageContext,
    kind: str,
    here: Link,
    rows: tuple[Link | NumberRow, ...],
    before: Link | None,
    after: Link | None,
) -> Callable[[], PartPage]:
    say = context.words.say
    # TRANSLATORS: what stands on a page of an index, as in: Parts by name: Bearing to Pump
    by_name, by_number = (
        say("Parts by name: %(range)s", range=here.text),
        say("Parts by number: %(range)s", range=here.text),
    )
    title = by_name if kind == "name" else by_number
    return lambda: PartIndexView(
        frame=make_frame(context, here.href, title, f"{title}."),
        title=title,
        before=before,
        after=after,
        names=tuple(row for row in rows if isinstance(row, Link)),
        numbers=tuple(row for row in rows if isinstance(row, NumberRow)),
    )
