"""Photos against Exif, ICC and sRGB: which way is up, which colour it is, and that nothing else is left in the files.

Orientation: Exif 2.32 (CIPA DC-008-2019), tag 0x0112, as Pillow's `ImageOps.exif_transpose` and `exiftool` read it.
Colour: Display P3 to sRGB, values computed from the primaries and agreed by LittleCMS. Metadata: `exiftool`.
"""

from __future__ import annotations

import datetime
import json
import subprocess
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageOps

from buildlog.photos.dates import read_taken
from buildlog.photos.decode import FILL, read_upright
from buildlog.photos.publish import make_photos
from buildlog.photos.recipe import PhotoRequest, PhotoSet
from buildlog.problems import Place
from buildlog.read.numbers import Box
from tests.photos.pictures import LETTERS, SECRET, draw, fill_metadata, make_profile, read

pytestmark = pytest.mark.outside

TOP = Path(__file__).parents[2]

# value, what `AB/CD/EF` looks like, exiftool's words for it
ORIENTATIONS = [
    (1, "AB/CD/EF", "Horizontal (normal)"),
    (2, "BA/DC/FE", "Mirror horizontal"),
    (3, "FE/DC/BA", "Rotate 180"),
    (4, "EF/CD/AB", "Mirror vertical"),
    (5, "ACE/BDF", "Mirror horizontal and rotate 270 CW"),
    (6, "ECA/FDB", "Rotate 90 CW"),
    (7, "FDB/ECA", "Mirror horizontal and rotate 90 CW"),
    (8, "BDF/ACE", "Rotate 270 CW"),
    (0, "AB/CD/EF", None),  # reserved values leave the picture as it is
    (9, "AB/CD/EF", None),
]


def exiftool(path: Path, *options: str) -> dict[str, Any]:
    done = subprocess.run(["exiftool", "-j", *options, str(path)], check=True, capture_output=True)
    found: dict[str, Any] = json.loads(done.stdout)[0]
    return found


def publish(source: Path, tmp_path: Path, hide: tuple[Box, ...] = ()) -> PhotoSet:
    request = PhotoRequest(source=source, name="e/x", hide=hide, place=Place("entries/e.md"))
    photos, problems = make_photos([request], tmp_path / "cache")
    assert not problems
    return photos["e/x"]


@pytest.mark.parametrize(("value", "looks", "words"), ORIENTATIONS)
def test_orientation(value: int, looks: str, words: str | None, tmp_path: Path) -> None:
    """Each of the eight values is undone, pixel by pixel and in the shape; both readers agree about what it means."""
    source = tmp_path / "x.png"
    stored = draw("AB/CD/EF")
    exif = Image.Exif()
    exif[0x0112] = value
    stored.save(source, exif=exif)
    rows = looks.split("/")

    found = read_upright(source, (), edge=1600)
    assert (found.width, found.height) == (len(rows[0]), len(rows))
    assert read(found.image, len(rows[0]), len(rows)) == looks
    with Image.open(source) as image:
        assert found.image.tobytes() == ImageOps.exif_transpose(image).convert("RGB").tobytes()
    assert words is None or exiftool(source)["Orientation"] == words


@pytest.mark.parametrize(("value", "looks", "words"), ORIENTATIONS)
def test_orientation_of_a_large_jpeg(value: int, looks: str, words: str | None, tmp_path: Path) -> None:
    """A JPEG that is decoded at half its size and turned afterwards looks the same, and no variant says turn me."""
    source = tmp_path / "x.jpg"
    exif = Image.Exif()
    exif[0x0112] = value
    draw("AB/CD/EF", 1200).save(source, exif=exif)
    rows = looks.split("/")
    across, down = len(rows[0]), len(rows)

    photo = publish(source, tmp_path)
    assert (photo.width, photo.height) == (1200 * across, 1200 * down)
    for variant in photo.variants:
        with Image.open(variant.file) as image:
            assert read(image, across, down) == looks
            assert image.size == (variant.width, variant.height)
            assert image.getexif().get(0x0112) is None
    sizes = [(v.width, v.height) for v in photo.variants]
    upright = [(1067, 1600), (640, 960), (640, 960), (320, 480)]
    assert sizes == (upright if across == 2 else [(width, height) for height, width in upright])


def test_orientation_of_heic(tmp_path: Path) -> None:
    """HEIF turns by a property of the file (ISO/IEC 23008-12), which the decoder applies: it is not done twice."""
    source = tmp_path / "x.heic"
    exif = Image.Exif()
    exif[0x0112] = 6
    heif = pillow_heif.from_pillow(draw("AB/CD/EF", 64))
    heif.save(source, exif=exif.tobytes(), quality=95)
    found = read_upright(source, (), edge=1600)
    assert (found.width, found.height) == (192, 128)
    assert read(found.image, 3, 2) == "ECA/FDB"


