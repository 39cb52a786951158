"""A phone's pictures go into the entries of their days, once, as they are; days without an entry become drafts."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from buildlog.photos.dates import see_photos
from tests.bring.drawers import bring, plan, put, read, start_log, write
from tests.killing import read_tree
from tests.photos.test_intake import paint, shoot

MINE = "---\ndate: 2024-05-18\ntitle: Pump off\n---\n"


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return put(start_log(tmp_path / "log"), {"entries/2024-05-18-pump.md": MINE})


@pytest.fixture
def phone(tmp_path: Path) -> Path:
    (tmp_path / "phone").mkdir()
    return tmp_path / "phone"


def list_pictures(log: Path) -> dict[str, list[str]]:
    return {folder.name: sorted(file.name for file in folder.iterdir()) for folder in sorted(log.glob("photos/*"))}


def test_each_into_the_entry_of_its_day(log: Path, phone: Path) -> None:
    """Pictures of folders within folders too; the owner's entry stays as it is, a day without one gets a draft."""
    shoot(phone / "100APPLE" / "IMG_1.jpg", 1, "2024:05:18 10:00:00")
    shoot(phone / "101APPLE" / "IMG_2.jpg", 2, "2024:05:19 12:00:00")
    shoot(phone / "101APPLE" / "IMG_3.jpg", 3, "2024:05:19 11:00:00")
    originals = {path.read_bytes() for path in phone.rglob("*.jpg")}
    write(log, phone)
    assert list_pictures(log) == {
        "2024-05-18-pump": ["01-img-1.jpg"],
        "2024-05-19-pictures": ["01-img-3.jpg", "02-img-2.jpg"],
    }
    assert {path.read_bytes() for path in log.rglob("*.jpg")} == originals
    assert (log / "entries/2024-05-18-pump.md").read_text(encoding="utf-8") == MINE
    [draft] = [entry for entry in read(log).entries if entry.title == "Pictures"]
    assert [photo.file for photo in draft.photos] == ["01-img-3.jpg", "02-img-2.jpg"]


def test_the_day_is_the_one_where_the_camera_was(log: Path, phone: Path) -> None:
    """Half past eleven at night at +02:00 is that evening, whatever day it was in UTC, and wherever this is run."""
    shoot(phone / "a.jpg", 1, "2024:05:20 23:30:00", offset="+02:00")
    shoot(phone / "b.jpg", 2, "2024:05:21 00:30:00", offset="-05:00")
    made = plan(phone, "--log", log)
    assert [(entry["date"], entry["photos"]) for entry in made["entries"]] == [("2024-05-20", 1), ("2024-05-21", 1)]


def test_doubles_are_left_out(log: Path, phone: Path) -> None:
    """The same bytes, and nearly the same picture of the same moment: the larger one stays, and it is said which."""
    shoot(phone / "a.jpg", 1, "2024:05:19 12:00:00")
    (phone / "copy of a.jpg").write_bytes((phone / "a.jpg").read_bytes())
    shoot(phone / "sent.jpg", 1, "2024:05:19 12:00:00", image=paint(1).resize((240, 180)), quality=60)
    shoot(phone / "other.jpg", 2, "2024:05:19 12:00:03")
    shoot(phone / "later.jpg", 1, "2024:05:19 12:10:00", quality=80)
    made = plan(phone, "--log", log)
    assert {one["file"]: one["why"] for one in made["left"]} == {
        "phone/copy of a.jpg": "is the same file as phone/a.jpg",
        "phone/sent.jpg": "shows nearly the same as phone/a.jpg",
    }
    assert made["entries"][0]["photos"] == 3


def test_what_the_log_has_is_not_taken_again(log: Path, phone: Path) -> None:
    """Brought twice nothing is added; nor is a picture saved again of one that is there."""
    shoot(phone / "a.jpg", 1, "2024:05:19 12:00:00")
    write(log, phone)
    before = read_tree(log)
    shoot(phone / "sent.jpg", 1, "2024:05:19 12:00:00", image=paint(1).resize((240, 180)), quality=60)
    made = plan(phone, "--log", log)
    write(log, phone)
    assert read_tree(log) == before
    assert [one["why"] for one in made["left"]] == [
        "is the same file as photos/2024-05-19-pictures/01-a.jpg",
        "shows nearly the same as photos/2024-05-19-pictures/01-a.jpg",
    ]


def test_more_of_a_day_go_beside_those_that_are_there(log: Path, phone: Path) -> None:
    """Into the entry that was brought in, numbered on; its text is its owner's by then, and stays."""
    shoot(phone / "a.jpg", 1, "2024:05:19 12:00:00")
    write(log, phone)
    text = (log / "entries/2024-05-19-pictures.md").read_bytes()
    shoot(phone / "b.jpg", 2, "2024:05:19 13:00:00")
    write(log, phone)
    assert list_pictures(log)["2024-05-19-pictures"] == ["01-a.jpg", "02-b.jpg"]
    assert (log / "entries/2024-05-19-pictures.md").read_bytes() == text


def test_what_has_no_day_or_is_broken_is_told(log: Path, phone: Path) -> None:
    """A picture whose camera tells no day is for its owner to place; one that is none is a problem."""
    shoot(phone / "a.jpg", 1, None)
    put(phone, {"b.jpg": b"\xff\xd8 no picture", "c.png": b""})
    made = plan(phone, "--log", log)
    assert [(one["file"], one["why"]) for one in made["left"]] == [
        ("phone/a.jpg", "its camera tells no day: put it into the entry that it belongs to")
    ]
    assert sorted(one["file"] for one in made["problems"]) == ["phone/b.jpg", "phone/c.png"]


def test_receipts_and_pictures_of_one_day_share_an_entry(log: Path, phone: Path) -> None:
    """What was bought that day, and what it looked like, in one entry."""
    shoot(phone / "a.jpg", 1, "2024:05:19 12:00:00")
    put(phone, {"r.csv": "Date,Supplier,Item,Total\n2024-05-19,A,Hose,12.50\n"})
    write(log, phone)
    [entry] = [entry for entry in read(log).entries if entry.brought_from]
    assert (entry.title, len(entry.photos), len(entry.bought)) == ("Bought from A", 1, 1)
    assert list_pictures(log) == {entry.name: ["01-a.jpg"]}


def test_only_pictures_of_one_moment_are_decoded(log: Path, phone: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of all others the head alone is read: that is what makes 1,400 of them a matter of copying."""
    for n in range(6):
        shoot(phone / f"{n}.jpg", n, f"2024:05:19 12:{10 * n:02}:00")
    shoot(phone / "burst.jpg", 9, "2024:05:19 12:00:02")
    decoded: list[str] = []

    def see(paths: list[Path], wanted: object) -> object:
        seen = see_photos(paths, wanted)  # type: ignore[arg-type]
        decoded.extend(path.name for path, one in seen.items() if getattr(one, "fingerprint", None) is not None)
        return seen

    monkeypatch.setattr("buildlog.bring.pictures.see_photos", see)
    assert json.loads(bring(phone, "--log", log, "--dry-run", "--json").stdout)["entries"][0]["photos"] == 7
    assert sorted(decoded) == ["0.jpg", "burst.jpg"]
