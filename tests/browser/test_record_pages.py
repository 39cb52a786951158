"""The record page, the proofs on the entries' pages and the printed service history, as a reader meets them."""

from __future__ import annotations

import datetime
import hashlib
import io
import re
import subprocess
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from buildlog.record.sealing import seal_log
from tests.browser import eyes, files, records
from tests.browser.conftest import EXAMPLE, place_on_disk, publish

ENTRY = "entries/2024-03-09-motor.html"
AMENDED = "entries/2024-04-20-afloat.html"
UNSEALED = "entries/2024-05-25-more.html"
LATER = "---\ndate: 2024-05-25\ntitle: More\n---\nOne more evening.\n"


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log sealed twice; since then one entry was changed and one added."""
    log = records.make_log(tmp_path_factory.mktemp("sealed") / "log")
    records.seal_twice(log)
    planks = log / "entries" / "2024-02-03-planks.md"
    planks.write_text(planks.read_text(encoding="utf-8") + "\nOr three.\n", encoding="utf-8")
    (log / "entries" / "2024-05-25-more.md").write_text(LATER, encoding="utf-8")
    return log


@pytest.fixture(scope="module")
def sealed(log: Path) -> Path:
    return publish(log, log.parent / "site")


@pytest.fixture
def page(browser: Browser, sealed: Path) -> Iterator[Page]:
    """A page on the published folder, opened from the disk; any noise fails."""
    with eyes.visiting(browser, place_on_disk(sealed), viewport={"width": 1280, "height": 900}) as visit:
        yield visit.page
        assert visit.found == []


def open_entry(page: Page, sealed: Path, path: str) -> None:
    page.goto((sealed / path).as_uri())
    page.click(".proof summary")


def test_pages_of_a_sealed_log(browser: Browser, sealed: Path) -> None:
    """The pages of a sealed log are valid, linked, quiet, free of barriers and fit 320 px, as those of any other."""
    place = place_on_disk(sealed)
    assert files.find_markup_errors([*files.list_pages(sealed), *sealed.rglob("*.css")]) == []
    assert files.find_broken_links(sealed) == []
    assert eyes.find_noise(browser, place) == []
    assert eyes.find_overflow(browser, place) == []
    assert eyes.find_unread_text(browser, place) == []
    assert [*eyes.find_barriers(browser, place, "light"), *eyes.find_barriers(browser, place, "dark", width=390)] == []


@pytest.mark.parametrize(("path", "seal"), [(ENTRY, 1), (AMENDED, 2)])
def test_a_proof_works_itself_out(page: Page, sealed: Path, path: str, seal: int) -> None:
    """The button arrives at the root of the seal that added the entry's latest leaf, which the record page shows."""
    open_entry(page, sealed, path)
    page.click("text=Work out the proof")
    assert page.inner_text(".tries p").startswith("holds: ")
    root = page.inner_text("#proof-root")
    assert root[:16] in page.inner_text(".tries p")
    page.click("#proof-seal")
    assert page.url.endswith(f"record.html#seal-{seal}")
    assert root in page.inner_text(f"#seal-{seal}")


@pytest.mark.parametrize(
    ("what", "change"),
    [
        ("leaf", "document.getElementById('proof-leaf').textContent += ' '"),
        ("index", "document.getElementById('proof-index').textContent = '0'"),
        ("size", "document.getElementById('proof-size').textContent = '70000'"),
        ("path", "document.querySelector('#proof-path li').remove()"),
        ("hash", "document.querySelector('#proof-path code').textContent = 'f'.repeat(64)"),
        ("no hash", "document.querySelector('#proof-path code').textContent = 'x'"),
        ("root", "document.getElementById('proof-root').textContent = 'f'.repeat(64)"),
        ("file", "document.getElementById('proof-file').textContent = 'f'.repeat(64)"),
    ],
)
def test_a_changed_proof_fails(page: Page, sealed: Path, what: str, change: str) -> None:
    """Whatever of the proof is changed in the page, the button says that it fails."""
    open_entry(page, sealed, ENTRY)
    page.evaluate(change)
    page.click("text=Work out the proof")
    assert page.inner_text(".tries p").startswith("fails: "), what


def test_the_entrys_file_is_compared(page: Page, sealed: Path, log: Path) -> None:
    """The file that was sealed holds; the same file with one byte more fails, with its sum."""
    open_entry(page, sealed, ENTRY)
    file = log / "entries" / "2024-03-09-motor.md"
    page.set_input_files(".tries input", file)
    page.wait_for_selector(".tries p.holds")
    other = file.read_bytes() + b"\n"
    page.set_input_files(".tries input", {"name": "x.md", "mimeType": "text/markdown", "buffer": other})
    page.wait_for_selector(".tries p.fails")
    assert hashlib.sha256(other).hexdigest() in page.inner_text(".tries p")


