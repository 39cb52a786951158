"""One original as an upright sRGB picture without alpha and with its hidden spots filled, or why it is none.

Whatever lies in a photo folder may be broken or hostile: formats are a short list that must agree with the file's
suffix, sizes are bounded before anything is decoded, what is decoded at one time shares one memory budget, and a
decoder's failure is the file's fault. What is made of the picture is decided in `variants`.
"""

from __future__ import annotations

import io
import math
import os
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from io import BufferedReader
from itertools import product
from pathlib import Path
from typing import BinaryIO

from PIL import Image, ImageCms, UnidentifiedImageError

from buildlog.arithmetic import round_to_whole
from buildlog.frozen import frozen
from buildlog.photos.recipe import FORMATS
from buildlog.read.numbers import Box

CAPACITY = 48 << 20
"Bytes: two phone photos of twelve megapixels that are decoded at half their size, with room to spare; one in full."


class MemoryBudget:
    """Lets work begin while there is room for it; what is larger than all the room is done when nothing else is."""

    def __init__(self, capacity: int = CAPACITY) -> None:
        self._capacity = capacity
        self._taken = 0
        self._changed = threading.Condition()

    @contextmanager
    def hold(self, size: int) -> Iterator[None]:
        """Hold so many bytes, as soon as they are there."""
        with self._changed:
            # a photo larger than all of it would otherwise wait for ever: it is made alone
            self._changed.wait_for(lambda: not self._taken or self._taken + size <= self._capacity)
            self._taken += size
        try:
            yield
        finally:
            with self._changed:
                self._taken -= size
                self._changed.notify_all()


FILL = (32, 32, 32)
"Colour of a hidden box: plainly a patch, in a light and in a dark page."
SMOOTHED = 2
"Pixels beyond a block that smoothed chroma may reach: one, and one for rounding."
REACHES = {
    "WEBP": 16 + 8,  # macroblocks of 16 pixels, and the loop filter across their edges (RFC 6386, sections 2 and 15)
    "HEIF": 64 + 8,  # coding tree blocks of up to 64 pixels, and their filters (ITU-T H.265, 7.4.3.2 and 8.7)
}
"Pixels of the stored picture; of formats without loss nothing reaches out of a box."


def find_reach(image: Image.Image, stored: tuple[int, int]) -> int:
    """Pixels of the decoded picture by which its boxes must be grown; `stored` is its size in the file."""
    # a decoder of JPEG smooths chroma across blocks, so a box must reach as far as what it hides may have spread
    layers = getattr(image, "layer", None)
    if not layers:
        return REACHES.get(image.format or "", 0)
    block: int = 8 * max(max(layer[1], layer[2]) for layer in layers)
    return math.ceil(block * image.width / stored[0]) + SMOOTHED


def fill_boxes(image: Image.Image, hide: tuple[Box, ...], reach: int) -> Image.Image:
    """The upright picture with the boxes grown and filled: no pixel that one of them touches is left."""
    width, height = image.size
    for box in hide:
        # rounded outwards on every side: a pixel hidden needlessly harms nobody
        left, top = math.floor(box.left * width) - reach, math.floor(box.top * height) - reach
        right, bottom = math.ceil(box.right * width) + reach, math.ceil(box.bottom * height) + reach
        image.paste(FILL, (max(0, left), max(0, top), min(width, right), min(height, bottom)))
    return image


# By colours and not by name: profiles of one name differ, and phones call sRGB by many.
PROBE = Image.new("RGB", (125, 1))
PROBE.putdata(list(product((0, 64, 128, 192, 255), repeat=3)))
"Colours spread over all of RGB: a profile that leaves these alone is sRGB by another name."


def flatten(image: Image.Image) -> Image.Image:
    """The picture in 8 bits and without alpha: what shows through is white, as on paper."""
    if image.mode.startswith("I"):
        # 16 bits in one channel: the upper eight are kept, as Pillow does by itself for more channels.
        return image.convert("I").point(lambda value: value * (1 / 256)).convert("L")
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        whole = image if image.mode == "RGBA" else image.convert("RGBA")
        ground = Image.new("RGB", whole.size, "white")
        ground.paste(whole, mask=whole)
        return ground
    return image if image.mode in ("L", "RGB", "CMYK") else image.convert("RGB")


def convert_to_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """The colours as sRGB shows them, so that nothing is lost when the profile is left out of the variants."""
    if not profile:
        return image if image.mode == "RGB" else image.convert("RGB")
    try:
        convert = ImageCms.buildTransform(
            ImageCms.ImageCmsProfile(io.BytesIO(profile)),
            ImageCms.createProfile("sRGB"),
            image.mode,
            "RGB",
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
        )
        if image.mode == "RGB" and _is_identity(convert):
            return image
        made = ImageCms.applyTransform(image, convert)
    except (ImageCms.PyCMSError, OSError, ValueError):  # a profile that cannot be used, or is for other channels
        return image.convert("RGB")
    return made if made is not None else image


