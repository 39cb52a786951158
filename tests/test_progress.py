"""The line that tells how far long work is: what it says, when it is there, and that it goes again."""

from __future__ import annotations

import io

import pytest

from buildlog.progress import Progress, describe_rest


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("spent", "done", "total", "words"),
    [
        (0.0, 0, 40, ""),
        (0.9, 3, 40, ""),  # too soon to tell
        (10.0, 10, 40, ", about 30 s left"),  # 1 s each, 30 to go
        (2.0, 39, 40, ", about 1 s left"),  # 0.05 s, but never none
        (60.0, 10, 40, ", about 3 min left"),  # 6 s each, 180 s
        (600.0, 10, 400, ", about 6 h left"),  # 60 s each, 390 min
        (10.0, 40, 40, ""),
    ],
)
def test_time_left(spent: float, done: int, total: int, words: str) -> None:
    """The mean time so far for each that is left, rounded to what it is worth."""
    assert describe_rest(spent, done, total) == words


def test_one_line_that_goes_again() -> None:
    """Each telling covers the one before, ten a second at most, and in the end the line is empty."""
    terminal, now = Terminal(), iter([0.0, 0.0, 0.05, 2.0])
    with Progress("photos", terminal, clock=lambda: next(now)) as progress:
        progress.tell(0, 40)
        progress.tell(1, 40)
        progress.tell(2, 40)
    line = "photos: 2 of 40, about 38 s left"
    assert terminal.getvalue() == f"\rphotos: 0 of 40\r{line}\r{' ' * len(line)}\r"


def test_quiet_in_a_pipe() -> None:
    """Where no terminal is, nothing is written, not even an empty line."""
    pipe = io.StringIO()
    with Progress("photos", pipe) as progress:
        progress.tell(0, 40)
        progress.tell(40, 40)
    assert pipe.getvalue() == ""


def test_nothing_to_do_shows_nothing() -> None:
    """When no work was told of, the terminal is left as it is."""
    terminal = Terminal()
    with Progress("photos", terminal):
        pass
    assert terminal.getvalue() == ""
