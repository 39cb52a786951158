"""What is still open, as several pages list it: faults that nothing has proved gone, and temporary measures."""

from __future__ import annotations

from buildlog.site.pages.edition import Edition
from buildlog.site.pages.hunt import MARKS, say_state
from buildlog.site.pieces import FaultRow, TemporaryRow
from buildlog.site.words import count


def list_open_faults(edition: Edition) -> tuple[FaultRow, ...]:
    """Every fault without a proof, least known first."""
    return tuple(
        FaultRow(
            fault=edition.fault_link(fault.key),
            state=MARKS[fault.state],
            state_text=say_state(fault)
            + (f": {edition.said(fault.cause_name)}" if fault.state == "cause known" else ""),
            since=edition.when(fault.opened),
            entry=edition.entry_link(fault.opened_in),
            age=count(fault.days_open, "day"),
        )
        for fault in edition.figures.faults.faults
        if fault.closed is None
    )


def list_temporary(edition: Edition) -> tuple[TemporaryRow, ...]:
    """Every temporary measure that was not made good, oldest first."""
    return tuple(
        TemporaryRow(
            what=edition.said(measure.what),
            until=edition.said(measure.until),
            since=edition.when(measure.since),
            entry=edition.entry_link(measure.entry),
            age=count(measure.days, "day"),
        )
        for measure in edition.figures.temporary
        if measure.made_good is None
    )