@pytest.mark.parametrize("path", [ENTRY, AMENDED])
def test_the_lines_for_a_shell(sealed: Path, path: str) -> None:
    """The lines that stand in the page, run as they are, print the root: with no script and no tool of ours."""
    tree = files.parse(sealed / path)
    [lines] = tree.xpath("//*[@class='shell']/pre/text()")
    [root] = tree.xpath("//*[@id='proof-root']/text()")
    run = subprocess.run(["sh", "-eu", "-c", lines], capture_output=True, text=True, check=True)
    assert (run.stdout, run.stderr) == (f"{root}\n", "")


def test_what_is_not_as_sealed_is_said(page: Page, sealed: Path) -> None:
    """An entry that changed says so and keeps its proof of what it was; one never sealed says so and has none."""
    page.goto((sealed / "entries/2024-02-03-planks.html").as_uri())
    assert "Changed since it was sealed on 21 April 2024" in page.inner_text(".sealed")
    page.goto((sealed / UNSEALED).as_uri())
    assert "Not sealed yet" in page.inner_text(".sealed")
    assert page.locator("#proof-leaf").count() == 0
    page.goto((sealed / "record.html").as_uri())
    words = re.sub(r"\n+", "\n", page.inner_text("main"))
    assert "Entries that have changed since they were sealed\nPlanks" in words
    assert "Entries that are not sealed yet\nMore" in words
    assert "Amended because: “a sentence forgotten”" in words


def test_seals_that_do_not_hold(browser: Browser, log: Path, tmp_path: Path) -> None:
    """Where the seals were meddled with, the record page says so first, and no entry is given a proof."""
    copy = tmp_path / "log"
    records.shutil.copytree(log, copy)
    records.flip(copy / "seals" / "0001.json", -5)
    site = publish(copy, tmp_path / "site")
    with eyes.visiting(browser, place_on_disk(site)) as visit:
        assert "do not hold" in visit.open("record.html").inner_text(".opening")
        assert "there is no proof" in visit.open(ENTRY).inner_text(".sealed")


def test_nothing_sealed(browser: Browser, tmp_path: Path) -> None:
    """A log without seals says that it is the owner's word."""
    site = publish(records.make_log(tmp_path / "log"), tmp_path / "site")
    with eyes.visiting(browser, place_on_disk(site)) as visit:
        assert "Nothing in this log is sealed" in visit.open("record.html").inner_text(".opening")
        assert "Not sealed yet" in visit.open(ENTRY).inner_text(".sealed")


# ── on paper ─────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture(scope="module")
def sealed_example(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The example, sealed and published, with the short code of its seal."""
    top = tmp_path_factory.mktemp("example")
    log = top / "log"
    records.shutil.copytree(EXAMPLE, log, ignore=records.shutil.ignore_patterns("site", "seals"))
    sealing = seal_log(log, date=datetime.date(2024, 11, 30))
    assert sealing.seal
    return publish(log, top / "site"), sealing.seal.code


ROWS = r"""() => [...document.querySelectorAll('main tr, main .lines > li, main .due > li, main .plain-list > li')]
    .map(row => row.innerText.split(/[\t\n]+/).filter(cell => cell))"""


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", ["service.html", "record.html"])
def test_printed(browser: Browser, sealed_example: tuple[Path, str], name: str, paper: Literal["A4", "Letter"]) -> None:
    """Each sheet carries its number and the seal's short code, and no row of a table or list is cut between two."""
    site, code = sealed_example
    with eyes.visiting(browser, place_on_disk(site)) as visit:
        page = visit.open(name)
        page.emulate_media(media="print")
        rows = page.evaluate(ROWS)
        pdf = PdfReader(io.BytesIO(page.pdf(format=paper)))
    sheets = [squeeze(sheet.extract_text()) for sheet in pdf.pages]
    for number, sheet in enumerate(sheets, 1):
        assert f"{number}/{len(sheets)}" in sheet
        assert squeeze(code) in sheet
    assert len(rows) > (60 if name == "service.html" else 8)
    cut = [row for row in rows if not any(all(squeeze(cell) in sheet for cell in row) for sheet in sheets)]
    assert cut == []


def squeeze(text: str) -> str:
    """A text without blanks and ligatures: a PDF says where a line ends, not whether a word does, and which glyphs
    stand there, not which letters (NFKC, Unicode Standard Annex 15, takes “ﬁ” apart).
    """
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))
