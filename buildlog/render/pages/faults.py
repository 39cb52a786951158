"""The page of faults: what is wrong, what it can still be, where to look next, what is stripped or a temporary repair.

It also shows what else can be reached while something is off, and what was opened more than once.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import ClassVar

from buildlog.compute.strip_downs import StripDownFigures
from buildlog.compute.while_apart import ApartFigures, Missing, Opening, Reach, ReachKind, compute_apart
from buildlog.frozen import frozen
from buildlog.render.pages.choices import say_choice
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.hunt import FaultView, describe_fault
from buildlog.render.pages.long_lists import list_fault_pages, list_pages, pick_few
from buildlog.render.pages.open_work import MadeGoodRow, list_faults, list_made_good, list_temporary
from buildlog.render.pages.periods import OPEN_FAULTS, WHOLE_FAULTS
from buildlog.render.pieces import FaultRow, Link, Prices, TemporaryRow, When
from buildlog.text import to_say


@frozen
class OpeningRow:
    """One strip-down that is off."""

    name: str
    "the strip-down, as the owner calls it"
    hours: str
    "to take it off and put it back"
    since: When | None = None
    "None: it is on, and would have to come off"
    entry: Link | None = None
    "that took it off"


@frozen
class ReachRow:
    """One thing to do while it is apart."""

    kind: str
    "`suspect`, `cause`, `fix to prove`, `service`, `fitted for now`, `on the shelf`"
    what: Link
    "leads to the fault, the service item, the part or the entry"
    note: str = ""
    "why: the fault, how pressing, how many"
    hours: str = ""
    "to check it"


@frozen
class MissingRow:
    """One part that the shelf lacks to do it all."""

    part: Link
    "leads to its history"
    number: str = ""
    "the maker's number; empty: none known"
    lacks: str
    "`2`"
    note: str = ""
    "what wants it, and how many are in the post"


@frozen
class ApartView:
    """What is apart, and what else is within reach while it is."""

    openings: tuple[OpeningRow, ...] = ()
    "empty: nothing is off"
    reach: tuple[ReachRow, ...] = ()
    "fault by fault, then service, temporary repairs and the shelf; empty: nothing else is known of"
    saved: str = ""
    "`2.2 h saved against separate visits: 3 h instead of 5.2 h`; empty: nothing to save"
    missing: tuple[MissingRow, ...] = ()
    "empty: the shelf has all of it"


@frozen
class AgainRow:
    """A strip-down that was taken off more than once."""

    name: str
    "the strip-down, as the owner calls it"
    hours: str
    "spent on every time but the first"
    times: tuple[Link, ...]
    "the entries that took it off, in order"


KINDS: dict[ReachKind, str] = {
    "suspect": to_say("to check"),
    "cause": to_say("to repair"),
    "fix": to_say("to confirm"),
    # TRANSLATORS: a job of service, beside: to check, to repair
    "service": to_say("service"),
    "temporary": to_say("to make good"),
    "shelf": to_say("on the shelf"),
}
"What each kind of thing within reach is called."


def describe_apart(context: PageContext, apart: ApartFigures) -> ApartView:
    """What is off now, and all that is worth doing before it goes back."""
    words = context.words
    saved = ""
    if apart.saved_hours:
        saved = words.say(
            "%(saved)s saved: %(together)s of stripping and refitting in one go, %(separate)s one job at a time",
            saved=words.hours(apart.saved_hours),
            together=words.hours(apart.together_hours),
            separate=words.hours(apart.separate_hours),
        )
    # Openings may also be planned ones, and so do not know the entry that took them off.
    offs = {item.key: item for item in context.figures.strip_downs.strip_downs}
    return ApartView(
        openings=tuple(_describe_opening(context, opening, offs[opening.key]) for opening in apart.openings),
        reach=tuple(_describe_reach(context, reach) for reach in apart.reach),
        saved=saved,
        missing=tuple(_describe_missing(context, missing) for missing in apart.missing),
    )


def list_again(context: PageContext) -> Iterator[AgainRow]:
    """Strip-downs that came off more than once."""
    for item in context.figures.strip_downs.strip_downs:
        # The first time is the job itself; hours from the second on might have been saved.
        if len(item.visits) > 1:
            times = tuple(context.entry_link(visit.off_in) for visit in item.visits)
            yield AgainRow(name=context.owner_text(item.name), hours=context.words.hours(item.again_hours), times=times)


def _describe_opening(context: PageContext, opening: Opening, item: StripDownFigures) -> OpeningRow:
    return OpeningRow(
        name=context.owner_text(opening.name),
        hours=context.words.hours(opening.hours),
        since=context.when(opening.off_since) if opening.off_since else None,
        entry=context.entry_link(item.off_in) if item.off_in else None,
    )


def _describe_reach(context: PageContext, reach: Reach) -> ReachRow:
    return ReachRow(
        kind=context.words.say(KINDS[reach.kind]),
        what=_link_reach(context, reach),
        note=_say_why(context, reach),
        hours=context.words.hours(reach.hours) if reach.hours is not None else "",
    )


def _link_reach(context: PageContext, reach: Reach) -> Link:
    # A suspect, a cause and a fix all lead to their fault, where the rest is told.
    if reach.fault:
        return context.fault_link(reach.fault, reach.name)
    if reach.kind == "service":
        return context.item_link(reach.key)
    if reach.kind == "shelf":
        return context.part_link(reach.key, reach.name)
    return Link(text=context.owner_text(reach.name), href=context.entry_link(reach.entry).href if reach.entry else "")


def _say_why(context: PageContext, reach: Reach) -> str:
    words = context.words
    day, say = words.day, words.say
    some = context.quantity(reach.qty) if reach.qty is not None and reach.qty != 1 else ""
    phrases = (
        context.owner_text(reach.fault_name),
        say("done on %(day)s", day=day(reach.since)) if reach.kind == "fix" and reach.since else None,
        say_choice(words, reach.state),
        say("due on %(day)s", day=day(reach.due_on)) if reach.due_on else None,
        say("since %(day)s", day=day(reach.since)) if reach.kind == "temporary" and reach.since else None,
        words.say_count("%(number)s of them", "%(number)s of them", reach.qty or 0, number=some) if some else None,
    )
    return ", ".join(filter(None, phrases))


def _describe_missing(context: PageContext, missing: Missing) -> MissingRow:
    # Named but not counted: nobody knows whether it arrives in time.
    words, number = context.words, missing.in_the_post
    post = words.say_count("%(number)s in the post", "%(number)s in the post", number, number=context.quantity(number))
    why = words.join([_say_wanted(context, reason) for reason in missing.why])
    return MissingRow(
        part=context.part_link(missing.part, missing.name),
        number=context.owner_text(missing.number),
        lacks=context.quantity(missing.lacks),
        note=", ".join(filter(None, [why, post if number else ""])),
    )


def _say_wanted(context: PageContext, reason: str) -> str:
    """`service KEY`, `cause KEY`, `temporary KEY` or `single use KEY` in readers' words."""
    # From the right: a kind may be two words (`single use`), a key is one.
    sort, _, key = reason.rpartition(" ")
    say = context.words.say
    if sort == "service":
        # TRANSLATORS: a part is wanted for a job of service
        return say("for %(job)s", job=context.item_link(key).text)
    if sort == "cause":
        return say("to replace %(name)s", name=context.component_name(key))
    if sort == "temporary":
        return say("to replace the temporary repair")
    return say("single use, behind %(name)s", name=context.strip_down_name(key))


