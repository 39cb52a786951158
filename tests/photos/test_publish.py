"""Photos published: which variants there are, who waits for them, and that one broken file harms no other."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from buildlog.paths import simplify_stem
from buildlog.photos import variants as variants_module
from buildlog.photos.dates import read_taken
from buildlog.photos.publish import PhotoWork, make_photos
from buildlog.problems import Problem
from tests.photos.pictures import BOX, PLACE, make_one, request, save


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    return tmp_path / "cache"


# ── variants ─────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("size", "variants"),
    [
        ((2000, 1000), ["1600.webp 1600×800", "960.webp 960×480", "960.jpg 960×480", "480.webp 480×240"]),
        ((1000, 2000), ["1600.webp 800×1600", "960.webp 480×960", "960.jpg 480×960", "480.webp 240×480"]),
        ((1200, 900), ["1200.webp 1200×900", "960.webp 960×720", "960.jpg 960×720", "480.webp 480×360"]),
        ((640, 480), ["640.webp 640×480", "640.jpg 640×480", "480.webp 480×360"]),
        ((50, 20), ["50.webp 50×20", "50.jpg 50×20"]),
        ((1, 3000), ["1600.webp 1×1600", "960.webp 1×960", "960.jpg 1×960", "480.webp 1×480"]),
    ],
)
def test_variants(size: tuple[int, int], variants: list[str], tmp_path: Path, cache: Path) -> None:
    """The long edge is bounded, nothing is enlarged or made twice, and what is told is what is in the files."""
    Image.new("RGB", size, "grey").save(tmp_path / "x.png")
    photo = make_one(tmp_path / "x.png", cache)
    assert (photo.width, photo.height) == size
    told = [f"{variant.path.rpartition('-')[2]} {variant.width}×{variant.height}" for variant in photo.variants]
    assert told == variants
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
    told: list[tuple[int, int]] = []
    photos, problems = make_photos([good[0], *bad, good[1]], cache, tell=lambda *done: told.append(done))
    assert list(photos) == ["e/1", "e/2"]
    assert [(problem.rule, problem.severity, problem.place) for problem in problems] == [
        ("broken-photo", "error", PLACE)
    ] * 3
    assert problems[1] == Problem(
        rule="broken-photo", message="`none.jpg` is empty", place=PLACE, help="copy it from the camera again"
    )
    assert told == [(0, 5), (1, 5), (2, 5), (3, 5), (4, 5), (5, 5)]


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


# ── who waits ────────────────────────────────────────────────────────────────────────────────────────────────────


def test_who_needs_one_photo_waits_for_that_one(tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A photo is there while another is still being made, and is ready only then."""
    release = threading.Event()
    read_upright = variants_module.read_upright

    def read_slowly(source: Path, *rest: object, **named: object) -> object:
        assert source.name != "slow.png" or release.wait()
        return read_upright(source, *rest, **named)  # type: ignore[arg-type]  # handed on as they came

    monkeypatch.setattr(variants_module, "read_upright", read_slowly)
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    requests = [request(save(tmp_path / f"{name}.png", rows), name) for name, rows in (("slow", "AB"), ("fast", "CD"))]
    with PhotoWork(requests, cache) as work:
        try:
            assert work.wait_for("fast") is not None
            assert work.is_ready(["fast"]) and not work.is_ready(["fast", "slow"])
        finally:
            release.set()
        assert work.wait_for("slow") is not None
        assert work.is_ready(["fast", "slow"])


