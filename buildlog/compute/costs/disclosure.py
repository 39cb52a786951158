"""Which totals can be shown without giving away what a single line cost?

A total of one line is that line's price, and so is the difference of two totals that one line lies between; three ways
of adding up the same four lines give each of them. So no rule about single totals will do. Totals are taken in, in the
order of their worth to a reader, each only if no line's amount follows from it and all that were taken in before, by
adding, subtracting and multiplying whatever way. That is asked of equations and not of amounts: whether a total is
shown says nothing about how much it is.

Each total is a row of a matrix with a column for each line, kept in reduced row echelon form. A line's amount follows
from the rows exactly if one of them has that line's column alone. Lines that are in the same totals share a column.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property

from buildlog.compute.costs.lines import CostLine
from buildlog.compute.costs.sums import Total, sum_lines, total_lines
from buildlog.compute.costs.totals import CostFigures
from buildlog.compute.quantities.money import Money
from buildlog.problems import Place

Terms = tuple[tuple[CostLine, ...], tuple[CostLine, ...]]
"The lines of a total: what is added, and what is taken off."

PRIME = (1 << 31) - 1
"""What is counted modulo: a Mersenne prime, by which whole rows are reduced with shifts and masks.

What follows from rows in fractions follows modulo a prime as well, but where it divides the fractions' denominators.
Those come of subtracting rows of 0 and 1 from each other, and are small."""
SLOT = 64
"Bits of a column in a row, which is one integer: room for a product of two numbers below the prime, and a sum."


class ShownTotals:
    """Which totals are shown of a log whose single prices are not."""

    def __init__(self, costs: CostFigures, *, suppliers: bool, more: Iterable[Iterable[CostLine]] = ()) -> None:
        """`more` are other lots of lines whose total is of use; `suppliers` says whether totals go by their names."""
        self._currency = costs.currency
        wanted = [*_list_wanted(costs, suppliers=suppliers), *((tuple(lines), ()) for lines in more)]
        self._columns = _number_columns(costs, wanted)
        self._rows = _Rows(self._columns, (*costs.lines, *costs.committed_lines, *costs.recovered_lines))
        for added, taken in wanted:
            self._rows.take_in(self._write_row(added, taken))

    def shows(self, amount: Money, added: Iterable[CostLine], taken: Iterable[CostLine] = ()) -> bool:
        """Whether an amount is shown, which is the sum of some lines less that of others.

        What is not their sum is never shown: shares of a line, say, tell of that line what its total would.
        """
        added, taken = tuple(added), tuple(taken)
        if amount != sum_lines(added, self._currency) - sum_lines(taken, self._currency):
            return False
        # A line that is not one of the log's costs has no column, and nothing is known about what follows from it.
        if any(id(line) not in self._columns for line in (*added, *taken)):
            return False
        return not self._rows.reduce(self._write_row(added, taken))

    def _write_row(self, added: Iterable[CostLine], taken: Iterable[CostLine]) -> int | None:
        """The total as a row; None where it has some lines of a column and not the others."""
        counts: dict[int, int] = {}
        for sign, lines in ((1, added), (-1, taken)):
            for line in lines:
                column = self._columns[id(line)]
                counts[column] = counts.get(column, 0) + sign
        row = bytearray(len(self._rows.sizes) * SLOT // 8)
        for column, number in counts.items():
            if number % self._rows.sizes[column]:
                return None
            at = column * SLOT // 8
            row[at : at + 4] = (number // self._rows.sizes[column] % PRIME).to_bytes(4, "little")
        return int.from_bytes(row, "little")


def _list_wanted(costs: CostFigures, *, suppliers: bool) -> Iterator[Terms]:
    """The totals of which as many are shown as can be, the most useful first."""
    lines, sales = costs.lines, costs.recovered_lines
    yield lines, ()
    yield lines, sales
    yield costs.committed_lines, ()
    yield costs.refund_lines, ()
    yield tuple(line for line in lines if line.sort == "paid"), ()
    yield from _list_largest_first(costs.by_system)
    for month in costs.months:
        yield _cut(lines, month.month), _cut(sales, month.month)
    for way in (costs.by_kind, costs.by_supplier if suppliers else (), costs.by_fault):
        yield from _list_largest_first(way)
    for month in costs.months:
        spent = tuple(line for line in month.lines if line.sort != "sold")
        sold = tuple(line for line in month.lines if line.sort == "sold")
        yield spent, sold
        yield spent, ()
    yield from ((total.lines, ()) for total in total_lines(costs.committed_lines, lambda line: line.system))
    for system in costs.by_system:
        yield from ((total.lines, ()) for total in total_lines(system.lines, lambda line: str(line.date.year)))


def _list_largest_first(totals: Iterable[Total]) -> Iterator[Terms]:
    # By lines and not by amounts: which totals are shown must not tell of those.
    yield from ((total.lines, ()) for total in sorted(totals, key=lambda one: (-len(one.lines), one.name)))


def _month_of(line: CostLine) -> str:
    return line.date.isoformat()[:7]


def _cut(lines: Iterable[CostLine], month: str) -> tuple[CostLine, ...]:
    return tuple(line for line in lines if _month_of(line) <= month)


def _number_columns(costs: CostFigures, wanted: Iterable[Terms]) -> dict[int, int]:
    """The column of each line by the line's `id`: one for all that are in the same totals with the same sign."""
    # By `id`, as two instalments of one day may be equal in all that they say.
    among: dict[int, list[tuple[int, int]]] = {
        id(line): [] for line in (*costs.lines, *costs.committed_lines, *costs.recovered_lines)
    }
    for number, (added, taken) in enumerate(wanted):
        for sign, lines in ((1, added), (-1, taken)):
            for line in lines:
                among[id(line)].append((number, sign))
    numbers: dict[tuple[tuple[int, int], ...], int] = {}
    return {line: numbers.setdefault(tuple(totals), len(numbers)) for line, totals in among.items()}


