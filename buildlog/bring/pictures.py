"""Which pictures of a phone go into which entries of their days, and which are left out?

A picture's day is the one where the camera was. Pictures go into the entry of their day; a day without one gets a draft
that lists them. What the log has already, and what is there twice, byte for byte or nearly the same, is left out.
Originals are copied as they are. Only the head of each file is decoded, and the whole of those few that were taken
within seconds of each other: no others can be nearly the same.
"""

from __future__ import annotations

import datetime
import hashlib
import os
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import field
from itertools import pairwise
from pathlib import Path

from buildlog.bring.bills import Origin
from buildlog.bring.sources import Left, Source, make_digest
from buildlog.drafts import name_entry
from buildlog.frozen import frozen
from buildlog.photos.dates import SeenPhoto, see_photos
from buildlog.photos.decode import BrokenPhoto
from buildlog.photos.intake import MOST_SECONDS, Take, find_near, list_about, name_takes, sort_by_time
from buildlog.problems import Place, Problem
from buildlog.read.records import Log

PICTURES = "Pictures"
"What a draft is called until its owner says what was done that day."
LARGEST_PICTURE = 200_000_000
"Bytes of one picture: no camera of a phone comes near."


@frozen
class DayPictures:
    """The pictures of a day that gets an entry."""

    entry: str
    "name of the entry"
    takes: tuple[Take, ...]
    "in order of capture"
    origin: Origin
    "the folder that they come from, with a digest over their names, sizes and times"

    @property
    def names(self) -> tuple[str, ...]:
        """Their file names in the log."""
        return tuple(take.name for take in self.takes)


@frozen
class PicturePlan:
    """What becomes of pictures."""

    drafts: Mapping[datetime.date, DayPictures] = field(default_factory=dict)
    "by day, those of entries that are written now"
    into: tuple[DayPictures, ...] = ()
    "those that entries get which are there"
    left: tuple[Left, ...] = ()
    "pictures that are not copied"
    problems: tuple[Problem, ...] = ()
    "pictures that are damaged"


def plan_pictures(sources: Sequence[Source], log: Log, names: Mapping[datetime.date, str]) -> PicturePlan:
    """What becomes of pictures; `names` has the entries that are written anyway, by day."""
    if not sources:
        return PicturePlan()
    by_path = {source.path: source for source in sources}
    whole, problems = _see(sources)
    digests = _tell_apart([*((photo.path, photo.size) for photo in whole), *_list_logged(log)])
    entries = {entry.date: entry.name for entry in log.entries}  # of two of one day the last one, as in a preview
    single, left, placed = _drop_same(whole, digests, log, by_path, entries)
    near = find_near(_look_closer(single, log), log, fixed=placed)
    left += [
        _leave(by_path[one], f"shows nearly the same as {_name(two, by_path, log)}", True) for one, two in near.items()
    ]
    marks = {day: _mark(photos, by_path) for day, photos in _sort_by_day(whole).items()}
    brought = {mark.digest: entry.name for entry in log.entries for mark in entry.brought_from}
    drafts, into = {}, []
    for day, photos in _sort_by_day(photo for photo in single if photo.path not in near).items():
        if name := brought.get(marks[day].digest):
            # all of that day was brought in: what is not there any more was taken out by its owner
            why = f"was brought in before, into entries/{name}.md"
            left += [_leave(by_path[photo.path], why, True) for photo in photos]
            continue
        entry = entries.get(day) or names.get(day) or name_entry(log, PICTURES, day)
        there = {path for path in _list_folder(log, entry) if path in digests}
        here = _find_here(photos, digests, there)
        paths = [photo.path for photo in sort_by_time(photos)]
        takes = tuple(name_takes(paths, here, log.photos.get(entry, ())))
        made = DayPictures(entry=entry, takes=takes, origin=marks[day])
        if day in entries:
            into.append(made)
        else:
            drafts[day] = made
    return PicturePlan(drafts=drafts, into=tuple(into), left=tuple(left), problems=problems)


def _sort_by_day(photos: Iterable[SeenPhoto]) -> dict[datetime.date, list[SeenPhoto]]:
    days: dict[datetime.date, list[SeenPhoto]] = defaultdict(list)
    for photo in photos:
        if photo.taken:
            days[photo.taken.date()].append(photo)
    return dict(sorted(days.items()))


def _see(sources: Sequence[Source]) -> tuple[list[SeenPhoto], tuple[Problem, ...]]:
    """The heads of all pictures, and a problem for each file that is none."""
    small = [source for source in sources if source.size <= LARGEST_PICTURE]
    seen = see_photos([source.path for source in small], lambda taken: False)
    problems = [
        _tell(source, f"{why.message}; it is left out", why.help)
        for source in small
        if isinstance(why := seen[source.path], BrokenPhoto)
    ]
    problems += [
        _tell(source, f"this file has {source.size:,} bytes, more than any picture", "take it out of the folder")
        for source in sources
        if source.size > LARGEST_PICTURE
    ]
    return [photo for photo in seen.values() if isinstance(photo, SeenPhoto)], tuple(problems)