def _is_identity(convert: ImageCms.ImageCmsTransform) -> bool:
    """Whether no probe colour moves by more than one step: most phones name sRGB, and converting costs a tenth."""
    made = ImageCms.applyTransform(PROBE, convert)
    return (
        made is not None
        and max(abs(one - other) for one, other in zip(made.tobytes(), PROBE.tobytes(), strict=True)) <= 1
    )


def mix(image: Image.Image) -> str:
    """The mean colour, `#rrggbb`."""
    pixel = image.resize((1, 1), Image.Resampling.BOX).getpixel((0, 0))
    return "#" + bytes(pixel).hex() if isinstance(pixel, tuple) else "#808080"


Image.MAX_IMAGE_PIXELS = None  # Pillow's bound knows no reduced decoding: ours stand below, and are met in `open_photo`

LARGEST_PIXELS = 89_478_485
"Pixels of a picture that must be decoded whole: a quarter of a gibibyte at three bytes, Pillow's own bound."
LARGEST_REDUCED_PIXELS = 250_000_000
"Pixels of a JPEG that can be decoded at an eighth: the largest sensors of phones have 200 million."
REDUCED_MARGIN = 1.2
"""How much larger than its target a picture must be left by a reduced decoding, so that scaling hides what that lost.

Photographs of full size: 1.02 leaves a likeness (SSIM) of 0.978 to full decoding, 1.20 one of 0.992, 1.26 one of 0.996.
"""
REDUCED_ROOM = 4
"Bytes of a pixel, as Pillow keeps it."
PROGRESSIVE_ROOM = 3
"Bytes that a progressive JPEG's coefficients take for each pixel: two for each sample, half as many of chroma."
_ROOM = MemoryBudget()
ORIENTATION = 0x0112
"Tag of Exif 2.32 (CIPA DC-008), section 4.6.4 A."
TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
"What makes a picture of this orientation upright; every other value is left as it is."
STRAIGHT = (Image.Transpose.FLIP_LEFT_RIGHT, Image.Transpose.ROTATE_180, Image.Transpose.FLIP_TOP_BOTTOM)
"Turns that leave the width the width."


class BrokenPhoto(Exception):
    """The file is no photo that can be published."""

    def __init__(self, message: str, help: str) -> None:
        super().__init__(message)
        self.message = message
        "what is wrong with it: goes on from the file's name"
        self.help = help
        "what would do"


@frozen
class Upright:
    """A photo that can be looked at."""

    image: Image.Image
    "RGB in sRGB, upright, hidden boxes filled; not larger than needed"
    width: int
    "pixels of the whole original, upright"
    height: int
    "pixels of the whole original, upright"


def read_upright(
    source: Path,
    hide: tuple[Box, ...],
    *,
    edge: int,
    file: BinaryIO | None = None,
    go_on: Callable[[], None] = lambda: None,
) -> Upright:
    """The original for variants whose long edge is `edge` at most; raises `BrokenPhoto`.

    A JPEG is decoded at a half, a quarter or an eighth when that is well large enough, and turned when small. With
    something to hide, the boxes are filled before anything is scaled. `file` is the original where it is open already.
    `go_on` is called between the steps and may raise to end the work.
    """
    with open_photo(source, file=file) as image:
        stored = image.size
        turn = TURNS.get(_read_orientation(image))
        width, height = find_upright_size(image)
        # by the stored sides, as the picture is turned only when it is small
        target = fit(stored, edge)
        image.draft("RGB", (round_to_whole(REDUCED_MARGIN * target[0]), round_to_whole(REDUCED_MARGIN * target[1])))
        with _ROOM.hold(_measure_room(image, stored)):
            go_on()
            _load(image)
            go_on()
            reach = find_reach(image, stored) if hide else 0
            # before scaling: Pillow scales a picture with a palette by leaving pixels out
            flat = flatten(image)
            if not hide:
                flat = _scale(flat, target)
            upright = convert_to_srgb(flat, image.info.get("icc_profile"))
            if turn is not None:
                upright = upright.transpose(turn)
            if hide:
                # filled and then scaled: the other way, a pixel at the edge would keep a share of what is hidden
                upright = _scale(fill_boxes(upright, hide, reach), fit((width, height), edge))
    return Upright(image=upright, width=width, height=height)


def find_upright_size(image: Image.Image) -> tuple[int, int]:
    """Width and height of an open picture once it is turned upright; nothing is decoded for it."""
    straight = TURNS.get(_read_orientation(image)) in (None, *STRAIGHT)
    return image.size if straight else (image.height, image.width)


def _measure_room(image: Image.Image, stored: tuple[int, int]) -> int:
    """Bytes that decoding takes, once a reduced size is settled."""
    memory_budget = REDUCED_ROOM * image.width * image.height
    if "progressive" in image.info:
        memory_budget += PROGRESSIVE_ROOM * stored[0] * stored[1]
    return memory_budget


