"""The chart of the running total: round lines, true places, words for those who do not see it."""

from __future__ import annotations

import datetime
import re
from decimal import Decimal
from xml.etree import ElementTree

import pytest

from buildlog.render.charts import BOTTOM, TOP, Words, choose_levels, choose_months, choose_step, running_total_chart

SVG = "{http://www.w3.org/2000/svg}"
DAY = datetime.date
WORDS = Words(
    title="Spent <so far>",
    description="From £0 to £300.",
    amount=lambda amount: f"£{amount:,.0f}",
    month=lambda month: f"{month:%b}",
    end="£300.00",
)
POINTS = (
    (DAY(2024, 2, 3), Decimal("100.00")),
    (DAY(2024, 3, 1), Decimal("300.00")),
    (DAY(2024, 3, 1), Decimal("300.00")),
)

END = DAY(2024, 3, 31)


def draw(points: tuple[tuple[datetime.date, Decimal], ...] = POINTS, until: datetime.date = END) -> str:
    return running_total_chart(points, until=until, words=WORDS)


@pytest.mark.parametrize(
    ("span", "step"),
    [
        ("4212.80", "1000"),
        ("5000", "1000"),
        ("5000.01", "2000"),
        ("260", "100"),
        ("245.35", "50"),
        ("7", "2"),
        ("0.3", "0.1"),
    ],
)
def test_steps_are_one_two_five(span: str, step: str) -> None:
    """A step is 1, 2 or 5 times a power of ten, the smallest of which five cover the span: 5 × 1000 ≥ 4212.80."""
    assert choose_step(Decimal(span)) == Decimal(step)


@pytest.mark.parametrize("span", [Decimal(n) / 7 for n in range(1, 4000, 37)])
def test_no_more_lines_than_can_be_read(span: Decimal) -> None:
    """Five steps or fewer cover any span, and more than one is needed, so that the drawing is filled."""
    step = choose_step(span)
    assert step * 5 >= span > step
    assert re.fullmatch(r"[125]0*|0\.0*[125]", f"{step.normalize():f}")


def test_levels_hold_every_amount_and_zero() -> None:
    """Levels start at zero, or below it where money came back before it was spent."""
    assert choose_levels([Decimal("12.50"), Decimal("245.35")]) == (0, 50, 100, 150, 200, 250)
    assert choose_levels([Decimal(-30), Decimal(120)]) == (-50, 0, 50, 100, 150)
    assert choose_levels([Decimal(0), Decimal(0)]) == (0, 1)


def test_months_are_thinned_to_round_ones() -> None:
    """Up to eight labels: every month, or those whose number divides the year, January among them."""
    assert choose_months(DAY(2024, 2, 1), DAY(2024, 5, 18)) == tuple(DAY(2024, m, 1) for m in (2, 3, 4, 5))
    assert choose_months(DAY(2024, 2, 1), DAY(2025, 3, 1)) == (
        *(DAY(2024, m, 1) for m in (3, 5, 7, 9, 11)),
        DAY(2025, 1, 1),
        DAY(2025, 3, 1),
    )
    assert choose_months(DAY(2001, 7, 1), DAY(2024, 5, 1)) == tuple(DAY(y, 1, 1) for y in range(2004, 2023, 3))


def test_money_is_spent_in_steps() -> None:
    """The line keeps its height until the day of the next point, then goes straight up.

    Levels of 0 to 300 are 0, 100, 200, 300: a third of 238 units each. February begins at 4; 59 days span 712 units:
    3 February stands at 4 + 2 × 712/59 = 28.1, 1 March at 4 + 29 × 712/59 = 354.0; 100 at 276 − 238/3 = 196.7.
    """
    line = ElementTree.fromstring(draw()).find(f"{SVG}path[@class='line']")
    assert line is not None
    assert line.get("d") == f"M28.1 {BOTTOM} H28.1 V196.7 H354 V{TOP} H354 V{TOP} H716"


def test_a_screen_reader_gets_title_and_description() -> None:
    """SVG accessibility by WAI-ARIA: role `img`, named by its own title and description, in that order, escaped."""
    tree = ElementTree.fromstring(draw())
    title, words = list(tree)[:2]
    assert (title.tag, title.text) == (f"{SVG}title", "Spent <so far>")
    assert (words.tag, words.text) == (f"{SVG}desc", "From £0 to £300.")
    assert tree.get("role") == "img"
    assert tree.get("aria-labelledby") == f"{title.get('id')} {words.get('id')}"


def test_the_page_policy_blocks_nothing_in_it() -> None:
    """No style attribute, style element or script: `style-src 'self'` would block them (CSP Level 3)."""
    assert not re.search(r"style|<script|\bon\w+=|href", draw())


def test_everything_stays_on_the_paper() -> None:
    """Lines and labels stand within the view box, when the total falls below zero too."""
    for amounts in ([10, 4_000, 3_999], [-40, 20, 60], [0, 0, 0]):
        points = tuple((DAY(2024, 1 + n, 9), Decimal(a)) for n, a in enumerate(amounts))
        tree = ElementTree.fromstring(draw(points, DAY(2024, 6, 1)))
        places = [float(e.get(k, 0)) for e in tree.iter() for k in ("y", "y1", "y2", "cy")]
        assert min(places) >= 0
        assert max(places) <= 320
        assert all(0 <= float(e.get(k, 0)) <= 720 for e in tree.iter() for k in ("x", "x1", "x2", "cx"))


def test_a_month_without_room_is_marked_and_not_named() -> None:
    """A month that begins at the right edge keeps its tick; its name would run off the paper."""
    tree = ElementTree.fromstring(draw(until=DAY(2024, 4, 2)))
    assert [e.text for e in tree.iter(f"{SVG}text") if e.get("class") == "month"] == ["Feb", "Mar"]
    assert len([e for e in tree.iter(f"{SVG}line") if e.get("class") == "tick"]) == 3


def test_one_point_is_no_chart() -> None:
    """With fewer than two points there is nothing to draw, and nothing is drawn."""
    assert draw(POINTS[:1]) == ""
    assert draw(()) == ""


def test_the_same_points_give_the_same_bytes() -> None:
    """Nothing but the arguments decides what is drawn."""
    assert draw() == draw()
