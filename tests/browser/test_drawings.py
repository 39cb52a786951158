"""Drawings in a real browser: the room that letters take is the browser's own word, not our estimate."""

from __future__ import annotations

import datetime
import random
from decimal import Decimal
from typing import Any

import pytest
from playwright.sync_api import Browser

from buildlog.render import charts, measure_chart
from buildlog.render.language import Words
from tests.browser import eyes

FIND_CLASHES = """svgs => {
    const main = document.querySelector('main');
    const found = [];
    for (const svg of svgs) {
        main.innerHTML = svg;
        const paper = main.firstElementChild.viewBox.baseVal;
        const texts = [...main.querySelectorAll('text')].map(text => [text.textContent, text.getBBox()]);
        texts.forEach(([words, box], n) => {
            if (box.x < -0.1 || box.y < -0.1 || box.x + box.width > paper.width + 0.1
                    || box.y + box.height > paper.height + 0.1) { found.push(words + ' leaves the paper'); }
            for (const [other, room] of texts.slice(n + 1)) {
                if (box.x < room.x + room.width && room.x < box.x + box.width
                        && box.y < room.y + room.height - 0.1 && room.y < box.y + box.height - 0.1) {
                    found.push(words + ' over ' + other);
                }
            }
        });
    }
    return found;
}"""
"Each label of each drawing, set by the theme, against the view box and against every other label."


def draw_totals(chance: random.Random, language: str) -> str:
    words, currency = Words(language), chance.choice(["GBP", "JPY", "KWD", "IDR"])
    first = datetime.date(2023, 1, 1) + datetime.timedelta(days=chance.randrange(400))
    size = 10 ** chance.randrange(1, 8)
    points = [
        (first + datetime.timedelta(days=n * chance.randrange(1, 60)), Decimal(chance.randrange(-size, 9 * size)) / 100)
        for n in range(chance.randrange(2, 12))
    ]
    points.sort(key=lambda point: point[0])
    return charts.running_total_chart(
        points,
        until=points[-1][0],
        words=charts.Words(
            title="Spent",
            description="So much.",
            amount=lambda amount: words.round_money(amount, currency),
            month=words.axis_month,
            end=words.money(points[-1][1], currency),
        ),
    )


def draw_measures(chance: random.Random, language: str) -> str:
    words, unit = Words(language), chance.choice(["bar", "mm", "kPa", "Ω"])
    size = 10 ** chance.randrange(0, 6)

    def write(value: Decimal) -> str:
        return words.measure(value, unit)

    def choose() -> Decimal:
        return Decimal(chance.randrange(-size, 5 * size)) / 10

    lines = [
        measure_chart.Line(
            where=chance.choice(["1", "front", "rear left", "Wellendichtring", ""]),
            dots=tuple(
                measure_chart.Dot(day=datetime.date(2023, 1, 1 + 9 * n), value=choose(), outside=False)
                for n in range(chance.randrange(2, 4))
            ),
        )
        for _ in range(chance.randrange(1, 8))
    ]
    least, most = choose(), choose()
    return measure_chart.measure_chart(
        lines,
        least=(least, f"at least {write(least)}"),
        most=(most, f"at most {write(most)}"),
        words=measure_chart.Words(
            title="Gap", description="So wide.", amount=write, day=lambda day: f"{words.short_day(day)} {day.year}"
        ),
        key="m",
    )


@pytest.mark.parametrize("look", [{"width": 320}, {"width": 600}, {"width": 1280}, {"width": 718, "media": "print"}])
def test_no_label_overprints_another(browser: Browser, on_disk: eyes.Place, look: dict[str, Any]) -> None:
    """Over random data, in the theme's type at every size that it has, no label is over another or off the paper."""
    chance = random.Random(7)
    languages = ["en-GB", "de", "fi", "pl", "ru", "vi"]
    drawings = [draw(chance, chance.choice(languages)) for _ in range(60) for draw in (draw_totals, draw_measures)]
    with eyes.visiting(browser, on_disk, viewport={"width": look["width"], "height": 800}) as visit:
        page = visit.open("costs.html")
        page.emulate_media(media=look.get("media", "screen"))
        assert page.evaluate(FIND_CLASHES, [drawing for drawing in drawings if drawing]) == []


def test_the_words_stand_before_the_lines(browser: Browser, on_disk: eyes.Place) -> None:
    """Letters are drawn after lines and grounds, so that none of them covers a digit."""
    with eyes.visiting(browser, on_disk) as visit:
        for path in ("costs.html", "service.html"):
            page = visit.open(path)
            last = "svg => [...svg.children].map(part => part.tagName).join(' ')"
            for order in page.locator("svg.chart").evaluate_all(f"svgs => svgs.map({last})"):
                assert "text" in order
                assert {"path", "line", "circle"}.isdisjoint(order.partition(" text")[2].split())
