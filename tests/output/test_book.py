"""The book as a PDF: read back by programs that did not write it, and made of nothing but what it was given.

The example is set once, and looked at in many ways; what is set again is a log of a few entries.
"""

from __future__ import annotations

import datetime
import logging
import re
import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import pypdf
import pytest

from buildlog.compute.figures import compute_figures
from buildlog.output.book import BASE, INSTALL, LIBRARIES, MARK, find_weasyprint, make_pdf
from buildlog.output.write import OutputRefused
from buildlog.photos.decode import BrokenPhoto, read_upright
from buildlog.read.reader import read_log
from tests.photos.test_decode import jpeg
from tests.render.test_canaries import CLOSED, find_marks, mark_private
from tests.test_cli import EXAMPLE, run
from tests.whole_log import AS_OF, PAPER_MARK, WholeLog, read_whole

DAY = datetime.date(2024, 11, 30)
pytestmark = pytest.mark.xdist_group("book")  # so that the example is set once


def ask(*command: str | Path) -> str:
    """What another program says of a file; it has to be content."""
    done = subprocess.run([*map(str, command)], capture_output=True, text=True, check=False, timeout=120)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


TOLD: dict[Path, str] = {}
"The page of HTML of which each of the example's books was set."


def set_example(out: Path, *options: str) -> Path:
    """The example's book; whoever set it had nothing to complain of, and it lies alone where it was wanted."""
    told: list[str] = []
    hears = logging.Handler()
    hears.emit = lambda record: told.append(record.getMessage())  # type: ignore[method-assign]

    def listen(html: str, *rest: Any, **more: Any) -> bytes:
        TOLD[out] = html
        return make_pdf(html, *rest, **more)

    logging.getLogger("weasyprint").addHandler(hears)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("buildlog.output.book.make_pdf", listen)
        result = run("book", EXAMPLE, "--out", out, "--as-of", DAY.isoformat(), *options)
    logging.getLogger("weasyprint").removeHandler(hears)
    assert (result.exit_code, result.output) == (0, f"written: {out}\n")
    assert told == []
    assert [path.name for path in out.parent.iterdir()] == [out.name]
    return out


@pytest.fixture(scope="session")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example's book on A4."""
    return set_example(tmp_path_factory.mktemp("bound") / "book.pdf")


