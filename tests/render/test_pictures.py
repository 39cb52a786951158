"""The page of photos: every one by month and by system, pairs side by side, a cover; bounded however many there are."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from buildlog.compute.figures import compute_figures
from buildlog.handover.pack import hand_over
from buildlog.photos.recipe import PhotoSet, Variant
from buildlog.problems import Place
from buildlog.read.files import LogFiles
from buildlog.read.reader import read_files
from buildlog.record.sealing import seal_log
from buildlog.render.pages.frame import SHARE
from buildlog.render.pages.periods import PICTURES_ON_PAGE
from buildlog.render.render import Makers, list_makers, make_context
from buildlog.render.theme import load_theme
from buildlog.stages import Run, run_stages
from tests.photos.pictures import save
from tests.preview.logs import DAY, ENTRIES, make_log, open_site, publish, read, take
from tests.record.logs import count_salts
from tests.work import grows_with_its_input

PUMP, FITTED, BRAKES = ENTRIES
CEILING = 150_000
"Bytes of a page."


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """The preview's log with a later picture of the bench, and a cover."""
    folder = make_log(tmp_path / "log")
    (folder / f"photos/{FITTED}").mkdir()
    save(folder / f"photos/{FITTED}/done.png", "FE", cell=20)
    swap(folder / f"entries/{PUMP}.md", "says: On the bench", f"says: On the bench, after: {FITTED}/done.png")
    swap(folder / f"entries/{FITTED}.md", "fitted: pump", "fitted: pump\nphotos: [{file: done.png, says: Clean again}]")
    swap(folder / "log.yaml", "site: {", f"site: {{cover: {FITTED}/done.png, ")
    return folder


