"""When a photo says that it was taken."""

from __future__ import annotations

import datetime
import warnings
from pathlib import Path

from PIL import Image

from buildlog.photos.decode import open_photo

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
    digits = _clean(told.get(SUB_SEC_TIME_ORIGINAL))
    if digits.isascii() and digits.isdigit():
        clock = clock.replace(microsecond=int(digits[:6].ljust(6, "0")))
    try:
        zone = datetime.datetime.strptime(_clean(told.get(OFFSET_TIME_ORIGINAL)), "%z").tzinfo
    except ValueError:
        return clock
    return clock.replace(tzinfo=zone)


def _clean(written: object) -> str:
    return str(written).strip("\0 ")
