"""The timeline: every entry in order, under headings for the months."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.read.records import Entry
from buildlog.render.pages.context import PageContext, entry_href
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pieces import (
    EntryCard,
    Milestone,
    Prices,
    When,
)
from buildlog.text import count


@frozen
class Month:
    """One month of the timeline."""

    when: When
    "`2024-05`, `May 2024`; its anchor is `m-2024-05`"
    entries: tuple[EntryCard, ...]
    "of that month, oldest first"
    hours: str = ""
    "own hours; empty: none stated"
    cost: str = ""
    "spent less recovered in the month; empty when hidden"


@frozen
class SystemList:
    """The entries of one system."""

    key: str
    "short name, as in `EntryCard.system_keys`; its anchor is `system-KEY`"
    name: str
    "as the owner calls it"
    entries: tuple[EntryCard, ...]
    "oldest first"


@frozen
class TimelineView:
    """What happened, in order?"""

    TEMPLATE: ClassVar[str] = "timeline.html"
    frame: Frame
    "what surrounds the page"
    prices: Prices
    "what of the money is public"
    span: str = ""
    "`41 entries from 3 February 2024 to 9 November 2024`"
    months: tuple[Month, ...] = ()
    "oldest first, as are the entries in each"
    systems: tuple[SystemList, ...] = ()
    "systems with at least one entry, in the owner's order"
    milestones: tuple[Milestone, ...] = ()
    "oldest first"


def make_timeline(context: PageContext) -> TimelineView:
    """The finished page."""
    cards = {entry.name: context.card(entry) for entry in context.entries.values()}
    span = say_span(context)
    return TimelineView(
        frame=make_frame(context, "timeline.html", "Timeline", f"{context.title}: {span or 'no entry yet'}."),
        prices=context.prices,
        span=span,
        months=tuple(_list_months(context, cards)),
        systems=tuple(_list_systems(context, cards.values())),
        milestones=list_milestones(context),
    )


def say_span(context: PageContext) -> str:
    """`41 entries from 3 February 2024 to 9 November 2024`."""
    entries = tuple(context.entries.values())
    if not entries:
        return ""
    first, last = context.words.day(entries[0].date), context.words.day(entries[-1].date)
    dates = f"on {first}" if first == last else f"from {first} to {last}"
    return f"{count(len(entries), 'entry', 'entries')} {dates}"


def list_milestones(context: PageContext) -> tuple[Milestone, ...]:
    """What was reached, oldest first."""
    return tuple(
        Milestone(
            when=context.when(entry.date),
            text=context.owner_text(entry.milestone),
            href=entry_href(entry.name),
            reading=context.reading_of(entry),
        )
        for entry in context.entries.values()
        if entry.milestone
    )


def _list_months(context: PageContext, cards: dict[str, EntryCard]) -> Iterator[Month]:
    # By the calendar: the cost of a month may be of an order told of in another.
    totals = {month.month: month for month in context.figures.costs.months}

    def month_of(entry: Entry) -> str:
        return entry.date.isoformat()[:7]

    # Entries are in order, or `groupby` would not do. A month without one is left out, even if money moved in it.
    for name, entries in groupby(context.entries.values(), key=month_of):
        total = totals.get(name)
        yield Month(
            when=context.month(name),
            entries=tuple(cards[entry.name] for entry in entries),
            hours=context.words.hours(total.hours) if total and total.hours else "",
            cost=context.money(total.net) if total and total.net else "",
        )


def _list_systems(context: PageContext, cards: Iterable[EntryCard]) -> Iterator[SystemList]:
    all_cards = tuple(cards)
    for key in context.figures.log.settings.systems:
        entries = tuple(card for card in all_cards if key in card.system_keys)
        # A system without entries would be a choice that shows nothing.
        if entries:
            yield SystemList(key=key, name=context.system_name(key), entries=entries)
