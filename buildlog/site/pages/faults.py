"""The page of faults: what is wrong, what it can still be, where to look next, what is apart or fitted for now."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.reckon.apart.apart import reckon_apart
from buildlog.site.pages.apart import describe_apart, list_again
from buildlog.site.pages.edition import Edition
from buildlog.site.pages.framing import make_frame
from buildlog.site.pages.hunt import describe_fault
from buildlog.site.pages.open_work import list_temporary
from buildlog.site.view_faults import FaultsView, FaultView, MadeGoodRow
from buildlog.site.words import count


def make_faults(edition: Edition) -> FaultsView:
    """The finished page."""
    figures = edition.figures
    described = tuple(_describe_all(edition))
    open_now = tuple(fault for fault in described if fault.state != "proved")
    closed = tuple(fault for fault in described if fault.state == "proved")
    description = f"Faults of {edition.title}: symptoms, suspects, checks, causes, fixes and what proved them."
    return FaultsView(
        frame=make_frame(edition, "faults.html", "Faults", description),
        prices=edition.prices,
        count=_say_count(len(open_now), len(closed)),
        open=open_now,
        closed=closed,
        apart=describe_apart(edition, reckon_apart(figures)),
        again=tuple(list_again(edition)),
        again_hours=edition.words.hours(figures.strip_downs.again_hours) if figures.strip_downs.again_hours else "",
        temporary=list_temporary(edition),
        made_good=tuple(_list_made_good(edition)),
    )


def _describe_all(edition: Edition) -> Iterator[FaultView]:
    for fault in edition.figures.faults.faults:
        yield describe_fault(edition, fault, edition.figures.looks.get(fault.key))


def _say_count(open_now: int, closed: int) -> str:
    if not open_now and not closed:
        return ""
    return f"{count(open_now + closed, 'fault')}: {open_now} open, {closed} proved gone"


def _list_made_good(edition: Edition) -> Iterator[MadeGoodRow]:
    for measure in edition.figures.temporary:
        if measure.made_good and measure.made_good_in:
            yield MadeGoodRow(
                what=edition.said(measure.what),
                since=edition.when(measure.since),
                until=edition.when(measure.made_good),
                entry=edition.entry_link(measure.made_good_in),
                age=count(measure.days, "day"),
            )
