"""What scaling and encoding lose, by scikit-image's structural similarity (Wang et al. 2004), and HEIC by `heif-info`.

Bound for scaling: SSIM 0.990 on average and 0.985 for each picture of a camera's size, against full decoding and one
LANCZOS to each size. Photographs are those that scikit-image ships.
"""

from __future__ import annotations

import statistics
import subprocess
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
import skimage.data
from PIL import Image, ImageOps
from skimage.metrics import structural_similarity

from buildlog.photos.decode import fit, read_upright
from buildlog.photos.variants import develop
from tests.bench.make_photos import draw

pytestmark = pytest.mark.outside

PHOTOGRAPHS = ("astronaut", "chelsea", "coffee", "hubble_deep_field", "retina", "rocket")


def compare(one: Image.Image, other: Image.Image) -> float:
    """SSIM of the luma, with a Gaussian window of 1.5."""
    pair = [np.asarray(image.convert("L")) for image in (one, other)]
    return float(
        structural_similarity(  # type: ignore[no-untyped-call]  # it carries no types
            *pair, gaussian_weights=True, sigma=1.5, use_sample_covariance=False
        )
    )


def measure_scaling(path: Path, largest: int) -> list[float]:
    """Likeness at three sizes, each scaled from the one before, of a photo that is decoded at a reduced size."""
    upright = read_upright(path, (), edge=largest)
    ours, found = upright.image, []
    with Image.open(path) as stored:
        whole = ImageOps.exif_transpose(stored).convert("RGB")
    for edge in (largest, round(largest * 0.6), round(largest * 0.3)):
        size = fit(whole.size, edge)
        ours = ours if ours.size == size else ours.resize(size, Image.Resampling.LANCZOS)
        found.append(compare(ours, whole.resize(size, Image.Resampling.LANCZOS)))
    return found


def save(image: Image.Image, path: Path, orientation: int = 1) -> Path:
    exif = Image.Exif()
    exif[0x0112] = orientation
    image.save(path, quality=90, exif=exif)
    return path


@pytest.mark.parametrize(("width", "height"), [(4032, 3024), (3264, 2448)], ids=["12 megapixels", "8 megapixels"])
@pytest.mark.parametrize("orientation", [1, 6])
def test_scaling_loses_nothing_that_shows(width: int, height: int, orientation: int, tmp_path: Path) -> None:
    """Phones' pictures, to 1600, 960 and 480 pixels: half of 4032 will do, half of 3264 is too near to 1600."""
    found = measure_scaling(save(draw(3, (width, height)), tmp_path / "x.jpg", orientation), 1600)
    assert min(found) >= 0.985, found
    assert statistics.mean(found) >= 0.990, found


def test_scaling_of_photographs(tmp_path: Path) -> None:
    """Scaled to four tenths, a quarter and an eighth, decoded at a half: SSIM 0.975 for each, 0.985 on average.

    These small pictures are sharper to the pixel than a camera's, so more is lost; the line is our own.
    """
    found = []
    for name in PHOTOGRAPHS:
        image = Image.fromarray(getattr(skimage.data, name)()).convert("RGB")
        path = save(image, tmp_path / f"{name}.jpg")
        largest = round(max(image.size) * 0.4)
        with Image.open(path) as reduced:
            reduced.draft("RGB", tuple(round(1.2 * side) for side in fit(reduced.size, largest)))  # type: ignore[arg-type]
            assert max(reduced.size) < max(image.size), "decoded whole: nothing would be proved"
        found += measure_scaling(path, largest)
    assert min(found) >= 0.975, found
    assert statistics.mean(found) >= 0.985, found


@pytest.mark.parametrize("name", PHOTOGRAPHS)
def test_half_a_picture_that_is_hardly_large_enough_is_not_used(name: str, tmp_path: Path) -> None:
    """Scaled to 0.49, half the picture would do by its size, but for an SSIM of 0.97 in most of these."""
    image = Image.fromarray(getattr(skimage.data, name)()).convert("RGB")
    path = save(image, tmp_path / "x.jpg")
    assert min(measure_scaling(path, round(max(image.size) * 0.49))) >= 0.990


def test_published_pictures_look_like_the_photograph(tmp_path: Path) -> None:
    """The recipe's files, encoded: SSIM 0.90 at least, on a photograph of full size (retina, 1411 pixels wide).

    0.90 is our own line, to catch a quality that was mistyped: at WebP quality 78 it is 0.93 to 0.97.
    """
    image = Image.fromarray(skimage.data.retina())
    image.save(tmp_path / "x.png")
    for made in develop(tmp_path / "x.png", ()).encoded:
        path = tmp_path / "made"
        path.write_bytes(made.content)
        with Image.open(path) as shown:
            whole = image.resize((made.width, made.height), Image.Resampling.LANCZOS)
            assert compare(shown.convert("RGB"), whole) >= 0.90


@pytest.mark.parametrize("kind", ["heic", "heif"])
def test_heic_as_another_reader_sees_it(kind: str, tmp_path: Path) -> None:
    """`heif-info` of libheif calls the file HEIC and tells its size; ours is that size, and the same picture."""
    image = Image.fromarray(skimage.data.coffee())
    path = tmp_path / f"x.{kind}"
    pillow_heif.from_pillow(image).save(path, quality=90)
    told = subprocess.run(["heif-info", str(path)], check=True, capture_output=True, text=True).stdout
    assert "MIME type: image/heic" in told and f"image: {image.width}x{image.height}" in told
    upright = read_upright(path, (), edge=1600)
    assert (upright.width, upright.height) == image.size
    assert compare(upright.image, image) >= 0.95


def test_turned_heic_as_another_reader_sees_it(tmp_path: Path) -> None:
    """Turned by a property of the file (ISO/IEC 23008-12, 6.5.10): `heif-info` tells the turn, ours is upright once."""
    image = Image.fromarray(skimage.data.coffee())
    path = tmp_path / "x.heic"
    exif = Image.Exif()
    exif[0x0112] = 6
    pillow_heif.from_pillow(image).save(path, quality=90, exif=exif.tobytes())
    told = subprocess.run(["heif-info", "-d", str(path)], check=True, capture_output=True, text=True).stdout
    assert "irot" in told
    upright = read_upright(path, (), edge=1600)
    assert (upright.width, upright.height) == image.size[::-1]
    assert compare(upright.image, image.transpose(Image.Transpose.ROTATE_270)) >= 0.95
