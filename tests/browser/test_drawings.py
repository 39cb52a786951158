"""Drawings in a real browser: the room that letters take is the browser's own word, not our estimate."""

from __future__ import annotations

import datetime
import random
from decimal import Decimal
from typing import Any

import pytest
from playwright.sync_api import Browser

from buildlog.render import charts, measure_chart, meter_chart
from buildlog.render.axes import TickWords
from buildlog.render.language import Words
from tests.browser import eyes
from tests.browser.conftest import place_on_disk, publish

FIND_CLASHES = """() => {
    const found = [];
    // Letters twice as large leave twice as much of a whole pixel.
    const slack = Math.max(1, parseFloat(getComputedStyle(document.documentElement).fontSize) / 16);
    const small = 0.8 * parseFloat(getComputedStyle(document.documentElement).fontSize);
    for (const svg of document.querySelectorAll('svg.chart')) {
        const paper = svg.getBoundingClientRect();
        if (!paper.width) { continue; }
        const texts = [...svg.querySelectorAll('text')].map(text => [text.textContent, text.getBoundingClientRect()])
            .filter(([words, box]) => box.width);
        texts.forEach(([words, box], n) => {
            if (box.left < paper.left - slack || box.top < paper.top - slack || box.right > paper.right + slack
                    || box.bottom > paper.bottom + slack) { found.push(words + ' leaves the paper'); }
            for (const [other, room] of texts.slice(n + 1)) {
                if (box.left < room.right && room.left < box.right
                        && box.top < room.bottom - 0.5 && room.top < box.bottom - 0.5) {
                    found.push(words + ' over ' + other);
                }
            }
        });
        // Stretched and never scaled: the size that is set is the size that is seen.
        const scale = svg.getScreenCTM().a;
        for (const text of svg.querySelectorAll('text')) {
            const size = parseFloat(getComputedStyle(text).fontSize) * scale;
            if (size < small - 0.01) { found.push(text.textContent + ' is as small as ' + size); }
        }
        for (const mark of svg.querySelectorAll('circle, rect')) {
            const box = mark.getBoundingClientRect();
            if (box.width && (box.left < paper.left - 8 || box.right > paper.right + 8)) {
                found.push(mark.getAttribute('class') + ' leaves the paper');
            }
        }
    }
    return found;
}"""
"Each label of each drawing of a page, as it is set, against its paper and every other; and no letter too small."


def draw_totals(chance: random.Random, language: str) -> str:
    words, currency = Words(language), chance.choice(["GBP", "JPY", "KWD", "IDR"])
    first = datetime.date(2023, 1, 1) + datetime.timedelta(days=chance.randrange(400))
    size = 10 ** chance.randrange(1, 12)
    points = [
        (first + datetime.timedelta(days=n * chance.randrange(1, 60)), Decimal(chance.randrange(-size, 9 * size)) / 100)
        for n in range(chance.randrange(2, 12))
    ]
    points.sort(key=lambda point: point[0])
    names = ["First start", "w" * 120, "走行テスト", "בדיקה ראשונה של המנוע", "Première mise en route"]
    named = [(day, chance.choice(names)) for day, _ in points for _ in range(chance.randrange(3))]
    return charts.draw_life(
        charts.Life(
            points=tuple(points),
            start=first,
            until=points[-1][0],
            milestones=tuple(named[::2]),
            sales=tuple(named[1:4:2]),
            hours=tuple((day, Decimal(chance.randrange(90))) for day, _ in points),
            budget=chance.choice([None, points[-1][1]]),
        ),
        charts.Words(
            title="Spent",
            description="So much.",
            amount=lambda amount: words.round_money(amount, currency),
            ticks=TickWords(start=words.axis_start, month=words.axis_month),
            hours=words.hours,
            end=words.money(points[-1][1], currency),
            budget=("the budget", "plan"),
        ),
    )


