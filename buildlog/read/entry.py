"""The records of one entry: what one work session did, bought, fitted, measured and found."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal
from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.read import dates, gauges, kinds, numbers
from buildlog.read.fields import LogRecord, list_of, map_of, optional, required
from buildlog.read.gauges import Amount, Span
from buildlog.read.kinds import one_of
from buildlog.read.numbers import Box

SPECS = ("original", "equivalent", "upgraded", "used", "repaired")
LINE_KINDS = ("part", "consumable", "tool", "labour", "fee", "other")
FATES = ("kept", "scrapped", "given away")


@frozen
class Charge(LogRecord):
    """A sum of money with its own currency."""

    SHORT: ClassVar[str | None] = "amount"
    # never below zero: money that comes back is `returned:`, so that spent and recovered stay apart
    amount: Decimal = required(numbers.AMOUNT, "how much")
    currency: str | None = optional(kinds.CURRENCY, "if left out, the home currency")
    what: str | None = optional(kinds.TEXT, "what it was for")


@frozen
class Line(LogRecord):
    """One line of an order."""

    # a line names a `part` that is followed to its end, or says `what` it was and is only paid for
    part: str | None = optional(kinds.KEY, "short name of the part; all lines for the same part use it")
    name: str | None = optional(kinds.TEXT, "the part's name as shown; if left out, its short name")
    what: str | None = optional(kinds.TEXT, "what it is, if it is not tracked as a part")
    number: str | None = optional(kinds.TEXT, "the maker's part number, as written on it")
    maker: str | None = optional(kinds.TEXT, "who made it")
    replaces_number: str | None = optional(kinds.TEXT, "the older number that this one supersedes")
    qty: Decimal = optional(numbers.POSITIVE, "how many, or how much", default=Decimal(1))
    unit: str | None = optional(kinds.TEXT, "unit of the quantity, as in `m` or `l`")
    # below zero too: suppliers print what they take off as a line of its own
    each: Decimal | None = optional(
        numbers.NUMBER,
        "price of one, in the order's currency; 0 for a gift or warranty; below zero for a price taken off",
    )
    total: Decimal | None = optional(numbers.NUMBER, "price of the whole line, instead of `each`")
    core: Decimal | None = optional(numbers.AMOUNT, "refundable surcharge on an exchange unit, for the whole line")
    tax: Decimal | None = optional(numbers.PERCENT, "this line's own tax rate")
    # beside every total and in none: it was not paid
    worth: Decimal | None = optional(
        numbers.AMOUNT, "what a gift or warranty line would have cost, in the order's currency"
    )
    # said by the owner or nowhere: nothing else in a log tells a friend from an advertiser
    from_sponsor: bool = optional(kinds.YES, "given in return for publicity; readers are told", default=False)
    kind: str | None = optional(
        one_of(*LINE_KINDS), "if left out, `part` if there is a part or number, otherwise `other`"
    )
    spec: str | None = optional(one_of(*SPECS), "how it compares with what the maker fitted")
    single_use: bool = optional(kinds.YES, "must be new each time it is tightened", default=False)
    system: str | None = optional(
        kinds.KEY, "the system it is for; if left out, the entry's, if it has only one", key="for", to="system"
    )
    fault: str | None = optional(kinds.KEY, "the fault it was bought for")


@frozen
class Order(LogRecord):
    """One transaction with one supplier."""

    supplier: str = required(kinds.TEXT, "who sold it", key="from")
    ref: str | None = optional(kinds.TEXT, "order or invoice number; needed to return, pay or receive it later")
    # `paid` and `arrived` have no such day: an order that was forgotten is listed as open, where it is seen
    ordered: datetime.date | None = optional(dates.DATE, "if left out, the entry's date")
    arrived: datetime.date | None = optional(
        dates.DATE, "if left out, still in the post, unless a later entry's `arrived:` names its ref"
    )
    paid: datetime.date | None = optional(
        dates.DATE, "if left out, committed and not spent, unless a later entry's `paid:` names its ref"
    )
    currency: str | None = optional(kinds.CURRENCY, "if left out, the home currency")
    charged: Decimal | None = optional(numbers.AMOUNT, "what the card or bank took, in the home currency")
    # no rate is looked up: the same log has to make the same figures in ten years, and without a connection
    rate: Decimal | None = optional(
        numbers.POSITIVE, "exchange rate, if `charged` is not known: home currency for one of the order's currency"
    )
    # no default: taken the wrong way round, a tax of 20 % makes every figure too high by a fifth or too low by a sixth
    prices: str | None = optional(
        one_of("net", "gross"), "whether tax comes on top of the prices or is included; needed with `tax`"
    )
    tax: Decimal | None = optional(numbers.PERCENT, "tax rate of the order; a line may have its own")
    carriage: Decimal | None = optional(numbers.AMOUNT, "postage, in the order's currency")
    handling: Decimal | None = optional(numbers.AMOUNT, "packing and handling, in the order's currency")
    discount: Decimal | None = optional(numbers.AMOUNT, "taken off the whole order, in its currency")
    # apart from carriage, as the state and the carrier bill it later, at home and in the home currency
    duty: Charge | None = optional(Charge, "import duty, billed in the home currency")
    charges: tuple[Charge, ...] = list_of(Charge, "other charges billed in the home currency")
    paper: str | None = optional(kinds.PATH, "invoice or receipt", to="paper")
    lines: tuple[Line, ...] = list_of(Line, "what was bought")


@frozen
class Arrival(LogRecord):
    """A parcel that came: an order, or one part of it."""

    SHORT: ClassVar[str | None] = "ref"
    ref: str = required(kinds.TEXT, "the order's ref")
    part: str | None = optional(kinds.KEY, "only this part of it")
    date: datetime.date | None = optional(dates.DATE, "if left out, the entry's date")


@frozen
class Payment(LogRecord):
    """An order that was paid later."""

    SHORT: ClassVar[str | None] = "ref"
    ref: str = required(kinds.TEXT, "the order's ref")
    date: datetime.date | None = optional(dates.DATE, "if left out, the entry's date")
    charged: Decimal | None = optional(numbers.AMOUNT, "what the card or bank took, in the home currency")


@frozen
class Returned(LogRecord):
    """Money that came back on an order: for goods, for a core, or off the price."""

    ref: str = required(kinds.TEXT, "the order's ref")
    part: str | None = optional(
        kinds.KEY, "the part it is about; if left out, the whole order, shared out by what its lines cost"
    )
    # apart from money: a part may go back for nothing, and money may come back for a part that stays
    qty: Decimal | None = optional(
        numbers.POSITIVE, "how many went back; if left out, none did and only money came back"
    )
    core: Decimal | None = optional(numbers.AMOUNT, "core charge refunded, as it is on the order, in its currency")
    refund: Decimal | None = optional(numbers.AMOUNT, "price refunded, with tax and carriage, in the order's currency")
    charged: Decimal | None = optional(numbers.AMOUNT, "what reached the card or bank, in the home currency")
    date: datetime.date | None = optional(dates.DATE, "when it came back; if left out, the entry's date")
    paper: str | None = optional(kinds.PATH, "credit note", to="paper")
    why: str | None = optional(kinds.TEXT, "why it went back")


@frozen
class Sold(LogRecord):
    """A take-off or a spare that was sold."""

    part: str | None = optional(kinds.KEY, "the part, if it was on the shelf")
    name: str | None = optional(kinds.TEXT, "the name of an original that was kept")
    what: str | None = optional(kinds.TEXT, "what it is, if it is not tracked as a part")
    qty: Decimal = optional(numbers.POSITIVE, "how many", default=Decimal(1))
    # in the home currency alone: what was recovered is subtracted from what was spent
    price: Decimal = required(numbers.AMOUNT, "what it brought, in the home currency")
    date: datetime.date | None = optional(dates.DATE, "when the money came; if left out, the entry's date")
    system: str | None = optional(kinds.KEY, "the system it came from", key="for", to="system")
    paper: str | None = optional(kinds.PATH, "receipt", to="paper")


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
    reading: Amount | None = optional(gauges.METER, "if left out, the entry's")
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
    old: Amount = required(gauges.METER, "the old one's last reading")
    new: Amount = required(gauges.METER, "the new one's first reading")
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
        gauges.SPAN, "after this much use or this many days; done when the same `what` is tightened again"
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
        dates.DATE, "when it was taken, if the camera was wrong or the picture is older"
    )
    # fractions and not pixels: one box fits every size that is published
    hide: tuple[Box, ...] = list_of(numbers.BOX, "areas to cover up: [left, top, right, bottom] as fractions")


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
    date: datetime.date = required(dates.DATE, "the day of the work session")
    # either spelling, as many editors start a note with its heading; `reader` settles which one it is
    title: str = optional(kinds.TEXT, "what it was about; can be a `# Title` above the story instead", default="")
    hours: Decimal | None = optional(numbers.HOURS, "your own hours, as in `1.5`")
    reading: Amount | None = optional(gauges.METER, "the meter on that day")
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
    next: tuple[str, ...] = list_of(kinds.TEXT, "what comes next")
