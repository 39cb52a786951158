"""The records of one entry, of what one work session did, bought, fitted, measured and found; and of a standing page.

A standing page is looked up again and again and belongs to no day, as a wiring table does.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal
from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.read import kinds, numbers
from buildlog.read.fields import LogRecord, list_of, map_of, optional, required
from buildlog.read.kinds import one_of
from buildlog.read.numbers import Amount, Box, Span
from buildlog.read.orders import SPECS, Arrival, Order, Payment, Returned, Sold

FATES = ("kept", "scrapped", "given away")


@frozen
class Fitted(LogRecord):
    """A part that went onto the machine."""

    SHORT: ClassVar[str | None] = "part"
    part: str = required(kinds.KEY, "the part; `original` with a `name` for one of the machine's own that was kept")
    name: str | None = optional(kinds.TEXT, "the name of an original that goes back")
    at: str | None = optional(kinds.TEXT, "position, if there can be more than one")
    qty: Decimal = optional(numbers.POSITIVE, "how many", default=Decimal(1))
    instead_of: str | None = optional(kinds.KEY, "the part it replaces; `original` for the machine's own")
    # asked of the owner, as nothing else tells a part that was meant to be temporary from one fitted wrongly
    planned: bool = optional(
        kinds.YES, "true if the earlier part was always going to be replaced, so this is not rework", default=False
    )
    hours: Decimal | None = optional(numbers.SOME_HOURS, "hours for this part alone; if left out, the entry's")
    spec: str | None = optional(one_of(*SPECS), "if left out, as bought")
    system: str | None = optional(kinds.KEY, "if left out, as bought", key="for", to="system")
    paper: str | None = optional(kinds.PATH, "a paper that backs it up", to="paper")
    note: str | None = optional(kinds.TEXT, "anything worth knowing")


@frozen
class Removed(LogRecord):
    """A part that came off the machine."""

    SHORT: ClassVar[str | None] = "part"
    part: str = required(kinds.KEY, "the part; `original` with a `name` for one of the machine's own")
    name: str | None = optional(kinds.TEXT, "the name of an original")
    at: str | None = optional(kinds.TEXT, "position, if there was more than one")
    qty: Decimal = optional(numbers.POSITIVE, "how many", default=Decimal(1))
    why: str | None = optional(kinds.TEXT, "why it came off")
    # most of what comes off is worn out: with another default the shelf would fill with scrap
    fate: str = optional(one_of(*FATES), "what became of it", default="scrapped")
    shelf: str | None = optional(kinds.TEXT, "where it lies, if it was kept")
    system: str | None = optional(kinds.KEY, "the system of an original", key="for", to="system")


@frozen
class Scrapped(LogRecord):
    """A part on the shelf that was thrown or given away."""

    SHORT: ClassVar[str | None] = "part"
    part: str = required(kinds.KEY, "the part; `original` with a `name` for a kept original")
    name: str | None = optional(kinds.TEXT, "the name of an original")
    qty: Decimal = optional(numbers.POSITIVE, "how many", default=Decimal(1))
    why: str | None = optional(kinds.TEXT, "why")


@frozen
class Serviced(LogRecord):
    """A service item that was done."""

    SHORT: ClassVar[str | None] = "item"
    item: str = required(kinds.KEY, "the service item", to="service item")
    reading: Amount | None = optional(numbers.METER, "if left out, the entry's")
    reading_of: str | None = optional(one_of("old", "new"), "which meter it is from, if the meter was changed that day")
    who: str | None = optional(kinds.TEXT, "if left out, the owner")
    parts: tuple[str, ...] = list_of(kinds.KEY, "parts that went in for it")
    looked_at: tuple[str, ...] = list_of(
        kinds.KEY, "components checked at the same time and found good", to="component"
    )
    paper: str | None = optional(kinds.PATH, "a paper that backs it up", to="paper")
    note: str | None = optional(kinds.TEXT, "fluid and quantity, what was found")


@frozen
class MeterChange(LogRecord):
    """The meter was replaced or set."""

    # both, or the total could not go on from one meter to the next
    old: Amount = required(numbers.METER, "the old one's last reading")
    new: Amount = required(numbers.METER, "the new one's first reading")
    reading_of: str | None = optional(one_of("old", "new"), "which meter that day's `reading` is from")
    why: str | None = optional(kinds.TEXT, "why")
    paper: str | None = optional(kinds.PATH, "notice or receipt", to="paper")


@frozen
class Fault(LogRecord):
    """A symptom, and what may cause it."""

    fault: str = required(kinds.KEY, "short name of the fault")
    name: str | None = optional(kinds.TEXT, "the symptom, as shown; needed once")
    suspects: tuple[str, ...] = list_of(kinds.KEY, "components, or groups of them, that may cause it", to="suspect")


@frozen
class Check(LogRecord):
    """A test that clears suspects or finds one faulty."""

    fault: str = required(kinds.KEY, "the fault")
    # required: a suspect that is cleared without a word convinces no reader
    did: str = required(kinds.TEXT, "what was done and seen")
    clears: tuple[str, ...] = list_of(kinds.KEY, "suspects, or groups, that it rules out", to="suspect")
    cause: str | None = optional(kinds.KEY, "the suspect it found faulty", to="suspect")
    hours: Decimal | None = optional(numbers.SOME_HOURS, "hours it took")


@frozen
class Fix(LogRecord):
    """What was done about a fault."""

    fault: str = required(kinds.KEY, "the fault")
    how: str | None = optional(kinds.TEXT, "what was done")
    proved: str | None = optional(kinds.TEXT, "what confirmed that it is gone")


@frozen
class SeenAgain(LogRecord):
    """A fault that came back."""

    SHORT: ClassVar[str | None] = "fault"
    fault: str = required(kinds.KEY, "the fault")
    note: str | None = optional(kinds.TEXT, "how it showed")


@frozen
class Limits(LogRecord):
    """What a measured value may be, by the maker's figures."""

    min: Decimal | None = optional(numbers.NUMBER, "lowest allowed")
    max: Decimal | None = optional(numbers.NUMBER, "highest allowed")
    # as makers limit it: "lowest at least 75 % of highest"
    spread: Decimal | None = optional(numbers.PERCENT, "largest allowed (max − min) / max")


