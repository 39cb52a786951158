"""Photos in a real browser: large over their page by mouse and keys, plain links without scripts, nothing jumps."""

from __future__ import annotations

import functools
import re
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.server import ThreadingHTTPServer
from pathlib import Path
from typing import Any, Literal

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Browser, Page

from tests.browser import eyes
from tests.browser.conftest import QuietHandler, place_on_disk, publish
from tests.photos.test_intake import paint

ENTRY = "2024-05-18-pump"
PAGE = f"entries/{ENTRY}.html"
WORDS = ("", "Crack along the rim", "The pump on the bench", "A new seal")
"What the owner says of each photo, in the order of the page: the two in the story first."
NAMES = ("tall", "crack", "bench", "seal")
"What the owner calls their files, in the same order; the site does not."

STORY = """\
---
date: 2024-05-18
title: Pump
hours: 2
photos:
  - {file: bench.jpg, says: The pump on the bench}
  - {file: seal.jpg, says: A new seal}
  - {file: tall.jpg}
  - {file: crack.jpg, says: Crack along the rim}
---
Off it came.

![](tall.jpg)

And there it was.

![](crack.jpg)

"""
LATER = "---\ndate: 2024-05-{day}\ntitle: Later {day}\nphotos: {{file: a.jpg, says: Later}}\n---\nMore of it.\n"


LETTERS = "site: {type: system}\n"
"What moves when letters come is looked at in `test_typefaces`; here only pictures come."


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small log with photos lying, standing and small, in a story and below it."""
    log = tmp_path_factory.mktemp("photos") / "log"
    (log / "entries").mkdir(parents=True)
    (log / "log.yaml").write_text("machine: {name: M, meter: km}\nmoney: {currency: GBP}\n" + LETTERS)
    (log / f"entries/{ENTRY}.md").write_text(STORY + "It took a while.\n\n" * 12)
    sizes = {"bench": (2400, 1800), "seal": (300, 200), "tall": (1200, 1600), "crack": (1600, 900)}
    for seed, (name, size) in enumerate(sizes.items()):
        save(log / f"photos/{ENTRY}/{name}.jpg", seed, size)
    for day in range(20, 28):
        (log / f"entries/2024-05-{day}-later.md").write_text(LATER.format(day=day))
        save(log / f"photos/2024-05-{day}-later/a.jpg", day, (1600, 1200) if day % 2 else (900, 1600))
    return publish(log, log / "site")


def save(path: Path, seed: int, size: tuple[int, int]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    paint(seed, size).save(path)


@pytest.fixture(scope="module")
def disk(site: Path) -> eyes.Place:
    return place_on_disk(site)


@pytest.fixture
def visit(browser: Browser, disk: eyes.Place) -> Iterator[eyes.Visit]:
    """The entry's page from a disk, in a window of a desk; nothing may be said on its console meanwhile."""
    with eyes.visiting(browser, disk, viewport={"width": 1280, "height": 800}) as visit:
        visit.open(PAGE)
        yield visit
        assert visit.found == []


def read_view(page: Page) -> tuple[str, str, str]:
    """The large picture's file, its words, and which of how many it is, once it has come."""
    page.evaluate("document.querySelector('dialog[open] img').decode()")
    source = page.locator("dialog[open] img").evaluate("image => image.src")
    number = links(page).evaluate_all("links => links.map(link => link.href)").index(source)
    caption = page.locator("dialog .caption").text_content() or ""
    return f"{NAMES[number]}-{source.rpartition('-')[2]}", caption, page.locator("dialog .count").text_content() or ""


def links(page: Page) -> Any:
    return page.locator(".story-photo > a, .photos figure > a")


SEEN = [
    ("tall-1600.webp", WORDS[0], "1 of 4"),
    ("crack-1600.webp", WORDS[1], "2 of 4"),
    ("bench-1600.webp", WORDS[2], "3 of 4"),
    ("seal-300.webp", WORDS[3], "4 of 4"),
]


