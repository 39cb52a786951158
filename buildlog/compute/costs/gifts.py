"""What was not paid for: gifts, warranty parts, and what a sponsor gave?"""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from buildlog.compute.costs.lines import is_placed, name_line
from buildlog.compute.costs.orders import LandedLine, convert
from buildlog.compute.costs.purchases import Purchase
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.quantities.money import Money, round_to_minor_unit
from buildlog.frozen import frozen
from buildlog.problems import Place


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
        _describe(story, purchase, line)
        for purchase in purchases
        # From the day of the order: there may be nothing to pay, so no payment to wait for.
        if is_placed(purchase, as_of)
        for line in purchase.landed.lines
        if line.line.worth is not None or line.line.from_sponsor
    )


def _describe(story: PartStory, purchase: Purchase, line: LandedLine) -> Gift:
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
