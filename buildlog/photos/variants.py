"""The published pictures of one photo, made: the recipe carried out, and nothing else in the files."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
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
    width, height = upright.width, upright.height
    images = _Sizes(_strip(upright.image), [fit((width, height), line.edge) for line in RECIPE])
    del upright  # what is larger than the picture at work is not held
    # a small original has all its sizes alike
    lines: dict[tuple[int, str], int] = {}
    for at, line in enumerate(RECIPE):
        lines.setdefault((images.edge(at), line.format), at)
    encoded: dict[int, Encoded] = {}
    # of one size the modern format, which nearly every browser asks for, is the last and so the first to be made
    waiting = sorted(lines.values(), key=lambda at: (-RECIPE[at].edge, RECIPE[at].format != "JPEG"))
    while ahead is not None and waiting:
        go_on()
        at = next((at for at in waiting if ahead.is_wanted(images.edge(at), RECIPE[at].format)), waiting[-1])
        waiting.remove(at)
        encoded[at] = _encode(images.make(at), RECIPE[at])
        ahead.show(encoded[at])
    for at in sorted(waiting):  # by themselves in the order of their sizes, so that no more than one picture is held
        go_on()
        picture = images.make(at)
        images.drop_before(at)
        encoded[at] = _encode(picture, RECIPE[at])
    whole = tuple(encoded[at] for at in lines.values())
    return Developed(encoded=whole, width=width, height=height, colour=mix(images.make(-1)))


class _Sizes:
    """One picture in all its sizes, each made when it is asked for."""

    def __init__(self, image: Image.Image, sizes: Sequence[tuple[int, int]]) -> None:
        """The sizes are given from the largest to the smallest."""
        self._sizes = sizes
        self._images = {-1: image}

    def edge(self, at: int) -> int:
        """The long edge of one of the sizes."""
        return max(self._sizes[at])

    def make(self, at: int) -> Image.Image:
        """The picture in that size; `-1` is the last."""
        last = max(self._images)
        at %= len(self._sizes)
        if at in self._images:
            return self._images[at]
        # from the one before, which has far fewer pixels than the original; `formats.md` says what is lost by it
        for n in range(last + 1, at + 1):
            before = self._images[n - 1]
            same = before.size == self._sizes[n]
            self._images[n] = before if same else before.resize(self._sizes[n], Image.Resampling.LANCZOS)
        return self._images[at]

    def drop_before(self, at: int) -> None:
        """Hold no picture that is larger than that one."""
        self._images = {n: image for n, image in self._images.items() if n >= at}


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