@pytest.fixture(scope="session")
def letter(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same on sheets of 8.5 by 11 inches, where pages end elsewhere."""
    return set_example(tmp_path_factory.mktemp("letter") / "book.pdf", "--paper", "letter")


@pytest.fixture(params=["book", "letter"])
def bound(request: pytest.FixtureRequest) -> Path:
    """Each of both."""
    path: Path = request.getfixturevalue(request.param)
    return path


@cache
def read_sheets(book: Path, *options: str) -> tuple[str, ...]:
    """The text of each page, as poppler reads it in the order of the file."""
    return tuple(ask("pdftotext", *options, book, "-").split("\f")[:-1])


@cache
def open_pdf(book: Path) -> pypdf.PdfReader:
    return pypdf.PdfReader(book)


def join(text: str) -> str:
    """Words alone: lines are broken, and words at their ends."""
    return re.sub(r"[\s\u00ad‐-]+", "", text)


# ── the example ──────────────────────────────────────────────────────────────────────────────────────────────────


def test_other_programs_take_the_file(book: Path) -> None:
    """Its structure is right (ISO 32000, as qpdf checks it), its sheets are A4, and it is known what it is."""
    assert "No syntax or stream encoding errors found" in ask("qpdf", "--check", book)
    told = dict(re.findall(r"^([\w ]+): +(.*)$", ask("pdfinfo", "-isodates", book), re.MULTILINE))
    assert told["Page size"] == "595.276 x 841.89 pts (A4)"
    assert (told["Title"], told["Author"]) == ("The Sedge: an invented field truck, put back to work", "J. Tallow")
    assert told["CreationDate"][:10] == told["ModDate"][:10] == DAY.isoformat()
    assert (told["Tagged"], told["JavaScript"], told["Encrypted"]) == ("yes", "no", "no")
    fonts = [line.split() for line in ask("pdffonts", book).splitlines()[2:]]
    assert fonts and {line[-5] for line in fonts} == {"yes"}, "every font is inside"


def test_it_says_that_it_is_made_to_be_kept(book: Path) -> None:
    """PDF/A, part 3, level A (ISO 19005-3, 6.6.4), in its metadata, with a language and a profile for its colours."""
    catalog = open_pdf(book).trailer["/Root"]
    assert re.search(rb'pdfaid:part="3" pdfaid:conformance="A"', catalog["/Metadata"].get_data())
    assert catalog["/Lang"] == "en-GB"
    assert catalog["/OutputIntents"][0]["/S"] == "/GTS_PDFA1"
    assert catalog["/MarkInfo"]["/Marked"]


def test_no_page_is_empty(bound: Path) -> None:
    """Each has more on it than its heads and its number."""
    for number, (text, page) in enumerate(zip(read_sheets(bound), open_pdf(bound).pages, strict=True), 1):
        assert len(text.split()) > 30 or page.images, number


def test_the_contents_tell_the_truth(book: Path) -> None:
    """On the page that the contents name, the entry stands with its title; and every entry is named."""
    sheets = read_sheets(book)
    told = re.findall(r"^ *(\d+) +(\S.*?)[ .]*\.[ .]+(\d+)$", read_sheets(book, "-layout")[2], re.MULTILINE)
    assert [int(number) for number, _, _ in told] == list(range(1, 43))
    for _, title, page in told:
        assert join(title) in join(sheets[int(page) - 1]), title
    chapters = re.findall(r"^(\S.*?)[ .]*\.[ .]+(\d+)$", read_sheets(book, "-layout")[2], re.MULTILINE)
    assert len(chapters) == 8
    for title, page in chapters:
        assert join(sheets[int(page) - 1]).count(join(title)) >= 2, "in its head and above it"


def test_bookmarks_lead_to_the_same_pages(book: Path) -> None:
    """A program that shows the outline has the chapters, and below them each entry, in order."""
    pdf = open_pdf(book)
    [top, *chapters] = [one for one in pdf.outline if not isinstance(one, list)]
    assert top.title == "The Sedge"
    work = next(at for at, one in enumerate(pdf.outline) if not isinstance(one, list) and one.title == "The work")
    entries: Any = pdf.outline[work + 1]
    assert len(entries) == 42 and len(chapters) == 10
    for one in entries:
        assert join(one.title) in join(read_sheets(book)[pdf.get_destination_page_number(one)])


def test_every_cost_stands_once(book: Path) -> None:
    """The lines of the ledger, each on one line of one page, add up to what was spent less what came back by sales."""
    reading = read_log(EXAMPLE)
    assert reading.log
    costs = compute_figures(reading.log, DAY).costs
    text = "\n".join(read_sheets(book, "-layout"))
    ledger = text[text.index("Month by month") : text.index("Committed: ordered and not paid")]
    lines = re.findall(r"^ *\d{1,2} [A-Z][a-z]+ 20\d\d .*?\d+ +(−?)£([\d,]+\.\d\d)$", ledger, re.MULTILINE)
    assert len(lines) == len(costs.lines) + len(costs.recovered_lines)
    amounts = [Decimal(amount.replace(",", "")) * (-1 if sign else 1) for sign, amount in lines]
    assert sum(amounts) == costs.net.amount


# ── where pages end, on both sheets ──────────────────────────────────────────────────────────────────────────────
# By the tags of the file (ISO 32000-2, 14.7 and 14.8): each is on one page; what goes on over a page has one on either.


@dataclass(frozen=True)
class Tag:
    kind: str
    "as it is called in the file, `H3`, `TR`"
    page: int
    "from 1; 0 where nothing of it is on any page"
    kinds: tuple[str, ...]
    "of what it is in, from the outside, and its own"
    beside: tuple[tuple[str, ...], ...]
    "for each of `kinds`, what else is directly in the same"
    shows: bool
    "whether words or a picture are directly in it"


@cache
def list_tags(book: Path) -> tuple[Tag, ...]:
    """All, in the order in which they are read out."""
    pdf = open_pdf(book)
    numbers = {page.indirect_reference.idnum: at for at, page in enumerate(pdf.pages, 1) if page.indirect_reference}

    def list_inside(element: Any) -> list[Any]:
        inside = element.get("/K", [])
        pieces = inside if isinstance(inside, list) else [inside]
        return [piece.get_object() for piece in pieces]

    def walk(element: Any, kinds: tuple[str, ...], beside: tuple[tuple[str, ...], ...]) -> Iterator[Tag]:
        inside = list_inside(element)
        children = [piece for piece in inside if isinstance(piece, dict) and "/S" in piece]
        siblings = tuple(str(child["/S"])[1:] for child in children)
        for child in children:
            kind = str(child["/S"])[1:]
            page = numbers[child.raw_get("/Pg").idnum] if "/Pg" in child else 0
            shows = any(isinstance(piece, int) for piece in list_inside(child))
            tag = Tag(kind, page, (*kinds, kind), (*beside, siblings), shows)
            yield tag
            yield from walk(child, tag.kinds, tag.beside)

    return tuple(walk(pdf.trailer["/Root"]["/StructTreeRoot"], (), ()))


def test_no_heading_is_left_behind(bound: Path) -> None:
    """What is read last on a page is in no heading, no head of a table or name of one, and no head of an entry."""
    tags = list_tags(bound)
    assert sum(tag.kind in HEADINGS for tag in tags) > 80
    last = {tag.page: tag for tag in tags if tag.shows}
    assert sorted(last) == [*range(1, len(open_pdf(bound).pages) + 1)]
    for number, tag in last.items():
        assert not {*HEADINGS, "THead"} & {*tag.kinds}, number
        assert ("Table", "Caption") not in zip(tag.kinds, tag.kinds[1:], strict=False), number
        # An entry's number, its title and the table of its facts are one block.
        assert ("P", "H3", "Table") not in tag.beside, number


HEADINGS = ("H1", "H2", "H3", "H4", "H5", "H6")


def test_no_row_is_cut(bound: Path) -> None:
    """There are as many rows in the file as in the page that it was set of: one that is cut is there twice."""
    page = re.sub("<thead>.*?</thead>", "", TOLD[bound], flags=re.DOTALL)  # as heads are said again on each page
    rows = [tag for tag in list_tags(bound) if tag.kind == "TR" and "THead" not in tag.kinds]
    assert len(rows) == len(re.findall(r"<tr\b", page)) > 700


def test_pictures_are_with_their_captions(bound: Path) -> None:
    """In one tag, which is on one page; the cover's has none."""
    [cover, *pictures] = [tag for tag in list_tags(bound) if tag.kind == "Figure"]
    assert len(pictures) > 20 and cover.page == 1
    assert [tag.page for tag in pictures if tag.beside[-1] != ("Figure", "Caption")] == []
    assert TOLD[bound].count("<img ") == len(pictures) + 1


def test_pages_are_filled(bound: Path) -> None:
    """Words, or the caption of a picture, stand below the first fifth of each page, also where a chapter ends: behind
    less the next one begins on the same page. Nor do pages begin with the end of something: a sum, or what is said of
    an entry's seal."""
    pages = [*ElementTree.fromstring(ask("pdftotext", "-bbox", bound, "-")).iter(f"{XHTML}page")]
    for number, page in enumerate(pages, 1):
        height = float(page.get("height", ""))
        words = [word for word in page.iter(f"{XHTML}word") if HEAD < float(word.get("yMin", "")) < height - FOOT]
        filled = (max((float(word.get("yMax", "")) for word in words), default=HEAD) - HEAD) / height
        assert filled > 0.2 or (number == len(pages) and len({word.get("yMin") for word in words}) >= 3), number
        begins = " ".join(word.text or "" for word in words[:4])
        assert not begins.startswith(("Delivered", "Spent", "As it was sealed")), number


XHTML = "{http://www.w3.org/1999/xhtml}"
HEAD, FOOT = 21 / 25.4 * 72, 19 / 25.4 * 72
"Margins of a sheet, in points, in which its running head and its number stand."


def test_an_entry_is_read_in_order(book: Path) -> None:
    """Number, title, facts, story, and what was done: as it is read out."""
    text = "".join(read_sheets(book))
    at = [text.index(piece) for piece in ("Cutting back to metal", "17 February 2024", "Card patterns first")]
    at.append(text.index("Bought from Anvil End", at[-1]) if "Bought from Anvil End" in text else at[-1] + 1)
    assert at == sorted(at)


def test_the_index_names_pages_on_which_entries_begin(book: Path) -> None:
    """Each page in the index of parts is one on which an entry is told that begins there."""
    text = "\n".join(read_sheets(book))
    index = text[text.index("Index of parts") : text.index("Index by number")]
    begins = {int(page) for page in re.findall(r"(\d+)$", read_sheets(book, "-layout")[2], re.MULTILINE)}
    named = [int(n) for pages in re.findall(r"(?:fitted|shelf|post|machine|gone|sold)[^\n]*? ((?:\d+, )*\d+)$", index,
                                            re.MULTILINE) for n in pages.split(", ")]  # fmt: skip
    assert len(named) > 40
    assert set(named) <= begins


def test_pictures_are_large_and_say_nothing_of_where_they_were_taken(book: Path) -> None:
    """Photos have the pixels that printing needs, 250 an inch, and not twice as many; and neither Exif nor XMP beside
    them (CIPA DC-008, 4.7.2)."""
    data = book.read_bytes()
    assert data.count(b"\xff\xd8\xff") >= 20
    assert b"Exif\0\0" not in data and b"http://ns.adobe.com/xap/1.0/\0" not in data
    dense = [int(line.split()[12]) for line in ask("pdfimages", "-list", book).splitlines()[2:]]
    assert len(dense) >= 20 and min(dense) >= 250 and max(dense) <= 500


# ── a small log, set twice ───────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> SimpleNamespace:
    """A log with a mark in every private field and all closed, on Letter; and the same with its papers, attached."""
    log, marks = mark_private(read_whole())
    top = tmp_path_factory.mktemp("small")
    made = SimpleNamespace(top=top, marks=marks)
    for name, public, options in (("closed", CLOSED, ()), ("opened", CLOSED | {"papers": "shown"}, ("--attach",))):
        told = WholeLog(dict(log.settings) | {"public": public}, log.entries, log.bodies, log.pages)
        folder, out = told.write(top / name), top / f"{name}.pdf"
        result = run("book", folder, "--out", out, "--as-of", AS_OF, "--paper", "letter", *options)
        assert result.exit_code == 0, result.output
        setattr(made, name, out)
    return made


def test_what_is_closed_is_in_no_text_of_the_file(small: SimpleNamespace) -> None:
    """Neither on a page nor in its metadata, outline or attachments; on sheets of 8.5 by 11 inches."""
    qdf = small.top / "plain.pdf"
    ask("qpdf", "--qdf", "--object-streams=disable", small.closed, qdf)
    assert find_marks({"pages": "\n".join(read_sheets(small.closed)).encode()}, small.marks) == {}
    # A number may be a place on a page; words are none.
    words = {mark: opener for mark, opener in small.marks.items() if mark.lower().startswith("qx")}
    assert len(words) > 20 and find_marks({"file": qdf.read_bytes()}, words) == {}
    assert "612 x 792 pts (letter)" in ask("pdfinfo", small.closed)
    assert open_pdf(small.closed).attachments == {}
    assert "No syntax or stream encoding errors found" in ask("qpdf", "--check", small.closed)


def test_papers_go_along_where_they_are_opened(small: SimpleNamespace) -> None:
    """Each paper is inside as it lies in the log, dated by the book's day, and related to it (ISO 19005-3, 6.8)."""
    pdf = open_pdf(small.opened)
    inside = dict(pdf.attachments)
    papers = {path.name: path.read_bytes() for path in (small.top / "opened" / "papers").iterdir()}
    assert {name: data[0] for name, data in inside.items()} == {name: papers[name] for name in inside}
    assert [name for name in papers if name not in inside and not name.startswith("glass")] == []  # no claim names it
    assert any(PAPER_MARK in data for data in papers.values())
    assert len({one.idnum for one in pdf.trailer["/Root"]["/AF"]}) == len(inside)  # WeasyPrint names each twice
    assert {one.get_object()["/AFRelationship"] for one in pdf.trailer["/Root"]["/AF"]} == {"/Supplement"}
    text = join("".join(read_sheets(small.opened)))
    assert [name for name in inside if join(name) not in text] == []


def test_the_same_log_and_day_give_the_same_bytes(small: SimpleNamespace) -> None:
    """Set again over the first one, which is known as a book; whatever else stands there is left alone."""
    before = small.opened.read_bytes()
    command = ("book", small.top / "opened", "--as-of", AS_OF, "--paper", "letter", "--attach", "--out")
    assert run(*command, small.opened).exit_code == 0
    assert small.opened.read_bytes() == before
    assert MARK in before
    other = small.top / "invoice.pdf"
    shutil.copyfile(EXAMPLE / "papers/ae-771.pdf", other)
    kept = other.read_bytes()
    result = run(*command, other)
    assert (result.exit_code, other.read_bytes()) == (2, kept)
    assert "is there already and is no book; choose another name" in result.output
    result = run(*command, small.top / "opened" / "papers" / "new.pdf")
    assert (result.exit_code, "is where the log keeps its own files" in result.output) == (2, True)
    result = run(*command, small.top / "book.txt")
    assert (result.exit_code, "call it `book.pdf` or `book.html`" in result.output) == (2, True)


# ── what is fetched ──────────────────────────────────────────────────────────────────────────────────────────────

ASKING = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>x</title>
<link rel="stylesheet" href="https://example.org/a.css"><link rel="attachment" href="file:///etc/passwd">
<base href="file:///etc/">
<style>@import "file:///etc/passwd"; @import url(https://example.org/b.css);
@font-face {font-family: y; src: url(https://example.org/c.woff2)}
body {background: url(https://example.org/d.png); font-family: y} li {list-style-image: url(file:///etc/e.png)}
h1::before {content: url("data:image/png;base64,AAAA")} </style></head><body><h1>Words</h1><ul><li>a</li></ul>
<img src="https://example.org/f.png"><img src="file:///etc/passwd"><img src="passwd"><img src="../../etc/passwd">
<object data="https://example.org/g.png"></object><embed src="https://example.org/h.svg">
<svg width="10" height="10"><image href="https://example.org/i.png" width="10" height="10"/></svg>
<a rel="attachment" href="file:///etc/hosts">attached</a><a href="file:///etc/passwd">a link</a></body></html>"""
OPENED: list[str] = []
sys.addaudithook(lambda event, arguments: OPENED.append(str(arguments[0])) if event in ("open", "urllib.Request")
                 and LISTENING else None)  # fmt: skip
LISTENING: list[bool] = []


def test_nothing_is_fetched(monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture) -> None:
    """Pictures, sheets, fonts and attachments of the web and of this disk: each is asked for, and none is opened."""

    def refuse(*arguments: Any) -> None:
        raise AssertionError(f"a connection to {arguments[1:]}")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    LISTENING.append(True)
    made = make_pdf(ASKING, {}, {}, seed="x", day=DAY)
    LISTENING.clear()
    assert made.startswith(b"%PDF-1.7")
    assert [name for name in OPENED if "passwd" in name or "example.org" in name or name.startswith("/etc/h")] == []
    asked = [record.getMessage() for record in caplog.records if "holds all that it shows" in record.getMessage()]
    # Of attachments and fonts it tells that they failed, and not their names.
    wanted = "a.css b.css d.png e.png f.png g.png h.svg i.png passwd data:image".split()
    assert [name for name in wanted if not any(name in told for told in asked)] == []
    assert sum("Failed to load attachment" in told for told in asked) == 2
    assert "Font-face 'y' cannot be loaded" in [record.getMessage() for record in caplog.records]
    assert b"root:" not in made and BASE.encode() not in made


# ── where the program that sets pages is not there ───────────────────────────────────────────────────────────────


def test_a_picture_cut_short_is_refused_as_ever(tmp_path: Path) -> None:
    """Where the program that sets pages is loaded, too: it has Pillow take half a picture for a whole one."""
    find_weasyprint()
    photo = tmp_path / "cut.jpg"
    photo.write_bytes(jpeg()[:-200])  # behind its head, in the picture itself
    with pytest.raises(BrokenPhoto, match="cut short"):
        read_upright(photo, (), edge=1600)


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (ImportError("no module"), f"PDFs are made by WeasyPrint, which is not installed; install: {INSTALL}"),
        (OSError("no library"), f"WeasyPrint does not find Pango, by which it sets text; as in: {LIBRARIES}"),
    ],
)
def test_without_it_one_sentence_is_told(
    error: Exception, words: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Exit code 2, the command that installs what is missing, no file; a page for a browser is made all the same."""

    def fail(name: str) -> None:
        raise error

    monkeypatch.setattr("buildlog.output.book.importlib.import_module", fail)
    with pytest.raises(OutputRefused):
        find_weasyprint()
    log = read_whole().write(tmp_path / "log")
    result = run("book", log, "--out", tmp_path / "book.pdf", "--as-of", AS_OF)
    told = " ".join(result.output.split())
    assert (result.exit_code, words in told) == (2, True), told
    monkeypatch.undo()
    result = run("book", log, "--out", tmp_path / "book.html", "--as-of", AS_OF)
    assert result.exit_code == 0, result.output
    assert sorted(path.name for path in tmp_path.iterdir()) == ["book.html", "log"]
    page = (tmp_path / "book.html").read_text("utf-8")
    assert page.count('src="data:image/') == page.count("<img ") > 2
    assert run("book", log, "--out", tmp_path / "book.html", "--attach").exit_code == 2
