"""Pictures in a bag against the photos they are published for: the same, alike by another encoder, or swapped."""

from __future__ import annotations

import io
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from buildlog.handover import remake_pictures
from buildlog.handover.findings import Finding, list_checked
from buildlog.handover.manifest import Picture
from buildlog.handover.recompute import recheck
from buildlog.handover.verify import verify_bag
from tests.record.bags import find, hand, load, pack_again, verify, write_log, write_zip

Files = dict[str, bytes]
NAME = "photos/2024-02-01-pump/"
SETTINGS = b"machine: {name: Tom}\nmoney: {currency: GBP}\n"
ENTRY = b"""---
title: Pump
date: 2024-02-01
photos: [{file: crack.jpg, says: The crack}, {file: whole.png, says: It whole}]
---
Off it came.
"""


def draw(seed: int, size: tuple[int, int] = (1000, 750)) -> Image.Image:
    """A picture with soft ground and hard edges, another one for each seed."""
    image = Image.effect_mandelbrot(size, (-1.2 - seed / 9, -0.6, -0.6 + seed / 9, 0.6), 60).convert("RGB")
    ImageDraw.Draw(image).line((80 * seed, 0, size[0] - 60, size[1]), fill=(250, 210 - 60 * seed, 40), width=14)
    return image


def save(image: Image.Image, format: str, **options: object) -> bytes:
    file = io.BytesIO()
    image.save(file, format, **options)  # type: ignore[arg-type]  # what Pillow takes
    return file.getvalue()


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    files = {
        "log.yaml": SETTINGS,
        "entries/2024-02-01-pump.md": ENTRY,
        f"{NAME}crack.jpg": save(draw(1), "JPEG", quality=92),
        f"{NAME}whole.png": save(draw(2), "PNG"),
    }
    return write_log(tmp_path_factory.mktemp("pictures") / "log", files)


@pytest.fixture(scope="module")
def sound(log: Path) -> Files:
    hand(log, log.parent / "bag")
    return load(log.parent / "bag")


def list_pictures(files: Files, like: str = "") -> list[str]:
    return sorted(name for name in files if name.startswith(f"data/site/{NAME}") and name.endswith(like))


def judge(files: Files, folder: Path) -> Finding:
    return find(verify(write_zip(folder / "bag.zip", pack_again(files))), "pages")


def reencode(name: str, change: Callable[[Image.Image], Image.Image], **options: object) -> Callable[[Files], Files]:
    """A picture decoded, changed and encoded again."""

    def do(files: Files) -> Files:
        with Image.open(io.BytesIO(files[name])) as image:
            return files | {name: save(change(image.convert("RGB")), image.format or "", **options)}

    return do


def test_pictures_are_what_their_photos_make(sound: Files, tmp_path: Path) -> None:
    """Six pictures of two photos (1000 × 750: three sizes in two formats), byte for byte."""
    finding = judge(sound, tmp_path)
    assert finding.state == "holds"
    count = len(list_pictures(sound))
    assert count == 8
    assert finding.says.endswith(
        f"files are exactly what the entries make; {count} pictures are byte for byte what the photos make"
    )


@pytest.mark.parametrize("suffix", [".webp", ".jpg"])
def test_another_encoder_makes_other_bytes_of_the_same_picture(sound: Files, tmp_path: Path, suffix: str) -> None:
    """Encoded anew at another quality, a picture is alike and holds, and it is told that it was compared so."""
    name = list_pictures(sound, suffix)[0]
    finding = judge(reencode(name, lambda image: image, quality=60)(sound), tmp_path)
    assert finding.state == "holds"
    assert "1 looks the same as what the photos make, with another encoder" in finding.says


def turn(image: Image.Image) -> Image.Image:
    return image.transpose(Image.Transpose.ROTATE_180)


