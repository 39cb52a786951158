"""Where things lie, and what the shelf is worth, worked out by hand."""

from __future__ import annotations

import datetime

from buildlog.compute.costs.beside_totals import ShelfFigures
from buildlog.compute.figures import compute_figures
from tests.support import log_of, plain

FIRST = """date: 2024-03-01
bought:
  from: S
  ref: A1
  paid: 2024-03-01
  arrived: 2024-03-01
  carriage: 1.00
  lines: [{part: seal, qty: 3, each: 3.00, shelf: box 4}]
"""
SECOND = """date: 2024-04-01
bought: {from: S, ref: A2, arrived: 2024-04-01, lines: [{part: seal, qty: 2, each: 5.00, shelf: tin}]}
"""


def compute(*heads: str, day: str = "2024-12-31") -> ShelfFigures:
    return compute_figures(log_of(*heads), datetime.date.fromisoformat(day)).shelf


def show(shelf: ShelfFigures) -> list[tuple[str, list[tuple[str | None, str]], str]]:
    return [(item.key, [(some.where, str(some.qty)) for some in item.lying], plain(item.worth)) for item in shelf.items]


def test_pieces_are_worth_what_they_cost_delivered() -> None:
    """Three for 10.00 with carriage: two are left at 6.67; two more for 10.00, not paid yet, lie in another place."""
    fitted = "date: 2024-03-05\nfitted: seal"
    assert show(compute(FIRST)) == [("seal", [("box 4", "3")], "10.00")]
    assert show(compute(FIRST, fitted)) == [("seal", [("box 4", "2")], "6.67")]
    shelf = compute(FIRST, fitted, SECOND)
    assert show(shelf) == [("seal", [("box 4", "2"), ("tin", "2")], "16.67")]
    assert (plain(shelf.worth), shelf.placed) == ("16.67", True)
    assert show(compute(FIRST, fitted, SECOND, day="2024-03-02")) == [("seal", [("box 4", "3")], "10.00")]


def test_what_came_off_and_was_kept_lies_where_it_is_said() -> None:
    """One of the machine's own is worth nothing; a bought one what it cost, wherever it lies now."""
    off = "date: 2024-03-06\nremoved: [{part: seal, fate: kept, shelf: beam}, {part: original, name: Lamp, fate: kept}]"
    shelf = compute(FIRST, "date: 2024-03-05\nfitted: {part: seal, qty: 3}", off)
    assert show(shelf) == [("seal", [("beam", "1")], "3.33"), ("original-lamp", [(None, "1")], "0")]


def test_money_back_makes_pieces_cheaper_and_goods_back_do_not() -> None:
    """1.00 off the price of three leaves 9.00; one that goes back for 3.33 leaves two at 6.67."""
    cheaper = "date: 2024-03-07\nreturned: {ref: A1, part: seal, refund: 1.00}"
    assert show(compute(FIRST, cheaper)) == [("seal", [("box 4", "3")], "9.00")]
    back = "date: 2024-03-07\nreturned: {ref: A1, part: seal, qty: 1, refund: 3.33}"
    assert show(compute(FIRST, back)) == [("seal", [("box 4", "2")], "6.67")]


def test_parcels_lie_where_their_line_says() -> None:
    """Two of three came: 6.67 of 10.00."""
    part = FIRST.replace("arrived: 2024-03-01", "arrived: {date: 2024-03-02, lines: {seal: 2}}")
    assert show(compute(part)) == [("seal", [("box 4", "2")], "6.67")]


def test_what_is_scrapped_lies_nowhere() -> None:
    """One problem at the key."""
    figures = compute_figures(
        log_of("date: 2024-03-01\nremoved: {part: original, name: Lamp, shelf: beam}"), datetime.date(2024, 12, 31)
    )
    [problem] = figures.problems
    assert (problem.rule, problem.place.line, problem.help) == ("shelf-not-kept", 3, "fate: kept")
