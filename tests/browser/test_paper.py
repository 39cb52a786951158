"""Every page on paper: sheets read back out of the PDF that Chromium prints."""

from __future__ import annotations

import io
import os
import re
import subprocess
import unicodedata
from collections import Counter
from pathlib import Path
from typing import Literal

import pytest
from lxml import html
from playwright.sync_api import Browser
from pypdf import PageObject, PdfReader

from tests.browser import eyes, files

Paper = Literal["A4", "Letter"]


def print_sheets(browser: Browser, place: eyes.Place, path: str, paper: Paper = "A4") -> list[str]:
    """The words of each sheet without its number, which a PDF has before them, as Unicode composes them."""
    with eyes.visiting(browser, place) as visit:
        return read_sheets(visit.open(path).pdf(format=paper))


def read_sheets(pdf: bytes) -> list[str]:
    """The words of each sheet in the order of the file, by poppler, which reads them ten times as fast as pypdf."""
    done = subprocess.run(["pdftotext", "-raw", "-enc", "UTF-8", "-", "-"], input=pdf, capture_output=True, check=True)
    sheets = unicodedata.normalize("NFKC", done.stdout.decode()).split("\f")[:-1]
    return [re.sub(r"^\d+ / \d+\s", "", text) for text in sheets]


def squeeze(text: str) -> str:
    """The letters of a text without the blanks and line ends that a layout puts between them."""
    return "".join(unicodedata.normalize("NFKC", text).split())


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_no_sheet_is_empty(browser: Browser, on_disk: eyes.Place, site: Path, paper: Paper) -> None:
    """Every sheet has something to read, more than what runs along the foot of all; the first has the page's title."""
    bare = []
    with eyes.visiting(browser, on_disk) as visit:
        for path in on_disk.pages:
            sheets = [squeeze(text) for text in read_sheets(visit.open(path).pdf(format=paper))]
            foot = os.path.commonprefix(sheets) if len(sheets) > 1 else ""  # noqa: RUF071  # letters
            bare += [f"{path} {number}: {text}" for number, text in enumerate(sheets, 1) if len(text) < len(foot) + 20]
            if squeeze(str(files.parse(site / path).xpath("string(//h1)"))) not in sheets[0]:
                bare.append(f"{path} 1: no title")
    assert bare == []


def find_lowest(sheet: PageObject) -> float:
    """Which share of a sheet's height lies below its last word; its own number at the foot is none."""
    places: list[float] = []

    def note(text: str, cm: list[float], tm: list[float], *_: object) -> None:
        # to the space of the sheet (ISO 32000-1, sections 8.3.4 and 9.4.4)
        if text.strip() and not re.fullmatch(r"[\d/\s]+", text):
            places.append(tm[4] * cm[1] + tm[5] * cm[3] + cm[5])

    sheet.extract_text(visitor_text=note)
    return min(places) / float(sheet.mediabox.height)


MOST_EMPTY = 0.3
"Of the height of a sheet that is not the last; common practice, no source."


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("path", ["index.html", "timeline.html"])
def test_no_sheet_is_half_empty(browser: Browser, on_disk: eyes.Place, path: str, paper: Paper) -> None:
    """What is kept in one piece is not so high that the sheet before it stays empty."""
    with eyes.visiting(browser, on_disk) as visit:
        pdf = visit.open(path).pdf(format=paper)
    sheets = PdfReader(io.BytesIO(pdf)).pages
    assert [round(share, 2) for share in map(find_lowest, sheets[:-1]) if share > MOST_EMPTY] == []


def test_each_line_of_the_ledger_is_printed_once(browser: Browser, on_disk: eyes.Place, site: Path) -> None:
    """On a screen a line opens under its month, its system, its kind and its supplier; on paper it stands in one place.

    The lines are those of the months, and of what is ordered and not paid, which counts in no month.
    """
    page = files.parse(site / "costs.html")
    lines = page.xpath("//details[summary/span='Every month, line by line']//li[*[@class='date']]")
    lines += page.xpath("//h2[.='Not in these totals']/following-sibling::ul[1]//li[*[@class='date']]")
    assert len(lines) > 50
    wanted = Counter(squeeze(_read(line, "date") + _read(line, "what")) for line in lines)
    printed = squeeze("".join(print_sheets(browser, on_disk, "costs.html")))
    assert {line: printed.count(line) for line in wanted} == wanted


def _read(line: html.HtmlElement, part: str) -> str:
    return str(line.xpath(f"string(*[@class='{part}'])"))


def test_a_part_is_printed_with_its_life(browser: Browser, on_disk: eyes.Place, site: Path) -> None:
    """Each event of each part stands on paper once; what a closed fold says of it on a screen does not."""
    page = files.parse(site / "parts.html")
    printed = squeeze("".join(print_sheets(browser, on_disk, "parts.html")))
    for part in page.xpath("//article[contains(@class, 'part')]"):
        events = [squeeze(str(event.xpath("string()"))).replace("·", "") for event in part.xpath(".//ol/li")]
        assert all(event in printed.replace("·", "") for event in events), part.xpath("string(h4)")
        summary = squeeze(str(part.xpath("string(.//summary)")))
        assert "," not in summary or summary not in printed, part.xpath("string(h4)")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_tightening_sheet_is_one_sheet(browser: Browser, on_disk: eyes.Place, site: Path, paper: Paper) -> None:
    """Upright, for the wall: every fastener of the example with both its torques, and the caution."""
    (sheet,) = print_sheets(browser, on_disk, "tightening.html", paper)
    rows = files.parse(site / "tightening.html").xpath("//table//tr[td]")
    assert len(rows) > 10
    for row in rows:
        assert squeeze(str(row.xpath("string(th)"))) in squeeze(sheet)
        assert all(squeeze(str(cell.xpath("string()"))) in squeeze(sheet) for cell in row.xpath("td[@class='n']"))
    assert "qualified" in sheet


def test_lines_for_a_shell_are_not_cut(browser: Browser, on_disk: eyes.Place, site: Path) -> None:
    """Every letter of the lines that work out a proof is on the paper, however long the line."""
    path = next(path for path in on_disk.pages if files.parse(site / path).xpath("//div[@class='shell']"))
    lines = str(files.parse(site / path).xpath("string(//div[@class='shell'])")).strip().split("\n")
    assert max(map(len, lines)) > 150, "longer than a sheet is wide"
    printed = squeeze("".join(print_sheets(browser, on_disk, path)))
    assert [line for line in lines if squeeze(line) not in printed] == []
