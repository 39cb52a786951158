"""Outside check of drawings: places worked out again in fractions from the tables of the page, not from the figures.

The arithmetic is a rule of three: what lies between two labelled lines lies there in proportion.
"""

from __future__ import annotations

import datetime
import re
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import html

from tests.browser.conftest import AS_OF

START = datetime.date(2023, 9, 2)
"The day of the purchase, which the service history states."
END = datetime.date.fromisoformat(AS_OF)
Pages = dict[str, html.HtmlElement]


@pytest.fixture(scope="session")
def pages(site: Path) -> Pages:
    wanted = ("costs.html", "service.html", "index.html")
    return {path: html.fromstring((site / path).read_bytes()) for path in wanted}


def read_number(text: str) -> Fraction:
    """`−£1,234.50` as a fraction."""
    digits = re.sub(r"[^\d.]", "", text)
    return Fraction(digits) * (-1 if text.lstrip().startswith("−") else 1)


def read_place(text: str | None) -> Fraction:
    return Fraction(re.sub(r"em|%", "", text or ""))


def find(tree: html.HtmlElement, tag: str, kind: str) -> list[html.HtmlElement]:
    return [one for one in tree.iter(tag) if kind in (one.get("class") or "").split()]


def chart_of(page: html.HtmlElement, kind: str) -> html.HtmlElement:
    return next(svg for svg in page.iter("svg") if kind in (svg.get("class") or "").split())


def level_places(svg: html.HtmlElement) -> list[Fraction]:
    """Heights of the level lines of the upper drawing, lowest amount first."""
    return sorted((read_place(line.get("y1")) for line in find(svg, "line", "level")), reverse=True)


def test_every_month_of_the_table_is_a_height_of_the_line(pages: Pages) -> None:
    """The running total of each month end, from the table beside it: its height lies between £0 and £3,000.

    The drawing's path counts thousandths downwards from the highest level, £3,000; it writes tenths of them.
    """
    svg = chart_of(pages["costs.html"], "life")
    (line,) = find(svg, "path", "line")
    corners = re.findall(r"H([\d.]+)V([\d.]+)", line.get("d"))
    amounts = [read_number(text.text) for text in find(svg, "text", "amount") if "£" in text.text]
    assert (min(amounts), max(amounts)) == (Fraction(0), Fraction(3000))
    days = (END - START).days
    left, right = Fraction(5), Fraction(990)
    rows = pages["costs.html"].xpath("//section[@aria-labelledby='running']//table/tbody/tr")
    for row in rows:
        month = datetime.date.fromisoformat(re.search(r"m-(\d{4}-\d\d)", row.xpath(".//a/@href")[0])[1] + "-01")  # type: ignore[index]
        after = (month + datetime.timedelta(days=31)).replace(day=1)
        end = left + Fraction((after - START).days, days) * (right - left)
        reached = [Fraction(y) for x, y in corners if Fraction(x) < end - 1]  # a day is two of them
        running = read_number(row.xpath("./td")[2].text_content())
        assert reached[-1] == pytest.approx(1000 - running / 3000 * 1000, abs=0.06), month
    assert len(rows) == 15


def test_ticks_stand_at_the_first_of_their_months(pages: Pages) -> None:
    """Days are counted by the calendar: 1 January 2024 is day 121 after 2 September 2023 of 456."""
    svg = chart_of(pages["costs.html"], "life")
    (year,) = [text for text in find(svg, "text", "month") if text.text == "2024" and "tight" not in text.get("class")]
    share = Fraction((datetime.date(2024, 1, 1) - START).days, (END - START).days)
    assert share == Fraction(121, 456)
    assert read_place(year.get("x")) == pytest.approx(Fraction(1, 2) + share * Fraction(197, 2), abs=0.006)


def test_bars_are_in_proportion_to_their_amounts(pages: Pages) -> None:
    """The longest is as long as the page; every other is its share of that. Body and floor is £57.48 over £300."""
    for key in ("by-system", "by-kind", "by-supplier"):
        rows = pages["costs.html"].xpath(f"//section[@aria-labelledby='{key}']//ul[@class='sums']/li//summary")
        rows = [row for row in rows if row.xpath(".//svg")]
        amounts = [read_number(row.xpath(".//span[@class='amount']")[0].text_content()) for row in rows]
        assert amounts == sorted(amounts, reverse=True)
        for row, amount in zip(rows, amounts, strict=True):
            rects = row.xpath(".//svg/rect")
            ends = [read_place(rect.get("x")) + read_place(rect.get("width")) for rect in rects]
            assert max(ends) == pytest.approx(amount / amounts[0] * 100, abs=0.02)
            assert bool(find(row, "rect", "over")) == ("over its budget" in row.text_content())
            if find(row, "rect", "over"):
                (rule,) = find(row, "line", "limit")
                assert read_place(rule.get("x1")) == pytest.approx(300 / amounts[0] * 100, abs=0.01)


def test_readings_stand_where_the_table_has_them(pages: Pages) -> None:
    """What the meter showed, of the table, between 0 mi and 100,000 mi; broken once, as it was changed once."""
    svg = chart_of(pages["service.html"], "meter")
    amounts = [read_number(text.text) for text in find(svg, "text", "amount")]
    low, high = min(amounts), max(amounts)
    places = level_places(svg)
    dots = [read_place(dot.get("cy")) for dot in find(svg, "circle", "dot")]
    table = pages["service.html"].xpath("//section[@aria-labelledby='meter']//table/tbody/tr")
    shown = [read_number(row.xpath("./td")[0].text.strip()) for row in table]
    assert len(dots) == len(shown)
    for place, value in zip(dots, shown, strict=True):
        assert place == pytest.approx(places[0] - (value - low) / (high - low) * (places[0] - places[-1]), abs=0.011)
    (line,) = find(svg, "path", "line")
    assert line.get("d").count("M") == 2
    assert len(find(svg, "path", "true")) == 1


def test_the_front_says_of_a_meter_that_it_is_not_the_whole(pages: Pages) -> None:
    """The service history calls the odometer not actual: on the front, what it shows never stands by itself."""
    assert "NOT the actual mileage" in pages["service.html"].text_content()
    words = " ".join(pages["index.html"].xpath("//main")[0].text_content().split())
    told = re.findall(r"\b4[0-9],[0-9]{3}\s?mi", words)
    said = re.findall(r"in all[^.]{0,40}\b4[0-9],[0-9]{3}\s?mi", words)
    assert len(told) == len(said) > 0
