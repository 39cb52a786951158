"""How leaves and a seal get into `seals/` so that a run that is killed at any step harms nothing.

    lock        one run at a time; the lock ends with the process
    marker      `unfinished.json` says which seal is about to be written
    leaves      appended, and on the disk before the seal is
    seal        exchanged whole: from now on the leaves count
    no marker

A run that finds the marker drops the leaves that no seal counts, or, where the seal was written, only the marker. Lines
that a seal counts are never touched.
"""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from buildlog.record.canonical import NotCanonical, read_canonical, write_canonical
from buildlog.record.leaves import LEAVES_FILE
from buildlog.record.seal_report import SealFolder
from buildlog.record.seals import FOLDER, UNFINISHED, NotASeal, Seal, name_seal, read_seal, write_seal

LOCK = ".lock"
HELD = {errno.EACCES, errno.EDEADLK} if sys.platform == "win32" else {errno.EWOULDBLOCK, errno.EAGAIN}
"How a system says that another process holds a lock (flock(2); Microsoft, _locking); all else is a disk that fails."


class SealsBusy(Exception):
    """Another run is sealing this log."""


@contextlib.contextmanager
def hold_seals(folder: Path) -> Iterator[None]:
    """Keep every other run out of the log's `seals/`, which is made where it is missing.

    Raises `SealsBusy` where another run is in it, and `OSError` where there can be no lock.
    """
    (folder / FOLDER).mkdir(exist_ok=True)
    handle = os.open(folder / FOLDER / LOCK, os.O_RDWR | os.O_CREAT, 0o644)
    try:
        _lock(handle)
        yield
    finally:
        os.close(handle)


def _lock(handle: int) -> None:
    """Lock an open file until it is closed, by us or by the system when the process ends."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in HELD:
            raise SealsBusy from None
        raise


def finish_interrupted(folder: Path, seals: SealFolder) -> bool:
    """Undo what a killed run began and did not seal; whether there was any such run whose marker can be followed."""
    marker = folder / FOLDER / UNFINISHED
    if UNFINISHED not in seals.others:
        return False
    last = max(seals.seals, default=name_seal(0))
    number = _read_marker(marker)
    if number == int(last[:4]) + 1:
        _drop_lines(folder / FOLDER / LEAVES_FILE, seals, last)
    elif number != int(last[:4]):
        return False
    marker.unlink()
    return True


def _read_marker(marker: Path) -> int | None:
    try:
        value = read_canonical(marker.read_bytes()[:1000].removesuffix(b"\n"))
    except (NotCanonical, OSError):
        return None
    return value.get("number") if isinstance(value, dict) else None


def _drop_lines(path: Path, seals: SealFolder, last: str) -> None:
    """Cut the list behind the lines that the last seal counts."""
    if seals.leaves is None:
        return
    with contextlib.suppress(NotASeal):  # a damaged seal is told by the check that follows
        count = read_seal(seals.seals[last]).leaves if seals.seals else 0
        lines = seals.leaves.split(b"\n")[:count]
        size = sum(len(line) + 1 for line in lines)
        if size < len(seals.leaves):
            os.truncate(path, size)


def add_seal(folder: Path, lines: Sequence[bytes], seal: Seal) -> None:
    """Append leaves and write the seal over them. Raises `OSError`; the next run then undoes what was begun."""
    top = folder / FOLDER
    exchange(top / UNFINISHED, write_canonical({"number": seal.number}) + b"\n")
    with open(top / LEAVES_FILE, "ab") as file:
        file.write(b"".join(line + b"\n" for line in lines))
        file.flush()
        os.fsync(file.fileno())
    exchange(top / seal.name, write_seal(seal))
    (top / UNFINISHED).unlink()


def exchange(path: Path, data: bytes) -> None:
    """Put a file in place whole, and on the disk before this returns. Raises `OSError`."""
    temporary = path.with_name(f".{path.name}.unfinished")
    with open(temporary, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    os.replace(temporary, path)
    if sys.platform != "win32":  # where a folder can be opened, its new name is made to last as well
        handle = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
