"""`buildlog write TITLE --photos FOLDER`: what it prints, what it writes, and that the draft publishes as it stands."""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from buildlog.read.reader import read_log
from tests.photos.test_intake import shoot
from tests.test_cli import DAY, hash_folder, make_log, run


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return make_log(tmp_path / "log", {"2024-05-11-start.md": "---\ndate: 2024-05-11\ntitle: Start\n---\nIt stands.\n"})


@pytest.fixture
def phone(tmp_path: Path) -> Path:
    """Two photos of 18 May, one of them twice, one of another day, a film."""
    folder = tmp_path / "phone"
    shoot(folder / "IMG_2.jpg", 2, "2024:05:18 15:00:00")
    shoot(folder / "IMG_3.jpg", 3, "2024:05:18 14:00:00")
    shutil.copy(folder / "IMG_2.jpg", folder / "IMG_2 copy.jpg")
    shoot(folder / "IMG_1.jpg", 1, "2024:05:12 10:00:00")
    (folder / "IMG_4.mov").write_bytes(b"film")
    return folder


def test_photos_of_the_day_come_with_the_entry(log: Path, phone: Path) -> None:
    """They are copied, named and listed in order of capture; what is left out is told; the folder stays as it was."""
    before = hash_folder(phone)
    result = run("write", "Lift pump off", "--photos", phone, "--log", log, "--as-of", "2024-05-18")
    assert result.exit_code == 0
    assert result.output == (
        "2 photos from 2024-05-18, in photos/2024-05-18-lift-pump-off/\n"
        "not copied: `IMG_2.jpg` is the same file as `IMG_2 copy.jpg`\n"
        "not copied, because of their date: 1 photo from 2024-05-12\n"
        "ignored: 1 file of another kind (.mov 1)\n"
        f"written: {log / 'entries/2024-05-18-lift-pump-off.md'}\n"
    )
    assert hash_folder(phone) == before
    folder = log / "photos/2024-05-18-lift-pump-off"
    assert {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()} == {
        "01-img-3.jpg": before["IMG_3.jpg"],
        "02-img-2-copy.jpg": before["IMG_2.jpg"],
    }
    entry = read_log(log).log.entries[1]  # type: ignore[union-attr]  # None would fail here
    assert [photo.file for photo in entry.photos] == ["01-img-3.jpg", "02-img-2-copy.jpg"]


def test_the_draft_is_checked_and_published_as_it_stands(log: Path, phone: Path) -> None:
    """What is missing are the words for each photo, a warning each; the photos are on the page all the same."""
    run("write", "Lift pump off", "--photos", phone, "--log", log, "--as-of", "2024-05-18")
    checked = run("check", log, "--as-of", DAY)
    assert checked.exit_code == 0
    assert checked.output == (
        "entries/2024-05-18-lift-pump-off.md:11:5: warning: the picture `01-img-3.jpg` has no description for "
        "people who cannot see it\n"
        "      - »file«: 01-img-3.jpg\n"
        "  at photos[0]\n"
        "  add `says: …`\n"
        "  [photo-says-nothing]\n"
        "\n"
        "entries/2024-05-18-lift-pump-off.md:13:5: warning: the picture `02-img-2-copy.jpg` has no description for "
        "people who cannot see it\n"
        "      - »file«: 02-img-2-copy.jpg\n"
        "  at photos[1]\n"
        "  add `says: …`\n"
        "  [photo-says-nothing]\n"
        "\n"
        "2 warnings\n"
    )
    assert run("publish", log, "--as-of", DAY).exit_code == 0
    page = (log / "site/entries/2024-05-18-lift-pump-off.html").read_text()
    assert page.count("<figure>") == 2


def test_a_second_entry_of_the_day_takes_what_is_left(log: Path, phone: Path) -> None:
    """The same folder again has nothing new in it, and the log's own photos are named."""
    run("write", "Lift pump off", "--photos", phone, "--log", log, "--as-of", "2024-05-18")
    shoot(phone / "IMG_9.jpg", 9, "2024:05:18 18:00:00")
    result = run("write", "And on again", "--photos", phone, "--log", log, "--as-of", "2024-05-18")
    assert result.output.splitlines()[1:5] == [
        "1 photo from 2024-05-18, in photos/2024-05-18-and-on-again/",
        "not copied: `IMG_2 copy.jpg` is the same file as `photos/2024-05-18-lift-pump-off/02-img-2-copy.jpg`",
        "not copied: `IMG_2.jpg` is the same file as `photos/2024-05-18-lift-pump-off/02-img-2-copy.jpg`",
        "not copied: `IMG_3.jpg` is the same file as `photos/2024-05-18-lift-pump-off/01-img-3.jpg`",
    ]


def test_a_log_with_an_error_takes_no_photo(log: Path, phone: Path) -> None:
    """Nothing is copied beside a log that cannot be read: exit 1, no folder, no entry."""
    (log / "entries/2024-05-12-bad.md").write_text("no front matter")
    before = hash_folder(log)
    assert run("write", "x", "--photos", phone, "--log", log, "--as-of", "2024-05-18").exit_code == 1
    assert hash_folder(log) == before


def test_a_folder_that_is_not_there_is_wrong_use(log: Path) -> None:
    """Exit 2, and nothing is written."""
    before = hash_folder(log)
    assert run("write", "x", "--photos", log / "nowhere", "--log", log).exit_code == 2
    assert hash_folder(log) == before


def test_pictures_are_left_alone_where_none_are_asked_for(log: Path) -> None:
    """Without `--photos` no picture library is loaded: an entry without photos is drafted at once."""
    code = (
        "import sys; from buildlog.cli import main\n"
        f"main(['write', 'x', '--log', {str(log)!r}], standalone_mode=False)\n"
        "print([name for name in ('PIL', 'dhash', 'pillow_heif') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
