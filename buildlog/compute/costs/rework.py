"""What did rework cost: the money and hours for whatever took the place of something fitted earlier in this log?

It is worked out from the fittings, never typed. For that, each order line is asked what its units cost and how much of
it is still gone, as money may have come back since.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction

from buildlog.arithmetic import sum_exactly
from buildlog.compute.costs.lines import CostLine
from buildlog.compute.parts.ledger import Units
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.parts.spans import Span
from buildlog.compute.quantities.money import Money, round_to_minor_unit, sum_money
from buildlog.frozen import frozen
from buildlog.problems import Place

ZERO = Decimal(0)


@frozen
class LineSpent:
    """What was spent on one order line; home currency, never below zero."""

    units: Money
    "paid, less what came back for no goods, such as a core or money off the price: what all of its units cost"
    left: Money
    "paid, less all that came back"


def spend_by_line(story: PartStory, lines: Iterable[CostLine]) -> Mapping[Place, LineSpent]:
    """What was spent on each order line, from what was paid and what came back; by the line's place."""
    # Money that came with goods is for units that are gone; what the others cost apiece has not changed.
    goods = {move.place for move in story.movements if move.kind in ("returned", "cancelled")}
    grouped: dict[Place, list[CostLine]] = {}
    for line in lines:
        if line.line is not None:
            grouped.setdefault(line.line, []).append(line)
    currency = story.log.settings.money.currency
    zero = Money(ZERO, currency)

    def sum_spent(group: list[CostLine]) -> Money:
        # More may come back than was paid, where the rate of a foreign order moved: nothing is then left, not less.
        return max(sum_money([line.landed for line in group], currency), zero)

    spent = {}
    for place, group in grouped.items():
        left, kept = sum_spent(group), [line for line in group if line.place not in goods]
        spent[place] = LineSpent(units=left if len(kept) == len(group) else sum_spent(kept), left=left)
    return spent


@frozen
class ReworkUnit:
    """Some units of one order line that went into rework."""

    line: Place
    "the order line, by its place"
    qty: Decimal
    "in the order line's unit"
    cost: Money
    "their share of what was spent on the line, in the home currency"


@frozen
class ReworkItem:
    """One fitting that took the place of something fitted earlier in this log."""

    key: str
    "of the part that was fitted"
    name: str
    "the part's, as shown"
    at: str | None
    "position, as written; None: not written"
    qty: Decimal
    "how many took the place of others"
    date: datetime.date
    "when it was fitted"
    entry: str
    "name of the entry that tells of the fitting"
    place: Place
    "where the fitting is written"
    earlier: str
    "key of what it took the place of"
    units: tuple[ReworkUnit, ...]
    "new units only: one that comes back from the shelf was charged when it was first fitted"
    cost: Money
    "sum of the units, in the home currency"
    hours: Decimal
    "own hours; those of an entry that does not split them stand at its first such item"


@frozen
class ReworkFigures:
    """All rework by a day; the sums are those of the items."""

    items: tuple[ReworkItem, ...]
    "in the order of fitting"
    cost: Money
    "in the home currency; a part of what was spent"
    hours: Decimal
    "own hours"


def compute_rework(
    story: PartStory, spans: tuple[Span, ...], *, spent: Mapping[Place, LineSpent], as_of: datetime.date
) -> ReworkFigures:
    """The cost of rework up to a day: a part of what was spent by then.

    `spent` is what was spent on each order line, by the line's place. A line that is not in it was not paid by then and
    costs nothing here. No line costs more than what is left of it after all that came back.
    """
    again = _list_again(spans, as_of)
    # One fitting may be several spans, where its units came off on different days: its hours count once.
    hours = _share_hours([again_spans[0] for again_spans in again])
    purse = _Purse(story, spent)
    items = tuple(_compute_item(purse, again_spans, hours[n]) for n, again_spans in enumerate(again))
    return ReworkFigures(
        items=items,
        cost=sum_money((item.cost for item in items), purse.currency),
        hours=sum_exactly(item.hours for item in items),
    )


def _list_again(spans: tuple[Span, ...], as_of: datetime.date) -> list[list[Span]]:
    """The fittings that were done again, each with the spans that it later fell into."""
    grouped: dict[Place, list[Span]] = {}
    for span in spans:
        # Wear is no rework: what was always meant to be replaced is planned, service parts among it.
        planned = span.move.fitted is not None and span.move.fitted.planned
        if span.earlier is not None and not planned and span.move.date <= as_of:
            grouped.setdefault(span.move.place, []).append(span)
    return list(grouped.values())


def _compute_item(purse: _Purse, spans: list[Span], hours: Decimal) -> ReworkItem:
    move = spans[0].move
    # A unit that comes back from the shelf was paid for at its first fitting, and one of the machine's own by nobody.
    units = tuple(purse.charge(unit) for span in spans for unit in span.units if unit.new and unit.line is not None)
    return ReworkItem(
        key=move.key,
        name=purse.story.names.parts[move.key].name,
        at=move.at,
        qty=move.qty,
        date=move.date,
        entry=move.entry,
        place=move.place,
        earlier=spans[0].earlier or move.key,
        units=units,
        cost=sum_money((unit.cost for unit in units), purse.currency),
        hours=hours,
    )


class _Purse:
    """What was spent on each order line, and how much of it no unit was charged with yet."""

    def __init__(self, story: PartStory, spent: Mapping[Place, LineSpent]) -> None:
        self.story = story
        self.currency = story.log.settings.money.currency
        self._spent = spent
        self._left = {place: line.left for place, line in spent.items()}

    def charge(self, unit: Units) -> ReworkUnit:
        """Units of a line with their share of its cost, or what is left of it."""
        assert unit.line is not None
        cost = Money(ZERO, self.currency)
        if unit.line in self._spent:
            whole_qty = self.story.lines[unit.line].qty
            share = charge_units(self._spent[unit.line].units, whole_qty, skip=unit.skip, qty=unit.qty)
            # However often a line is drawn upon, rework cannot cost more than what is still spent on it.
            cost = min(share, self._left[unit.line])
            self._left[unit.line] -= cost
        return ReworkUnit(line=unit.line, qty=unit.qty, cost=cost)


def charge_units(whole: Money, whole_qty: Decimal, *, skip: Decimal, qty: Decimal) -> Money:
    """What some units of an order line cost, `skip` units having gone before.

    Each is charged the growth of the rounded running cost, so that the units of a line always sum to its whole cost.
    """

    def run(units: Decimal) -> Money:
        return round_to_minor_unit(Fraction(whole.amount) * Fraction(units) / Fraction(whole_qty), whole.currency)

    # Each share rounded by itself would make 9.99 of three thirds of 10.00.
    return run(skip + qty) - run(skip)


def _share_hours(spans: list[Span]) -> list[Decimal]:
    """Each fitting's hours: its own; else its entry's, less those of the others there, once for the entry."""
    own = [span.move.fitted.hours if span.move.fitted else None for span in spans]
    stated: dict[str, Decimal] = {}
    for span, hours in zip(spans, own, strict=True):
        stated[span.move.entry] = stated.get(span.move.entry, Decimal(0)) + (hours or Decimal(0))
    shared = []
    given: set[str] = set()
    for span, hours in zip(spans, own, strict=True):
        entry = span.move.entry
        # The parts of an entry may claim more hours than the whole of it: then nothing is left over.
        rest = max((span.move.entry_hours or Decimal(0)) - stated[entry], Decimal(0))
        shared.append(hours if hours is not None else Decimal(0) if entry in given else rest)
        if hours is None:
            given.add(entry)
    return shared