def test_a_click_opens_the_photo_large(visit: eyes.Visit) -> None:
    """The widest picture, its alternative text and its words, with the page behind out of reach; the address stays."""
    page = visit.page
    address = page.url
    links(page).nth(1).click()
    assert read_view(page) == SEEN[1]
    assert page.locator("dialog img").get_attribute("alt") == WORDS[1]
    box = page.locator("dialog").bounding_box()
    assert box == {"x": 0, "y": 0, "width": 1280, "height": 800}
    assert page.evaluate("document.querySelector('dialog').matches(':modal')")
    assert page.url == address


def test_arrow_keys_lead_through_all_and_round(visit: eyes.Visit) -> None:
    """Right to the next, left to the one before; behind the last comes the first."""
    page = visit.page
    links(page).first.focus()
    page.keyboard.press("Enter")
    assert read_view(page) == SEEN[0]
    for seen in (*SEEN[1:], SEEN[0]):
        page.keyboard.press("ArrowRight")
        assert read_view(page) == seen
    page.keyboard.press("ArrowLeft")
    assert read_view(page) == SEEN[3]
    page.keyboard.press("Shift+ArrowLeft")
    assert read_view(page) == SEEN[3], "a key that is held with another one is not ours"


def test_buttons_have_words_and_work(visit: eyes.Visit) -> None:
    """Previous, Next and Close, by name, reached by Tab, each at least 24 pixels (WCAG 2.2, SC 2.5.8)."""
    page = visit.page
    links(page).nth(2).click()
    page.get_by_role("button", name="Next", exact=True).click()
    assert read_view(page) == SEEN[3]
    page.get_by_role("button", name="Previous", exact=True).click()
    assert read_view(page) == SEEN[2]
    for name in ("Previous", "Next", "Close"):
        box = page.get_by_role("button", name=name, exact=True).bounding_box()
        assert box and box["width"] >= 24 and box["height"] >= 24
    page.keyboard.press("Tab")
    page.get_by_role("button", name="Close", exact=True).click()
    page.locator("dialog").wait_for(state="hidden")


REOPEN = """() => new Promise(told => {
  const dialog = document.querySelector("dialog");
  let back = false;
  history.back = () => { back = true; };
  dialog.addEventListener("close", () => told([dialog.open, back]));
  history.replaceState(null, "");
  dialog.close();
  document.querySelectorAll(".photos figure > a, .story-photo > a")[1].click();
})"""
"Closes the view and opens another photo before the browser tells of the closing; whether that one stays open."


def test_a_photo_opened_at_once_after_closing_stays_open(visit: eyes.Visit) -> None:
    """The news that the view was closed comes late; it is about the photo before, and closes nothing."""
    page = visit.page
    links(page).nth(0).click()
    assert page.evaluate(REOPEN) == [True, False]


@pytest.mark.parametrize("way", ["Escape", "Enter", "button"])
def test_closing_leads_back_to_where_it_was_opened(way: str, visit: eyes.Visit) -> None:
    """Focus stands on Close while it is open, so Enter closes it too; then on the link, whatever was looked at."""
    page = visit.page
    links(page).nth(2).focus()
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.textContent") == "Close"
    page.keyboard.press("ArrowRight")
    if way == "button":
        page.get_by_role("button", name="Close").click()
    else:
        page.keyboard.press(way)
    page.locator("dialog").wait_for(state="hidden")
    assert links(page).nth(2).evaluate("link => link === document.activeElement")
    page.keyboard.press("Enter")
    assert read_view(page) == SEEN[2]


@pytest.mark.parametrize("way", ["back", "button", "Escape"])
def test_going_back_closes_the_photo_and_stays(way: str, visit: eyes.Visit) -> None:
    """However it is closed, and whatever was looked at: the entry is shown, and one step back is where one came from.

    Going forward opens the photo again, as it would a page.
    """
    page = visit.page
    visit.open("timeline.html")
    visit.open(PAGE)
    links(page).nth(2).click()
    page.keyboard.press("ArrowRight")
    assert read_view(page) == SEEN[3]
    if way == "back":
        page.go_back()
    elif way == "button":
        page.get_by_role("button", name="Close", exact=True).click()
    else:
        page.keyboard.press(way)
    page.locator("dialog").wait_for(state="hidden")
    assert page.url.endswith(PAGE)
    page.go_forward()
    assert read_view(page) == SEEN[3]
    page.go_back()
    page.locator("dialog").wait_for(state="hidden")
    page.go_back()
    page.wait_for_url("**/timeline.html")


