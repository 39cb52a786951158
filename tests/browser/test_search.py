"""The search in a real browser, from a disk and from a host: what it finds, by keyboard, and what it loads for it."""

from __future__ import annotations

import json
import sys
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote

import pytest
from playwright.sync_api import Browser, Page

from buildlog.text import fold_for_search, list_search_words
from tests.browser import eyes, files

LIFT_PUMP = "Lift pump"


@pytest.fixture(params=["disk", "host"])
def place(request: pytest.FixtureRequest, on_disk: eyes.Place, on_host: eyes.Place) -> eyes.Place:
    """The site opened from a folder, and from a host."""
    return on_disk if request.param == "disk" else on_host


@pytest.fixture
def page(browser: Browser, place: eyes.Place) -> Iterator[Page]:
    """A page one folder down, which no rule of its own policy lets down."""
    with eyes.visiting(browser, place, viewport={"width": 1280, "height": 800}) as visit:
        visit.open("entries/2024-03-02-lift-pump-in.html")
        yield visit.page
        assert visit.found == []


def search(page: Page, text: str) -> list[str]:
    """What is listed for a text, each with what stands beside it."""
    page.locator("#search").fill(text)
    page.wait_for_function(
        "text => { const box = document.querySelector('.found');"
        " return box && box.getAttribute('aria-busy') !== 'true' && box.querySelector('.status').textContent }",
        arg=text,
    )
    return page.locator(".found li").all_inner_texts()


def read_status(page: Page) -> str:
    return page.locator(".found .status").inner_text()


@pytest.mark.parametrize(
    "typed",
    [
        "ZP 2207-B",
        "zp2207b",
        "2207",
        "ZP.2207.B",
        "zp 2207 a",
        "ZP2207A",
        "zp2270b",
        "lift pump",
        "lfit pmup",
        "Zuiderkamp lift",
    ],
)
def test_a_part_is_found_however_it_is_spelt(page: Page, typed: str) -> None:
    """By its number with or without blanks, dots and dashes, by one that it supersedes, by a name with a slip."""
    assert any(row.startswith(f"{LIFT_PUMP} ") and "Part" in row for row in search(page, typed)), typed


@pytest.mark.parametrize(
    "typed", ["diaphragm", "diaphragn", "daiphragm", "xiaphragm", "iaphragm", "ddiaphragm", "DIAPH"]
)
def test_a_word_of_a_story_is_found_with_one_slip(page: Page, typed: str) -> None:
    """Letters exchanged, wrong, missing or too many, the first one too; and its beginning alone."""
    rows = search(page, typed)
    assert any("Entry" in row for row in rows), rows
    assert ("one letter changed" in read_status(page)) == (typed not in ("diaphragm", "DIAPH"))


def test_it_says_how_many_it_found(page: Page) -> None:
    """In a live region, and what it lists is as many."""
    rows = search(page, "compression")
    assert read_status(page) == f"{len(rows)} found."
    assert page.locator(".found .status").get_attribute("role") == "status"
    assert search(page, "qqqqq") == [] and read_status(page) == "Nothing found."


def test_nothing_is_loaded_before_it_is_used(browser: Browser, place: eyes.Place) -> None:
    """Neither its script nor its index; then the index, and one file of words."""
    with eyes.visiting(browser, place) as visit:
        loaded: list[str] = []
        visit.page.on("request", lambda request: loaded.append(request.url.removeprefix(place.base)))
        visit.open("index.html")
        assert not [url for url in loaded if "search" in url]
        search(visit.page, "pump")
        sought = [url for url in loaded if "search" in url]
        assert sought[:2] == ["theme/search.js", "search/index.js"] and len(sought) == 3


def test_a_keyboard_goes_from_the_field_to_what_was_found_and_back(page: Page) -> None:
    """Enter or the arrow leads to the first; Tab to the next; Escape empties the field."""
    search(page, "pump")
    page.keyboard.press("ArrowDown")
    first = page.locator(".found a").first
    assert first.evaluate("link => link === document.activeElement")
    page.keyboard.press("Tab")
    assert page.locator(".found a").nth(1).evaluate("link => link === document.activeElement")
    page.locator("#search").focus()
    page.keyboard.press("Escape")
    assert page.locator("#search").input_value() == "" and not page.locator(".found").is_visible()
    search(page, "zp2207b")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    page.wait_for_url("**/parts.html#part-*")


