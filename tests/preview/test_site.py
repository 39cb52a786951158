"""What the preview makes is what would be published: after any change, whatever was kept from before."""

from __future__ import annotations

import datetime
import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.preview.site import PreviewSite
from buildlog.render.pages.photos import PATH as TONES
from tests.photos.pictures import save
from tests.preview.logs import DAY, ENTRIES, SETTINGS, look, make_log, open_site, publish, read, take, write_entry

PUMP, FITTED, BRAKES = ENTRIES
Edit = Callable[[Path], object]


def compare(site: PreviewSite, log: Path, day: datetime.date = DAY) -> list[str]:
    """Paths at which the preview has another file than publishing would write; a log with an error has none."""
    files = publish(log, day)
    wrong = [path for path, content in (files or {}).items() if path != TONES and take(site, path) != read(content)]
    # The sheet of colours names all that there may be, and publishing those that there are.
    shown = set(read(files[TONES]).splitlines()) if files else set()
    return wrong + [line.decode() for line in shown - set(read(site.answer(TONES).content).splitlines())]


def swap(name: str, old: str, new: str) -> Edit:
    def edit(log: Path) -> None:
        path = log / name
        if path.exists():
            path.write_text(path.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")

    return edit


def entry(name: str, number: int) -> Edit:
    head, story = ENTRIES[name]
    return lambda log: write_entry(log, name, head.replace("hours: ", f"hours: {number}"), story + f"Word {number}.\n")


def move(log: Path) -> None:
    if (log / f"entries/{FITTED}.md").exists():
        os.replace(log / f"entries/{FITTED}.md", log / "entries/2024-05-25-other.md")


def theme(log: Path) -> None:
    (log / "theme").mkdir(exist_ok=True)
    (log / "theme/front.html").write_text(
        '{% extends "margin/front.html" %}{% block scripts %}<!-- own -->{% endblock %}'
    )


EDITS: dict[str, Edit] = {
    "words": swap(f"entries/{BRAKES}.md", "New pipes", "Old pipes"),
    "words of the pump": entry(PUMP, 1),
    "hours": entry(BRAKES, 2),
    "a price": swap(f"entries/{PUMP}.md", "61.00", "62.50"),
    "lines moved down": swap(f"entries/{PUMP}.md", "hours:", "# a remark\nhours:"),
    "first heading as title": swap(f"entries/{FITTED}.md", "title: Fitted\n", ""),
    "heading": swap(f"entries/{FITTED}.md", "---\nSee", "---\n# Fitted at last\n\nSee"),
    "other heading": swap(f"entries/{FITTED}.md", "at last", "after all"),
    "an entry gone": lambda log: (log / f"entries/{BRAKES}.md").unlink(missing_ok=True),
    "an entry come": lambda log: write_entry(
        log, "2024-06-10-new", "date: 2024-06-10\ntitle: New\nhours: 1", "More.\n"
    ),
    "an entry to come": lambda log: write_entry(
        log, "2024-08-01-later", "date: 2024-08-01\ntitle: Later\nhours: 5", "![](x.png)\n"
    ),
    "an entry renamed": move,
    "an error": swap(f"entries/{PUMP}.md", "hours: ", "hours: x"),
    "the error mended": swap(f"entries/{PUMP}.md", "hours: x", "hours: "),
    "a system": swap("log.yaml", "fuel: Fuel", "fuel: Diesel"),
    "prices hidden": swap("log.yaml", "prices: shown", "prices: hidden"),
    "language": swap("log.yaml", "site: {", "site: {language: de-DE, "),
    "settings as before": lambda log: (log / "log.yaml").write_text(SETTINGS),
    "a photo exchanged": lambda log: save(log / f"photos/{PUMP}/seal.png", "AC", cell=25),
    "a photo gone": lambda log: (log / f"photos/{PUMP}/bench.png").unlink(missing_ok=True),
    "a template": theme,
    "a template gone": lambda log: shutil.rmtree(log / "theme", ignore_errors=True),
}


@settings(max_examples=12)
@given(st.lists(st.sampled_from([*EDITS]), min_size=1, max_size=5))
def test_after_any_edits_it_is_what_would_be_published(names: list[str]) -> None:
    """Every file, page by page and picture by picture, after each edit of a row of them."""
    with tempfile.TemporaryDirectory() as folder:
        log = make_log(Path(folder) / "log")
        site = open_site(log)
        assert compare(site, log) == []
        for name in names:
            EDITS[name](log)
            site.refresh()
            assert compare(site, log) == [], name


@pytest.mark.parametrize("name", EDITS)
def test_each_edit_is_seen(name: str, tmp_path: Path) -> None:
    """None of the edits above is without effect, where it can have one; then the row of them proves something."""
    log = make_log(tmp_path / "log")
    needs = {
        "the error mended": "an error",
        "other heading": "heading",
        "a template gone": "a template",
        "settings as before": "a system",
    }
    if name in needs:
        EDITS[needs[name]](log)
    site = open_site(log)
    before, version = {path: site.answer(path) for path in (publish(log) or {"index.html": b""})}, site.version
    EDITS[name](log)
    site.refresh()
    assert site.version != version
    assert {path: site.answer(path) for path in before} != before


def test_an_error_leaves_the_pages_as_they_were_and_is_told(tmp_path: Path) -> None:
    """The last good state, with the problem quoted on each page; once it is mended it is told no more."""
    log = make_log(tmp_path / "log")
    site = open_site(log)
    page = f"entries/{BRAKES}.html"
    before = look(site, page)
    swap(f"entries/{BRAKES}.md", "hours: 3", "hours: three")(log)
    site.refresh()
    answer = site.answer(page)
    assert answer.content == before.encode()
    assert answer.notice and answer.notice.stale
    assert [(one.place.file, one.place.line) for one in answer.notice.problems] == [(f"entries/{BRAKES}.md", 4)]
    swap(f"entries/{BRAKES}.md", "hours: three", "hours: 4")(log)
    site.refresh()
    notice = site.answer(page).notice
    assert notice and (notice.problems, notice.stale) == ((), False)
    assert look(site, page) != before


def test_a_log_that_never_was_sound_shows_what_is_wrong(tmp_path: Path) -> None:
    """No page is there to be shown, and the problem is."""
    log = make_log(tmp_path / "log")
    (log / "log.yaml").write_text("machine: {nane: X}\n")
    answer = open_site(log).answer("index.html")
    assert b"Nothing can be shown yet" in read(answer.content)
    assert answer.notice and "unknown-key" in {problem.rule for problem in answer.notice.problems}


def test_a_draft_has_a_page_and_is_marked_and_in_no_other(tmp_path: Path) -> None:
    """An entry of a day to come: its own page, as of its day; all other pages are as if it were not there."""
    log = make_log(tmp_path / "log")
    write_entry(log, "2024-08-01-later", "date: 2024-08-01\ntitle: Later\nhours: 5", "A plan.\n")
    site = open_site(log)
    assert compare(site, log) == []
    answer = site.answer("entries/2024-08-01-later.html")
    assert answer.found and b"A plan." in read(answer.content)
    assert answer.content == (publish(log, datetime.date(2024, 8, 1)) or {})["entries/2024-08-01-later.html"]
    assert answer.notice and [(one.title, one.day) for one in answer.notice.drafts] == [("Later", "2024-08-01")]
    assert answer.notice.problems == ()


def test_photos_are_made_when_a_page_shows_them(tmp_path: Path) -> None:
    """Other pages make none; front page, timeline and feed the first of each of their entries, the entry's page all."""
    log = make_log(tmp_path / "log")
    made: list[str] = []

    def note() -> Path:
        made.append("asked")
        return tmp_path / "cache"

    site = PreviewSite(log, lambda: DAY, cache=note)
    site.refresh()
    for path in ("costs.html", f"entries/{BRAKES}.html", TONES):
        site.answer(path)
    assert made == []
    take(site, "index.html")
    front = len(list((tmp_path / "cache").rglob("*.jpg")))
    take(site, f"entries/{PUMP}.html")
    assert (front, len(list((tmp_path / "cache").rglob("*.jpg")))) == (1, 2)


def test_a_picture_is_found_after_a_restart(tmp_path: Path) -> None:
    """A browser that still has the page asks for its pictures only."""
    log = make_log(tmp_path / "log")
    files = publish(log) or {}
    pictures = [path for path in files if path.startswith("photos/")]
    site = open_site(log)
    assert {path: read(site.answer(path).content) for path in pictures} == {
        path: read(files[path]) for path in pictures
    }
    assert len(pictures) > 3


def test_a_cache_that_cannot_be_written_is_told_on_the_page(tmp_path: Path) -> None:
    """The page is shown without its photos, with one sentence for each."""
    log = make_log(tmp_path / "log")
    (tmp_path / "file").write_text("in the way")
    site = PreviewSite(log, lambda: DAY, cache=lambda: tmp_path / "file" / "cache")
    site.refresh()
    answer = site.answer(f"entries/{PUMP}.html")
    assert b"Off it came." in read(answer.content)
    told = site.answer(f"entries/{PUMP}.html").notice
    assert told and {problem.rule for problem in told.problems} >= {"photo-not-made"}


def test_problems_in_stories_that_nobody_looked_at_are_found(tmp_path: Path) -> None:
    """While nothing else is to be done; whoever looks at any page is told."""
    log = make_log(tmp_path / "log")
    swap(f"entries/{FITTED}.md", "2024-05-18-pump.md", "nowhere.md")(log)
    site = open_site(log)
    version = site.version
    site.check_stories(60)
    assert site.version != version
    notice = site.answer("record.html").notice
    assert notice and [problem.rule for problem in notice.problems] == ["dead-link"]


def test_a_template_that_fails_leaves_its_page_as_it_was(tmp_path: Path) -> None:
    """The owner's own template divides by nothing: the page of before, and the problem with the template's line."""
    log = make_log(tmp_path / "log")
    site = open_site(log)
    before = look(site, "index.html")
    theme(log)
    (log / "theme/front.html").write_text("\n{{ 1 / 0 }}")
    site.refresh()
    answer = site.answer("index.html")
    assert answer.content == before.encode()
    assert answer.notice and [(one.rule, one.place.line) for one in answer.notice.problems] == [("own-template", 2)]


def test_a_folder_that_vanished_is_told_and_found_again(tmp_path: Path) -> None:
    """Pages stay; once it is back, they go on."""
    log = make_log(tmp_path / "log")
    site = open_site(log)
    before = look(site, "index.html")
    log.rename(tmp_path / "away")
    site.refresh()
    answer = site.answer("index.html")
    assert answer.content == before.encode()
    assert answer.notice and [problem.rule for problem in answer.notice.problems] == ["missing-file"]
    (tmp_path / "away").rename(log)
    site.refresh()
    notice = site.answer("index.html").notice
    assert notice and notice.problems == ()


def test_nothing_is_written_into_the_log(tmp_path: Path) -> None:
    """Not by looking at every page either."""
    log = make_log(tmp_path / "log")
    before = {path: path.stat().st_mtime_ns for path in log.rglob("*")}
    site = open_site(log)
    for path in publish(log) or {}:
        site.answer(path)
    assert {path: path.stat().st_mtime_ns for path in log.rglob("*")} == before
