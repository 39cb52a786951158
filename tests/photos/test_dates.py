"""Photos whose camera tells another day than the entry."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from buildlog.photos.dates import find_stray_dates
from buildlog.read.files import LogFiles
from buildlog.read.reader import read_files
from buildlog.read.records import Log
from tests.support import SETTINGS


def read_one(photo: str) -> Log:
    """A log of one entry of 18 May 2024 that lists one photo."""
    head = f"---\ndate: 2024-05-18\ntitle: x\nphotos: [{photo}]\n---\n"
    reading = read_files(LogFiles(settings=SETTINGS, entries={"e1.md": head}, photos={"e1": ("x.jpg",)}))
    assert reading.log is not None
    return reading.log


def stray(folder: Path, written: str | None, photo: str = "{file: x.jpg}") -> list[str]:
    """The warnings about the photo of that entry, taken as `written`."""
    log = replace(read_one(photo), folder=folder)
    path = folder / "photos/e1/x.jpg"
    path.parent.mkdir(parents=True)
    exif = Image.Exif()
    if written:
        exif.get_ifd(0x8769)[0x9003] = written
    Image.new("RGB", (8, 8)).save(path, exif=exif)
    return [f"{problem.place.file} {problem.severity} {problem.rule}" for problem in find_stray_dates(log)]


WARNING = ["entries/e1.md warning stray-photo-date"]


@pytest.mark.parametrize(
    ("written", "warnings"),
    [
        ("2024:05:18 10:00:00", []),
        ("2024:05:15 00:00:00", []),  # three days before
        ("2024:05:14 23:59:59", WARNING),  # four
        ("2024:05:21 23:59:59", []),  # three days after
        ("2024:05:22 00:00:00", WARNING),  # four
        ("2023:05:18 10:00:00", WARNING),
        (None, []),
    ],
)
def test_more_than_three_days_is_a_warning(written: str | None, warnings: list[str], tmp_path: Path) -> None:
    """Days are counted by the calendar, before and after; a photo without a date says nothing."""
    assert stray(tmp_path, written) == warnings


def test_day_that_is_told_needs_no_warning(tmp_path: Path) -> None:
    """Where the entry says when the photo was taken, the owner knows."""
    assert stray(tmp_path, "2023:01:01 10:00:00", "{file: x.jpg, taken: 2023-01-01}") == []


def test_missing_file_is_told_elsewhere(tmp_path: Path) -> None:
    """A photo that is not there has no date."""
    log = read_one("x.jpg")
    assert list(find_stray_dates(replace(log, folder=tmp_path))) == []
    assert list(find_stray_dates(log)) == []