def draw_readings(chance: random.Random, language: str) -> str:
    words, readings, shown, away = Words(language), [], 0, 0
    for n in range(chance.randrange(3, 12)):
        new = chance.random() < 0.2
        shown, away = (chance.randrange(9), away + shown) if new else (shown + chance.randrange(90_000), away)
        day = datetime.date(1980 + 3 * n, 1, 1)
        last = day if chance.random() < 0.5 else day.replace(month=12)
        readings.append(
            meter_chart.Reading(first=day, last=last, shown=Decimal(shown), total=Decimal(shown + away), new=new)
        )
    return meter_chart.draw_meter(
        readings,
        meter_chart.Words(
            title="Meter",
            description="So far.",
            amount=lambda value: words.measure(value, "km"),
            ticks=TickWords(start=words.axis_start, month=words.axis_month),
            shown=f"the meter shows {words.measure(Decimal(shown), 'km')}",
            total=f"true total {words.measure(Decimal(shown + away), 'km')}",
            change="meter changed or set",
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
            where=chance.choice(["1", "front", "rear left", "Wellendichtring", "後輪", ""]),
            dots=tuple(
                measure_chart.Dot(day=datetime.date(2023, 1, 1 + 9 * n), value=choose(), outside=False)
                for n in range(chance.randrange(3, 4))
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


DRAW = (draw_totals, draw_measures, draw_readings)
PUT_IN = """svgs => { document.querySelector('main').innerHTML = '<section class="band"><div class="wide">'
    + svgs.map(svg => '<figure class="drawing' + (svg.includes('chart measures') ? ' small' : '') + '">' + svg
    + '</figure>').join('') + '</div></section>'; }"""


LOOKS: list[dict[str, Any]] = [
    *({"width": width} for width in (320, 390, 660, 1440)),
    {"width": 718, "media": "print"},
    *({"width": width, "letters": "200%"} for width in (390, 660)),
]


@pytest.mark.parametrize("look", LOOKS)
def test_no_label_overprints_another(browser: Browser, on_disk: eyes.Place, look: dict[str, Any]) -> None:
    """Over random data, in the theme's type at every size that it has, no label is over another or off the paper."""
    chance = random.Random(7)
    languages = ["en-GB", "de", "fi", "ja", "pl", "ru", "vi"]
    drawings = [draw(chance, chance.choice(languages)) for _ in range(20) for draw in DRAW]
    with eyes.visiting(browser, on_disk, viewport={"width": look["width"], "height": 800}) as visit:
        page = visit.open("costs.html")
        page.emulate_media(media=look.get("media", "screen"))
        page.evaluate("size => { document.documentElement.style.fontSize = size }", look.get("letters", ""))
        page.evaluate(PUT_IN, [drawing for drawing in drawings if drawing])
        assert page.locator("svg.chart").count() > 40
        assert page.evaluate(FIND_CLASHES) == []


@pytest.mark.parametrize(("letters", "scrolls"), [("", False), ("200%", True)])
def test_a_drawing_scrolls_where_letters_are_large(
    browser: Browser, on_disk: eyes.Place, letters: str, scrolls: bool
) -> None:
    """The narrowest phone shows it whole; with letters too large for that it scrolls in its box to its last word, and
    the words below it stay where they are."""
    with eyes.visiting(browser, on_disk, viewport={"width": 320, "height": 800}) as visit:
        page = visit.open("costs.html")
        page.evaluate("size => { document.documentElement.style.fontSize = size }", letters)
        box = page.locator("figure.drawing").first
        assert box.evaluate("box => box.scrollWidth > box.clientWidth") == scrolls
        words = box.locator("figcaption")
        before = words.bounding_box()
        assert before and before["x"] >= 0 and before["x"] + before["width"] <= 320
        box.evaluate("box => { box.scrollLeft = box.scrollWidth }")
        assert words.bounding_box() == before
        paper = box.locator("svg.chart").bounding_box()
        assert paper and paper["x"] + paper["width"] <= 320


DRAWN = ("costs.html", "service.html", "faults.html", "parts.html")


@pytest.mark.parametrize(("width", "letters"), [(390, ""), (1440, ""), (320, "200%"), (390, "200%"), (1280, "200%")])
def test_the_drawings_of_the_example(browser: Browser, on_disk: eyes.Place, width: int, letters: str) -> None:
    """Every page with drawings, as it is published, and with letters twice as large (WCAG 2.2, SC 1.4.4)."""
    assert find_all(browser, on_disk, width, letters) == {}


def find_all(browser: Browser, place: eyes.Place, width: int, letters: str = "") -> dict[str, list[str]]:
    found = {}
    with eyes.visiting(browser, place, viewport={"width": width, "height": 800}) as visit:
        for path in DRAWN:
            page = visit.open(path)
            page.evaluate("size => { document.documentElement.style.fontSize = size }", letters)
            found[path] = page.evaluate(FIND_CLASHES)
        assert page.locator("svg.strip").count() > 0
    return {path: clashes for path, clashes in found.items() if clashes}


CROWDED = """
machine: {name: Crowded, kind: road vehicle, meter: {unit: km}}
acquired: {date: 1984-03-01, reading: 900}
money: {currency: GBP, budget: {none-such: 999999999.00}}
systems: {none-such: Everything}
public: {prices: shown}
components:
""" + "".join(
    f"  s{n}: {{name: Suspect {n} of forty, system: none-such, check_hours: 0.{n % 9 + 1}}}\n" for n in range(40)
)
"A log over forty years: nine digits, forty suspects, milestones day after day, names of 120 letters."


@pytest.fixture(scope="session")
def crowded(tmp_path_factory: pytest.TempPathFactory) -> eyes.Place:
    log = tmp_path_factory.mktemp("crowded") / "log"
    (log / "entries").mkdir(parents=True)
    (log / "log.yaml").write_text(CROWDED, encoding="utf-8")
    names = ["Bought", "w" * 120, "走行テスト完了", "בדיקה ראשונה של המנוע", "First start", "On the road"]
    for n in range(24):
        day = datetime.date(2024, 1, 1) + datetime.timedelta(days=n)
        line = f"{{part: p{n % 5}, name: Part {n % 5}, total: {900_000 * (n + 1)}.00, for: none-such}}"
        head = f"date: {day}\ntitle: Day {n}\nmilestone: {names[n % 6]}\nreading: {1000 + n}\nhours: {n}\n"
        head += f"bought: {{from: A, ordered: {day}, paid: {day}, arrived: {day}, lines: [{line}]}}\n"
        head += f"fitted: {{part: p{n % 5}, at: {'left' if n % 2 else 'w' * 120}}}\n"
        if n == 2:
            head += f"faults: {{fault: all, name: Everything, suspects: [{', '.join(f's{at}' for at in range(40))}]}}\n"
        if n > 2:
            head += f"checks: {{fault: all, did: Looked, clears: [s{n}]}}\n"
        (log / f"entries/{day}-day-{n}.md").write_text(f"---\n{head}---\nWords.\n", encoding="utf-8")
    return place_on_disk(publish(log, log.parent / "site"))


@pytest.mark.parametrize("width", [390, 1440])
def test_the_drawings_of_a_crowded_log(browser: Browser, crowded: eyes.Place, width: int) -> None:
    """What is too much for a drawing is left to its list, and nothing stands over anything."""
    assert find_all(browser, crowded, width) == {}


def test_the_words_stand_before_the_lines(browser: Browser, on_disk: eyes.Place) -> None:
    """Letters are drawn after lines and grounds, so that none of them covers a digit."""
    with eyes.visiting(browser, on_disk) as visit:
        for path in ("costs.html", "service.html"):
            page = visit.open(path)
            last = "svg => [...svg.children].map(part => part.tagName).join(' ')"
            for order in page.locator("svg.chart").evaluate_all(f"svgs => svgs.map({last})"):
                assert "text" in order
                assert {"path", "line", "circle", "svg"}.isdisjoint(order.partition(" text")[2].split())
