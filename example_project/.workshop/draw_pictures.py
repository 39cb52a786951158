# The points of a shape, and the lines of a paper, are read as one row: they are not wrapped.
# fmt: off
"""Draw the pictures of the demonstration log, as a phone would have saved them: with a date, some turned, some with a place.

The place is in the middle of an ocean, and no camera of that name exists. They are there so that the way from original to
published picture has something to take out.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import bench
import drawings
import outdoors
from cut_paper import Sheet
from PIL import Image

PHOTOS = Path(__file__).resolve().parents[1] / "photos"
MOST_BYTES = 82_000

ENTRIES = {
    "barn": "2023-09-02-out-of-the-barn", "print-2011": "2023-09-02-out-of-the-barn", "floor-map": "2023-09-23-a-map-of-the-holes",
    "compression": "2023-12-16-compression-cold", "pipe-routing": "2024-01-13-brake-pipes", "cylinders": "2024-01-27-an-eighth-of-an-inch",
    "lift-pump-section": "2024-02-10-no-fuel-at-the-filter", "diaphragm": "2024-02-10-no-fuel-at-the-filter",
    "floor-patch": "2024-02-24-floor-in", "lift-pump-fitted": "2024-03-02-lift-pump-in", "clutch-hydraulics": "2024-03-16-clutch-hydraulics", "wiring-diagram": "2024-03-23-wiring-on-paper",
    "fuse-box": "2024-04-06-loom-in", "cooling": "2024-04-13-water", "first-start": "2024-04-27-first-start",
    "bushes": "2024-05-11-two-pounds-forty", "two-meters": "2024-05-18-speedometer", "dashboard": "2024-05-18-speedometer",
    "tyres": "2024-06-01-tyres", "on-the-road": "2024-07-13-on-the-road", "test-lane": "2024-07-19-test",
    "shelf": "2024-08-24-hot-start-starter", "autumn": "2024-11-09-before-the-frost", "solenoid": "2024-11-24-the-solenoid",
}  # fmt: skip
"The entry of each picture; its name starts with the day on which it was taken."

DRAWN_DATES = {"print-2011": "2011-08-14"}
SCANNED = ("print-2011",)
"Kept as a paper as well, because the history points to it."
TURNED = ("bushes", "tyres")
"Saved lying on their side, with EXIF orientation 6: turn a quarter clockwise to look at."
PLACED = ("barn", "first-start", "on-the-road", "test-lane", "autumn")
OCEAN = (("S", 31, 14), ("W", 17, 52))
"Degrees and minutes of a spot with nothing but water for days."


def main() -> None:
    """Draw every picture, or those that are named."""
    for name in sys.argv[1:] or ENTRIES:
        sheet = find_drawing(name)()
        target = PHOTOS / ENTRIES[name] / f"{name}.jpg"
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(save(sheet.image, name))
        if name in SCANNED:
            scan = sheet.image.resize((640, 480))
            scan.save(PHOTOS.parent / "papers" / f"{name}.jpg", "JPEG", quality=70)
        print(f"{name}: {target.stat().st_size // 1000} kB")


def find_drawing(name: str) -> Callable[[], Sheet]:
    """The function that draws a picture."""
    wanted = "draw_" + name.replace("-", "_")
    return next(getattr(place, wanted) for place in (outdoors, bench, drawings) if hasattr(place, wanted))


def save(image: Image.Image, name: str) -> bytes:
    """The JPEG file, at the best quality that stays small."""
    stored = image.transpose(Image.Transpose.ROTATE_90) if name in TURNED else image
    exif = make_exif(name)
    for quality in range(88, 36, -3):
        file = io.BytesIO()
        stored.save(file, "JPEG", quality=quality, exif=exif, optimize=True, progressive=True)
        if file.tell() <= MOST_BYTES:
            break
    return file.getvalue()


def make_exif(name: str) -> Image.Exif:
    """What a phone writes beside the picture."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Scissors and Paper", "Table No. 1"
    exif[0x0112] = 6 if name in TURNED else 1
    day = DRAWN_DATES.get(name, ENTRIES[name][:10]).replace("-", ":")
    exif.get_ifd(0x8769)[0x9003] = f"{day} 18:40:00"
    if name in PLACED:
        (ns, lat, lat_minutes), (ew, lon, lon_minutes) = OCEAN
        exif.get_ifd(0x8825).update({1: ns, 2: (lat, lat_minutes, 0), 3: ew, 4: (lon, lon_minutes, 0)})
    return exif


if __name__ == "__main__":
    main()