# Display P3 as stored, sRGB as shown: linear matrix from both sets of primaries, white D65, clipped, eight bits.
COLOURS = [
    ((234, 51, 35), (255, 0, 0)),
    ((117, 251, 76), (3, 255, 0)),
    ((200, 100, 50), (215, 93, 31)),
    ((64, 128, 192), (32, 130, 197)),
    ((255, 0, 0), (255, 0, 0)),
    ((0, 255, 0), (0, 255, 0)),
    ((0, 0, 255), (0, 0, 255)),
    ((128, 128, 128), (128, 128, 128)),
    ((255, 255, 255), (255, 255, 255)),
]


@pytest.mark.parametrize(("stored", "shown"), COLOURS)
def test_wide_gamut(stored: tuple[int, int, int], shown: tuple[int, int, int], tmp_path: Path) -> None:
    """A Display P3 picture is converted and not merely stripped: a dull copy would show the stored numbers as sRGB."""
    source = tmp_path / "x.png"
    Image.new("RGB", (8, 8), stored).save(source, icc_profile=make_profile())
    pixel = read_upright(source, (), edge=1600).image.getpixel((4, 4))
    assert np.abs(np.subtract(pixel, shown)).max() <= 1  # type: ignore[arg-type]  # an RGB pixel


def test_wide_gamut_reaches_every_variant(tmp_path: Path) -> None:
    """Published files carry no profile, so what they hold is sRGB (CSS Color 4, section 4.1: untagged is sRGB)."""
    source = tmp_path / "x.jpg"
    Image.new("RGB", (2000, 1500), (64, 128, 192)).save(source, icc_profile=make_profile(), quality=95)
    for variant in publish(source, tmp_path).variants:
        with Image.open(variant.file) as image:
            assert "icc_profile" not in image.info
            pixel = image.convert("RGB").getpixel((100, 100))
            assert np.abs(np.subtract(pixel, (32, 130, 197))).max() <= 4  # type: ignore[arg-type]  # an RGB pixel


def make_tell_tale(kind: str, tmp_path: Path) -> Path:
    """A photo with the secret in all of its metadata, and a thumbnail of its own where the format has one."""
    source = tmp_path / f"x.{kind}"
    image = draw("AB/CD/EF", 400)
    if kind == "heic":
        pillow_heif.from_pillow(image).save(source, quality=90)
    else:
        image.save(source, icc_profile=make_profile())
    if kind != "jpg":
        return fill_metadata(source)
    image.resize((160, 240)).save(tmp_path / "thumbnail.jpg")
    return fill_metadata(source, tmp_path / "thumbnail.jpg")


# What exiftool says of a picture that holds nothing but the picture.
INNOCENT = {
    "ExifTool": {"ExifToolVersion"},
    "File": {"FileType", "FileTypeExtension", "MIMEType", "ImageWidth", "ImageHeight", "EncodingProcess",
             "BitsPerSample", "ColorComponents", "YCbCrSubSampling"},
    "JFIF": {"JFIFVersion", "ResolutionUnit", "XResolution", "YResolution"},
    "RIFF": {"VP8Version", "ImageWidth", "HorizontalScale", "ImageHeight", "VerticalScale"},
    "Composite": {"ImageSize", "Megapixels"},
}  # fmt: skip


def list_tags(path: Path) -> set[str]:
    """Every tag that exiftool finds, those of the file system left out."""
    found = exiftool(path, "-a", "-u", "-G1", "-s")
    return {tag for tag in found if tag.partition(":")[0] not in ("System", "SourceFile")}


@pytest.mark.parametrize("kind", ["jpg", "png", "webp", "heic"])
def test_no_metadata_is_published(kind: str, tmp_path: Path) -> None:
    """Place, date, names, serial number, profile, comment and thumbnail of the original are in none of the variants."""
    source = make_tell_tale(kind, tmp_path)
    original = source.read_bytes()
    before = list_tags(source)
    assert {"GPS:GPSLatitude", "ExifIFD:SerialNumber", "XMP-dc:Creator"} <= before, "the source has nothing to leak"
    assert kind != "jpg" or {"IFD1:ThumbnailImage", "File:Comment", "IPTC:Keywords"} <= before

    for variant in publish(source, tmp_path).variants:
        tags = {tuple(tag.split(":")) for tag in list_tags(variant.file)}
        assert {(group, tag) for group, tag in tags if tag not in INNOCENT.get(group, ())} == set()
        assert SECRET.encode() not in variant.file.read_bytes()
    assert source.read_bytes() == original


