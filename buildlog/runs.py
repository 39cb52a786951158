"""How a run goes: which stage is at work, how far it is, how long each took; and what other runs are at.

Nothing that is made depends on it: a run that nobody watches makes the same bytes. The stages tell it what they do; who
shows that, on a terminal or in a log, is handed in, and so is the clock.
"""

from __future__ import annotations

import errno
import hashlib
import importlib
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

Show = Callable[[str, int, int], None]
"Is called with the stage at work, and of what it counts so many of so many; 0 of 0 where it counts nothing."


class Watch:
    """Who a run tells how it goes. Only the thread that runs the stages tells it."""

    def __init__(self, show: Show | None = None, *, clock: Callable[[], float] = time.perf_counter) -> None:
        """`clock` gives seconds, from whatever start."""
        self._show = show or (lambda stage, done, total: None)
        self._clock = clock
        self._inside: list[str] = []
        self._since = 0.0
        self._unfinished: tuple[str, int, int] | None = None
        self._spent: dict[str, float] = {}
        self._notes: dict[str, str] = {}

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        """A stage is at work as long as the `with` lasts."""
        with self.spending(name):
            self._show(*(self._unfinished or (name, 0, 0)))
            yield

    @contextmanager
    def spending(self, name: str) -> Iterator[None]:
        """The time in this `with` is that of one stage, and not of the one that the `with` stands in.

        So waiting for photos, which pages do, is told of photos: all times together are what somebody waited.
        """
        self._book()
        self._spent.setdefault(name, 0.0)
        self._inside.append(name)
        try:
            yield
        finally:
            self._book()
            self._inside.pop()

    # By name: photos are waited for while another stage is at work, and are told of as photos.
    def tell(self, name: str, done: int, total: int) -> None:
        """So many are done of so many; this is shown until all are, whatever other stage is at work meanwhile."""
        self._unfinished = (name, done, total) if done < total else None
        self._show(*(self._unfinished or (self._inside[0] if self._inside else name, 0, 0)))

    def note(self, name: str, says: str) -> None:
        """What a stage had to do, or did, in a few words for the log."""
        self._notes[name] = says

    def rest(self) -> None:
        """No stage is at work any more, or not for now: nothing is shown."""
        self._unfinished = None
        self._show("", 0, 0)

    def list_times(self) -> list[str]:
        """The log: a line for each stage that was begun, in order, such as `read       0.08 s  42 entries`."""
        return [
            f"{name:<9}{spent:>6.2f} s  {self._notes.get(name, '')}".rstrip() for name, spent in self._spent.items()
        ]

    def _book(self) -> None:
        """Put the time since the last look at the clock down to the stage that is at work."""
        now = self._clock()
        if self._inside:
            self._spent[self._inside[-1]] += now - self._since
        self._since = now


def prepare_python(*arguments: str) -> tuple[list[str], dict[str, str]]:
    """The command that starts this Python with these arguments, and the environment in which it finds this package."""
    package = Path(__file__).parent.parent
    # `-P` keeps the folder that one stands in off the path, which may well be a bag: a `yaml.py` there is not run.
    path = os.pathsep.join(filter(None, [str(package), os.getenv("PYTHONPATH")]))
    return [sys.executable, "-P", *arguments], {**os.environ, "PYTHONPATH": path}


def is_running(process: int) -> bool:
    """Whether a process of that number is at work; of one that nobody can tell of here, that it is."""
    if os.name != "posix":  # elsewhere a signal of number 0 is one that ends a process
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True


class FolderBusy(Exception):
    """Another run holds a folder just now."""


@contextmanager
def hold_folder(folder: Path) -> Iterator[bool]:
    """Hold a folder, which is there, against every other run that asks for it. Raises `FolderBusy`.

    The system gives the lock back when a run dies. Told is whether there is one: a drive in a network may have none.
    """
    handle, lock = _open_lock(folder)
    try:
        try:
            lock(handle)
        except OSError as error:
            # What POSIX and Windows raise where another run holds it; whatever else is raised, there can be no lock.
            if error.errno in (errno.EAGAIN, errno.EACCES, errno.EDEADLK):
                raise FolderBusy from None
            locked = False
        else:
            locked = True
        yield locked
    finally:
        os.close(handle)


def _open_lock(folder: Path) -> tuple[int, Callable[[int], None]]:
    """What is locked for a folder, open, and how: the folder itself; on Windows, which opens none, a file apart.

    That file lies among the system's temporary ones under a name made of the folder's, never in the folder: an owner's
    own files may lie there, and nothing but the site's may come to them. It stays: were it deleted, a second run could
    make and lock another of that name.
    """
    try:
        import fcntl
    except ImportError:
        # By name, as type checkers know what is in it on Windows alone.
        msvcrt: Any = importlib.import_module("msvcrt")
        name = hashlib.sha256(os.path.normcase(folder).encode("utf-8", "surrogatepass")).hexdigest()
        path = Path(tempfile.gettempdir(), f"buildlog-{name[:32]}.lock")
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
        return handle, lambda handle: msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
    return os.open(folder, os.O_RDONLY), lambda handle: fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
