"""Whatever happens to parts: no count is lost, no shelf goes below zero unseen, and no fitting is forgotten.

The models here replay a log one piece at a time, from its start to the day that is asked for.
"""

from __future__ import annotations

import datetime
from collections import Counter
from decimal import Decimal

from hypothesis import event, given, settings
from hypothesis import strategies as st

from buildlog.compute.costs.rework import LineSpent, compute_rework
from buildlog.compute.parts.fittings import as_fitted
from buildlog.compute.parts.ledger import Ledger
from buildlog.compute.parts.part_history import PartsFigures, compute_parts
from buildlog.compute.quantities.money import Money
from buildlog.problems import Place
from buildlog.read.records import Delivery, Entry, Fitted, Line, Log, Order, Removed, Returned, Scrapped, Settings, Sold
from tests.support import log_of

START = datetime.date(2024, 1, 1)
OWN = "original-own"
SETTINGS: Settings = log_of("date: 2024-01-01").settings

Happening = tuple[int, str, str, int, str | None, str]
"Day, what, which part, how many, where, and a choice: the fate, or what is replaced."

happenings = st.lists(
    st.tuples(
        st.integers(0, 6),
        st.sampled_from(
            ["arrived", "fitted", "fitted", "fitted", "removed", "removed", "returned", "sold", "scrapped"]
        ),
        st.sampled_from(["a", "b", OWN]),
        st.integers(1, 3),
        st.sampled_from([None, None, "left", "right"]),
        st.sampled_from(["kept", "scrapped", "a", "b", "original"]),
    ),
    max_size=24,
)


def make_log(told: list[Happening]) -> Log:
    """A log with one entry for each thing that happens, and an order on the first day that makes every part known."""
    entries = [make_entry(n, happening) for n, happening in enumerate([*known(), *told])]
    return Log(settings=SETTINGS, entries=tuple(sorted(entries, key=lambda entry: (entry.date, entry.name))))


def known() -> list[Happening]:
    """One of each part, that came or came off before anything else."""
    return [(0, "arrived", "a", 1, None, ""), (0, "arrived", "b", 1, None, ""), (0, "removed", OWN, 1, None, "kept")]


def make_entry(n: int, happening: Happening) -> Entry:
    day, what, key, qty, at, choice = happening
    place, amount, name = Place(f"e{n:02}"), Decimal(qty), "own" if key == OWN else None
    part = "original" if key == OWN else key
    entry = {"name": f"e{n:02}", "date": START + datetime.timedelta(day), "title": "t", "place": place}
    if what == "arrived" and key != OWN:
        order = Order(
            supplier="s",
            ref=f"r{n}",
            arrived=(Delivery(date=entry["date"]),),
            lines=(Line(part=key, qty=amount, place=place),),
        )
        return Entry(**entry, bought=(order,))
    if what == "fitted":
        instead = choice if choice in ("a", "b", "original") else None
        fitted = Fitted(part=part, name=name, at=at, qty=amount, instead_of=instead, place=place)
        return Entry(**entry, fitted=(fitted,))
    if what == "removed" or what == "arrived":
        fate = "kept" if choice == "kept" else "scrapped"
        return Entry(**entry, removed=(Removed(part=part, name=name, at=at, qty=amount, fate=fate, place=place),))
    if what == "returned" and key != OWN:
        ref = {"a": "r0", "b": "r1"}[key]
        return Entry(**entry, returned=(Returned(ref=ref, part=key, qty=amount, place=place),))
    if what == "sold":
        return Entry(**entry, sold=(Sold(part=part, name=name, qty=amount, price=Decimal(1), place=place),))
    return Entry(**entry, scrapped=(Scrapped(part=part, name=name, qty=amount, place=place),))


def replay_shelf(log: Log, until: datetime.date) -> tuple[Counter[str], set[str]]:
    """Pieces on the shelf at the end of a day, and the parts of which there were ever fewer than none."""
    shelf: Counter[str] = Counter()
    below = set()
    for day in range(7):
        entries = [entry for entry in log.entries if entry.date == START + datetime.timedelta(day) <= until]
        for entry in entries:
            for line in (line for order in entry.bought for line in order.lines):
                shelf[line.part or ""] += int(line.qty)
        for entry in entries:
            for removed in (removed for removed in entry.removed if removed.fate == "kept"):
                shelf[key_of(removed.part)] += int(removed.qty)
        for kind in ("fitted", "returned", "sold", "scrapped"):
            for record in (record for entry in entries for record in getattr(entry, kind)):
                shelf[key_of(record.part)] -= int(record.qty)
                below |= {key for key, qty in shelf.items() if qty < 0}
    return shelf, below


def key_of(part: str) -> str:
    return OWN if part == "original" else part


class Piece:
    """One piece on the machine."""

    def __init__(self, key: str, at: str | None, since: datetime.date) -> None:
        self.key, self.at, self.since = key, at, since


def pick(pieces: list[Piece], key: str, at: str | None) -> Piece | None:
    """The oldest piece of a part: at the place, or else at none; any, where no place is asked for."""
    mine = [piece for piece in pieces if piece.key == key]
    for fits in ([at], [None]) if at else ([None, "left", "right"],):
        for piece in mine:
            if piece.at in fits:
                return piece
    return None


