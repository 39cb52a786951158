"""The marks of states and of evidence in a real browser: each unlike the others, whatever the reader's colours are.

A log has one fault in every state, one service item in every state, and one claim at every level.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from itertools import combinations, product
from typing import Any, get_args

import pytest
from PIL import Image, ImageChops
from playwright.sync_api import Browser, Locator, Page

from buildlog.render.pieces import FaultMark, State
from tests.browser import eyes
from tests.browser.conftest import place_on_disk, publish
from tests.photos.test_intake import paint

SETTINGS = """\
machine: {name: Blue hauler, meter: km}
history: {date: 2019, what: Rewired, serviced: brake-fluid}
money: {currency: GBP}
components: {pump: {name: Feed pump}, hose: {name: Feed hose}}
service:
  oil: {name: Oil, every: {months: 12}}
  belts: {name: Belts, every: {months: 12}, notice: {days: 30}}
  coolant: {name: Coolant, every: {months: 36}}
  brake-fluid: {name: Brake fluid, every: {months: 120}}
  grease: {name: Grease, every: {months: 12}}
public: {papers: shown}
"""
ENTRIES = {
    "2023-01-10-oil": "date: 2023-01-10\nserviced: oil\n",
    "2023-12-20-belts": "date: 2023-12-20\nserviced: {item: belts, paper: papers/bill.pdf}\n",
    "2024-05-04-coolant": """\
date: 2024-05-04
serviced: coolant
photos: {file: tank.jpg, says: The tank is full, shows: coolant}
faults:
  - {fault: a, name: Hums, suspects: [pump, hose]}
  - {fault: b, name: Drips, suspects: [pump, hose]}
  - {fault: c, name: Stutters, suspects: [pump, hose]}
  - {fault: d, name: Smells, suspects: [pump, hose]}
  - {fault: e, name: Rattles, suspects: [pump, hose]}
checks:
  - {fault: b, did: Hose off, clears: hose}
  - {fault: c, did: Pump on the bench, cause: pump}
fixed:
  - {fault: d, how: New hose}
  - {fault: e, how: New pump, proved: A day without it}
""",
}
WAYS: Mapping[str, Mapping[str, Any]] = {
    "light": {"color_scheme": "light"},
    "dark": {"color_scheme": "dark"},
    "forced, light": {"forced_colors": "active", "color_scheme": "light"},
    "forced, dark": {"forced_colors": "active", "color_scheme": "dark"},
    "print": {},
}
UNLIKE, ALIKE = 0.25, 0.1
"Part of the ink of two marks, laid over each other, that only one has: at least of two, at most of one seen twice."


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> eyes.Place:
    log = tmp_path_factory.mktemp("marks") / "log"
    files = {"log.yaml": SETTINGS.encode(), "papers/bill.pdf": b"%PDF-1.4 "}
    files |= {f"entries/{name}.md": f"---\ntitle: T\n{head}---\nDone.\n".encode() for name, head in ENTRIES.items()}
    for path, data in files.items():
        (log / path).parent.mkdir(parents=True, exist_ok=True)
        (log / path).write_bytes(data)
    photo = log / "photos/2024-05-04-coolant/tank.jpg"
    photo.parent.mkdir(parents=True)
    paint(1, (640, 480)).save(photo)
    return place_on_disk(publish(log, log / "site"))


def take_ink(mark: Locator) -> Image.Image:
    """Where a mark has ink, as a printer without colours has it: what differs from its ground by more than a quarter
    of the way from black to white."""
    grey = Image.open(io.BytesIO(mark.screenshot())).convert("L")
    levels = grey.histogram()
    ground = levels.index(max(levels))
    return grey.point(lambda level: 255 if abs(level - ground) > 64 else 0)


def compare_ink(one: Image.Image, other: Image.Image) -> float:
    """The part of all ink that only one of two marks has, laid over each other as well as a pixel allows."""
    size = (max(one.width, other.width) + 2, max(one.height, other.height) + 2)
    still = Image.new("L", size)
    still.paste(one, (1, 1))
    return min(_compare_at(still, other, place) for place in product(range(3), repeat=2))


def _compare_at(still: Image.Image, other: Image.Image, place: tuple[int, int]) -> float:
    moved = Image.new("L", still.size)
    moved.paste(other, place)
    alone = ImageChops.difference(still, moved).histogram()[255]
    return alone / ImageChops.lighter(still, moved).histogram()[255]


def visit_in(browser: Browser, place: eyes.Place, way: str, path: str) -> Iterator[Page]:
    """A page on a desk's screen with one dot for each pixel, where a mark has the least room; or as it is printed."""
    with eyes.visiting(browser, place, viewport={"width": 1280, "height": 800}, **WAYS[way]) as visit:
        visit.page.emulate_media(media="print" if way == "print" else "screen")
        yield visit.open(path)


