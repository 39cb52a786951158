"""What is asked for and published of each photo: which pictures, how large, how encoded. Nothing here can decode.

Why these formats and sizes, and what others were measured to take, stands beside this module in `formats.md`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, NamedTuple

from buildlog.frozen import frozen
from buildlog.problems import Place
from buildlog.read.numbers import Box

FORMATS = {
    ".jpg": ("JPEG", "MPO"),  # MPO: several JPEGs in one file, of which the first is the photo
    ".jpeg": ("JPEG", "MPO"),
    ".png": ("PNG",),
    ".webp": ("WEBP",),
    ".heic": ("HEIF",),
    ".heif": ("HEIF",),
}
"Formats that an original of this suffix may have, by Pillow's names."


@frozen
class Encoding:
    """One published picture."""

    edge: int
    "the long edge in pixels, at most: it bounds portraits and landscapes alike"
    format: str
    "Pillow's name"
    options: tuple[tuple[str, Any], ...]
    "what Pillow's encoder is given, by name"


# Quality 78 comes out above 70, "high" by SSIMULACRA2; method 4 saves 5 % for more than twice the time.
_MODERN = (("quality", 78), ("method", 2))
RECIPE = (
    Encoding(edge=1600, format="WEBP", options=_MODERN),
    Encoding(edge=960, format="WEBP", options=_MODERN),
    Encoding(edge=960, format="JPEG", options=(("quality", 80), ("progressive", True))),
    Encoding(edge=480, format="WEBP", options=_MODERN),
)
"Largest first: each size is scaled from the one before."
EDITION = "3"
"Changes when the same recipe makes other pictures than before."
# Nothing beside these two tables knows which formats are published.
SUFFIXES = {"WEBP": ".webp", "JPEG": ".jpg"}
MEDIA_TYPES = {"WEBP": "image/webp", "JPEG": "image/jpeg"}


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
