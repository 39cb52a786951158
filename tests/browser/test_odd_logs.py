"""Front page, timeline and entry of logs at the edges: nothing there, far too much, every script and shape of photo.

Each log is published once. The looks are those of the other pages; what is looked at by eye is said in `odd_logs`.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Browser

from tests.browser import eyes
from tests.browser.conftest import place_on_disk, publish
from tests.browser.odd_logs import ODD, write_gallery

WIDTHS = (320, 390, 1440, 2560)

Publish = Callable[[str], eyes.Place]


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> Publish:
    """Publishes a log by its name, once; of four hundred photos as many as are laid out in the same way."""
    found: dict[str, eyes.Place] = {}

    def make(name: str) -> eyes.Place:
        if name not in found:
            top = tmp_path_factory.mktemp(name)
            write_gallery(top / "log", 26) if name == "gallery" else ODD[name](top / "log")
            place = place_on_disk(publish(top / "log", top / "site"))
            entries = tuple(page for page in place.pages if page.startswith("entries/"))[:2]
            found[name] = eyes.Place(base=place.base, pages=("index.html", "timeline.html", *entries))
        return found[name]

    return make


@pytest.mark.parametrize("name", ODD)
def test_nothing_sticks_out(browser: Browser, odd: Publish, name: str) -> None:
    """From the narrowest window to a wall of one no page has to be scrolled sideways."""
    assert eyes.find_overflow(browser, odd(name), WIDTHS) == []


@pytest.mark.parametrize("width", [320, 360, 390])
def test_amounts_of_nine_digits_stay_whole(browser: Browser, odd: Publish, width: int) -> None:
    """On every width of a phone each amount stands on one line, the sign of one below zero with it."""
    place = eyes.Place(base=odd("named").base, pages=("costs.html", "timeline.html", "index.html"))
    with eyes.visiting(browser, place, viewport={"width": width, "height": 800}) as visit:
        broken = {path: visit.open(path).evaluate(eyes.BROKEN_FIGURES) for path in place.pages}
        assert "−£864,197,530.08" in visit.open("costs.html").inner_text("main")
    assert broken == {path: [] for path in place.pages}


@pytest.mark.parametrize("name", ["named", "scripts", "gallery"])
def test_no_picture_is_enlarged(browser: Browser, odd: Publish, name: str) -> None:
    """No photo is shown larger than its widest file: of one of 100 pixels nothing more is seen at 1,000."""
    larger = """pictures => pictures.filter(p => {
        const box = p.getBoundingClientRect(), fit = getComputedStyle(p).objectFit;
        const [width, height] = [+p.getAttribute('width'), +p.getAttribute('height')];
        const [x, y] = [box.width / width, box.height / height];
        const scale = { fill: Math.max(x, y), cover: Math.max(x, y), contain: Math.min(x, y) }[fit];
        return scale > 1.05;
    }).map(p => p.className + ' ' + p.getAttribute('width') + ' at ' + p.getBoundingClientRect().width)"""
    with eyes.visiting(browser, odd(name), viewport={"width": 1440, "height": 900}) as visit:
        found = {path: visit.open(path).locator("main img").evaluate_all(larger) for path in visit.place.pages}
    assert found == {path: [] for path in found}


@pytest.mark.parametrize("name", ["named", "scripts"])
def test_machine_and_name_stand_above_the_fold(browser: Browser, odd: Publish, name: str) -> None:
    """At 1440 × 900 the picture and the whole name are seen at once, be it of 120 letters."""
    with eyes.visiting(browser, odd(name), viewport={"width": 1440, "height": 900}) as visit:
        _check_fold(visit)


def test_the_machine_of_the_example_stands_above_the_fold(browser: Browser, on_disk: eyes.Place) -> None:
    """The same with a photo of the usual shape, which goes across the rule of the margin as wide as the leaf."""
    with eyes.visiting(browser, on_disk, viewport={"width": 1440, "height": 900}) as visit:
        _check_fold(visit)
        picture = visit.page.locator(".plate img").bounding_box()
        margin = visit.page.locator(".opening > .side").bounding_box()
        words = visit.page.locator(".opening > .wide").first.bounding_box()
        assert picture and margin and words
        assert picture["x"] == pytest.approx(margin["x"], abs=1)
        assert picture["x"] + picture["width"] == pytest.approx(words["x"] + words["width"], abs=1)


def _check_fold(visit: eyes.Visit) -> None:
    page = visit.open("index.html")
    picture, name = page.locator(".plate img").bounding_box(), page.locator("h1").bounding_box()
    assert picture and name
    assert picture["y"] + picture["height"] <= name["y"]
    assert name["y"] + name["height"] <= 900


@pytest.mark.parametrize("width", [320, 390, 768])
def test_the_rule_of_the_margin_stands_at_the_left_edge(browser: Browser, odd: Publish, width: int) -> None:
    """Where there is no room for a margin its rule is left, left of all words, from head to foot."""
    with eyes.visiting(browser, odd("years"), viewport={"width": width, "height": 800}) as visit:
        for path in visit.place.pages:
            page = visit.open(path)
            style = page.evaluate("""() => {
                const s = getComputedStyle(document.querySelector('.leaf'), '::before');
                return [s.content, s.borderLeftStyle, parseFloat(s.borderLeftWidth), parseFloat(s.left)];
            }""")
            words = page.locator("h1").bounding_box()
            assert words and style[1] == "solid" and style[2] >= 1
            assert 0 < style[3] < words["x"]


def test_the_margin_is_nowhere_empty_for_a_screen(browser: Browser, on_disk: eyes.Place) -> None:
    """On front page, timeline and entries, wherever one has scrolled to, something stands in the margin, or a photo."""
    paths = ["index.html", "timeline.html", *[page for page in on_disk.pages if page.startswith("entries/")][-3:]]
    seen = """() => [...document.querySelectorAll('.side, .plate, .across')].some(e => {
        const box = e.getBoundingClientRect();
        return e.textContent.trim() + e.querySelectorAll('img').length && box.bottom > 0 && box.top < innerHeight;
    })"""
    with eyes.visiting(browser, on_disk, viewport={"width": 1440, "height": 900}) as visit:
        void = []
        for path in paths:
            page = visit.open(path)
            foot = page.evaluate("document.querySelector('main').getBoundingClientRect().bottom")
            for at in range(0, int(foot), 300):
                page.evaluate("at => scrollTo(0, at)", at)
                if not page.evaluate(seen):
                    void.append(f"{path} at {at}")
    assert void == []


def test_what_is_touched_is_large_enough(browser: Browser, odd: Publish) -> None:
    """The control of the order has 24 CSS pixels each way (WCAG 2.2, SC 2.5.8), and months and systems have."""
    with eyes.visiting(browser, odd("years"), viewport={"width": 390, "height": 800}) as visit:
        page = visit.open("timeline.html")
        sizes = page.locator(".jump a, .jump button").evaluate_all(
            "all => all.map(e => [e.textContent, e.getBoundingClientRect().width, e.getBoundingClientRect().height])"
        )
    assert sizes and [size for size in sizes if min(size[1:]) < 24] == []


def test_an_order_is_one_line_and_open_on_paper(browser: Browser, on_disk: eyes.Place) -> None:
    """On a screen its supplier and total; its lines are a press away, and stand on paper by themselves."""
    with eyes.visiting(browser, on_disk) as visit:
        page = visit.open("entries/2024-03-02-lift-pump-in.html")
        order = page.locator("details.order").first
        assert order.locator("summary .amount").inner_text() == "£236.18"
        assert not order.locator("li").first.is_visible()
        page.evaluate("dispatchEvent(new Event('beforeprint'))")
        assert order.locator("li").first.is_visible()
