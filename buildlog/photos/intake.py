"""Which photos of a folder become an entry's, under which names, and why do the others not?

`plan_intake` looks and writes nothing; `carry_out` copies what was planned. The folder that photos come from is only
ever read. A photo is a duplicate when another has the same bytes, or nearly the same picture of the same moment. What
is published of a photo is for `publish`.
"""

from __future__ import annotations

import datetime
import hashlib
import os
import re
import shutil
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path

from buildlog.frozen import frozen
from buildlog.paths import fold_name, simplify_stem
from buildlog.photos.dates import MOST_DAYS, SeenPhoto, look_alike, see_photos
from buildlog.photos.decode import BrokenPhoto, look_through
from buildlog.photos.recipe import FORMATS
from buildlog.read.records import Log
from buildlog.text import count, name_some, tame

MOST_SECONDS = 10
"""Between two shots of nearly the same picture, for one of them to be left out: a burst, or one that was saved again.

What is changed between two shots from one spot, and is the reason for the second, takes longer.
"""


def find_same(photos: Sequence[SeenPhoto], log: Log) -> dict[Path, Path]:
    """Each photo whose bytes are in the log, or in one that comes before it, with the path where they were first.

    Only files of one size are read whole.
    """
    # two files of one content have one size, which costs no reading: hardly any photo is hashed
    sizes = {photo.size for photo in photos}
    logged = [(path, size) for path, size in _list_logged(log) if size in sizes]
    files = [*logged, *((photo.path, photo.size) for photo in photos)]
    alike = Counter(size for _, size in files)
    firsts: dict[tuple[int, str], Path] = {}
    same = {}
    for n, (path, size) in enumerate(files):
        key = size, _hash(path) if alike[size] > 1 else ""
        if n >= len(logged) and key in firsts:
            same[path] = firsts[key]
        firsts.setdefault(key, path)
    return same


def find_near(photos: Sequence[SeenPhoto], log: Log, *, fixed: Collection[Path]) -> dict[Path, Path]:
    """Each photo that shows nearly the same as another of the same moment, with that other, which stays.

    What is in the log stays, and `fixed`; else the one with more pixels, with more bytes, the first one. Of the log,
    only the photos of entries of about those days are looked at.
    """
    # the log may hold thousands of photos: only those of about these days can be of the same moment
    moments = [photo.taken for photo in photos if photo.taken]
    logged = see_photos(
        list_about(log, {moment.date() for moment in moments}),
        lambda taken: any(_is_same_moment(taken, moment) for moment in moments),
    )
    stay = [photo for photo in logged.values() if isinstance(photo, SeenPhoto) and photo.fingerprint is not None]
    near = {}
    for photo in sorted(photos, key=lambda photo: (photo.path not in fixed, -photo.pixels, -photo.size)):
        # against what stays, not against all: of shots each like the next, the first and a later one may both stay
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


def list_about(log: Log, days: Collection[datetime.date]) -> Iterator[Path]:
    for entry in log.entries:
        if any(abs((entry.date - day).days) <= MOST_DAYS for day in days):
            yield from _list_photos(log, entry.name)


def _list_photos(log: Log, entry: str) -> Iterator[Path]:
    if log.folder is not None:
        paths = (log.locate(f"photos/{entry}/{file}") for file in log.photos.get(entry, ()))
        yield from (path for path in paths if path.is_file())


def _is_near(one: SeenPhoto, other: SeenPhoto) -> bool:
    if one.taken is None or one.fingerprint is None or other.taken is None or other.fingerprint is None:
        return False
    return _is_same_moment(one.taken, other.taken) and look_alike(one.fingerprint, other.fingerprint)


def _is_same_moment(one: datetime.datetime, other: datetime.datetime) -> bool:
    """Whether two clocks are at most some seconds apart; as they stand, where one of them tells no offset."""
    # two cameras, one of which knows no zone: their clocks as they stand are the best there is
    if one.tzinfo is None or other.tzinfo is None:
        one, other = one.replace(tzinfo=None), other.replace(tzinfo=None)
    return abs((one - other).total_seconds()) <= MOST_SECONDS


