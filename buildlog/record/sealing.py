"""Which leaves a log needs today: one for each file that is new, has changed, is gone or is back; and a seal over them.

Nothing that was sealed is rewritten; the log's own files are only read. How a file is hashed is left to `log_disk`,
signature and time stamp to `attest`.
"""

from __future__ import annotations

import contextlib
import datetime
import errno
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.record.hashing import NotCanonical, Tree, hash_leaf, read_canonical, write_canonical
from buildlog.record.log_disk import hash_log, read_seal_folder
from buildlog.record.rules import LONGEST_REASON, MOST_LEAVES, MOST_SEALS
from buildlog.record.seal_check import FileReport, SealFolder, SealReport, check_seals
from buildlog.record.seals import (
    FOLDER,
    LEAVES_FILE,
    UNFINISHED,
    Digest,
    Leaf,
    NotASeal,
    Seal,
    find_latest,
    hash_seal,
    is_sound_reason,
    name_seal,
    read_seal,
    write_leaf,
    write_seal,
)
from buildlog.text import replace_unprintable

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
    # Opened and locked, and never deleted: were it, a second run could make and lock another file of that name. A lock
    # that lies there from a run that was killed holds nobody up, as the system has let go of it.
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
    # Three moments of a kill, told apart by the number in the marker: before its seal was there the leaves are cut off
    # again; behind it all is done but for the marker; a number that is neither is no work of ours, and left alone.
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
        # A marker is some twenty bytes; a longer one is not ours.
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
    # In this order: the marker, the leaves, the seal. A list that is longer than its last seal is then either marked as
    # unfinished, or was made so by somebody else.
    exchange(top / UNFINISHED, write_canonical({"number": seal.number}) + b"\n")
    # Appended and never written anew: what was sealed before cannot be lost by a disk that is full.
    with open(top / LEAVES_FILE, "ab") as file:
        file.write(b"".join(line + b"\n" for line in lines))
        file.flush()
        os.fsync(file.fileno())
    exchange(top / seal.name, write_seal(seal))
    (top / UNFINISHED).unlink()


def exchange(path: Path, data: bytes) -> None:
    """Put a file in place whole, and on the disk before this returns. Raises `OSError`."""
    # In the same folder: a file can only be put in another's place within one file system.
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


@frozen
class Sealing:
    """What became of sealing a log."""

    seal: Seal | None
    "the latest seal, new or not; None where nothing is sealed"
    leaves: tuple[Leaf, ...] = ()
    "those that were added under it; empty where nothing had changed, or a problem forbade it"
    problems: tuple[Problem, ...] = ()
    "why nothing was sealed"
    finished: bool = False
    "whether an interrupted run before this one was cleared away"

    def __str__(self) -> str:
        told = ["what an interrupted run had left was cleared away"] if self.finished else []
        if self.seal and self.leaves:
            told.append(
                f"seal {self.seal.number} of {self.seal.date}: {self._count()}; {self.seal.leaves} files listed"
            )
        elif self.seal:
            told.append(f"nothing has changed since seal {self.seal.number} of {self.seal.date}: nothing was added")
        if self.seal:
            told += [f"root {self.seal.root}", f"code {self.seal.code}"]
        return "\n".join(told)

    def _count(self) -> str:
        gone = sum(leaf.digest is None for leaf in self.leaves)
        amended = sum(leaf.amends is not None for leaf in self.leaves) - gone
        counts = ((len(self.leaves) - amended - gone, "new"), (amended, "amended"), (gone, "gone"))
        return ", ".join(f"{count} {word}" for count, word in counts if count)


def draw_salt() -> str:
    """The salt of one leaf: 128 bits that nobody can guess, as 32 hexadecimal digits."""
    return os.urandom(16).hex()


def seal_log(
    folder: Path, *, date: datetime.date, reason: str | None = None, make_salt: Callable[[], str] = draw_salt
) -> Sealing:
    """Seal every file of the log that is not as the seals say, or say why not.

    `reason` says why files that were sealed have changed; without one, such files forbid sealing.
    """
    problems = _check_call(folder, reason)
    if problems:
        return Sealing(seal=None, problems=problems)
    try:
        with hold_seals(folder):
            return _seal_held(folder, date=date, reason=reason, make_salt=make_salt)
    except SealsBusy:
        message = "another run is sealing this log at the moment"
        return Sealing(seal=None, problems=(_refuse("seals-busy", message, FOLDER, "wait for it, then seal again"),))
    except OSError as error:
        message = f"`{FOLDER}` cannot be read or written: {error.strerror or error}"
        help = "make room or permit writing, then seal again: what was sealed before is safe"
        return Sealing(seal=None, problems=(_refuse("seals-not-written", message, FOLDER, help),))


