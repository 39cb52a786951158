"""Reading originals: every kind that cameras and programs write, and one clear word for each that is broken."""

from __future__ import annotations

import io
import os
import struct
import subprocess
import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from buildlog.photos.decode import FILL, LARGEST_PIXELS, BrokenPhoto, fit, read_upright
from buildlog.read.numbers import Box
from tests.photos.pictures import draw, make_one, make_profile, read, write_bare_png

GREY = 16, 16


def grey_16_bits() -> Image.Image:
    """Left half a quarter bright, right half three quarters: 0x4000 and 0xC000 of 0xFFFF."""
    values = np.full(GREY, 0x4000, dtype=np.uint16)
    values[:, 8:] = 0xC000
    return Image.fromarray(values)


def pixel(path: Path, x: int = 4, y: int = 4) -> object:
    return read_upright(path, (), edge=1600).image.getpixel((x, y))


# ── kinds ────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_16_bit_grey_keeps_its_brightness(tmp_path: Path) -> None:
    """0x4000 is 64 of 255 and 0xC000 is 192: not all white, which clipping at 255 would make of it."""
    grey_16_bits().save(tmp_path / "x.png")
    assert pixel(tmp_path / "x.png") == (64, 64, 64)
    assert pixel(tmp_path / "x.png", x=12) == (192, 192, 192)


@pytest.mark.parametrize(
    ("mode", "colour", "shown"),
    [
        ("RGBA", (0, 0, 0, 0), (255, 255, 255)),
        ("RGBA", (200, 0, 0, 255), (200, 0, 0)),
        ("RGBA", (0, 0, 0, 51), (204, 204, 204)),  # 255 × (1 − 51/255)
        ("LA", (0, 0), (255, 255, 255)),
        ("L", 77, (77, 77, 77)),
        ("1", 255, (255, 255, 255)),
    ],
)
def test_what_shows_through_is_white(mode: str, colour: object, shown: tuple[int, ...], tmp_path: Path) -> None:
    """Alpha is laid over white, as on paper; grey and one-bit pictures become RGB."""
    Image.new(mode, (8, 8), colour).save(tmp_path / "x.png")  # type: ignore[arg-type]  # a colour of its mode
    assert pixel(tmp_path / "x.png") == shown


def test_transparent_palette_is_laid_over_white(tmp_path: Path) -> None:
    """A palette with one clear colour, as drawing programs write."""
    image = Image.new("P", (8, 8), 0)
    image.putpalette([10, 20, 30, 200, 100, 0])
    image.paste(1, (4, 0, 8, 8))
    image.save(tmp_path / "x.png", transparency=0)
    assert pixel(tmp_path / "x.png", x=1) == (255, 255, 255)
    assert pixel(tmp_path / "x.png", x=6) == (200, 100, 0)


def test_cmyk_jpeg_becomes_rgb(tmp_path: Path) -> None:
    """A four-channel JPEG, as printers' programs write: no ink is white, and cyan alone has no red."""
    for colour, shown in (((0, 0, 0, 0), (255, 255, 255)), ((255, 0, 0, 0), (0, 255, 255))):
        Image.new("CMYK", (32, 32), colour).save(tmp_path / "x.jpg", quality=100, subsampling=0)
        assert np.abs(np.subtract(pixel(tmp_path / "x.jpg"), shown)).max() <= 2  # type: ignore[arg-type]  # a pixel


def test_first_picture_of_several_is_the_photo(tmp_path: Path) -> None:
    """A phone's MPO file holds a second picture, such as a depth map, which is not published."""
    draw("AB", 64).save(tmp_path / "x.jpg", "MPO", save_all=True, append_images=[draw("CD", 64)])
    with Image.open(tmp_path / "x.jpg") as image:
        assert image.format == "MPO" and getattr(image, "n_frames", 1) == 2
    assert read(read_upright(tmp_path / "x.jpg", (), edge=1600).image, 2, 1) == "AB"


