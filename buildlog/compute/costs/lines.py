"""What single amounts is the cost of a machine made of: paid, come back, ordered, brought in by sales?

One line for each line of each order, each return of money and each sale, ready to be added up by `costs.totals`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Literal

from buildlog.compute.costs.orders import LandedLine
from buildlog.compute.costs.purchases import Purchase
from buildlog.compute.costs.refunds import Refund
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.parts.names import original_key, plain_name
from buildlog.compute.parts.numbers import only_system
from buildlog.compute.quantities.money import Money, round_to_minor_unit, sum_money
from buildlog.frozen import frozen
from buildlog.problems import Place
from buildlog.read.records import Entry, Line, Sold
from buildlog.text import to_say

Sort = Literal["paid", "refund", "committed", "sold"]
SORTS: tuple[Sort, ...] = ("paid", "refund", "committed", "sold")
UNNAMED = to_say("unnamed item")
"What pages and tables call a line to which the owner gave neither a name nor a number."


@frozen
class CostLine:
    """One amount, and all that it may be added up by."""

    sort: Sort
    "`paid`, `refund`, `committed` (ordered and not paid, less credit notes), `sold`"
    landed: Money
    "home currency; a refund and a credit note are below zero, a sale above"
    date: datetime.date
    "when it was paid, came back (a credit note on what was not paid yet: when that was), or was ordered (committed)"
    entry: str
    "name of the entry that states it"
    place: Place
    "where it is stated: the order's line, the return or the sale"
    what: str
    "what it is for, as shown; empty where the owner gave it neither a name nor a number"
    part: str | None
    "the part's key, where it is kept track of"
    qty: Decimal
    "of the order line; of a refund what went back, where it is about one line alone"
    unit: str | None
    "of the quantity; None: pieces"
    system: str | None
    "key of a system; None: the owner names none"
    kind: str
    "one of `LINE_KINDS`"
    fault: str | None
    "the fault that it was bought for"
    supplier: str | None
    "as written; None for a sale"
    ref: str | None
    "the order's ref"
    line: Place | None
    "the order line that it is about; None for a sale"
    converted: bool = True
    "False: the home amount is not known, and counts as zero"


@frozen
class BoughtLine:
    """One order line with everything that it cost, and its dates up to some day."""

    landed: LandedLine
    "the line with all of its costs"
    entry: str
    "name of the entry that the order stands in"
    part: str | None
    "the part's key, where it is kept track of"
    system: str | None
    "key of a system: of the line, else the only one of its entry; None: none is named"
    supplier: str
    "as written"
    ref: str | None
    "the order's; None: it has none"
    currency: str
    "the order's currency"
    ordered: datetime.date
    "the order's own date, else its entry's"
    paid: datetime.date | None
    "None: not by the day"
    arrived: datetime.date | None
    "None: still in the post"


def list_bought(story: PartStory, purchases: Iterable[Purchase], as_of: datetime.date) -> tuple[BoughtLine, ...]:
    """Every line ordered by the day: in the order of arrival, those in the post last, then in the order of the log."""
    bought = []
    for purchase in purchases:
        if is_placed(purchase, as_of):
            for line, arrival in zip(purchase.landed.lines, purchase.arrivals, strict=True):
                arrived = arrival.arrived if _is_by(arrival.arrived, as_of) else None
                # As of the day: what came later is still in the post, though the log knows better by now.
                bought.append(_describe_bought(story, purchase, line, arrived, as_of))
    return tuple(sorted(bought, key=lambda line: line.arrived or datetime.date.max))


def list_spent(
    story: PartStory, purchases: Iterable[Purchase], refunds: Iterable[Refund], as_of: datetime.date
) -> tuple[CostLine, ...]:
    """What was paid and what came back by the day, by date, then in the order of the log."""
    lines = [
        _describe_line(story, purchase, line, amount=amount, sort="paid", date=share.date)
        for purchase in purchases
        for share in purchase.shares
        if share.date <= as_of
        for line, amount in zip(purchase.landed.lines, share.lines, strict=True)
    ]
    # A refund counts when it came, not with its order: months that are over do not change.
    lines += [line for refund in refunds if _is_by(refund.date, as_of) for line in _describe_refund(story, refund)]
    return tuple(sorted(lines, key=lambda line: line.date))


def list_committed(
    story: PartStory, purchases: Iterable[Purchase], refunds: Iterable[Refund], as_of: datetime.date
) -> tuple[CostLine, ...]:
    """What was ordered and not paid by the day, less credit notes; what comes to nothing commits to nothing."""
    credits: dict[Place, list[Refund]] = {}
    for refund in refunds:
        if refund.credit and refund.told <= as_of:
            credits.setdefault(refund.purchase.landed.order.place, []).append(refund)
    committed = []
    for purchase in purchases:
        # Paid later is committed today.
        if is_placed(purchase, as_of) and not _is_by(purchase.paid, as_of):
            lines = [*_describe_left(story, purchase, as_of)]
            for refund in credits.get(purchase.landed.order.place, ()):
                lines += _describe_credit(story, refund)
            # A gift is never paid and would stay committed for good, so what comes to nothing is left out; what is not
            # converted comes to nothing only for now.
            if (
                sum_money([line.landed for line in lines], purchase.landed.home_currency)
                or not purchase.landed.converted
            ):
                committed += lines
    return tuple(committed)


def _describe_left(story: PartStory, purchase: Purchase, as_of: datetime.date) -> Iterator[CostLine]:
    """What was left to pay of each line by the day."""
    for n, line in enumerate(purchase.landed.lines):
        left = line.landed
        for share in purchase.shares:
            left = left - share.lines[n] if share.date <= as_of else left
        yield _describe_line(story, purchase, line, amount=left, sort="committed", date=purchase.ordered)


def _describe_credit(story: PartStory, refund: Refund) -> Iterator[CostLine]:
    """What a credit note took off what is left to pay, below zero."""
    for part in refund.lines:
        if part.home:
            line = _describe_line(
                story, refund.purchase, part.line, amount=-part.home, sort="committed", date=refund.told
            )
            yield replace(line, place=refund.returned.place)


def list_recovered(story: PartStory, as_of: datetime.date) -> tuple[CostLine, ...]:
    """What sales brought by the day, by date, then in the order of the log."""
    lines = [
        _describe_sale(story, entry, sold)
        for entry in story.log.entries
        for sold in entry.sold
        if (sold.date or entry.date) <= as_of
    ]
    return tuple(sorted(lines, key=lambda line: line.date))


def is_placed(purchase: Purchase, as_of: datetime.date) -> bool:
    """Whether an order was ordered, or some of it paid, by the day."""
    # A payment may be dated before the order, by a slip or a deposit: money that left counts.
    return purchase.ordered <= as_of or any(share.date <= as_of for share in purchase.shares)


def name_line(story: PartStory, line: Line) -> str:
    """What a line is for, as shown; empty where the owner gave it neither a name nor a number."""
    key = story.names.lines.get(line.place)
    part = story.names.parts.get(key) if key else None
    known = part.name if part else plain_name(line.part) if line.part else line.number
    return line.name or line.what or known or ""


def choose_kind(line: Line) -> str:
    """The line's kind as written, else `part` where it has a part or number, else `other`."""
    # Nobody writes a kind for each line: a number or a key is what parts have and rags do not.
    return line.kind or ("part" if line.part or line.number else "other")


