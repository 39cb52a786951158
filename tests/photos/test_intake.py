"""Photos that come in: which of a folder's, in which order, under which names, and that nothing is harmed by it."""

from __future__ import annotations

import datetime
import hashlib
import os
import random
import shutil
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import dhash
import pytest
from PIL import Image

from buildlog.photos import intake
from buildlog.photos.dates import MOST_BITS, SeenPhoto, look_alike, see_photos
from buildlog.photos.intake import IntakePlan, carry_out, plan_intake
from buildlog.read.files import LogFiles
from buildlog.read.reader import read_files
from buildlog.read.records import Log
from tests.photos.pictures import draw
from tests.support import SETTINGS

DAY = datetime.date(2024, 5, 18)
ENTRY = "2024-05-18-pump"
NOON = "2024:05:18 12:00:00"


def paint(seed: int, size: tuple[int, int] = (480, 360)) -> Image.Image:
    """A picture of large soft patches; another seed gives another picture."""
    chance = random.Random(seed)
    rows = "/".join("".join(chance.choice("ABCDEF") for _ in range(8)) for _ in range(6))
    return draw(rows).resize(size, Image.Resampling.BICUBIC)


def shoot(path: Path, seed: int, taken: str | None = NOON, **tags: Any) -> Path:
    """A photo as a camera writes it; `tags` are its offset, its part of a second, its orientation."""
    exif = Image.Exif()
    inside = exif.get_ifd(0x8769)
    for tag, value in ((0x9003, taken), (0x9011, tags.get("offset")), (0x9291, tags.get("sub"))):
        if value is not None:
            inside[tag] = value
    exif[0x0112] = tags.get("orientation", 1)
    path.parent.mkdir(parents=True, exist_ok=True)
    image = tags.get("image") or paint(seed)
    image.save(path, exif=exif, quality=tags.get("quality", 90))
    return path


@pytest.fixture
def phone(tmp_path: Path) -> Path:
    (tmp_path / "phone").mkdir()
    return tmp_path / "phone"


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """The folder of a log."""
    return tmp_path / "log"


def read(home: Path, *entries: str) -> Log:
    """A log with these entries (a name starts with its date) and whatever lies under its `photos/`."""
    photos = {folder.name: tuple(sorted(file.name for file in folder.iterdir())) for folder in home.glob("photos/*")}
    texts = {f"{name}.md": f"---\ndate: {name[:10]}\ntitle: x\n---\n" for name in entries}
    log = read_files(LogFiles(settings=SETTINGS, entries=texts, photos=photos, folder=home)).log
    assert log is not None and len(log.entries) == len(entries)
    return log


def plan(phone: Path, home: Path, *entries: str, day: datetime.date = DAY) -> IntakePlan:
    return plan_intake(phone, day=day, log=read(home, *entries), entry=ENTRY)


def names(made: IntakePlan) -> list[str]:
    return [take.name for take in made.takes]


# ── which, and in which order ────────────────────────────────────────────────────────────────────────────────────


def test_only_photos_of_the_day_are_taken(phone: Path, home: Path) -> None:
    """From midnight to the second before the next; photos without a date are named, those of other days counted."""
    for n, taken in enumerate(["2024:05:17 23:59:59", "2024:05:18 00:00:00", "2024:05:18 23:59:59", None]):
        shoot(phone / f"{n}.jpg", n, taken)
    shoot(phone / "4.jpg", 4, "2024:05:19 00:00:00")
    made = plan(phone, home)
    assert names(made) == ["01-1.jpg", "02-2.jpg"]
    assert made.other_days == (datetime.date(2024, 5, 17), datetime.date(2024, 5, 19))
    assert made.undated == ("3.jpg",)


def test_date_of_editing_is_no_date_of_capture(phone: Path, home: Path) -> None:
    """Exif 2.32, section 4.6.4 D: DateTime (0x0132) is when the file was changed."""
    exif = Image.Exif()
    exif[0x0132] = NOON
    paint(1).save(phone / "a.jpg", exif=exif)
    assert plan(phone, home).undated == ("a.jpg",)