@pytest.mark.parametrize("kind", ["jpg", "jpeg", "JPG", "png", "webp", "heic", "HEIF"])
def test_every_kind_is_read(kind: str, tmp_path: Path) -> None:
    """Suffixes in both cases; HEIC as phones write it."""
    path = tmp_path / f"x.{kind}"
    if kind.lower().startswith("hei"):
        pillow_heif.from_pillow(draw("AB/CD", 64)).save(path, quality=95)
    else:
        draw("AB/CD", 64).save(path)
    found = read_upright(path, (), edge=1600)
    assert (found.width, found.height) == (128, 128)
    assert read(found.image, 2, 2) == "AB/CD"


@pytest.mark.parametrize("profile", [b"no profile at all", make_profile()[:200]], ids=["rubbish", "cut short"])
def test_unusable_profile_leaves_the_colours(profile: bytes, tmp_path: Path) -> None:
    """A profile that cannot be read is no reason to refuse the photo: it is shown as sRGB."""
    Image.new("RGB", (8, 8), (10, 200, 30)).save(tmp_path / "x.png", icc_profile=profile)
    assert pixel(tmp_path / "x.png") == (10, 200, 30)


def test_profile_for_other_channels_leaves_the_colours(tmp_path: Path) -> None:
    """An RGB profile in a grey picture does not fit, and is left aside."""
    Image.new("L", (8, 8), 99).save(tmp_path / "x.png", icc_profile=make_profile())
    assert pixel(tmp_path / "x.png") == (99, 99, 99)


# ── sizes and boxes ──────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("size", "edge", "fitted"),
    [
        ((4032, 3024), 1600, (1600, 1200)),
        ((3024, 4032), 1600, (1200, 1600)),
        ((1000, 10), 640, (640, 6)),  # 6.4
        ((5000, 1), 640, (640, 1)),  # 0.128, but never nothing
        ((639, 400), 640, (639, 400)),
    ],
)
def test_fit(size: tuple[int, int], edge: int, fitted: tuple[int, int]) -> None:
    """The long edge is bounded, the shape is kept to the nearest pixel, nothing is enlarged."""
    assert fit(size, edge) == fitted


def test_box_is_rounded_outwards(tmp_path: Path) -> None:
    """A box that touches a part of a pixel covers the whole of it: 0.21 to 0.41 of ten pixels covers 2, 3 and 4."""
    Image.new("RGB", (10, 10), "white").save(tmp_path / "x.png")
    box = Box(Decimal("0.21"), Decimal("0.3"), Decimal("0.41"), Decimal("0.4"))
    found = np.asarray(read_upright(tmp_path / "x.png", (box,), edge=1600).image)
    covered = {(int(x), int(y)) for y, x in zip(*np.nonzero((found == FILL).all(axis=2)), strict=True)}
    assert covered == {(2, 3), (3, 3), (4, 3)}


def test_box_over_everything(tmp_path: Path) -> None:
    """From 0 to 1 is the whole picture, to the last pixel."""
    Image.new("RGB", (7, 5), "white").save(tmp_path / "x.png")
    box = Box(Decimal(0), Decimal(0), Decimal(1), Decimal(1))
    assert (np.asarray(read_upright(tmp_path / "x.png", (box,), edge=1600).image) == FILL).all()


def test_box_is_filled_before_scaling(tmp_path: Path) -> None:
    """Scaled to a fifth, white beside the box stays free of the red under it, which was never averaged in."""
    image = Image.new("RGB", (1000, 1000), "white")
    image.paste("red", (300, 300, 700, 700))
    image.save(tmp_path / "x.png")
    box = Box(Decimal("0.3"), Decimal("0.3"), Decimal("0.7"), Decimal("0.7"))
    found = np.asarray(read_upright(tmp_path / "x.png", (box,), edge=200).image).astype(int)
    assert np.abs(found[:, :, 0] - found[:, :, 1]).max() == 0
    plain = np.asarray(read_upright(tmp_path / "x.png", (), edge=200).image).astype(int)
    assert np.abs(plain[:, :, 0] - plain[:, :, 1]).max() == 255


