"""The drawing of a machine's life: round lines, true places, words for those who do not see it."""

from __future__ import annotations

import datetime
import re
from decimal import Decimal
from xml.etree import ElementTree

import pytest

from buildlog.render.axes import TickWords, choose_months
from buildlog.render.charts import Life, Words, choose_levels, draw_life
from buildlog.render.drawing import choose_step

SVG = "{http://www.w3.org/2000/svg}"
DAY = datetime.date
WORDS = Words(
    title="Spent <so far>",
    description="From £0 to £300.",
    amount=lambda amount: f"£{amount:,.0f}",
    ticks=TickWords(start=lambda month: f"{month:%b %Y}", month=lambda month: f"{month:%b}"),
    hours=lambda hours: f"{hours} h",
    end="£300.00",
    budget=("budget £250", "budget"),
)
POINTS = (
    (DAY(2024, 2, 3), Decimal("100.00")),
    (DAY(2024, 3, 1), Decimal("300.00")),
    (DAY(2024, 3, 1), Decimal("300.00")),
)
START, END = DAY(2024, 2, 1), DAY(2024, 3, 31)


def draw(points: tuple[tuple[datetime.date, Decimal], ...] = POINTS, until: datetime.date = END, **more: object) -> str:
    return draw_life(Life(points=points, start=START, until=until, **more), WORDS)  # type: ignore[arg-type]


def find(svg: str, tag: str, kind: str) -> list[ElementTree.Element]:
    return [e for e in ElementTree.fromstring(svg).iter(f"{SVG}{tag}") if kind in (e.get("class") or "").split()]


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
    assert choose_step(Decimal(span), 5) == Decimal(step)


@pytest.mark.parametrize("span", [Decimal(n) / 7 for n in range(1, 4000, 37)])
def test_no_more_lines_than_can_be_read(span: Decimal) -> None:
    """Five steps or fewer cover any span, and more than one is needed, so that the drawing is filled."""
    step = choose_step(span, 5)
    assert step * 5 >= span > step
    assert re.fullmatch(r"[125]0*|0\.0*[125]", f"{step.normalize():f}")


def test_levels_hold_every_amount_and_zero() -> None:
    """Levels start at zero, or below it where money came back before it was spent."""
    assert choose_levels([Decimal("12.50"), Decimal("245.35")]) == (0, 50, 100, 150, 200, 250)
    assert choose_levels([Decimal(-30), Decimal(120)]) == (-50, 0, 50, 100, 150)
    assert choose_levels([Decimal(0), Decimal(0)]) == (0, 1)


def test_months_are_thinned_to_round_ones() -> None:
    """Up to so many labels: every month, or those whose number divides the year, January among them."""
    assert choose_months(DAY(2024, 2, 1), DAY(2024, 5, 18), 8) == tuple(DAY(2024, m, 1) for m in (2, 3, 4, 5))
    assert choose_months(DAY(2024, 1, 2), DAY(2024, 3, 18), 8) == (DAY(2024, 2, 1), DAY(2024, 3, 1))
    assert choose_months(DAY(2024, 2, 1), DAY(2025, 3, 1), 8) == (
        *(DAY(2024, m, 1) for m in (3, 5, 7, 9, 11)),
        DAY(2025, 1, 1),
        DAY(2025, 3, 1),
    )
    assert choose_months(DAY(2001, 7, 1), DAY(2024, 5, 1), 8) == tuple(DAY(y, 1, 1) for y in range(2004, 2023, 3))


def test_money_is_spent_in_steps() -> None:
    """The line keeps its height until the day of the next point, then goes straight up.

    Across are thousandths from 5 to 990, down thousandths from the highest level to the lowest. 1 February to 31 March
    are 59 days: 3 February stands at 5 + 2 × 985/59 = 38.4, 1 March at 5 + 29 × 985/59 = 489.2; 100 of levels 0 to 300
    at 1000 − 1000/3 = 666.7. It begins at zero.
    """
    (line,) = find(draw(), "path", "line")
    assert line.get("d") == "M5 1000 H38.4V666.7 H489.2V0 H489.2V0 H990"