def _tell(source: Source, message: str, help: str) -> Problem:
    return Problem(rule="broken-picture", message=message, place=Place(source.name), help=help)


def _tell_apart(files: Iterable[tuple[Path, int]]) -> dict[Path, str]:
    """By what each file is the same as another: SHA-256 where two have one size, on all cores; else its size alone."""
    # two files of one content have one size, which costs no reading: hardly any picture is hashed
    sizes = dict(files)
    alike = Counter(sizes.values())
    paths = [path for path, size in sizes.items() if alike[size] > 1]
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        hashed = dict(zip(paths, pool.map(_hash, paths), strict=True))
    return {path: hashed.get(path, str(size)) for path, size in sizes.items()}


def _hash(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _list_logged(log: Log) -> Iterator[tuple[Path, int]]:
    """The pictures in the log with their bytes, those of folders without an entry too."""
    for entry in log.photos:
        yield from ((path, path.stat().st_size) for path in _list_folder(log, entry) if path.is_file())


def _list_folder(log: Log, entry: str) -> list[Path]:
    return [log.locate(f"photos/{entry}/{name}") for name in log.photos.get(entry, ())]


def _drop_same(
    photos: Sequence[SeenPhoto],
    digests: Mapping[Path, str],
    log: Log,
    by_path: Mapping[Path, Source],
    entries: Mapping[datetime.date, str],
) -> tuple[list[SeenPhoto], list[Left], set[Path]]:
    """The pictures that are new and tell their day, what is said of the others, and which new ones lie there already.

    Those lie in the folder of the entry of their day, which does not list them: a run was stopped before it did.
    """
    names = sorted(entry.name for entry in log.entries)
    listed = {log.locate(f"photos/{entry.name}/{photo.file}") for entry in log.entries for photo in entry.photos}
    # a folder without an entry is what a run that was stopped left: its pictures are there, and still to be listed
    first = {digests[path]: path for name in names for path in _list_folder(log, name) if path in digests}
    kept, left, placed = [], [], set()
    for photo in photos:
        source, digest = by_path[photo.path], digests[photo.path]
        there = first.get(digest)
        day = entries.get(photo.taken.date()) if photo.taken else None
        stopped = there is not None and there not in listed and there in _list_folder(log, day or "")
        if there is not None and not stopped:
            left.append(_leave(source, f"is the same file as {_name(there, by_path, log)}", True))
        elif photo.taken is None:
            left.append(_leave(source, "the camera gave it no date: put it into the entry that it belongs to", False))
        else:
            kept.append(photo)
        if stopped:
            placed.add(photo.path)
        if there is None or stopped:
            first[digest] = photo.path
    return kept, left, placed


def _leave(source: Source, why: str, known: bool) -> Left:
    return Left(source.name, "picture", why, known=known)


def _name(path: Path, by_path: Mapping[Path, Source], log: Log) -> str:
    if path in by_path:
        return by_path[path].name
    return path.relative_to(log.folder).as_posix() if log.folder and path.is_relative_to(log.folder) else path.name


def _look_closer(photos: Sequence[SeenPhoto], log: Log) -> list[SeenPhoto]:
    """Those pictures that were taken within seconds of another one, here or in the log, with their fingerprints."""
    mine = {photo.path: photo.taken.replace(tzinfo=None) for photo in photos if photo.taken}
    logged = see_photos(list_about(log, {clock.date() for clock in mine.values()}), lambda taken: False)
    others = [each.taken.replace(tzinfo=None) for each in logged.values() if isinstance(each, SeenPhoto) and each.taken]
    clocks = sorted([*((clock, str(path)) for path, clock in mine.items()), *((clock, "") for clock in others)])
    window = datetime.timedelta(seconds=MOST_SECONDS)
    close = {
        Path(name)
        for (one, first), (two, second) in pairwise(clocks)
        if two - one <= window
        for name in (first, second)
        if name
    }
    looked = see_photos(sorted(close), lambda taken: True)
    return [photo for photo in looked.values() if isinstance(photo, SeenPhoto)]


def _find_here(photos: Sequence[SeenPhoto], digests: Mapping[Path, str], there: Iterable[Path]) -> dict[Path, str]:
    """The pictures that lie in the entry's folder already, as after a run that was stopped, with their names there."""
    names = {digests[path]: path.name for path in sorted(there, reverse=True)}
    return {photo.path: names[digests[photo.path]] for photo in photos if digests[photo.path] in names}


def _mark(photos: Sequence[SeenPhoto], by_path: Mapping[Path, Source]) -> Origin:
    """Where the pictures of a day come from; what they are is known by their own bytes, and not by this."""
    source = by_path[photos[0].path]
    folder = Source(path=source.path.parent, name=source.name, size=0)
    together = "\n".join(sorted(f"{photo.path.name} {photo.size} {photo.taken}" for photo in photos))
    return Origin(source=folder, digest=make_digest(together.encode()), at="pictures")