def _scale(image: Image.Image, size: tuple[int, int]) -> Image.Image:
    return image if image.size == size else image.resize(size, Image.Resampling.LANCZOS)


def fit(size: tuple[int, int], edge: int) -> tuple[int, int]:
    """The size in the same shape whose long edge is `edge`; never larger than it was, never nothing."""
    scale = min(1.0, edge / max(size))
    return max(1, round_to_whole(size[0] * scale)), max(1, round_to_whole(size[1] * scale))


@contextmanager
def open_photo(source: Path, *, file: BinaryIO | None = None) -> Iterator[Image.Image]:
    """The file opened and looked at, not yet decoded; raises `BrokenPhoto` for what is no photo of its suffix."""
    # an open file was checked when it was opened
    if file is None:
        check_file(source)
    check_suffix(source)
    with _open(file or source) as image:
        # a wrong suffix is a mistake or a trick, and its owner should look either way
        if image.format not in FORMATS[source.suffix.lower()]:
            real = "JPEG" if image.format == "MPO" else image.format
            raise BrokenPhoto(f"is really a {real} file", "give it the right file extension")
        reduced = image.format in ("JPEG", "MPO") and "progressive" not in image.info
        # from the header: nothing has been decoded yet, so that a bomb costs nothing
        most = LARGEST_REDUCED_PIXELS if reduced else LARGEST_PIXELS
        if image.width * image.height > most:
            raise BrokenPhoto(f"has more than {most // 1_000_000} million pixels", "make it smaller before you add it")
        yield image


def open_file(source: Path) -> BufferedReader:
    """The file opened, if it is worth a look; raises `BrokenPhoto`."""
    check_file(source)
    try:
        return source.open("rb")
    except OSError as error:
        raise BrokenPhoto(f"cannot be read: {error.strerror}", "check that you may read it") from error


def look_through(source: Path) -> None:
    """Raise `BrokenPhoto` where `read_upright` would: the whole file is read, and as small a picture made as can be."""
    with open_file(source) as file, open_photo(source, file=file) as image:
        stored = image.size
        image.draft("RGB", (1, 1))
        with _ROOM.hold(_measure_room(image, stored)):
            _load(image)


def check_file(source: Path) -> None:
    """Raise `BrokenPhoto` when there is no need to look into the file."""
    check_suffix(source)
    # a photo folder that came from elsewhere must not publish a picture from the rest of the disk
    if source.is_symlink() and not Path(os.path.realpath(source)).is_relative_to(os.path.realpath(source.parent)):
        raise BrokenPhoto("is a link that leads out of the photo folder", "put the file itself there")
    if not source.is_file():
        raise BrokenPhoto("is not a file", "put the photo itself there")
    if source.stat().st_size == 0:
        raise BrokenPhoto("is empty", "copy it from the camera again")


def check_suffix(source: Path) -> None:
    """Raise `BrokenPhoto` for a file that is not named as a photo is."""
    if source.suffix.lower() not in FORMATS:
        raise BrokenPhoto("is not a kind of photo that can be used", "photos are .jpg, .png, .webp or .heic files")


def _open(source: Path | BinaryIO) -> Image.Image:
    # no other format is even tried: Pillow knows dozens, and each is code that a hostile file could reach
    known = {format for formats in FORMATS.values() for format in formats} - {"MPO"}
    try:
        if _is_boxed(source):
            _know_heif()
        else:
            known -= {"HEIF"}
        return Image.open(source, formats=sorted(known))
    except UnidentifiedImageError:
        raise BrokenPhoto("is not a picture that can be read", "export it as a JPEG and try again") from None
    except Exception as error:  # the decoders raise whatever they like on broken files
        raise _broken(error) from error


def _is_boxed(source: Path | BinaryIO) -> bool:
    """Whether a file begins as HEIC does (ISO/IEC 14496-12, section 4.3), and as no other format of ours."""
    if isinstance(source, Path):
        with source.open("rb") as file:
            return _is_boxed(file)
    head = source.read(8)
    source.seek(0)
    return head[4:] == b"ftyp"


@cache
def _know_heif() -> None:
    """Have Pillow open HEIC too, in the whole process: loading what reads it takes longer than a small picture."""
    import pillow_heif

    pillow_heif.register_heif_opener()


def _load(image: Image.Image) -> None:
    try:
        image.load()
    except Exception as error:  # the decoders raise whatever they like on broken files
        raise _broken(error) from error


def _broken(error: Exception) -> BrokenPhoto:
    words = str(error).split("\n")[0] or type(error).__name__
    return BrokenPhoto(f"is damaged or cut short ({words})", "copy it from the camera again")


def _read_orientation(image: Image.Image) -> int:
    try:
        value = image.getexif().get(ORIENTATION, 1)
    except Exception:  # broken metadata is no reason to refuse a picture
        return 1
    return value if isinstance(value, int) else 1
