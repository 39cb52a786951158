"""Standing pages as files: what is read of them, and one clear problem for each that will not do."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from buildlog.read.files import LogFiles
from buildlog.read.reader import LONGEST_STORY, Reading, read_files, read_log
from tests.support import SETTINGS, list_problems

ENTRY = "---\ndate: 2024-05-18\ntitle: Pump off\n---\nOff.\n"


def read(pages: dict[str, str], *, entries: dict[str, str] | None = None) -> Reading:
    """A log of one entry and these pages."""
    return read_files(LogFiles(settings=SETTINGS, entries=entries or {"off.md": ENTRY}, pages=pages))


def tell(reading: Reading) -> list[str]:
    return [" | ".join(rows) for rows in list_problems(reading.problems)]


def test_a_heading_and_a_text_are_enough() -> None:
    """Without front matter the first heading is the title; places in the text keep their lines."""
    reading = read({"wiring.md": "# Wiring colours\n\nBrown is live.\n"})
    assert reading.log is not None and tell(reading) == []
    [page] = reading.log.pages
    assert (page.name, page.title, page.body, page.body_line) == ("wiring", "Wiring colours", "\nBrown is live.\n", 2)


def test_front_matter_says_the_rest() -> None:
    """Title, order, day, papers and photos."""
    head = "title: Wiring\norder: 2\ndate: 2024-06-01\nphotos: [{file: a.jpg, says: Loom, hide: [[0, 0, 1, 1]]}]"
    reading = read({"wiring.md": f"---\n{head}\n---\nBrown is live.\n"})
    assert reading.log is not None
    [page] = reading.log.pages
    assert (page.title, page.order, page.date, page.body_line) == ("Wiring", 2, datetime.date(2024, 6, 1), 7)
    assert [(photo.file, photo.says, len(photo.hide)) for photo in page.photos] == [("a.jpg", "Loom", 1)]


def test_the_order_is_the_owners_then_by_name() -> None:
    """Those with an `order` first, smallest first; the others by their file names."""
    pages = {name: f"# {name}\n\nx\n" for name in ("b.md", "a.md")}
    pages |= {f"{name}.md": f"---\ntitle: T\norder: {order}\n---\nx\n" for name, order in (("c", 10), ("d", 9))}
    reading = read(pages)
    assert reading.log is not None
    assert [page.name for page in reading.log.pages] == ["d", "c", "a", "b"]


def test_a_page_holds_from_its_day() -> None:
    """On a site as of an earlier day there is none; one without a day is always there."""
    reading = read({"a.md": "# A\n\nx\n", "b.md": "---\ntitle: B\ndate: 2024-06-01\n---\nx\n"})
    assert reading.log is not None
    on = {day: reading.log.list_pages(datetime.date(2024, *day)) for day in ((5, 31), (6, 1))}
    assert [[page.name for page in on[day]] for day in on] == [["a"], ["a", "b"]]


BAD: dict[str, tuple[str, str]] = {
    "empty": ("\n\n", "missing-part: this file is empty | help: start with `# Title`, or delete the file"),
    "a title alone": (
        "# Wiring\n\n",
        "missing-part: there is nothing on this page but its title | help: write below its title, or list `photos:` or"
        " `papers:`",
    ),
    "no title": (
        "Brown is live.\n",
        "missing-part: this page has no title | help: write `title: …`, or start the text with `# Title`",
    ),
    "no end": (
        "---\ntitle: Wiring\n\nBrown.\n",
        "missing-part: the front matter has no end | help: put a line `---` below its last key",
    ),
    "an unknown key": (
        "---\ntitel: Wiring\n---\nBrown.\n",
        "unknown-key: the key `titel` is not known here | help: did you mean `title`?",
    ),
    "too long": (
        "# Wiring\n" + "x" * LONGEST_STORY,
        f"too-large: the text has {LONGEST_STORY + 9} characters; the limit is {LONGEST_STORY} | help: split it into"
        " several pages, and put anything that is not a text, such as a table of readings, into `papers/`",
    ),
    "a paper that is not there": (
        "---\ntitle: Wiring\npapers: [papers/x.pdf]\n---\nBrown.\n",
        "missing-paper: there is no file `papers/x.pdf` among the papers | help: put the scan there, or remove `paper:`"
        " until you have it",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_each_mistake_is_told_once(case: str) -> None:
    """What is wrong, and what to type; nothing else is told beside it."""
    text, wanted = BAD[case]
    reading = read({"wiring.md": text})
    told = [f"{problem.rule}: {problem.message} | help: {problem.help}" for problem in reading.problems]
    assert told == [wanted]
    assert {problem.place.file for problem in reading.problems} == {"pages/wiring.md"}


NAMES = {
    ("Wiring.md",): "pages/Wiring.md:1:1: error: `Wiring.md` cannot be a page's file name: it becomes an address"
    " [entry-name] | help: rename it to `wiring.md`: small letters, digits and dashes",
    ("con.md",): "pages/con.md:1:1: error: `con.md` cannot be a page's file name: it is a device on some systems"
    " [entry-name] | help: rename it: small letters, digits and dashes",
    ("Wiring.md", "wiring.md"): "pages/wiring.md:1:1: error: `pages/Wiring.md` and `pages/wiring.md` are one file on"
    " some systems [same-name-twice] | help: join the two, or rename one of them",
    ("off.md",): "pages/off.md:1:1: error: there is an entry `off.md` too, and their photos would share a folder"
    " [page-name] | help: rename the page, and its folder under `photos/`",
    ("plate.jpg",): "pages/plate.jpg:1:1: warning: `plate.jpg` is not a page, so it is not read [stray-file]"
    " | help: move it out of `pages/`",
}


@pytest.mark.parametrize("names", NAMES, ids="+".join)
def test_a_name_that_will_not_do_is_told_once(names: tuple[str, ...], tmp_path: Path) -> None:
    """One that is no address, a device, one file with another on some systems, an entry's too, or no page."""
    (tmp_path / "entries").mkdir()
    (tmp_path / "pages").mkdir()
    (tmp_path / "log.yaml").write_text(SETTINGS, encoding="utf-8")
    (tmp_path / "entries/off.md").write_text(ENTRY, encoding="utf-8")
    for name in names:
        (tmp_path / "pages" / name).write_text("# Wiring\n\nBrown.\n", encoding="utf-8")
    assert tell(read_log(tmp_path)) == [NAMES[names]]


def test_pictures_of_a_page_are_looked_for_like_an_entrys() -> None:
    """One that is not there, and one that nobody lists."""
    page = "---\ntitle: Wiring\nphotos: [{file: loom.jpg, says: Loom}]\n---\nBrown.\n"
    files = LogFiles(settings=SETTINGS, entries={}, pages={"wiring.md": page}, photos={"wiring": ("lom.jpg",)})
    assert tell(read_files(files)) == [
        "pages/wiring.md:2:1: warning: 1 picture in `photos/wiring/` not listed, so not published: `lom.jpg`"
        " [unlisted-photo] | help: write `- {file: lom.jpg, says: …}` under `photos:`",
        "pages/wiring.md:3:17: warning: there is no picture `loom.jpg` in `photos/wiring/` [missing-photo]"
        " | at photos[0].file | help: did you mean `lom.jpg`?",
    ]