def test_focus_stays_inside(visit: eyes.Visit) -> None:
    """Tab goes through the three buttons and never to the page behind."""
    page = visit.page
    links(page).first.click()
    focused = set()
    for _ in range(8):
        page.keyboard.press("Tab")
        focused.add(
            page.evaluate(
                "document.activeElement.closest('dialog') || document.activeElement === document.body"
                " ? document.activeElement.textContent.slice(0, 20) : 'outside'"
            )
        )
    assert "outside" not in focused
    assert {"Previous", "Next", "Close"} <= focused


def test_a_new_tab_is_still_the_readers(visit: eyes.Visit) -> None:
    """A click with Control opens the plain picture in another tab, as any link does."""
    page = visit.page
    with visit.context.expect_page() as other:
        links(page).first.click(modifiers=["Control"])
    assert other.value.url == links(page).first.evaluate("link => link.href")
    assert page.locator("dialog").count() == 0


def test_one_photo_has_no_next(browser: Browser, disk: eyes.Place) -> None:
    """Where there is one alone, nothing is counted and nothing leads on."""
    with eyes.visiting(browser, disk) as visit:
        page = visit.open("entries/2024-05-20-later.html")
        links(page).first.click()
        page.keyboard.press("ArrowRight")
        assert read_view(page)[1:] == ("Later", "1 of 1")
        assert not page.locator("dialog .count").is_visible()
        assert page.locator("dialog button:visible").all_text_contents() == ["Close"]
        assert visit.found == []


def test_without_script_the_link_opens_the_picture(browser: Browser, disk: eyes.Place) -> None:
    """The plain link leads to the widest picture, which shows."""
    with eyes.visiting(browser, disk, java_script_enabled=False) as visit:
        page = visit.open(PAGE)
        links(page).nth(2).click()
        page.wait_for_url("**/photos/2024-05-18-pump/*-1600.webp")
        assert page.evaluate("document.images[0].naturalWidth") == 1600


@pytest.mark.parametrize("width", [320, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_barriers_while_it_is_open(
    browser: Browser, disk: eyes.Place, scheme: Literal["light", "dark"], width: int
) -> None:
    """axe-core, WCAG 2.2 AA and good practice, over the open view; and nothing is wider than the window."""
    size = {"width": width, "height": 640}
    with eyes.visiting(browser, disk, color_scheme=scheme, viewport=size, reduced_motion="reduce") as visit:
        page = visit.open(PAGE)
        links(page).nth(1).click()
        assert read_view(page) == SEEN[1]
        page.evaluate(AXE_SCRIPT)
        found = page.evaluate("options => axe.run(options)", eyes.AXE_OPTIONS)["violations"]
        assert [(one["id"], [node["target"] for node in one["nodes"]]) for one in found] == []
        assert page.evaluate("document.querySelector('dialog').scrollWidth") <= width
        assert page.evaluate("document.getAnimations().length") == 0
        assert visit.found == []


def test_small_pictures_are_not_blown_up(visit: eyes.Visit) -> None:
    """The room is the window's, but a picture of 300 pixels is shown with 300."""
    page = visit.page
    links(page).nth(3).click()
    read_view(page)
    assert page.locator("dialog img").evaluate("image => getComputedStyle(image).objectFit") == "scale-down"
    room = page.locator("dialog .sheet").bounding_box()
    assert room and room["width"] > 1000 and room["height"] > 400


def test_paper_shows_the_page_and_not_the_view(visit: eyes.Visit) -> None:
    """Printed while a photo is open, the entry comes out."""
    page = visit.page
    links(page).first.click()
    page.emulate_media(media="print")
    assert not page.locator("dialog").is_visible()
    assert page.locator("h1").is_visible()


# ── nothing moves while pictures come ────────────────────────────────────────────────────────────────────────────

WATCH = """
window.shifts = [];
window.note = list => list.forEach(one => window.shifts.push(one.value));
window.watch = new PerformanceObserver(list => window.note(list.getEntries()));
window.watch.observe({type: 'layout-shift', buffered: true});
"""
"Layout Instability (W3C draft): every shift counts here, those after an input too."
SHIFTS = "() => { window.note(window.watch.takeRecords()); return window.shifts; }"
FRAMES = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"
"Two frames from now everything that was asked of the page so far is laid out and painted (HTML, 8.1.7.3)."


@dataclass(frozen=True, slots=True)
class Host:
    """A host that holds every picture back while it is told to."""

    place: eyes.Place
    let_through: threading.Event

    @contextmanager
    def holding_pictures(self, page: Page) -> Iterator[None]:
        """What is done in the block is laid out before any picture comes."""
        self.let_through.clear()
        try:
            yield
            page.evaluate(FRAMES)
        finally:
            self.let_through.set()


def serve(folder: Path, pages: tuple[str, ...]) -> Iterator[Host]:
    let_through = threading.Event()

    class Handler(QuietHandler):
        def do_GET(self) -> None:
            if "/photos/" in self.path:
                let_through.wait()
            super().do_GET()

    with ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Handler, directory=str(folder))) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield Host(eyes.Place(base=f"http://127.0.0.1:{server.server_port}/", pages=pages), let_through)
        let_through.set()
        server.shutdown()
        thread.join()


