"""What is published of each photo: which pictures, how large, how encoded. Nothing is loaded for it that can decode."""

from __future__ import annotations

from typing import Any

from buildlog.frozen import frozen

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
SUFFIXES = {"WEBP": ".webp", "JPEG": ".jpg"}
MEDIA_TYPES = {"WEBP": "image/webp", "JPEG": "image/jpeg"}