# ── broken and hostile ───────────────────────────────────────────────────────────────────────────────────────────


def jpeg() -> bytes:
    content = io.BytesIO()
    Image.effect_noise((200, 200), 80).save(content, "JPEG")
    return content.getvalue()


def png() -> bytes:
    content = io.BytesIO()
    draw("AB", 8).save(content, "PNG")
    return content.getvalue()


def claim(path: Path, width: int, height: int) -> None:
    """A JPEG whose frame header claims a size that its data does not have (ITU-T T.81, B.2.2)."""
    content = bytearray(jpeg())
    frame = content.index(b"\xff\xc0")
    content[frame + 5 : frame + 9] = height.to_bytes(2) + width.to_bytes(2)
    path.write_bytes(content)


def link_out(path: Path) -> None:
    outside = path.parent.parent / "outside.jpg"
    outside.write_bytes(jpeg())
    path.symlink_to(outside)


BROKEN: list[tuple[str, str, Callable[[Path], object], str]] = [
    ("an empty file", "x.jpg", lambda path: path.write_bytes(b""), "is empty"),
    ("text", "x.jpg", lambda path: path.write_text("hello " * 500), "is not a picture that can be read"),
    ("a page", "x.png", lambda path: path.write_text("<svg><script/></svg>"), "is not a picture that can be read"),
    ("half a JPEG", "x.jpg", lambda path: path.write_bytes(jpeg()[:6000]), "is damaged or cut short"),
    ("the head of a JPEG", "x.jpg", lambda path: path.write_bytes(jpeg()[:20]), "is (not a picture|damaged)"),
    ("half a PNG", "x.png", lambda path: path.write_bytes(png()[:60]), "is damaged or cut short"),
    ("a PNG without pixels", "x.png", lambda path: write_bare_png(path, 50, 50), "is damaged or cut short"),
    ("a PNG called JPEG", "x.jpg", lambda path: path.write_bytes(png()), "is really a PNG file"),
    ("a JPEG called HEIC", "x.heic", lambda path: path.write_bytes(jpeg()), "is really a JPEG file"),
    ("a bomb", "x.png", lambda path: write_bare_png(path, 9460, 9460), "has more than 89 million pixels"),
    ("a large bomb", "x.png", lambda path: write_bare_png(path, 13378, 13378), "has more than 89 million pixels"),
    ("a huge bomb", "x.png", lambda path: write_bare_png(path, 2**31 - 1, 2**31 - 1), "has more than 89|is damaged"),
    ("10⁹ pixels in 1 kB", "x.png", lambda path: write_bare_png(path, 50_000, 20_000), "has more than 89 million"),
    ("a JPEG of 10⁹ pixels", "x.jpg", lambda path: claim(path, 40_000, 25_000), "has more than 250 million pixels"),
    ("a drawing", "x.svg", lambda path: path.write_text("<svg/>"), "is not a kind of photo that can be used"),
    ("an animation", "x.gif", lambda path: draw("AB").save(path), "is not a kind of photo that can be used"),
    ("no file", "x.jpg", lambda path: None, "is not a file"),
    ("a folder", "x.jpg", lambda path: path.mkdir(), "is not a file"),
    ("a pipe", "x.jpg", os.mkfifo, "is not a file"),
    ("a link out of the folder", "x.jpg", link_out, "is a link that leads out of the photo folder"),
]


