"""Which core charges are still with the supplier, and what would come back for them?"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence

from buildlog.compute.costs.lines import name_line
from buildlog.compute.costs.orders import LandedLine, convert
from buildlog.compute.costs.purchases import LineRefund, Purchase, Refund
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.quantities.money import Money, sum_money
from buildlog.frozen import frozen
from buildlog.problems import Place


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
    for refund in (refund for refund in refunds if refund.date <= as_of):
        for part in refund.lines:
            back.setdefault(part.line.line.place, []).append(part)
    return tuple(
        _describe(story, purchase, line, since=purchase.paid, left=left)
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


def _describe(story: PartStory, purchase: Purchase, line: LandedLine, *, since: datetime.date, left: Money) -> CoreOwed:
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
