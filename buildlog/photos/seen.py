"""What is seen of a photo before it becomes an entry's: when it was taken, and a few bits of what it shows."""

from __future__ import annotations

import datetime
import os
import warnings
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import dhash
from PIL import Image

from buildlog.frozen import frozen
from buildlog.photos.decode import ORIENTATION, TURNS, BrokenPhoto, open_photo
from buildlog.photos.taken import find_taken

SIDE = 8
"Steps across and down: each is one bit, lighter than the step before or not, so a look has 2 × 8 × 8 bits."
MOST_BITS = 8
"""Bits in which two looks of nearly one picture differ, of 128.

Seen on 39 photographs and drawings: saved again at half the size and quality 40, at most 8; the camera moved by half a
hundredth of the width, at most 6, by four hundredths, 5 to 26. Two pictures of different things differ in 24 or more. A
small thing changed between two shots from one spot changes few bits too: only the clock can tell such shots apart.
"""


@frozen
class SeenPhoto:
    """One photo that was looked at."""

    path: Path
    taken: datetime.datetime | None
    "None: the camera tells no time"
    look: int | None
    "128 bits, see `look_alike`; None: its time is none that was asked for"
    pixels: int
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
    """Whether two looks are nearly one picture's."""
    return (one ^ other).bit_count() <= MOST_BITS


def _see(path: Path, wanted: Callable[[datetime.datetime], bool]) -> SeenPhoto | BrokenPhoto:
    try:
        with open_photo(path) as image:
            taken, pixels = find_taken(image), image.width * image.height
            look = _read_look(image) if taken and wanted(taken) else None
    except BrokenPhoto as broken:
        return broken
    return SeenPhoto(path=path, taken=taken, look=look, pixels=pixels, size=path.stat().st_size)


def _read_look(image: Image.Image) -> int:
    """The look of an open picture, upright; raises `BrokenPhoto` when it is damaged.

    A JPEG is decoded at an eighth of its size; still, all of the file is read.
    """
    turn = TURNS.get(image.getexif().get(ORIENTATION, 1))
    try:
        image.draft("L", (SIDE * SIDE, SIDE * SIDE))
        grey = image.convert("L").resize((SIDE + 1, SIDE + 1), Image.Resampling.LANCZOS)
    except Exception as error:  # the decoders raise whatever they like on broken files
        words = str(error).split("\n")[0] or type(error).__name__
        raise BrokenPhoto(f"is damaged or cut short ({words})", "copy it from the camera again") from error
    return int(dhash.dhash_int(list((grey if turn is None else grey.transpose(turn)).tobytes()), SIDE))
