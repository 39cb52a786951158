"""Small logs on disk to seal, with salts that are known."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Callable, Mapping
from pathlib import Path

from buildlog.record.log_disk import hash_files, list_files, read_seal_folder
from buildlog.record.seal_check import Failure, SealReport, check_seals
from buildlog.record.sealing import Sealing, seal_log

DAY = datetime.date(2024, 5, 18)
FILES = {
    "log.yaml": b"machine: {name: Test machine}\n",
    "entries/2024-05-18-lift-pump.md": b"---\ndate: 2024-05-18\ntitle: Lift pump\n---\nOff it came.\n",
    "photos/2024-05-18-lift-pump/pump.jpg": b"\xff\xd8 a picture",
    "papers/invoice.pdf": b"%PDF-1.4 an invoice",
}
LEFT_OUT = {
    "entries/.2024-05-18-lift-pump.md.swp": b"an editor's",
    "entries/2024-05-18-lift-pump.md~": b"an editor's",
    "entries/notes.txt": b"no entry",
    "photos/.thumbnails/pump.jpg": b"a viewer's",
    "site/index.html": b"<!doctype html>",
    "theme/log.css": b"body {}",
    "notes.txt": b"not of the log",
}


def write_files(folder: Path, files: Mapping[str, bytes] = FILES) -> Path:
    for path, data in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
    return folder


def count_salts() -> Callable[[], str]:
    """Salts that are numbers, so that a leaf can be written down beforehand."""
    numbers = itertools.count(1)
    return lambda: f"{next(numbers):032x}"


def seal(folder: Path, days: int = 0, reason: str | None = None) -> Sealing:
    """The log sealed some days after DAY."""
    return seal_log(folder, date=DAY + datetime.timedelta(days), reason=reason, make_salt=count_salts())


def seal_three_times(folder: Path) -> Path:
    """A log under three seals: 4 leaves, then 2 (one amends), then 3 (one gone, one amends)."""
    write_files(folder)
    assert seal(folder).leaves
    write_files(folder, {"papers/second.pdf": b"two", "log.yaml": b"machine: {name: Another name}\n"})
    assert seal(folder, 1, "the name was misspelt").leaves
    (folder / "papers/second.pdf").unlink()
    write_files(folder, {"papers/third.pdf": b"three", "papers/invoice.pdf": b"%PDF-1.4 a better scan"})
    assert seal(folder, 2, "scanned again, and sorted").leaves
    return folder


def check_folder(folder: Path) -> SealReport:
    """What the seals of a log on disk say and where they do not hold."""
    paths, _ = list_files(folder)
    digests, _ = hash_files(folder, paths)
    return check_seals(read_seal_folder(folder), digests)


def list_rules(report: SealReport) -> list[str]:
    return [failure.rule for failure in report.failures]


def list_places(failures: tuple[Failure, ...]) -> list[tuple[str, str]]:
    return [(failure.rule, failure.file) for failure in failures]
