"""The published pictures of one photo: which there are, how large, how encoded, and nothing else in them."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image

from buildlog.photos.decode import fit, read_upright
from buildlog.source.kinds import Box


@dataclass(frozen=True, slots=True, kw_only=True)
class Encoding:
    """One line of the recipe."""

    edge: int
    "the long edge in pixels, at most: it bounds portraits and landscapes alike"
    format: str
    "Pillow's name"
    options: tuple[tuple[str, Any], ...]


RECIPE = (
    Encoding(edge=1600, format="WEBP", options=(("quality", 78), ("method", 2))),
    Encoding(edge=960, format="JPEG", options=(("quality", 80), ("progressive", True))),
    Encoding(edge=640, format="WEBP", options=(("quality", 78), ("method", 2))),
)
"Largest first, each made from the one before. WebP's method 2 is where more effort stops buying smaller files."


@dataclass(frozen=True, slots=True, kw_only=True)
class Encoded:
    """One picture, ready to be kept."""

    edge: int
    "its long edge in pixels, by which it is named"
    width: int
    height: int
    format: str
    "`WEBP` or `JPEG`"
    content: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Developed:
    """Everything that is made from one original."""

    encoded: tuple[Encoded, ...]
    width: int
    "pixels of the upright original"
    height: int
    colour: str
    "mean colour, `#rrggbb`"


def develop(source: Path, hide: tuple[Box, ...]) -> Developed:
    """The variants of an original; raises `decode.BrokenPhoto`. The same original gives the same bytes."""
    upright = read_upright(source, hide, edge=RECIPE[0].edge)
    image = upright.image
    encoded: dict[tuple[int, str], Encoded] = {}
    for line in RECIPE:
        size = fit((upright.width, upright.height), line.edge)
        if image.size != size:
            image = image.resize(size, Image.Resampling.LANCZOS)
        if (max(size), line.format) not in encoded:
            encoded[max(size), line.format] = _encode(image, line)
    return Developed(encoded=tuple(encoded.values()), width=upright.width, height=upright.height, colour=_mix(image))


def _encode(image: Image.Image, line: Encoding) -> Encoded:
    """The picture alone: pasted into a new one, so that no metadata of any kind is carried along."""
    bare = Image.new("RGB", image.size)
    bare.paste(image)
    content = io.BytesIO()
    bare.save(content, line.format, **dict(line.options))
    width, height = image.size
    return Encoded(edge=max(image.size), width=width, height=height, format=line.format, content=content.getvalue())


def _mix(image: Image.Image) -> str:
    pixel = image.resize((1, 1), Image.Resampling.BOX).getpixel((0, 0))
    return "#" + bytes(pixel).hex() if isinstance(pixel, tuple) else "#808080"
