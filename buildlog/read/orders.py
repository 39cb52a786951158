"""The records of money in an entry: orders, what came of them, what was paid, what came back, what was sold."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal
from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.read import kinds, numbers
from buildlog.read.fields import LogRecord, list_of, map_of, optional, required
from buildlog.read.kinds import one_of

SPECS = ("original", "equivalent", "upgraded", "used", "repaired")
UNTAXED = ("zero rate", "exempt", "reverse charge", "within the EU", "export", "outside the tax")
LINE_KINDS = ("part", "consumable", "tool", "labour", "fee", "other")


@frozen
class Charge(LogRecord):
    """A sum of money with its own currency."""

    SHORT: ClassVar[str | None] = "amount"
    # never below zero: money that comes back is `returned:`, so that spent and recovered stay apart
    amount: Decimal = required(numbers.AMOUNT, "how much")
    currency: str | None = optional(kinds.CURRENCY, "if left out, the home currency")
    what: str | None = optional(kinds.TEXT, "what it was for")


@frozen
class Untaxed(LogRecord):
    """Why something bears no tax."""

    SHORT: ClassVar[str | None] = "category"
    category: str = required(one_of(*UNTAXED), "the kind of it, as the invoice has it")
    why: str | None = optional(kinds.TEXT, "the reason in the invoice's words")


@frozen
class Extra(LogRecord):
    """A sum that the supplier adds to a whole order, or takes off it."""

    SHORT: ClassVar[str | None] = "amount"
    amount: Decimal = required(numbers.AMOUNT, "how much, in the order's currency")
    what: str | None = optional(kinds.TEXT, "what it was for")
    tax: Decimal | None = optional(numbers.PERCENT, "its own tax rate; if left out, those of the lines that bear it")
    untaxed: Untaxed | None = optional(Untaxed, "why it bears no tax")


@frozen
class LineExtra(LogRecord):
    """A sum that is added to one line, or taken off it."""

    SHORT: ClassVar[str | None] = "amount"
    amount: Decimal = required(numbers.AMOUNT, "how much, in the order's currency")
    what: str | None = optional(kinds.TEXT, "what it was for")


@frozen
class Warranty(LogRecord):
    """How long something is under warranty."""

    months: int | None = optional(numbers.COUNT, "calendar months from the day it came")
    until: datetime.date | None = optional(kinds.DATE, "its last day, instead of `months`")


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
    per: Decimal = optional(numbers.POSITIVE, "how many `each` is the price of, as in `100`", default=Decimal(1))
    discount: tuple[LineExtra, ...] = list_of(LineExtra, "taken off this line")
    surcharge: tuple[LineExtra, ...] = list_of(LineExtra, "added to this line")
    total: Decimal | None = optional(
        numbers.NUMBER, "price of the whole line, instead of `each`, `per`, `discount` and `surcharge`"
    )
    core: Decimal | None = optional(numbers.AMOUNT, "refundable surcharge on an exchange unit, for the whole line")
    core_by: datetime.date | None = optional(kinds.DATE, "last day to hand in the old unit")
    warranty: Warranty | None = optional(Warranty, "if left out, the order's")
    return_by: datetime.date | None = optional(kinds.DATE, "last day to send it back; if left out, the order's")
    tax: Decimal | None = optional(numbers.PERCENT, "this line's own tax rate")
    untaxed: Untaxed | None = optional(Untaxed, "why this line bears no tax")
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
    shelf: str | None = optional(kinds.TEXT, "where it lies until it is fitted, as in `box 4`")
    single_use: bool = optional(kinds.YES, "must be new each time it is tightened", default=False)
    system: str | None = optional(
        kinds.KEY, "the system it is for; if left out, the entry's, if it has only one", key="for", to="system"
    )
    fault: str | None = optional(kinds.KEY, "the fault it was bought for")


@frozen
class Delivery(LogRecord):
    """A parcel of this order that came."""

    SHORT: ClassVar[str | None] = "date"
    date: datetime.date = required(kinds.DATE, "the day it came")
    lines: Mapping[str, Decimal] = map_of(
        numbers.POSITIVE, "how many of each line came; if left out, all that had not come before"
    )


@frozen
class Instalment(LogRecord):
    """A payment of this order: of all of it, or of a part."""

    SHORT: ClassVar[str | None] = "date"
    date: datetime.date = required(kinds.DATE, "the day it was paid")
    amount: Decimal | None = optional(
        numbers.AMOUNT, "how much was paid, in the order's currency; if left out, all that was left"
    )
    charged: Decimal | None = optional(numbers.AMOUNT, "what the card or bank took, in the home currency")
    currency: str | None = optional(kinds.CURRENCY, "if it was paid in another currency than the order's")
    settles: Decimal | None = optional(
        numbers.AMOUNT, "how much of the order this paid off, in its currency; if left out, all that was left"
    )


@frozen
class Order(LogRecord):
    """One transaction with one supplier."""

    supplier: str = required(kinds.TEXT, "who sold it", key="from")
    ref: str | None = optional(kinds.TEXT, "order or invoice number; needed to return, pay or receive it later")
    # `paid` and `arrived` have no such day: an order that was forgotten is listed as open, where it is seen
    ordered: datetime.date | None = optional(kinds.DATE, "if left out, the entry's date")
    arrived: tuple[Delivery, ...] = list_of(
        Delivery, "if left out, still in the post, unless a later entry's `arrived:` names its ref"
    )
    paid: tuple[Instalment, ...] = list_of(
        Instalment, "if left out, committed and not spent, unless a later entry's `paid:` names its ref"
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
    untaxed: Untaxed | None = optional(Untaxed, "why the order bears no tax; a line may have its own `tax` or reason")
    carriage: tuple[Extra, ...] = list_of(Extra, "postage, in the order's currency")
    handling: tuple[Extra, ...] = list_of(
        Extra, "packing, handling and whatever else the supplier adds, in the order's currency"
    )
    discount: tuple[Extra, ...] = list_of(Extra, "taken off the whole order, in its currency")
    # below zero where the total was rounded down
    rounding: Decimal | None = optional(numbers.NUMBER, "what the total was rounded by, below zero if down")
    # apart from carriage, as the state and the carrier bill it later, at home and in the home currency
    duty: Charge | None = optional(Charge, "import duty, billed in the home currency")
    charges: tuple[Charge, ...] = list_of(Charge, "other charges billed in the home currency")
    warranty: Warranty | None = optional(Warranty, "for all lines that do not say otherwise")
    return_by: datetime.date | None = optional(kinds.DATE, "last day on which any of it may go back")
    paper: str | None = optional(kinds.PATH, "invoice or receipt", to="paper")
    lines: tuple[Line, ...] = list_of(Line, "what was bought")


@frozen
class Arrival(LogRecord):
    """A parcel that came: an order, or one part of it."""

    SHORT: ClassVar[str | None] = "ref"
    ref: str = required(kinds.TEXT, "the order's ref")
    part: str | None = optional(kinds.KEY, "only this part of it")
    lines: Mapping[str, Decimal] = map_of(
        numbers.POSITIVE, "how many of each line came; if left out, all that had not come before"
    )
    date: datetime.date | None = optional(kinds.DATE, "if left out, the entry's date")


@frozen
class Payment(LogRecord):
    """An order that was paid later, or a part of it."""

    SHORT: ClassVar[str | None] = "ref"
    ref: str = required(kinds.TEXT, "the order's ref")
    date: datetime.date | None = optional(kinds.DATE, "if left out, the entry's date")
    amount: Decimal | None = optional(
        numbers.AMOUNT, "how much was paid, in the order's currency; if left out, all that was left"
    )
    charged: Decimal | None = optional(numbers.AMOUNT, "what the card or bank took, in the home currency")
    currency: str | None = optional(kinds.CURRENCY, "if it was paid in another currency than the order's")
    settles: Decimal | None = optional(
        numbers.AMOUNT, "how much of the order this paid off, in its currency; if left out, all that was left"
    )


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
    # apart from `qty`: with a part of it here and a part of it in the post, nothing else tells which of the two it is
    cancelled: Decimal | None = optional(numbers.POSITIVE, "how many of those still in the post will never come")
    core: Decimal | None = optional(numbers.AMOUNT, "core charge refunded, as it is on the order, in its currency")
    refund: Decimal | None = optional(numbers.AMOUNT, "price refunded, with its carriage, in the order's currency")
    # the way of the order, as a credit note is printed as the invoice was
    prices: str | None = optional(
        one_of("net", "gross"), "whether tax comes on top of what was refunded or is included; if left out, as ordered"
    )
    charged: Decimal | None = optional(numbers.AMOUNT, "what reached the card or bank, in the home currency")
    date: datetime.date | None = optional(kinds.DATE, "when it came back; if left out, the entry's date")
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
    date: datetime.date | None = optional(kinds.DATE, "when the money came; if left out, the entry's date")
    system: str | None = optional(kinds.KEY, "the system it came from", key="for", to="system")
    paper: str | None = optional(kinds.PATH, "receipt", to="paper")