def _check_call(folder: Path, reason: str | None) -> tuple[Problem, ...]:
    if not (folder / "log.yaml").is_file():
        help = "name the log's folder: `buildlog seal LOG`"
        return (_refuse("missing-file", "there is no `log.yaml` here", "log.yaml", help),)
    # What it leads to may be another log's seals, or anything else.
    if (folder / FOLDER).is_symlink():
        help = "put the folder itself there"
        return (_refuse("linked-file", f"`{FOLDER}` is a link, so nothing is written to it", FOLDER, help),)
    # Seals of before may hold such a reason and are read as ever; a new one turns no reader's words round.
    if reason is not None and (not is_sound_reason(reason) or replace_unprintable(reason, "") != reason):
        help = f"write one paragraph of at most {LONGEST_REASON} characters"
        return (
            _refuse(
                "unfit-reason",
                "the reason is empty, too long, or has line breaks or other signs in it that do not print",
                FOLDER,
                help,
            ),
        )
    return ()


def _seal_held(folder: Path, *, date: datetime.date, reason: str | None, make_salt: Callable[[], str]) -> Sealing:
    """Seal the log, with every other run kept out."""
    seals = read_seal_folder(folder)
    # With the lock held: what looks like a killed run could else be one at work.
    finished = finish_interrupted(folder, seals)
    if finished:
        seals = read_seal_folder(folder)
    digests, problems = hash_log(folder)
    report = check_seals(seals, digests)
    # One kind of problem at a time: while a file cannot be read, it would also count as one that is gone.
    problems = problems or [*_report_failures(report), *_check_reason(report, reason), *_check_date(report, date)]
    leaves = () if problems else tuple(_make_leaves(report, digests, reason, make_salt))
    if leaves:
        problems += _check_limits(report, leaves)
    if problems or not leaves:
        return Sealing(seal=report.last, problems=tuple(problems), finished=finished)
    lines = [write_leaf(leaf) for leaf in leaves]
    seal = Seal(
        number=report.last.number + 1 if report.last else 1,
        date=date,
        leaves=len(report.leaves) + len(leaves),
        root=Tree((*report.hashes, *map(hash_leaf, lines))).root().hex(),
        previous=hash_seal(seals.seals[report.last.name]) if report.last else None,
    )
    add_seal(folder, lines, seal)
    return Sealing(seal=seal, leaves=leaves, finished=finished)


def _make_leaves(
    report: SealReport, digests: dict[str, Digest], reason: str | None, make_salt: Callable[[], str]
) -> Iterable[Leaf]:
    """A leaf for each file that is not as sealed, in the order of their paths."""
    latest = find_latest(report.leaves)
    files = report.files
    # Each leaf has a salt of its own: two files of the same bytes must not be seen to be the same by their leaves.
    for path in sorted((*files.unsealed, *files.changed, *files.missing, *files.returned)):
        leaf = Leaf(path=path, digest=digests.get(path), salt=make_salt())
        yield replace(leaf, amends=latest[path], reason=reason) if path in latest else leaf


# ── why not ──────────────────────────────────────────────────────────────────────────────────────────────────────


def _report_failures(report: SealReport) -> list[Problem]:
    """The seals must hold before anything is added: a new seal would cover the damage."""
    help = "restore `seals/` from a backup or from the published record: it is never repaired for you"
    return [
        _refuse(failure.rule, f"`{failure.file}`: {failure.message}", failure.file, help) for failure in report.failures
    ]


def _check_reason(report: SealReport, reason: str | None) -> list[Problem]:
    """A file that was sealed changes for a reason, which stands in the record for good."""
    if reason is not None:
        return []
    help = 'say why; every reader will see it, for good: `buildlog seal --reason "typing error in the date"`'
    return [
        _refuse("reason-needed", f"`{path}` {what} since it was sealed", path, help)
        for paths, what in _list_amendments(report.files)
        for path in paths
    ]


def _list_amendments(files: FileReport) -> tuple[tuple[Sequence[str], str], ...]:
    return (
        (files.changed, "has changed"),
        (files.missing, "has gone"),
        (files.returned, "has come back"),
    )


def _check_date(report: SealReport, date: datetime.date) -> list[Problem]:
    if report.last is None or date >= report.last.date:
        return []
    message = f"the previous seal, `{report.last.name}`, is dated {report.last.date}, later than {date}"
    return [_refuse("date-falls", message, f"{FOLDER}/{report.last.name}", "seals must be in order of date")]


def _check_limits(report: SealReport, leaves: Sequence[Leaf]) -> list[Problem]:
    if len(report.leaves) + len(leaves) <= MOST_LEAVES and len(report.seals) < MOST_SEALS:
        return []
    message = f"a log has at most {MOST_LEAVES} leaves and {MOST_SEALS} seals"
    return [_refuse("seals-too-many", message, FOLDER, "start a new log that names this one")]


def _refuse(rule: str, message: str, path: str, help: str) -> Problem:
    return Problem(rule=rule, message=message, place=Place(path), help=help)
