"""How far long work is, in one line of a terminal that goes again; nothing where nobody looks.

Written to standard error, so that what a command answers can be piped on.
"""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable
from types import TracebackType
from typing import TextIO

from buildlog.arithmetic import round_to_whole

FIRST_S = 1.0
"Seconds before a time that is left can be told at all."
BETWEEN_S = 0.1
"Seconds between two tellings: a terminal is slow, and nobody reads faster."


class Progress:
    """A line such as `photos: 12 of 40, about 3 s left`; use it in a `with`, which takes the line away."""

    def __init__(self, what: str, stream: TextIO, *, clock: Callable[[], float] = time.monotonic) -> None:
        self._what = what
        self._stream = stream
        self._clock = clock
        self._shown = stream.isatty()
        self._width = 0
        self._told = self._began = clock()

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        if self._width:
            self._write("")

    def tell(self, done: int, total: int) -> None:
        """Show that so many are done of so many; the first call starts the clock."""
        now = self._clock()
        if not done:
            self._began = now
        if self._shown and (now - self._told >= BETWEEN_S or not done):
            self._told = now
            self._write(f"{self._what}: {done} of {total}{describe_rest(now - self._began, done, total)}")

    def _write(self, line: str) -> None:
        line = line[: shutil.get_terminal_size().columns - 1]
        self._stream.write(f"\r{line.ljust(self._width)}" + ("" if line else "\r"))
        self._stream.flush()
        self._width = len(line)


def describe_rest(spent: float, done: int, total: int) -> str:
    """The time left by the mean so far, in words; empty when that is not known yet, or nothing is left."""
    if not done or spent < FIRST_S or done >= total:
        return ""
    left = spent / done * (total - done)
    if left < 90:
        return f", about {max(1, round_to_whole(left))} s left"
    if left < 90 * 60:
        return f", about {round_to_whole(left / 60)} min left"
    return f", about {round_to_whole(left / 3600)} h left"
