"""The records of one entry: what one work session did, bought, fitted, measured and found."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal
from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.source import gauges, kinds
from buildlog.source.fields import Record, many, may, must, table
from buildlog.source.gauges import Amount, Span
from buildlog.source.kinds import Box, one_of

SPECS = ("original", "equivalent", "upgraded", "used", "repaired")
LINE_KINDS = ("part", "consumable", "tool", "labour", "fee", "other")
FATES = ("kept", "scrapped", "given away")


@frozen
class Charge(Record):
    """A sum of money with its own currency."""

    SHORT: ClassVar[str | None] = "amount"
    amount: Decimal = must(kinds.AMOUNT, "how much")
    currency: str | None = may(kinds.CURRENCY, "left out: the home currency")
    what: str | None = may(kinds.TEXT, "what it was for")


@frozen
class Line(Record):
    """One line of an order."""

    part: str | None = may(kinds.KEY, "short name of the part; lines of one part share it")
    name: str | None = may(kinds.TEXT, "the part's name as shown; else its short name")
    what: str | None = may(kinds.TEXT, "what it is, where it is not kept track of as a part")
    number: str | None = may(kinds.TEXT, "the maker's part number, as written on it")
    maker: str | None = may(kinds.TEXT, "who made it")
    replaces_number: str | None = may(kinds.TEXT, "the older number that this one supersedes")
    qty: Decimal = may(kinds.POSITIVE, "how many, or how much", default=Decimal(1))
    unit: str | None = may(kinds.TEXT, "unit of the quantity, as in `m` or `l`")
    each: Decimal | None = may(
        kinds.NUMBER,
        "price of one, in the order's currency; 0 for a gift or warranty; below zero for a price taken off",
    )
    total: Decimal | None = may(kinds.NUMBER, "price of the whole line, instead of `each`")
    core: Decimal | None = may(kinds.AMOUNT, "refundable surcharge on the old unit, for the whole line")
    tax: Decimal | None = may(kinds.PERCENT, "this line's own tax rate")
    worth: Decimal | None = may(
        kinds.AMOUNT, "value that was not paid, of a gift or warranty line, in the order's currency"
    )
    from_sponsor: bool = may(kinds.YES, "given by somebody who hopes to be seen; told to readers", default=False)
    kind: str | None = may(one_of(*LINE_KINDS), "left out: `part` where there is a part or number, else `other`")
    spec: str | None = may(one_of(*SPECS), "how it compares with what the maker fitted")
    single_use: bool = may(kinds.YES, "must be new each time it is tightened", default=False)
    system: str | None = may(
        kinds.KEY, "the system that it is for; left out: the entry's, where it has just one", key="for", to="system"
    )
    fault: str | None = may(kinds.KEY, "the fault that it was bought for")


@frozen
class Order(Record):
    """One transaction with one supplier."""

    supplier: str = must(kinds.TEXT, "who sold it", key="from")
    ref: str | None = may(kinds.TEXT, "order or invoice number; needed to return, pay or receive it later")
    ordered: datetime.date | None = may(kinds.DATE, "left out: the entry's date")
    arrived: datetime.date | None = may(
        kinds.DATE, "left out: still in the post, unless a later entry's `arrived:` names its ref"
    )
    paid: datetime.date | None = may(
        kinds.DATE, "left out: committed and not spent, unless a later entry's `paid:` names its ref"
    )
    currency: str | None = may(kinds.CURRENCY, "left out: the home currency")
    charged: Decimal | None = may(kinds.AMOUNT, "what the card or bank took, in the home currency")
    rate: Decimal | None = may(
        kinds.POSITIVE, "home currency for one of the order's currency, where `charged` is not known"
    )
    prices: str | None = may(
        one_of("net", "gross"), "whether tax comes on top of the prices or is inside; needed with `tax`"
    )
    tax: Decimal | None = may(kinds.PERCENT, "tax rate of the order; a line may have its own")
    carriage: Decimal | None = may(kinds.AMOUNT, "postage, in the order's currency")
    handling: Decimal | None = may(kinds.AMOUNT, "packing and handling, in the order's currency")
    discount: Decimal | None = may(kinds.AMOUNT, "taken off the whole order, in its currency")
    duty: Charge | None = may(Charge, "import duty, billed in the home currency")
    charges: tuple[Charge, ...] = many(Charge, "other charges billed in the home currency")
    paper: str | None = may(kinds.PATH, "invoice or receipt", to="paper")
    lines: tuple[Line, ...] = many(Line, "what was bought")


@frozen
class Arrival(Record):
    """A parcel that came: an order, or one part of it."""

    SHORT: ClassVar[str | None] = "ref"
    ref: str = must(kinds.TEXT, "the order's ref")
    part: str | None = may(kinds.KEY, "only this part of it")
    date: datetime.date | None = may(kinds.DATE, "left out: the entry's date")


@frozen
class Payment(Record):
    """An order that was paid later."""

    SHORT: ClassVar[str | None] = "ref"
    ref: str = must(kinds.TEXT, "the order's ref")
    date: datetime.date | None = may(kinds.DATE, "left out: the entry's date")
    charged: Decimal | None = may(kinds.AMOUNT, "what the card or bank took, in the home currency")


@frozen
class Returned(Record):
    """Money that came back on an order: for goods, for a core, or off the price."""

    ref: str = must(kinds.TEXT, "the order's ref")
    part: str | None = may(
        kinds.KEY, "the part that it is about; left out: the whole order, shared by what its lines cost"
    )
    qty: Decimal | None = may(kinds.POSITIVE, "how many went back; left out: none did, only money came back")
    core: Decimal | None = may(kinds.AMOUNT, "core charge given back, as it stands on the order, in its currency")
    refund: Decimal | None = may(kinds.AMOUNT, "price given back, with tax and carriage, in the order's currency")
    charged: Decimal | None = may(kinds.AMOUNT, "what reached the card or bank, in the home currency")
    date: datetime.date | None = may(kinds.DATE, "when it came back; left out: the entry's date")
    paper: str | None = may(kinds.PATH, "credit note", to="paper")
    why: str | None = may(kinds.TEXT, "why it went back")


@frozen
class Sold(Record):
    """A take-off or a spare that was sold."""

    part: str | None = may(kinds.KEY, "the part, where it lay on the shelf")
    name: str | None = may(kinds.TEXT, "the name of an original that was kept")
    what: str | None = may(kinds.TEXT, "what it is, where it is not kept track of as a part")
    qty: Decimal = may(kinds.POSITIVE, "how many", default=Decimal(1))
    price: Decimal = must(kinds.AMOUNT, "what it brought, in the home currency")
    date: datetime.date | None = may(kinds.DATE, "when the money came; left out: the entry's date")
    system: str | None = may(kinds.KEY, "the system that it came from", key="for", to="system")
    paper: str | None = may(kinds.PATH, "receipt", to="paper")


@frozen
class Fitted(Record):
    """A part that went onto the machine."""

    SHORT: ClassVar[str | None] = "part"
    part: str = must(kinds.KEY, "the part; `original` with a `name` for one of the machine's own that was kept")
    name: str | None = may(kinds.TEXT, "the name of an original that goes back")
    at: str | None = may(kinds.TEXT, "position, where there can be more than one")
    qty: Decimal = may(kinds.POSITIVE, "how many", default=Decimal(1))
    instead_of: str | None = may(kinds.KEY, "the part that it takes the place of; `original` for the machine's own")
    planned: bool = may(kinds.YES, "true: it was always meant to be replaced, so nothing was done twice", default=False)
    hours: Decimal | None = may(kinds.SOME_HOURS, "hours for this part alone; left out: the entry's")
    spec: str | None = may(one_of(*SPECS), "left out: as bought")
    system: str | None = may(kinds.KEY, "left out: as bought", key="for", to="system")
    paper: str | None = may(kinds.PATH, "a paper that backs it", to="paper")
    note: str | None = may(kinds.TEXT, "anything worth knowing")


@frozen
class Removed(Record):
    """A part that came off the machine."""

    SHORT: ClassVar[str | None] = "part"
    part: str = must(kinds.KEY, "the part; `original` with a `name` for one of the machine's own")
    name: str | None = may(kinds.TEXT, "the name of an original")
    at: str | None = may(kinds.TEXT, "position, where there was more than one")
    qty: Decimal = may(kinds.POSITIVE, "how many", default=Decimal(1))
    why: str | None = may(kinds.TEXT, "why it came off")
    fate: str = may(one_of(*FATES), "what became of it", default="scrapped")
    system: str | None = may(kinds.KEY, "the system of an original", key="for", to="system")


@frozen
class Scrapped(Record):
    """A part on the shelf that was thrown or given away."""

    SHORT: ClassVar[str | None] = "part"
    part: str = must(kinds.KEY, "the part; `original` with a `name` for a kept original")
    name: str | None = may(kinds.TEXT, "the name of an original")
    qty: Decimal = may(kinds.POSITIVE, "how many", default=Decimal(1))
    why: str | None = may(kinds.TEXT, "why")


@frozen
class Serviced(Record):
    """A service item that was done."""

    SHORT: ClassVar[str | None] = "item"
    item: str = must(kinds.KEY, "the service item", to="service item")
    reading: Amount | None = may(gauges.METER, "left out: the entry's")
    reading_of: str | None = may(one_of("old", "new"), "of which meter it is, where the meter was changed on that day")
    who: str | None = may(kinds.TEXT, "left out: the owner")
    parts: tuple[str, ...] = many(kinds.KEY, "parts that went in for it")
    looked_at: tuple[str, ...] = many(
        kinds.KEY, "components that were looked at in the same go and found good", to="component"
    )
    paper: str | None = may(kinds.PATH, "a paper that backs it", to="paper")
    note: str | None = may(kinds.TEXT, "fluid and quantity, findings")


@frozen
class MeterChange(Record):
    """The meter was replaced or set."""

    old: Amount = must(gauges.METER, "the old one's last reading")
    new: Amount = must(gauges.METER, "the new one's first reading")
    reading_of: str | None = may(one_of("old", "new"), "of which meter the `reading` of that day is")
    why: str | None = may(kinds.TEXT, "why")
    paper: str | None = may(kinds.PATH, "notice or receipt", to="paper")


@frozen
class Fault(Record):
    """A symptom, and what may cause it."""

    fault: str = must(kinds.KEY, "short name of the fault")
    name: str | None = may(kinds.TEXT, "the symptom, as shown; needed once")
    suspects: tuple[str, ...] = many(kinds.KEY, "components, or groups of them, that may cause it", to="suspect")


@frozen
class Check(Record):
    """A test that clears or condemns suspects."""

    fault: str = must(kinds.KEY, "the fault")
    did: str = must(kinds.TEXT, "what was done and seen")
    clears: tuple[str, ...] = many(kinds.KEY, "suspects, or groups, that it rules out", to="suspect")
    cause: str | None = may(kinds.KEY, "the suspect that it condemns", to="suspect")
    hours: Decimal | None = may(kinds.SOME_HOURS, "hours it took")


@frozen
class Fix(Record):
    """What was done about a fault."""

    fault: str = must(kinds.KEY, "the fault")
    how: str | None = may(kinds.TEXT, "what was done")
    proved: str | None = may(kinds.TEXT, "what showed that it is gone")


@frozen
class SeenAgain(Record):
    """A fault that came back."""

    SHORT: ClassVar[str | None] = "fault"
    fault: str = must(kinds.KEY, "the fault")
    note: str | None = may(kinds.TEXT, "how it showed")


@frozen
class Limits(Record):
    """What a measured value may be, by the maker's figures."""

    min: Decimal | None = may(kinds.NUMBER, "lowest allowed")
    max: Decimal | None = may(kinds.NUMBER, "highest allowed")
    spread: Decimal | None = may(kinds.PERCENT, "largest allowed (max − min) / max")


