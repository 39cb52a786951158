"""What is on the shelf, where does it lie, and what is it worth: what its pieces cost, delivered?"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction

from buildlog.compute.costs.lines import BoughtLine
from buildlog.compute.costs.refunds import Refund
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
        return round_to_minor_unit(Fraction(cost.amount) * Fraction(qty) / Fraction(story.lines[line].qty), currency)

    return ShelfItem(
        key=key,
        qty=sum(by_where.values(), Decimal(0)),
        lying=tuple(Lying(where=where, qty=qty) for where, qty in by_where.items()),
        worth=sum_money((share(line, qty) for line, qty in by_line.items()), currency),
    )
