"""The book as one page: what is in it, what `public:` closes, where links lead, and whether its theme is its own."""

from __future__ import annotations

import datetime
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import html5lib
import pytest

import buildlog
from buildlog.binding import BINDING, Binding
from buildlog.render.book import POLICY, SHEETS, shift_headings
from buildlog.render.theme import find_themes
from buildlog.stages import run_stages
from tests.render.test_canaries import CLOSED, PRIVATE, find_marks, mark_private
from tests.test_cli import EXAMPLE, run
from tests.test_injection import write_log
from tests.whole_log import AS_OF, PHOTO_MARK, WholeLog, read_whole

HOSTILE = '"><img src=x onerror=alert(1)><script>alert(1)</script>'


def bind(log: Path, out: Path, day: datetime.date = AS_OF, **asked: Any) -> Binding:
    """The run as far as the page."""
    made = run_stages(Binding(folder=log, out=out, as_of=day, **asked), until="render", instead=BINDING)
    assert made.book, made.problems
    return made


def read_page(made: Binding) -> str:
    assert made.book
    return made.book.html


def parse(page: str) -> Any:
    return html5lib.parse(page, treebuilder="lxml", namespaceHTMLElements=False)


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The example's book for a browser."""
    return read_page(bind(EXAMPLE, tmp_path_factory.mktemp("book") / "book.html", datetime.date(2024, 11, 30)))


def test_every_entry_is_told_once_and_in_order(example: str) -> None:
    """Each entry has its number and a line in the contents; nothing else is called an entry."""
    page = parse(example)
    files = sorted(path.stem for path in (EXAMPLE / "entries").glob("*.md"))
    assert len(page.findall(".//article[@aria-labelledby]")) == len(files) + 2  # and two standing pages
    told = [e.get("id") for e in page.iter("h3") if (e.get("id") or "").startswith("entry-")]
    assert told == [f"entry-{n}" for n in range(1, len(files) + 1)]
    listed = [a.get("href") for a in page.xpath("//nav//a")]
    assert [href for href in listed if href.startswith("#entry-")] == [f"#{name}" for name in told]


@pytest.mark.parametrize("paged", [False, True])
def test_every_link_has_its_place(paged: bool, example: str, tmp_path: Path) -> None:
    """Every anchor stands once, and a link inside the book leads to one; none leads to a file of the site."""
    page = parse(read_page(bind(EXAMPLE, tmp_path / "book.pdf", datetime.date(2024, 11, 30))) if paged else example)
    anchors = [e.get("id") for e in page.iter() if e.get("id")]
    assert len(anchors) == len(set(anchors))
    inside = [a.get("href") for a in page.iter("a") if not re.match("https?:|mailto:", a.get("href"))]
    assert len(inside) > 300
    assert {href for href in inside if href.removeprefix("#") not in anchors or href[0] != "#"} == set()


def test_headings_go_down_one_by_one(example: str) -> None:
    """A rank is never skipped (WCAG 2.2, technique G141), a story's own headings included."""
    ranks = [int(e.tag[1]) for e in parse(example).iter() if re.fullmatch("h[1-6]", str(e.tag))]
    assert ranks[0] == 1 and ranks.count(1) == 1
    assert [pair for pair in pairwise(ranks) if pair[1] > pair[0] + 1] == []
    assert shift_headings("<h2>A</h2><h5>B</h5><p>&lt;h2&gt;") == "<h4>A</h4><h6>B</h6><p>&lt;h2&gt;"


def test_a_page_for_a_browser_asks_for_nothing(example: str) -> None:
    """Its policy allows nothing but what is inside, and nothing in it is a script or comes from elsewhere."""
    page = parse(example)
    assert page.find(".//meta[@http-equiv]").get("content") == POLICY
    assert not page.xpath("//script|//link|//iframe|//object|//embed|//@style|//@srcset")
    assert not page.xpath("//@*[starts-with(name(), 'on')]")


@pytest.mark.parametrize("opened", [None, "masked", *(how for how in PRIVATE if how != "never")])
def test_only_what_is_opened_gets_in(opened: str | None, tmp_path: Path) -> None:
    """With everything closed no private mark is in the page; each key opens its own fields and no other."""
    log, marks = mark_private(read_whole())
    public = dict(CLOSED)
    if opened == "masked":
        public |= {"vin": "masked", "registration": "masked"}
    elif opened:
        key, _, how = opened.partition(": ")
        public[key] = how
    told = WholeLog(dict(log.settings) | {"public": public}, log.entries, log.bodies, log.pages)
    made = bind(told.write(tmp_path / "log"), tmp_path / "book.pdf")
    assert made.book
    found = find_marks({"book": made.book.html.encode()}, marks)
    allowed = {opened, "prices: totals"} if opened == "prices: shown" else {opened}
    assert {mark for mark in found if marks[mark] not in allowed} == set()
    assert opened in (None, "masked") or {marks[mark] for mark in found} == allowed, "the marks can be found"
    assert bool(made.book.papers) == (opened == "papers: shown")
    assert not [name for name, picture in made.book.pictures.items() if PHOTO_MARK in picture.file.read_bytes()]


def test_hostile_words_stay_words(tmp_path: Path) -> None:
    """What looks like markup in any text of the owner's is shown as it was typed, and becomes no element."""
    page = parse(read_page(bind(write_log(tmp_path / "log", HOSTILE), tmp_path / "book.html")))
    assert not page.xpath("//script|//@onerror|//img[@src='x']")
    assert "".join(page.getroot().itertext()).count("<script>alert(1)</script>") > 50


def test_the_book_shares_no_template_with_the_margin() -> None:
    """No file has a name of the other theme's, and no line or sentence of a template stands in both."""
    book, margin = (find_themes() / name for name in ("book", "margin"))
    assert {p.name for p in book.iterdir() if p.is_file()} & {p.name for p in margin.iterdir()} == {"theme.yaml"}
    assert {name for names in SHEETS.values() for name in names} <= {p.name for p in book.iterdir()}

    def read(theme: Path) -> set[str]:
        text = "\n".join(path.read_text("utf-8") for path in theme.glob("*.html"))
        lines = {line.strip() for line in text.split("\n")}
        # Words between what is marked up or filled in.
        lines |= {" ".join(piece.split()) for piece in re.split(r"<[^>]*>|\{[%{#].*?[#%}]\}", text, flags=re.DOTALL)}
        return {line for line in lines if len(re.sub(r"\W", "", line)) >= 24 and not line.startswith(("{%", "{{"))}

    assert len(read(book)) > 60 and len(read(margin)) > 60
    assert read(book) & read(margin) == set()


def test_the_guide_shows_what_is_told(tmp_path: Path) -> None:
    """The commands of the guide's page and their answers; the PDF is set in `tests/output/test_book.py`."""
    page = (Path(buildlog.__file__).parent / "guide/book.md").read_text("utf-8")
    told = re.findall(r"^\$ buildlog (.+)\n(.+)$", page, re.MULTILINE)
    assert [command.split()[3] for command, _ in told] == ["sedge.pdf", "sedge.html"]
    for command, answer in told[1:]:
        words = [{"example_project": str(EXAMPLE), "sedge.html": str(tmp_path / "sedge.html")}.get(w, w) for w in
                 command.split()]  # fmt: skip
        result = run(*words)
        assert (result.exit_code, result.output) == (0, answer.replace("sedge", str(tmp_path / "sedge")) + "\n")
    assert told[0][1] == "written: sedge.pdf"