@frozen
class Measured(Record):
    """One set of values off a gauge."""

    what: str = must(kinds.TEXT, "what was measured")
    unit: str | None = may(kinds.TEXT, "unit of the values")
    values: Mapping[str, Decimal] = table(kinds.NUMBER, "where, and how much")
    value: Decimal | None = may(kinds.NUMBER, "the one value, where there is no more than one")
    limits: Limits | None = may(Limits, "the maker's limits")
    note: str | None = may(kinds.TEXT, "warm or cold, which gauge")


@frozen
class Recheck(Record):
    """When a fastener has to be tightened again."""

    SHORT: ClassVar[str | None] = "after"
    after: Span = must(gauges.SPAN, "after so much use or so many days; done when the same `what` is tightened again")


@frozen
class Tightened(Record):
    """A fastener that was tightened to a stated value."""

    what: str = must(kinds.TEXT, "which fasteners")
    qty: Decimal = may(kinds.POSITIVE, "how many", default=Decimal(1))
    to: str = must(kinds.TEXT, "torque or angle, as the manual writes it")
    method: str | None = may(kinds.TEXT, "stages, order, dry or oiled")
    recheck: Recheck | None = may(Recheck, "when it has to be checked again")
    part: str | None = may(kinds.KEY, "the part, where it was bought as one")


