"""The small changes of the guide's page on themes, each made by the very files that stand there, in a browser."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser

import buildlog
from buildlog.render.theme import find_themes
from tests.browser import eyes, files
from tests.browser.conftest import place_on_disk
from tests.test_cli import DAY, ENTRY, make_log, run

GUIDE = Path(buildlog.__file__).parent / "guide/themes.md"
FONT = Path("/usr/share/fonts/truetype/dejavu/DejaVuSansMono.ttf")
"Stands for a font of the owner's; `tests/run` installs it."
CHANGES = ("Another colour", "A line in the footer", "Letters of your own", "Another language")
"The last is tried in `tests/render/test_catalogue.py`."


def read_files(heading: str) -> dict[str, str]:
    """The files that a chapter of the guide has an owner write, by their paths in the log."""
    (chapter,) = re.findall(
        rf"^## {heading}\n(.*?)(?=^## )", GUIDE.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL
    )
    return dict(re.findall(r"^`(theme/[^`]+)`:\n\n```\w+\n(.*?)^```", chapter, re.MULTILINE | re.DOTALL))


def write_change(heading: str, log: Path) -> None:
    """Put the files of a chapter into a log, and a font where they name one."""
    (log / "theme").mkdir()
    for path, text in read_files(heading).items():
        (log / path).write_text(text, encoding="utf-8")
        for name in re.findall(r'url\("([^"]+)"\)', text):
            shutil.copyfile(FONT, log / "theme" / name)


def publish(heading: str, folder: Path) -> eyes.Place:
    """A small log with these files, published."""
    log = make_log(folder / "log", {"2024-05-18-lift-pump.md": ENTRY})
    write_change(heading, log)
    result = run("publish", log, "--as-of", DAY)
    assert result.exit_code == 0, result.output
    return place_on_disk(log / "site")


def test_the_guide_has_these_changes() -> None:
    """Each chapter that is tried has its files, and no file of the guide is tried by nobody."""
    told = re.findall(r"^`(theme/[^`]+)`:$", GUIDE.read_text(encoding="utf-8"), re.MULTILINE)
    assert [path for heading in CHANGES for path in read_files(heading)] == told
    assert told == ["theme/own.css", "theme/page.html", "theme/own.css", "theme/words/de.po"]


def read_rgb(digits: str) -> str:
    """A colour as a browser says it."""
    return f"rgb({', '.join(map(str, bytes.fromhex(digits)))})"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_another_colour(browser: Browser, tmp_path: Path, scheme: Literal["light", "dark"]) -> None:
    """The line down the margin and the current section have it, in the light and in the dark; the sheet comes last."""
    place = publish("Another colour", tmp_path)
    mark, line = (
        read_rgb(re.findall(rf"--{name}: #(\w+);", read_files("Another colour")["theme/own.css"])[scheme == "dark"])
        for name in ("mark", "line")
    )
    with eyes.visiting(browser, place, color_scheme=scheme) as visit:
        page = visit.open("costs.html")
        colour = page.locator("nav a[aria-current]").evaluate("tab => getComputedStyle(tab).borderBottomColor")
        assert colour == mark
        rule = page.locator(".leaf").evaluate("leaf => getComputedStyle(leaf, '::before').borderLeftColor")
        assert rule == line
        sheets = page.evaluate("[...document.styleSheets].map(sheet => sheet.href.split('/').pop())")
        assert sheets[-1] == "own.css" and len(sheets) > 2
        assert visit.found == []


def test_a_line_in_the_footer(browser: Browser, tmp_path: Path) -> None:
    """Every page that has a footer has the line, and nothing of the theme's own is lost; pages stay valid."""
    place = publish("A line in the footer", tmp_path)
    (line,) = re.findall(r"<p>(.*)</p>", read_files("A line in the footer")["theme/page.html"])
    with eyes.visiting(browser, place) as visit:
        for path in ("index.html", "entries/2024-05-18-lift-pump.html"):
            words = visit.open(path).locator("footer").inner_text()
            assert words.rstrip().endswith(line) and "Every figure is worked out" in words
        assert visit.found == []
    assert files.find_markup_errors([tmp_path / "log/site/index.html"]) == []


def test_letters_of_your_own(browser: Browser, tmp_path: Path) -> None:
    """The font is loaded from the site, and what is read is set in it."""
    place = publish("Letters of your own", tmp_path)
    with eyes.visiting(browser, place) as visit:
        page = visit.open("index.html")
        # An event and no clock: it settles once every font that the page asks for has come or has failed.
        state = page.evaluate("document.fonts.ready.then(all => [...all].map(one => one.family + ' ' + one.status))")
        assert [line.replace('"', "") for line in state if "My Letters" in line] == ["My Letters loaded"]
        family = page.locator("h1").evaluate("head => getComputedStyle(head).fontFamily")
        assert family.startswith('"My Letters"')
        assert visit.found == []


def test_what_the_guide_says_of_the_ground_is_so() -> None:
    """The colours that an owner has to keep a contrast with are those of the style sheet."""
    sheet = (find_themes() / "margin/margin.css").read_text(encoding="utf-8")
    light, dark = re.findall(r"--paper: (#\w+);", sheet)[:2]
    told = " ".join(GUIDE.read_text(encoding="utf-8").split())
    assert f"`--paper` is `{light}` in the light and `{dark}` in the dark" in told