@pytest.mark.parametrize("value", [1, 6, 7])
@pytest.mark.parametrize("kind", ["jpg", "png"])
def test_hidden_box_is_gone(kind: str, value: int, tmp_path: Path) -> None:
    """What a box of the upright picture covers is filled in every variant, before scaling, whichever way it was stored.

    Only the covered cell is yellow; no pixel near yellow is left, not even at the edges where scaling would mix it.
    """
    looks = next(looks for number, looks, _ in ORIENTATIONS if number == value)
    rows = looks.split("/")
    row = next(n for n, letters in enumerate(rows) if "D" in letters)
    column = rows[row].index("D")
    across, down = len(rows[0]), len(rows)
    box = Box(*(Decimal(n).quantize(Decimal("0.001")) for n in (
        Decimal(column) / across - Decimal("0.02"), Decimal(row) / down - Decimal("0.02"),
        Decimal(column + 1) / across + Decimal("0.02"), Decimal(row + 1) / down + Decimal("0.02"),
    )))  # fmt: skip
    box = Box(*(min(max(side, Decimal(0)), Decimal(1)) for side in box))
    exif = Image.Exif()
    exif[0x0112] = value
    source = tmp_path / f"x.{kind}"
    draw("AB/CD/EF", 800).save(source, exif=exif)

    for variant in publish(source, tmp_path, (box,)).variants:
        with Image.open(variant.file) as image:
            pixels = np.asarray(image.convert("RGB")).astype(int)
        distance = np.abs(pixels - LETTERS["D"]).sum(axis=2)
        assert distance.min() > 120
        middle = pixels[(2 * row + 1) * image.height // (2 * down), (2 * column + 1) * image.width // (2 * across)]
        assert np.abs(middle - FILL).max() <= 6
    clear = publish(source, tmp_path)
    with Image.open(clear.variants[0].file) as image:
        assert "D" in read(image, across, down), "without the box it shows"


def test_date_taken_is_the_shot_and_not_the_edit(tmp_path: Path) -> None:
    """DateTimeOriginal (0x9003) is read; DateTime (0x0132), which programs change when they save, is not."""
    source = tmp_path / "x.jpg"
    draw("AB", 16).save(source)
    edited = ["exiftool", "-q", "-overwrite_original", "-IFD0:ModifyDate=2025:01:01 00:00:00", str(source)]
    subprocess.run(edited, check=True)
    assert exiftool(source)["ModifyDate"] == "2025:01:01 00:00:00"
    assert read_taken(source) is None
    fill_metadata(source)
    assert read_taken(source) == datetime.datetime(2024, 5, 18, 21, 4, 33)


@pytest.mark.parametrize("kind", ["png", "webp", "heic"])
def test_date_taken_of_other_formats(kind: str, tmp_path: Path) -> None:
    """The date is found wherever the format keeps its Exif."""
    assert read_taken(make_tell_tale(kind, tmp_path)) == datetime.datetime(2024, 5, 18, 21, 4, 33)


def test_quality_is_what_was_asked_for(tmp_path: Path) -> None:
    """The JPEG's tables are those of quality 80 (ITU-T T.81, Annex K, scaled as libjpeg does), progressive."""
    source = tmp_path / "x.png"
    Image.effect_noise((1000, 800), 60).convert("RGB").save(source)
    (jpeg,) = (v.file for v in publish(source, tmp_path).variants if v.format == "image/jpeg")
    reference = BytesIO()
    Image.new("RGB", (8, 8)).save(reference, "JPEG", quality=80)
    with Image.open(jpeg) as image, Image.open(reference) as wanted:
        assert image.quantization == wanted.quantization  # type: ignore[attr-defined]  # both are JPEGs
        assert image.info["progressive"]


def test_nothing_but_pictures_is_published_of_the_example(tmp_path: Path) -> None:
    """Every published picture of the example, looked into by exiftool: only what a picture must say of itself."""
    originals = sorted(path for path in (TOP / "example_project" / "photos").glob("*/*") if path.is_file())
    assert len(originals) > 10
    requests = [
        PhotoRequest(source=path, name=f"{path.parent.name}/{path.stem}", hide=(), place=Place("entries/e.md"))
        for path in originals
    ]
    photos, problems = make_photos(requests, tmp_path / "cache")
    assert not problems
    files = [variant.stored for made in photos.values() for variant in made.variants]
    assert len(files) >= 3 * len(originals)
    (tmp_path / "list").write_text("\n".join(files))
    command = ["exiftool", "-j", "-a", "-u", "-G1", "-s", "-@", str(tmp_path / "list")]
    told = json.loads(subprocess.run(command, check=True, capture_output=True).stdout)
    assert [one["SourceFile"] for one in told] == files
    found = {tag for one in told for tag in one if tag.partition(":")[0] not in ("System", "SourceFile")}
    tags = {tuple(tag.split(":")) for tag in found}
    assert {(group, tag) for group, tag in tags if tag not in INNOCENT.get(group, ())} == set()
