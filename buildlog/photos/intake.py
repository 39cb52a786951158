"""Which photos of a folder become an entry's, under which names, and why the others do not.

`plan_intake` looks and writes nothing; `carry_out` copies what was planned. The folder that photos come from is only
ever read. What is there twice is told in `duplicates`; what is published of a photo, in `publish`.
"""

from __future__ import annotations

import datetime
import os
import re
import shutil
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from buildlog.frozen import frozen
from buildlog.paths import simplify_stem
from buildlog.photos.dates import SeenPhoto, see_photos
from buildlog.photos.decode import BrokenPhoto
from buildlog.photos.duplicates import find_near, find_same
from buildlog.photos.recipe import FORMATS
from buildlog.problems import tame
from buildlog.read.records import Log

PLAIN_NAME = re.compile(r"\w[\w.,()+-]*( [\w.,()+-]+)*")
"File names that stand in an entry as they are; one of another kind has to be renamed by its owner."
LONGEST_STEM = 40
"Characters of the camera's own name that stay in a photo's name."
MOST_NAMED = 5
"Names that one line lists."


@frozen
class Take:
    """One photo that becomes the entry's."""

    source: Path
    name: str
    "its file name in the entry's photo folder"
    here: bool
    "whether it lies there already"


@frozen
class Listing:
    """What lies in a folder, not in its subfolders."""

    photos: tuple[Path, ...]
    "by name"
    others: tuple[str, ...]
    "suffixes of the files that are no photos, one for each"
    hidden: int
    folders: int


@frozen
class IntakePlan:
    """What is to be done with the photos of a folder."""

    entry: str
    "name of the entry that they are for"
    day: datetime.date
    "the camera's own day"
    takes: tuple[Take, ...]
    "in order of capture"
    skips: Mapping[str, str]
    "photos of the day, or damaged ones, that are not taken: why, by file name; it goes on from the name"
    other_days: tuple[datetime.date, ...]
    "the days of photos of other days, one for each, in order"
    undated: tuple[str, ...]
    "photos whose day is not told"
    listing: Listing

    def tell(self) -> Iterator[str]:
        """What is taken and what is not, a line each, for a terminal."""
        count, home = len(self.takes), f"photos/{self.entry}/"
        yield f"{_count(count, 'photo')} of {self.day}, in {home}" if count else f"no photo of {self.day} to take"
        yield from (tame(f"not taken: `{file}` {why}") for file, why in self.skips.items())
        if self.undated:
            yield tame(f"not taken, as no date is told: {_name_some(self.undated)}")
        if self.other_days:
            first, last = self.other_days[0], self.other_days[-1]
            days = f"of {first}" if first == last else f"from {first} to {last}"
            yield f"not taken, as of another day: {_count(len(self.other_days), 'photo')} {days}"
        if passed := list(_count_passed(self.listing)):
            yield tame(f"passed over: {', '.join(passed)}")


def plan_intake(folder: Path, *, day: datetime.date, log: Log, entry: str) -> IntakePlan:
    """What becomes of the photos of a folder, for an entry of a day; raises OSError when it cannot be listed.

    Of the photos of that day, those are left out that the log has, or that are there twice. What lies in the entry's
    photo folder already, as after a copying that was stopped, stays there and is taken.
    """
    listing = list_folder(folder)
    seen = see_photos(listing.photos, lambda taken: taken.date() == day)
    whole = [photo for photo in seen.values() if isinstance(photo, SeenPhoto)]
    today = [photo for photo in whole if photo.look is not None]
    same = find_same(today, log)
    here = _find_here(same, log, entry)
    single = [photo for photo in today if photo.path in here or photo.path not in same]
    near = find_near(single, log, fixed=here.keys())
    broken = {path: f"{why.message}; {why.help}" for path, why in seen.items() if isinstance(why, BrokenPhoto)}
    skips = broken | {
        path: f"{words} {_quote(other, folder, log)}"
        for words, found in (("is the same file as", same), ("shows nearly the same as", near))
        for path, other in found.items()
        if path not in here
    }
    kept = _sort_by_time([photo for photo in single if photo.path not in near])
    return IntakePlan(
        entry=entry,
        day=day,
        takes=tuple(_name_takes([photo.path for photo in kept], here, log.photos.get(entry, ()))),
        skips={path.name: why for path, why in sorted(skips.items())},
        other_days=tuple(sorted(photo.taken.date() for photo in whole if photo.taken and photo.look is None)),
        undated=tuple(photo.path.name for photo in whole if photo.taken is None),
        listing=listing,
    )


