"""Hidden boxes: two originals that differ only inside a box give the same published files, byte for byte.

Nothing stronger can be asked: what cannot be told from the files cannot be seen in them, at any size.
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from buildlog.photos.decode import FILL
from buildlog.read.numbers import Box
from tests.photos.pictures import draw, make_one

SIZE = (2480, 1860)
"Decoded whole for 1600 pixels: half of it is too few."
LARGE = (3360, 2520)
"Decoded at a half: 1680 × 1260 is enough for 1600 × 1200."
BOX = Box(Decimal("0.3013"), Decimal("0.2571"), Decimal("0.6127"), Decimal("0.5519"))
"Its edges lie on no block of 8 or 16 pixels, in either size."


def paint(size: tuple[int, int], secret: tuple[int, int, int], box: Box = BOX) -> Image.Image:
    """Fine grey texture with a hard, bright rectangle that fills the box to its last pixel."""
    grey = np.random.default_rng(7).integers(90, 130, (size[1] // 4, size[0] // 4), dtype=np.uint8)
    image = Image.fromarray(grey).resize(size, Image.Resampling.BICUBIC).convert("RGB")
    left, top = int(box.left * size[0]) + 1, int(box.top * size[1]) + 1
    right, bottom = int(box.right * size[0]), int(box.bottom * size[1])
    image.paste(secret, (left, top, right, bottom))
    return image


def publish(image: Image.Image, path: Path, cache: Path, **options: object) -> list[bytes]:
    if path.suffix == ".heic":
        pillow_heif.from_pillow(image).save(path, quality=80)
    else:
        image.save(path, **options)  # type: ignore[arg-type]  # options of the format
    return [variant.file.read_bytes() for variant in make_one(path, cache, (BOX,)).variants]


@pytest.mark.parametrize("size", [LARGE, SIZE, (700, 525)], ids=["halved", "whole", "not scaled"])
@pytest.mark.parametrize("subsampling", ["4:4:4", "4:2:2", "4:2:0"])
@pytest.mark.parametrize("progressive", [False, True], ids=["baseline", "progressive"])
def test_jpeg_keeps_no_trace(size: tuple[int, int], subsampling: str, progressive: bool, tmp_path: Path) -> None:
    """Blocks across the box's edge, chroma stored at half the size and smoothed: red, blue or white, nobody can tell.

    Quality 60 rings far; the hidden colours are as hard as colours are.
    """
    seen = []
    for name, secret in (("red", (255, 0, 0)), ("blue", (0, 0, 255)), ("white", (255, 255, 255))):
        image, path = paint(size, secret), tmp_path / f"{name}.jpg"
        seen.append(
            publish(image, path, tmp_path / "cache", quality=60, subsampling=subsampling, progressive=progressive)
        )
    assert seen[0] == seen[1] == seen[2]
    assert len(seen[0]) >= 3


@pytest.mark.parametrize("orientation", range(1, 9))
def test_turned_jpeg_keeps_no_trace(orientation: int, tmp_path: Path) -> None:
    """The box is that of the upright picture, whichever way the picture was stored."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    upright = [paint(SIZE, secret) for secret in ((255, 0, 0), (0, 0, 255))]
    undo = {2: 0, 3: 3, 4: 1, 5: 5, 6: 2, 7: 6, 8: 4}.get(orientation)
    stored = [image if undo is None else image.transpose(Image.Transpose(undo)) for image in upright]
    one, other = (
        publish(image, tmp_path / f"{n}.jpg", tmp_path / "cache", quality=60, exif=exif)
        for n, image in enumerate(stored)
    )
    assert one == other


@pytest.mark.parametrize("size", [SIZE, (700, 525)], ids=["scaled", "not scaled"])
def test_lossless_original_is_covered_to_the_pixel(size: tuple[int, int], tmp_path: Path) -> None:
    """Of a PNG nothing reaches beyond the box, and nothing but the box is filled."""
    red, blue = (
        publish(paint(size, secret), tmp_path / f"{secret[0]}.png", tmp_path / "cache")
        for secret in ((255, 0, 0), (0, 0, 255))
    )
    assert red == blue
    if size[0] <= 960:
        from buildlog.photos.decode import read_upright

        found = np.asarray(read_upright(tmp_path / "255.png", (BOX,), edge=1600).image)
        rows, columns = np.nonzero((found == FILL).all(axis=2))
        # 0.3013 × 700 = 210.9, 0.6127 × 700 = 428.9, 0.2571 × 525 = 134.98, 0.5519 × 525 = 289.7
        assert (columns.min(), columns.max() + 1, rows.min(), rows.max() + 1) == (210, 429, 134, 290)


@pytest.mark.parametrize("kind", ["webp", "heic"])
def test_other_lossy_originals_show_nothing(kind: str, tmp_path: Path) -> None:
    """WebP and HEIC predict each block from its neighbours, so bytes may differ: what shows does not.

    Beside the box no pixel of any variant is nearer to the hidden red than the grey around it ever is: its red stands
    out by at most 12 of 255, where a trace of the hard edge would by up to 150.
    """
    path = tmp_path / f"x.{kind}"
    image = paint((1400, 1050), (255, 0, 0))
    if kind == "heic":
        pillow_heif.from_pillow(image).save(path, quality=60)
    else:
        image.save(path, quality=60)
    for variant in make_one(path, tmp_path / "cache", (BOX,)).variants:
        with Image.open(variant.file) as shown:
            pixels = np.asarray(shown.convert("RGB")).astype(int)
        assert (pixels[:, :, 0] - pixels[:, :, 1]).max() <= 12


@pytest.mark.parametrize("orientation", [1, 3])
def test_a_box_at_the_border_stays_in_the_picture(orientation: int, tmp_path: Path) -> None:
    """Grown beyond the picture's edge, a box ends at the edge; the other half is left."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    draw("AB", 800).save(tmp_path / "x.jpg", exif=exif, quality=90)
    half = Box(Decimal(0), Decimal(0), Decimal("0.4"), Decimal(1))
    for variant in make_one(tmp_path / "x.jpg", tmp_path / "cache", (half,)).variants:
        with Image.open(variant.file) as image:
            pixels = np.asarray(image.convert("RGB")).astype(int)
        height, width = pixels.shape[:2]
        assert np.abs(pixels[:, : int(width * 0.4)] - FILL).max() <= 24
        assert np.abs(pixels[height // 2, int(width * 0.75)] - FILL).sum() > 100
