"""What was spent on each order line by some day: how much do its units cost, and how much of that is still gone?"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from buildlog.compute.costs.lines import CostLine
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.quantities.money import sum_amounts
from buildlog.frozen import frozen
from buildlog.problems import Place

ZERO = Decimal(0)


@frozen
class LineSpent:
    """What was spent on one order line; home currency, never below zero."""

    units: Decimal
    "paid, less what came back for no goods, such as a core or money off the price: what all of its units cost"
    left: Decimal
    "paid, less all that came back"


def spend_by_line(story: PartStory, lines: Iterable[CostLine]) -> Mapping[Place, LineSpent]:
    """What was spent on each order line, from what was paid and what came back; by the line's place."""
    goods = {move.place for move in story.movements if move.kind in ("returned", "cancelled")}
    grouped: dict[Place, list[CostLine]] = {}
    for line in lines:
        if line.line is not None:
            grouped.setdefault(line.line, []).append(line)
    return {
        place: LineSpent(
            units=max(sum_amounts(line.landed for line in group if line.place not in goods), ZERO),
            left=max(sum_amounts(line.landed for line in group), ZERO),
        )
        for place, group in grouped.items()
    }