def carry_out(plan: IntakePlan, log: Path) -> list[Path]:
    """The photos that the plan takes, copied into a log's folder; each appears whole, and none replaces another.

    Raises FileExistsError when a name has been given away since the plan was made.
    """
    home = log / "photos" / plan.entry
    new = {home / take.name: take.source for take in plan.takes if not take.here}
    if new:
        home.mkdir(parents=True, exist_ok=True)
    for path, source in new.items():
        _copy(source, path)
    return list(new)


def list_folder(folder: Path) -> Listing:
    """What lies in a folder, told apart by name; raises OSError when it cannot be listed."""
    with os.scandir(folder) as found:
        items = sorted(found, key=lambda item: item.name)
    shown = [item for item in items if not item.name.startswith(".")]
    files = [Path(item.path) for item in shown if not item.is_dir()]
    return Listing(
        photos=tuple(path for path in files if path.suffix.lower() in FORMATS),
        others=tuple(path.suffix.lower() for path in files if path.suffix.lower() not in FORMATS),
        hidden=len(items) - len(shown),
        folders=len(shown) - len(files),
    )


def _find_here(same: Mapping[Path, Path], log: Log, entry: str) -> dict[Path, str]:
    """The photos that lie in the entry's folder already, under a plain name, with that name, none twice."""
    home = log.folder / "photos" / entry if log.folder else None
    there = {path: other for path, other in same.items() if other.parent == home}
    first = {other: path for path, other in reversed(there.items()) if PLAIN_NAME.fullmatch(other.name)}
    return {path: other.name for other, path in first.items()}


def _sort_by_time(photos: Sequence[SeenPhoto]) -> list[SeenPhoto]:
    """In order of capture, then of name; by the clocks as they stand, where one of them tells no offset."""
    clocks = {photo.path: photo.taken for photo in photos if photo.taken}
    if not all(clock.tzinfo for clock in clocks.values()):
        clocks = {path: clock.replace(tzinfo=None) for path, clock in clocks.items()}
    return sorted(photos, key=lambda photo: (clocks[photo.path], photo.path.name))


def _name_takes(paths: Sequence[Path], here: Mapping[Path, str], present: Sequence[str]) -> Iterator[Take]:
    """A name for each photo that is new, numbered on from what is there: `03-` and what is left of its own."""
    number, given = len(present), {name.casefold() for name in present}
    width = max(2, len(str(number + len(paths))))
    for path in paths:
        name = here.get(path, "")
        while not name or (path not in here and name in given):
            number += 1
            stem = simplify_stem(path.name, longest=LONGEST_STEM)
            name = f"{number:0{width}}-{stem}{path.suffix.lower()}"
        given.add(name)
        yield Take(source=path, name=name, here=path in here)


def _copy(source: Path, path: Path) -> None:
    """Copy a file to a new path, where it appears whole; raises FileExistsError when something is there."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}")  # a hidden name is no picture of the log
    try:
        shutil.copyfile(source, temporary)
        times = source.stat()
        os.utime(temporary, ns=(times.st_atime_ns, times.st_mtime_ns))
        _move(temporary, path)
    finally:
        temporary.unlink(missing_ok=True)


def _move(temporary: Path, path: Path) -> None:
    try:
        os.link(temporary, path)  # unlike renaming, it never replaces a file
    except FileExistsError:
        raise
    except OSError:  # a card or stick without hard links: the name is taken first, then filled
        path.open("xb").close()
        os.replace(temporary, path)


def _quote(path: Path, folder: Path, log: Log) -> str:
    """A photo of the folder by its name, one of the log by its path there."""
    inside = log.folder is not None and path.is_relative_to(log.folder / "photos")
    return f"`{path.relative_to(log.folder).as_posix()}`" if inside and log.folder else f"`{path.name}`"


def _count_passed(listing: Listing) -> Iterator[str]:
    if listing.others:
        kinds = Counter(suffix or "no suffix" for suffix in listing.others)
        shown = ", ".join(f"{kind} {n}" for kind, n in sorted(kinds.items()))
        yield f"{_count(len(listing.others), 'file')} of another kind ({shown})"
    if listing.hidden:
        yield f"{listing.hidden} hidden"
    if listing.folders:
        yield _count(listing.folders, "folder")


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _name_some(names: Sequence[str]) -> str:
    shown = ", ".join(f"`{name}`" for name in names[:MOST_NAMED])
    return shown + (f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else "")
