"""What each page of the site is given: one frozen value a page, finished down to the last word.

A template named by the view's `TEMPLATE` is rendered with `view` (the value), `frame` (its `frame`) and `root` (the
frame's `root`). It loops, includes and tests for presence; every amount, date, count and sentence about the log comes
finished from here. A view is hashable, so that an unchanged page can be known without rendering it.

The small values that pages share, and how addresses are written, stand in `pieces.py`, what surrounds a page in
`frame.py`, the large pages in `view_….py`. Figures come from `reckon`; nothing here holds a rule. Fields are only
ever added.
"""

from __future__ import annotations

from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.site.frame import Frame
from buildlog.site.pieces import (
    DueRow,
    EntryCard,
    Fact,
    FaultRow,
    Link,
    Milestone,
    PostRow,
    Prices,
    Sum,
    TemporaryRow,
    When,
)
from buildlog.site.view_costs import CostsView
from buildlog.site.view_entry import EntryView
from buildlog.site.view_faults import FaultsView
from buildlog.site.view_parts import PartsView
from buildlog.site.view_record import RecordView
from buildlog.site.view_service import ServiceView


@frozen
class FrontView:
    """What is this machine, where does it stand, what happened last?"""

    TEMPLATE: ClassVar[str] = "front.html"
    frame: Frame
    machine: str
    "the owner's name for it"
    model: str = ""
    "one line: `Harrow Drover 2500, road vehicle, 1991`"
    identity: tuple[Fact, ...] = ()
    "masked as the owner decided: VIN, registration, engine number"
    prices: Prices
    money: tuple[Sum, ...] = ()
    "spent, recovered, net; empty when hidden"
    standing: tuple[Fact, ...] = ()
    "own hours, latest reading, entries, the span they cover; each value short enough for the margin"
    due: tuple[DueRow, ...] = ()
    "overdue, due and unknown items, then the next one"
    has_plan: bool = False
    "whether the log states service intervals at all"
    post: tuple[PostRow, ...] = ()
    faults: tuple[FaultRow, ...] = ()
    "those that nothing has proved gone, least known first"
    faults_count: str = ""
    "`3 open`, `none open`; empty: no fault was ever named"
    temporary: tuple[TemporaryRow, ...] = ()
    latest: tuple[EntryCard, ...] = ()
    "at most three, newest first"
    milestones: tuple[Milestone, ...] = ()
    "oldest first"
    next: tuple[str, ...] = ()
    "what the last entry says comes next"
    next_from: Link | None = None
    "that entry"


@frozen
class Month:
    """One month of the timeline."""

    when: When
    "`2024-05`, `May 2024`; its anchor is `m-2024-05`"
    entries: tuple[EntryCard, ...]
    hours: str = ""
    cost: str = ""
    "spent less recovered in the month; empty when hidden"


@frozen
class SystemList:
    """The entries of one system."""

    key: str
    "short name, as in `EntryCard.system_keys`; its anchor is `system-KEY`"
    name: str
    entries: tuple[EntryCard, ...]


@frozen
class TimelineView:
    """What happened, in order?"""

    TEMPLATE: ClassVar[str] = "timeline.html"
    frame: Frame
    prices: Prices
    span: str = ""
    "`41 entries from 3 February 2024 to 9 November 2024`"
    months: tuple[Month, ...] = ()
    "oldest first, as are the entries in each"
    systems: tuple[SystemList, ...] = ()
    "systems with at least one entry, in the owner's order"
    milestones: tuple[Milestone, ...] = ()


View = FrontView | TimelineView | EntryView | CostsView | PartsView | FaultsView | ServiceView | RecordView
"a whole page"

__all__ = [
    "CostsView",
    "EntryView",
    "FaultsView",
    "Frame",
    "FrontView",
    "Month",
    "PartsView",
    "RecordView",
    "ServiceView",
    "SystemList",
    "TimelineView",
    "View",
]