def _is_by(date: datetime.date | None, as_of: datetime.date) -> bool:
    return date is not None and date <= as_of


def _describe_bought(
    story: PartStory, purchase: Purchase, line: LandedLine, arrived: datetime.date | None, as_of: datetime.date
) -> BoughtLine:
    order = purchase.landed.order
    return BoughtLine(
        landed=line,
        entry=purchase.entry.name,
        part=story.names.lines.get(line.line.place),
        system=line.line.system or only_system(purchase.entry),
        supplier=order.supplier,
        ref=order.ref,
        currency=purchase.landed.currency,
        ordered=purchase.ordered,
        paid=purchase.paid if _is_by(purchase.paid, as_of) else None,
        arrived=arrived,
    )


def _describe_line(
    story: PartStory, purchase: Purchase, landed: LandedLine, *, amount: Money, sort: Sort, date: datetime.date
) -> CostLine:
    line, order = landed.line, purchase.landed.order
    return CostLine(
        sort=sort,
        landed=amount,
        date=date,
        entry=purchase.entry.name,
        place=line.place,
        what=name_line(story, line),
        part=story.names.lines.get(line.place),
        qty=line.qty,
        unit=line.unit,
        system=line.system or only_system(purchase.entry),
        kind=choose_kind(line),
        fault=line.fault,
        supplier=order.supplier,
        ref=order.ref,
        line=line.place,
        converted=purchase.landed.converted,
    )


def _describe_refund(story: PartStory, refund: Refund) -> Iterator[CostLine]:
    """One line for each line that money came back on: everything as on the order's line but date, place and entry."""
    for part in refund.lines:
        # A line of zero would be shown as a refund of nothing.
        if part.home:
            date = refund.date or refund.told
            bought = _describe_line(story, refund.purchase, part.line, amount=-part.home, sort="refund", date=date)
            # Of several lines nobody wrote how many of each went back.
            qty = refund.returned.qty if refund.returned.qty and len(refund.lines) == 1 else bought.qty
            yield replace(bought, entry=refund.entry.name, place=refund.returned.place, qty=qty, converted=True)


def _describe_sale(story: PartStory, entry: Entry, sold: Sold) -> CostLine:
    names = story.names
    key = names.keys.get(sold.part) if sold.part else original_key(sold.name) if sold.name else None
    part = names.parts.get(key) if key else None
    return CostLine(
        sort="sold",
        landed=round_to_minor_unit(sold.price, story.log.settings.money.currency),
        date=sold.date or entry.date,
        entry=entry.name,
        place=sold.place,
        what=sold.what or sold.name or (part.name if part else ""),
        part=part.key if part else None,
        qty=sold.qty,
        unit=None,
        system=sold.system or (part.system if part else None) or only_system(entry),
        # A sale has no kind of its own; a radiator that was never a part here is not guessed to be one.
        kind="part" if part else "other",
        fault=None,
        supplier=None,
        ref=None,
        line=None,
    )
