"""Pictures for tests, made here: letter grids, colour profiles, files with secrets in their metadata."""

from __future__ import annotations

import struct
import subprocess
import zlib
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

import numpy as np
from PIL import Image

from buildlog.photos.publish import make_photos
from buildlog.photos.recipe import PhotoRequest, PhotoSet
from buildlog.problems import Place
from buildlog.read.numbers import Box

PLACE = Place("entries/2024-05-18-pump.md", 30, 5)
BOX = Box(Decimal("0.1"), Decimal("0.1"), Decimal("0.2"), Decimal("0.2"))


def request(source: Path, name: str = "2024-05-18-pump/crack", hide: tuple[Box, ...] = ()) -> PhotoRequest:
    return PhotoRequest(source=source, name=name, hide=hide, place=PLACE)


def make_one(source: Path, cache: Path, hide: tuple[Box, ...] = ()) -> PhotoSet:
    """One photo published by itself."""
    photos, problems = make_photos([request(source, hide=hide)], cache)
    assert not problems
    return photos["2024-05-18-pump/crack"]


def save(path: Path, rows: str = "AB/CD", cell: int = 200) -> Path:
    """The letter grid as a file."""
    draw(rows, cell).save(path)
    return path


LETTERS = {
    "A": (230, 40, 40), "B": (40, 200, 60), "C": (50, 70, 220),
    "D": (230, 210, 40), "E": (210, 60, 200), "F": (40, 200, 210),
}  # fmt: skip
"Colours far apart, so that a lossy picture can still be read."


def draw(rows: str, cell: int = 1) -> Image.Image:
    """`AB/CD` as a picture of two by two cells."""
    grid = [[LETTERS[letter] for letter in row] for row in rows.split("/")]
    image = Image.fromarray(np.array(grid, dtype=np.uint8))
    return image.resize((image.width * cell, image.height * cell), Image.Resampling.NEAREST)


def read(image: Image.Image, across: int, down: int) -> str:
    """The letters nearest to the colours in the middle of each cell."""
    rgb = image.convert("RGB")
    field_places = [
        [((2 * x + 1) * rgb.width // (2 * across), (2 * y + 1) * rgb.height // (2 * down)) for x in range(across)]
        for y in range(down)
    ]
    return "/".join("".join(_name(rgb.getpixel(field_place)) for field_place in row) for row in field_places)


def _name(pixel: object) -> str:
    return min(LETTERS, key=lambda letter: float(np.abs(np.subtract(LETTERS[letter], pixel)).sum()))


# ── colour profiles ──────────────────────────────────────────────────────────────────────────────────────────────

P3 = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
"Primaries of SMPTE RP 431-2 (Digital Cinema), which Display P3 uses with the white of D65 and sRGB's curve."
D65 = (0.3127, 0.3290)
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
"The adaptation that ICC.1:2010, Annex E recommends."
D50 = np.array([0.9642, 1.0, 0.8249])
"The profile connection space's white, ICC.1:2010, section 7.2.16."


def make_profile(primaries: tuple[tuple[float, float], ...] = P3) -> bytes:
    """An ICC version 4 matrix profile (ICC.1:2010, section 8.3.3) with sRGB's curve (IEC 61966-2-1)."""
    to_xyz = np.array([_lift(xy) for xy in primaries]).T
    to_xyz = to_xyz * np.linalg.solve(to_xyz, _lift(D65))
    cone = np.diag((BRADFORD @ D50) / (BRADFORD @ _lift(D65)))
    columns = (np.linalg.inv(BRADFORD) @ cone @ BRADFORD @ to_xyz).T
    curve = b"para\0\0\0\0\0\x03\0\0" + _fixed(2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
    text = "made for tests".encode("utf-16-be")
    words = b"mluc\0\0\0\0" + struct.pack(">II2s2sII", 1, 12, b"en", b"GB", len(text), 28) + text
    tags = {b"desc": words, b"cprt": words, b"wtpt": b"XYZ \0\0\0\0" + _fixed(*D50)}
    tags |= {
        name: b"XYZ \0\0\0\0" + _fixed(*column)
        for name, column in zip((b"rXYZ", b"gXYZ", b"bXYZ"), columns, strict=True)
    }
    tags |= dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve)
    return _pack_profile(tags)


def _pack_profile(tags: Mapping[bytes, bytes]) -> bytes:
    table, data = struct.pack(">I", len(tags)), b""
    start = 128 + 4 + 12 * len(tags)
    for name, content in tags.items():
        table += struct.pack(">4sII", name, start + len(data), len(content))
        data += content + b"\0" * (-len(content) % 4)
    head = struct.pack(
        ">I4sI4s4s4s12s4s", start + len(data), b"\0" * 4, 0x04300000, b"mntr", b"RGB ", b"XYZ ", b"\0" * 12, b"acsp"
    )
    return (head + b"\0" * 28 + _fixed(*D50)).ljust(128, b"\0") + table + data


def _lift(xy: tuple[float, float]) -> np.ndarray:
    x, y = xy
    return np.array([x / y, 1.0, (1 - x - y) / y])


def _fixed(*values: float) -> bytes:
    """s15Fixed16Number, ICC.1:2010, section 4.6."""
    return b"".join(struct.pack(">i", round(float(value) * 65536)) for value in values)


# ── files ────────────────────────────────────────────────────────────────────────────────────────────────────────


def write_bare_png(path: Path, width: int, height: int) -> Path:
    """A PNG that claims a size and holds next to nothing (PNG, third edition, section 11.2)."""

    def chunk(name: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")
    )
    return path


SECRET = "Zaunkönig-4711"
"Stands in every field of a file's metadata that a camera or a program may fill."


def fill_metadata(path: Path, thumbnail: Path | None = None) -> Path:
    """Put the secret, a place and a date into every kind of metadata that the format holds (by `exiftool`)."""
    fields = [
        "Artist",
        "ExifIFD:SerialNumber",
        "OwnerName",
        "UserComment",
        "XMP-dc:Creator",
        "XMP-dc:Description",
        "ImageDescription",
    ]
    if path.suffix == ".jpg":
        fields += ["Comment", "IPTC:Keywords"]
    command = ["exiftool", "-q", "-overwrite_original", *(f"-{field}={SECRET}" for field in fields)]
    command += ["-GPSLatitude=51.50735", "-GPSLatitudeRef=N", "-GPSLongitude=0.12776", "-GPSLongitudeRef=W"]
    command += ["-DateTimeOriginal=2024:05:18 21:04:33"]
    if thumbnail:
        command.append(f"-ThumbnailImage<={thumbnail}")
    subprocess.run([*command, str(path)], check=True)
    return path
