"""Which units of a part lie on the shelf, and which of them is taken: what each cost is known by its order line.

Units of one line are told apart by counting, so that every unit that was bought is charged once and no more.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from buildlog.frozen import frozen
from buildlog.problems import Place


@frozen
class Units:
    """Some units of one order line, which were on the machine before or never."""

    line: Place | None
    "the order line that brought them; None: the machine's own"
    skip: Decimal
    "how many units of that line come before these"
    qty: Decimal
    new: bool
    "whether they were never fitted"


class Shelf:
    """The units of one part on hand."""

    def __init__(self) -> None:
        self._units: list[Units] = []

    def bring(self, line: Place, qty: Decimal) -> None:
        """Lay new units of an order line on the shelf."""
        self._units.append(Units(line=line, skip=Decimal(0), qty=qty, new=True))

    def put_back(self, units: Iterable[Units]) -> None:
        """Lay units on the shelf that came off the machine."""
        self._units += [replace(unit, new=False) for unit in units]

    def take(self, qty: Decimal, *, new_first: bool, line: Place | None = None) -> tuple[Units, ...]:
        """Take units off the shelf: those of the line that is named before others, then oldest first.

        With `new_first` bought units that were never fitted go before those that were, else after them.
        Fewer come where the shelf does not hold so many.
        """

        def rank(place: int) -> tuple[bool, bool]:
            unit = self._units[place]
            return line is not None and unit.line != line, unit.new != new_first

        taken: list[Units] = []
        for place in sorted(range(len(self._units)), key=rank):
            if not qty:
                break
            part, rest = split_units((self._units[place],), qty)
            qty -= sum((unit.qty for unit in part), Decimal(0))
            taken += part
            self._units[place] = rest[0] if rest else replace(self._units[place], qty=Decimal(0))
        self._units = [unit for unit in self._units if unit.qty]
        return tuple(taken)


def split_units(units: Iterable[Units], qty: Decimal) -> tuple[tuple[Units, ...], tuple[Units, ...]]:
    """The first so many units, and the rest; all and nothing where there are no more."""
    taken, rest = [], []
    for unit in units:
        part = min(unit.qty, qty)
        qty -= part
        if part:
            taken.append(replace(unit, qty=part))
        if part < unit.qty:
            rest.append(replace(unit, skip=unit.skip + part, qty=unit.qty - part))
    return tuple(taken), tuple(rest)
