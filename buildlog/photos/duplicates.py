"""Which photos are there twice: the same bytes, or nearly the same picture of the same moment."""

from __future__ import annotations

import datetime
import hashlib
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from pathlib import Path

from buildlog.photos.dates import MOST_DAYS, SeenPhoto, look_alike, see_photos
from buildlog.read.records import Log

MOST_SECONDS = 10
"""Between two shots of nearly the same picture, for one of them to be left out: a burst, or one that was saved again.

What is changed between two shots from one spot, and is the reason for the second, takes longer.
"""


def find_same(photos: Sequence[SeenPhoto], log: Log) -> dict[Path, Path]:
    """Each photo whose bytes are in the log, or in one that comes before it, with the path where they were first.

    Only files of one size are read whole.
    """
    sizes = {photo.size for photo in photos}
    logged = [(path, size) for path, size in _list_logged(log) if size in sizes]
    files = [*logged, *((photo.path, photo.size) for photo in photos)]
    count = Counter(size for _, size in files)
    firsts: dict[tuple[int, str], Path] = {}
    same = {}
    for n, (path, size) in enumerate(files):
        key = size, _hash(path) if count[size] > 1 else ""
        if n >= len(logged) and key in firsts:
            same[path] = firsts[key]
        firsts.setdefault(key, path)
    return same


def find_near(photos: Sequence[SeenPhoto], log: Log, *, fixed: Collection[Path]) -> dict[Path, Path]:
    """Each photo that shows nearly the same as another of the same moment, with that other, which stays.

    What is in the log stays, and `fixed`; else the one with more pixels, with more bytes, the first one. Of the log,
    only the photos of entries of about those days are looked at.
    """
    moments = [photo.taken for photo in photos if photo.taken]
    logged = see_photos(
        _list_about(log, {moment.date() for moment in moments}),
        lambda taken: any(_is_same_moment(taken, moment) for moment in moments),
    )
    stay = [photo for photo in logged.values() if isinstance(photo, SeenPhoto) and photo.look is not None]
    near = {}
    for photo in sorted(photos, key=lambda photo: (photo.path not in fixed, -photo.pixels, -photo.size)):
        other = next((kept for kept in stay if _is_near(photo, kept)), None)
        if other is None or photo.path in fixed:
            stay.append(photo)
        else:
            near[photo.path] = other.path
    return near


def _list_logged(log: Log) -> Iterator[tuple[Path, int]]:
    """Every picture in the log, with its bytes."""
    for entry in log.photos:
        for path in _list_photos(log, entry):
            yield path, path.stat().st_size


def _list_about(log: Log, days: Collection[datetime.date]) -> Iterator[Path]:
    for entry in log.entries:
        if any(abs((entry.date - day).days) <= MOST_DAYS for day in days):
            yield from _list_photos(log, entry.name)


def _list_photos(log: Log, entry: str) -> Iterator[Path]:
    if log.folder is not None:
        paths = (log.locate(f"photos/{entry}/{file}") for file in log.photos.get(entry, ()))
        yield from (path for path in paths if path.is_file())


def _is_near(one: SeenPhoto, other: SeenPhoto) -> bool:
    if one.taken is None or one.look is None or other.taken is None or other.look is None:
        return False
    return _is_same_moment(one.taken, other.taken) and look_alike(one.look, other.look)


def _is_same_moment(one: datetime.datetime, other: datetime.datetime) -> bool:
    """Whether two clocks are at most some seconds apart; as they stand, where one of them tells no offset."""
    if one.tzinfo is None or other.tzinfo is None:
        one, other = one.replace(tzinfo=None), other.replace(tzinfo=None)
    return abs((one - other).total_seconds()) <= MOST_SECONDS


def _hash(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
