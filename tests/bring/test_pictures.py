"""A phone's pictures go into the entries of their days, once, as they are; days without an entry become drafts."""

from __future__ import annotations

import difflib
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
    """Pictures of folders within folders too; the owner's entry lists its own, a day without one gets a draft."""
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
    assert [photo.file for photo in read(log).entries[0].photos] == ["01-img-1.jpg"]
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


def test_more_of_a_day_go_behind_those_that_are_there(log: Path, phone: Path) -> None:
    """Into the entry that was brought in, numbered on; all that its owner wrote into it meanwhile stays."""
    shoot(phone / "a.jpg", 1, "2024:05:19 12:00:00")
    write(log, phone)
    path = log / "entries/2024-05-19-pictures.md"
    text = path.read_text(encoding="utf-8").replace("says:", "says: The pump").replace("Pictures", "Pump out") + "Done."
    path.write_text(text, encoding="utf-8")
    shoot(phone / "b.jpg", 2, "2024:05:19 13:00:00")
    write(log, phone)
    assert list_pictures(log)["2024-05-19-pictures"] == ["01-a.jpg", "02-b.jpg"]
    added = path.read_text(encoding="utf-8")
    assert [photo.file for photo in read(log).entries[1].photos] == ["01-a.jpg", "02-b.jpg"]
    assert [line for line in added.split("\n") if line in text.split("\n")] == text.split("\n")


WRITTEN = {
    "LF": MINE + "Story,  as it is.\n",
    "CRLF and a byte-order mark": "\ufeff" + MINE.replace("\n", "\r\n") + "Story.\r\n\r\n",
    "both line ends": MINE.replace("18\n", "18\r\n") + "Story.\r\nMore.\n",
    "no line end": MINE.removesuffix("\n"),
}


@pytest.mark.parametrize("how", WRITTEN)
def test_an_owners_entry_gets_lines_and_nothing_else(how: str, log: Path, phone: Path) -> None:
    """The plan shows what is added; without the added lines the file is byte for byte what it was; twice adds none."""
    path = put(log, {"entries/2024-05-18-pump.md": WRITTEN[how]}) / "entries/2024-05-18-pump.md"
    path.chmod(0o640)
    for n in (1, 2):
        shoot(phone / f"{n}.jpg", n, f"2024:05:18 1{n}:00:00")
    before = path.read_bytes()
    made = plan(phone, "--log", log)
    [added_to] = made["added_to"]
    assert (added_to["path"], added_to["photos"]) == ("entries/2024-05-18-pump.md", ["01-1.jpg", "02-2.jpg"])
    done = write(log, phone)
    assert "there already: they are put at the end of its `photos:`" in done.output
    assert f"added to: {path}" in done.output and "1 addition to an entry and 2 pictures" in done.output
    after = path.read_bytes()
    assert (after.decode(), path.stat().st_mode & 0o777) == (added_to["text"], 0o640)
    lines = [text.decode().splitlines(keepends=True) for text in (before, after)]
    assert "".join(line[2:] for line in difflib.ndiff(*lines) if line.startswith("  ")).encode() == before
    tree = read_tree(log)
    again = write(log, phone)
    assert "To write: nothing" in again.output
    assert read_tree(log) == tree


def test_what_an_owner_took_out_stays_out(log: Path, phone: Path) -> None:
    """A blurred picture that was unlisted or removed does not come back with the next time the phone is brought in."""
    for n in (1, 2, 3):
        shoot(phone / f"{n}.jpg", n, f"2024:05:18 1{n}:00:00")
    write(log, phone)
    path = log / "entries/2024-05-18-pump.md"
    text = path.read_text(encoding="utf-8").replace("  - file: 02-2.jpg\n    says:\n", "")
    path.write_text(text.replace("  - file: 03-3.jpg\n    says:\n", ""), encoding="utf-8")
    (log / "photos/2024-05-18-pump/03-3.jpg").unlink()
    tree = read_tree(log)
    made = plan(phone, "--log", log)
    assert (made["added_to"], made["copies"]) == ([], [])
    assert [one["why"] for one in made["left"]] == [
        "is the same file as photos/2024-05-18-pump/01-1.jpg",
        "was brought in before, into entries/2024-05-18-pump.md",
        "was brought in before, into entries/2024-05-18-pump.md",
    ]
    bring(phone, "--log", log, "--yes")
    assert read_tree(log) == tree


def test_pictures_that_cannot_be_listed_stay_out(log: Path, phone: Path) -> None:
    """An entry whose list is written so that no line fits behind it is told, with what would do; nothing is copied."""
    odd = MINE.removesuffix("---\n") + "photos:\n  file: a.jpg\n  says: A\n---\n"
    put(log, {"entries/2024-05-18-pump.md": odd, "photos/2024-05-18-pump/a.jpg": paint_bytes(phone)})
    shoot(phone / "b.jpg", 2, "2024:05:18 12:00:00")
    tree = read_tree(log)
    made = plan(phone, "--log", log)
    [problem] = made["problems"]
    assert problem["message"] == "1 picture of its day cannot be put into this entry, and stay out"
    assert (problem["file"], made["copies"]) == ("entries/2024-05-18-pump.md", [])
    assert "write each on a line of its own" in problem["help"]
    assert bring(phone, "--log", log, "--yes").exit_code == 1
    assert read_tree(log) == tree


def paint_bytes(phone: Path) -> bytes:
    shoot(phone.parent / "other.jpg", 7, "2024:05:18 09:00:00")
    return (phone.parent / "other.jpg").read_bytes()


def test_a_run_that_was_stopped_is_gone_on_with(log: Path, phone: Path) -> None:
    """Pictures that were copied and not yet listed are listed by the next run, and not copied again."""
    for n in (1, 2):
        shoot(phone / f"{n}.jpg", n, f"2024:05:18 1{n}:00:00")
    put(log, {"photos/2024-05-18-pump/01-1.jpg": (phone / "1.jpg").read_bytes()})
    made = plan(phone, "--log", log)
    assert [one["to"] for one in made["copies"]] == ["photos/2024-05-18-pump/02-2.jpg"]
    write(log, phone)
    assert [photo.file for photo in read(log).entries[0].photos] == ["01-1.jpg", "02-2.jpg"]


def test_an_entry_that_is_edited_meanwhile_is_left_alone(log: Path, phone: Path) -> None:
    """Between the plan and its writing: the owner's edit stays, and one sentence says what to do."""
    from buildlog.bring.carry_out import carry_out
    from buildlog.bring.plan import Wish, make_plan
    from tests.bring.kills import LAST

    shoot(phone / "a.jpg", 1, "2024:05:18 12:00:00")
    made = make_plan(Wish(sources=(phone,)), read(log), LAST)
    put(log, {"entries/2024-05-18-pump.md": MINE + "More.\n"})
    with pytest.raises(FileExistsError, match="was edited in the meantime"):
        list(carry_out(made, log))
    assert (log / "entries/2024-05-18-pump.md").read_text(encoding="utf-8") == MINE + "More.\n"
    write(log, phone)
    assert [photo.file for photo in read(log).entries[0].photos] == ["01-a.jpg"]


def test_what_has_no_day_or_is_broken_is_told(log: Path, phone: Path) -> None:
    """A picture whose camera tells no day is for its owner to place; one that is none is a problem."""
    shoot(phone / "a.jpg", 1, None)
    put(phone, {"b.jpg": b"\xff\xd8 no picture", "c.png": b""})
    made = plan(phone, "--log", log)
    assert [(one["file"], one["why"]) for one in made["left"]] == [
        ("phone/a.jpg", "the camera gave it no date: put it into the entry that it belongs to")
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