@pytest.mark.parametrize(("name", "make", "says"), [case[1:] for case in BROKEN], ids=[case[0] for case in BROKEN])
def test_broken_photo(name: str, make: Callable[[Path], object], says: str, tmp_path: Path) -> None:
    """One clear word on what is wrong and what to do; nothing is decoded that claims to be too large."""
    folder = tmp_path / "photos"
    folder.mkdir()
    make(folder / name)
    with pytest.raises(BrokenPhoto, match=f"^{says}") as caught:
        read_upright(folder / name, (), edge=1600)
    assert caught.value.help


def test_largest_picture_is_still_read(tmp_path: Path) -> None:
    """The bound is a quarter of a gibibyte at three bytes, 89,478,485 pixels: just below it a picture is read."""
    assert LARGEST_PIXELS == 1024**3 // 4 // 3
    Image.new("1", (9459, 9459)).save(tmp_path / "x.png")  # 89,472,681
    assert read_upright(tmp_path / "x.png", (), edge=100).image.size == (100, 100)


TELL_PEAK = "print(next(int(line.split()[1]) for line in open('/proc/self/status') if 'VmHWM' in line) // 1024)"
"Peak memory in MiB as Linux keeps it for each process (proc(5)); `ru_maxrss` would hold that of its parent, too."


def test_broken_files_take_no_gigabytes(tmp_path: Path) -> None:
    """All of the above in one process: half a gigabyte is never held, whatever a file claims."""
    folder = tmp_path / "photos"
    folder.mkdir()
    for number, (_, name, make, _) in enumerate(BROKEN):
        if make is not os.mkfifo:
            make(folder / f"{number}{Path(name).suffix}")
    claim(folder / "more.jpg", 15_000, 16_000)  # shown as far as it goes, as browsers do
    code = (
        "import sys; from pathlib import Path; from buildlog.photos.decode import BrokenPhoto, read_upright\n"
        "for path in sorted(Path(sys.argv[1]).iterdir()):\n"
        "    try: read_upright(path, (), edge=1600)\n"
        "    except BrokenPhoto: pass\n" + TELL_PEAK
    )
    assert run_alone(code, folder) < 512


def run_alone(code: str, path: Path) -> int:
    """The number that a fresh process prints, and nothing else."""
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)], check=True, capture_output=True, cwd=Path(__file__).parents[2]
    )
    assert done.stderr == b""
    return int(done.stdout)


