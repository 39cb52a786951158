"""When a photo says that it was taken."""

from __future__ import annotations

import datetime
import warnings
from pathlib import Path

from buildlog.photos.decode import open_photo

EXIF_IFD = 0x8769
DATE_TIME_ORIGINAL = 0x9003
"Tag of Exif 2.32 (CIPA DC-008), section 4.6.5 F. The neighbouring DateTime (0x0132) is when the file was last edited."


def read_taken(source: Path) -> datetime.datetime | None:
    """The camera's clock at the shot, which knows no zone; None when it is not told, unknown or not readable.

    Only the head of the file is read; what is wrong with a photo is told where its variants are made.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with open_photo(source) as image:
                written = image.getexif().get_ifd(EXIF_IFD).get(DATE_TIME_ORIGINAL)
        return datetime.datetime.strptime(str(written).strip("\0 "), "%Y:%m:%d %H:%M:%S")
    except Exception:  # metadata can be broken in every way; a date that cannot be read is no date
        return None
