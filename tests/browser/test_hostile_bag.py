"""A stranger's bag full of hostile words on the page that checks: everything in it stays words."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from buildlog.handover.pack import hand_over
from tests.browser import eyes
from tests.test_injection import HARMLESS, HOSTILE, UNSEEN, seal_as_before, write_log
from tests.whole_log import AS_OF

TAGS = "[...document.querySelectorAll('*')].map(e => [e.tagName, ...e.getAttributeNames().sort()].join(' '))"


def pack(folder: Path, tail: str) -> Path:
    """A bag whose every answer has something to tell: a page is changed, and a file is there that nobody knows."""
    log = write_log(folder / "log", tail)
    seal_as_before(log, f"Because {tail}{UNSEEN}")
    assert hand_over(log, folder / "bag", as_of=AS_OF, withhold=["papers/oil.pdf"]).handover
    with (folder / "bag/data/site/index.html").open("a", encoding="utf-8") as page:
        page.write("more")
    return folder / "bag"


@pytest.fixture(scope="module")
def bags(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    return pack(tmp_path_factory.mktemp("hostile"), HOSTILE), pack(tmp_path_factory.mktemp("harmless"), HARMLESS)


def test_the_page_that_checks_gains_no_element(browser: Browser, bags: tuple[Path, Path]) -> None:
    """The same elements with the same attributes as over a harmless bag; no dialog opens, and nothing is asked for."""
    found = []
    for bag in bags:
        place = eyes.Place(base=(bag / "data").as_uri() + "/", pages=("check.html",))
        with eyes.visiting(browser, place) as visit:
            page = visit.open("check.html")
            page.on("dialog", lambda dialog: visit.tell(f"dialog: {dialog.message}"))
            page.set_input_files("#folder", bag)
            page.wait_for_selector("#result:not([hidden])")
            assert "Old Tom" in page.inner_text("#about")
            found.append(Counter(page.evaluate(TAGS)))
            assert visit.found == []
    assert found[0] == found[1]


def test_pages_of_a_hostile_log_run_nothing(browser: Browser, bags: tuple[Path, Path]) -> None:
    """Every page of its site in a real browser: no script of the owner's runs, nothing breaks the policy."""
    site = bags[0] / "data/site"
    pages = tuple(sorted(path.relative_to(site).as_posix() for path in site.rglob("*.html")))
    place = eyes.Place(base=site.as_uri() + "/", pages=pages)
    with eyes.visiting(browser, place) as visit:
        visit.page.on("dialog", lambda dialog: visit.tell(f"dialog: {dialog.message}"))
        for path in pages:
            page = visit.open(path)
            # The page at an old address leads on by itself, which must not come into the way of the next one.
            page.wait_for_selector("meta[http-equiv=refresh]", state="detached")
            page.wait_for_load_state()
        assert visit.found == []
