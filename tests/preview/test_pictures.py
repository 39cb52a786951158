"""A page does not wait for its photos: they are foreseen, and their pictures come when they are made."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from buildlog.photos import variants
from buildlog.photos.publish import PhotoWork, foresee_photo
from buildlog.photos.recipe import Encoding, PhotoRequest
from tests.photos.pictures import BOX, draw, make_one, request, save
from tests.preview.logs import ENTRIES, make_log, open_site, publish, read, take

PAGE = f"entries/{next(iter(ENTRIES))}.html"


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[threading.Event]:
    """No photo is made before it is set; nothing was made before."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    opened, make = threading.Event(), PhotoWork._make

    def wait(*given: object) -> object:
        assert opened.wait(300)
        return make(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(PhotoWork, "_make", wait)
    yield opened
    opened.set()


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("size", [(2, 1), (100, 37), (480, 480), (600, 500), (1000, 1700), (2400, 1600)])
def test_a_photo_is_foreseen_as_it_will_be(size: tuple[int, int], orientation: int, tmp_path: Path) -> None:
    """Its addresses, its sizes and those of each variant, whichever way it is turned; not its colour."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    draw("AB/CD").resize(size).save(tmp_path / "a.jpg", exif=exif)
    seen, made = foresee_photo(request(tmp_path / "a.jpg")), make_one(tmp_path / "a.jpg", tmp_path / "cache")
    assert [variant[:4] for variant in seen.variants] == [variant[:4] for variant in made.variants]
    assert (seen.width, seen.height) == (made.width, made.height)


def test_what_is_hidden_is_another_picture(tmp_path: Path) -> None:
    """It has another address, as it has when it is published."""
    draw("AB/CD", 100).save(tmp_path / "a.png")
    seen, made = foresee_photo(request(tmp_path / "a.png", hide=(BOX,))), make_one(tmp_path / "a.png", tmp_path, (BOX,))
    assert [variant.path for variant in seen.variants] == [variant.path for variant in made.variants]


def test_a_page_is_there_before_its_photos(tmp_path: Path, gate: threading.Event) -> None:
    """But for the colour in their place it is the published one; then it is that one, and whoever looks is told."""
    log = make_log(tmp_path / "log")
    site = open_site(log)
    early = read(site.answer(PAGE).content).decode()
    version = site.version
    gate.set()
    late = take(site, PAGE)
    assert late == read((publish(log) or {})[PAGE])
    assert re.sub("tone-[0-9]+", "", early) == re.sub("tone-[0-9]+", "", late.decode())
    assert early != late.decode()
    assert site.version != version


def test_a_picture_that_is_asked_for_comes_when_it_is_made(tmp_path: Path, gate: threading.Event) -> None:
    """Its address is known from the page; the answer waits for it, and other pages do not wait meanwhile."""
    log = make_log(tmp_path / "log")
    site = open_site(log)
    page = read(site.answer(PAGE).content).decode()
    paths = sorted(set(re.findall(r"photos/[^ \"]+", page)))
    got: dict[str, bytes] = {}
    threads = [
        threading.Thread(target=lambda path=path: got.update({path: read(site.answer(path).content)})) for path in paths
    ]
    for thread in threads:
        thread.start()
    assert site.answer("costs.html").found
    assert got == {}
    gate.set()
    for thread in threads:
        thread.join()
    files = publish(log) or {}
    assert got == {path: read(files[path]) for path in paths}
    assert len(paths) > 2


def test_the_picture_that_is_waited_for_comes_before_the_rest_of_its_photo(
    tmp_path: Path, gate: threading.Event, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is answered while all others of its photo are still to be made, and is the one that is published."""
    log = make_log(tmp_path / "log")
    draw("AB/CD").resize((2000, 1500)).save(log / f"photos/{next(iter(ENTRIES))}/bench.png")
    site = open_site(log)
    page = read(site.answer(PAGE).content).decode()
    path = next(found for found in re.findall(r"photos/[^ \"]+", page) if found.endswith("-960.jpg"))
    rest, encode = threading.Event(), variants._encode

    def encode_one(image: Image.Image, line: Encoding) -> variants.Encoded:
        assert (line.edge, line.format) == (960, "JPEG") or rest.wait(300)
        return encode(image, line)

    monkeypatch.setattr(variants, "_encode", encode_one)
    got: list[bytes] = []
    thread = threading.Thread(target=lambda: got.append(read(site.answer(path).content)))
    thread.start()
    while not site._pictures.is_wanted(path):
        time.sleep(0.01)
    gate.set()
    thread.join(120)
    assert len(got) == 1
    rest.set()
    site.settle()
    assert [read(site.answer(path).content)] == got == [read((publish(log) or {})[path])]


def test_small_pictures_come_first_where_nobody_waits(tmp_path: Path) -> None:
    """In what order pictures are made changes none of them."""
    draw("AB/CD").resize((2000, 1500)).save(tmp_path / "a.png")
    shown: list[variants.Encoded] = []

    class Onlooker:
        def is_wanted(self, edge: int, format: str) -> bool:
            return False

        def show(self, picture: variants.Encoded) -> None:
            shown.append(picture)

    made = variants.develop(tmp_path / "a.png", (), ahead=Onlooker())
    assert [(one.edge, one.format) for one in shown] == [(480, "WEBP"), (960, "WEBP"), (960, "JPEG"), (1600, "WEBP")]
    assert made == variants.develop(tmp_path / "a.png", ())


def test_the_photo_that_is_waited_for_is_made_next(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader who scrolls down does not wait for all that stands above."""
    monkeypatch.setattr("os.cpu_count", lambda: 1)
    begun: list[str] = []
    first, go_on, make = threading.Event(), threading.Event(), PhotoWork._make

    def make_one_by_one(work: PhotoWork, one: PhotoRequest) -> object:
        begun.append(one.name)
        first.set()
        assert go_on.wait(300)
        return make(work, one)

    monkeypatch.setattr(PhotoWork, "_make", make_one_by_one)
    names = ["e/0", "e/1", "e/2", "e/3"]
    requests = [request(save(tmp_path / f"{name[-1]}.png", cell=9 + n), name) for n, name in enumerate(names)]
    with PhotoWork(requests, tmp_path / "cache") as work:
        assert first.wait(300)
        work.hurry("e/3")
        work.hurry("e/0")  # begun already: nothing is done
        go_on.set()
        work.finish()
    assert begun == ["e/0", "e/3", "e/1", "e/2"]


@pytest.mark.parametrize("when", ["at once", "later"])
def test_a_photo_that_proves_broken_is_told_once_it_was_tried(
    when: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its head is whole, so that it may be foreseen; then it is gone from the page, and the page says why."""
    if when == "at once":  # all was tried before anybody asks whether it is ready
        begin = PhotoWork.begin

        def begin_and_wait(work: PhotoWork) -> PhotoWork:
            begin(work).finish()
            return work

        monkeypatch.setattr(PhotoWork, "begin", begin_and_wait)
    log = make_log(tmp_path / "log")
    photo = log / f"photos/{next(iter(ENTRIES))}/bench.png"
    photo.write_bytes(photo.read_bytes()[:-60])
    site = open_site(log)
    page = take(site, PAGE)
    notice = site.answer(PAGE).notice
    assert page.count(b"<img") == 1
    assert notice and [problem.rule for problem in notice.problems] == ["broken-photo"]


def test_ending_the_preview_ends_the_making(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is not begun is not made any more: nobody waits at Ctrl-C for all photos of an entry."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    made: list[str] = []
    begun, goes_on = threading.Event(), threading.Event()

    def note(work: PhotoWork, asked: object) -> None:
        made.append("one")
        begun.set()
        assert goes_on.wait(300)
        raise InterruptedError("the run was stopped")

    monkeypatch.setattr(PhotoWork, "_make", note)
    monkeypatch.setattr("os.cpu_count", lambda: 1)
    site = open_site(make_log(tmp_path / "log"))
    site.answer(PAGE)
    assert begun.wait(300)
    ending = threading.Thread(target=site.end)
    ending.start()
    while not site.ended:
        pass
    goes_on.set()
    ending.join()
    assert made == ["one"]