def test_leaving_early_ends_the_work(tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Photos that are not begun are not made when the run was stopped, and those that are begun are left; what was made
    is found by the next run.
    """
    begun: list[str] = []
    develop = variants_module.develop

    def develop_first(source: Path, *rest: Any, go_on: Callable[[], None], **named: Any) -> Any:
        begun.append(source.stem)
        if source.stem == "0":
            return develop(source, *rest, go_on=go_on, **named)
        while True:  # a photo that takes for ever, unless it is told to end
            go_on()
            time.sleep(0.001)

    monkeypatch.setattr(variants_module, "develop", develop_first)
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    rows = [one + other for one in "ABC" for other in "ABC"]
    requests = [request(save(tmp_path / f"{n}.png", row), f"e/{n}") for n, row in enumerate(rows)]
    with pytest.raises(KeyboardInterrupt), PhotoWork(requests, cache) as work:
        work.wait_for("e/0")
        raise KeyboardInterrupt
    assert {*begun} <= {"0", "1", "2"}, "one made, and one begun by each of two workers"
    assert len({path.name.partition("-")[0] for path in cache.glob("??/*")}) == 1
    begun.clear()
    with PhotoWork(requests, cache) as work:
        # too new to be known by its times, so that it is found by its content, in the pool: it has to be waited for
        assert work.wait_for("e/0") is not None
        assert "0" not in begun, "found, and not made again"


def test_who_waits_behind_the_end_is_told_so(tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the work ended nobody makes what is left: whoever asks for it is not kept waiting for ever."""
    begun = threading.Event()

    def develop_for_ever(source: Path, *rest: Any, go_on: Callable[[], None], **named: Any) -> Any:
        begun.set()
        while True:
            go_on()
            time.sleep(0.001)

    monkeypatch.setattr(variants_module, "develop", develop_for_ever)
    monkeypatch.setattr("os.cpu_count", lambda: 1)
    requests = [request(save(tmp_path / f"{n}.png", rows), f"e/{n}") for n, rows in enumerate(["AB", "CD"])]
    with PhotoWork(requests, cache) as work:
        assert begun.wait(60)
    with pytest.raises(InterruptedError):  # the one that was begun says how it ended
        work.wait_for("e/1")
    with pytest.raises(RuntimeError, match="was ended"):
        work.wait_for("e/1")


def test_a_photo_is_left_between_any_two_of_its_steps(tmp_path: Path) -> None:
    """Who ends the work waits for one step of a photo at the most: each variant asks before it is made."""
    source = save(tmp_path / "x.png", "AB", 2000)
    asked: list[None] = []
    made = variants_module.develop(source, (), go_on=lambda: asked.append(None))
    assert len(asked) > len(made.encoded) == 4
    for steps in range(len(asked)):
        left = iter(range(steps))
        with pytest.raises(StopIteration):
            variants_module.develop(source, (), go_on=lambda left=left: next(left) and None)


# ── names and dates ──────────────────────────────────────────────────────────────────────────────────────────────


def test_addresses_are_our_own(tmp_path: Path, cache: Path) -> None:
    """A published picture is called after its entry and what is in it: by no name of the owner's, and whatever that is.

    The camera writes names of its own, phones write days and places, and people write who is in it.
    """
    source = save(tmp_path / "Jo Doe, 12 Mill Lane.JPG")
    moved = tmp_path / "elsewhere"
    moved.mkdir()
    (moved / "a.jpeg").write_bytes(source.read_bytes())
    asked = [
        request(source, "2024-05-18-pump/Jo Doe, 12 Mill Lane.JPG"),
        request(moved / "a.jpeg", "2024-05-18-pump/a.jpeg"),
    ]
    one, other = make_photos(asked, cache)[0].values()
    assert [v.path for v in one.variants] == [v.path for v in other.variants]
    assert all(re.fullmatch(r"photos/2024-05-18-pump/[0-9a-f]{16}-\d+\.(webp|jpg)", v.path) for v in one.variants)


def test_no_two_pictures_share_an_address(tmp_path: Path, cache: Path) -> None:
    """Another picture, or other spots hidden in the same one, is another address; another entry another folder."""
    one, other = save(tmp_path / "x.png", "AB/CD"), save(tmp_path / "y.png", "CD/AB")
    asked = [request(one, "e/x"), request(other, "e/y"), request(one, "e/x hidden", (BOX,)), request(one, "f/x")]
    photos, _ = make_photos(asked, cache)
    assert len({v.path for made in photos.values() for v in made.variants}) == 4 * len(photos["e/x"].variants)


def test_names_of_copies() -> None:
    """Small letters, digits and dashes."""
    files = ["IMG 0001.JPG", "Öl & Filter.jpg", "图.jpg", "a.b.jpg", "sub/x.jpg", ".jpg", "n" * 200 + ".jpg"]
    stems = ["img-0001", "ol-filter", "photo", "a-b", "x", "jpg", "n" * 40]
    assert [simplify_stem(file, longest=40) for file in files] == stems


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
