"""Standing pages on the site: in the navigation, linked both ways, sealed, and only from their day on."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import pytest

from buildlog.handover.pack import hand_over
from buildlog.handover.recompute import recheck
from buildlog.handover.verify import verify_bag
from buildlog.record.sealing import seal_log
from buildlog.render.addresses import SECTIONS
from buildlog.render.pages.frame import MOST_IN_NAVIGATION
from buildlog.stages import Run, run_stages
from tests.photos.pictures import save
from tests.preview.logs import DAY, make_log, open_site, publish, read, take
from tests.record.logs import count_salts

PAGE = """\
---
title: Specification
order: 1
date: 2024-06-01
photos: [{file: plate.png, says: The plate}]
papers: [papers/sheet.pdf]
---
Bore and stroke: see [the pump](2024-05-18-pump.md) and [wiring](../pages/wiring.md).

![](plate.png)
"""


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """The preview's log with two pages, one of them with a photo and a paper."""
    folder = make_log(tmp_path / "log")
    (folder / "pages").mkdir()
    (folder / "papers").mkdir()
    (folder / "photos/specification").mkdir()
    (folder / "papers/sheet.pdf").write_bytes(b"%PDF-1.4 sheet")
    save(folder / "photos/specification/plate.png", cell=20)
    (folder / "pages/specification.md").write_text(PAGE, encoding="utf-8")
    (folder / "pages/wiring.md").write_text("# Wiring & earth\n\nBrown is live.\n", encoding="utf-8")
    with (folder / "entries/2024-05-25-fitted.md").open("a", encoding="utf-8") as file:
        file.write("\nThe loom is [here](wiring.md).\n")
    return folder


def make(log: Path, day: datetime.date = DAY) -> dict[str, str]:
    """The pages of the site by path."""
    files = publish(log, day)
    assert files is not None
    return {path: read(content).decode() for path, content in files.items() if path.endswith((".html", ".xml"))}


def list_navigation(page: str) -> list[tuple[str, str]]:
    [nav] = re.findall(r'<nav aria-label="Sections">.*?</nav>', page, re.DOTALL)
    return re.findall(r'<a href="([^"]+)"(?: aria-current="page")?>([^<]+)</a>', nav)


def test_pages_stand_in_the_navigation_of_every_page(log: Path) -> None:
    """After the site's own, by `order`, then by name; the one that is read is the current one."""
    pages = make(log)
    for path, page in pages.items():
        # The page for wrong addresses is shown at any address, and leads to the front alone.
        if path.endswith(".html") and path != "404.html":
            root = "../" * path.count("/")
            own = list_navigation(page)[-2:]
            assert own == [
                (f"{root}pages/specification.html", "Specification"),
                (f"{root}pages/wiring.html", "Wiring &amp; earth"),
            ]
    assert 'href="../pages/wiring.html" aria-current="page"' in pages["pages/wiring.html"]
    assert "https://example.org/pages/wiring.html" in pages["sitemap.xml"]


def test_links_lead_both_ways(log: Path) -> None:
    """By file name, from an entry to a page, from a page to an entry and to another page, `../pages/` or not."""
    pages = make(log)
    assert '<a href="../pages/wiring.html">here</a>' in pages["entries/2024-05-25-fitted.html"]
    page = pages["pages/specification.html"]
    assert '<a href="../entries/2024-05-18-pump.html">the pump</a>' in page
    assert '<a href="wiring.html">wiring</a>' in page


def test_a_page_shows_its_day_photo_and_paper(log: Path) -> None:
    """What stands in the text is not shown a second time; papers where they are public."""
    page = make(log)["pages/specification.html"]
    assert re.search(r'applies from <time datetime="2024-06-01">1 June 2024</time>', page)
    assert page.count('alt="The plate"') == 1
    assert '<a href="../papers/sheet.pdf">sheet.pdf</a>' in page
    closed = (log / "log.yaml").read_text(encoding="utf-8").replace("papers: shown", "papers: hidden")
    (log / "log.yaml").write_text(closed, encoding="utf-8")
    assert "sheet.pdf" not in make(log)["pages/specification.html"]


def test_before_its_day_there_is_no_page(log: Path) -> None:
    """Nor a word of it in the navigation of the others."""
    pages = make(log, datetime.date(2024, 5, 31))
    assert "pages/specification.html" not in pages
    assert "Specification" not in pages["index.html"] and "Wiring" in pages["index.html"]