def replay_machine(log: Log, until: datetime.date) -> Counter[tuple[str, str | None, datetime.date]]:
    """Pieces on the machine at the end of a day."""
    on: list[Piece] = []
    free: list[Piece] = []
    ever: set[str] = set()
    for day in sorted({entry.date for entry in log.entries if entry.date <= until}):
        today = [entry for entry in log.entries if entry.date == day]
        waiting = [(removed, 1) for entry in today for removed in entry.removed for _ in range(int(removed.qty))]
        waiting = take_off(waiting, on, free)
        for fitted in (fitted for entry in today for fitted in entry.fitted):
            key = key_of(fitted.part)
            other = key if fitted.instead_of is None else fitted.instead_of
            for _ in range(int(fitted.qty)):
                if other == "original" or other not in ever:
                    break
                if gap := pick(free, other, fitted.at):
                    free.remove(gap)
                elif fitted.instead_of and (piece := pick(on, other, fitted.at)):
                    on.remove(piece)
            on += [Piece(key, fitted.at, day) for _ in range(int(fitted.qty))]
            ever.add(key)
            waiting = take_off(waiting, on, free)
    return Counter((piece.key, piece.at, piece.since) for piece in on)


def take_off(waiting: list[tuple[Removed, int]], on: list[Piece], free: list[Piece]) -> list[tuple[Removed, int]]:
    """Take off what can be; an original that is not on came with the machine, and waits for nothing."""
    left = []
    for removed, one in waiting:
        piece = pick(on, key_of(removed.part), removed.at)
        if piece is not None:
            on.remove(piece)
            free.append(piece)
        elif removed.part != "original":
            left.append((removed, one))
    return left


def compute_figures(told: list[Happening], day: int) -> tuple[Log, PartsFigures]:
    log = make_log(told)
    return log, compute_parts(log, START + datetime.timedelta(day))


@given(told=happenings, day=st.integers(0, 6))
def test_no_shelf_goes_below_zero_unseen(told: list[Happening], day: int) -> None:
    """shelf = arrived + kept − fitted − returned − sold − scrapped, as the replay counts it, on any day.

    A part has a problem of its shelf exactly where the replay ever saw fewer than none of it.
    """
    log, figures = compute_figures(told, day)
    shelf, _ = replay_shelf(log, figures.as_of)
    assert {part.key: int(part.shelf) for part in figures.parts} == {key: shelf[key] for key in ("a", "b", OWN)}
    for part in figures.parts:
        left = part.fitted + part.returned + part.sold + part.scrapped
        assert part.shelf == part.arrived + part.kept - left
        assert part.in_the_post == 0
    _, below = replay_shelf(log, START + datetime.timedelta(6))
    short = [problem.message for problem in figures.problems if problem.rule == "shelf-below-zero"]
    event(f"shelf {'short' if below else 'never short'}")
    assert {key for key in ("a", "b", OWN) if any(f"`{key}`" in message for message in short)} == below


@settings(max_examples=300)
@given(told=happenings, day=st.integers(0, 6))
def test_as_fitted_is_what_a_replay_leaves_on_the_machine(told: list[Happening], day: int) -> None:
    """On any day, whatever happens after it: each piece in its place since its day."""
    log, figures = compute_figures(told, 6)
    date = START + datetime.timedelta(day)
    groups = as_fitted(figures.story, figures.spans, on_date=date, total_at=lambda _: None)
    found: Counter[tuple[str, str | None, datetime.date]] = Counter()
    for fitting in (fitting for group in groups for fitting in group.fittings):
        found[fitting.key, fitting.at, fitting.since] += int(fitting.qty)
    assert found == replay_machine(log, date)


@given(told=happenings)
def test_every_piece_that_was_fitted_is_in_one_span(told: list[Happening]) -> None:
    """Spans split and end, but never lose or double a piece; `on_machine` is what has not ended."""
    log, figures = compute_figures(told, 6)
    fitted = Counter(dict.fromkeys(("a", "b", OWN), 0))
    for record in (record for entry in log.entries for record in entry.fitted):
        fitted[key_of(record.part)] += int(record.qty)
    for part in figures.parts:
        spans = [span for span in figures.spans if span.move.key == part.key]
        assert sum(span.qty for span in spans) == fitted[part.key]
        assert sum(span.qty for span in spans if span.ending is None) == part.on_machine
        assert all(sum(unit.qty for unit in span.units) <= span.qty for span in spans)


@given(told=happenings)
def test_nothing_is_charged_twice(told: list[Happening]) -> None:
    """All that was done twice never costs more than all that was bought; without a problem every piece is known."""
    log, figures = compute_figures(told, 6)
    landed = {line.place: 7 * line.qty for entry in log.entries for order in entry.bought for line in order.lines}
    spent = {place: LineSpent(units=Money(cost, "GBP"), left=Money(cost, "GBP")) for place, cost in landed.items()}
    rework = compute_rework(figures.story, figures.spans, spent=spent, as_of=figures.as_of)
    assert 0 <= rework.cost.amount <= sum(landed.values())
    assert rework.cost.amount == 7 * sum(unit.qty for item in rework.items for unit in item.units)
    by_line: Counter[Place] = Counter()
    for unit in (unit for span in figures.spans for unit in span.units if unit.new and unit.line):
        by_line[unit.line] += int(unit.qty)
    assert all(figures.story.lines[place].qty >= qty for place, qty in by_line.items())
    if not figures.problems:
        assert all(sum(unit.qty for unit in span.units) == span.qty for span in figures.spans)


def test_an_empty_ledger_is_an_empty_shelf() -> None:
    """Nothing moved: nothing is there, nothing is in the post."""
    assert (Ledger().shelf, Ledger().in_the_post) == (0, 0)
