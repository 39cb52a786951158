"""What the page of faults is given: each hunt from symptom to proof, where to look next, what is apart meanwhile."""

from __future__ import annotations

from typing import ClassVar, Literal

from buildlog.frozen import frozen
from buildlog.site.frame import Frame
from buildlog.site.pieces import Fact, FaultMark, Link, Prices, Sum, TemporaryRow, When


@frozen
class SuspectRow:
    """One component that may cause a fault, and what is known of it."""

    name: str
    verdict: Literal["left", "cleared", "condemned"]
    note: str = ""
    "`driven by Fan belt`; empty: suspected by itself"
    by: str = ""
    "the check that cleared or condemned it, in its own words; empty: it is left"
    when: When | None = None
    "when that was"
    entry: Link | None = None
    "the entry that says so"


@frozen
class StoryRow:
    """One thing that happened in a hunt."""

    when: When
    did: str
    "`Named`, `Suspected`, `Bought for it`, `Checked`, `Fixed`, `Proved`, `Seen again`"
    what: str = ""
    "in the owner's words"
    found: tuple[str, ...] = ()
    "what followed from it: `cleared Return hose`, `cause: Lift pump`, `not proved yet`, `did not hold`"
    left: str = ""
    "suspects left after it: `4 left`"
    hours: str = ""
    entry: Link


@frozen
class LookRow:
    """One suspect to check, in the best order."""

    name: str
    reason: str
    "`clears 3 of 11 chances for 0.1 h`"
    first: str = ""
    "`of which 2.2 h to get there: Battery and battery tray, then Pump side cover`; empty: it lies open"
    so_far: str = ""
    "hours of this step and all before"


@frozen
class LookView:
    """Where to look next for one fault."""

    rows: tuple[LookRow, ...] = ()
    "best first"
    expected: str = ""
    "`3.918 h expected until the cause is found`"
    notes: tuple[str, ...] = ()
    "what the order cannot say: not surely the best, suspects without stated hours"


@frozen
class FaultView:
    """One fault and its whole story."""

    key: str
    "its anchor is `fault-KEY`"
    name: str
    "the symptom"
    state: FaultMark
    state_text: str
    facts: tuple[Fact, ...] = ()
    "for the margin: days, checks, their hours, cost; each a few characters"
    now: str = ""
    "what it waits for, one sentence; empty where `look` says it"
    cause: SuspectRow | None = None
    "the condemned component; None: not known"
    left: tuple[SuspectRow, ...] = ()
    "neither cleared nor condemned"
    cleared: tuple[SuspectRow, ...] = ()
    look: LookView | None = None
    "None: the cause is known, or nothing is left"
    story: tuple[StoryRow, ...] = ()
    "oldest first"
    cost: Sum | None = None
    "what was bought for it, with its lines where prices are shown; None: nothing, or money is hidden"
    entries: tuple[Link, ...] = ()
    "those that touch it, in order"


@frozen
class OpeningRow:
    """One strip-down that is off."""

    name: str
    hours: str
    "to take it off and put it back"
    since: When | None = None
    entry: Link | None = None
    "that took it off"


@frozen
class ReachRow:
    """One thing to do while it is apart."""

    kind: str
    "`suspect`, `cause`, `fix to prove`, `service`, `fitted for now`, `on the shelf`"
    what: Link
    note: str = ""
    "why: the fault, how pressing, how many"
    hours: str = ""
    "to check it"


@frozen
class MissingRow:
    """One part that the shelf lacks to do it all."""

    part: Link
    number: str = ""
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
    saved: str = ""
    "`2.2 h saved against separate visits: 3 h instead of 5.2 h`; empty: nothing to save"
    missing: tuple[MissingRow, ...] = ()


@frozen
class AgainRow:
    """A strip-down that was taken off more than once."""

    name: str
    hours: str
    "spent on every time but the first"
    times: tuple[Link, ...]
    "the entries that took it off, in order"


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