@frozen
class FaultsView:
    """What is wrong, what can it still be, where to look next, and what is apart or fitted only for now?"""

    TEMPLATE: ClassVar[str] = "faults.html"
    frame: Frame
    "what surrounds the page"
    prices: Prices
    "what of the money is public"
    count: str = ""
    "`7 faults: 3 open, 4 closed`; empty: none was ever named"
    open: tuple[FaultView, ...] = ()
    "not closed, least known first; a fix without a proof is among them"
    closed: tuple[FaultView, ...] = ()
    "with a proof, closed last first"
    apart: ApartView = ApartView()
    "what is off as of the site's day"
    again: tuple[AgainRow, ...] = ()
    "in the order of `log.yaml`"
    again_hours: str = ""
    "of all of them"
    temporary: tuple[TemporaryRow, ...] = ()
    "those still there"
    more_temporary: tuple[Link, ...] = ()
    "the pages that have all of them, where they are many; else empty"
    made_good: tuple[MadeGoodRow, ...] = ()
    "those that ended"
    more_made_good: tuple[Link, ...] = ()
    "as with those still there"
    open_rows: tuple[FaultRow, ...] = ()
    "the latest open faults, where their stories are on other pages"
    more_open: str = ""
    "`and 1,850 more`; empty: these are all"
    earliest: tuple[Link, ...] = ()
    "the first faults, which stood on this page while it was short: their anchors lead on; else empty"
    periods: tuple[Link, ...] = ()
    "the pages of faults where they are too many for this one"