@frozen
class Measured(LogRecord):
    """One set of values off a gauge."""

    what: str = required(kinds.TEXT, "what was measured")
    unit: str | None = optional(kinds.TEXT, "unit of the values")
    # by where it was measured and not in a list: cylinder 3 stays cylinder 3 when one could not be reached
    values: Mapping[str, Decimal] = map_of(numbers.NUMBER, "where it was measured, and the value")
    value: Decimal | None = optional(numbers.NUMBER, "the value, if there is only one")
    limits: Limits | None = optional(Limits, "the maker's limits")
    note: str | None = optional(kinds.TEXT, "warm or cold, which gauge")


@frozen
class Recheck(LogRecord):
    """When a fastener has to be tightened again."""

    SHORT: ClassVar[str | None] = "after"
    after: Span = required(
        numbers.SPAN, "after this much use or this many days; done when the same `what` is tightened again"
    )


@frozen
class Tightened(LogRecord):
    """A fastener that was tightened to a stated value."""

    what: str = required(kinds.TEXT, "which fasteners")
    qty: Decimal = optional(numbers.POSITIVE, "how many", default=Decimal(1))
    # a text, as manuals give stages and angles; its numbers are found in `compute.measures.tightening`
    to: str = required(kinds.TEXT, "torque or angle, as the manual gives it")
    method: str | None = optional(kinds.TEXT, "stages, order, dry or oiled")
    recheck: Recheck | None = optional(Recheck, "when it has to be checked again")
    part: str | None = optional(kinds.KEY, "the part, if it was bought as one")


@frozen
class Temporary(LogRecord):
    """Something fitted for now."""

    name: str = required(kinds.KEY, "short name, for making it good later")
    what: str = required(kinds.TEXT, "what it is")
    until: str | None = optional(kinds.TEXT, "what it waits for")
    behind: str | None = optional(
        kinds.KEY, "the strip-down that exposes it, if it is not exposed anyway", to="strip-down"
    )


