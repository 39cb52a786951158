"""What a reader meets in a real browser: the console, the network, the page's width, its text, its accessibility.

Each `find_…` opens pages and returns one line for each thing that is wrong, `page: what`; an empty list is a pass.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal
from urllib.parse import unquote

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request, Response, Route

PHONE = 390
WIDTHS = (320, PHONE, 1440)
"CSS pixels: the narrowest that WCAG 2.2 SC 1.4.10 asks for, a phone, a desk."

NEVER_MS = 600_000
"What has not come by then never will; on a busy machine everything else takes as long as it takes."

AXE_TAGS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
"Rules of axe-core that stand for WCAG 2.2 level AA, and its own good practice; `wcag22aa` is off unless named."

AXE_OPTIONS = {
    "runOnly": {"type": "tag", "values": list(AXE_TAGS)},
    "resultTypes": ["violations"],
    "preload": False,  # it would fetch the style sheets, which the pages' policy forbids
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a published site can be reached: a folder on disk, or a path on a host."""

    base: str
    "URL of the folder, with the last `/`"
    pages: tuple[str, ...]
    "each page's path below it"


@dataclass(slots=True)
class Visit:
    """One browser context and what went wrong in it, requests out of the site too (`start_chromium` lets none out)."""

    context: BrowserContext
    page: Page
    place: Place
    at: str = ""
    found: list[str] = field(default_factory=list)

    def tell(self, what: str) -> None:
        self.found.append(f"{self.at}: {what}")

    def open(self, path: str) -> Page:
        self.at = path
        self.page.goto(self.place.base + path, wait_until="load")
        return self.page


@contextmanager
def visiting(browser: Browser, place: Place, **options: Any) -> Iterator[Visit]:
    """A context on a place that hears the console, failing scripts, failing requests and those out of the site."""
    context = browser.new_context(**options)
    context.set_default_timeout(NEVER_MS)
    page = context.new_page()
    visit = Visit(context, page, place)
    _listen(visit)
    try:
        yield visit
    finally:
        context.close()


def _listen(visit: Visit) -> None:
    def hear(said: ConsoleMessage) -> None:
        if said.type in ("error", "warning"):
            visit.tell(f"console: {said.text}")

    def receive(answer: Response) -> None:
        if answer.status >= 400:
            visit.tell(f"{answer.status}: {answer.url}")

    def ask(request: Request) -> None:
        if not request.url.startswith(visit.place.base):
            visit.tell(f"leaves the site: {request.url}")

    def miss(request: Request) -> None:
        if request.failure != "net::ERR_ABORTED":  # the next page was opened before the icon of this one had come
            visit.tell(f"failed: {request.url}")

    visit.page.on("console", hear)
    visit.page.on("pageerror", lambda error: visit.tell(f"script: {error}"))
    visit.page.on("requestfailed", miss)
    visit.page.on("response", receive)
    visit.page.on("request", ask)


def find_noise(browser: Browser, place: Place) -> list[str]:
    """Console errors and warnings, policy violations, failed loads, and requests that leave the site.

    Pictures that wait for the reader to come near are loaded at once, and have to show.
    """
    with visiting(browser, place) as visit:
        for path in place.pages:
            page = visit.open(path)
            page.evaluate("for (const p of document.images) p.loading = 'eager'")
            page.evaluate("Promise.all([...document.images].map(p => p.decode().catch(() => 0)))")
            broken = page.evaluate("[...document.images].filter(p => !p.naturalWidth).map(p => p.currentSrc || p.src)")
            for source in broken:
                visit.tell(f"picture does not show: {source}")
        return visit.found


def find_overflow(
    browser: Browser, place: Place, widths: Sequence[int] = WIDTHS, whole_tables: Sequence[int] = (PHONE,)
) -> list[str]:
    """Pages that have to be scrolled sideways at one of the widths, with the elements that stick out.

    At the widths `whole_tables` also tables that scroll in a box of their own, and on a phone targets that are too
    small for a finger.
    """
    with visiting(browser, place) as visit:
        for path in place.pages:
            page = visit.open(path)
            for width in widths:
                page.set_viewport_size({"width": width, "height": 800})
                _tell_overflow(visit, width)
                if width in whole_tables:
                    _tell_scrolling(visit, width)
                if width == PHONE:
                    _tell_missed(visit)
        return visit.found


def _tell_scrolling(visit: Visit, width: int) -> None:
    visit.page.evaluate("for (const d of document.querySelectorAll('details')) d.open = true")
    for table in visit.page.evaluate(SCROLLING):
        visit.tell(f"table scrolls at {width} px: {table}")


def _tell_missed(visit: Visit) -> None:
    visit.page.evaluate("for (const d of document.querySelectorAll('details')) d.open = true")
    if small := visit.page.evaluate(SMALL_TARGETS):
        visit.tell(f"small targets ({len(small)}): {'; '.join(small[:3])}")


