"""What the service history is given: identity, meter, what was done when on what evidence, what is due or missing."""

from __future__ import annotations

from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.site.frame import Frame
from buildlog.site.pieces import DueRow, Evidence, Fact, FaultRow, Link, State, TemporaryRow, When
from buildlog.site.view_measures import OnceRow, SeriesView


@frozen
class ReadingRow:
    """One reading of the meter."""

    when: When
    reading: str
    "as read: `112,530 mi`"
    total: str = ""
    "true total, where it differs from the reading"
    since: str = ""
    "distance since the reading before"
    note: str = ""
    "`meter changed`, `passed its last digit`, `at purchase`"
    source: Link
    evidence: Evidence | None = None


@frozen
class DoneRow:
    """One time a service item was done, or a stretch in which it was not."""

    when: When | None
    "None for a gap"
    gap: str = ""
    "the gap in words, in place of everything else: `31 months and 14,200 mi without it; the interval is …`"
    reading: str = ""
    who: str = ""
    parts: tuple[Link, ...] = ()
    "by name and number"
    note: str = ""
    "fluid, quantity, findings"
    timing: str = ""
    "`12 days late`, `600 mi early`, `first on record`"
    late: bool = False
    evidence: Evidence | None = None
    entry: Link | None = None
    "None for what an earlier owner hands down"


@frozen
class ItemView:
    """One service item and its history."""

    key: str
    "its anchor is `item-KEY`"
    name: str
    interval: str
    "`every 24 months or 12,000 mi, whichever comes first`"
    state: State
    state_text: str
    covers: tuple[str, ...] = ()
    "components to look at at the same time"
    rows: tuple[DoneRow, ...] = ()
    "oldest first; empty: never done on record"


@frozen
class InheritedRow:
    """Something an earlier owner or a paper says."""

    when: When
    what: str
    reading: str = ""
    who: str = ""
    evidence: Evidence


@frozen
class CoverageRow:
    """How one kind of claim is backed."""

    claims: str
    "`Fittings`, `Money`"
    total: str
    "`26`, or an amount"
    paper: str
    "share on paper: `19 (73 %)`"
    pictures: str
    stated: str
    handed: str


@frozen
class EvidenceGap:
    """A claim with nothing but the owner's word behind it."""

    what: str
    when: When
    amount: str = ""
    "empty unless prices are shown"
    entry: Link


@frozen
class ServiceGap:
    """A stretch in which a service item was left undone for longer than its interval."""

    item: Link
    says: str
    "the gap in words, as in its history"


@frozen
class SealLine:
    """The latest seal, in short."""

    when: When
    code: str
    "what people note of the root"
    number: str
    stamped: bool
    "whether a time stamp lies beside it"


@frozen
class ServiceView:
    """What does the next owner need to know, and how far can it be relied upon?"""

    TEMPLATE: ClassVar[str] = "service.html"
    frame: Frame
    machine: str
    model: str = ""
    identity: tuple[Fact, ...] = ()
    acquired: tuple[Fact, ...] = ()
    "when, at what reading, in what condition"
    statement: str = ""
    "the owner's statement about the meter, in the words of the law where it is a road vehicle's; empty: none made"
    statement_rule: str = ""
    "the law whose words those are; empty: none"
    meter: tuple[Fact, ...] = ()
    "latest reading with the true total, use since acquired, daily use or why there is no forecast"
    readings: tuple[ReadingRow, ...] = ()
    "oldest first"
    due: tuple[DueRow, ...] = ()
    "every item, and fasteners to be checked again: overdue, due, unknown, later"
    items: tuple[ItemView, ...] = ()
    "in the owner's order"
    measures: tuple[SeriesView, ...] = ()
    "what was measured at two or more times, in the order of the first"
    measured_once: tuple[OnceRow, ...] = ()
    "oldest first"
    faults: tuple[FaultRow, ...] = ()
    "known and not proved gone"
    temporary: tuple[TemporaryRow, ...] = ()
    "fitted only for now, and still there"
    inherited: tuple[InheritedRow, ...] = ()
    coverage: tuple[CoverageRow, ...] = ()
    gaps: tuple[EvidenceGap, ...] = ()
    "largest first"
    doubts: tuple[str, ...] = ()
    "what the record itself cannot settle, a sentence each"
    service_gaps: tuple[ServiceGap, ...] = ()
    "item by item, oldest first"
    unknowns: tuple[str, ...] = ()
    "what the record does not know, a sentence each"
    seal: SealLine | None = None
    "the latest; None: nothing is sealed, or the seals do not hold"
