"""Pairs of before and after, and the cover: followed from entry to entry; one problem where they lead nowhere."""

from __future__ import annotations

import pytest

from buildlog.problems import Problem
from buildlog.read.files import LogFiles
from buildlog.read.reader import read_files
from tests.support import SETTINGS

FIRST = """date: 2024-05-18
title: Floor out
photos:
  - {file: rust.jpg, says: Rust, after: AFTER}
  - {file: hole.jpg, says: Hole}"""
LATER = "date: 2024-06-01\ntitle: Floor in\nwas: 2024-06-01-floor\nphotos: [{file: floor.jpg, says: Floor}]"
PHOTOS = {"first": ("rust.jpg", "hole.jpg"), "later": ("floor.jpg",)}


def read(after: str, cover: str = "") -> list[Problem]:
    """What is told of a log in which the first entry's picture names one of afterwards."""
    entries = {"first.md": FIRST.replace("AFTER", after), "later.md": LATER}
    texts = {name: f"---\n{head}\n---\nx\n" for name, head in entries.items()}
    settings = SETTINGS + (f"site: {{cover: {cover}}}\n" if cover else "")
    return list(read_files(LogFiles(settings=settings, entries=texts, photos=PHOTOS)).problems)


@pytest.mark.parametrize("after", ["hole.jpg", "later/floor.jpg", "2024-06-01-floor/floor.jpg"])
def test_a_pair_is_of_one_entry_or_of_two(after: str) -> None:
    """By the file alone, by the entry that has it, or by a name that the entry had."""
    assert read(after) == []


PAIRS = {
    "rust.jpg": (
        "no-pair: `rust.jpg` is said to show the same as itself afterwards",
        "name the later picture, or remove `after:`",
    ),
    "hoel.jpg": (
        "no-pair: there is no picture `hoel.jpg` among those that are published, so it is no pair",
        "did you mean `first/hole.jpg`?",
    ),
    "later/qqqqqqqq.png": (
        "no-pair: there is no picture `later/qqqqqqqq.png` among those that are published, so it is no pair",
        "list it under `photos:` in `later.md`, or correct its name",
    ),
    "../later/floor.jpg": (
        "unreadable-value: `../later/floor.jpg` is not a photo of an entry",
        "write `ENTRY/FILE`, as in `2024-05-18-pump/crack.jpg`",
    ),
}


@pytest.mark.parametrize("after", PAIRS)
def test_what_is_no_pair_is_told_once(after: str) -> None:
    """The same picture, one that is not there, one that leads out of the log."""
    [problem] = read(after)
    assert (f"{problem.rule}: {problem.message}", problem.help) == PAIRS[after]
    assert (problem.place.file, problem.place.line) == ("entries/first.md", 5)


def test_what_came_before_is_not_afterwards() -> None:
    """The remedy is the other way round, and following it leaves nothing to tell."""
    early = FIRST.replace("2024-05-18", "2024-07-01").replace("AFTER", "later/floor.jpg")
    texts = {"first.md": f"---\n{early}\n---\nx\n", "later.md": f"---\n{LATER}\n---\nx\n"}
    [problem] = read_files(LogFiles(settings=SETTINGS, entries=texts, photos=PHOTOS)).problems
    assert problem.message == "`later/floor.jpg` is of 2024-06-01, before `rust.jpg` of 2024-07-01"
    assert problem.help == "remove `after:` here, and write `after: first/rust.jpg` beside the earlier picture"
    texts["first.md"] = texts["first.md"].replace(", after: later/floor.jpg", "")
    texts["later.md"] = texts["later.md"].replace("says: Floor", "says: Floor, after: first/rust.jpg")
    assert read_files(LogFiles(settings=SETTINGS, entries=texts, photos=PHOTOS)).problems == ()


COVERS = {
    "later/flor.jpg": (
        "no-cover: the cover `later/flor.jpg` is not among the pictures that are published, so there is none",
        "did you mean `later/floor.jpg`?",
    ),
    "qqqqqqqqqqqq/x.png": (
        "no-cover: the cover `qqqqqqqqqqqq/x.png` is not among the pictures that are published, so there is none",
        "write `ENTRY/FILE`, of a picture that its entry lists",
    ),
    "floor.jpg": (
        "unreadable-value: `floor.jpg` does not say whose photo it is",
        "write `ENTRY/FILE`, as in `2024-05-18-pump/crack.jpg`",
    ),
}


@pytest.mark.parametrize("cover", COVERS)
def test_a_cover_that_is_not_there_is_told_once(cover: str) -> None:
    """With the nearest that is, or how it is written."""
    [problem] = read("hole.jpg", cover)
    assert (f"{problem.rule}: {problem.message}", problem.help) == COVERS[cover]
    assert problem.place.file == "log.yaml"


@pytest.mark.parametrize("cover", ["later/floor.jpg", "2024-06-01-floor/floor.jpg"])
def test_a_cover_is_found_by_its_entry(cover: str) -> None:
    """By an old name of it too."""
    assert read("hole.jpg", cover) == []