@pytest.mark.parametrize("size", [(12_000, 9_000), (60_000, 700)], ids=["108 million pixels", "60,000 wide"])
def test_huge_jpeg_is_read_in_little_memory(size: tuple[int, int], tmp_path: Path) -> None:
    """A phone of 108 megapixels, a panorama: decoded at an eighth or a quarter, in a quarter of a gigabyte at most."""
    image = Image.new("L", size, 200)
    image.paste(20, (0, 0, size[0] // 2, size[1]))
    image.save(tmp_path / "x.jpg", quality=70)
    del image
    code = (
        "import sys; from pathlib import Path; from buildlog.photos.decode import read_upright\n"
        "found = read_upright(Path(sys.argv[1]), (), edge=1600)\n"
        f"assert (found.width, found.height) == {size} and found.image.size[0] == 1600\n"
        "left, right = (found.image.getpixel((x, 5))[0] for x in (100, 1500))\n"
        "assert abs(left - 20) < 3 and abs(right - 200) < 3, (left, right)\n" + TELL_PEAK
    )
    assert run_alone(code, tmp_path / "x.jpg") < 256


def test_wide_png_is_read(tmp_path: Path) -> None:
    """60,000 pixels wide, which is more than most encoders take: the variants are small, and so is the height."""
    Image.new("L", (60_000, 60), 99).save(tmp_path / "x.png")
    assert read_upright(tmp_path / "x.png", (), edge=1600).image.size == (1600, 2)  # 60 × 1600 ÷ 60,000 = 1.6


@pytest.mark.parametrize("kind", ["webp", "png"])
def test_first_frame_of_an_animation_is_the_photo(kind: str, tmp_path: Path) -> None:
    """What moves is published as it begins."""
    path = tmp_path / f"x.{kind}"
    draw("AB", 64).save(path, save_all=True, append_images=[draw("CD", 64), draw("EF", 64)], duration=100)
    with Image.open(path) as image:
        assert getattr(image, "n_frames", 1) == 3
    assert read(read_upright(path, (), edge=1600).image, 2, 1) == "AB"


@pytest.mark.parametrize(
    "exif",
    [
        b"",
        b"Exif\0\0",
        b"Exif\0\0rubbish",
        b"Exif\0\0MM\0*\0\0\0\x08\xff\xff" + b"\xff" * 40,
        b"Exif\0\0II*\0\xff\xff\xff\x7f",
    ],
    ids=["empty", "nothing in it", "rubbish", "endless directory", "directory beyond the end"],
)
def test_damaged_exif_leaves_the_picture(exif: bytes, tmp_path: Path) -> None:
    """What cannot be read of the metadata is passed over, without a word on the terminal; the picture is whole."""
    draw("AB/CD", 64).save(tmp_path / "x.jpg", exif=exif)
    code = (
        "import sys; from pathlib import Path; from tests.photos.pictures import make_one; "
        "path = Path(sys.argv[1]); print(make_one(path, path.parent / 'cache').width)"
    )
    assert run_alone(code, tmp_path / "x.jpg") == 128


# type (TIFF 6.0, section 2), count, value as it lies in the file
LIES = {
    "0": (3, 1, b"\0\0"),
    "9": (3, 1, b"\x09\0"),
    "65535": (3, 1, b"\xff\xff"),
    "text": (2, 2, b"6\0"),
    "float": (11, 1, b"\0\0\xc0\x40"),
    "none": (3, 0, b"\x06\0"),
    "no type": (77, 1, b"\x06\0"),
}


@pytest.mark.parametrize("lie", LIES)
def test_lying_orientation(lie: str, tmp_path: Path) -> None:
    """An orientation that is none of the eight, or of another shape than Exif's one short number, turns nothing."""
    kind, count, value = LIES[lie]
    entry = struct.pack("<HHI4s", 0x0112, kind, count, value.ljust(4, b"\0"))
    exif = b"Exif\0\0II*\0\x08\0\0\0\x01\0" + entry + bytes(4)
    draw("AB/CD", 64).save(tmp_path / "x.jpg", exif=exif)
    for variant in make_one(tmp_path / "x.jpg", tmp_path / "cache").variants:
        with Image.open(variant.file) as image:
            assert read(image, 2, 2) == "AB/CD"


def test_damaged_bytes_only_ever_make_a_broken_photo(tmp_path: Path) -> None:
    """A byte changed anywhere gives a picture or a `BrokenPhoto`, and nothing else."""
    for kind, content in (("jpg", jpeg()), ("png", png())):
        path = tmp_path / f"x.{kind}"
        for at in range(0, len(content), max(1, len(content) // 120)):
            path.write_bytes(content[:at] + bytes([content[at] ^ 0x55]) + content[at + 1 :])
            try:
                read_upright(path, (), edge=64)
            except BrokenPhoto as broken:
                assert broken.message


def test_heic_needs_no_other_import_and_nothing_else_loads_its_decoder(tmp_path: Path) -> None:
    """Whatever is opened first: HEIC is read, and its decoder is loaded for nothing but HEIC."""
    pillow_heif.from_pillow(draw("AB/CD", 64)).save(tmp_path / "x.heic", quality=95)
    draw("AB/CD", 64).save(tmp_path / "x.jpg")
    code = (
        "import sys; from pathlib import Path; from buildlog.photos.decode import read_upright\n"
        "for name, loaded in (('x.jpg', False), ('x.heic', True)):\n"
        f"    assert read_upright(Path({str(tmp_path)!r}, name), (), edge=64).width == 128\n"
        "    assert ('pillow_heif' in sys.modules) is loaded, name\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=Path(__file__).parents[2])
