"""What axe-core cannot see: a walk by keyboard alone, and text of twice the size."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.browser import eyes
from tests.chromium import start_with

ENTRY = "entries/2024-03-02-lift-pump-in.html"

FOCUSED = """() => {
    const e = document.activeElement;
    if (!e || e === document.body) return null;
    const box = e.getBoundingClientRect(), style = getComputedStyle(e);
    const seen = box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth;
    const labels = ['aria-label', 'aria-labelledby'].map(a => e.getAttribute(a));
    labels.push(e.innerText, e.labels?.[0]?.innerText);
    const alternatives = [...e.querySelectorAll('img')].map(i => i.alt);
    return {
        at: [...document.querySelectorAll('*')].indexOf(e),
        what: `${e.tagName} ${(e.innerText || '').slice(0, 30)}`,
        seen,
        ringed: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2,
        named: [...labels, ...alternatives].some(name => name && name.trim()),
    };
}"""
"What has the focus: its place in the page, whether it and its ring can be seen, and whether it has a name."

MOST_STEPS = 400


def walk(page: Page) -> list[dict[str, Any]]:
    """All that the tabulator key comes to, in order, once around."""
    found: list[dict[str, Any]] = []
    for _ in range(MOST_STEPS):
        page.keyboard.press("Tab")
        focused = page.evaluate(FOCUSED)
        if focused is None or (found and focused["at"] == found[0]["at"]):
            return found
        found.append(focused)
    raise AssertionError(f"no end after {MOST_STEPS} steps, at {found[-1]}")


@pytest.mark.parametrize(("path", "width"), [("index.html", 390), (ENTRY, 1440)])
def test_a_keyboard_comes_everywhere(browser: Browser, on_disk: eyes.Place, path: str, width: int) -> None:
    """Every stop is seen, has a ring and a name, and comes after the one before; the walk ends (WCAG 2.2, SC 2.1.2,
    2.4.3, 2.4.7, 4.1.2). The first is the link that skips to the main part."""
    with eyes.visiting(browser, on_disk, viewport={"width": width, "height": 844}) as visit:
        page = visit.open(path)
        stops = walk(page)
        assert stops[0]["what"] == "A Skip to main content"
        assert [stop["what"] for stop in stops if not (stop["seen"] and stop["ringed"] and stop["named"])] == []
        places = [stop["at"] for stop in stops]
        assert places == sorted(places)
        links = page.evaluate("[...document.links].filter(e => e.checkVisibility() && e.tabIndex >= 0).length")
        assert len(stops) >= links
        page.locator(".skip").focus()
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "main"


def test_text_of_twice_the_size_has_room(browser: Browser, on_disk: eyes.Place) -> None:
    """Letters twice as large widen no page of 1280 px (WCAG 2.2, SC 1.4.4), nor one of half of that, nor a phone's."""
    with eyes.visiting(browser, on_disk) as visit:
        for path in ("index.html", "costs.html", "service.html", ENTRY):
            page = visit.open(path)
            page.evaluate(
                "() => { const s = new CSSStyleSheet(); s.replaceSync('html { font-size: 200% !important }');"
                " document.adoptedStyleSheets = [s];"
                " document.querySelectorAll('details').forEach(d => d.open = true); }"
            )
            for width in (1280, 640, eyes.PHONE):
                page.set_viewport_size({"width": width, "height": 844})
                wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
                assert wide <= 0, (path, width)


def test_large_letters_on_a_small_phone_break_no_figure(browser: Browser, on_disk: eyes.Place) -> None:
    """At 320 px, with the reader's own letters twice as large, each amount stands on a line and no page is wider."""
    with (
        start_with(browser.browser_type, "--blink-settings=defaultFontSize=32") as large,
        eyes.visiting(large, on_disk, viewport={"width": 320, "height": 800}) as visit,
    ):
        for path in on_disk.pages:
            page = visit.open(path)
            assert page.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)") >= 32
            visit.found += [f"{path}: {figure}" for figure in page.evaluate(eyes.BROKEN_FIGURES)]
            if page.evaluate("document.documentElement.scrollWidth") > 320:
                visit.found.append(f"{path}: wider than the window")
        assert visit.found == []