def make_faults(context: PageContext) -> FaultsView:
    """The finished page."""
    figures = context.figures
    split, faults = bool(context.fault_periods), figures.faults.faults
    opened = sorted((fault for fault in faults if fault.closed is None), key=lambda fault: fault.opened)
    shown = opened[-OPEN_FAULTS:] if split else []
    described = () if split else tuple(_describe_all(context))
    # A fix that nothing has confirmed stays among the open ones, as those are the faults that come back.
    open_now = tuple(fault for fault in described if fault.state != "proved")
    closed = tuple(fault for fault in described if fault.state == "proved")
    words = context.words
    description = words.say(
        "Faults of %(title)s: symptoms, suspects, checks, causes, fixes and what proved them.", title=context.title
    )
    more = len(opened) - len(shown)
    return FaultsView(
        frame=make_frame(context, "faults.html", words.say("Faults"), description, dated=True),
        prices=context.prices,
        count=_say_count(context, len(opened), len(faults) - len(opened)),
        open=open_now,
        closed=closed,
        apart=describe_apart(context, compute_apart(figures)),
        again=tuple(list_again(context)),
        again_hours=words.hours(figures.strip_downs.again_hours) if figures.strip_downs.again_hours else "",
        temporary=list_temporary(context, pick_few(context, "temporary")),
        more_temporary=tuple(list_pages(context, "temporary").values()),
        made_good=list_made_good(context, pick_few(context, "made good")),
        more_made_good=tuple(list_pages(context, "made good").values()),
        open_rows=list_faults(context, shown[::-1]),
        more_open=words.say_count("and %(number)s more", "and %(number)s more", more, number=words.number(more))
        if more > 0 and split
        else "",
        earliest=_list_earliest(context, {fault.key for fault in shown}) if split else (),
        periods=tuple(list_fault_pages(context).values()),
    )


def _list_earliest(context: PageContext, told: Collection[str]) -> tuple[Link, ...]:
    """No more than ever had room here, each of which takes five rows; without those that are told anyway."""
    earliest = sorted(context.figures.faults.faults, key=lambda fault: fault.opened)[: WHOLE_FAULTS // 5]
    return tuple(context.fault_link(fault.key) for fault in earliest if fault.key not in told)


def _describe_all(context: PageContext) -> Iterator[FaultView]:
    # In the order of the figures, least known first.
    for fault in context.figures.faults.faults:
        yield describe_fault(context, fault, context.figures.next_checks.get(fault.key))


def _say_count(context: PageContext, open_now: int, closed: int) -> str:
    if not open_now and not closed:
        return ""
    return context.words.say_count(
        "%(number)s fault: %(open)s open, %(closed)s confirmed fixed",
        "%(number)s faults: %(open)s open, %(closed)s confirmed fixed",
        open_now + closed,
        open=open_now,
        closed=closed,
    )
