"""A log that is too long for one page of anything, looked at page by page like the example: one page of each kind."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.bench.make_log import make_log
from tests.browser import eyes, files
from tests.browser.conftest import place_on_disk, publish

ENTRIES = 130
"About a year of them, each with four lines of money and three parts."


@pytest.fixture(scope="module")
def long_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The benchmark's log, published."""
    top = tmp_path_factory.mktemp("long")
    make_log(top / "log", ENTRIES)
    return publish(top / "log", top / "site")


@pytest.fixture(scope="module")
def kinds(long_site: Path) -> eyes.Place:
    """One page of each kind: looking at all of them would say the same again."""
    whole = place_on_disk(long_site)
    first = {re.sub(r"\d+", "", page): page for page in whole.pages if not page.startswith("entries/")}
    assert {page.partition("/")[0] for page in first.values() if "/" in page} >= {
        "costs",
        "parts",
        "timeline",
        "service",
    }
    return eyes.Place(base=whole.base, pages=tuple(first.values()))


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
        page = visit.open("timeline/2020.html")
        entries = page.locator("article[data-systems]")
        page.get_by_role("button", name="Fuel", exact=True).click()
        shown = [entry.get_attribute("data-systems") for entry in entries.all() if entry.is_visible()]
        assert set(shown) == {"fuel"}
        assert len(shown) < entries.count()
        assert page.url.endswith("timeline/2020.html?system=fuel")


def test_quiet(browser: Browser, kinds: eyes.Place) -> None:
    """From a disk, no page breaks its own policy or misses a file."""
    assert eyes.find_noise(browser, kinds) == []


def test_pages_print(browser: Browser, kinds: eyes.Place) -> None:
    """Each fits the paper, the service history with its tables of many times too."""
    assert eyes.find_unprintable(browser, kinds, "A4") == []
