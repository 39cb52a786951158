"""How many of each part are where: arrived and kept, less fitted, returned, sold and scrapped, is the shelf.

Counts, and which units lie on the shelf; what they cost is for the costs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal

from buildlog.compute.parts.movements import Movement, MovementKind, PartStory
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Log


@frozen
class Units:
    """Some units of one order line, which were on the machine before or never."""

    line: Place | None
    "the order line that brought them; None: the machine's own"
    skip: Decimal
    "how many units of that line come before these"
    qty: Decimal
    "how many"
    new: bool
    "whether they were never fitted"
    where: str | None = None
    "where they lie, as written; None: nobody said"


class Shelf:
    """The units of one part on hand."""

    def __init__(self) -> None:
        self._units: list[Units] = []

    def bring(self, line: Place, qty: Decimal, where: str | None, skip: Decimal) -> None:
        """Lay new units of an order line on the shelf, so many of which came before."""
        self._units.append(Units(line=line, skip=skip, qty=qty, new=True, where=where))

    def put_back(self, units: Iterable[Units], where: str | None) -> None:
        """Lay units on the shelf that came off the machine."""
        self._units += [replace(unit, new=False, where=where) for unit in units]

    def list_units(self) -> tuple[Units, ...]:
        """What lies on it, in the order in which it was put there."""
        return tuple(self._units)

    def take(self, qty: Decimal, *, new_first: bool, line: Place | None = None) -> tuple[Units, ...]:
        """Take units off the shelf: those of the line that is named before others, then oldest first.

        With `new_first` bought units that were never fitted go before those that were, else after them.
        Fewer come where the shelf does not hold so many.
        """

        def rank(place: int) -> tuple[bool, bool]:
            unit = self._units[place]
            # What goes back is named by its order. Else oldest first, as `sorted` keeps the order of equals.
            return line is not None and unit.line != line, unit.new != new_first

        taken: list[Units] = []
        left: list[Units | None] = [*self._units]
        for place in sorted(range(len(self._units)), key=rank):
            if not qty:
                break
            part, rest = split_units((self._units[place],), qty)
            qty -= sum((unit.qty for unit in part), Decimal(0))
            taken += part
            left[place] = rest[0] if rest else None
        self._units = [unit for unit in left if unit is not None and unit.qty]
        return tuple(taken)


def split_units(units: Iterable[Units], qty: Decimal) -> tuple[tuple[Units, ...], tuple[Units, ...]]:
    """The first so many units, and the rest; all and nothing where there are no more."""
    taken, rest = [], []
    for unit in units:
        part = min(unit.qty, qty)
        qty -= part
        if part:
            taken.append(unit if part == unit.qty else replace(unit, qty=part))
        if part < unit.qty:
            rest.append(replace(unit, skip=unit.skip + part, qty=unit.qty - part))
    return tuple(taken), tuple(rest)


VERBS = {
    "fitted": ("is fitted", "are fitted"),
    "returned": ("goes back", "go back"),
    "sold": ("is sold", "are sold"),
    "scrapped": ("is scrapped", "are scrapped"),
}
"How a movement off the shelf is told, of one and of several."


@frozen
class Ledger:
    """The quantities of one part up to some day."""

    ordered: Decimal = Decimal(0)
    "ever"
    cancelled: Decimal = Decimal(0)
    "ordered, and paid back before it came"
    arrived: Decimal = Decimal(0)
    "cancelled ones never do"
    fitted: Decimal = Decimal(0)
    "ever, from the shelf"
    removed: Decimal = Decimal(0)
    "written as taken off, whatever became of it"
    kept: Decimal = Decimal(0)
    "taken off and laid on the shelf"
    returned: Decimal = Decimal(0)
    "sent back after they came"
    sold: Decimal = Decimal(0)
    "from the shelf"
    scrapped: Decimal = Decimal(0)
    "thrown or given away from the shelf"

    @property
    def shelf(self) -> Decimal:
        """On hand and not fitted."""
        # What was removed and not kept never lay on the shelf.
        return self.arrived + self.kept - self.fitted - self.returned - self.sold - self.scrapped

    @property
    def in_the_post(self) -> Decimal:
        """Ordered and not arrived."""
        return self.ordered - self.cancelled - self.arrived


def count_parts(movements: Iterable[Movement]) -> dict[str, Ledger]:
    """The ledger of each part that moved."""
    counts: dict[str, dict[str, Decimal]] = {}
    for move in movements:
        count = counts.setdefault(move.key, {})
        for column in _columns(move):
            count[column] = count[column] + move.qty if column in count else move.qty
    return {key: Ledger(**count) for key, count in counts.items()}


def _columns(move: Movement) -> tuple[str, ...]:
    return ("removed", "kept") if move.kind == "removed" and move.fate == "kept" else (move.kind,)


def check_ledger(story: PartStory) -> tuple[Problem, ...]:
    """A problem for each movement that takes more off the shelf, or out of the post, than there is by then.

    After a problem the count goes on from zero, so that one slip is told once.
    """
    return tuple(_check_shelves(story))


def _check_shelves(story: PartStory) -> Iterator[Problem]:
    shelves: dict[str, Decimal] = {}
    for move in story.movements:
        shelf = shelves.get(move.key, Decimal(0))
        if move.kind in VERBS:
            if move.qty > shelf:
                yield _report_short(story, move, shelf)
            # Told once: below zero, every later movement of the part would be told as well.
            shelf = max(shelf - move.qty, Decimal(0))
        elif move.kind == "arrived" or (move.kind == "removed" and move.fate == "kept"):
            shelf += move.qty
        shelves[move.key] = shelf


def _report_short(story: PartStory, move: Movement, shelf: Decimal) -> Problem:
    moves = [other for other in story.movements if other.key == move.key]
    before = Ledger(**_count_until(moves, move))
    one, several = VERBS[move.kind]
    what = f"`{move.key}` {one}" if move.qty == 1 else f"{move.qty:f} of `{move.key}` {several}"
    there = f"only {shelf:f} on the shelf" if shelf else "none is on the shelf"
    also, why, help = _explain(moves, move, before, original=story.names.parts[move.key].original)
    return Problem(
        rule="shelf-below-zero",
        message=f"{what} on {move.date}, but {there}: {why}",
        place=move.place,
        help=help,
        also=also,
    )


def _count_until(moves: list[Movement], last: Movement) -> dict[str, Decimal]:
    counts: dict[str, Decimal] = {}
    for move in moves:
        # `is`, as two movements may be equal in all: one entry can fit the same part for two service items.
        if move is last:
            break
        for column in _columns(move):
            counts[column] = counts.get(column, Decimal(0)) + move.qty
    return counts


def _explain(
    moves: list[Movement], move: Movement, before: Ledger, *, original: bool
) -> tuple[tuple[Place, ...], str, str]:
    """The other places, the reason and the remedy of a shelf that is short."""
    # No order ever brings one of the machine's own, so none can be missing.
    if original:
        return (), _tell_counts(before), "say where it came off, with `fate: kept`, or correct one of the dates"
    # The likeliest slip first: a date, then an arrival that nobody wrote, then an order that is not in the log.
    arrived = {other.line for other in moves if other.kind == "arrived"}
    posted = next((other for other in moves if other.kind == "ordered" and other.line not in arrived), None)
    later = next((other for other in moves if other.kind == "arrived" and other.date > move.date), None)
    if later is not None:
        why = f"{_tell_counts(before)}, and {later.qty:f} came on {later.date}"
        return (later.place,), why, "correct one of the two dates"
    if posted is not None:
        why = f"{_tell_counts(before)}; ordered on {posted.date} and still in the post"
        return (posted.place,), why, "add `arrived:` to the order, with the day it came"
    help = "add the order that brought more of them, or `fate: kept` if one came off to be used again"
    return (), _tell_counts(before), help


def _tell_counts(before: Ledger) -> str:
    """`3 arrived, 2 fitted`: what made the shelf what it is."""
    kinds: tuple[MovementKind | str, ...] = ("kept", "fitted", "returned", "sold", "scrapped")
    counts = [("arrived", before.arrived), *((kind, getattr(before, kind)) for kind in kinds)]
    return ", ".join(f"{qty:f} {kind}" for kind, qty in counts if qty or kind == "arrived")


def check_shelf(log: Log) -> Iterator[Problem]:
    """A problem for each thing that came off, lies somewhere, and was not kept."""
    for entry in log.entries:
        for removed in entry.removed:
            if removed.shelf is not None and removed.fate != "kept":
                yield Problem(
                    rule="shelf-not-kept",
                    message=f"this lies at `{removed.shelf}`, but it was {removed.fate}",
                    place=removed.field_place("shelf"),
                    help="fate: kept",
                )
