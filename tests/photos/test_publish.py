"""Photos published: which variants there are, that nothing is done twice, and that one broken file harms no other."""

from __future__ import annotations

import json
import threading
from decimal import Decimal
from pathlib import Path

import pytest
from PIL import Image

from buildlog.photos import cache as cache_module
from buildlog.photos import publish
from buildlog.photos.cache import find_cache
from buildlog.photos.names import name_photos
from buildlog.photos.publish import make_photos
from buildlog.photos.records import PhotoRequest, PhotoSet
from buildlog.photos.taken import read_taken
from buildlog.problems import Place, Problem
from buildlog.source.kinds import Box
from tests.photos.pictures import draw

PLACE = Place("entries/2024-05-18-pump.md", 30, 5)
BOX = Box(Decimal("0.1"), Decimal("0.1"), Decimal("0.2"), Decimal("0.2"))


def request(source: Path, name: str = "2024-05-18-pump/crack", hide: tuple[Box, ...] = ()) -> PhotoRequest:
    return PhotoRequest(source=source, name=name, hide=hide, place=PLACE)


def save(path: Path, rows: str = "AB/CD", cell: int = 200) -> Path:
    draw(rows, cell).save(path)
    return path


def make_one(source: Path, cache: Path, hide: tuple[Box, ...] = ()) -> PhotoSet:
    photos, problems = make_photos([request(source, hide=hide)], cache)
    assert not problems
    return photos["2024-05-18-pump/crack"]


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    return tmp_path / "cache"


def refuse_work(*_: object) -> None:
    """Stands for developing where nothing may be developed."""
    raise AssertionError("done twice")


# ── variants ─────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("size", "variants"),
    [
        ((2000, 1000), [("1600.webp", 1600, 800), ("960.jpg", 960, 480), ("640.webp", 640, 320)]),
        ((1000, 2000), [("1600.webp", 800, 1600), ("960.jpg", 480, 960), ("640.webp", 320, 640)]),
        ((1200, 900), [("1200.webp", 1200, 900), ("960.jpg", 960, 720), ("640.webp", 640, 480)]),
        ((640, 480), [("640.webp", 640, 480), ("640.jpg", 640, 480)]),
        ((50, 20), [("50.webp", 50, 20), ("50.jpg", 50, 20)]),
        ((1, 3000), [("1600.webp", 1, 1600), ("960.jpg", 1, 960), ("640.webp", 1, 640)]),
    ],
)
def test_variants(size: tuple[int, int], variants: list[tuple[str, int, int]], tmp_path: Path, cache: Path) -> None:
    """The long edge is bounded, nothing is enlarged or made twice, and what is told is what is in the files."""
    Image.new("RGB", size, "grey").save(tmp_path / "x.png")
    photo = make_one(tmp_path / "x.png", cache)
    assert (photo.width, photo.height) == size
    told = [(variant.path, variant.width, variant.height) for variant in photo.variants]
    assert told == [(f"photos/2024-05-18-pump/crack-{name}", width, height) for name, width, height in variants]
    for variant in photo.variants:
        with Image.open(variant.file) as image:
            assert (image.size, image.get_format_mimetype()) == ((variant.width, variant.height), variant.format)


def test_mean_colour(tmp_path: Path, cache: Path) -> None:
    """Half black and half white is the grey between, 127 or 128 of 255."""
    image = Image.new("RGB", (100, 100))
    image.paste("white", (0, 0, 50, 100))
    image.save(tmp_path / "x.png")
    assert make_one(tmp_path / "x.png", cache).colour in ("#7f7f7f", "#808080")


def test_same_original_gives_the_same_bytes(tmp_path: Path) -> None:
    """Two caches, two runs, one result."""
    source = save(tmp_path / "x.jpg", cell=900)
    one, two = (make_one(source, tmp_path / name) for name in ("one", "two"))
    assert [v.file.read_bytes() for v in one.variants] == [v.file.read_bytes() for v in two.variants]
    assert [v.path for v in one.variants] == [v.path for v in two.variants]


# ── the cache ────────────────────────────────────────────────────────────────────────────────────────────────────