@pytest.mark.parametrize("way", WAYS)
def test_no_state_looks_like_another(browser: Browser, marked: eyes.Place, way: str) -> None:
    """Shapes differ, not only colours, on paper without colours and in the reader's own (WCAG 2.2, SC 1.4.1)."""
    ink = {}
    for path, keys in (("faults.html", get_args(FaultMark)), ("service.html", get_args(State))):
        for page in visit_in(browser, marked, way, path):
            ink |= {key: take_ink(page.locator(f"main .state.{key} .stroke").first) for key in keys}
    assert len(ink) == 9
    assert [key for key, mark in ink.items() if mark.histogram()[255] < 20] == [], "no ink to be seen"
    alike = {(a, b): compare_ink(ink[a], ink[b]) for a, b in combinations(ink, 2)}
    assert {pair: part for pair, part in alike.items() if part < UNLIKE} == {}


@pytest.mark.parametrize("way", WAYS)
def test_no_letter_looks_like_another(browser: Browser, marked: eyes.Place, way: str) -> None:
    """The letters differ within their boxes, which are the same for all."""
    for page in visit_in(browser, marked, way, "service.html"):
        letters = page.locator(".legend").first.locator(".letter")
        ink = {letter.inner_text(): take_ink(letter) for letter in letters.all()}
    assert sorted(ink) == ["C", "E", "P", "W"]
    inner = {letter: mark.crop((3, 3, mark.width - 3, mark.height - 3)) for letter, mark in ink.items()}
    alike = {(a, b): compare_ink(inner[a], inner[b]) for a, b in combinations(inner, 2)}
    assert {pair: part for pair, part in alike.items() if part < UNLIKE} == {}


@pytest.mark.parametrize("way", WAYS)
def test_a_mark_looks_the_same_wherever_it_stands(browser: Browser, marked: eyes.Place, way: str) -> None:
    """In the list and in the margin one state has one mark; so what sets two states apart is not where they stand."""
    for page in visit_in(browser, marked, way, "service.html"):
        for key in get_args(State):
            first, second = page.locator(f"main .state.{key} .stroke").all()[:2]
            assert compare_ink(take_ink(first), take_ink(second)) < ALIKE, key


WORDLESS = """() => {
    const seen = e => { const box = e.getBoundingClientRect(); return box.width > 1 && box.height > 1; };
    const words = e => e ? e.textContent.trim() : '';
    const found = [];
    for (const mark of document.querySelectorAll('svg.stroke')) {
        const word = mark.parentElement.querySelector('.word');
        if (!words(word) || !seen(word) || !seen(mark)) { found.push('a mark without its word'); continue; }
        const [a, b] = [mark.getBoundingClientRect(), word.getBoundingClientRect()];
        const apart = Math.max(a.left - b.right, b.left - a.right);
        if (apart < 0 || apart > a.width || a.bottom < b.top || a.top > b.bottom) found.push(words(word) + ': far off');
    }
    const meant = new Map();
    for (const one of document.querySelectorAll('.legend li, th .evidence')) {
        const letter = words(one.querySelector('.letter'));
        if (seen(one)) meant.set(letter, words(one).slice(letter.length).trim());
    }
    for (const letter of document.querySelectorAll('.letter[role]')) {
        const word = letter.getAttribute('title');
        if (!word) found.push(words(letter) + ' has no word');
        else if (meant.get(words(letter)) !== word) found.push(words(letter) + ' is in no legend');
    }
    return found;
}"""
"Strokes without a word beside them, and letters without a word for who hears the page or without a line in a legend."


