"""Photos for the benchmarks: as large, as heavy and as varied as those of a phone, and of nothing in particular.

Run as `python tests/bench/make_photos.py FOLDER --photos 40`. Each is 4032 × 3024 pixels of texture over all scales
(amplitude falls as frequency rises, as in photographs), with hard edges of many directions and zones out of focus; two
in five are stored turned; all carry a place, a date and a thumbnail. JPEG, quality 90, chroma halved, 2.5 to 4.5 MB.
"""

from __future__ import annotations

import argparse
import io
import random
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

SIZE = (4032, 3024)
TURNED = {1: 6, 3: 8}
"Of each five photos these are stored turned, by this orientation (Exif 2.32, tag 0x0112)."


def make_photos(folder: Path, count: int) -> list[Path]:
    """Photos that are not there yet, drawn on all cores; the same ones each time."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / f"photo-{n:03}.jpg" for n in range(count)]
    missing = [(path, n) for n, path in enumerate(paths) if not path.exists()]
    if missing:
        with ProcessPoolExecutor() as pool:
            list(pool.map(_make, *zip(*missing, strict=True)))
    return paths


def _make(path: Path, number: int) -> None:
    image = draw(number)
    temporary = path.with_suffix(".part")
    image.save(temporary, "JPEG", quality=90, exif=_fill_exif(image, TURNED.get(number % 5, 1)))
    temporary.rename(path)


def draw(number: int, size: tuple[int, int] = SIZE) -> Image.Image:
    """One picture: texture, edges, and a part of it out of focus."""
    chance, noise = random.Random(number), np.random.default_rng(number)
    image = _texture(noise, size, contrast=chance.uniform(14, 26))
    _draw_edges(image, chance)
    soft = image.filter(ImageFilter.BoxBlur(size[0] / 250)).filter(ImageFilter.BoxBlur(size[0] / 250))
    focus = Image.new("L", (16, 12))
    focus.putdata([255 if chance.random() < 0.62 else 0 for _ in range(16 * 12)])
    image = Image.composite(image, soft, focus.resize(size, Image.Resampling.BICUBIC))
    grain = Image.fromarray(noise.integers(0, 9, (size[1], size[0], 1), dtype=np.uint8).repeat(3, axis=2))
    return Image.fromarray(np.clip(np.asarray(image).astype(np.int16) + np.asarray(grain) - 4, 0, 255).astype(np.uint8))


def _texture(noise: np.random.Generator, size: tuple[int, int], *, contrast: float) -> Image.Image:
    """Octaves of noise, each weaker than the one of twice its size, luma more than colour."""
    steps = [max(size) // 4 >> n for n in range(20) if max(size) // 4 >> n >= 2]
    layers = [np.full((1, 1), value, dtype=np.float32) for value in noise.uniform(80, 150, 3)]
    for number, step in enumerate(steps):
        width, height = -(-size[0] // step) + 1, -(-size[1] // step) + 1
        strength = contrast * 1.5 * 0.86**number
        luma = noise.normal(0, strength, (height, width))
        layers = [
            np.asarray(Image.fromarray(layer).resize((width, height), Image.Resampling.BICUBIC))
            + (luma + noise.normal(0, strength * 0.25, luma.shape)).astype(np.float32)
            for layer in layers
        ]
    whole = [
        Image.fromarray(np.clip(layer, 0, 255).astype(np.uint8)).resize(size, Image.Resampling.BICUBIC)
        for layer in layers
    ]
    return Image.merge("RGB", whole)


def _draw_edges(image: Image.Image, chance: random.Random) -> None:
    canvas = ImageDraw.Draw(image, "RGBA")
    for _ in range(160):
        x, y = chance.randrange(image.width), chance.randrange(image.height)
        reach = int(image.width * chance.uniform(0.004, 0.09))
        colour = (*(chance.randrange(256) for _ in range(3)), chance.randrange(60, 200))
        corners = [(x + chance.randint(-reach, reach), y + chance.randint(-reach, reach)) for _ in range(4)]
        if chance.random() < 0.5:
            canvas.polygon(corners, fill=colour)
        else:
            canvas.line(corners, fill=colour, width=max(1, reach // 12))


def _fill_exif(image: Image.Image, orientation: int) -> bytes:
    """A date, a place and a thumbnail, as phones write them (IFD1 holds the thumbnail; Exif 2.32, section 4.5.5)."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0110], exif[0x0112], exif[0x0132] = "Bench", "Phone", orientation, "2024:05:18 21:04:33"
    exif.get_ifd(0x8769).update({0x9003: "2024:05:18 21:04:33", 0xA431: "0123456789"})
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 26.46), 3: "W", 4: (0.0, 7.0, 39.93)})
    thumbnail = io.BytesIO()
    image.resize((160, 120)).save(thumbnail, "JPEG", quality=70)
    return _append_thumbnail(exif.tobytes(), thumbnail.getvalue())


def _append_thumbnail(exif: bytes, thumbnail: bytes) -> bytes:
    """The Exif block with a second directory: kind 6 (JPEG), where the thumbnail lies, how long it is."""
    head, block = exif[:6], bytearray(exif[6:])
    order = "little" if block[:2] == b"II" else "big"

    def number(value: int, width: int) -> bytes:
        return value.to_bytes(width, order)  # type: ignore[arg-type]  # one of the two words

    first = int.from_bytes(block[4:8], order)  # type: ignore[arg-type]  # the same
    entries = int.from_bytes(block[first : first + 2], order)  # type: ignore[arg-type]  # the same
    block += bytes(len(block) % 2)
    at = len(block)
    block[first + 2 + 12 * entries : first + 6 + 12 * entries] = number(at, 4)
    start = at + 2 + 3 * 12 + 4
    block += number(3, 2)
    block += number(0x0103, 2) + number(3, 2) + number(1, 4) + number(6, 2) + bytes(2)
    block += number(0x0201, 2) + number(4, 2) + number(1, 4) + number(start, 4)
    block += number(0x0202, 2) + number(4, 2) + number(1, 4) + number(len(thumbnail), 4)
    return head + bytes(block) + bytes(4) + thumbnail


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--photos", type=int, default=40)
    given = parser.parse_args()
    paths = make_photos(given.folder, given.photos)
    print(f"{len(paths)} photos, {sum(path.stat().st_size for path in paths) / len(paths) / 1e6:.2f} MB each")


if __name__ == "__main__":
    main()
