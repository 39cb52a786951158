"""The timeline: every entry in order, months as landmarks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from buildlog.site.pages.edition import Edition, entry_href
from buildlog.site.pages.framing import make_frame
from buildlog.site.pieces import EntryCard, Milestone
from buildlog.site.views import Month, SystemList, TimelineView
from buildlog.site.words import count
from buildlog.source.records import Entry


def make_timeline(edition: Edition) -> TimelineView:
    """The finished page."""
    cards = {entry.name: edition.card(entry) for entry in edition.entries.values()}
    span = say_span(edition)
    return TimelineView(
        frame=make_frame(edition, "timeline.html", "Timeline", f"{edition.title}: {span or 'no entry yet'}."),
        prices=edition.prices,
        span=span,
        months=tuple(_list_months(edition, cards)),
        systems=tuple(_list_systems(edition, cards.values())),
        milestones=list_milestones(edition),
    )


def say_span(edition: Edition) -> str:
    """`41 entries from 3 February 2024 to 9 November 2024`."""
    entries = tuple(edition.entries.values())
    if not entries:
        return ""
    first, last = edition.words.day(entries[0].date), edition.words.day(entries[-1].date)
    dates = f"on {first}" if first == last else f"from {first} to {last}"
    return f"{count(len(entries), 'entry', 'entries')} {dates}"


def list_milestones(edition: Edition) -> tuple[Milestone, ...]:
    """What was reached, oldest first."""
    return tuple(
        Milestone(
            when=edition.when(entry.date),
            text=edition.said(entry.milestone),
            href=entry_href(entry.name),
            reading=edition.reading_of(entry),
        )
        for entry in edition.entries.values()
        if entry.milestone
    )


def _list_months(edition: Edition, cards: dict[str, EntryCard]) -> Iterator[Month]:
    totals = {month.month: month for month in edition.figures.costs.months}

    def month_of(entry: Entry) -> str:
        return entry.date.isoformat()[:7]

    for name, entries in groupby(edition.entries.values(), key=month_of):
        total = totals.get(name)
        yield Month(
            when=edition.month(name),
            entries=tuple(cards[entry.name] for entry in entries),
            hours=edition.words.hours(total.hours) if total and total.hours else "",
            cost=edition.money(total.net) if total and total.net else "",
        )


def _list_systems(edition: Edition, cards: Iterable[EntryCard]) -> Iterator[SystemList]:
    all_cards = tuple(cards)
    for key in edition.figures.log.settings.systems:
        entries = tuple(card for card in all_cards if key in card.system_keys)
        if entries:
            yield SystemList(key=key, name=edition.system_name(key), entries=entries)