def _hash(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


PLAIN_NAME = re.compile(r"\w[\w.,()+-]*( [\w.,()+-]+)*")
"File names that stand in an entry as they are; one of another kind has to be renamed by its owner."
LONGEST_STEM = 40
"Characters of the camera's own name that stay in a photo's name."


@frozen
class Take:
    """One photo that becomes the entry's."""

    source: Path
    "where the photo lies now"
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
    "how many files and folders begin with a dot"
    folders: int
    "how many folders, which are not looked into"


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
    "what else lies in the folder"

    def tell(self) -> Iterator[str]:
        """What is taken and what is not, a line each, for a terminal."""
        photos, home = count(len(self.takes), "photo"), f"photos/{self.entry}/"
        yield f"{photos} from {self.day}, in {home}" if self.takes else f"no photos from {self.day} to copy"
        yield from (tame(f"not copied: `{file}` {why}") for file, why in self.skips.items())
        if self.undated:
            named = name_some([f"`{name}`" for name in self.undated])
            yield tame(f"not copied, because they have no date: {named}")
        if self.other_days:
            first, last = self.other_days[0], self.other_days[-1]
            days = f"from {first}" if first == last else f"from {first} to {last}"
            yield f"not copied, because of their date: {count(len(self.other_days), 'photo')} {days}"
        if passed := list(_count_passed(self.listing)):
            yield tame(f"ignored: {', '.join(passed)}")


def plan_intake(folder: Path, *, day: datetime.date, log: Log, entry: str) -> IntakePlan:
    """What becomes of the photos of a folder, for an entry of a day; raises OSError when it cannot be listed.

    Of the photos of that day, those are left out that the log has, or that are there twice. What lies in the entry's
    photo folder already, as after a copying that was stopped, stays there and is taken.
    """
    listing = list_folder(folder)
    seen = see_photos(listing.photos, lambda taken: taken.date() == day)
    whole = [photo for photo in seen.values() if isinstance(photo, SeenPhoto)]
    # only photos of the wanted day have a fingerprint, see `see_photos`
    today = [photo for photo in whole if photo.fingerprint is not None]
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
    kept = sort_by_time([photo for photo in single if photo.path not in near])
    return IntakePlan(
        entry=entry,
        day=day,
        takes=tuple(name_takes([photo.path for photo in kept], here, log.photos.get(entry, ()))),
        skips={path.name: why for path, why in sorted(skips.items())},
        other_days=tuple(sorted(photo.taken.date() for photo in whole if photo.taken and photo.fingerprint is None)),
        undated=tuple(photo.path.name for photo in whole if photo.taken is None),
        listing=listing,
    )


def plan_photo(photo: Path, *, log: Log, entry: str) -> Take:
    """What becomes of one photo that its owner chose for an entry, whatever its day.

    Raises `BrokenPhoto` where it cannot be published, or the log has it, or one that shows nearly the same.
    """
    look_through(photo)
    seen = see_photos([photo], lambda taken: True)[photo]
    if isinstance(seen, BrokenPhoto):
        raise seen
    for words, found in (
        ("is the same file as", find_same([seen], log)),
        ("shows nearly the same as", find_near([seen], log, fixed=())),
    ):
        if photo in found:
            raise BrokenPhoto(f"{words} {_quote(found[photo], photo.parent, log)}", "the log has it already")
    return next(name_takes([photo], {}, log.photos.get(entry, ())))


def place_photo(take: Take, log: Path, entry: str) -> Path:
    """One photo copied into a log's folder, see `carry_out`; says where it is now."""
    path = log / "photos" / entry / take.name
    path.parent.mkdir(parents=True, exist_ok=True)
    copy_whole(take.source, path)
    return path


def carry_out(plan: IntakePlan, log: Path) -> list[Path]:
    """The photos that the plan takes, copied into a log's folder; each appears whole, and none replaces another.

    Raises FileExistsError when a name has been given away since the plan was made.
    """
    home = log / "photos" / plan.entry
    new = {home / take.name: take.source for take in plan.takes if not take.here}
    if new:
        # only with something to put in: an empty folder would be one more thing to explain
        home.mkdir(parents=True, exist_ok=True)
    for path, source in new.items():
        copy_whole(source, path)
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
    # reversed, so that of two copies the first one wins
    first = {other: path for path, other in reversed(there.items()) if PLAIN_NAME.fullmatch(other.name)}
    return {path: other.name for other, path in first.items()}


def sort_by_time(photos: Sequence[SeenPhoto]) -> list[SeenPhoto]:
    """In order of capture, then of name; by the clocks as they stand, where one of them tells no offset."""
    clocks = {photo.path: photo.taken for photo in photos if photo.taken}
    if not all(clock.tzinfo for clock in clocks.values()):
        clocks = {path: clock.replace(tzinfo=None) for path, clock in clocks.items()}
    return sorted(photos, key=lambda photo: (clocks[photo.path], photo.path.name))


def name_takes(paths: Sequence[Path], here: Mapping[Path, str], present: Sequence[str]) -> Iterator[Take]:
    """A name for each photo that is new, numbered on from what is there: `03-` and what is left of its own."""
    number, given = len(present), {fold_name(name) for name in present}
    # two digits at least, so that names sort in the order of capture
    width = max(2, len(str(number + len(paths))))
    for path in paths:
        name = here.get(path, "")
        while not name or (path not in here and name in given):
            number += 1
            stem = simplify_stem(path.name, longest=LONGEST_STEM)
            name = f"{number:0{width}}-{stem}{path.suffix.lower()}"
        given.add(name)
        yield Take(source=path, name=name, here=path in here)


def copy_whole(source: Path, path: Path) -> None:
    """Copy a file to a new path, where it appears whole; raises FileExistsError when something is there."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}")  # a hidden name is no picture of the log
    try:
        shutil.copyfile(source, temporary)
        # with the camera's time, by which file managers sort
        times = source.stat()
        os.utime(temporary, ns=(times.st_atime_ns, times.st_mtime_ns))
        move_whole(temporary, path)
    finally:
        temporary.unlink(missing_ok=True)


def move_whole(temporary: Path, path: Path) -> None:
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
        yield f"{count(len(listing.others), 'file')} of another kind ({shown})"
    if listing.hidden:
        yield f"{listing.hidden} hidden"
    if listing.folders:
        yield count(listing.folders, "folder")