@pytest.mark.parametrize("offset", [None, "+02:00", "-11:00", "   :  ", "Z"])
def test_the_day_is_the_one_where_the_camera_was(offset: str | None, phone: Path, home: Path) -> None:
    """Half past midnight on the 18th is the 18th, although in UTC it may be the 17th (at +02:00) still."""
    shoot(phone / "a.jpg", 1, "2024:05:18 00:30:00", offset=offset)
    shoot(phone / "b.jpg", 2, "2024:05:18 23:30:00", offset=offset)
    assert names(plan(phone, home)) == ["01-a.jpg", "02-b.jpg"]


def test_order_is_that_of_capture(phone: Path, home: Path) -> None:
    """By time and its part of a second, not by name; photos of one instant by name."""
    shoot(phone / "d.jpg", 1, "2024:05:18 09:00:00")
    shoot(phone / "c.jpg", 2, "2024:05:18 10:00:00", sub="25")
    shoot(phone / "b.jpg", 3, "2024:05:18 10:00:00", sub="250")
    shoot(phone / "a.jpg", 4, "2024:05:18 10:00:00", sub="3")
    assert names(plan(phone, home)) == ["01-d.jpg", "02-b.jpg", "03-c.jpg", "04-a.jpg"]


def test_offsets_are_honoured_in_the_order(phone: Path, home: Path) -> None:
    """12:00 at +02:00 is 10:00 UTC and comes before 11:30 at +01:00, which is 10:30 UTC."""
    shoot(phone / "b.jpg", 1, "2024:05:18 12:00:00", offset="+02:00")
    shoot(phone / "a.jpg", 2, "2024:05:18 11:30:00", offset="+01:00")
    assert names(plan(phone, home)) == ["01-b.jpg", "02-a.jpg"]
    shoot(phone / "c.jpg", 3, "2024:05:18 11:45:00")
    assert names(plan(phone, home)) == ["01-a.jpg", "02-c.jpg", "03-b.jpg"], "with one that tells none: by the clocks"


# ── what is there twice ──────────────────────────────────────────────────────────────────────────────────────────


def test_same_bytes_are_taken_once(phone: Path, home: Path) -> None:
    """Of two files with the same bytes the first by name is taken; a file of the same length is none of them."""
    first = shoot(phone / "a.jpg", 1)
    shutil.copy(first, phone / "b.JPG")
    content = first.read_bytes()
    (phone / "c.jpg").write_bytes(content.replace(b"2024:05:18 12:00:00", b"2024:05:18 13:00:00"))
    assert (phone / "c.jpg").stat().st_size == len(content)
    made = plan(phone, home)
    assert names(made) == ["01-a.jpg", "02-c.jpg"]
    assert made.skips == {"b.JPG": "is the same file as `a.jpg`"}


def test_what_the_log_has_is_not_taken_again(phone: Path, home: Path) -> None:
    """The same bytes anywhere in the log, under any name, in an entry of any day or of none."""
    old = shoot(phone / "a.jpg", 1)
    (home / "photos/2020-01-01-old").mkdir(parents=True)
    shutil.copy(old, home / "photos/2020-01-01-old/crack.jpg")
    made = plan(phone, home, "2020-01-01-old")
    assert (made.takes, made.skips) == ((), {"a.jpg": "is the same file as `photos/2020-01-01-old/crack.jpg`"})
    assert plan(phone, home).skips == made.skips


