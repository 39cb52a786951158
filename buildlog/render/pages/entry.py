"""An entry's page: the story, and beside it what was bought, fitted, measured, closed and opened."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import ClassVar

from buildlog.compute.parts.names import ORIGINAL, plain_name
from buildlog.frozen import frozen
from buildlog.read.records import Arrival, Entry, Fitted, Removed, Returned, Scrapped, Sold
from buildlog.render.addresses import entry_href
from buildlog.render.pages.choices import say_choice
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import evidence_of, list_legend
from buildlog.render.pages.entry_orders import OrderView, describe_orders
from buildlog.render.pages.entry_work import (
    Act,
    FaultNeighbours,
    TightenedRow,
    describe_tightened,
    list_checks,
    list_fixed,
    list_named,
    list_neighbours,
    list_same_fault,
)
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.measured import MeasuredView, describe_measured
from buildlog.render.pages.meter_readings import say_step
from buildlog.render.pages.pictures import list_pairs
from buildlog.render.pages.record import SealedView, describe_sealed
from buildlog.render.pages.still_to_do import ActsOfPlan, list_plans
from buildlog.render.pieces import Evidence, Link, Margin, PairView, PhotoView, Prices, Sum


@frozen
class EntryView:
    """What was done in one work session, and what did it cost?"""

    TEMPLATE: ClassVar[str] = "entry.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "as the owner wrote it"
    margin: Margin
    "its figures"
    milestone: str = ""
    "`First start`; empty: none"
    systems: tuple[Link, ...] = ()
    "leading to their pages"
    story: str = ""
    "HTML, already safe"
    story_language: str = ""
    "its `lang`, where that is another than the page's"
    photos: tuple[PhotoView, ...] = ()
    "those that the story does not show itself, and that stand in no pair"
    pairs: tuple[PairView, ...] = ()
    "of before and after, of which it has one or both"
    prices: Prices
    "what of the money is public"
    costs: tuple[Sum, ...] = ()
    "what this entry moved: spent, refunded, recovered; empty when hidden or nothing moved"
    orders: tuple[OrderView, ...] = ()
    "placed in this entry"
    returned: tuple[Act, ...] = ()
    "sent back, or money that came back"
    sold: tuple[Act, ...] = ()
    "parts and other things sold, each with its price where prices are shown"
    arrived: tuple[Act, ...] = ()
    "from earlier orders"
    paid: tuple[Act, ...] = ()
    "earlier orders, paid now"
    fitted: tuple[Act, ...] = ()
    "each with its evidence"
    removed: tuple[Act, ...] = ()
    "taken off the machine"
    scrapped: tuple[Act, ...] = ()
    "thrown or given away"
    serviced: tuple[Act, ...] = ()
    "`what` leads to `service.html#item-KEY`"
    measured: tuple[MeasuredView, ...] = ()
    "sets of values, in the order written"
    faults: tuple[Act, ...] = ()
    "opened, or seen again"
    checks: tuple[Act, ...] = ()
    "for faults, each leading to its fault"
    fixed: tuple[Act, ...] = ()
    "fixes, and what confirmed one"
    tightened: tuple[TightenedRow, ...] = ()
    "fasteners, in the order written"
    temporary: tuple[Act, ...] = ()
    "temporary repairs made"
    made_good: tuple[Act, ...] = ()
    "temporary repairs that ended"
    stripped: tuple[str, ...] = ()
    "names of strip-downs that came off"
    refitted: tuple[str, ...] = ()
    "names of strip-downs that went back"
    meter: str = ""
    "`meter changed: 99,812 mi on the old one, 0 mi on the new one`"
    plans: tuple[ActsOfPlan, ...] = ()
    "what of earlier plans is done, dropped or ticked, and what is wanted; each with its heading"
    next: tuple[str, ...] = ()
    "what the owner says comes next"
    before: Link | None = None
    "the entry before"
    after: Link | None = None
    "the entry after"
    same_fault: tuple[Act, ...] = ()
    "the other entries about each fault that this one touches, in order; `notes`: the fault, and when"
    legend: tuple[Evidence, ...] = ()
    "what the letters of the evidence mean"
    fault_neighbours: tuple[FaultNeighbours, ...] = ()
    "the way on within each fault that has other entries"
    sealed: SealedView | None = None
    "None: nothing is to be said of it"


TEMPORARY = "faults.html#temporary"
"Where every temporary repair is listed."


def make_entry(context: PageContext, entry: Entry, *, before: Entry | None, after: Entry | None) -> EntryView:
    """The finished page of one entry, with its neighbours in time."""
    story = context.stories[entry.name]
    photos = context.photos.get(entry.name, {})
    pairs = tuple(list_pairs(context, entry.name))
    paired = frozenset(file for _, files in pairs for file in files)
    # First, as the legend has to know which letters stand on the page.
    returned = tuple(_describe_returned(context, item) for item in entry.returned)
    fitted = tuple(_describe_fitted(context, item) for item in entry.fitted)
    serviced = tuple(_list_serviced(context, entry))
    return EntryView(
        frame=make_frame(
            context,
            entry_href(entry.name),
            context.owner_text(entry.title),
            context.owner_text(story.lead or entry.title),
        ),
        title=context.owner_text(entry.title),
        margin=context.margin(entry.name),
        milestone=context.owner_text(entry.milestone),
        systems=context.system_links(entry.systems),
        story=story.html,
        story_language=context.words_language,
        # A picture in the story stands where the owner put it, and not a second time below.
        photos=tuple(photo.below() for file, photo in photos.items() if file not in paired | {*story.photos}),
        pairs=tuple(pair for pair, _ in pairs),
        prices=context.prices,
        costs=tuple(_list_costs(context, entry)),
        orders=describe_orders(context, entry),
        returned=returned,
        sold=tuple(_describe_sold(context, item) for item in entry.sold),
        arrived=tuple(act for item in entry.arrived for act in _list_arrived(context, item)),
        paid=tuple(_describe_order(context, item.ref, None) for item in entry.paid),
        fitted=fitted,
        removed=tuple(_describe_removed(context, item) for item in entry.removed),
        scrapped=tuple(_describe_scrapped(context, item) for item in entry.scrapped),
        serviced=serviced,
        measured=tuple(describe_measured(context, item) for item in entry.measured),
        faults=tuple(list_named(context, entry)),
        checks=tuple(list_checks(context, entry)),
        fixed=tuple(list_fixed(context, entry)),
        tightened=tuple(describe_tightened(context, item) for item in entry.tightened),
        temporary=tuple(_list_temporary(context, entry)),
        made_good=tuple(
            Act(what=Link(text=_name_made_good(context, key, entry), href=TEMPORARY)) for key in entry.made_good
        ),
        stripped=tuple(context.strip_down_name(key) for key in entry.stripped),
        refitted=tuple(context.strip_down_name(key) for key in entry.refitted),
        meter=_describe_meter(context, entry),
        plans=tuple(list_plans(context, entry)),
        next=tuple(context.owner_text(planned.what) for planned in entry.next),
        before=context.entry_link(before.name) if before else None,
        after=context.entry_link(after.name) if after else None,
        same_fault=tuple(list_same_fault(context, entry)),
        legend=list_legend(context, (act.evidence for act in (*returned, *fitted, *serviced))),
        fault_neighbours=tuple(list_neighbours(context, entry)),
        sealed=describe_sealed(context, entry),
    )


def _notes(*notes: str | None) -> tuple[str, ...]:
    return tuple(note for note in notes if note)


def _list_costs(context: PageContext, entry: Entry) -> Iterator[Sum]:
    """What the entry moved; nothing where money is hidden or none moved."""
    moved = context.figures.costs.moved_by_entry.get(entry.name)
    if moved is None:
        return
    say = context.words.say
    amounts = (
        (say("Paid"), context.entry_money(entry.name, moved.paid, "paid") if moved.paid else ""),
        (say("Refunds"), context.entry_money(entry.name, -moved.refunded, "refund") if moved.refunded else ""),
        (say("Recovered"), context.entry_money(entry.name, -moved.recovered, "sold") if moved.recovered else ""),
        (say("Committed"), context.entry_money(entry.name, moved.committed, "committed") if moved.committed else ""),
    )
    yield from (Sum(name=name, amount=amount) for name, amount in amounts if amount)


def _list_temporary(context: PageContext, entry: Entry) -> Iterator[Act]:
    for item in entry.temporary:
        until = item.until and context.words.say("until: %(what)s", what=context.owner_text(item.until))
        yield Act(what=Link(text=context.owner_text(item.what), href=TEMPORARY), notes=_notes(until))


def _name_made_good(context: PageContext, key: str, entry: Entry) -> str:
    """What a temporary repair was that the entry ended; its name may have been used before."""
    mine = (one.what for one in context.figures.temporary if one.key == key and one.made_good_in == entry.name)
    return context.owner_text(next(mine, plain_name(key)))


def _describe_fitted(context: PageContext, item: Fitted) -> Act:
    instead, say = item.instead_of, context.words.say
    if instead == ORIGINAL:
        replaced = say("replacing the original")
    else:
        replaced = say("replacing %(part)s", part=context.part_link(instead).text) if instead else ""
    return Act(
        what=context.named_part(item.part, item.name),
        qty=_some(context, item.qty, item.part),
        notes=_notes(
            context.owner_text(item.at),
            replaced,
            say("as planned") if item.planned else None,
            say_choice(context.words, item.spec),
            context.owner_text(item.note),
            context.words.hours(item.hours) if item.hours else None,
        ),
        evidence=evidence_of(context, item.place),
    )


def _describe_removed(context: PageContext, item: Removed) -> Act:
    return Act(
        what=context.named_part(item.part, item.name),
        qty=_some(context, item.qty, item.part),
        notes=_notes(
            context.owner_text(item.at),
            context.owner_text(item.why),
            say_choice(context.words, item.fate),
            context.owner_text(item.shelf),
            _say_warranty(context, item),
        ),
    )


def _say_warranty(context: PageContext, item: Removed) -> str:
    """`within its warranty until 16 May 2026`: what failed so early can be claimed."""
    failed = [failure.until for failure in context.figures.failures if failure.place == item.place]
    return context.words.say("within its warranty until %(day)s", day=context.words.day(max(failed))) if failed else ""


def _describe_scrapped(context: PageContext, item: Scrapped) -> Act:
    return Act(
        what=context.named_part(item.part, item.name),
        qty=_some(context, item.qty, item.part),
        notes=_notes(context.owner_text(item.why)),
    )


def _describe_sold(context: PageContext, item: Sold) -> Act:
    # A name without a key is a part that the machine came with; `what` is anything else, such as a box of bolts.
    part = item.part or (ORIGINAL if item.name else None)
    what = context.named_part(part, item.name) if part else Link(text=context.owner_text(item.what))
    return Act(
        what=what,
        qty=_some(context, item.qty, item.part),
        notes=_notes(context.line_money(context.home_money(item.price))),
    )


def _describe_returned(context: PageContext, item: Returned) -> Act:
    what = context.part_link(item.part) if item.part else Link(text=context.order_name(item.ref))
    words, back = context.words, ""
    # Says which of them came back; how much is among the entry's costs, which may be hidden.
    if item.core:
        # TRANSLATORS: what was given back: a core charge is the deposit on an old unit
        back = words.say("core charge and price back") if item.refund else words.say("core charge back")
    elif item.refund:
        back = words.say("price back")
    gone = item.cancelled or 0
    return Act(
        what=what,
        # Money back on a whole order, or off its price, is for no number of parts.
        qty=_some(context, item.qty, item.part) if item.qty else "",
        notes=_notes(
            back,
            words.say_count("%(number)s will never come", "%(number)s will never come", gone, number=words.number(gone))
            if gone
            else None,
            context.owner_text(item.why),
            context.order_name(item.ref) if item.part else None,
        ),
        evidence=evidence_of(context, item.place),
    )


def _list_arrived(context: PageContext, item: Arrival) -> Iterator[Act]:
    """What came of an earlier order: each line with how many, where that is written."""
    for part, qty in item.lines.items():
        yield replace(_describe_order(context, item.ref, part), qty=_some(context, qty, part))
    if not item.lines:
        yield _describe_order(context, item.ref, item.part)


def _describe_order(context: PageContext, ref: str, part: str | None) -> Act:
    # An order that is told of later than the site's day has no page to lead to yet.
    stated_in, name = context.orders.get(ref), context.order_name(ref)
    what = context.part_link(part) if part else Link(text=name, href=entry_href(stated_in) if stated_in else "")
    # TRANSLATORS: part of an order
    return Act(what=what, notes=_notes(context.words.say("of %(order)s", order=name) if part else None))


def _list_serviced(context: PageContext, entry: Entry) -> Iterator[Act]:
    for done in entry.serviced:
        parts = context.words.join([context.part_link(key).text for key in done.parts])
        reading = context.reading_at(done.field_place("reading")) if done.reading else ""
        # TRANSLATORS: the parts that a service took
        used = context.words.say("with %(parts)s", parts=parts) if parts else ""
        yield Act(
            what=context.item_link(done.item),
            notes=_notes(context.doer(done.who), used, context.owner_text(done.note), reading),
            evidence=evidence_of(context, done.place),
        )


def _describe_meter(context: PageContext, entry: Entry) -> str:
    """What happened to the meter itself: that it passed its last digit, that it was changed, what follows."""
    meter, change = context.figures.meter, entry.meter_changed
    # By place, as a day may have two entries.
    rolled = entry.field_place("rollover") if entry.rollover else None
    steps = [step for step in meter.steps if step.place in (rolled, change and change.place)]
    sentences = [say_step(context, step) for step in steps]
    if steps and steps[-1].offset:
        # The last one's offset holds those before it.
        offset, say = steps[-1].offset, context.words.say
        far = context.distance(abs(offset))
        less = say("From here on the meter shows %(distance)s less than the true total.", distance=far)
        more = say("From here on the meter shows %(distance)s more than the true total.", distance=far)
        sentences.append(less if offset > 0 else more)
    return " ".join(sentences)


def _some(context: PageContext, qty: Decimal, part: str | None) -> str:
    """How many of a part, in its unit; nothing for one of a thing that is counted in pieces."""
    # "× 1" would stand on nearly every line; "1 m" of hose says something.
    known = context.parts.get(part or "")
    unit = known.unit if known else None
    return "" if qty == 1 and not unit else context.quantity(qty, unit)
