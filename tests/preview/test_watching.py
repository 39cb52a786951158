"""A change of the log is noticed however it is made: by events, by looking, by an editor that exchanges the file."""

from __future__ import annotations

import gc
import os
import shutil
import threading
import weakref
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from buildlog.preview import running
from buildlog.preview.running import follow, is_of_log, searching_when_idle
from tests.preview.logs import make_log

NEVER_S = 300
"What was not noticed by then never will be."
ENTRY = "entries/2024-06-02-brakes.md"


class Followed:
    """A log that is followed in a thread, and what was noticed of it."""

    def __init__(self, log: Path) -> None:
        self.told: list[str] = []
        self.stop = threading.Event()
        self._ticks = 0
        self._changes = 0
        self._news = threading.Condition()
        self._thread = threading.Thread(target=self._run, args=(log,))
        self._thread.start()

    def _run(self, log: Path) -> None:
        for changed in follow(log, self.stop, self.told.append):
            with self._news:
                self._ticks += 1
                self._changes += changed
                self._news.notify_all()

    def settle(self) -> int:
        """The changes so far, once a quiet while has passed since now."""
        with self._news:
            while True:
                ticks, changes = self._ticks, self._changes
                assert self._news.wait_for(lambda: self._ticks > ticks + 1, NEVER_S)  # noqa: B023  # asked at once
                if self._changes == changes:
                    return changes

    def notices(self, change: Callable[[], object]) -> bool:
        """Whether a change is noticed."""
        before = self.settle()
        change()
        with self._news:
            return self._news.wait_for(lambda: self._changes > before, NEVER_S)

    def close(self) -> None:
        self.stop.set()
        self._thread.join()


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return make_log(tmp_path / "log")


@pytest.fixture
def followed(log: Path) -> Iterator[Followed]:
    found = Followed(log)
    yield found
    found.close()


def exchange(path: Path, text: str) -> None:
    """As careful editors save: beside it, then over it."""
    beside = path.with_name(path.name + "~")
    beside.write_text(text)
    os.replace(beside, path)


def set_aside(path: Path, text: str) -> None:
    """As others do: the old one is set aside, and a new one made."""
    os.replace(path, path.with_name(f".{path.name}.old"))
    path.write_text(text)


WAYS: dict[str, Callable[[Path], object]] = {
    "written over": lambda log: (log / ENTRY).write_text("x"),
    "exchanged": lambda log: exchange(log / ENTRY, "x"),
    "set aside": lambda log: set_aside(log / ENTRY, "x"),
    "new": lambda log: (log / "entries/2024-06-03-new.md").write_text("x"),
    "gone": lambda log: (log / ENTRY).unlink(),
    "in a new folder": lambda log: (log / "papers").mkdir() or (log / "papers/a.pdf").write_text("x"),
    "settings": lambda log: (log / "log.yaml").write_text("x"),
    "a photo": lambda log: (log / "photos/2024-05-18-pump/seal.png").write_text("x"),
    "the folder gone": shutil.rmtree,
}


@pytest.mark.parametrize("way", WAYS)
def test_a_change_is_noticed(way: str, log: Path, followed: Followed) -> None:
    """However an editor writes, and whatever of the log it is."""
    assert followed.notices(lambda: WAYS[way](log))
    assert followed.told == []


def test_a_folder_that_comes_back_is_followed_again(log: Path, followed: Followed, tmp_path: Path) -> None:
    """As a stick that was pulled out and put in again: gone, back, and then a save in it."""
    assert followed.notices(lambda: log.rename(tmp_path / "away"))
    assert followed.notices(lambda: (tmp_path / "away").rename(log))
    assert followed.notices(lambda: (log / ENTRY).write_text("once more"))


def test_changes_are_found_where_the_system_tells_of_none(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With no watch to be had, as beyond the system's limit: names, sizes and times are looked at, and that is told."""

    def refuse(*_: object, **__: object) -> Iterator[object]:
        raise OSError("no watch is left")

    monkeypatch.setattr(running, "watch", refuse)
    monkeypatch.setattr(running, "LOOK_S", 0.01)
    found = Followed(log)
    try:
        assert found.notices(lambda: (log / ENTRY).write_text("x"))
        assert found.notices(lambda: exchange(log / ENTRY, "y"))
        assert found.told == [
            "this system does not report changes here (no watch is left), so they are looked for every few seconds"
        ]
    finally:
        found.close()


def test_changes_are_found_where_a_drive_sends_no_events(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As a network drive, on which a watch can be set and never tells of anything."""

    def hear_nothing(folder: Path, stop: threading.Event) -> Iterator[bool]:
        while not stop.wait(0.01):
            yield False

    monkeypatch.setattr(running, "_hear", hear_nothing)
    monkeypatch.setattr(running, "LOOK_S", 0.01)
    found = Followed(log)
    try:
        assert found.notices(lambda: (log / ENTRY).write_text("x"))
    finally:
        found.close()


@pytest.mark.parametrize(
    ("path", "belongs"),
    [
        ("entries/a.md", True), ("log.yaml", True), ("photos/a/b.jpg", True), ("theme/x.css", True), ("seals", True),
        ("", True),
        ("site/index.html", False), ("entries/.a.md.swp", False), (".git/index", False), ("photos/a/.b.jpg.123", False),
        ("notes.txt", False),
    ],
)  # fmt: skip
def test_only_what_a_log_is_read_from_counts(path: str, belongs: bool) -> None:
    """Not the site beside it, which publishing would change, nor what editors and tools leave hidden."""
    assert is_of_log("/a/log", f"/a/log/{path}".rstrip("/")) is belongs


class Ring:
    """A thing that refers to itself, so that no count of references lets it go."""

    def __init__(self) -> None:
        self.itself = self


def test_memory_is_searched_when_asked_and_not_in_the_middle_of_a_save() -> None:
    """What has become garbage stays until there is time, and goes then; afterwards Python searches as it did before."""
    assert gc.isenabled()
    with searching_when_idle() as search:
        lost = weakref.ref(Ring())
        # Far more than Python takes before it searches by itself, and all of it alive.
        made = [[n] for n in range(2 * running.NEW_OBJECTS)]
        assert lost() is not None
        search()
        assert lost() is None
        again = weakref.ref(Ring())
        search()
        assert again() is not None, "too little is new to be searched for"
        assert len(made) == 2 * running.NEW_OBJECTS
    assert gc.isenabled()
    assert gc.get_freeze_count() == 0