@frozen
class Wanted(LogRecord):
    """Something that will have to be bought."""

    # a `part` for what is followed to its end, as on an order's line; else `what`
    part: str | None = optional(kinds.KEY, "short name of the part, as an order will use it")
    what: str | None = optional(kinds.TEXT, "what it is; beside `part`, the part's name as shown")
    # in the home currency alone: nobody knows the rate of the day on which it will be paid
    about: Decimal | None = optional(
        numbers.AMOUNT, "what all of it will cost, delivered, in the home currency; counted in the forecast"
    )
    qty: Decimal = optional(numbers.POSITIVE, "how many, or how much", default=Decimal(1))
    system: str | None = optional(
        kinds.KEY,
        "the system it is for; if left out, that of the part as bought before, or the entry's, if it has only one",
        key="for",
        to="system",
    )
    supplier: str | None = optional(kinds.TEXT, "who has it", key="from")
    # in `log.yaml` nothing else says which orders came before the wish
    since: datetime.date | None = optional(
        kinds.DATE,
        "an order from this day on closes it; if left out, one in an entry of that day or later; in log.yaml, any",
    )


@frozen
class Planned(LogRecord):
    """Something to do next."""

    SHORT: ClassVar[str | None] = "what"
    what: str = required(kinds.TEXT, "what is to be done")
    name: str | None = optional(kinds.KEY, "short name, for saying later that it is done")


@frozen
class Ticked(LogRecord):
    """Items of one list that were looked at and found right."""

    list: str = required(kinds.KEY, "the list in log.yaml", to="list")
    items: tuple[str, ...] = list_of(kinds.TEXT, "its items, by their words or short names")
    note: str | None = optional(kinds.TEXT, "what was seen, who looked")


@frozen
class Photo(LogRecord):
    """One picture of the entry's photo folder."""

    SHORT: ClassVar[str | None] = "file"
    file: str = required(kinds.FILE_NAME, "file name in the entry's photo folder")
    # not required: a picture without words is published, with a warning
    says: str | None = optional(
        kinds.TEXT, "what it shows: its caption, and what is read out to people who cannot see it"
    )
    shows: tuple[str, ...] = list_of(
        kinds.KEY, "parts, service items or faults of this entry that it backs up; `meter` for a reading"
    )
    taken: datetime.date | None = optional(
        kinds.DATE, "when it was taken, if the camera was wrong or the picture is older"
    )
    # fractions and not pixels: one box fits every size that is published
    hide: tuple[Box, ...] = list_of(numbers.BOX, "areas to cover up: [left, top, right, bottom] as fractions")
    # beside the picture of before, so that it says of itself what became of it
    after: str | None = optional(
        kinds.PHOTO, "the picture that shows the same afterwards: its file, or `ENTRY/FILE` for one of another entry"
    )


@frozen
class Brought(LogRecord):
    """A file that an entry was brought in from."""

    file: str = required(kinds.TEXT, "the file's name")
    digest: str = required(kinds.TEXT, "SHA-256 of its bytes, by which it is known when it comes again")
    at: str | None = optional(kinds.TEXT, "which part of it, as in `rows 3 to 5`; if left out, all of it")


