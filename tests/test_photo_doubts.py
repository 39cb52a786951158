"""`buildlog check` on photos: each thing that an owner should look at, in the very words."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.photos.test_intake import shoot
from tests.test_cli import DAY, make_log, run

HEAD = "---\ndate: 2024-05-18\ntitle: Pump\nphotos:\n"
NAME = "2024-05-18-pump"


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """An entry with one photo of its day, and nothing to complain of."""
    log = make_log(tmp_path / "log", {f"{NAME}.md": HEAD + "  - {file: a.jpg, says: The pump}\n---\n"})
    shoot(log / "photos" / NAME / "a.jpg", 1, "2024:05:18 12:00:00")
    assert run("check", log, "--as-of", DAY).output == "no problems\n"
    return log


def check(log: Path, *photos: str) -> str:
    """What `check` says when the entry lists these photos."""
    rows = "".join(f"  - {photo}\n" for photo in photos)
    (log / f"entries/{NAME}.md").write_text(f"{HEAD}{rows}---\n")
    result = run("check", log, "--as-of", DAY)
    assert result.exit_code == 0, "a warning forbids nothing"
    assert run("check", log, "--strict", "--as-of", DAY).exit_code == (0 if result.output == "no problems\n" else 1)
    return result.output


def test_a_picture_without_words(log: Path) -> None:
    """Those who cannot see it have nothing of it."""
    assert check(log, "a.jpg") == (
        f"entries/{NAME}.md:5:5: warning: the picture `a.jpg` has no description for people who cannot see it\n"
        "      - »a.jpg«\n"
        "  at photos[0]\n"
        "  add `says: …`\n"
        "  [photo-says-nothing]\n"
        "\n"
        "1 warning\n"
    )


def test_a_picture_that_is_not_there(log: Path) -> None:
    """The nearest that is there is offered; with nothing near, where it should lie."""
    shutil.move(log / "photos" / NAME / "a.jpg", log / "photos" / NAME / "crack.jpg")
    assert check(log, "{file: crack.jpg, says: Crack}", "{file: crak.jpg, says: Crack}") == (
        f"entries/{NAME}.md:6:12: warning: there is no picture `crak.jpg` in `photos/{NAME}/`\n"
        "      - {file: »crak.jpg«, says: Crack}\n"
        "  at photos[1].file\n"
        "  did you mean `crack.jpg`?\n"
        "  [missing-photo]\n"
        "\n"
        "1 warning\n"
    )
    shutil.rmtree(log / "photos")
    assert check(log, "{file: a.jpg, says: A}") == (
        f"entries/{NAME}.md:5:12: warning: there is no picture `a.jpg` in `photos/{NAME}/`\n"
        "      - {file: »a.jpg«, says: A}\n"
        "  at photos[0].file\n"
        f"  put it into `photos/{NAME}/`\n"
        "  [missing-photo]\n"
        "\n"
        "1 warning\n"
    )


def test_a_picture_that_is_not_listed(log: Path) -> None:
    """It is not published, and its owner may wonder why."""
    shoot(log / "photos" / NAME / "b.jpg", 2)
    assert check(log, "{file: a.jpg, says: A}") == (
        f"entries/{NAME}.md:2:1: warning: 1 picture in `photos/{NAME}/` not listed, so not published: `b.jpg`\n"
        "    »date«: 2024-05-18\n"
        "  write: - {file: b.jpg, says: …}\n"
        "         under `photos:`\n"
        "  [unlisted-photo]\n"
        "\n"
        "1 warning\n"
    )


def test_a_picture_of_another_day(log: Path) -> None:
    """More than three days off by the camera; `taken` says that its owner knows."""
    shoot(log / "photos" / NAME / "a.jpg", 1, "2024:05:14 23:59:59")
    assert check(log, "{file: a.jpg, says: A}") == (
        f"entries/{NAME}.md:5:5: warning: the camera dates `a.jpg` 2024-05-14, but the entry is dated "
        "2024-05-18\n"
        "      - »{file: a.jpg, says: A}«\n"
        "  at photos[0]\n"
        "  add `taken: 2024-05-14`, or the true day if the camera's clock was wrong\n"
        "  [stray-photo-date]\n"
        "\n"
        "1 warning\n"
    )
    assert check(log, "{file: a.jpg, says: A, taken: 2024-05-14}") == "no problems\n"
    shoot(log / "photos" / NAME / "a.jpg", 1, "2024:05:15 00:00:00")
    assert check(log, "{file: a.jpg, says: A}") == "no problems\n"
