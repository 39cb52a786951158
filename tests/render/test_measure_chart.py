"""The chart of repeated measurements: true places, round levels, limits, rings, words for those who do not see it."""

from __future__ import annotations

import datetime
import re
from decimal import Decimal
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from buildlog.render.measure_chart import BOTTOM, TOP, Dot, Line, Words, choose_span, measure_chart

SVG = "{http://www.w3.org/2000/svg}"
DAY = datetime.date
WORDS = Words(
    title="Compression <bar>, 2 times",
    description="1 from 20 to 25.",
    amount=lambda value: f"{value:f} bar",
    day=lambda day: f"{day:%d.%m.}",
)


def line(where: str, *values: str, outside: str = "") -> Line:
    """A place with a value every hundred days from 1 January 2024."""
    dots = (
        Dot(day=DAY(2024, 1, 1) + datetime.timedelta(days=100 * n), value=Decimal(value), outside=value == outside)
        for n, value in enumerate(values)
    )
    return Line(where=where, dots=tuple(dots))


def draw(*lines: Line, least: str | None = None, most: str | None = None) -> str:
    return measure_chart(
        lines,
        least=(Decimal(least), f"at least {least}") if least else None,
        most=(Decimal(most), f"at most {most}") if most else None,
        words=WORDS,
        key="m",
    )


def find(svg: str, tag: str, kind: str) -> list[ElementTree.Element]:
    return [e for e in ElementTree.fromstring(svg).iter(f"{SVG}{tag}") if kind in (e.get("class") or "").split()]


@pytest.mark.parametrize(
    ("low", "high", "levels"),
    [
        ("20.4", "25.9", "20 22 24 26"),  # a step of 2: four of 1 would not cover 5.5
        ("12.6", "12.7", "12.60 12.65 12.70"),  # four of 0.02 would not cover 0.1
        ("-36", "-25", "-40 -35 -30 -25"),
        ("7", "7", "7 8"),
        ("0", "0", "0 1"),
    ],
)
def test_levels_are_round_and_not_drawn_to_zero(low: str, high: str, levels: str) -> None:
    """Steps of 1, 2 or 5 from at or below the least to at or above the greatest: small changes can be seen."""
    assert choose_span(Decimal(low), Decimal(high)) == tuple(map(Decimal, levels.split()))


def test_dots_stand_where_their_values_are() -> None:
    """The first day at 110, the last at 560; levels 20 to 26 span 238 units: 23 stands half-way, 276 − 119 = 157."""
    svg = draw(line("1", "20", "26"), line("2", "23", "23"))
    places = [(dot.get("cx"), dot.get("cy")) for dot in find(svg, "circle", "dot")]
    assert places == [("110", str(BOTTOM)), ("560", str(TOP)), ("110", "157"), ("560", "157")]
    assert [path.get("d") for path in find(svg, "path", "between")] == ["M110 276 L560 38", "M110 157 L560 157"]


def test_limits_are_drawn_and_named_on_the_side_that_is_not_allowed() -> None:
    """Levels 18 to 28 in steps of 5 from 15 to 30: 18 stands at 276 − 238 · 3/15, 28 at 276 − 238 · 13/15."""
    svg = draw(line("1", "20", "26"), least="18", most="28")
    assert [rule.get("y1") for rule in find(svg, "line", "limit")] == ["228.4", "69.7"]
    assert [(text.text, text.get("y")) for text in find(svg, "text", "limit")] == [
        ("at least 18", "253.4"),
        ("at most 28", "63.7"),
    ]


def test_what_is_out_of_limits_is_ringed() -> None:
    """A ring as well as a colour (WCAG 2.2 SC 1.4.1)."""
    svg = draw(line("1", "17", "26", outside="17"), least="18")
    assert [(ring.get("cx"), ring.get("r")) for ring in find(svg, "circle", "ring")] == [("110", "8")]


def test_names_do_not_run_into_each_other() -> None:
    """Names stand beside their last dots from the highest down, 32 units apart or more, and within the drawing."""
    names = find(draw(*(line(str(n), "20", f"2{n}.0") for n in (1, 1, 1, 6))), "text", "place")
    assert [name.text for name in names] == ["6", "1", "1", "1"]
    heights = [float(name.get("y", 0)) for name in names]
    assert all(lower - upper >= 32 for upper, lower in pairwise(heights))
    low = [float(name.get("y", 0)) for name in find(draw(*(line(n, "26", "20") for n in "abcdef")), "text", "place")]
    assert low == [BOTTOM - 32 * n for n in (5, 4, 3, 2, 1, 0)]


def test_too_many_or_too_long_names_are_left_to_the_table() -> None:
    """Where one of the names has no room none is written; the dots are drawn all the same."""
    many = draw(*(line(str(n), "20", "26") for n in range(9)))
    assert (find(many, "text", "place"), len(find(many, "circle", "dot"))) == ([], 18)
    assert find(draw(line("front-left-upper", "20", "26")), "text", "place") == []
    assert find(draw(line("", "20", "26")), "text", "place") == []


def test_days_with_room_are_named() -> None:
    """The first and the last day, and those between that have room."""
    days = [text.text for text in find(draw(line("1", *map(str, range(20, 29)))), "text", "month")]
    assert days == ["01.01.", "11.03.", "19.07.", "04.02.", "23.08."]


@pytest.mark.parametrize("lines", [(), (line("1", "20"),), (line("1", "20"), line("2", "26"))])
def test_one_day_is_no_chart(lines: tuple[Line, ...]) -> None:
    """Values of one day have nothing to be compared with, and nothing is drawn."""
    assert draw(*lines) == ""


def test_a_screen_reader_gets_title_and_description() -> None:
    """SVG accessibility by WAI-ARIA: role `img`, named by its own title and description, in that order, escaped."""
    tree = ElementTree.fromstring(draw(line("<1>", "20", "26")))
    title, words = list(tree)[:2]
    assert (title.text, words.text) == ("Compression <bar>, 2 times", "1 from 20 to 25.")
    assert (tree.get("role"), tree.get("aria-labelledby")) == ("img", f"{title.get('id')} {words.get('id')}")


def test_the_page_policy_blocks_nothing_in_it_and_all_stays_on_the_paper() -> None:
    """No style attribute, element or script (CSP Level 3); every line and letter begins within the view box."""
    svg = draw(line("1", "-3", "0.5", "7"), line("2", "2", "2.5", "9"), least="-5", most="12")
    assert not re.search(r"style|<script|\bon\w+=|href", svg)
    elements = list(ElementTree.fromstring(svg).iter())
    assert all(0 <= float(e.get(k, 0)) <= 320 for e in elements for k in ("y", "y1", "y2", "cy"))
    assert all(0 <= float(e.get(k, 0)) <= 720 for e in elements for k in ("x", "x1", "x2", "cx"))
