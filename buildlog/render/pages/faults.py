"""The page of faults: what is wrong, what it can still be, where to look next, what is apart or fitted for now."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from buildlog.compute.while_apart import compute_apart
from buildlog.frozen import frozen
from buildlog.render.pages.apart import AgainRow, ApartView, describe_apart, list_again
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.hunt import FaultView, describe_fault
from buildlog.render.pages.open_work import list_temporary
from buildlog.render.pieces import Link, Prices, TemporaryRow, When
from buildlog.render.words import count


@frozen
class MadeGoodRow:
    """A temporary measure that has ended."""

    what: str
    since: When
    until: When
    entry: Link
    "that ended it"
    age: str = ""
    "how long it lasted: `112 days`"


@frozen
class FaultsView:
    """What is wrong, what can it still be, where to look next, and what is apart or fitted only for now?"""

    TEMPLATE: ClassVar[str] = "faults.html"
    frame: Frame
    prices: Prices
    count: str = ""
    "`7 faults: 3 open, 4 closed`; empty: none was ever named"
    open: tuple[FaultView, ...] = ()
    "not closed, least known first; a fix without a proof is among them"
    closed: tuple[FaultView, ...] = ()
    "with a proof, closed last first"
    apart: ApartView = ApartView()
    again: tuple[AgainRow, ...] = ()
    again_hours: str = ""
    "of all of them"
    temporary: tuple[TemporaryRow, ...] = ()
    "those still there"
    made_good: tuple[MadeGoodRow, ...] = ()


def make_faults(context: PageContext) -> FaultsView:
    """The finished page."""
    figures = context.figures
    described = tuple(_describe_all(context))
    open_now = tuple(fault for fault in described if fault.state != "proved")
    closed = tuple(fault for fault in described if fault.state == "proved")
    description = f"Faults of {context.title}: symptoms, suspects, checks, causes, fixes and what proved them."
    return FaultsView(
        frame=make_frame(context, "faults.html", "Faults", description),
        prices=context.prices,
        count=_say_count(len(open_now), len(closed)),
        open=open_now,
        closed=closed,
        apart=describe_apart(context, compute_apart(figures)),
        again=tuple(list_again(context)),
        again_hours=context.words.hours(figures.strip_downs.again_hours) if figures.strip_downs.again_hours else "",
        temporary=list_temporary(context),
        made_good=tuple(_list_made_good(context)),
    )


def _describe_all(context: PageContext) -> Iterator[FaultView]:
    for fault in context.figures.faults.faults:
        yield describe_fault(context, fault, context.figures.next_checks.get(fault.key))


def _say_count(open_now: int, closed: int) -> str:
    if not open_now and not closed:
        return ""
    return f"{count(open_now + closed, 'fault')}: {open_now} open, {closed} confirmed fixed"


def _list_made_good(context: PageContext) -> Iterator[MadeGoodRow]:
    for measure in context.figures.temporary:
        if measure.made_good and measure.made_good_in:
            yield MadeGoodRow(
                what=context.said(measure.what),
                since=context.when(measure.since),
                until=context.when(measure.made_good),
                entry=context.entry_link(measure.made_good_in),
                age=count(measure.days, "day"),
            )
