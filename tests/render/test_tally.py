"""Tally strokes beside months: how many, what one stands for, and that they tell no more than the words beside them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from buildlog.render.pages.timeline import make_timeline
from buildlog.render.strips import MOST, choose_unit, draw_tally
from tests.render.editions import edition_of


@pytest.mark.parametrize(
    ("amounts", "unit"),
    [
        ([], None),
        (["0", "0"], None),
        (["0.4"], "1"),
        (["25"], "1"),  # 25 strokes
        (["25.5"], "2"),  # 26 would be too many: 13
        (["-51"], "5"),  # 25.5 twos are 26
        (["127"], "5"),  # 25.4 fives are 25
        (["128"], "10"),  # 25.6 fives are 26
        (["3", "999999999.99"], "50000000"),  # 20 strokes
    ],
)
def test_the_least_unit_that_has_room(amounts: list[str], unit: str | None) -> None:
    """1, 2, 5, 10 and so on, so that the largest amount has at most 25 strokes."""
    chosen = choose_unit(map(Decimal, amounts))
    assert chosen == (Decimal(unit) if unit else None)


@pytest.mark.parametrize(
    ("amount", "strokes"), [("0.01", 1), ("49.99", 1), ("74.99", 1), ("75", 2), ("1250", 25), ("-1250", 25)]
)
def test_an_amount_is_rounded_to_whole_strokes(amount: str, strokes: int) -> None:
    """Half up, and at least one: something is not nothing. At 50 a stroke, 75 is one and a half."""
    drawn = draw_tally(Decimal(amount), Decimal(50))
    assert drawn and drawn.way.count("v") == strokes
    assert drawn.back == (amount[0] == "-")


def test_nothing_has_no_stroke() -> None:
    """A month in which no money moved, and one whose amount has no unit since none is shown."""
    assert draw_tally(Decimal(0), Decimal(1)) is None
    assert draw_tally(Decimal(5), None) is None


def test_strokes_stand_in_fives() -> None:
    """From the fifth to the sixth there is nearly twice the room: 5 pixels apart, and 4 more."""
    drawn = draw_tally(Decimal(6), Decimal(1))
    assert drawn and drawn.way == "M3 1v11" + "m5-11v11" * 4 + "m9-11v11"
    assert drawn.width == 33  # 4 × 5 + 9, and 4 for the room at both ends


SETTINGS = "machine: {name: Test}\nmoney: {currency: GBP}\npublic: {prices: PRICES}\n"
ORDER = "date: 2024-0{}-01\nhours: 3\nbought:\n  from: A\n  paid: 2024-0{}-01\n  lines: [{}]"


def _edit(prices: str, *lines: str) -> list[tuple[str, bool, bool]]:
    heads = [ORDER.format(at, at, line) for at, line in enumerate(lines, 1)]
    view = make_timeline(edition_of(*heads, settings=SETTINGS.replace("PRICES", prices)))
    sums = [month.sums for month in view.months]
    assert ("£" in view.scale) == any(one.cost for one in sums)
    return [(one.cost, bool(one.cost_strokes), bool(one.hour_strokes)) for one in sums]


TWO = "{what: a, each: 700.00}, {what: b, each: 50.00}"
ONE = "{what: c, each: 9000.00}"


def test_strokes_are_drawn_of_what_is_shown() -> None:
    """A month whose total is closed has no stroke of it, and hours have theirs whatever the prices."""
    assert _edit("shown", TWO, ONE) == [("£750.00", True, True), ("£9,000.00", True, True)]
    assert _edit("hidden", TWO, ONE) == [("", False, True), ("", False, True)]
    closed = _edit("totals", TWO, TWO, ONE)
    assert [row[0] != "" for row in closed] == [row[1] for row in closed]
    assert not closed[2][1]


def test_the_scale_does_not_follow_a_closed_amount() -> None:
    """The largest amount is closed: what a stroke stands for says nothing of it."""
    heads = [ORDER.format(at, at, line) for at, line in enumerate([TWO, TWO, ONE], 1)]
    dearer = [*heads[:2], heads[2].replace("9000.00", "900000.00")]
    scales = {
        make_timeline(edition_of(*one, settings=SETTINGS.replace("PRICES", "totals"))).scale for one in (heads, dearer)
    }
    assert len(scales) == 1
    assert MOST == 25  # 750 in 25 strokes: 50 each, as 20 would need 38
    assert scales <= {"each stroke in the margin is 1\u00a0h, or £50", "each stroke in the margin is 1\u00a0h"}