def test_every_link_that_it_lists_leads_somewhere(page: Page, place: eyes.Place, site: Path) -> None:
    """To a page that is there, and to an anchor that is on it."""
    anchors: dict[str, list[str]] = {}
    for typed in ("pump", "fuel", "oil", "hot start", "costs", "2024", "granbark"):
        search(page, typed)
        for href in page.locator(".found a").evaluate_all("links => links.map(link => link.href)"):
            path, _, anchor = href.removeprefix(place.base).partition("#")
            assert path in place.pages, href
            if anchor:
                # In the file, as no script makes an anchor: a page opened for each would take minutes.
                on_page = anchors.get(path) or anchors.setdefault(path, files.parse(site / path).xpath("//@id"))
                assert on_page.count(unquote(anchor)) == 1, href


def test_ten_thousand_letters_do_no_harm(page: Page) -> None:
    """It looks at the first of them, and says so."""
    search(page, "pump " * 2_000)
    assert "only the first 200 letters" in read_status(page)
    search(page, "x" * 10_000)
    assert read_status(page).startswith("Nothing found; only the first 200 letters")
    assert search(page, "lift pump")


@pytest.mark.parametrize("typed", ["<img src=x onerror=alert(1)>", "\\", "__proto__", "constructor", "(((", "%", "  "])
def test_what_is_typed_is_words(page: Page, typed: str) -> None:
    """Nothing of it is markup, a pattern or a name of JavaScript's own."""
    page.locator("#search").fill(typed)
    assert page.locator(".found img").count() == 0
    assert search(page, "lift pump")


def test_without_scripts_there_is_no_field(browser: Browser, on_disk: eyes.Place) -> None:
    """It would do nothing."""
    with eyes.visiting(browser, on_disk, java_script_enabled=False) as visit:
        assert visit.open("index.html").locator("input").count() == 0


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 390, 1440])
def test_results_are_no_barrier(browser: Browser, on_disk: eyes.Place, width: int, scheme: str) -> None:
    """No rule of axe-core is broken with a list of them open, and nothing sticks out of the window."""
    options = {"viewport": {"width": width, "height": 844}, "color_scheme": scheme}
    with eyes.visiting(browser, on_disk, **options) as visit:
        page = visit.open("index.html")
        search(page, "pump")
        page.evaluate(eyes.AXE_SCRIPT)
        broken = page.evaluate("options => axe.run(document, options)", eyes.AXE_OPTIONS)["violations"]
        assert [rule["id"] for rule in broken] == []
        assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_paper_has_no_field(browser: Browser, on_disk: eyes.Place) -> None:
    """Nobody types on it."""
    with eyes.visiting(browser, on_disk) as visit:
        page = visit.open("index.html")
        page.emulate_media(media="print")
        assert not page.locator("#search").is_visible()


def test_words_are_folded_as_in_the_index(browser: Browser, on_disk: eyes.Place) -> None:
    """Every character that this Python knows, alone and between others, folded and cut into words in both languages.

    Outside this project's own code: `str.lower` and `unicodedata` of Python, `toLowerCase`, `normalize` and `\\p{…}` of
    ECMAScript, both of the Unicode Character Database.
    """
    signs = [
        chr(code)
        for code in range(0x110000)
        if not 0xD800 <= code < 0xE000 and unicodedata.category(chr(code)) not in ("Cn", "Co")
    ]
    texts = [
        *signs,
        *("".join(signs[at : at + 7]) for at in range(0, len(signs), 7)),
        "Œuvre Straße Łódź ΣΊΣΥΦΟΣ ﬁlter İ",
    ]
    with eyes.visiting(browser, on_disk) as visit:
        page = visit.open("index.html")
        search(page, "pump")
        made = page.evaluate("texts => texts.map(text => [searchWords.fold(text), searchWords.split(text)])", texts)
    wrong = [
        (hex(ord(text[0])), ours, list(theirs))
        for text, theirs in zip(texts, made, strict=True)
        if (ours := [fold_for_search(text), list_search_words(text)]) != theirs
    ]
    assert wrong == [], f"Unicode {unicodedata.unidata_version}, Python {sys.version}, {json.dumps(wrong[:3])}"