def test_what_is_not_shown_is_not_drawn_as_nothing() -> None:
    """Where totals before the first point are closed, the line begins with the first that is shown, not at zero."""
    (line,) = find(draw(whole=False), "path", "line")
    assert line.get("d") == "M38.4 666.7 H38.4V666.7 H489.2V0 H489.2V0 H990"


def test_what_happened_stands_on_the_line_with_its_name() -> None:
    """A milestone and a sale are dots on the line at their days, each with its words; the budget is a line."""
    svg = draw(
        milestones=((DAY(2024, 3, 1), "First start"),), sales=((DAY(2024, 2, 3), "sold: jack"),), budget=Decimal(250)
    )
    (event,), (sold,) = find(svg, "circle", "event"), find(svg, "circle", "sold")
    assert (event.get("cx"), sold.get("cx")) == ("48.92%", "3.84%")
    (end,) = find(svg, "circle", "end")
    assert event.get("cy") == end.get("cy")
    assert {e.text for e in find(svg, "text", "name")} == {"First start"}
    assert {e.text for e in find(svg, "text", "sale")} == {"sold: jack"}
    top, bottom = (
        float((find(svg, "line", kind)[n].get("y1") or "")[:-2]) for kind, n in (("level", -1), ("level", 0))
    )
    (budget,) = find(svg, "line", "budget")
    assert float((budget.get("y1") or "")[:-2]) == pytest.approx(bottom - (bottom - top) * 250 / 300, abs=0.01)


def test_hours_stand_beneath() -> None:
    """A bar for each month, in proportion to the line that is named: 20 h of 20."""
    svg = draw(hours=((DAY(2024, 2, 1), Decimal(20)), (DAY(2024, 3, 1), Decimal(5))))
    tall = [float((bar.get("height") or "")[:-2]) for bar in find(svg, "rect", "hours")]
    assert tall[0] == pytest.approx(4 * tall[1])
    assert "20 h" in {e.text for e in find(svg, "text", "amount")}
    long = draw(hours=tuple((DAY(1984 + n // 12, n % 12 + 1, 1), Decimal(1)) for n in range(480)))
    assert len(find(long, "rect", "hours")) == 40  # by the year, where bars by the month could not be told apart


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


@pytest.mark.parametrize("amounts", [(10, 4_000, 3_999), (-40, 20, 60), (0, 0, 0), (999_999_999, -999_999_999, 5)])
def test_everything_stays_on_the_paper(amounts: tuple[int, ...]) -> None:
    """Nothing is above, below or beside the drawing, when the total falls below zero too, or has nine digits."""
    svg = draw(tuple((DAY(2024, 2 + n, 9), Decimal(a)) for n, a in enumerate(amounts)), DAY(2024, 6, 1))
    height = float((ElementTree.fromstring(svg).get("height") or "")[:-2])
    outer = [e for e in ElementTree.fromstring(svg).iter() if e.tag != f"{SVG}path" and not e.get("viewBox")]
    ems = [float(e.get(k, "0em")[:-2] or 0) for e in outer for k in ("y", "y1", "y2", "cy") if "em" in e.get(k, "")]
    percents = [float(e.get(k, "0%")[:-1] or 0) for e in outer for k in ("x", "x1", "x2", "cx") if "%" in e.get(k, "")]
    assert (min(ems) >= 0, max(ems) <= height) == (True, True)
    assert (min(percents) >= 0, max(percents) <= 100) == (True, True)


def test_every_tick_has_its_month() -> None:
    """As many ticks as months, on each width, over one month and over forty years."""
    for until in (DAY(2024, 4, 2), DAY(2025, 1, 1), DAY(2064, 3, 31)):
        svg = draw(until=until)
        for hidden in ("tight", "roomy"):
            ticks, months = (
                [e for e in find(svg, tag, kind) if hidden not in (e.get("class") or "")]
                for tag, kind in (("line", "tick"), ("text", "month"))
            )
            assert len(ticks) == len(months) > 0


def test_one_point_is_no_chart() -> None:
    """With fewer than two points there is nothing to draw, and nothing is drawn."""
    assert draw(POINTS[:1]) == ""
    assert draw(()) == ""


def test_the_same_points_give_the_same_bytes() -> None:
    """Nothing but the arguments decides what is drawn."""
    assert draw() == draw()