def test_of_many_the_navigation_leads_to_their_list(log: Path) -> None:
    """It stands on every page, and has to stay short."""
    for number in range(MOST_IN_NAVIGATION - 1):
        (log / f"pages/more-{number}.md").write_text(f"# More {number}\n\nx\n", encoding="utf-8")
    pages = make(log)
    assert list_navigation(pages["index.html"])[-1] == ("pages.html", "Pages")
    listed = re.findall(r'<li><a href="(pages/[^"]+)">', pages["pages.html"])
    assert len(listed) == MOST_IN_NAVIGATION + 1 and listed[0] == "pages/specification.html"


@pytest.mark.parametrize("name", [path.removesuffix(".html") for _, path in SECTIONS] + ["pages", "to-do"])
def test_a_page_named_like_one_of_ours_is_told_once(log: Path, name: str) -> None:
    """Readers know where those are."""
    (log / f"pages/{name}.md").write_text("# X\n\nx\n", encoding="utf-8")
    run = run_stages(Run(folder=log, as_of=DAY), until="render")
    assert [(p.rule, p.severity, p.place.file) for p in run.problems if p.severity == "error"] == [
        ("page-name", "error", f"pages/{name}.md")
    ]
    assert run.problems[0].help == f"rename it, as in `pages/our-{name}.md`"


def test_a_link_to_a_page_that_is_not_there_is_told_once(log: Path) -> None:
    """With the nearest that is; the words stay."""
    (log / "pages/wiring.md").write_text("# Wiring\n\nSee [it](specifikation.md).\n", encoding="utf-8")
    run = run_stages(Run(folder=log, as_of=DAY), until="render")
    assert [str(problem.message) for problem in run.problems] == [
        "the link to `specifikation.md` leads nowhere on the site, so it is shown as plain text"
    ]
    assert run.problems[0].help == "did you mean `specification.md`?"
    assert run.problems[0].place.file == "pages/wiring.md" and run.problems[0].place.line == 3


def test_the_preview_follows_a_page(log: Path) -> None:
    """What it serves is what would be published, before and after a save."""
    site = open_site(log)
    for text in ("# Wiring & earth\n\nBrown is live.\n", "# Wires\n\nBlack is [earth](2024-05-25-fitted.md).\n"):
        (log / "pages/wiring.md").write_text(text, encoding="utf-8")
        site.refresh()
        files = publish(log)
        assert files is not None
        for path in ("pages/wiring.html", "pages/specification.html", "entries/2024-05-25-fitted.html", "index.html"):
            assert take(site, path) == read(files[path]), path
    site.end()


def test_a_page_is_sealed_proved_and_handed_over(log: Path, tmp_path: Path) -> None:
    """Its proof stands on it; the bag has it, and one changed byte of it is found."""
    assert not seal_log(log, date=DAY, reason=None, make_salt=count_salts()).problems
    page = make(log)["pages/wiring.html"]
    assert "As it was sealed on 1 July 2024" in page and 'id="proof-root"' in page
    assert hand_over(log, tmp_path / "bag", as_of=DAY).handover
    bag = tmp_path / "bag"
    assert (bag / "data/log/pages/wiring.md").read_bytes() == (log / "pages/wiring.md").read_bytes()
    report = verify_bag(bag, recheck)
    assert not report.failed, report.as_text()
    text = (bag / "data/log/pages/wiring.md").read_bytes()
    (bag / "data/log/pages/wiring.md").write_bytes(text.replace(b"Brown", b"Green"))
    told = verify_bag(bag, recheck).as_text()
    assert "data/log/pages/wiring.md: it is not the version that was last sealed" in told
    assert "data/site/pages/wiring.html: it is not what the entries make" in told


def test_a_page_can_be_withheld(log: Path, tmp_path: Path) -> None:
    """With its photos and the papers that it alone names; no page of the site speaks of it."""
    assert not seal_log(log, date=DAY, reason=None, make_salt=count_salts()).problems
    done = hand_over(log, tmp_path / "bag", as_of=DAY, withhold=("pages/specification.md",))
    assert done.handover is not None
    assert [held.path for held in done.handover.withheld] == [
        "pages/specification.md",
        "papers/sheet.pdf",
        "photos/specification/plate.png",
    ]
    assert not [p for p in (tmp_path / "bag/data/site").rglob("*.html") if "Specification" in p.read_text("utf-8")]
