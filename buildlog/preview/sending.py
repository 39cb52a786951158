"""A photo that was sent from a phone: is it one, does the log have it, and where does it go?

It goes into today's entry, by the rules of every intake: nothing is overwritten, nothing goes in that could not be
published, and nothing that the log has already. The entry's text is its owner's and stays as it is; until the photo is
listed there, the page says so.
"""

from __future__ import annotations

import os
import tempfile
import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from buildlog.paths import simplify_stem
from buildlog.photos.decode import BrokenPhoto
from buildlog.photos.intake import LONGEST_STEM, place_photo, plan_photo
from buildlog.photos.recipe import FORMATS
from buildlog.preview.site import PreviewSite
from buildlog.read.records import Entry, Log

LARGEST_PHOTO = 64 << 20
"Bytes: four times what a phone's camera makes of its most pixels."
PIECE = 1 << 16
"Bytes that are read at once."
_ONE = threading.Lock()
"One photo is taken in at a time: each is looked through in memory, and numbered after those that are there."


class NotTaken(Exception):
    """Why a photo was not taken in, in one sentence."""


def take_photo(site: PreviewSite, name: str, size: int, read: Callable[[int], bytes]) -> str:
    """A photo of so many bytes taken into today's entry; says where it is now. Raises `NotTaken`, and OSError.

    `name` is what the phone calls it, and only a few plain letters of it are kept.
    """
    suffix = os.path.splitext(name)[1].lower()
    if suffix not in FORMATS:
        raise NotTaken(f"Photos are .jpg, .png, .webp or .heic files, and this one is called `{name[:80]}`.")
    if not 0 < size <= LARGEST_PHOTO:
        raise NotTaken(f"A photo has at most {LARGEST_PHOTO >> 20} MB, and not none.")
    log, entry = find_entry(site)
    # Not in the log before it was looked at; a name of our own, whatever the phone's was.
    with _ONE, tempfile.TemporaryDirectory() as folder:
        photo = Path(folder) / f"{simplify_stem(name, longest=LONGEST_STEM)}{suffix}"
        with open(photo, "xb") as file:
            while size:
                piece = read(min(size, PIECE))
                if not piece:
                    raise NotTaken("The photo did not come whole: send it again.")
                file.write(piece)
                size -= len(piece)
        try:
            take = plan_photo(photo, log=_look_again(log, entry.name), entry=entry.name)
        except BrokenPhoto as broken:
            raise NotTaken(f"The photo {broken.message}: {broken.help}.") from None
        assert log.folder is not None
        path = place_photo(take, log.folder, entry.name)
    return f"In `photos/{entry.name}/`, as `{path.name}`. List it under `photos:` in the entry."


def find_entry(site: PreviewSite) -> tuple[Log, Entry]:
    """The log as it was last found sound, and its entry of today, the last one by name. Raises `NotTaken`."""
    log, day = site.log, site.find_day()
    entries = [entry for entry in log.entries if entry.date == day] if log else []
    if log is None or not entries:
        raise NotTaken(f"There is no entry of {day} to put it in: `buildlog write` starts one.")
    return log, entries[-1]


def _look_again(log: Log, entry: str) -> Log:
    """The log with the entry's photos as they are now: one that came just before may not have been read yet."""
    home = log.locate(f"photos/{entry}")
    names = sorted(name for name in os.listdir(home) if not name.startswith(".")) if home.is_dir() else []
    return replace(log, photos={**log.photos, entry: tuple(names)})
