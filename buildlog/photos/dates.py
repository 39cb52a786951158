"""When a photo was taken, and what is seen of it without decoding all of it; whether its entry says the same day."""

from __future__ import annotations

import datetime
import os
import warnings
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import dhash
from PIL import Image

from buildlog.frozen import frozen
from buildlog.photos.decode import ORIENTATION, TURNS, BrokenPhoto, open_photo
from buildlog.problems import Problem
from buildlog.read.records import Log

EXIF_IFD = 0x8769
DATE_TIME_ORIGINAL = 0x9003
"Tag of Exif 2.32 (CIPA DC-008), section 4.6.5 F. The neighbouring DateTime (0x0132) is when the file was last edited."
OFFSET_TIME_ORIGINAL = 0x9011
"How far that clock stood from UTC, as `+01:00`; in cameras since Exif 2.31."
SUB_SEC_TIME_ORIGINAL = 0x9291
"Digits after the second's point."


def read_taken(source: Path) -> datetime.datetime | None:
    """The camera's clock at the shot; None when it is not told, unknown or not readable.

    Only the head of the file is read; what is wrong with a photo is told where its variants are made.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with open_photo(source) as image:
                return find_taken(image)
    except Exception:  # metadata can be broken in every way; a date that cannot be read is no date
        return None


def find_taken(image: Image.Image) -> datetime.datetime | None:
    """The camera's clock at the shot, in an open picture; None when it is not told, unknown or not readable.

    Its date is the day where the camera was. It knows its zone only where the camera tells the offset.
    """
    try:
        told = image.getexif().get_ifd(EXIF_IFD)
        clock = datetime.datetime.strptime(_clean(told.get(DATE_TIME_ORIGINAL)), "%Y:%m:%d %H:%M:%S")
    except Exception:  # metadata can be broken in every way; a date that cannot be read is no date
        return None
    # a burst is several shots in one second: its order is in these digits
    digits = _clean(told.get(SUB_SEC_TIME_ORIGINAL))
    if digits.isascii() and digits.isdigit():
        clock = clock.replace(microsecond=int(digits[:6].ljust(6, "0")))
    try:
        # no zone is guessed: the day where the camera was is what an entry means
        zone = datetime.datetime.strptime(_clean(told.get(OFFSET_TIME_ORIGINAL)), "%z").tzinfo
    except ValueError:
        return clock
    return clock.replace(tzinfo=zone)


def _clean(written: object) -> str:
    return str(written).strip("\0 ")


MOST_DAYS = 3
"Days between a photo and its entry that need no word: an evening's work is often written up at the weekend."


def find_stray_dates(log: Log) -> Iterator[Problem]:
    """A warning for each listed photo whose camera tells another day, unless the entry says when it was taken.

    A camera's clock is often wrong, so this is evidence for the owner to look at and no error. A file that is not
    there, or tells no date, is passed over.
    """
    if log.folder is None:
        return
    for entry in log.entries:
        for photo in entry.photos:
            # the owner's own word on it ends the matter
            taken = None if photo.taken else read_taken(log.locate(f"photos/{entry.name}/{photo.file}"))
            if taken and abs((taken.date() - entry.date).days) > MOST_DAYS:
                day = taken.date().isoformat()
                yield Problem(
                    rule="stray-photo-date",
                    message=f"the camera dates `{photo.file}` {day}, but the entry is dated {entry.date}",
                    place=photo.place,
                    help=f"add `taken: {day}`, or the true day if the camera's clock was wrong",
                    severity="warning",
                )


SIDE = 8
"Steps across and down: each is one bit, lighter than the step before or not, so a fingerprint has 2 × 8 × 8 bits."
MOST_BITS = 8
"""Bits in which two fingerprints of nearly one picture differ, of 128.

Seen on 39 photographs and drawings: saved again at half the size and quality 40, at most 8; the camera moved by half a
hundredth of the width, at most 6, by four hundredths, 5 to 26. Two pictures of different things differ in 24 or more. A
small thing changed between two shots from one spot changes few bits too: only the clock can tell such shots apart.
"""


@frozen
class SeenPhoto:
    """One photo that was looked at."""

    path: Path
    "where it lies"
    taken: datetime.datetime | None
    "None: the camera tells no time"
    fingerprint: int | None
    "128 bits, a difference hash, see `look_alike`; None: its time is none that was asked for"
    pixels: int
    "of the whole picture, as it is stored"
    size: int
    "bytes"


def see_photos(
    paths: Iterable[Path], wanted: Callable[[datetime.datetime], bool]
) -> dict[Path, SeenPhoto | BrokenPhoto]:
    """Each photo looked at, on all cores: the head of each, and all of those that were taken at a wanted time.

    Where it is no photo or damaged, why.
    """
    paths = tuple(paths)
    with warnings.catch_warnings(), ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        warnings.simplefilter("ignore")  # what Pillow says of broken metadata
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        return dict(zip(paths, pool.map(lambda path: _see(path, wanted), paths), strict=True))


def look_alike(one: int, other: int) -> bool:
    """Whether two fingerprints are of nearly one picture's."""
    return (one ^ other).bit_count() <= MOST_BITS


def _see(path: Path, wanted: Callable[[datetime.datetime], bool]) -> SeenPhoto | BrokenPhoto:
    try:
        with open_photo(path) as image:
            # only photos of the wanted day are decoded: a folder of a whole phone is mostly others
            taken, pixels = find_taken(image), image.width * image.height
            fingerprint = _compute_fingerprint(image) if taken and wanted(taken) else None
    except BrokenPhoto as broken:
        return broken
    return SeenPhoto(path=path, taken=taken, fingerprint=fingerprint, pixels=pixels, size=path.stat().st_size)


def _compute_fingerprint(image: Image.Image) -> int:
    """The difference hash of an open picture, upright; raises `BrokenPhoto` when it is damaged.

    A JPEG is decoded at an eighth of its size; still, all of the file is read.
    """
    # turned at the end, when nine by nine pixels are left to turn
    turn = TURNS.get(image.getexif().get(ORIENTATION, 1))
    try:
        # grey is the first channel of a JPEG, so that colour is never decoded
        image.draft("L", (SIDE * SIDE, SIDE * SIDE))
        grey = image.convert("L").resize((SIDE + 1, SIDE + 1), Image.Resampling.LANCZOS)
    except Exception as error:  # the decoders raise whatever they like on broken files
        words = str(error).split("\n")[0] or type(error).__name__
        raise BrokenPhoto(f"is damaged or cut short ({words})", "copy it from the camera again") from error
    return int(dhash.dhash_int(list((grey if turn is None else grey.transpose(turn)).tobytes()), SIDE))
