"""The chart of repeated measurements: true places, round levels, limits, rings, words for those who do not see it."""

from __future__ import annotations

import datetime
import re
from decimal import Decimal
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from buildlog.render.measure_chart import Dot, Line, Words, choose_span, measure_chart

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
        ("20.4", "25.9", "20 22 24 26"),  # a step of 2: three of 1 would not cover 5.5
        ("12.6", "12.7", "12.60 12.65 12.70"),  # three of 0.02 would not cover 0.1
        ("-36", "-25", "-40 -35 -30 -25"),
        ("7", "7", "7 8"),
        ("0", "0", "0 1"),
    ],
)
def test_levels_are_round_and_not_drawn_to_zero(low: str, high: str, levels: str) -> None:
    """Steps of 1, 2 or 5 from at or below the least to at or above the greatest: small changes can be seen."""
    assert choose_span(Decimal(low), Decimal(high)) == tuple(map(Decimal, levels.split()))


def test_dots_stand_where_their_values_are() -> None:
    """The first day at 22 %, the last at 76 %; levels 20 to 26 span 7 em down to 8.6: 23 stands half-way, at 5.1."""
    svg = draw(line("1", "20", "23", "26"), line("2", "23", "23", "23"))
    places = [(dot.get("cx"), dot.get("cy")) for dot in find(svg, "circle", "dot")]
    assert places == [
        (f"{x}%", f"{y}em")
        for y3 in (("8.6", "5.1", "1.6"), ("5.1",) * 3)
        for x, y in zip((22, 49, 76), y3, strict=True)
    ]
    paths = [path.get("d") for path in find(svg, "path", "between")]
    assert paths == ["M220 1000L490 500L760 0", "M220 500L490 500L760 500"]


def test_limits_are_a_band_and_named_on_the_side_that_is_not_allowed() -> None:
    """Levels 15 to 30 in steps of 5: 18 stands at 8.6 − 7 · 3/15 = 7.2, 28 at 8.6 − 7 · 13/15 = 2.53."""
    svg = draw(line("1", "20", "22", "26"), least="18", most="28")
    assert [rule.get("y1") for rule in find(svg, "line", "limit")] == ["7.2em", "2.53em"]
    (band,) = find(svg, "rect", "band")
    assert (band.get("y"), band.get("height")) == ("2.53em", "4.67em")
    assert [(text.text, text.get("y")) for text in find(svg, "text", "limit")] == [
        ("at least 18", "8.35em"),
        ("at most 28", "2.13em"),
    ]


def test_what_is_out_of_limits_is_ringed() -> None:
    """A ring as well as a colour (WCAG 2.2 SC 1.4.1)."""
    svg = draw(line("1", "17", "22", "26", outside="17"), least="18")
    assert [ring.get("cx") for ring in find(svg, "circle", "ring")] == ["22%"]


def test_names_do_not_run_into_each_other() -> None:
    """Names stand beside their last dots from the highest down, a line apart or more, and within the drawing."""
    names = find(draw(*(line(str(n), "20", "22", f"2{n}.0") for n in (1, 1, 1, 6))), "text", "place")
    assert [name.text for name in names] == ["6", "1", "1", "1"]
    heights = [float((name.get("y") or "")[:-2]) for name in names]
    assert all(lower - upper >= 1.349 for upper, lower in pairwise(heights))
    assert heights[-1] <= 8.6


def test_too_many_or_too_long_names_are_left_to_the_table() -> None:
    """Where one of the names has no room none is written; the dots are drawn all the same."""
    many = draw(*(line(str(n), "20", "22", "26") for n in range(9)))
    assert (find(many, "text", "place"), len(find(many, "circle", "dot"))) == ([], 27)
    assert find(draw(line("front-left-upper", "20", "22", "26")), "text", "place") == []
    assert find(draw(line("", "20", "22", "26")), "text", "place") == []


def test_days_with_room_are_named_and_only_those_have_a_tick() -> None:
    """The first and the last day, and those between that have room."""
    svg = draw(line("1", *map(str, range(20, 29))))
    days = [text.text for text in find(svg, "text", "month")]
    assert days[:2] == ["01.01.", "11.03."]
    assert len(days) == len(find(svg, "line", "tick"))


@pytest.mark.parametrize("lines", [(), (line("1", "20"),), (line("1", "20", "26"), line("2", "26", "20"))])
def test_two_days_are_no_chart(lines: tuple[Line, ...]) -> None:
    """Values of one day have nothing to be compared with, and those of two are told in a sentence."""
    assert draw(*lines) == ""


def test_all_values_equal_are_a_level_line() -> None:
    """Values that are all the same stand on the lowest of two levels."""
    assert {dot.get("cy") for dot in find(draw(line("1", "7", "7", "7")), "circle", "dot")} == {"8.6em"}


def test_a_screen_reader_gets_title_and_description() -> None:
    """SVG accessibility by WAI-ARIA: role `img`, named by its own title and description, in that order, escaped."""
    tree = ElementTree.fromstring(draw(line("<1>", "20", "22", "26")))
    title, words = list(tree)[:2]
    assert (title.text, words.text) == ("Compression <bar>, 2 times", "1 from 20 to 25.")
    assert (tree.get("role"), tree.get("aria-labelledby")) == ("img", f"{title.get('id')} {words.get('id')}")


def test_the_page_policy_blocks_nothing_in_it_and_all_stays_on_the_paper() -> None:
    """No style attribute, element or script (CSP Level 3); every line and letter begins within the view box."""
    svg = draw(line("1", "-3", "0.5", "7"), line("2", "2", "2.5", "9"), least="-5", most="12")
    assert not re.search(r"style|<script|\bon\w+=|href", svg)
    elements = [e for e in ElementTree.fromstring(svg).iter() if e.tag != f"{SVG}path"]
    ems = [float(e.get(k, "")[:-2]) for e in elements for k in ("y", "y1", "y2", "cy") if "em" in e.get(k, "")]
    assert (min(ems) >= 0, max(ems) <= 10.35) == (True, True)