def hide_crack(image: Image.Image) -> Image.Image:
    """A part of the line painted over with what lies beside it."""
    box = (image.width // 2, image.height // 2 - 24, image.width // 2 + 60, image.height // 2 + 36)
    image.paste(image.crop((box[0], box[1] - 90, box[2], box[3] - 90)), box)
    return image


@pytest.mark.parametrize("index", range(8))
@pytest.mark.parametrize("claimed", [False, True], ids=["this program", "another program claimed"])
def test_a_swapped_picture_fails(sound: Files, tmp_path: Path, index: int, claimed: bool) -> None:
    """Whichever picture is exchanged for one of the same size and kind, it is named, whatever program is claimed."""
    name = list_pictures(sound)[index]
    files = reencode(name, lambda image: draw(5, image.size), quality=80)(sound)
    if claimed:
        files = files | {"data/handover.json": claim(files["data/handover.json"])}
    finding = judge(files, tmp_path)
    assert finding.state == "fails"
    assert [(flaw.rule, flaw.file) for flaw in finding.flaws] == [("picture-differs", name)]


def claim(raw: bytes) -> bytes:
    from buildlog.handover.handed_log import name_maker

    return raw.replace(name_maker().encode(), b"99.0")


@pytest.mark.parametrize("change", [turn, hide_crack])
def test_a_touched_up_picture_fails(sound: Files, tmp_path: Path, change: Callable[[Image.Image], Image.Image]) -> None:
    """The photo turned round, a crack painted over: what encoders do to a picture it is not."""
    name = list_pictures(sound, ".webp")[0]
    finding = judge(reencode(name, change, quality=80)(sound), tmp_path)
    assert [(flaw.rule, flaw.file) for flaw in finding.flaws] == [("picture-differs", name)]


def test_what_is_no_picture_fails(sound: Files, tmp_path: Path) -> None:
    """Other bytes, and a picture of another size than the list tells."""
    name = list_pictures(sound)[0]
    for content in (b"RIFF no picture", save(draw(1, (90, 60)), "WEBP")):
        finding = judge(sound | {name: content}, tmp_path)
        assert [(flaw.rule, flaw.file) for flaw in finding.flaws] == [("picture-unreadable", name)]


def test_a_photo_left_out_of_the_list_is_told(sound: Files, tmp_path: Path) -> None:
    """A picture that is taken off the list and out of the pages, and one that is put in: both are told."""
    from buildlog.record.hashing import read_canonical, write_canonical

    listed = read_canonical(sound["data/handover.json"][:-1])
    listed["pictures"]["2024-02-01-pump/other.jpg"] = listed["pictures"].pop("2024-02-01-pump/crack.jpg")
    finding = judge(sound | {"data/handover.json": write_canonical(listed) + b"\n"}, tmp_path)
    told = [flaw.message for flaw in finding.flaws if flaw.rule == "pictures-wrong"]
    assert told == [
        "it lists no picture of `2024-02-01-pump/crack.jpg`, a photo that is here and that an entry shows",
        "it lists pictures of `2024-02-01-pump/other.jpg`, which no entry shows",
    ]


def test_pictures_of_a_withheld_photo_cannot_be_checked(log: Path, tmp_path: Path) -> None:
    """Nothing shows what they were made of; the others are compared all the same."""
    hand(log, tmp_path / "bag", f"{NAME}crack.jpg")
    finding = find(verify(tmp_path / "bag"), "pages")
    assert finding.state == "cannot be checked"
    assert "the pictures of 1 photo that is withheld or missing were not compared" in finding.says
    assert "4 pictures are byte for byte what the photos make" in finding.says


def test_more_photos_than_are_made_again_are_told(
    sound: Files, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beyond the bound nothing is said to hold: a photo counts 0.75 + 3 × 2.3 million, so one fits."""
    monkeypatch.setattr(remake_pictures, "MOST_WORK", 9_000_000)
    finding = judge(sound, tmp_path)
    assert finding.state == "cannot be checked"
    assert "1 photo was left for lack of time (`--no-time-limit` compares it too)" in finding.says
    assert [*list_checked([finding])] == [
        ("holds", "The pages show what the owner wrote, and each picture that was compared shows its photo"),
        (
            "cannot be checked",
            "Not checked here: the pictures that were too many or too large. The details say what can check it",
        ),
    ]


def test_without_a_time_limit_all_are_compared(sound: Files, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same bag, and the same bound: whoever gives it the time leaves nothing open."""
    monkeypatch.setattr(remake_pictures, "MOST_WORK", 9_000_000)
    path = write_zip(tmp_path / "bag.zip", sound)
    states = {
        unhurried: find(verify_bag(path, partial(recheck, unhurried=unhurried)), "pages").state
        for unhurried in (False, True)
    }
    assert states == {False: "cannot be checked", True: "holds"}


def test_a_photo_that_cannot_be_decoded_fails(sound: Files, tmp_path: Path) -> None:
    """No log with one is handed over; the decoder's own words are not handed on."""
    name = f"data/log/{NAME}crack.jpg"
    finding = judge(sound | {name: sound[name][:2000]}, tmp_path)
    assert finding.state == "fails"
    assert ("photo-unreadable", name) in [(flaw.rule, flaw.file) for flaw in finding.flaws]
    assert "Error" not in str(finding)


def test_a_list_that_names_one_picture_over_and_over_is_bounded(
    sound: Files, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each naming counts, whatever size it tells of: a short list cannot make for long work."""
    from buildlog.record.hashing import read_canonical, write_canonical

    listed = read_canonical(sound["data/handover.json"][:-1])
    variants = listed["pictures"]["2024-02-01-pump/crack.jpg"]["variants"]
    variants[:] = [[variants[0][0], 1, 1, variants[0][3]]] * 50_000 + variants
    compared: list[tuple[object, Picture, object]] = []
    monkeypatch.setattr(remake_pictures, "_compare", lambda *given: compared.append(given) or ("same", ""))
    finding = judge(sound | {"data/handover.json": write_canonical(listed) + b"\n"}, tmp_path)
    assert len(compared) < 10
    assert finding.state != "holds"