@frozen
class Temporary(Record):
    """Something fitted for now."""

    name: str = must(kinds.KEY, "short name, to be made good later")
    what: str = must(kinds.TEXT, "what it is")
    until: str | None = may(kinds.TEXT, "what it waits for")
    behind: str | None = may(kinds.KEY, "the strip-down that lays it open, where it does not lie open", to="strip-down")


@frozen
class Photo(Record):
    """One picture of the entry's photo folder."""

    SHORT: ClassVar[str | None] = "file"
    file: str = must(kinds.FILE_NAME, "file name in the entry's photo folder")
    says: str | None = may(kinds.TEXT, "what it shows, for those who cannot see it, and under it")
    shows: tuple[str, ...] = many(
        kinds.KEY, "parts, service items or faults of this entry that it backs; `meter` for a reading"
    )
    taken: datetime.date | None = may(kinds.DATE, "when it was taken, where the camera was wrong or it is older")
    hide: tuple[Box, ...] = many(kinds.BOX, "boxes to fill: [left, top, right, bottom] as fractions")


@frozen
class Entry(Record):
    """One work session: its front matter, and its story."""

    name: str = ""
    "the file's name without `.md`: the entry's id everywhere"
    body: str = ""
    "the story, Markdown"
    body_line: int = 1
    "the line of the file at which the story starts"
    date: datetime.date = must(kinds.DATE, "the day of the work session")
    title: str = may(kinds.TEXT, "what it was about; may stand as `# Title` below instead", default="")
    hours: Decimal | None = may(kinds.HOURS, "own hours, in decimals")
    reading: Amount | None = may(gauges.METER, "the meter on that day")
    rollover: bool = may(kinds.YES, "the meter passed its last digit since the reading before", default=False)
    meter_changed: MeterChange | None = may(MeterChange, "the meter was replaced or set")
    systems: tuple[str, ...] = many(kinds.KEY, "systems worked on", to="system")
    milestone: str | None = may(kinds.TEXT, "what was reached, as in `First start`")
    bought: tuple[Order, ...] = many(Order, "orders")
    paid: tuple[Payment, ...] = many(Payment, "orders paid today")
    arrived: tuple[Arrival, ...] = many(Arrival, "orders that came today")
    returned: tuple[Returned, ...] = many(Returned, "money that came back")
    sold: tuple[Sold, ...] = many(Sold, "take-offs and spares sold")
    fitted: tuple[Fitted, ...] = many(Fitted, "parts fitted")
    removed: tuple[Removed, ...] = many(Removed, "parts taken off")
    scrapped: tuple[Scrapped, ...] = many(Scrapped, "shelf parts thrown or given away")
    serviced: tuple[Serviced, ...] = many(Serviced, "service items done")
    faults: tuple[Fault, ...] = many(Fault, "faults opened, or suspects added")
    checks: tuple[Check, ...] = many(Check, "checks done")
    fixed: tuple[Fix, ...] = many(Fix, "faults fixed, or fixes proved")
    seen_again: tuple[SeenAgain, ...] = many(SeenAgain, "faults that came back")
    measured: tuple[Measured, ...] = many(Measured, "values off a gauge")
    tightened: tuple[Tightened, ...] = many(Tightened, "fasteners tightened")
    temporary: tuple[Temporary, ...] = many(Temporary, "fitted for now")
    made_good: tuple[str, ...] = many(kinds.KEY, "temporary measures ended")
    stripped: tuple[str, ...] = many(kinds.KEY, "strip-downs taken off", to="strip-down")
    refitted: tuple[str, ...] = many(kinds.KEY, "strip-downs put back", to="strip-down")
    photos: tuple[Photo, ...] = many(Photo, "pictures to publish")
    next: tuple[str, ...] = many(kinds.TEXT, "what comes next")