@frozen
class Entry(LogRecord):
    """One work session: its front matter, and its story."""

    # these three come from the file around the front matter, so no key reads them
    name: str = ""
    "the file's name without `.md`: the entry's id everywhere"
    body: str = ""
    "the story, Markdown"
    body_line: int = 1
    "the line of the file at which the story starts"
    date: datetime.date = required(kinds.DATE, "the day of the work session")
    # either spelling, as many editors start a note with its heading; `reader` settles which one it is
    title: str = optional(kinds.TEXT, "what it was about; can be a `# Title` above the story instead", default="")
    hours: Decimal | None = optional(numbers.HOURS, "your own hours, as in `1.5`")
    reading: Amount | None = optional(numbers.METER, "the meter on that day")
    rollover: bool = optional(
        kinds.YES, "the meter has gone round past its last digit since the last reading", default=False
    )
    meter_changed: MeterChange | None = optional(MeterChange, "the meter was replaced or set")
    systems: tuple[str, ...] = list_of(kinds.KEY, "systems worked on", to="system")
    milestone: str | None = optional(kinds.TEXT, "what was achieved, as in `First start`")
    bought: tuple[Order, ...] = list_of(Order, "orders")
    paid: tuple[Payment, ...] = list_of(Payment, "orders paid today")
    arrived: tuple[Arrival, ...] = list_of(Arrival, "orders that came today")
    returned: tuple[Returned, ...] = list_of(Returned, "money that came back")
    sold: tuple[Sold, ...] = list_of(Sold, "parts taken off and spares sold")
    fitted: tuple[Fitted, ...] = list_of(Fitted, "parts fitted")
    removed: tuple[Removed, ...] = list_of(Removed, "parts taken off")
    scrapped: tuple[Scrapped, ...] = list_of(Scrapped, "parts from the shelf thrown or given away")
    serviced: tuple[Serviced, ...] = list_of(Serviced, "service items done")
    faults: tuple[Fault, ...] = list_of(Fault, "faults opened, or suspects added")
    checks: tuple[Check, ...] = list_of(Check, "checks done")
    fixed: tuple[Fix, ...] = list_of(Fix, "faults fixed, or fixes proved")
    seen_again: tuple[SeenAgain, ...] = list_of(SeenAgain, "faults that came back")
    measured: tuple[Measured, ...] = list_of(Measured, "measurements")
    tightened: tuple[Tightened, ...] = list_of(Tightened, "fasteners tightened")
    temporary: tuple[Temporary, ...] = list_of(Temporary, "temporary repairs")
    made_good: tuple[str, ...] = list_of(kinds.KEY, "temporary repairs made good")
    stripped: tuple[str, ...] = list_of(kinds.KEY, "strip-downs taken off", to="strip-down")
    refitted: tuple[str, ...] = list_of(kinds.KEY, "strip-downs put back", to="strip-down")
    photos: tuple[Photo, ...] = list_of(Photo, "pictures to publish")
    wanted: tuple[Wanted, ...] = list_of(Wanted, "what will have to be bought")
    unwanted: tuple[str, ...] = list_of(kinds.TEXT, "what was wanted and no longer is, by its part or its words")
    done: tuple[str, ...] = list_of(kinds.TEXT, "items of an earlier `next:` that are done, by words or short name")
    dropped: tuple[str, ...] = list_of(kinds.TEXT, "items of an earlier `next:` that will not be done")
    ticked: tuple[Ticked, ...] = list_of(Ticked, "items of a list in log.yaml that were checked and found right")
    next: tuple[Planned, ...] = list_of(Planned, "what comes next; open until an entry says `done:` or `dropped:`")
    was: tuple[str, ...] = list_of(
        kinds.ENTRY_NAME, "what this file was called before it was renamed, the oldest name first"
    )
    # never published: a file's name may hold a person's
    brought_from: tuple[Brought, ...] = list_of(Brought, "files that `buildlog bring` wrote it from")


@frozen
class PagePhoto(LogRecord):
    """One picture of a standing page."""

    SHORT: ClassVar[str | None] = "file"
    file: str = required(kinds.FILE_NAME, "file name in the page's photo folder")
    says: str | None = optional(
        kinds.TEXT, "what it shows: its caption, and what is read out to people who cannot see it"
    )
    hide: tuple[Box, ...] = list_of(numbers.BOX, "areas to cover up: [left, top, right, bottom] as fractions")


@frozen
class StandingPage(LogRecord):
    """A page that stands beside the entries: its front matter, and its text."""

    # these three come from the file around the front matter, so no key reads them
    name: str = ""
    "the file's name without `.md`: no entry has the same, as both have their photos in a folder of that name"
    body: str = ""
    "the text, Markdown"
    body_line: int = 1
    "the line of the file at which the text starts"
    title: str = optional(
        kinds.TEXT, "as the navigation shows it; can be a `# Title` above the text instead", default=""
    )
    order: int | None = optional(
        numbers.COUNT, "its place among these pages; those without one follow, by their file names"
    )
    # no figure hangs on it; but a site as of an earlier day must not show what was not known then
    date: datetime.date | None = optional(
        kinds.DATE, "the day from which it holds, shown beside the title; a site as of an earlier day is without it"
    )
    photos: tuple[PagePhoto, ...] = list_of(PagePhoto, "pictures to publish")
    papers: tuple[str, ...] = list_of(kinds.PATH, "papers that it goes with", to="paper")
