"""Render the pictures of the demonstration log, and save them as a phone would have: with a date, some turned, some with a place.

The place is in the middle of an ocean, and no camera of that name exists. They are there so that the way from original to
published picture has something to take out.

    render_pictures.py [--size PERCENT] [--samples N] [--out FOLDER] [NAME ...]
"""

from __future__ import annotations

import argparse
import io
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent))

import bench
import engine
import floor
import numpy
import outdoors
import scene
from PIL import Image, ImageFilter

PHOTOS = Path(__file__).resolve().parents[1] / "photos"
MOST_BYTES = 345_000
WIDE, TALL = (1600, 1200), (1200, 1600)

ENTRIES = {
    "barn": "2023-09-02-out-of-the-barn", "print-2011": "2023-09-02-out-of-the-barn", "floor-map": "2023-09-23-a-map-of-the-holes",
    "compression": "2023-12-16-compression-cold", "pipe-routing": "2024-01-13-brake-pipes", "cylinders": "2024-01-27-an-eighth-of-an-inch",
    "lift-pump-section": "2024-02-10-no-fuel-at-the-filter", "diaphragm": "2024-02-10-no-fuel-at-the-filter",
    "floor-patch": "2024-02-24-floor-in", "lift-pump-fitted": "2024-03-02-lift-pump-in", "clutch-hydraulics": "2024-03-16-clutch-hydraulics", "wiring-diagram": "2024-03-23-wiring-on-paper",
    "fuse-box": "2024-04-06-loom-in", "cooling": "2024-04-13-water", "first-start": "2024-04-27-first-start",
    "bushes": "2024-05-11-two-pounds-forty", "two-meters": "2024-05-18-speedometer", "dashboard": "2024-05-18-speedometer",
    "tyres": "2024-06-01-tyres", "on-the-road": "2024-07-13-on-the-road", "test-lane": "2024-07-19-test",
    "shelf": "2024-08-24-hot-start-starter", "autumn": "2024-11-09-before-the-frost", "solenoid": "2024-11-24-the-solenoid",
    "lighting": "wiring",
}  # fmt: skip
"The entry of each picture, or its page; the name of an entry starts with the day on which it was taken."

OTHER_DATES = {"print-2011": "2011-08-14", "lighting": "2024-04-06"}
SCANNED = ("print-2011",)
"Kept as a paper as well, because the history points to it."
TURNED = ("bushes", "tyres")
"Saved lying on their side, with EXIF orientation 6: turn a quarter clockwise to look at."
PLACED = ("barn", "first-start", "on-the-road", "test-lane", "autumn")
OCEAN = (("S", 31, 14), ("W", 17, 52))
"Degrees and minutes of a spot with nothing but water for days."


def main() -> None:
    """Render every picture, or those that are named."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("names", nargs="*", metavar="NAME")
    words.add_argument("--size", type=int, default=100, help="traced at so many percent, and enlarged (100)")
    words.add_argument("--samples", type=int, default=12, help="paths for each point (12)")
    words.add_argument("--out", type=Path, help="only look: PNG files into this folder")
    asked = words.parse_args()
    for name in asked.names or ENTRIES:
        start = time.monotonic()
        traced = render(name, asked.size, asked.samples, asked.out or Path(tempfile.gettempdir()))
        if not asked.out:
            target = PHOTOS / ENTRIES[name] / f"{name}.jpg"
            target.parent.mkdir(parents=True, exist_ok=True)
            image = develop(traced, TALL if name in TURNED else WIDE)
            target.write_bytes(save(image, name))
            if name in SCANNED:
                image.resize((640, 480)).save(PHOTOS.parent / "papers" / f"{name}.jpg", "JPEG", quality=72)
            print(f"{name}: {target.stat().st_size // 1000} kB", end=", ")
        print(f"{name}: {time.monotonic() - start:.0f} s, {time.process_time():.0f} s of work so far", flush=True)


def render(name: str, percent: int, samples: int, folder: Path) -> Path:
    """Build the scene of a picture and trace it; gives the PNG."""
    build = name.replace("-", "_")
    size = tuple(s * percent // 100 for s in (TALL if name in TURNED else WIDE))
    target = folder / f"{name}.png"
    if hasattr(outdoors, f"{build}_inside"):
        inside = folder / f"{name}-inside.png"
        scene.fresh()
        scene.trace(inside, (size[0] * 3 // 4, size[1] * 3 // 4), samples, **outdoors.print_2011_inside())
        scene.fresh()
        scene.trace(target, size, samples, **outdoors.print_2011(inside))
        return target
    scene.fresh()
    scene.trace(target, size, samples, **find(build)())
    return target


def find(build: str) -> Callable[[], dict[str, Any]]:
    """The function that builds a scene."""
    return next(getattr(place, build) for place in (outdoors, bench, engine, floor) if hasattr(place, build))


def develop(traced: Path, size: tuple[int, int]) -> Image.Image:
    """What lens and sensor add: a darker rim, a little glow about what is bright, and grain."""
    with Image.open(traced) as image:
        large = image.convert("RGB").resize(size, Image.Resampling.LANCZOS).filter(ImageFilter.UnsharpMask(1.6, 60, 2))
    light = numpy.asarray(large, dtype=numpy.float32) / 255
    glow = (
        numpy.asarray(
            Image.fromarray((numpy.clip(light - 0.8, 0, 1) * 255).astype(numpy.uint8)).filter(
                ImageFilter.GaussianBlur(18)
            ),
            dtype=numpy.float32,
        )
        / 255
    )
    light = light + 0.9 * glow
    light *= min(1.3, max(1.0, 0.80 / float(numpy.percentile(light, 97))))  # as a camera lengthens its exposure
    y, x = numpy.mgrid[-1 : 1 : size[1] * 1j, -1 : 1 : size[0] * 1j]
    light *= (1 - 0.17 * numpy.clip((x**2 + y**2) / 2, 0, 1) ** 1.4)[..., None]
    chance = numpy.random.default_rng(11)
    speckle = chance.normal(0, 1, (size[1], size[0])).astype(numpy.float32)
    coarse = sum(numpy.roll(speckle, step, axis) for step in (-1, 1) for axis in (0, 1)) / 4 + speckle / 2
    grain = coarse * 0.015 + chance.normal(0, 0.006, (size[1], size[0]))
    light += grain[..., None] * (1.15 - light)
    light *= numpy.array([1.012, 1.0, 0.975])
    return Image.fromarray((numpy.clip(light, 0, 1) * 255).astype(numpy.uint8))


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
    """What a phone writes beside the picture; that there was no phone stands there too."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Rendered", "No camera"
    exif[0x0112] = 6 if name in TURNED else 1
    day = OTHER_DATES.get(name, ENTRIES[name][:10]).replace("-", ":")
    exif.get_ifd(0x8769)[0x9003] = f"{day} 18:40:00"
    if name in PLACED:
        (ns, lat, lat_minutes), (ew, lon, lon_minutes) = OCEAN
        exif.get_ifd(0x8825).update({1: ns, 2: (lat, lat_minutes, 0), 3: ew, 4: (lon, lon_minutes, 0)})
    return exif


if __name__ == "__main__":
    main()
