"""What is still open, as several pages list it: faults, repairs, what is due, in the post, planned or wanted."""

from __future__ import annotations

from collections.abc import Iterable

from buildlog.arithmetic import round_half_up
from buildlog.compute.access import TemporaryFigures
from buildlog.compute.costs.plan import WantedFigures
from buildlog.compute.faults.faults import FaultFigures
from buildlog.compute.parts.deadlines import Deadline, DeadlineKind
from buildlog.compute.parts.suppliers import InThePost
from buildlog.compute.plans import PlanItem
from buildlog.compute.service.due_status import Due, ServiceState
from buildlog.compute.service.rechecks import RecheckFigures
from buildlog.frozen import frozen
from buildlog.render.addresses import entry_href
from buildlog.render.pages.choices import say_choice
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.hunt import MARKS, say_state
from buildlog.render.pieces import DueRow, FaultRow, Link, PostRow, State, TemporaryRow, When
from buildlog.text import to_say

STATES: dict[ServiceState, State] = {
    "overdue": "overdue",
    "due": "due",
    "history unknown": "unknown",
    "later": "later",
}
"The theme's names of the states."


def list_due(context: PageContext) -> tuple[DueRow, ...]:
    """Every service item and every fastener to be checked again, most pressing first."""
    return tuple(show_due(context, item) for item in context.figures.due)


def show_due(context: PageContext, item: Due) -> DueRow:
    """One of them."""
    use = context.figures.meter.use
    forecast = ""
    # For what is overdue, the forecast would lie in the past.
    if item.forecast and use.per_day is not None and item.state != "overdue":
        unit = context.figures.meter.unit or ""
        # With the use that it rests on, so that a reader can judge whether it will go on like that.
        per_day = context.words.measure(round_half_up(use.per_day, 1), unit)
        month = context.words.month(item.forecast)
        # TRANSLATORS: when service falls due, as about March 2025 at 14 mi a day
        forecast = context.words.say("about %(month)s at %(distance)s a day", month=month, distance=per_day)
    return DueRow(
        item=_link(context, item),
        state=STATES[item.state],
        state_text=say_due_state(context, item),
        when=context.when(item.due_date) if item.due_date else None,
        reading=context.total(item.due_total, item.due_reading),
        forecast=forecast,
    )


RUNS_OUT: dict[DeadlineKind, str] = {
    "warranty": to_say("warranty ends"),
    "return": to_say("last day to send it back"),
    "core": to_say("old unit to hand in"),
}
"What a deadline is, in the site's words."


def list_deadlines(context: PageContext) -> tuple[DueRow, ...]:
    """What runs out within the notice, or is over and still to be done, by date."""
    return tuple(
        DueRow(
            item=context.part_link(item.part, item.name)
            if item.part
            else Link(text=context.item_name(item.name), href=entry_href(item.entry)),
            state="overdue" if item.state == "overdue" else "due",
            state_text=f"{context.words.say(RUNS_OUT[item.kind])}, {say_days_left(context, item)}",
            when=context.when(item.until),
        )
        for item in context.figures.deadlines
        if item.state != "later"
    )


def say_days_left(context: PageContext, item: Deadline) -> str:
    """`in 12 days`, `today`, `overdue by 3 days`"""
    if not item.days_left:
        return context.words.say("today")
    days, say = context.words.span(abs(item.days_left)), context.words.say
    return say("in %(time)s", time=days) if item.days_left > 0 else say("overdue by %(time)s", time=days)


def _link(context: PageContext, item: Due) -> Link:
    """A service item's history; of a recheck the entry that asks for it."""
    if isinstance(item, RecheckFigures):
        name = context.words.say("%(what)s: check again", what=context.owner_text(item.what))
        return Link(text=name, href=f"{entry_href(item.entry)}#tightened")
    return context.item_link(item.key)


def say_due_state(context: PageContext, item: Due) -> str:
    """`overdue by 41 days`, `due within 600 mi`, `history unknown`."""
    say = context.words.say
    # Never shown as fine: not to know when a timing belt was changed is as bad as to know that it is late.
    if item.state == "history unknown":
        return say("history unknown: treat as due")
    left = _say_left(context, item)
    if not left:
        return say_choice(context.words, item.state)
    if item.state == "overdue":
        return say("overdue by %(time)s", time=left)
    return say("due within %(time)s", time=left) if item.state == "due" else say("in %(time)s", time=left)


def _say_left(context: PageContext, item: Due) -> str:
    """How far it is to the limit that comes first, either way."""
    # By the limit that comes first; the other may be years away.
    if item.reason == "date" and item.days_left is not None:
        return context.words.span(abs(item.days_left), at_most=item.state == "due") if item.days_left else ""
    if item.reason == "reading" and item.distance_left is not None:
        return context.distance(abs(item.distance_left)) if item.distance_left else ""
    return ""


def list_post(context: PageContext, items: Iterable[InThePost]) -> tuple[PostRow, ...]:
    """Order lines that were ordered by the day and have not arrived, in the order given."""
    rows = []
    for item in items:
        rows.append(
            PostRow(
                # What is no part has no history, and leads to the entry that ordered it.
                what=context.part_link(item.key, item.name)
                if item.key
                else Link(text=context.item_name(item.name), href=entry_href(item.entry)),
                qty="" if item.qty == 1 and not item.unit else context.quantity(item.qty, item.unit),
                supplier=context.supplier(item.supplier),
                ref=context.order_ref(item.ref),
                ordered=context.when(item.ordered),
                waiting=context.words.span(item.days),
                amount=context.line_money(item.landed) if item.landed is not None else "",
                paid=item.paid,
            )
        )
    return tuple(rows)


