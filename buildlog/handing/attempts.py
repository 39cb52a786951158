"""How a fault of this program is told while it works on a stranger's log: as a sentence with the file it stopped at.

A log that was handed over has been read, reckoned and rendered by then. One at which this program stops all the same
was made to stop it, or shows a fault of ours; either way nothing that rests on that log may pass as merely not checked.
A limit of time or memory is something else, and is left to `run_apart`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from buildlog.record.findings import Finding, Flaw, judge
from buildlog.record.unpack import Refused

T = TypeVar("T")
STOPPED = "this program stops at it, as it never does at a log that was handed over: it cannot be reckoned with"


def attempt(work: Callable[[], T]) -> T | None:
    """What the work comes to, or None where a fault of ours ended it. Raises `Refused` and `MemoryError`."""
    try:
        return work()
    except (MemoryError, Refused):
        raise
    except Exception:  # whatever it is, the answer has a sentence for it
        return None


def fail_stopped(key: str, file: str) -> Finding:
    """That a question fails because the program stopped at a file."""
    return judge(key, [Flaw(rule="cannot-be-read", message=STOPPED, file=file)], "")


def find_stopper(entries: Sequence[str], stops: Callable[[Sequence[str]], bool]) -> str:
    """The entry at which work stops that goes well without it; `log.yaml` where it stops without any, or with none.

    `stops` is asked about the first so many entries: each question halves what is left, so that a thousand entries take
    ten.
    """
    if stops(()) or not stops(entries):
        return "log.yaml"
    good, bad = 0, len(entries)
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (good, middle) if stops(entries[:middle]) else (middle, bad)
    return entries[bad - 1]