class _Rows:
    """The totals taken in so far, in reduced row echelon form, by the column that each row leads in."""

    def __init__(self, columns: Mapping[int, int], lines: Iterable[CostLine]) -> None:
        held: dict[int, set[Place]] = {}
        where: dict[Place, set[int]] = {}
        sizes: dict[int, int] = {}
        for line in lines:
            # A price that was paid in instalments, or came back in part, is one price all the same.
            column, item = columns[id(line)], line.line or line.place
            held.setdefault(column, set()).add(item)
            where.setdefault(item, set()).add(column)
            sizes[column] = sizes.get(column, 0) + 1
        self.sizes = sizes
        self._alone = {1 << SLOT * column for column, items in held.items() if len(items) == 1}
        # Lines of one item in several columns, none of which has another's: their sum is no more to be told than each.
        self._spread = [
            sum(1 << SLOT * column for column in found)
            for found in where.values()
            if len(found) > 1 and all(len(held[column]) == 1 for column in found)
        ]
        self._rows: dict[int, int] = {}

    @cached_property
    def _masks(self) -> tuple[int, int, int]:
        """In each column a one, the prime, and the bits that are left of a product above the prime's."""
        ones = sum(1 << SLOT * column for column in range(len(self.sizes)))
        return ones, ones * PRIME, ones * ((1 << 33) - 1)

    def _subtract(self, row: int, times: int, other: int) -> int:
        """A row less so many times another, modulo the prime in each column."""
        ones, low, high = self._masks
        row += (PRIME - times) % PRIME * other
        for _ in range(2):
            row = (row & low) + (row >> 31 & high)
        # What is the prime or just above it is brought below.
        return row - (row + ones >> 31 & ones) * PRIME

    def reduce(self, row: int | None) -> int:
        """What is left of a row when all that follows from the rows is taken off; 0 where it follows from them."""
        if row is None:
            return 1
        data = row.to_bytes(len(self.sizes) * SLOT // 8, "little")
        for column, mine in self._rows.items():
            if times := int.from_bytes(data[column * SLOT // 8 : column * SLOT // 8 + 4], "little"):
                row = self._subtract(row, times, mine)
        return row

    def take_in(self, row: int | None) -> None:
        """Add a row, unless some line's amount would follow then."""
        left = self.reduce(row)
        if not left:
            return
        column = ((left & -left).bit_length() - 1) // SLOT
        first = left >> SLOT * column & PRIME
        left = self._subtract(0, PRIME - pow(first, -1, PRIME), left)
        before = self._rows
        rows = {at: self._clear(mine, column, left) for at, mine in before.items()} | {column: left}
        self._rows = rows
        if not self._alone.isdisjoint(rows.values()) or not all(map(self.reduce, self._spread)):
            self._rows = before

    def _clear(self, row: int, column: int, other: int) -> int:
        times = row >> SLOT * column & PRIME
        return self._subtract(row, times, other) if times else row