def list_open_faults(context: PageContext) -> tuple[FaultRow, ...]:
    """Every fault without a proof, least known first."""
    # Closed by a proof, not by a fix.
    return list_faults(context, (fault for fault in context.figures.faults.faults if fault.closed is None))


def list_faults(context: PageContext, faults: Iterable[FaultFigures]) -> tuple[FaultRow, ...]:
    """Some faults, in the order given; a closed one tells when that was, and not how old it is."""
    words, say = context.words, context.words.say
    return tuple(
        FaultRow(
            fault=context.fault_link(fault.key),
            state=MARKS[fault.state],
            state_text=_say_known(context, fault),
            since=context.when(fault.opened),
            entry=context.entry_link(fault.opened_in),
            age=say("until %(day)s", day=words.day(fault.closed)) if fault.closed else words.span(fault.days_open),
        )
        for fault in faults
    )


def _say_known(context: PageContext, fault: FaultFigures) -> str:
    """`cause known: Stop solenoid`"""
    state = say_state(context.words, fault)
    return f"{state}: {context.owner_text(fault.cause_name)}" if fault.state == "cause known" else state


def count_temporary(context: PageContext) -> int:
    """How many temporary repairs are still there."""
    return sum(measure.made_good is None for measure in context.figures.temporary)


def say_rest(context: PageContext, number: int, shown: int, href: str) -> Link | None:
    """`and 12 more`, leading to where all are; None where all are shown."""
    return Link(text=context.words.more(number - shown), href=href) if number > shown else None


def list_temporary(context: PageContext, measures: Iterable[TemporaryFigures]) -> tuple[TemporaryRow, ...]:
    """Those of some temporary repairs that were not made good, in the order given."""
    return tuple(
        TemporaryRow(
            what=context.owner_text(measure.what),
            until=context.owner_text(measure.until),
            since=context.when(measure.since),
            entry=context.entry_link(measure.entry),
            age=context.words.span(measure.days),
        )
        for measure in measures
        if measure.made_good is None
    )


@frozen
class MadeGoodRow:
    """A temporary repair that has ended."""

    what: str
    "in the owner's words"
    since: When
    "the day it was fitted"
    until: When
    "the day it was made good"
    entry: Link
    "that ended it"
    age: str = ""
    "how long it lasted: `112 days`"


def list_made_good(context: PageContext, measures: Iterable[TemporaryFigures]) -> tuple[MadeGoodRow, ...]:
    """Those of some temporary repairs that ended, in the order given."""
    # Those that ended stay on the page: how long something temporary lasted is part of the story.
    return tuple(
        MadeGoodRow(
            what=context.owner_text(measure.what),
            since=context.when(measure.since),
            until=context.when(measure.made_good),
            entry=context.entry_link(measure.made_good_in),
            age=context.words.span(measure.days),
        )
        for measure in measures
        if measure.made_good and measure.made_good_in
    )


# ── what was planned ─────────────────────────────────────────────────────────────────────────────────────────────


@frozen
class ItemRow:
    """One thing to do next, or one that has ended."""

    what: str
    "in the owner's words"
    since: When
    "the day of the entry that says it"
    entry: Link
    "that entry"
    age: str = ""
    "`112 days`; of what has ended, how long it was open"
    ended: When | None = None
    "the day on which it was done or dropped; None: it is open"
    ended_in: Link | None = None
    "the entry that says so"
    how: str = ""
    "`done` or `dropped`; empty: it is open"


@frozen
class WantedRow:
    """Something that is wanted and not ordered yet."""

    what: Link
    "leads to the part, or to the entry"
    qty: str = ""
    "empty for one"
    system: str = ""
    "the system it is for; empty: none is named"
    supplier: str = ""
    "who has it; empty: not stated, or hidden"
    amount: str = ""
    "about what it will cost; empty unless prices are shown, and where it is not stated"
    entry: Link | None = None
    "the entry that wants it; None: it stands in log.yaml"
    since: When | None = None
    "the day of that entry"


def describe_items(context: PageContext, items: Iterable[PlanItem]) -> tuple[ItemRow, ...]:
    """Some `next:` items, open or ended, in the order given."""
    return tuple(
        ItemRow(
            what=context.owner_text(item.what),
            since=context.when(item.since),
            entry=context.entry_link(item.entry),
            age=context.words.span(item.days),
            ended=context.when(item.ended) if item.ended else None,
            ended_in=context.entry_link(item.ended_in) if item.ended_in else None,
            how="" if item.state == "open" else say_choice(context.words, item.state),
        )
        for item in items
    )


def describe_wanted(context: PageContext, wanted: Iterable[WantedFigures]) -> tuple[WantedRow, ...]:
    """Some things that are wanted, in the order given."""
    return tuple(
        WantedRow(
            # What was never bought has no history yet.
            what=context.part_link(item.part, item.what) if item.part else Link(text=context.owner_text(item.what)),
            qty="" if item.qty == 1 else context.quantity(item.qty),
            system=context.system_name(item.system) if item.system else "",
            supplier=context.supplier(item.supplier),
            amount=context.line_money(item.about) if item.about is not None else "",
            entry=context.entry_link(item.entry) if item.entry else None,
            since=context.when(item.since) if item.since else None,
        )
        for item in wanted
    )
