"""From when to when each part was on the machine: every fitting paired with what ended it.

The whole log is followed once; ages and meters on some day are for `fittings`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import groupby
from typing import Literal

from buildlog.compute.parts.ledger import Shelf, Units, split_units
from buildlog.compute.parts.movements import Movement, PartStory
from buildlog.compute.parts.names import ORIGINAL
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Amount
from buildlog.text import fold_words

WORN_SPECS = ("used", "repaired")
"A fitted part with one of these is taken from what came off before, where there is such a one on the shelf."


@frozen
class Ending:
    """How a part came off."""

    how: Literal["removed", "replaced"]
    "`replaced`: nobody wrote that it came off, but another took its place"
    date: datetime.date
    "when it came off"
    entry: str
    "name of the entry that tells of it"
    place: Place
    "where it is written"
    reading: Amount | None
    "the meter, where that entry has it"
    shelf: str | None = None
    "where it was put, as written"
    why: str | None
    "as written; of one that was replaced, by what"
    fate: str
    "what became of it; one that was replaced counts as scrapped"
    replaced_by: str | None = None
    "key of what took its place; None where it was removed"


@frozen
class Span:
    """Some units of one part in one position, from one day to another."""

    move: Movement
    "how it was fitted"
    qty: Decimal
    "as many of those as came off together"
    units: tuple[Units, ...]
    "which ones were taken from the shelf; fewer than `qty` where the shelf had too few, which is a problem"
    earlier: str | None
    "key of what it replaces, where that was itself fitted in this log; None where it is the first in its place"
    ending: Ending | None = None
    "None while it is on the machine"


Shelves = Mapping[str, tuple[Units, ...]]
"What lies on the shelf of each part, by the part's key."


def follow_fittings(story: PartStory, as_of: datetime.date) -> tuple[tuple[Span, ...], Shelves, tuple[Problem, ...]]:
    """Every span of the log in the order of fitting, the shelves on a day, and what came off that was never on."""
    follower = _Follower(story)
    shelves: Shelves | None = None
    for day, moves in groupby(story.movements, key=lambda move: move.date):
        if day > as_of and shelves is None:
            shelves = follower.list_shelves()
        follower.follow_day(list(moves))
    shelves = follower.list_shelves() if shelves is None else shelves
    return tuple(follower.list_spans()), shelves, tuple(follower.problems)


def fold_position(at: str | None) -> str | None:
    """A position as it is compared: without regard to case and spacing; None where none was written."""
    return None if at is None else fold_words(at)


def _rank_position(wanted: str | None, found: str | None) -> int | None:
    """0 for the position wanted, 1 where one of the two was not written, None for another position."""
    # Owners name a position once and leave it out the next time: a missing one fits every other, but comes after a
    # match.
    if wanted is None or fold_position(wanted) == fold_position(found):
        return 0
    return 1 if found is None else None


@dataclass(slots=True)
class _Freed:
    """A place that became free when a part that was fitted in this log came off."""

    at: str | None
    "position, as written; None: not written"
    qty: Decimal
    "how many are still free"


class _Follower:
    """The machine and its shelf as they change from day to day."""

    def __init__(self, story: PartStory) -> None:
        self._names = story.names
        self._lines = story.lines
        self._came: dict[Place, Decimal] = {}
        self._shelves = {key: Shelf() for key in story.names.parts}
        self._open: dict[str, list[Span]] = {key: [] for key in story.names.parts}
        self._closed: list[Span] = []
        self._freed: dict[str, list[_Freed]] = {key: [] for key in story.names.parts}
        self._fitted: set[str] = set()
        self._positions: set[tuple[str, str]] = set()
        self._order: dict[tuple[Place, str], int] = {}
        self.problems: list[Problem] = []

    def list_shelves(self) -> Shelves:
        """What lies on each shelf by now."""
        return {key: units for key, shelf in self._shelves.items() if (units := shelf.list_units())}

    def list_spans(self) -> Iterator[Span]:
        """All spans, in the order of fitting."""
        spans = [*self._closed, *(span for spans in self._open.values() for span in spans)]
        yield from sorted(spans, key=lambda span: self._order[span.move.which])

    def follow_day(self, moves: list[Movement]) -> None:
        """What comes off was on before that day, or else was fitted on the same one."""
        # Removals stand first in a day. One that finds nothing on the machine waits for a fitting of the same day:
        # fitted in the morning, off again at night.
        waiting: list[tuple[Movement, Decimal]] = []
        for move in moves:
            if move.kind == "removed":
                waiting += self._remove(move, move.qty)
            elif move.kind == "fitted":
                self._fit(move)
                waiting = [left for other, qty in waiting for left in self._remove(other, qty)]
            else:
                self._handle_shelf(move)
        for move, qty in waiting:
            self._take_what_was_never_on(move, qty)

    def _handle_shelf(self, move: Movement) -> None:
        shelf = self._shelves[move.key]
        if move.kind == "arrived" and move.line is not None:
            before = self._came.get(move.line, Decimal(0))
            shelf.bring(move.line, move.qty, self._lines[move.line].shelf, before)
            self._came[move.line] = before + move.qty
        elif move.kind in ("returned", "sold", "scrapped"):
            # A supplier takes back what is new; what is sold or thrown away is more likely the old one.
            shelf.take(move.qty, new_first=move.kind == "returned", line=move.line)

    def _remove(self, move: Movement, qty: Decimal) -> list[tuple[Movement, Decimal]]:
        """Close what came off; what of it was not on the machine is given back, an original excepted."""
        ending = Ending(
            how="removed", date=move.date, entry=move.entry, place=move.place, reading=move.reading, why=move.why,
            fate=move.fate or "scrapped", shelf=move.shelf,
        )  # fmt: skip
        left = self._close(move.key, move.at, qty, ending)
        # It was on from the start, so nothing in the log put it there.
        if left and self._names.parts[move.key].original:
            self._keep(move.key, ending, (Units(line=None, skip=Decimal(0), qty=left, new=False),))
            return []
        return [(move, left)] if left else []

    def _close(self, key: str, at: str | None, qty: Decimal, ending: Ending) -> Decimal:
        """Close so many of a part, oldest first; how many there were not."""
        ranked = [(rank, span) for span in self._open[key] if (rank := _rank_position(at, span.move.at)) is not None]
        for _, span in sorted(ranked, key=lambda pair: pair[0]):
            if not qty:
                break
            part = min(qty, span.qty)
            self._end_span(span, part, ending)
            qty -= part
        return qty

    def _end_span(self, span: Span, qty: Decimal, ending: Ending) -> None:
        key, place = span.move.key, self._open[span.move.key].index(span)
        off, on = split_units(span.units, qty)
        rest = [replace(span, qty=span.qty - qty, units=on)] if qty < span.qty else []
        # In its old place, as oldest goes first.
        self._open[key][place : place + 1] = rest
        self._closed.append(replace(span, qty=qty, units=off, ending=ending))
        self._keep(key, ending, off)
        # Where it was replaced, the place is taken by what replaced it.
        if ending.how == "removed":
            self._freed[key].append(_Freed(span.move.at, qty))
        if (position := fold_position(span.move.at)) is not None:
            self._positions.add((key, position))

    def _keep(self, key: str, ending: Ending, units: tuple[Units, ...]) -> None:
        if ending.fate == "kept":
            self._shelves[key].put_back(units, ending.shelf)

    def _fit(self, move: Movement) -> None:
        spec = move.fitted.spec if move.fitted else None
        units = self._shelves[move.key].take(move.qty, new_first=spec not in WORN_SPECS)
        earlier = self._replace_other(move) if move.instead_of else self._replace_same(move)
        self._order[move.which] = len(self._order)
        self._fitted.add(move.key)
        self._open[move.key].append(Span(move=move, qty=move.qty, units=units, earlier=earlier))

    def _replace_other(self, move: Movement) -> str | None:
        """Close what a fitted part stands in for, where nobody wrote that it came off; its key if it was ever on."""
        other = move.instead_of or ORIGINAL
        # The first to stand in for the machine's own is no rework.
        if other == ORIGINAL:
            return None
        if other not in self._fitted:
            self._report_never_on(move, other)
            return None
        ending = Ending(
            how="replaced", date=move.date, entry=move.entry, place=move.place, reading=move.reading,
            # Nobody said what became of it. Kept would put a used part on the shelf that may be in the bin.
            why=f"replaced by {self._names.parts[move.key].name}", fate="scrapped",
            replaced_by=move.key,
        )  # fmt: skip
        # Where a place is free already somebody wrote so; only what is left over is closed here.
        self._close(other, move.at, self._answer(other, move.at, move.qty), ending)
        return other

    def _replace_same(self, move: Movement) -> str | None:
        """The part's own key, where one of its kind was in the same place before."""
        left = self._answer(move.key, move.at, move.qty)
        # Where the place was filled in between by something else, it is still the second one of its kind there.
        was_there = (move.key, fold_position(move.at)) in self._positions
        return move.key if left < move.qty or was_there else None

    def _answer(self, key: str, at: str | None, qty: Decimal) -> Decimal:
        """Fill places that a part left free; how many were not free."""
        ranked = [(rank, freed) for freed in self._freed[key] if (rank := _rank_position(at, freed.at)) is not None]
        for _, freed in sorted(ranked, key=lambda pair: pair[0]):
            part = min(qty, freed.qty)
            freed.qty -= part
            qty -= part
        self._freed[key] = [freed for freed in self._freed[key] if freed.qty]
        return qty

    def _report_never_on(self, move: Movement, other: str) -> None:
        """A problem, unless a service item's first part or one of the machine's own is meant."""
        written = move.fitted.instead_of if move.fitted else None
        # A service item names its part and means its like, so the first of them is no slip.
        if written is None or self._names.parts[other].original:
            return
        self.problems.append(
            Problem(
                rule="replaced-never-fitted",
                message=f"`{move.key}` is fitted instead of `{other}`, which was never fitted in this log",
                place=move.fitted.field_place("instead_of") if move.fitted else move.place,
                help="instead_of: original",
            )
        )

    def _take_what_was_never_on(self, move: Movement, qty: Decimal) -> None:
        part = self._names.parts[move.key]
        # Laid on the shelf though it is a problem, so that fitting it from there later is not one more.
        if move.fate == "kept":
            self._shelves[move.key].put_back((Units(line=None, skip=Decimal(0), qty=qty, new=False),), move.shelf)
        fitted = move.qty - qty
        where = f" at `{move.at}`" if move.at and any(span.move.at for span in self._open[move.key]) else ""
        on = f"{fitted:f} of {move.qty:f} are fitted" if fitted else f"none is fitted{where} at that time"
        own = "{part: original, name: " + part.name + "}"
        self.problems.append(
            Problem(
                rule="removed-not-fitted",
                message=f"`{move.key}` comes off on {move.date}, but {on}",
                place=move.place,
                help=f"say where it went on, under `fitted:`; if the machine came with it, write `{own}`",
            )
        )
