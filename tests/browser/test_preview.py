"""A log that is looked at while it is written: the real command, real saves, and what a browser shows of them."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Browser, Page

from buildlog.preview.phone import PhoneServer
from tests.browser import eyes
from tests.photos.pictures import save
from tests.preview.logs import make_log, open_site, write_entry

TOP = Path(__file__).parent.parent.parent
PUMP = "2024-05-18-pump"
PAGE = f"entries/{PUMP}.html"


@dataclass
class Previewed:
    """A log, the command that shows it, and a page of it in a browser."""

    log: Path
    process: subprocess.Popen[str]
    visit: eyes.Visit

    @property
    def page(self) -> Page:
        return self.visit.page

    def swap(self, old: str, new: str, name: str = f"entries/{PUMP}.md") -> None:
        path = self.log / name
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new), encoding="utf-8")

    def wait_for(self, words: str) -> None:
        self.page.wait_for_function("words => document.body.innerText.includes(words)", arg=words)

    def wait_until_gone(self, selector: str) -> None:
        self.page.wait_for_selector(selector, state="detached")


@pytest.fixture
def shown(tmp_path: Path, browser: Browser) -> Iterator[Previewed]:
    """Nothing may be said on the console, no request may fail or leave, and nothing may be written beside the log."""
    log = make_log(tmp_path / "log")
    path = log / f"entries/{PUMP}.md"
    path.write_text(path.read_text() + "\nIt took a while.\n" * 60)
    command = [sys.executable, "-m", "buildlog", "preview", str(log), "--as-of", "2024-07-01"]
    # Tests that a shell began in the background are deaf to it, and so would be what they begin.
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    with subprocess.Popen(command, cwd=TOP, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout
            line = process.stdout.readline()
            found = re.search(r"http://127\.0\.0\.1:\d+/", line)
            assert found, line
            place = eyes.Place(base=found[0], pages=())
            with eyes.visiting(browser, place, viewport={"width": 1000, "height": 700}) as visit:
                visit.open(PAGE)
                yield Previewed(log, process, visit)
                assert visit.found == []
        finally:
            process.kill()
    assert {path.name for path in log.iterdir()} <= {"log.yaml", "entries", "photos"}


def test_a_save_is_seen_and_the_place_is_kept(shown: Previewed) -> None:
    """Far down the page, words above and below change: what is at the top of the window stays where it is."""
    page = shown.page
    page.evaluate("scrollTo(0, 900)")
    page.evaluate("window.same = document.querySelector('h1')")
    shown.swap("And there it was.", "And there it was, in two pieces.")
    shown.wait_for("in two pieces")
    assert page.evaluate("scrollY") > 850
    assert page.evaluate("window.same === document.querySelector('h1')"), "the page was not opened anew"


@pytest.mark.parametrize("way", ["exchanged", "ten in a row"])
def test_however_it_is_saved_the_last_save_is_seen(way: str, shown: Previewed) -> None:
    """An editor that writes beside the file and renames; ten saves, one right after the other."""
    path = shown.log / f"entries/{PUMP}.md"
    text = path.read_text(encoding="utf-8")
    if way == "exchanged":
        beside = path.with_name("#new#")
        beside.write_text(text.replace("Off it came.", "Off it came number 9."))
        os.replace(beside, path)
    else:
        for n in range(10):
            path.write_text(text.replace("Off it came.", f"Off it came number {n}."))
    shown.wait_for("number 9.")


def test_figures_follow_on_a_page_of_figures(shown: Previewed) -> None:
    """A price is changed in an entry, and the page of costs is the one that is looked at."""
    shown.visit.open("costs.html")
    assert "£61.00" in shown.page.inner_text("main")
    shown.swap("each: 61.00", "each: 62.50")
    shown.wait_for("£62.50")
    assert "£61.00" not in shown.page.inner_text("main")


def test_an_open_photo_stays_open(shown: Previewed) -> None:
    """Words change behind it, and the photo and its words stay; so does the focus in it."""
    page = shown.page
    page.locator(".photos figure > a").first.click()
    before = page.locator("dialog[open] img").get_attribute("src")
    shown.swap("And there it was.", "And there it was, at last.")
    page.wait_for_function("() => document.querySelector('main').textContent.includes('at last')")
    assert page.locator("dialog[open] img").get_attribute("src") == before
    assert page.evaluate("document.activeElement.closest('dialog') !== null")
    page.keyboard.press("Escape")
    page.locator("dialog").wait_for(state="hidden")


def test_an_open_photo_stays_open_when_another_one_comes(shown: Previewed) -> None:
    """Then the page is opened anew, since its scripts have to know the new one; the photo is opened again."""
    page = shown.page
    page.locator(".photos figure > a").first.click()
    save(shown.log / f"photos/{PUMP}/new.png", "BD", cell=25)
    shown.swap("photos: [", "photos: [{file: new.png, says: A new one}, ")
    page.wait_for_function("() => document.querySelectorAll('.photos figure > a').length === 2")
    page.wait_for_selector("dialog[open] img")


def test_an_open_fold_stays_open(shown: Previewed) -> None:
    """What a reader opened is none of what changed."""
    page = shown.visit.open("costs.html")
    fold = page.locator("main details").first
    fold.locator("summary").first.click()
    assert fold.get_attribute("open") == ""
    shown.swap("hours: 2", "hours: 2.5")
    shown.swap("each: 61.00", "each: 62.50")
    shown.wait_for("£62.50")
    assert fold.get_attribute("open") == ""


def test_a_problem_stands_on_the_page_until_it_is_mended(shown: Previewed) -> None:
    """Quoted, with what to write instead, over the page as it was; then it is gone, and the page goes on."""
    page = shown.page
    shown.swap("hours: 2", "hours: two")
    page.wait_for_selector("#preview details[open]")
    told = page.inner_text("#preview")
    assert f"entries/{PUMP}.md:4:8" in told and "hours: »two«" in told and "12.50" in told
    assert "Off it came." in page.inner_text("main")
    page.evaluate(AXE_SCRIPT)
    assert page.evaluate("options => axe.run('#preview', options)", eyes.AXE_OPTIONS)["violations"] == []
    shown.swap("hours: two", "hours: 2.5\nmilestone: Out at last")
    shown.wait_until_gone("#preview")
    shown.wait_for("Out at last")


@pytest.mark.parametrize("colours", ["light", "dark"])
def test_a_problem_can_be_read_on_a_phone(colours: Literal["light", "dark"], shown: Previewed) -> None:
    """All of its message is on the screen, in the colours of the day or of the night (WCAG 2.2, SC 1.4.3, 1.4.10)."""
    page = shown.page
    page.emulate_media(color_scheme=colours)
    page.set_viewport_size({"width": 320, "height": 640})
    shown.swap("hours: 2", "hours: two")
    page.wait_for_selector("#preview details[open]")
    for box in ("#preview", "#preview pre"):
        assert page.evaluate("box => (e => e.scrollWidth <= e.clientWidth)(document.querySelector(box))", box), box
    paper, ink = page.evaluate(
        "(s => [s.backgroundColor, s.color])(getComputedStyle(document.querySelector('#preview')))"
    )
    lightness = [sum(map(int, re.findall(r"\d+", colour))) for colour in (paper, ink)]
    assert (lightness[0] > lightness[1]) == (colours == "light")
    page.evaluate(AXE_SCRIPT)
    assert page.evaluate("options => axe.run('#preview', options)", eyes.AXE_OPTIONS)["violations"] == []


def test_an_entry_of_a_day_to_come_is_shown_as_a_draft(shown: Previewed) -> None:
    """It is named on every page, and marked on its own."""
    write_entry(shown.log, "2024-08-01-later", "date: 2024-08-01\ntitle: Later", "A plan.\n")
    page = shown.page
    page.locator("#preview summary").click()
    page.locator("#preview a", has_text="Later").click()
    shown.wait_for("A plan.")
    assert "Draft: dated 2024-08-01" in page.inner_text("#preview")


def test_a_folder_that_goes_is_told_and_found_again(shown: Previewed, tmp_path: Path) -> None:
    """As a stick that is pulled out: the page stays, and says so; back again, saves are followed as before."""
    shutil.move(shown.log, tmp_path / "away")
    shown.wait_for("there is no `log.yaml` here")
    assert "Off it came." in shown.page.inner_text("main")
    shutil.move(tmp_path / "away", shown.log)
    shown.wait_until_gone("#preview")
    shown.swap("Off it came.", "Off it came again.")
    shown.wait_for("Off it came again.")


def test_ctrl_c_ends_it_cleanly_and_the_page_says_so(shown: Previewed) -> None:
    """Exit code 0, and no word of an error; whoever still looks is told that nothing is followed any more."""
    shown.process.send_signal(signal.SIGINT)
    assert shown.process.wait(eyes.NEVER_MS / 1000) == 0
    shown.wait_for("The preview has ended")
    shown.visit.found.clear()  # that the connection was refused


def test_a_phone_comes_in_by_its_link_and_sends_photos(tmp_path: Path, browser: Browser) -> None:
    """The link of the QR code leads to the site, the code is gone from the address, and each photo is answered for."""
    log = make_log(tmp_path / "log")
    write_entry(log, "2024-07-01-today", "date: 2024-07-01\ntitle: Today", "Cold evening.\n")
    for name, rows in (("one.png", "AB/CD"), ("two.png", "EF/AB")):
        save(tmp_path / name, rows, cell=30)
    (tmp_path / "three.png").write_text("none")
    site = open_site(log)
    with PhoneServer(site, ("127.0.0.1", 0), lambda words: None) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.05,))
        thread.start()
        place = eyes.Place(base=server.address, pages=())
        with eyes.visiting(browser, place, viewport={"width": 390, "height": 800}, has_touch=True) as visit:
            page = visit.open("preview/enter")
            page.evaluate(AXE_SCRIPT)
            assert page.evaluate("options => axe.run(options)", eyes.AXE_OPTIONS)["violations"] == []
            # A finger's width: WCAG 2.2, SC 2.5.8 asks for 24, and this is done with cold hands.
            sizes = page.locator("input, button").evaluate_all("all => all.map(e => e.getBoundingClientRect().height)")
            assert min(sizes) >= 44
            page = visit.open(f"preview/enter?anew#{server.door.code}")
            page.wait_for_url(server.address)
            assert "The Sedge" in page.inner_text("h1")
            page.set_input_files(
                "#preview-send input", [tmp_path / name for name in ("one.png", "two.png", "three.png")]
            )
            page.wait_for_function("() => document.querySelectorAll('#preview-send li').length === 3")
            page.wait_for_function("() => !document.querySelector('#preview-send input').disabled")
            told = page.locator("#preview-send li").all_inner_texts()
            assert "as `01-one.png`" in told[0] and "as `02-two.png`" in told[1] and "is not a picture" in told[2]
            assert [what for what in visit.found if "422" not in what] == []
        site.end()
        server.shutdown()
        thread.join()
    assert sorted(path.name for path in (log / "photos/2024-07-01-today").iterdir()) == ["01-one.png", "02-two.png"]