def test_second_run_does_nothing(tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was made once is found again, whatever the original is called and wherever it lies now."""
    source = save(tmp_path / "x.jpg")
    first = make_one(source, cache)
    monkeypatch.setattr(publish, "develop", refuse_work)
    assert make_one(source, cache) == first
    (tmp_path / "moved").mkdir()
    moved = make_one(source.rename(tmp_path / "moved/renamed.JPEG"), cache)
    assert moved == first


@pytest.mark.parametrize("change", ["box", "pixel", "recipe"])
def test_what_decides_the_picture_decides_the_key(change: str, tmp_path: Path, cache: Path) -> None:
    """Another box, another original or another recipe finds nothing of the old."""
    source = save(tmp_path / "x.png")
    before = {variant.file for variant in make_one(source, cache).variants}
    with pytest.MonkeyPatch.context() as patch:
        if change == "recipe":
            patch.setattr(cache_module, "RECIPE", "another")
        elif change == "pixel":
            save(source, "AB/CE")
        after = {variant.file for variant in make_one(source, cache, (BOX,) if change == "box" else ()).variants}
    assert not before & after


@pytest.mark.parametrize("damage", ["variant cut", "variant gone", "note cut", "note hostile", "note of a list"])
def test_damaged_cache_is_mended(damage: str, tmp_path: Path, cache: Path) -> None:
    """What is not whole counts as absent and is made again."""
    source = save(tmp_path / "x.png")
    first = make_one(source, cache)
    contents = [variant.file.read_bytes() for variant in first.variants]
    (note,) = cache.rglob("*.json")
    told = json.loads(note.read_text())
    match damage:
        case "variant cut":
            first.variants[0].file.write_bytes(contents[0][:-1])
        case "variant gone":
            first.variants[-1].file.unlink()
        case "note cut":
            note.write_bytes(note.read_bytes()[:-10])
        case "note hostile":
            told["variants"][0] |= {"edge": "../../../etc/passwd", "format": "../x"}
            note.write_text(json.dumps(told))
        case "note of a list":
            note.write_text("[1, 2]")
    assert [variant.file.read_bytes() for variant in make_one(source, cache).variants] == contents


def test_two_runs_share_a_cache(tmp_path: Path, cache: Path) -> None:
    """Both at once make the same files, and neither sees half of one."""
    requests = [request(save(tmp_path / f"{n}.png", rows), f"e/{n}") for n, rows in enumerate(["AB", "CD", "EF", "AB"])]
    results: list[dict[str, PhotoSet]] = []

    def run() -> None:
        results.append(make_photos(requests, cache)[0])

    threads = [threading.Thread(target=run) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(results) == 4 and all(result == results[0] for result in results)
    assert not [path for path in cache.rglob("*") if path.is_file() and path.suffix not in (".webp", ".jpg", ".json")]


def test_where_the_cache_is(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """$XDG_CACHE_HOME when it is an absolute path, else ~/.cache (XDG Base Directory Specification 0.8)."""
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("HOME", str(tmp_path))
    for value, base in (("/var/x", Path("/var/x")), ("relative", tmp_path / ".cache"), ("", tmp_path / ".cache")):
        monkeypatch.setenv("XDG_CACHE_HOME", value)
        assert find_cache() == base / "buildlog/photos"


# ── many, and broken ones among them ─────────────────────────────────────────────────────────────────────────────


def test_one_broken_photo_harms_no_other(tmp_path: Path, cache: Path) -> None:
    """Each broken file is one problem at the place that named it; all others are published, in order."""
    good = [request(save(tmp_path / f"{n}.png"), f"e/{n}") for n in (1, 2)]
    (tmp_path / "cut.jpg").write_bytes(b"\xff\xd8\xff\xe0" + b"\0" * 50)
    (tmp_path / "none.jpg").write_bytes(b"")
    bad = [
        request(tmp_path / "cut.jpg", "e/c"),
        request(tmp_path / "none.jpg", "e/n"),
        request(tmp_path / "gone.jpg", "e/g"),
    ]
    told: list[str] = []
    photos, problems = make_photos([good[0], *bad, good[1]], cache, tell=lambda done: told.append(done.name))
    assert list(photos) == ["e/1", "e/2"]
    assert [(problem.rule, problem.severity, problem.place) for problem in problems] == [
        ("broken-photo", "error", PLACE)
    ] * 3
    assert problems[1] == Problem(
        rule="broken-photo", message="`none.jpg` is empty", place=PLACE, help="copy it from the camera again"
    )
    assert told == ["e/1", "e/c", "e/n", "e/g", "e/2"]


def test_wrong_suffix_is_told_although_the_content_is_cached(tmp_path: Path, cache: Path) -> None:
    """A PNG that was published as PNG is still an error when it is called `.jpg` elsewhere."""
    source = save(tmp_path / "x.png")
    make_one(source, cache)
    (tmp_path / "y.jpg").write_bytes(source.read_bytes())
    _, problems = make_photos([request(tmp_path / "y.jpg")], cache)
    assert [problem.message for problem in problems] == ["`y.jpg` is really a PNG file"]


def test_full_disk_is_no_fault_of_the_photo(tmp_path: Path) -> None:
    """When the cache cannot be written, that is told as what it is, and no photo is called broken."""
    (tmp_path / "cache").write_text("a file where the folder should be")
    with pytest.raises(OSError, match="cache"):
        make_photos([request(save(tmp_path / "x.png"))], tmp_path / "cache")


# ── names and dates ──────────────────────────────────────────────────────────────────────────────────────────────


def test_names() -> None:
    """Small letters, digits and dashes, none twice; a number goes to the later of two by file name."""
    files = [
        "IMG 0001.JPG",
        "img-0001.png",
        "Öl & Filter.jpg",
        "图.jpg",
        "a.b.jpg",
        "sub/x.jpg",
        ".jpg",
        "n" * 200 + ".jpg",
    ]
    assert name_photos(files) == {
        "IMG 0001.JPG": "img-0001",
        "img-0001.png": "img-0001-2",
        "Öl & Filter.jpg": "ol-filter",
        "图.jpg": "photo",
        "a.b.jpg": "a-b",
        "sub/x.jpg": "x",
        ".jpg": "jpg",
        "n" * 200 + ".jpg": "n" * 80,
    }
    assert name_photos(reversed(files)) == name_photos(files)


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("2024:05:18 21:04:33", "2024-05-18 21:04:33"),
        ("0000:00:00 00:00:00", None),
        ("    :  :     :  :  ", None),
        ("2024:02:30 10:00:00", None),
        ("yesterday", None),
        ("", None),
    ],
)
def test_date_taken(written: str, read: str | None, tmp_path: Path) -> None:
    """Exif's form of a date and time; blanks, zeros and days that do not exist are no date."""
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = written
    Image.new("RGB", (8, 8)).save(tmp_path / "x.jpg", exif=exif)
    taken = read_taken(tmp_path / "x.jpg")
    assert (str(taken) if taken else None) == read


def test_date_of_no_photo(tmp_path: Path) -> None:
    """A file that is broken, of another kind or not there has no date, and is told of elsewhere."""
    (tmp_path / "x.jpg").write_bytes(b"\xff\xd8\xff\xe1\xff\xffExif\0\0")
    for name in ("x.jpg", "gone.jpg", "x.txt"):
        assert read_taken(tmp_path / name) is None
