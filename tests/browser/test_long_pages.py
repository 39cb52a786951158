"""A log that is too long for one page of anything, looked at page by page like the example: one page of each kind."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.bench.make_log import make_log
from tests.browser import eyes, files
from tests.browser.conftest import place_on_disk, publish
from tests.browser.test_paper import print_sheets

ENTRIES = 130
"About a year of them, each with four lines of money and three parts."

COMPONENTS = """\
components:
  pump: {system: fuel, name: Lift pump, check_hours: 0.3}
  hose: {system: fuel, name: Hose, check_hours: 0.1}
"""
FAULTS = """\
faults: {{fault: stalls-{n}, name: Stalls for the {n}th time, suspects: [pump, hose]}}
checks: {{fault: stalls-{n}, did: Swapped the hose, clears: [hose], hours: 0.2}}
temporary: {{what: A clamp round hose {n}, name: clamp-{n}, until: a new hose comes}}
"""


@pytest.fixture(scope="module")
def long_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The benchmark's log, published."""
    top = tmp_path_factory.mktemp("long")
    make_log(top / "log", ENTRIES)
    # Three for one more page of each kind: a renamed entry, and many faults.
    entry = next(iter(sorted((top / "log/entries").iterdir())))
    entry.write_text(entry.read_text().replace("date:", "was: 2020-01-01-first-name\ndate:", 1))
    for n in range(60):
        day = f"2020-02-{1 + n % 28:02}"
        text = f"---\ndate: {day}\ntitle: It stalls again\nsystems: [fuel]\n{FAULTS.format(n=n)}---\nA word.\n"
        (top / f"log/entries/{day}-stalls-{n}.md").write_text(text)
    settings = top / "log/log.yaml"
    settings.write_text(settings.read_text() + COMPONENTS)
    return publish(top / "log", top / "site")


@pytest.fixture(scope="module")
def kinds(long_site: Path) -> eyes.Place:
    """One page of each kind: looking at all of them would say the same again."""
    whole = place_on_disk(long_site)
    first = {re.sub(r"\d+", "", page): page for page in whole.pages if not page.startswith("entries/")}
    assert {page.partition("/")[0] for page in first.values() if "/" in page} >= {
        "costs",
        "faults",
        "parts",
        "timeline",
        "service",
        "systems",
    }
    return eyes.Place(base=whole.base, pages=tuple(first.values()))


ROWS = """() => [...document.querySelectorAll('.band > .strokes > span')].filter(row => row.querySelector('svg'))
    .map(row => [row, row.querySelector('svg')].map(box => box.getBoundingClientRect().toJSON()))"""
"Each sum in the margin that has strokes: its own room, and that of its strokes."


@pytest.mark.parametrize("width", [834, 1440])
def test_strokes_stand_before_their_figure(browser: Browser, long_site: Path, width: int) -> None:
    """Beside a year or a month: on its line, or below it where that is too long for the margin, and end alike."""
    with eyes.visiting(browser, place_on_disk(long_site), viewport={"width": width, "height": 900}) as visit:
        period = max(long_site.glob("timeline/*.html"), key=lambda page: page.stat().st_size)
        for path in ("timeline.html", f"timeline/{period.name}"):
            rows = visit.open(path).evaluate(ROWS)
            assert len(rows) >= 2
            for row, strokes in rows:
                beside = row["height"] < 2 * strokes["height"]
                ends = strokes["right"] < row["right"] - 20 if beside else abs(strokes["right"] - row["right"]) < 3
                assert ends, (path, row, strokes)


def test_every_page_is_reached_and_leads_somewhere(long_site: Path) -> None:
    """No page stands alone, and every link leads to a file, and to an anchor in it where it names one."""
    assert files.find_orphans(long_site) == []
    assert files.find_broken_links(long_site) == []


def test_pages_are_valid(long_site: Path, kinds: eyes.Place) -> None:
    """The pages pass the Nu Html Checker, and their words stand apart."""
    assert files.find_markup_errors([long_site / page for page in kinds.pages]) == []
    assert files.find_glued_words(long_site) == []
    assert files.find_said_twice(long_site) == []


def test_no_barriers(browser: Browser, kinds: eyes.Place) -> None:
    """No rule of axe-core is broken, on a desk and on a phone."""
    assert eyes.find_barriers(browser, kinds, "light") == []
    assert eyes.find_barriers(browser, kinds, "dark", width=390) == []


def test_no_sideways_scrolling(browser: Browser, kinds: eyes.Place) -> None:
    """At 320, 390 and 1440 px no page is wider than the window."""
    assert eyes.find_overflow(browser, kinds) == []


def test_one_system_can_be_chosen_in_a_period(browser: Browser, kinds: eyes.Place) -> None:
    """As on a timeline that is whole, the links to the systems are a choice of what is shown."""
    with eyes.visiting(browser, kinds, viewport={"width": 1280, "height": 800}) as visit:
        page = visit.open("timeline/2020-q1.html")
        entries = page.locator("article[data-systems]")
        page.get_by_role("button", name="Fuel", exact=True).click()
        shown = [entry.get_attribute("data-systems") for entry in entries.all() if entry.is_visible()]
        assert set(shown) == {"fuel"}
        assert len(shown) < entries.count()
        assert page.url.endswith("timeline/2020-q1.html?system=fuel")


def test_quiet(browser: Browser, kinds: eyes.Place) -> None:
    """From a disk, no page breaks its own policy or misses a file."""
    assert eyes.find_noise(browser, kinds) == []


def test_pages_print(browser: Browser, kinds: eyes.Place) -> None:
    """Each fits the paper and comes out of the printer, the service history with its tables of many times too."""
    assert eyes.find_unprintable(browser, kinds, "A4") == []
    assert [path for path in kinds.pages if not "".join(print_sheets(browser, kinds, path)).strip()] == []


def test_nothing_moves_on_a_slow_line(browser: Browser, long_site: Path, kinds: eyes.Place) -> None:
    """Long pages are shown before they have come to their end, and stay where they are."""
    told = [path for path in kinds.pages if 'http-equiv="refresh"' not in (long_site / path).read_text("utf-8")]
    assert eyes.find_shifts(browser, long_site, told, eyes.PHONE, 0.01) == []


def test_an_old_address_leads_on(browser: Browser, long_site: Path) -> None:
    """From a disk, without a script, the page at the address of an entry's old name is followed by the entry's."""
    with eyes.visiting(browser, place_on_disk(long_site), java_script_enabled=False) as visit:
        page = visit.context.new_page()
        page.goto((long_site / "entries/2020-01-01-first-name.html").as_uri())
        page.wait_for_url("**/entries/2020-01-01-session-0.html")
        assert page.locator("h1").is_visible()


def test_an_anchor_that_was_given_up_lands_on_its_link(browser: Browser, long_site: Path) -> None:
    """The first part's place on the page of parts, as it was while the log was short, leads to its life."""
    with eyes.visiting(browser, place_on_disk(long_site)) as visit:
        page = visit.context.new_page()
        page.goto((long_site / "parts.html").as_uri() + "#part-pump-0")
        page.locator("#part-pump-0 a").click()
        assert page.url.endswith("#part-pump-0") and "/parts/2020" in page.url
        assert page.locator("#part-pump-0").is_visible()


def test_the_example_is_as_light(site: Path) -> None:
    """No page of a log of forty entries is over the 150 kB of HTML that none of a long log is."""
    weights = {path.relative_to(site).as_posix(): path.stat().st_size for path in site.rglob("*.html")}
    assert len(weights) > 60
    assert {path: weight for path, weight in weights.items() if weight > 150_000} == {}
