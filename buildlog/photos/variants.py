"""The published pictures of one photo, made: the recipe carried out, and nothing else in the files."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO, Protocol

from PIL import Image

from buildlog.frozen import frozen
from buildlog.photos.decode import fit, mix, read_upright
from buildlog.photos.recipe import RECIPE, Encoding
from buildlog.read.numbers import Box


@frozen
class Encoded:
    """One picture, ready to be kept."""

    edge: int
    "its long edge in pixels, by which it is named"
    width: int
    "pixels"
    height: int
    "pixels"
    format: str
    "Pillow's name"
    content: bytes
    "the whole file"


@frozen
class Developed:
    """Everything that is made from one original."""

    encoded: tuple[Encoded, ...]
    "in the order of the recipe, none twice"
    width: int
    "pixels of the upright original"
    height: int
    "pixels of the upright original"
    colour: str
    "mean colour, `#rrggbb`"


class Ahead(Protocol):
    """Whoever looks at a photo's pictures before all are made: what is waited for comes first, then what is small."""

    def is_wanted(self, edge: int, format: str) -> bool:
        """Whether somebody waits for the picture of that long edge and format."""

    def show(self, picture: Encoded) -> None:
        """Take up a picture that is made, and not kept yet."""


def develop(
    source: Path,
    hide: tuple[Box, ...],
    *,
    file: BinaryIO | None = None,
    go_on: Callable[[], None] = lambda: None,
    ahead: Ahead | None = None,
) -> Developed:
    """The variants of an original; raises `decode.BrokenPhoto`. The same original gives the same bytes.

    `file` is the original where it is open already. `go_on` is called between the steps and may raise to end the work.
    `ahead` is somebody who looks at the pictures while they are made; the order is theirs then, and no byte is another.
    """
    upright = read_upright(source, hide, edge=RECIPE[0].edge, file=file, go_on=go_on)
    image = _strip(upright.image)
    encoded: dict[tuple[int, str], Encoded | None] = {}
    waiting: list[tuple[Image.Image, Encoding]] = []
    for line in RECIPE:
        go_on()
        size = fit((upright.width, upright.height), line.edge)
        # from the one before, which has far fewer pixels than the original; `formats.md` says what is lost by it
        if image.size != size:
            image = image.resize(size, Image.Resampling.LANCZOS)
        # a small original has all its sizes alike
        if (max(size), line.format) in encoded:
            continue
        if ahead is None:  # at once, so that no more than one picture is held
            encoded[max(size), line.format] = _encode(image, line)
        else:
            encoded[max(size), line.format] = None
            waiting.append((image, line))
    # of one size the modern format, which nearly every browser asks for, is the last and so the first to be made
    waiting.sort(key=lambda one: (-one[1].edge, one[1].format != "JPEG"))
    while waiting and ahead is not None:
        go_on()
        picture, line = next((one for one in waiting if ahead.is_wanted(max(one[0].size), one[1].format)), waiting[-1])
        waiting.remove((picture, line))
        made = encoded[max(picture.size), line.format] = _encode(picture, line)
        ahead.show(made)
    whole = tuple(filter(None, encoded.values()))
    return Developed(encoded=whole, width=upright.width, height=upright.height, colour=mix(image))


def _strip(image: Image.Image) -> Image.Image:
    """The pixels alone, in a picture of no file and with nothing attached to it."""
    # a picture of a file keeps what stood in it, and encoders write some of that out again
    if type(image) is not Image.Image:
        bare = Image.new("RGB", image.size)
        bare.paste(image)
        return bare
    image.info = {}
    return image


def _encode(image: Image.Image, line: Encoding) -> Encoded:
    content = io.BytesIO()
    image.save(content, line.format, **dict(line.options))
    width, height = image.size
    return Encoded(edge=max(image.size), width=width, height=height, format=line.format, content=content.getvalue())
