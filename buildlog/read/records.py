"""A whole log as typed records, and every record that it is made of."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import field
from pathlib import Path

from buildlog.frozen import frozen
from buildlog.read.entry import (
    FATES,
    Brought,
    Check,
    Entry,
    Fault,
    Fitted,
    Fix,
    Limits,
    Measured,
    MeterChange,
    PagePhoto,
    Photo,
    Planned,
    Recheck,
    Removed,
    Scrapped,
    SeenAgain,
    Serviced,
    StandingPage,
    Temporary,
    Ticked,
    Tightened,
    Wanted,
)
from buildlog.read.fields import NOTHING, NOWHERE, LogRecord, list_slots
from buildlog.read.kinds import PartialDate
from buildlog.read.log_settings import (
    EVIDENCE,
    ROAD_KINDS,
    Acquired,
    Checklist,
    Component,
    Inherited,
    Interval,
    LaidUp,
    ListItem,
    Machine,
    Meter,
    MoneyPlan,
    Notice,
    Public,
    ServiceItem,
    Settings,
    Site,
    StripDown,
)
from buildlog.read.misfits import NAMING, Hole
from buildlog.read.numbers import Amount, Box, Span
from buildlog.read.orders import (
    LINE_KINDS,
    SPECS,
    Arrival,
    Charge,
    Delivery,
    Extra,
    Instalment,
    Line,
    LineExtra,
    Order,
    Payment,
    Returned,
    Sold,
    Untaxed,
    Warranty,
)


@frozen
class Log:
    """One machine's log, read and found to be well-formed."""

    settings: Settings
    "`log.yaml`"
    entries: tuple[Entry, ...]
    "by date, then by name"
    pages: tuple[StandingPage, ...] = ()
    "standing pages, by their `order`, then by name"
    papers: frozenset[str] = frozenset()
    "files under `papers/`, as paths from the log's folder"
    photos: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: NOTHING)
    "file names in each entry's photo folder, by entry name"
    folder: Path | None = None
    "where it was read from; only what copies files may look there"
    spelt: Mapping[str, str] = field(default_factory=lambda: NOTHING)
    "paths as the disk has them, by those in records, of files whose accents are spelt in another form there"

    def list_pages(self, as_of: datetime.date) -> tuple[StandingPage, ...]:
        """The standing pages of a site as of a day: those that hold already."""
        return tuple(page for page in self.pages if page.date is None or page.date <= as_of)

    def name_photo(self, photo: str, home: str = "") -> tuple[str, str]:
        """The entry or page, and the file, that a photo's name means; `home` has those that go by their file alone."""
        name, slash, file = photo.rpartition("/")
        renamed = {old: entry.name for entry in self.entries for old in entry.was}
        return (renamed.get(name, name) if slash else home), file

    def locate(self, path: str) -> Path:
        """Where a file of a log that was read from a folder lies on the disk, by its path in records."""
        # a fault of ours: nothing asks for files of a log that came as bytes
        assert self.folder is not None
        return self.folder / self.spelt.get(path, path)


# The one module of `read` that figures and pages import: they take records as types, and no reader.
__all__ = [
    "EVIDENCE", "FATES", "LINE_KINDS", "NAMING", "NOWHERE", "ROAD_KINDS", "SPECS",
    "Acquired", "Amount", "Arrival", "Box", "Brought", "Charge", "Check", "Checklist", "Component", "Delivery",
    "Entry", "Extra", "Fault", "Fitted", "Fix", "Hole", "Inherited", "Instalment", "Interval", "LaidUp", "Limits",
    "Line", "LineExtra", "ListItem", "Log", "LogRecord", "Machine", "Measured", "Meter", "MeterChange", "MoneyPlan",
    "Notice", "Order", "PagePhoto", "PartialDate", "Payment", "Photo", "Planned", "Public", "Recheck", "Removed",
    "Returned", "Scrapped", "SeenAgain", "ServiceItem", "Serviced", "Settings", "Site", "Sold", "Span",
    "StandingPage", "StripDown", "Temporary", "Ticked", "Tightened", "Untaxed", "Wanted", "Warranty", "list_slots",
]  # fmt: skip


def list_old_names(entries: Iterable[Entry]) -> dict[str, Entry]:
    """The entry that had each old name."""
    return {name: entry for entry in entries for name in entry.was}
