"""The example's site, page by page: valid, linked, quiet, readable and printable, in every theme.

test_instruments.py shows that each of these looks finds the fault that it is for.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser

from tests.browser import eyes, files
from tests.browser.conftest import ALL_LOOKS


def test_there_is_something_to_look_at(site: Path) -> None:
    """Each theme makes pages of every kind from the example, and every page is reached from the front page."""
    pages = [str(page.relative_to(site)) for page in files.list_pages(site)]
    assert {"index.html", "timeline.html", "costs.html", "parts.html", "faults.html", "service.html"} <= set(pages)
    assert len([page for page in pages if page.startswith("entries/")]) >= 10
    assert files.find_orphans(site) == []


def test_every_page_is_valid(site: Path) -> None:
    """HTML pages and pictures drawn in SVG pass the Nu Html Checker (npm vnu-jar 26.9.27) without error or warning."""
    assert files.find_markup_errors([*files.list_pages(site), *site.rglob("*.svg")]) == []


def test_every_stylesheet_is_valid(site: Path) -> None:
    """Style sheets pass the Nu Html Checker."""
    assert files.find_markup_errors(site.rglob("*.css")) == []


def test_every_link_leads_somewhere(site: Path) -> None:
    """Links are relative and lead to a file, and to an anchor in it where they name one."""
    assert files.find_broken_links(site) == []


def test_the_policy_stands_first(site: Path) -> None:
    """A policy in a meta element covers only what comes after it (CSP Level 3, section 3.3)."""
    assert files.find_late_policies(site) == []


def test_pictures_keep_their_room(site: Path) -> None:
    """Every picture has its width and height in the page, so that nothing moves while it loads."""
    assert files.find_unsized_pictures(site) == []


def test_pages_with_photos_know_their_grounds(site: Path) -> None:
    """A page with pictures links the sheet of their grounds; the service history has none, and does not."""
    texts = {page: page.read_text(encoding="utf-8") for page in files.list_pages(site)}
    shown = [page for page, text in texts.items() if 'class="tone-' in text]
    assert shown and [page for page in shown if "theme/tones.css" not in texts[page]] == []
    assert "theme/tones.css" not in texts[site / "service.html"]


def test_words_stand_apart(site: Path) -> None:
    """Between two pieces of a line stands a blank, for the eye and for who hears it."""
    assert files.find_glued_words(site) == []


def test_nothing_is_said_twice_running(site: Path) -> None:
    """No row repeats itself, and no figure's value its name."""
    assert files.find_said_twice(site) == []


def test_quiet_from_a_disk(browser: Browser, on_disk: eyes.Place) -> None:
    """Opened from a folder, no page breaks its own policy, misses a file, or asks another host."""
    assert eyes.find_noise(browser, on_disk) == []


def test_quiet_below_a_path(browser: Browser, on_host: eyes.Place) -> None:
    """Served below a path of a host, no page misses a file or asks for one outside that path."""
    assert eyes.find_noise(browser, on_host) == []


LOOKS = [("light", 1440), ("dark", 390), *([("dark", 1440), ("light", 390)] if ALL_LOOKS else [])]
"Both schemes of colours, and both ways in which a page is laid out; each with each before a release, by hand."


@pytest.mark.parametrize(("scheme", "width"), LOOKS)
def test_no_barriers(browser: Browser, on_disk: eyes.Place, scheme: Literal["light", "dark"], width: int) -> None:
    """No rule of axe-core for WCAG 2.2 AA or good practice is broken, with every fold opened."""
    assert eyes.find_barriers(browser, on_disk, scheme, width=width) == []


def test_dark_is_dark(browser: Browser, on_disk: eyes.Place) -> None:
    """The two colour schemes differ, so that looking at both means something."""
    assert eyes.read_ground(browser, on_disk, "light") != eyes.read_ground(browser, on_disk, "dark")


def test_no_sideways_scrolling(browser: Browser, on_disk: eyes.Place) -> None:
    """At 320 px (WCAG 2.2, SC 1.4.10 Reflow), 390 px and 1440 px no page is wider than the window.

    On a phone no table scrolls in its own box, and what can be pressed is 24 px high and wide (SC 2.5.8).
    """
    assert eyes.find_overflow(browser, on_disk, whole_tables=(320, eyes.PHONE)) == []


BROKEN = r"""() => {
    const broken = [], range = document.createRange();
    const names = ':is(.sums, .post, .look) > li > .what, .sums summary .what, .lines .what';
    const boxes = `main :is(h3, .words, ${names}, .amount, td.n)`;
    for (const fold of document.querySelectorAll('details')) fold.open = true;
    for (const box of document.querySelectorAll(boxes)) {
        const texts = document.createTreeWalker(box, NodeFilter.SHOW_TEXT);
        while (texts.nextNode()) {
            const text = texts.currentNode;
            for (const word of text.data.matchAll(/\p{L}{2,10}|[\p{Sc}\d.,]+/gu)) {
                range.setStart(text, word.index);
                range.setEnd(text, word.index + word[0].length);
                if (new Set([...range.getClientRects()].map(line => line.top)).size > 1) broken.push(word[0]);
            }
        }
    }
    return broken;
}"""
"Words of up to ten letters, and figures, that stand on two lines."


@pytest.mark.parametrize(("width", "letters"), [(320, "100%"), (eyes.PHONE, "200%")])
def test_no_word_or_figure_is_broken(browser: Browser, on_disk: eyes.Place, width: int, letters: str) -> None:
    """On the narrowest phone, and on one where letters are twice as large (WCAG 2.2, SC 1.4.4 Resize Text)."""
    with eyes.visiting(browser, on_disk, viewport={"width": width, "height": 800}) as visit:
        for path in ("index.html", "timeline.html", "costs.html", "faults.html"):
            page = visit.open(path)
            page.evaluate("size => { document.documentElement.style.fontSize = size }", letters)
            if broken := page.evaluate(BROKEN):
                visit.tell(f"broken: {broken[:5]}")
        assert visit.found == []


def test_reads_without_scripts(browser: Browser, on_disk: eyes.Place) -> None:
    """With scripts off, every word of a page's main part can be read."""
    assert eyes.find_unread_text(browser, on_disk) == []


def test_one_tab_is_marked_in_forced_colours(browser: Browser, on_disk: eyes.Place) -> None:
    """Where the reader's own colours replace all others, only the current tab is underlined (CSS Color Adjust, 3)."""
    with eyes.visiting(browser, on_disk, forced_colors="active", viewport={"width": 1280, "height": 800}) as visit:
        page = visit.open("costs.html")
        assert page.evaluate("matchMedia('(forced-colors: active)').matches")
        tabs = page.locator(".top nav a")
        # No line at all: one in the colour of the ground would cut the rule that runs below the tabs.
        widths = tabs.evaluate_all("tabs => tabs.map(tab => getComputedStyle(tab).borderBottomWidth)")
        current = tabs.evaluate_all("tabs => tabs.map(tab => tab.hasAttribute('aria-current'))")
        assert [width != "0px" for width in widths] == current
        assert sum(current) == 1


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_prints(browser: Browser, on_disk: eyes.Place, paper: Literal["A4", "Letter"]) -> None:
    """A page prints with its heading and fits the width of the paper; `test_paper` reads the sheets of all."""
    assert eyes.find_unprintable(browser, on_disk, paper) == []
