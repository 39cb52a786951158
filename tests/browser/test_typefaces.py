"""The letters that a site brings, in a real browser: they come, and when they come late nothing moves."""

from __future__ import annotations

from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from playwright.sync_api import Browser, Route

from buildlog import typefaces
from tests.browser import eyes

DEJAVU = {"Log Serif DejaVu": "DejaVuSerif.ttf", "Log Sans DejaVu": "DejaVuSans.ttf"}

WATCH = """() => {
    window.shifts = 0;
    new PerformanceObserver(list => { for (const e of list.getEntries()) window.shifts += e.value; })
        .observe({type: "layout-shift", buffered: true});
}"""

LOADED = """document.fonts.check('16px "Log Serif"')"""

MOST_SHIFT = 0.01
"Of a page, as the Layout Instability API counts it; 0.1 is called good there."


@pytest.mark.parametrize("name", DEJAVU)
def test_a_stand_in_is_as_wide_as_is_said(name: str) -> None:
    """The mean width that is written down for a font of systems is that of the font, as Debian has it."""
    (stand_in,) = [one for one in typefaces.STAND_INS if one.name == name]
    (path,) = Path("/usr/share/fonts").rglob(DEJAVU[name])
    with TTFont(path) as font:
        assert typefaces.measure_width(font) == pytest.approx(stand_in.width, abs=0.00006)
        assert typefaces.measure_width(font, "0123456789") == pytest.approx(stand_in.digits, abs=0.00006)


@pytest.mark.parametrize("width", [eyes.PHONE, 1440])
def test_nothing_moves_on_a_slow_line(browser: Browser, site: Path, width: int) -> None:
    """The letters are asked for beside the sheets, and a page that is first shown in them does not move."""
    by_size = sorted(site.rglob("*.html"), key=lambda path: path.stat().st_size)
    # of each folder the heaviest, and of the top all that bring letters
    pages = set({path.parent: path for path in by_size}.values()) | set(site.glob("*.html")) - {site / "404.html"}
    names = sorted(path.relative_to(site).as_posix() for path in pages)
    assert eyes.find_shifts(browser, site, names, width, MOST_SHIFT) == []


@pytest.mark.parametrize(
    ("path", "width"),
    [("index.html", 1440), ("costs.html", 390), ("entries/2024-03-02-lift-pump-in.html", 390)],
)
def test_nothing_moves_when_the_letters_come_late(browser: Browser, on_host: eyes.Place, path: str, width: int) -> None:
    """Fonts that come after the page was shown in the system's move its first screen by less than a hundredth."""
    waiting: list[Route] = []

    def hold(route: Route) -> None:
        waiting.append(route)

    with eyes.visiting(browser, on_host, viewport={"width": width, "height": 844}) as visit:
        visit.context.route("**/*.woff2", hold)
        page = visit.page
        page.add_init_script(f"({WATCH})()")
        page.goto(on_host.base + path, wait_until="domcontentloaded")
        # In promises: a page's policy lets nothing be evaluated again and again.
        page.evaluate("new Promise(done => new PerformanceObserver(done).observe({type: 'paint', buffered: true}))")
        page.evaluate(
            "Promise.all([...document.images].filter(i => i.loading !== 'lazy').map(i => i.decode().catch(() => 0)))"
        )
        assert not page.evaluate(LOADED)
        # Not `unroute`: with the last of its routes gone the browser lets everything go that was held.
        visit.context.route("**/*.woff2", Route.continue_)
        for route in waiting:
            route.continue_()
        page.evaluate("document.fonts.ready.then(() => 0)")
        page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
        assert page.evaluate(LOADED)
        assert page.evaluate("window.shifts") <= MOST_SHIFT
