"""What the page of one entry is given: the story, and everything that the entry states beside it."""

from __future__ import annotations

from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.site.frame import Frame
from buildlog.site.pieces import Evidence, Fact, Link, Margin, PhotoView, Prices, Sum
from buildlog.site.view_record import SealedView


@frozen
class OrderLine:
    """One line of an order, as the entry's page shows it."""

    what: Link
    "leads to the part's life"
    detail: str = ""
    "maker, number, spec, single use: `Vostrand LP 4410-A · equivalent`"
    qty: str = ""
    "`1`, `5 m`"
    each: str = ""
    "in the order's currency; empty unless prices are shown"
    landed: str = ""
    "in the home currency; empty unless prices are shown"
    note: str = ""
    "`core €45.00 to come back`, `gift, worth £30.00`, `from a sponsor`"


@frozen
class OrderView:
    """One order, as the entry's page shows it."""

    supplier: str = ""
    "empty when hidden"
    ref: str = ""
    dates: tuple[Fact, ...] = ()
    "ordered, paid, arrived; `still in the post`"
    lines: tuple[OrderLine, ...] = ()
    total: str = ""
    "landed in the home currency; empty when money is hidden"
    made_of: str = ""
    "`€272.86 charged as £231.15, duty £14.20`; empty unless prices are shown"
    paper: Link | None = None


@frozen
class Act:
    """One thing done: a part fitted or removed, a check, a temporary measure."""

    what: Link
    qty: str = ""
    "empty for one"
    notes: tuple[str, ...] = ()
    "where, instead of what, why, what became of it, spec, hours: each a few words"
    evidence: Evidence | None = None


@frozen
class Reading:
    """One value off a gauge."""

    where: str
    value: str
    outside: str = ""
    "why it is out of limits: `below 24`; empty: within, or no limits stated"


@frozen
class MeasuredView:
    """One set of values off a gauge."""

    what: str
    unit: str = ""
    values: tuple[Reading, ...]
    verdict: str = ""
    "`within limits`, `spread 12 %, limit 10 %`; empty: no limits stated"
    fails: bool = False
    limits: str = ""
    "`at least 24 bar, spread at most 10 %`"
    note: str = ""
    all_times: Link
    "leads to the same thing in the service history: `2 times, side by side`"


@frozen
class TightenedRow:
    """A fastener tightened to a stated value."""

    what: str
    qty: str = ""
    to: str
    "as the owner wrote it"
    also: tuple[str, ...] = ()
    "the same in other units: `16.2 lbf·ft`"
    method: str = ""
    recheck: str = ""
    "`to be checked again after 50 mi: overdue by 12 mi`, `checked again after 70 days and 190 mi, 140 mi late`"
    rechecked: Link | None = None
    "the entry that did"


@frozen
class FaultTurn:
    """One fault that an entry touches, with the way to its neighbours in the same hunt."""

    fault: Link
    "leads to `faults.html#fault-KEY`"
    state: str = ""
    "`narrowed`, as of this entry; `open, then narrowed` where the entry changed it"
    before: Link | None = None
    "the entry before about the same fault"
    after: Link | None = None
    "the entry after"


@frozen
class EntryView:
    """What was done in one work session, and what did it cost?"""

    TEMPLATE: ClassVar[str] = "entry.html"
    frame: Frame
    title: str
    margin: Margin
    milestone: str = ""
    systems: tuple[Link, ...] = ()
    story: str = ""
    "HTML, already safe"
    story_language: str = ""
    "its `lang`, where that is another than the page's"
    photos: tuple[PhotoView, ...] = ()
    "those that the story does not show itself"
    prices: Prices
    costs: tuple[Sum, ...] = ()
    "what this entry moved: spent, refunded, recovered; empty when hidden or nothing moved"
    orders: tuple[OrderView, ...] = ()
    returned: tuple[Act, ...] = ()
    sold: tuple[Act, ...] = ()
    arrived: tuple[Act, ...] = ()
    "from earlier orders"
    paid: tuple[Act, ...] = ()
    "earlier orders, paid now"
    fitted: tuple[Act, ...] = ()
    removed: tuple[Act, ...] = ()
    scrapped: tuple[Act, ...] = ()
    serviced: tuple[Act, ...] = ()
    "`what` leads to `service.html#item-KEY`"
    measured: tuple[MeasuredView, ...] = ()
    faults: tuple[Act, ...] = ()
    "opened, or seen again"
    checks: tuple[Act, ...] = ()
    fixed: tuple[Act, ...] = ()
    tightened: tuple[TightenedRow, ...] = ()
    temporary: tuple[Act, ...] = ()
    made_good: tuple[Act, ...] = ()
    stripped: tuple[str, ...] = ()
    refitted: tuple[str, ...] = ()
    meter: str = ""
    "`meter changed: 99,812 mi on the old one, 0 mi on the new one`"
    next: tuple[str, ...] = ()
    before: Link | None = None
    "the entry before"
    after: Link | None = None
    "the entry after"
    same_fault: tuple[Act, ...] = ()
    "the other entries about each fault that this one touches, in order; `notes`: the fault, and when"
    fault_turns: tuple[FaultTurn, ...] = ()
    "the way on within each fault that has other entries"
    sealed: SealedView | None = None
    "None: nothing is to be said of it"
