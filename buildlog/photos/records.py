"""What is asked of the photos, and what comes back."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from buildlog.frozen import frozen
from buildlog.problems import Place
from buildlog.source.kinds import Box


@frozen
class PhotoRequest:
    """One original to publish."""

    source: Path
    "the original, which is read and never changed"
    name: str
    "entry and file name, with `/`; no two requests share one, and it is published nowhere"
    hide: tuple[Box, ...]
    "boxes of the upright picture to fill before anything else"
    place: Place
    "where the owner named the photo"


class Variant(NamedTuple):
    """One published picture of a photo, ready to be copied; a tuple, as a log may have ten thousands."""

    path: str
    "in the site: `photos/`, the entry, digits of the photo's key, the bound of its long edge, a suffix"
    width: int
    "pixels"
    height: int
    "pixels"
    format: str
    "media type: `image/webp` or `image/jpeg`"
    stored: str
    "where it lies; never changed once it is there"
    size: int
    "bytes of the stored file"
    mtime_ns: int
    "when it was stored, in nanoseconds: with the size it tells whether a copy is a copy of this one"

    def __fspath__(self) -> str:
        return self.stored

    @property
    def file(self) -> Path:
        return Path(self.stored)


@frozen
class PhotoSet:
    """One photo as it is published."""

    variants: tuple[Variant, ...]
    "widest first; always at least one in the modern format and one JPEG"
    width: int
    "pixels of the upright original"
    height: int
    "pixels of the upright original"
    colour: str
    "mean colour, `#rrggbb`, to stand there until the picture has come"
