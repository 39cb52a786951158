"""One original as an upright sRGB picture without alpha, or why it is none.

Whatever lies in a photo folder may be broken or hostile: formats are a short list that must agree with the file's
suffix, sizes are bounded before anything is decoded, and a decoder's failure is the file's fault. What is made of the
picture is decided in `variants`.
"""

from __future__ import annotations

import io
import math
import threading
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path

import pillow_heif
from PIL import Image, ImageCms, UnidentifiedImageError

from buildlog.source.kinds import Box

pillow_heif.register_heif_opener()

FORMATS = {
    ".jpg": ("JPEG", "MPO"),  # MPO: several JPEGs in one file, of which the first is the photo
    ".jpeg": ("JPEG", "MPO"),
    ".png": ("PNG",),
    ".webp": ("WEBP",),
    ".heic": ("HEIF",),
    ".heif": ("HEIF",),
}
"Formats that a file of this suffix may have."
LARGEST_PIXELS = 89_478_485
"Pixels of a picture: Pillow's own bound (a quarter of a gibibyte at three bytes), here an error and no warning."
LARGE_PIXELS = 30_000_000
_ROOM = threading.Lock()
"Pictures that are decoded to more pixels than this are handled one at a time, so that memory stays bounded."
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
FILL = (32, 32, 32)
"Colour of a hidden box: plainly a patch, in a light and in a dark page."


class BrokenPhoto(Exception):
    """The file is no photo that can be published."""

    def __init__(self, message: str, help: str) -> None:
        super().__init__(message)
        self.message = message
        "what is wrong with it: goes on from the file's name"
        self.help = help
        "what would do"


@dataclass(frozen=True, slots=True, kw_only=True)
class Upright:
    """A photo that can be looked at."""

    image: Image.Image
    "RGB in sRGB, upright, hidden boxes filled; not larger than needed"
    width: int
    "pixels of the whole original, upright"
    height: int
    "pixels of the whole original, upright"


def read_upright(source: Path, hide: tuple[Box, ...], *, edge: int) -> Upright:
    """The original for variants whose long edge is `edge` at most; raises `BrokenPhoto`.

    With something to hide, all of it is decoded and the boxes are filled before anything is scaled. Without, a JPEG is
    decoded at a half, a quarter or an eighth when that is large enough, and turned when it is small.
    """
    with open_photo(source) as image:
        turn = TURNS.get(_read_orientation(image))
        width, height = image.size if turn in (None, *STRAIGHT) else image.size[::-1]
        target = fit(image.size, edge)
        if not hide:
            image.draft("RGB", target)
        with _ROOM if image.width * image.height > LARGE_PIXELS else nullcontext():
            _load(image)
            flat = _flatten(image)
            if not hide:
                flat = _scale(flat, target)
            upright = _convert_to_srgb(flat, image.info.get("icc_profile"))
            if turn is not None:
                upright = upright.transpose(turn)
            if hide:
                upright = _scale(_fill(upright, hide), fit((width, height), edge))
    return Upright(image=upright, width=width, height=height)


def _scale(image: Image.Image, size: tuple[int, int]) -> Image.Image:
    return image if image.size == size else image.resize(size, Image.Resampling.LANCZOS)


def fit(size: tuple[int, int], edge: int) -> tuple[int, int]:
    """The size in the same shape whose long edge is `edge`; never larger than it was, never nothing."""
    scale = min(1.0, edge / max(size))
    return max(1, round(size[0] * scale)), max(1, round(size[1] * scale))


@contextmanager
def open_photo(source: Path) -> Iterator[Image.Image]:
    """The file opened and looked at, not yet decoded; raises `BrokenPhoto` for what is no photo of its suffix."""
    check_file(source)
    with _open(source) as image:
        if image.format not in FORMATS[source.suffix.lower()]:
            real = "JPEG" if image.format == "MPO" else image.format
            raise BrokenPhoto(f"is really a {real} file", "give it the suffix of what it is")
        if image.width * image.height > LARGEST_PIXELS:
            raise _too_large()
        yield image


def check_file(source: Path) -> None:
    """Raise `BrokenPhoto` when there is no need to look into the file."""
    if source.suffix.lower() not in FORMATS:
        raise BrokenPhoto("is of no kind that is known here", "photos are .jpg, .png, .webp or .heic files")
    if source.is_symlink() and not source.resolve().is_relative_to(source.parent.resolve()):
        raise BrokenPhoto("is a link that leads out of the photo folder", "put the file itself there")
    if not source.is_file():
        raise BrokenPhoto("is no file", "put the photo itself there")
    if source.stat().st_size == 0:
        raise BrokenPhoto("is empty", "copy it from the camera again")


def _open(source: Path) -> Image.Image:
    known = sorted({format for formats in FORMATS.values() for format in formats} - {"MPO"})
    try:
        return Image.open(source, formats=known)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_large() from None
    except UnidentifiedImageError:
        raise BrokenPhoto("is no picture that can be read", "export it as a JPEG and try again") from None
    except Exception as error:  # the decoders raise whatever they like on broken files
        raise _broken(error) from error


def _load(image: Image.Image) -> None:
    try:
        image.load()
    except Exception as error:  # the decoders raise whatever they like on broken files
        raise _broken(error) from error


def _too_large() -> BrokenPhoto:
    return BrokenPhoto(f"has more than {LARGEST_PIXELS // 1_000_000} million pixels", "scale it down before it goes in")


def _broken(error: Exception) -> BrokenPhoto:
    words = str(error).split("\n")[0] or type(error).__name__
    return BrokenPhoto(f"is damaged or cut short ({words})", "copy it from the camera again")


def _read_orientation(image: Image.Image) -> int:
    try:
        value = image.getexif().get(ORIENTATION, 1)
    except Exception:  # broken metadata is no reason to refuse a picture
        return 1
    return value if isinstance(value, int) else 1


def _flatten(image: Image.Image) -> Image.Image:
    """The picture in 8 bits and without alpha: what shows through is white, as on paper."""
    if image.mode.startswith("I"):
        # 16 bits in one channel: the upper eight are kept, as Pillow does by itself for more channels.
        return image.convert("I").point(lambda value: value * (1 / 256)).convert("L")
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        whole = image.convert("RGBA")
        ground = Image.new("RGB", whole.size, "white")
        ground.paste(whole, mask=whole.getchannel("A"))
        return ground
    return image if image.mode in ("L", "RGB", "CMYK") else image.convert("RGB")


def _convert_to_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """The colours as sRGB shows them, so that nothing is lost when the profile is left out of the variants."""
    if not profile:
        return image.convert("RGB")
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        made = ImageCms.profileToProfile(
            image,
            source,
            ImageCms.createProfile("sRGB"),
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
            outputMode="RGB",
        )
    except (ImageCms.PyCMSError, OSError):  # a profile that cannot be used, or that is for other channels
        return image.convert("RGB")
    return made if made is not None else image


def _fill(image: Image.Image, hide: tuple[Box, ...]) -> Image.Image:
    """The picture with the boxes filled, rounded outwards: no pixel that a box touches is left."""
    width, height = image.size
    for box in hide:
        left, top = math.floor(box.left * width), math.floor(box.top * height)
        right, bottom = math.ceil(box.right * width), math.ceil(box.bottom * height)
        image.paste(FILL, (left, top, right, bottom))
    return image
