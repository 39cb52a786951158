"""Runs that are killed by themselves at a chosen event, so that a test neither waits for a moment nor misses it.

An event is something that a run is about to do to the disk or with it, as Python tells it to audit hooks (PEP 578): a
file opened, made, renamed, removed, a folder listed, a lock taken. A run dies in one of two ways: at once, before the
event, or in the midst of the next long write after it, when a file would grow past so many bytes (POSIX, RLIMIT_FSIZE).
"""

from __future__ import annotations

import os
import resource
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

EVENTS = frozenset(
    "open os.rename os.remove os.mkdir os.rmdir os.truncate os.utime os.link os.chmod os.listdir os.scandir "
    "fcntl.flock shutil.copyfile shutil.rmtree sqlite3.connect".split()
)
DEATHS = (signal.SIGKILL, signal.SIGXFSZ)


def count_events() -> Callable[[], int]:
    """What says how many events this process has met since."""
    met = [0]
    sys.addaudithook(lambda event, _: met.__setitem__(0, met[0] + (event in EVENTS)))
    return lambda: met[0]


def die_at(number: int, *, longest: int | None = None) -> None:
    """Have this process die at an event from now on, the first being 1.

    With `longest` it goes on from there until a file would grow past so many bytes, and leaves it as long as that.
    """
    signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    left = [number]

    def strike(event: str, _: object) -> None:
        if event in EVENTS:
            left[0] -= 1
            if left[0] == 0 and longest is None:
                os.kill(os.getpid(), signal.SIGKILL)
            elif left[0] == 0:
                resource.setrlimit(resource.RLIMIT_FSIZE, (longest, longest))

    sys.addaudithook(strike)


def run_apart(work: Callable[[], object]) -> int:
    """The signal that ended the work, 0 for none; it is done in a fork of this process, which must have one thread."""
    child = os.fork()
    if not child:
        _do(work)
    status = os.waitpid(child, 0)[1]
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0, "it ended badly by itself"
    return os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0


def _do(work: Callable[[], object]) -> NoReturn:
    code = 1
    try:
        work()
        code = 0
    finally:
        sys.stderr.flush()
        os._exit(code)


def read_tree(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, hidden ones too, by its path."""
    paths = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in paths}
