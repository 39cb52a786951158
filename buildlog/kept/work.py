"""What one run takes from those before it, and leaves for the next."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

from buildlog.kept.readings import StoredReadings
from buildlog.kept.store import Store, find_kept, hash_program


class Work:
    """The work of earlier runs over any log of this user."""

    def __init__(self, folder: Path, program: bytes, *, clock: Callable[[], int] = time.time_ns) -> None:
        """`folder` is that of the store, `program` what `hash_program` says of this one."""
        self.store = Store(folder, program, clock=clock)
        self.readings = StoredReadings(self.store)

    @property
    def trouble(self) -> str:
        """Why nothing is kept, in one sentence; empty: nothing is wrong."""
        return self.store.trouble


@contextmanager
def keeping_work(anew: bool = False) -> Iterator[Work | None]:
    """The work of earlier runs, and what this one adds to it, however it ends; None where all is to be made anew."""
    program = None if anew else find_program()
    if program is None:
        yield None
        return
    work = Work(find_kept(), program)
    try:
        yield work
    finally:
        work.store.close()


@cache
def find_program() -> bytes | None:
    """What this program is known by, see `hash_program`; None while it is being changed."""
    return hash_program(Path(__file__).parent.parent)