def test_no_mark_without_its_word(browser: Browser, on_disk: eyes.Place, marked: eyes.Place) -> None:
    """Beside each stroke of a state stands its word, and each letter is in a legend of its page, in the same words."""
    for place in (on_disk, marked):
        with eyes.visiting(browser, place) as visit:
            for path in place.pages:
                page = visit.open(path)
                for width in (390, 1440):
                    page.set_viewport_size({"width": width, "height": 800})
                    visit.found += [f"{path} at {width} px: {what}" for what in page.evaluate(WORDLESS)]
            assert visit.found == []


@pytest.mark.parametrize(
    ("path", "gone", "told"),
    [
        ("faults.html", ".word", "a mark without its word"),
        ("service.html", "td .letter", "W has no word"),
        ("entries/2023-01-10-oil.html", ".legend", "W is in no legend"),
    ],
)
def test_what_is_missing_is_told(browser: Browser, marked: eyes.Place, path: str, gone: str, told: str) -> None:
    """The look above finds a word and a legend that were taken away."""
    for page in visit_in(browser, marked, "light", path):
        page.locator(gone).first.evaluate("e => e.matches('.letter') ? e.removeAttribute('title') : e.remove()")
        assert page.evaluate(WORDLESS) == [told]


def test_marks_are_heard_once(browser: Browser, marked: eyes.Place) -> None:
    """Whoever hears the page is told the word of a state and of a level, once, and neither stroke nor letter."""
    for page in visit_in(browser, marked, "light", "service.html"):
        assert page.locator(".due li", has_text="Grease").aria_snapshot().count("unknown") == 1
        assert page.locator("tr", has_text="20 December 2023").locator("td").last.aria_snapshot().splitlines() == [
            '- cell "on paper":',
            '  - link "on paper":',
            "    - /url: papers/bill.pdf",
            '    - img "on paper": P',  # what is inside an image is not heard (WAI-ARIA 1.2, 5.2.8)
        ]
        assert page.locator("tr", has_text="10 January 2023").locator("td").last.aria_snapshot() == (
            '- cell "owner\'s word":\n  - img "owner\'s word": W'
        )


@pytest.mark.parametrize("width", [390, 1440])
def test_a_letter_that_leads_to_a_paper_can_be_hit(browser: Browser, marked: eyes.Place, width: int) -> None:
    """Letters that are links break no rule of axe-core, that of the smallest target (WCAG 2.2, SC 2.5.8) among them."""
    assert eyes.find_barriers(browser, marked, "light", width) == []


def test_marks_grow_with_the_text(browser: Browser, marked: eyes.Place) -> None:
    """Where text is twice its size, so are strokes and letters (WCAG 2.2, SC 1.4.4), and nothing leaves the window."""
    for page in visit_in(browser, marked, "light", "service.html"):
        marks = (".state.overdue .stroke", ".legend .letter")
        before = [page.locator(mark).first.bounding_box() for mark in marks]
        size = page.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)")
        page.evaluate("size => { document.documentElement.style.fontSize = size + 'px'; }", 2 * size)
        after = [page.locator(mark).first.bounding_box() for mark in marks]
        for old, new in zip(before, after, strict=True):
            assert old is not None and new is not None
            assert new["height"] == pytest.approx(2 * old["height"], rel=0.1)
        assert page.evaluate(eyes.STICKING_OUT) is None