@pytest.fixture(scope="module")
def slow(site: Path, disk: eyes.Place) -> Iterator[Host]:
    yield from serve(site, disk.pages)


@pytest.fixture(scope="module")
def unsized(site: Path, disk: eyes.Place, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Host]:
    """The same site without the sizes of its pictures."""
    copy = tmp_path_factory.mktemp("unsized") / "site"
    shutil.copytree(site, copy)
    for page in copy.rglob("*.html"):
        page.write_text(re.sub(r' (width|height)="\d+"', "", page.read_text()))
    yield from serve(copy, disk.pages)


def measure_shift(browser: Browser, host: Host, path: str, width: int) -> float:
    """The sum of all layout shifts of a page that is read from top to bottom, each part before its pictures come."""
    with eyes.visiting(browser, host.place, viewport={"width": width, "height": 700}) as visit:
        page = visit.page
        page.add_init_script(WATCH)
        with host.holding_pictures(page):
            page.goto(host.place.base + path, wait_until="domcontentloaded")
        while not page.evaluate("scrollY + innerHeight >= document.documentElement.scrollHeight - 2"):
            with host.holding_pictures(page):
                page.evaluate("scrollBy({top: 500, behavior: 'instant'})")
            page.evaluate(FRAMES)
        wait_for_pictures(page)
        assert visit.found == []
        return float(sum(page.evaluate(SHIFTS)))


def wait_for_pictures(page: Page) -> None:
    """Until every picture shows; asked from outside, as the page's policy lets no text be run in it."""
    while not page.evaluate("[...document.images].every(image => image.complete)"):
        page.evaluate(FRAMES)
    assert page.evaluate("document.images.length") >= 1
    assert page.evaluate("[...document.images].every(image => image.naturalWidth)"), "a picture did not come"
    page.evaluate(FRAMES)


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("path", ["index.html", PAGE])
def test_nothing_moves_while_pictures_come(browser: Browser, slow: Host, path: str, width: int) -> None:
    """Read from top to bottom over a slow line, the sum of layout shifts is 0."""
    assert measure_shift(browser, slow, path, width) == 0


def test_a_shift_would_be_seen(browser: Browser, unsized: Host) -> None:
    """With the sizes taken out of the same page, text is pushed down; the front page has shapes in CSS."""
    assert measure_shift(browser, unsized, PAGE, 1280) > 0.01


def test_nothing_moves_when_a_photo_opens_slowly(browser: Browser, slow: Host) -> None:
    """Neither the view nor the page behind it, while the large pictures come and after it is closed."""
    slow.let_through.set()
    with eyes.visiting(browser, slow.place, viewport={"width": 1280, "height": 800}) as visit:
        visit.page.add_init_script(WATCH)
        page = visit.open(PAGE)
        with slow.holding_pictures(page):
            links(page).first.click()
        read_view(page)
        with slow.holding_pictures(page):
            page.keyboard.press("ArrowRight")
        read_view(page)
        page.keyboard.press("Escape")
        page.evaluate(FRAMES)
        assert page.evaluate(SHIFTS) == []