def swap(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def make(log: Path, day: datetime.date = DAY) -> dict[str, str]:
    files = publish(log, day)
    assert files is not None
    return {path: read(content).decode() for path, content in files.items() if path.endswith((".html", ".xml"))}


def test_photos_of_standing_pages_stand_last_and_lead_to_them(log: Path) -> None:
    """Beside those of entries, and without any of those; a log without such photos has none of it."""
    assert 'id="standing"' not in make(log)["pictures.html"]
    (log / "pages").mkdir()
    (log / "pages/plate.md").write_text("---\ntitle: The plate\nphotos: [{file: plate.png, says: As stamped}]\n---\n")
    (log / "photos/plate").mkdir()
    save(log / "photos/plate/plate.png", "FE", cell=20)
    page = make(log)["pictures.html"]
    standing = page[page.index('<h2 id="standing">On pages</h2>') :]
    assert re.findall(r'<a href="([^"]+)"[^>]*>(?:<picture>.*?alt="([^"]*)"|)', standing)[:2] == [
        ("pages/plate.html", ""), ("pages/plate.html", "As stamped"),
    ]  # fmt: skip
    for entry in (log / "entries").glob("*.md"):
        swapped = re.sub(r"(?m)^photos: .*\n(  - .*\n)*", "", entry.read_text(encoding="utf-8"))
        entry.write_text(swapped, encoding="utf-8")
    swap(log / "log.yaml", f"cover: {FITTED}/done.png, ", "")
    assert "1 photo<" in make(log)["pictures.html"]


def test_every_photo_is_there_and_leads_to_its_entry(log: Path) -> None:
    """Once a month, under its entry's title, with its words for who cannot see it."""
    page = make(log)["pictures.html"]
    shown = re.findall(r'<li><a href="([^"]+)"><picture>.*?alt="([^"]*)"', page)
    assert shown == [
        (f"entries/{PUMP}.html", "On the bench"),
        (f"entries/{PUMP}.html", "The seal"),
        (f"entries/{FITTED}.html", "Clean again"),
    ]
    assert '<p class="model">3 photos</p>' in page


def test_a_system_has_its_own(log: Path) -> None:
    """The photos of entries that name it, and no others; the page of all leads there."""
    pages = make(log)
    assert '<a href="pictures/system-fuel.html">Fuel (2)</a>' in pages["pictures.html"]
    assert re.findall(r'alt="([^"]*)"', pages["pictures/system-fuel.html"]) == ["On the bench", "The seal"]
    assert "pictures/system-brakes.html" not in pages


def test_a_log_without_photos_has_no_such_page(tmp_path: Path) -> None:
    """Nor a word of it in the navigation."""
    folder = make_log(tmp_path / "log")
    listed = "photos: [{file: bench.png, says: On the bench}, {file: seal.png, says: The seal}]"
    swap(folder / f"entries/{PUMP}.md", listed, "")
    swap(folder / f"entries/{PUMP}.md", "![](seal.png)", "")
    pages = make(folder)
    assert "pictures.html" not in pages and "pictures.html" not in pages["index.html"]


def test_a_pair_stands_side_by_side(log: Path) -> None:
    """On both entries and on the page of photos, each half saying which it is and where it is from; not twice."""
    pages = make(log)
    for path, other in ((f"entries/{PUMP}.html", FITTED), (f"entries/{FITTED}.html", PUMP)):
        [pair] = re.findall(r'<div class="photos pair">.*?</div>', pages[path], re.DOTALL)
        assert re.findall(r'alt="([^"]*)"', pair) == ["On the bench", "Clean again"]
        assert re.findall(r"<b>(Before|After)</b>", pair) == ["Before", "After"]
        assert re.findall(r'<span class="note"><a href="\.\./entries/([^"]+)\.html">', pair) == [other]
        assert pages[path].count('alt="On the bench"') == pages[path].count('alt="Clean again"') == 1
    assert pages["pictures.html"].count('<div class="photos pair">') == 1


def test_a_pair_is_none_before_its_day(log: Path) -> None:
    """On the day of the first entry, its picture stands alone."""
    pages = make(log, datetime.date(2024, 5, 18))
    assert 'class="photos pair"' not in pages[f"entries/{PUMP}.html"]
    assert 'alt="On the bench"' in pages[f"entries/{PUMP}.html"]


def test_the_cover_is_on_the_front_page(log: Path) -> None:
    """As a picture with its words; beside a shared link stands a picture of its own, by its absolute address."""
    pages = make(log)
    [cover] = re.findall(r'<div class="plate">.*?</div>', pages["index.html"], re.DOTALL)
    assert 'alt="Clean again"' in cover
    assert f'<meta property="og:image" content="https://example.org/{SHARE}">' in pages["index.html"]


def test_a_withheld_cover_is_told(log: Path, tmp_path: Path) -> None:
    """With its entry its photos stay out, so the bag's front page has none, and its giver knows; the pair is none."""
    assert not seal_log(log, date=DAY, reason=None, make_salt=count_salts()).problems
    done = hand_over(log, tmp_path / "bag", as_of=DAY, withhold=(f"entries/{FITTED}.md",))
    assert done.handover is not None
    told = [(problem.rule, problem.severity) for problem in done.problems if problem.rule != "stray-photos"]
    assert told == [("no-pair", "warning"), ("no-cover", "warning")]
    assert 'class="cover"' not in (tmp_path / "bag/data/site/index.html").read_text(encoding="utf-8")


def test_the_preview_has_the_same_pages(log: Path) -> None:
    """Made when they are asked for, with the photos that they show."""
    site, files = open_site(log), publish(log)
    assert files is not None
    for path in ("pictures.html", "pictures/system-fuel.html", "index.html", f"entries/{FITTED}.html"):
        assert take(site, path) == read(files[path]), path
    site.end()


def list_many(entries: int, photos: int, step: int) -> Makers:
    """What makes the pages of photos of a log of so many entries with so many photos each, one every so many days."""
    texts, there = {}, {}
    for n in range(entries):
        day = datetime.date(2015, 1, 1) + datetime.timedelta(days=step * n)
        listed = "".join(f"\n  - {{file: {i}.jpg, says: The {i}th of them as it lay there}}" for i in range(photos))
        texts[f"e{n}.md"] = f"---\ndate: {day}\ntitle: Evening {n}\nsystems: [fuel]\nphotos:{listed}\n---\nx\n"
        there[f"e{n}"] = tuple(f"{i}.jpg" for i in range(photos))
    settings = "machine: {name: M}\nmoney: {currency: GBP}\nsystems: {fuel: Fuel}\n"
    reading = read_files(LogFiles(settings=settings, entries=texts, photos=there))
    assert reading.log is not None and not reading.problems
    figures = compute_figures(reading.log, datetime.date(2030, 1, 1))
    theme, _ = load_theme("margin", place=Place("log.yaml"))
    assert theme is not None

    def find(name: str) -> PhotoSet:
        sizes = ((1600, "webp"), (960, "webp"), (480, "webp"), (960, "jpeg"))
        start = f"photos/{name.partition('/')[0]}/{'0' * 16}"
        variants = tuple(
            Variant(
                path=f"{start}-{width}.{kind}",
                width=width,
                height=width * 3 // 4,
                format=f"image/{kind}",
                stored="",
                size=0,
                mtime_ns=0,
            )
            for width, kind in sizes
        )
        return PhotoSet(variants=variants, width=4000, height=3000, colour="#808080")

    makers = list_makers(make_context(figures, theme, find), theme)
    return {path: make for path, make in makers.items() if path.startswith("pictures")}


def make_many(entries: int, photos: int, step: int) -> dict[str, str]:
    """The same pages, made."""
    made = {path: make() for path, make in list_many(entries, photos, step).items()}
    return {path: page.decode() for path, page in made.items() if isinstance(page, bytes)}


def test_no_page_grows_without_bound() -> None:
    """20,000 photos of 2,000 entries: no page over 150 kB, each photo on one page of a period, every page reached."""
    pages = make_many(2_000, 10, 2)
    assert max(len(page.encode()) for page in pages.values()) <= CEILING
    periods = {path: page for path, page in pages.items() if re.match(r"pictures/\d", path)}
    assert sum(page.count("<picture>") for page in periods.values()) == 20_000
    linked = set(re.findall(r'href="(pictures/[^"]+)"', pages["pictures.html"]))
    assert linked == pages.keys() - {"pictures.html"}


def test_a_page_asks_for_its_own_photos_alone() -> None:
    """Twice as many months are twice the work: a long log has hundreds of such pages, and each has its own photos."""

    def make_all(entries: int) -> Callable[[], object]:
        makers = list_many(entries, 180, 31)
        return lambda: [make() for make in makers.values()]

    assert grows_with_its_input(make_all, 12) < 2.2


def test_a_month_of_too_many_shows_some_of_each_evening() -> None:
    """30 evenings of 40 photos: as many of each as have room, and how many more there are."""
    pages = make_many(30, 40, 1)
    page = pages["pictures/2015-01.html"]
    each = PICTURES_ON_PAGE // 30
    assert page.count("<picture>") == each * 30
    assert page.count(f"{40 - each} more</a>") == 30
    assert len(page.encode()) <= CEILING


def test_nothing_is_published_by_a_pair(log: Path) -> None:
    """The name of a file is in no byte of the site, as of any photo."""
    run = run_stages(Run(folder=log, as_of=DAY), until="render")
    assert run.site is not None
    assert not [
        path for path, content in run.site.files.items() if isinstance(content, bytes) and b"done.png" in content
    ]
