"""The page of what is still to do: open `next:` items, what is wanted, and lists with what is missing of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import ClassVar, Literal

from buildlog.compute.costs.plan import WantedState
from buildlog.compute.plans import ListFigures, TickItem
from buildlog.frozen import frozen
from buildlog.read.records import Entry
from buildlog.render.addresses import TO_DO, entry_href
from buildlog.render.language import Words
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.entry_work import Act
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.long_lists import list_pages, pick_few
from buildlog.render.pages.open_work import ItemRow, WantedRow, describe_items, describe_wanted
from buildlog.render.pieces import Link, Prices, When
from buildlog.text import to_say


@frozen
class TickRow:
    """One item of a list."""

    what: str
    "in the owner's words"
    caution: str = ""
    "what can hurt somebody; empty: nothing is stated"
    ticked: When | None = None
    "the day on which it was last ticked; None: it is missing"
    entry: Link | None = None
    "the entry that ticks it"
    note: str = ""
    "in the owner's words"
    worked: Link | None = None
    "a later entry that worked on its system, so that it should be looked at again; None: there is none"


@frozen
class ListView:
    """A list, and what is missing of it."""

    key: str
    "its anchor is `list-KEY`"
    name: str
    "as the owner calls it"
    state: str
    "`2 of 9 missing`, `all 9 ticked`, `all 9 ticked, 1 of them before later work`"
    rows: tuple[TickRow, ...]
    "in the owner's order"
    missing: tuple[TickRow, ...]
    "the first of those that are missing, for where there is no room for all"
    more: str = ""
    "`and 4 more`; empty: those are all"


@frozen
class ActsOfPlan:
    """What an entry says of plans, under one heading."""

    key: str
    "its anchor"
    title: str
    "`Done`"
    acts: tuple[Act, ...]
    "each leading to what it is about"


@frozen
class ToDoView:
    """What is still to do, what is wanted for it, and what has to be right first?"""

    TEMPLATE: ClassVar[str] = "to_do.html"
    frame: Frame
    "what surrounds the page"
    prices: Prices
    "what of the money is public"
    items: tuple[ItemRow, ...] = ()
    "open, oldest first"
    items_pages: tuple[Link, ...] = ()
    "the pages that have all, by period; empty: these are all"
    ended: tuple[ItemRow, ...] = ()
    "the last ones that were done or dropped, newest first"
    wanted: tuple[WantedRow, ...] = ()
    "oldest first"
    wanted_pages: tuple[Link, ...] = ()
    "the pages that have all that entries want, by period; empty: these are all"
    wanted_sum: str = ""
    "what all of it will cost, as far as it is stated; empty when hidden"
    unpriced: str = ""
    "`2 without a price, counted as nothing`; empty: each has one"
    lists: tuple[ListView, ...] = ()
    "in the owner's order"


WANTED_STATES: Mapping[WantedState, str] = {
    "open": to_say("not ordered yet"),
    "ordered": to_say("ordered since"),
    "unwanted": to_say("no longer wanted"),
    "wanted again": to_say("wanted again later"),
}
"What became of a wish, in words."
LATEST_ENDED = 12
"Items that have ended which the page lists."
MISSING_SHOWN = 6
"Missing items of a list that the front page names."


def has_plans(context: PageContext) -> bool:
    """Whether the log plans anything that is followed; without it there is no such page."""
    plans = context.figures.plans
    return plans.kept or bool(plans.lists) or bool(context.figures.costs.plan.wanted)


def list_makers(context: PageContext) -> dict[str, Callable[[], ToDoView]]:
    """The page by its path; none where there is nothing that it could tell."""
    return {TO_DO: lambda: make_to_do(context)} if has_plans(context) else {}


def make_to_do(context: PageContext) -> ToDoView:
    """The finished page."""
    plan, words = context.figures.costs.plan, context.words
    # What `log.yaml` wants has no day: it stands here whole, as everything that is written there.
    wanted = (*(item for item in plan.list_open() if item.since is None), *pick_few(context, "wanted"))
    return ToDoView(
        frame=make_frame(
            context,
            TO_DO,
            words.say("Still to do"),
            words.say(
                "What is still to do on %(title)s, what is wanted, and which checklist items are missing.",
                title=context.title,
            ),
            dated=True,
        ),
        prices=context.prices,
        items=describe_items(context, pick_few(context, "to do")),
        items_pages=tuple(list_pages(context, "to do").values()),
        ended=_list_ended(context),
        wanted=describe_wanted(context, wanted),
        wanted_pages=tuple(list_pages(context, "wanted").values()),
        wanted_sum=context.line_money(plan.wanted_sum) if wanted else "",
        unpriced=_say_unpriced(words, plan.unpriced) if plan.unpriced and context.prices != "hidden" else "",
        lists=list_checklists(context),
    )


def _say_unpriced(words: Words, number: int) -> str:
    return words.say_count(
        "%(number)s without a price, counted as nothing", "%(number)s without a price, counted as nothing", number
    )


def say_more(context: PageContext, number: int, shown: int, place: str = "#items") -> Link | None:
    """`and 12 more`, leading to the page that has them; None where all are shown."""
    return Link(text=context.words.more(number - shown), href=TO_DO + place) if number > shown else None


# ── next ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def list_open_items(context: PageContext) -> tuple[ItemRow, ...]:
    """What is still to do, oldest first; nothing where no entry ever said what became of such an item."""
    plans = context.figures.plans
    return describe_items(context, plans.list_open()) if plans.kept else ()


def _list_ended(context: PageContext) -> tuple[ItemRow, ...]:
    ended = [item for item in context.figures.plans.items if item.ended is not None]
    ended.sort(key=lambda item: item.ended or item.since)
    return describe_items(context, ended[: -LATEST_ENDED - 1 : -1])


def list_plans(context: PageContext, entry: Entry) -> Iterator[ActsOfPlan]:
    """What an entry says of plans: done, dropped, ticked, wanted, and no longer wanted."""
    say = context.words.say
    parts = (
        ("done", say("Done"), _list_ended_in(context, entry, "done")),
        ("dropped", say("Dropped"), _list_ended_in(context, entry, "dropped")),
        ("ticked", say("Ticked"), _list_ticked(context, entry)),
        ("wanted", say("Wanted"), _list_wanted_in(context, entry)),
        (
            "unwanted",
            say("No longer wanted"),
            (Act(what=Link(text=context.owner_text(each))) for each in entry.unwanted),
        ),
    )
    for key, title, acts in parts:
        if found := tuple(acts):
            yield ActsOfPlan(key=key, title=title, acts=found)


def _list_ended_in(context: PageContext, entry: Entry, how: Literal["done", "dropped"]) -> Iterator[Act]:
    for item in context.figures.plans.ended_by_entry.get(entry.name, ()):
        if item.state == how:
            what = Link(text=context.owner_text(item.what), href=f"{entry_href(item.entry)}#next")
            since = context.words.say("open since %(day)s", day=context.words.day(item.since))
            yield Act(what=what, notes=(since,))


# ── wanted ───────────────────────────────────────────────────────────────────────────────────────────────────────


def list_wanted(context: PageContext) -> tuple[WantedRow, ...]:
    """What is wanted and not ordered yet, in the order in which it was wanted."""
    return describe_wanted(context, context.figures.costs.plan.list_open())


# ── lists ────────────────────────────────────────────────────────────────────────────────────────────────────────


def list_checklists(context: PageContext) -> tuple[ListView, ...]:
    """Every list with what is ticked and what is missing."""
    return tuple(_describe_list(context, checklist) for checklist in context.figures.plans.lists)


def _describe_list(context: PageContext, checklist: ListFigures) -> ListView:
    rows = tuple(_describe_tick(context, item) for item in checklist.items)
    missing = [row for row in rows if row.ticked is None]
    again = sum(row.worked is not None for row in rows)
    return ListView(
        key=checklist.key,
        name=context.owner_text(checklist.name),
        state=_say_state(context.words, checklist.missing, len(rows), again),
        rows=rows,
        missing=tuple(missing[:MISSING_SHOWN]),
        more=context.words.more(len(missing) - MISSING_SHOWN) if len(missing) > MISSING_SHOWN else "",
    )


def _say_state(words: Words, missing: int, number: int, again: int) -> str:
    """`2 of 9 missing`, `all 9 ticked, 1 of them before later work`"""
    if missing:
        state = words.say_count("%(number)s of %(all)s missing", "%(number)s of %(all)s missing", missing, all=number)
    else:
        state = words.say_count("all %(number)s ticked", "all %(number)s ticked", number)
    told = words.say_count(
        "%(state)s, %(number)s of them before later work",
        "%(state)s, %(number)s of them before later work",
        again,
        state=state,
    )
    return told if again else state


def _describe_tick(context: PageContext, item: TickItem) -> TickRow:
    return TickRow(
        what=context.owner_text(item.what),
        caution=context.owner_text(item.caution),
        ticked=context.when(item.ticked) if item.ticked else None,
        entry=context.entry_link(item.ticked_in) if item.ticked_in else None,
        note=context.owner_text(item.note),
        worked=context.entry_link(item.worked_in) if item.worked_in else None,
    )


def _list_wanted_in(context: PageContext, entry: Entry) -> Iterator[Act]:
    for item in context.figures.costs.plan.wanted_by_entry.get(entry.name, ()):
        about = context.line_money(item.about) if item.about is not None else ""
        notes = (
            context.words.say("about %(amount)s", amount=about) if about else "",
            context.supplier(item.supplier),
            context.words.say(WANTED_STATES[item.state]),
        )
        yield Act(
            what=context.part_link(item.part, item.what) if item.part else Link(text=context.owner_text(item.what)),
            qty="" if item.qty == 1 else context.quantity(item.qty),
            notes=tuple(note for note in notes if note),
        )


def _list_ticked(context: PageContext, entry: Entry) -> Iterator[Act]:
    names = {checklist.key: checklist.name for checklist in context.figures.plans.lists}
    for ticked in entry.ticked:
        what = Link(text=context.owner_text(names[ticked.list]), href=f"{TO_DO}#list-{ticked.list}")
        notes = (", ".join(map(context.owner_text, ticked.items)), context.owner_text(ticked.note))
        yield Act(what=what, notes=tuple(note for note in notes if note))
