"""What stands beside the totals: what is the shelf worth, which core charges are out, and what was not paid for?"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from buildlog.compute.costs.lines import BoughtLine, is_placed, name_line
from buildlog.compute.costs.orders import LandedLine, convert
from buildlog.compute.costs.purchases import Purchase
from buildlog.compute.costs.refunds import LineRefund, Refund
from buildlog.compute.parts.ledger import Units
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.quantities.money import Money, round_to_minor_unit, sum_money
from buildlog.frozen import frozen
from buildlog.problems import Place


@frozen
class Lying:
    """Some pieces of one part that lie together."""

    where: str | None
    "as written; None: nobody said"
    qty: Decimal
    "how many"


@frozen
class ShelfItem:
    """One part on the shelf."""

    key: str
    "the part"
    qty: Decimal
    "how many"
    lying: tuple[Lying, ...]
    "where they lie, in the order in which they were put there"
    worth: Money
    "what they cost, in the home currency; what the machine came with cost nothing"


@frozen
class ShelfFigures:
    """The whole shelf on a day."""

    items: tuple[ShelfItem, ...]
    "in the order in which the parts first appear"
    worth: Money
    "sum of the items"
    placed: bool
    "whether the log says of anything where it lies"


def compute_shelf(
    story: PartStory,
    shelves: Mapping[str, tuple[Units, ...]],
    *,
    bought: Iterable[BoughtLine],
    refunds: Iterable[Refund],
    as_of: datetime.date,
) -> ShelfFigures:
    """What lies on the shelf at the end of a day; `shelves` are the pieces of each part, `bought` all lines ordered.

    Pieces of one order line are worth their share of its delivered cost, half up; money that came back on the line for
    no goods makes each of its pieces cheaper.
    """
    costs = {line.landed.line.place: line.landed.landed for line in bought}
    for refund in refunds:
        returned = refund.returned
        if refund.told <= as_of and returned.qty is returned.cancelled is None:
            for part in refund.lines:
                if part.line.line.place in costs:
                    costs[part.line.line.place] -= part.home
    currency = story.log.settings.money.currency
    items = tuple(
        _describe(story, key, units, costs, currency) for key in story.names.parts if (units := shelves.get(key))
    )
    return ShelfFigures(
        items=items,
        worth=sum_money((item.worth for item in items), currency),
        placed=any(line.shelf for line in story.lines.values())
        or any(removed.shelf for entry in story.log.entries for removed in entry.removed),
    )


def _describe(
    story: PartStory, key: str, units: tuple[Units, ...], costs: Mapping[Place, Money], currency: str
) -> ShelfItem:
    by_line: dict[Place, Decimal] = {}
    by_where: dict[str | None, Decimal] = {}
    for unit in units:
        by_where[unit.where] = by_where.get(unit.where, Decimal(0)) + unit.qty
        if unit.line is not None:
            by_line[unit.line] = by_line.get(unit.line, Decimal(0)) + unit.qty
    zero = Money(Decimal(0), currency)

    def share(line: Place, qty: Decimal) -> Money:
        # More may have come back than it cost: then it is worth nothing, not less.
        cost = max(costs.get(line, zero), zero)
        whole = story.lines[line].qty
        part = cost.amount if qty == whole else Fraction(cost.amount) * Fraction(qty) / Fraction(whole)
        return round_to_minor_unit(part, currency)

    return ShelfItem(
        key=key,
        qty=sum(by_where.values(), Decimal(0)),
        lying=tuple(Lying(where=where, qty=qty) for where, qty in by_where.items()),
        worth=sum_money((share(line, qty) for line, qty in by_line.items()), currency),
    )


@frozen
class CoreOwed:
    """A core charge that was paid and has not come back, or not all of it."""

    what: str
    "what it was paid on, as shown; empty where the owner gave it neither a name nor a number"
    part: str | None
    "the part's key, where it is kept track of"
    supplier: str
    "as written"
    ref: str | None
    "the order's; None: it has none"
    entry: str
    "name of the entry that the order stands in"
    place: Place
    "the order's line"
    since: datetime.date
    "when it was paid"
    core: Money
    "what is left of it, in the order's currency"
    home: Money | None
    "the same in the home currency at the order's own rate; None: no rate is known"


def list_cores_owed(
    story: PartStory, purchases: Iterable[Purchase], refunds: Iterable[Refund], as_of: datetime.date
) -> tuple[CoreOwed, ...]:
    """The core charges paid and not given back by the day, in the order of the log."""
    back: dict[Place, list[LineRefund]] = {}
    for refund in (refund for refund in refunds if refund.date and refund.date <= as_of):
        for part in refund.lines:
            back.setdefault(part.line.line.place, []).append(part)
    return tuple(
        _describe_core(story, purchase, line, since=purchase.paid, left=left)
        for purchase in purchases
        # A charge that was not paid yet is committed with the rest of its order: nobody owes it back.
        if purchase.paid is not None and purchase.paid <= as_of
        for line in purchase.landed.lines
        if line.core and (left := _count_left(line, back.get(line.line.place, ()))).amount > 0
    )


def _count_left(line: LandedLine, back: Sequence[LineRefund]) -> Money:
    """The core less what came back for it; a line whose whole price came back owes none."""
    cores = sum_money((refund.core for refund in back), line.core.currency)
    prices = sum_money((refund.price for refund in back), line.core.currency)
    # A part may go back for its whole price in one sum, core and all: then none is left to come, whatever was called
    # a core.
    return min(line.core - cores, line.gross - cores - prices)


def _describe_core(
    story: PartStory, purchase: Purchase, line: LandedLine, *, since: datetime.date, left: Money
) -> CoreOwed:
    order = purchase.landed
    return CoreOwed(
        what=name_line(story, line.line),
        part=story.names.lines.get(line.line.place),
        supplier=order.order.supplier,
        ref=order.order.ref,
        entry=purchase.entry.name,
        place=line.line.place,
        since=since,
        core=left,
        home=convert(left, order),
    )


@frozen
class Gift:
    """An order line whose worth, or a part of it, was not paid."""

    what: str
    "as shown; empty where the owner gave it neither a name nor a number"
    part: str | None
    "the part's key, where it is kept track of"
    supplier: str
    "as written: a shop, a maker, a friend"
    entry: str
    "name of the entry that the order stands in"
    place: Place
    "the order's line"
    date: datetime.date
    "when it was ordered"
    from_sponsor: bool
    "given by somebody who hopes to be seen: readers are told"
    worth: Money | None
    "value that was not paid, in the order's currency; None: not stated"
    home: Money | None
    "the same in the home currency; None: not stated, or no rate is known"
    landed: Money
    "what it cost all the same: carriage, duty; home currency"


def list_gifts(story: PartStory, purchases: Iterable[Purchase], as_of: datetime.date) -> tuple[Gift, ...]:
    """The lines with a `worth` or from a sponsor, of orders placed by the day, in the order of the log."""
    return tuple(
        _describe_gift(story, purchase, line)
        for purchase in purchases
        # From the day of the order: there may be nothing to pay, so no payment to wait for.
        if is_placed(purchase, as_of)
        for line in purchase.landed.lines
        if line.line.worth is not None or line.line.from_sponsor
    )


def _describe_gift(story: PartStory, purchase: Purchase, line: LandedLine) -> Gift:
    order = purchase.landed
    # A sponsor may name no worth. Readers are told of the gift all the same, and no value is made up for it.
    worth = None if line.line.worth is None else round_to_minor_unit(line.line.worth, order.currency)
    return Gift(
        what=name_line(story, line.line),
        part=story.names.lines.get(line.line.place),
        supplier=order.order.supplier,
        entry=purchase.entry.name,
        place=line.line.place,
        date=purchase.ordered,
        from_sponsor=line.line.from_sponsor,
        worth=worth,
        home=None if worth is None else convert(worth, order),
        landed=line.landed,
    )