def saved_again(phone: Path, taken: str = NOON, **tags: Any) -> None:
    """`a.jpg`, and `b.jpg`: the same picture at half the size and quality 40."""
    image = paint(1)
    shoot(phone / "a.jpg", 1, NOON)
    smaller = image.resize((image.width // 2, image.height // 2))
    if tags.get("orientation") == 6:
        smaller = smaller.transpose(Image.Transpose.ROTATE_90)  # stored on its side, as a phone does
    shoot(phone / "b.jpg", 1, taken, image=smaller, quality=40, **tags)


@pytest.mark.parametrize("orientation", [1, 6])
def test_picture_saved_again_is_taken_once(orientation: int, phone: Path, home: Path) -> None:
    """The larger one is, turned or not, whichever was named or taken first."""
    saved_again(phone, "2024:05:18 11:59:55", orientation=orientation)
    made = plan(phone, home)
    assert names(made) == ["01-a.jpg"]
    assert made.skips == {"b.jpg": "shows nearly the same as `a.jpg`"}


def test_of_one_size_the_file_with_more_in_it_is_taken(phone: Path, home: Path) -> None:
    """Fewer bytes for as many pixels is a picture that lost something."""
    shoot(phone / "a.jpg", 1, quality=30)
    shoot(phone / "b.jpg", 1, quality=90)
    assert plan(phone, home).skips == {"a.jpg": "shows nearly the same as `b.jpg`"}


@pytest.mark.parametrize(
    ("taken", "offset", "count"),
    [
        ("2024:05:18 12:00:10", None, 1),
        ("2024:05:18 12:00:11", None, 2),
        ("2024:05:18 11:59:49", None, 2),
        ("2024:05:18 13:00:00", None, 2),
        ("2024:05:18 12:00:05", "+02:00", 1),  # one tells an offset, one does not: as the clocks stand
    ],
)
def test_same_picture_of_another_moment_is_taken(
    taken: str, offset: str | None, count: int, phone: Path, home: Path
) -> None:
    """Before and after, from one spot, look nearly the same: more than 10 seconds tell them apart."""
    saved_again(phone, taken, offset=offset)
    assert len(plan(phone, home).takes) == count


def test_another_picture_of_the_same_moment_is_taken(phone: Path, home: Path) -> None:
    """Two cameras may shoot in one second."""
    for n in range(6):
        shoot(phone / f"{n}.jpg", n)
    assert len(plan(phone, home).takes) == 6


@pytest.mark.parametrize(("entry", "taken"), [("2024-05-15-before", 0), ("2024-05-14-before", 1)])
def test_nearly_the_same_in_the_log(entry: str, taken: int, phone: Path, home: Path) -> None:
    """A smaller one in an entry of at most three days off stays; entries further off are not looked through."""
    saved_again(phone)
    (home / "photos" / entry).mkdir(parents=True)
    (phone / "b.jpg").rename(home / "photos" / entry / "small.jpg")
    made = plan(phone, home, entry)
    assert len(made.takes) == taken
    assert made.skips == ({} if taken else {"a.jpg": f"shows nearly the same as `photos/{entry}/small.jpg`"})


def test_look_is_the_published_hash() -> None:
    """dhash 1.4, its documentation: these greys, 4 steps a side, are 1272009721; 0x4bd1 and 0x5bd2 differ in 3 bits."""
    greys = [0, 0, 1, 1, 1, 0, 1, 1, 3, 4, 0, 1, 6, 6, 7, 7, 7, 7, 7, 9, 8, 7, 7, 8, 9]
    assert dhash.dhash_int(greys, 4) == 1272009721
    assert (0x4BD1 ^ 0x5BD2).bit_count() == 3
    assert look_alike(0, (1 << MOST_BITS) - 1)
    assert not look_alike(0, (1 << MOST_BITS + 1) - 1)


def test_look_of_a_slope(tmp_path: Path) -> None:
    """Lighter to the right in all 64 steps and never downwards: 64 ones, then 64 zeros."""
    shoot(tmp_path / "x.png", 0, image=Image.linear_gradient("L").rotate(90))
    (seen,) = see_photos([tmp_path / "x.png"], lambda taken: True).values()
    assert isinstance(seen, SeenPhoto)
    assert seen.fingerprint == ((1 << 64) - 1) << 64
    (seen,) = see_photos([tmp_path / "x.png"], lambda taken: False).values()
    assert isinstance(seen, SeenPhoto) and seen.fingerprint is None


# ── broken ones, and what is no photo ────────────────────────────────────────────────────────────────────────────


def test_broken_photos_are_told_and_harm_no_other(phone: Path, home: Path, tmp_path: Path) -> None:
    """Cut short, empty, of another kind than its name says, a link out of the folder: each with what to do."""
    whole = shoot(phone / "good.jpg", 1).read_bytes()
    (phone / "cut.jpg").write_bytes(whole[: len(whole) // 2])
    (phone / "empty.heic").write_bytes(b"")
    paint(2).save(phone / "false.jpg", "PNG")
    (phone / "link.jpg").symlink_to(shoot(tmp_path / "elsewhere.jpg", 3))
    made = plan(phone, home)
    assert names(made) == ["01-good.jpg"]
    assert list(made.skips) == ["cut.jpg", "empty.heic", "false.jpg", "link.jpg"]
    assert made.skips["cut.jpg"].startswith("is damaged or cut short (")
    assert made.skips["empty.heic"] == "is empty; copy it from the camera again"
    assert made.skips["false.jpg"] == "is really a PNG file; give it the right file extension"
    assert made.skips["link.jpg"] == "is a link that leads out of the photo folder; put the file itself there"


def test_everything_is_told(phone: Path, home: Path) -> None:
    """One line for each photo that is left out, and one for each sort of file that is passed over."""
    first = shoot(phone / "IMG 7.JPG", 1)
    shutil.copy(first, phone / "again.jpg")
    for n in range(6):
        shoot(phone / f"scan{n}.png", n, None)
    shoot(phone / "x.jpg", 7, "2024:05:11 10:00:00")
    shoot(phone / "y.jpg", 8, "2024:05:17 10:00:00")
    shoot(phone / "folder/deep.jpg", 9)
    for name in ("a.MOV", "b.mov", "notes", ".hidden.jpg", "e\x1b[2Jvil.jpg"):
        (phone / name).write_bytes(b"")
    assert list(plan(phone, home).tell()) == [
        "1 photo from 2024-05-18, in photos/2024-05-18-pump/",
        "not copied: `again.jpg` is the same file as `IMG 7.JPG`",
        "not copied: `e [2Jvil.jpg` is empty; copy it from the camera again",
        "not copied, because they have no date: "
        "`scan0.png`, `scan1.png`, `scan2.png`, `scan3.png`, `scan4.png` and 1 more",
        "not copied, because of their date: 2 photos from 2024-05-11 to 2024-05-17",
        "ignored: 3 files of another kind (.mov 2, no suffix 1), 1 hidden, 1 folder",
    ]


def test_nothing_to_take_is_told(phone: Path, home: Path) -> None:
    """An empty folder, or one of another day, says so and makes no folder in the log."""
    assert list(plan(phone, home).tell()) == ["no photos from 2024-05-18 to copy"]
    shoot(phone / "x.jpg", 7, "2024:05:11 10:00:00")
    made = plan(phone, home)
    assert list(made.tell()) == [
        "no photos from 2024-05-18 to copy",
        "not copied, because of their date: 1 photo from 2024-05-11",
    ]
    assert carry_out(made, home) == []
    assert not home.exists()


# ── names ────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_names_are_short_safe_and_unique(phone: Path, home: Path) -> None:
    """Number, what is left of the camera's name, the suffix; at most 40 characters of the name."""
    for n, name in enumerate(["IMG_0001.JPG", "img 0001.jpg", "Öl & Filter.jpeg", "图.jpg", "n" * 200 + ".jpg"]):
        shoot(phone / name, n, f"2024:05:18 12:0{n}:00")
    made = names(plan(phone, home))
    assert made == ["01-img-0001.jpg", "02-img-0001.jpg", "03-ol-filter.jpeg", "04-photo.jpg", f"05-{'n' * 40}.jpg"]


def test_more_than_99_get_three_digits() -> None:
    """Names sort as they were taken."""
    takes = list(intake.name_takes([Path(f"{n}.jpg") for n in range(100)], {}, ()))
    assert [takes[0].name, takes[99].name] == ["001-0.jpg", "100-99.jpg"]
    assert sorted(take.name for take in takes) == [take.name for take in takes]


def test_names_that_are_given_already_are_left_alone(phone: Path, home: Path) -> None:
    """Numbers go on behind what lies in the folder, in whatever case it is written."""
    shoot(home / "photos" / ENTRY / "02-A.JPG", 5, "2024:05:18 08:00:00")
    shoot(phone / "a.jpg", 1)
    assert names(plan(phone, home)) == ["03-a.jpg"]


# ── copying ──────────────────────────────────────────────────────────────────────────────────────────────────────


def hash_tree(folder: Path) -> dict[str, tuple[str, int, int]]:
    """Every file below a folder: its bytes, its mode, when it was changed."""
    return {
        path.relative_to(folder).as_posix(): (
            hashlib.sha256(path.read_bytes() if path.is_file() else b"").hexdigest(),
            path.stat().st_mode,
            path.stat().st_mtime_ns,
        )
        for path in [folder, *sorted(folder.rglob("*"))]
    }


WATCHED: list[tuple[str, tuple[Any, ...]]] | None = None


def _watch(event: str, arguments: tuple[Any, ...]) -> None:
    if WATCHED is not None and event.startswith(("open", "os.", "shutil.")):
        WATCHED.append((event, arguments))


sys.addaudithook(_watch)
"Cannot be taken back (PEP 578), so it is silent while nobody watches."


@pytest.fixture
def watched(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[tuple[str, tuple[Any, ...]]]]:
    """What was asked of the file system, in Python's own words."""
    calls: list[tuple[str, tuple[Any, ...]]] = []
    monkeypatch.setattr(sys.modules[__name__], "WATCHED", calls)
    yield calls


def find_writes(calls: list[tuple[str, tuple[Any, ...]]], folder: Path) -> list[str]:
    """The calls that would change something in a folder."""
    writing = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC
    return [
        f"{event} {arguments}"
        for event, arguments in calls
        if any(str(folder) in str(argument) for argument in arguments)
        and event not in ("os.scandir", "os.listdir", "shutil.copyfile")
        and not (event == "open" and not arguments[2] & writing)
    ]


def test_the_source_is_only_read(
    phone: Path, home: Path, watched: list[tuple[str, tuple[Any, ...]]], tmp_path: Path
) -> None:
    """Bytes, modes and times stay, nothing is added, and no call asks to write there; a read-only folder is enough."""
    for n in range(3):
        shoot(phone / f"{n}.jpg", n, f"2024:05:18 12:0{n}:00").chmod(0o444)
    shutil.copy(phone / "0.jpg", phone / "same.jpg")
    (phone / "broken.jpg").write_bytes(b"\xff\xd8")
    phone.chmod(0o555)
    before = hash_tree(phone)
    watched.clear()
    assert len(carry_out(plan(phone, home), home)) == 3
    assert any(event == "open" and str(phone) in str(arguments[0]) for event, arguments in watched)
    assert find_writes(watched, phone) == []
    assert hash_tree(phone) == before
    phone.chmod(0o755)
    watched.clear()
    (phone / "new").write_bytes(b"")
    assert find_writes(watched, phone), "a write would have been seen"


def test_originals_keep_their_bytes_and_times(phone: Path, home: Path) -> None:
    """A copy has the original's SHA-256 and its time, and can be written by its owner."""
    source = shoot(phone / "a.jpg", 1)
    os.utime(source, (1_700_000_000, 1_716_000_000))
    source.chmod(0o444)
    (copy,) = carry_out(plan(phone, home), home)
    assert copy == home / "photos" / ENTRY / "01-a.jpg"
    assert hashlib.sha256(copy.read_bytes()).digest() == hashlib.sha256(source.read_bytes()).digest()
    assert copy.stat().st_mtime == 1_716_000_000
    assert copy.stat().st_mode & 0o200


def refuse_links(*_: object) -> None:
    raise PermissionError(1, "Operation not permitted")


@pytest.mark.parametrize("links", [True, False])
def test_nothing_is_written_over(links: bool, phone: Path, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A name that was given away since the plan was made is left as it is, with hard links and on a card without."""
    if not links:
        monkeypatch.setattr(os, "link", refuse_links)
    shoot(phone / "a.jpg", 1)
    shoot(phone / "b.jpg", 2, "2024:05:18 13:00:00")
    made = plan(phone, home)
    other = home / "photos" / ENTRY / "02-b.jpg"
    other.parent.mkdir(parents=True)
    other.write_bytes(b"mine")
    with pytest.raises(FileExistsError):
        carry_out(made, home)
    assert other.read_bytes() == b"mine"
    assert sorted(path.name for path in other.parent.iterdir()) == ["01-a.jpg", "02-b.jpg"]
    assert (other.parent / "01-a.jpg").read_bytes() == (phone / "a.jpg").read_bytes()


def test_copying_that_is_stopped_leaves_no_half_and_is_finished_later(
    phone: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A photo is there whole or not at all; what is there already is taken from there by the next plan."""
    for n in range(3):
        shoot(phone / f"{n}.jpg", n, f"2024:05:18 12:0{n}:00")

    def stop(source: Path, target: Path) -> None:
        if source.name == "1.jpg":
            Path(target).write_bytes(b"half")
            raise KeyboardInterrupt
        copyfile(source, target)

    copyfile = shutil.copyfile
    monkeypatch.setattr(shutil, "copyfile", stop)
    with pytest.raises(KeyboardInterrupt):
        carry_out(plan(phone, home), home)
    folder = home / "photos" / ENTRY
    assert [path.name for path in folder.iterdir()] == ["01-0.jpg"]
    monkeypatch.undo()
    made = plan(phone, home)
    assert [(take.name, take.here) for take in made.takes] == [
        ("01-0.jpg", True),
        ("02-1.jpg", False),
        ("03-2.jpg", False),
    ]
    assert made.skips == {}
    assert carry_out(made, home) == [folder / "02-1.jpg", folder / "03-2.jpg"]
    assert all(take.here for take in plan(phone, home).takes)


def test_what_was_copied_stays_although_a_larger_one_came(phone: Path, home: Path) -> None:
    """Between two runs nothing that lies in the entry's folder loses its place in the list."""
    saved_again(phone)
    (phone / "a.jpg").rename(phone / "a.jpg.later")
    carry_out(plan(phone, home), home)
    (phone / "a.jpg.later").rename(phone / "a.jpg")
    made = plan(phone, home)
    assert [(take.name, take.here) for take in made.takes] == [("01-b.jpg", True)]
    assert made.skips == {"a.jpg": "shows nearly the same as `b.jpg`"}


def test_photos_that_were_put_there_by_hand_are_taken(home: Path) -> None:
    """With the entry's own photo folder as the source, what lies there is listed and nothing is copied."""
    folder = home / "photos" / ENTRY
    shoot(folder / "My crack.jpg", 1)
    shutil.copy(folder / "My crack.jpg", folder / "My crack 2.jpg")
    made = plan(folder, home)
    assert [(take.name, take.here) for take in made.takes] == [("My crack 2.jpg", True)]
    assert made.skips == {"My crack.jpg": f"is the same file as `photos/{ENTRY}/My crack 2.jpg`"}
    assert carry_out(made, home) == []


@pytest.mark.parametrize("name", ["a: b.jpg", "a  b.jpg", "a\tb.jpg", "- a.jpg", "#a.jpg", "a\\b.jpg"])
def test_a_name_that_an_entry_cannot_hold_is_not_listed(name: str, home: Path) -> None:
    """What lies there under such a name is told, and not written into an entry that would then be wrong."""
    folder = home / "photos" / ENTRY
    shoot(folder / name, 1)
    made = plan(folder, home)
    assert made.takes == ()
    assert made.skips == {name: f"is the same file as `photos/{ENTRY}/{name}`"}


def test_a_log_from_elsewhere_has_no_photos(phone: Path, home: Path) -> None:
    """A log that was not read from a folder has nothing that could be there twice."""
    shoot(phone / "a.jpg", 1)
    log = replace(read(home, "2024-05-17-x"), folder=None)
    assert names(plan_intake(phone, day=DAY, log=log, entry=ENTRY)) == ["01-a.jpg"]