SCROLLING = """() => [...document.querySelectorAll('table')].map(t => t.parentElement)
    .filter(box => box.scrollWidth > box.clientWidth + 1)
    .map(box => `${box.getAttribute('aria-label') || box.innerText.slice(0, 40)}, ${box.scrollWidth} px`)"""


STICKING_OUT = """() => {
    const room = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth <= room) return null;
    const out = [...document.body.querySelectorAll('*')].filter(e => e.getBoundingClientRect().right > room + 0.5);
    const name = e => [e.tagName.toLowerCase(), ...e.classList].join('.');
    return out.slice(0, 5).map(e => name(e) + ' to ' + Math.round(e.getBoundingClientRect().right));
}"""


def _tell_overflow(visit: Visit, width: int) -> None:
    out = visit.page.evaluate(STICKING_OUT)
    if out is not None:
        visit.tell(f"wider than {width} px: {', '.join(out)}")


BROKEN_FIGURES = """() => {
    const found = [], texts = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) {
        const text = texts.currentNode, around = text.parentElement;
        if (!around.checkVisibility() || around.closest('svg, .scroll > table:not(.stacked)')) continue;
        for (const figure of text.data.matchAll(/[−£]*[0-9][0-9.,]*[0-9]/g)) {
            const range = document.createRange();
            range.setStart(text, figure.index);
            range.setEnd(text, figure.index + figure[0].length);
            const lines = new Set([...range.getClientRects()].filter(box => box.width).map(box => Math.round(box.top)));
            if (lines.size > 1) found.push(figure[0]);
        }
    }
    return found;
}"""
"The figures that begin on one line and end on the next, but for tables that scroll."

SMALL_TARGETS = r"""() => {
    const LEAST = 24, found = [];
    const name = e => [e.tagName.toLowerCase(), ...e.classList].join('.');
    const path = e => [e.parentElement.parentElement, e.parentElement, e].map(name).join(' > ');
    // In a sentence the height of the line decides (WCAG 2.2, SC 2.5.8, "Inline").
    const inSentence = e => getComputedStyle(e).display === 'inline'
        && [...e.parentElement.childNodes].some(n => n.nodeType === Node.TEXT_NODE && /[\p{L}\p{N}]/u.test(n.data));
    for (const e of document.querySelectorAll('a[href], button, input, select, summary')) {
        const box = e.getBoundingClientRect();
        const hidden = getComputedStyle(e).visibility === 'hidden' || box.right < 0 || box.bottom < 0;
        if (!box.width || !box.height || hidden || inSentence(e)) continue;
        // What a target holds is part of it, as a picture of a link that is not as high as its line.
        const boxes = [box, ...[...e.querySelectorAll('*')].map(i => i.getBoundingClientRect())];
        const width = Math.max(...boxes.map(b => b.right)) - Math.min(...boxes.map(b => b.left));
        const height = Math.max(...boxes.map(b => b.bottom)) - Math.min(...boxes.map(b => b.top));
        if (width < LEAST - 0.5 || height < LEAST - 0.5) {
            found.push(`${path(e)} | ${width.toFixed(1)} × ${height.toFixed(1)} ${e.innerText.slice(0, 20)}`);
        }
    }
    return found;
}"""
"Targets less than 24 CSS pixels high or wide (WCAG 2.2, SC 2.5.8) that do not stand in a sentence."


def find_barriers(browser: Browser, place: Place, scheme: Literal["light", "dark"], width: int = 1440) -> list[str]:
    """Every violation that axe-core reports, with details opened, in one colour scheme."""
    size = {"width": width, "height": 900}
    with visiting(browser, place, color_scheme=scheme, viewport=size, reduced_motion="reduce") as visit:
        for path in place.pages:
            page = visit.open(path)
            page.evaluate("for (const d of document.querySelectorAll('details')) d.open = true")
            page.evaluate(AXE_SCRIPT)
            for violation in page.evaluate("options => axe.run(options)", AXE_OPTIONS)["violations"]:
                nodes = [f"{node['target']} {_first_reason(node)}" for node in violation["nodes"][:3]]
                visit.tell(f"{scheme}: {violation['id']} ({len(violation['nodes'])}): {'; '.join(nodes)}")
        return visit.found


def _first_reason(node: dict[str, Any]) -> str:
    reasons = [check["message"] for check in (*node["any"], *node["all"], *node["none"])]
    return reasons[0] if reasons else ""


WORDS = r"""shown => {
    const main = document.querySelector('main');
    if (!main) return null;
    if (shown) {
        for (const d of main.querySelectorAll('details')) d.open = true;
        return main.innerText;
    }
    const copy = main.cloneNode(true);
    for (const e of copy.querySelectorAll('script, template, svg title, svg desc, [hidden], option')) e.remove();
    return [...copy.querySelectorAll('*')].length ? copy.innerHTML : '';
}"""


def find_unread_text(browser: Browser, place: Place) -> list[str]:
    """Words of a page's main part that do not show with scripts off, and pages whose main part is empty then."""
    with visiting(browser, place, java_script_enabled=False) as visit:
        for path in place.pages:
            page = visit.open(path)
            source, shown = page.evaluate(WORDS, False), list_words(page.evaluate(WORDS, True))
            if source is None or not shown:
                visit.tell("nothing to read without scripts")
                continue
            # a drawing has its words twice: for a narrow window and for a wide one
            page.set_viewport_size({"width": 390, "height": 844})
            shown |= list_words(page.evaluate(WORDS, True))
            page.set_viewport_size({"width": 1280, "height": 720})
            missing = list_words(re.sub(r"<[^>]*>", " ", source)) - shown
            if missing:
                visit.tell(f"not shown without scripts: {' '.join(sorted(missing)[:10])}")
        return visit.found


def list_words(text: str) -> frozenset[str]:
    """The words of a text without regard to case; entities and punctuation left out."""
    plain = re.sub(r"&[#\w]+;|\u00ad|\u200b", " ", text)
    return frozenset(re.findall(r"[^\W_]{2,}", plain.casefold()))


def find_unprintable(browser: Browser, place: Place, paper: Literal["A4", "Letter"]) -> list[str]:
    """Pages that lose their heading in print, or are wider than the paper less 10 mm at each side."""
    width = {"A4": 210 - 20, "Letter": 216 - 20}[paper] * 96 / 25.4
    with visiting(browser, place, viewport={"width": int(width), "height": 900}) as visit:
        visit.page.emulate_media(media="print")
        for path in place.pages:
            page = visit.open(path)
            if not page.locator("h1").first.is_visible():
                visit.tell("no heading in print")
            _tell_overflow(visit, int(width))
        return visit.found


def read_ground(browser: Browser, place: Place, scheme: Literal["light", "dark"]) -> str:
    """The colour behind the front page's text, as the browser computes it."""
    with visiting(browser, place, color_scheme=scheme) as visit:
        page = visit.open("index.html" if "index.html" in place.pages else place.pages[0])
        colour: str = page.evaluate(
            "[document.body, document.documentElement].map(e => getComputedStyle(e).backgroundColor)"
            ".find(c => c !== 'rgba(0, 0, 0, 0)') || 'none'"
        )
        return colour


WATCH_SHIFTS = """
    window.shifts = [];
    const name = n => (n = n && (n.nodeType === 3 ? n.parentElement : n))
        ? [n.tagName.toLowerCase(), ...n.classList].join('.') : '?';
    new PerformanceObserver(list => list.getEntries().forEach(e => shifts.push(
        [e.value, e.sources.map(s => `${name(s.node)} ${s.previousRect.y} to ${s.currentRect.y}`).join(', ')])))
        .observe({type: 'layout-shift', buffered: true});
"""

PAINTED = """new Promise(done => new PerformanceObserver(done).observe({type: 'paint', buffered: true}))
    .then(() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done(0)))))"""

FIRST_LETTERS = ("/serif.woff2", "/sans.woff2")


def find_shifts(browser: Browser, root: Path, pages: Sequence[str], width: int, most: float) -> list[str]:
    """Pages that move by more than `most` in all (W3C, Layout Instability) as they come over a slow line.

    There the style sheets are long, and the letters of the first screen are asked for beside them: here no sheet comes
    before those letters. A page that asks for them only when it has its sheets is waited for in vain.
    """
    host = "http://log.test/"
    place = Place(base=host, pages=tuple(pages))
    with visiting(browser, place, viewport={"width": width, "height": 844}) as visit:
        page, held, come = visit.page, list[Route](), list[str]()

        def answer(route: Route) -> None:
            path = route.request.url.removeprefix(host).partition("?")[0]
            if path.endswith(".css") and len(come) < len(FIRST_LETTERS):
                held.append(route)
                return
            route.fulfill(path=root / unquote(path))
            if path.endswith(FIRST_LETTERS):
                come.append(path)
            if len(come) == len(FIRST_LETTERS):
                while held:
                    answer(held.pop())

        visit.context.route(f"{host}**", answer)
        page.add_init_script(WATCH_SHIFTS)
        for path in place.pages:
            come.clear()
            visit.open(path)
            page.evaluate("document.fonts.ready.then(() => 0)")
            page.evaluate(PAINTED)
            shifts = page.evaluate("shifts")
            if sum(value for value, _ in shifts) > most:
                visit.tell(f"moves at {width} px: " + "; ".join(f"{value:.4f} {what}" for value, what in shifts))
        return visit.found
