"""`check` says of each photo what `publish` would refuse it for, without making anything."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pillow_heif
import pytest
from PIL import Image

from buildlog.photos.publish import find_broken, make_photos
from buildlog.photos.recipe import PhotoRequest
from tests.photos.pictures import request, save, write_bare_png
from tests.test_cli import DAY, make_log, run

pillow_heif.register_heif_opener()  # the program does so itself, but only once it meets such a file


def cut_short(path: Path) -> None:
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def save_as(kind: str, **options: object) -> Callable[[Path], None]:
    def write(path: Path) -> None:
        Image.radial_gradient("L").resize((900, 700)).convert("RGB").save(path, kind, **options)

    return write


def save_cut_short(kind: str, **options: object) -> Callable[[Path], None]:
    def write(path: Path) -> None:
        save_as(kind, **options)(path)
        cut_short(path)

    return write


def link_out(path: Path) -> None:
    path.symlink_to(save(path.parent.parent / "elsewhere.png"))


BROKEN: dict[str, tuple[str, Callable[[Path], object]]] = {
    "empty": ("a.jpg", Path.touch),
    "a text": ("a.jpg", lambda path: path.write_text("no picture")),
    "a film": ("a.mov", lambda path: path.write_bytes(b"\0\0\0\x14ftypqt  ")),
    "another format": ("a.jpg", save_as("PNG")),
    "a JPEG cut short": ("a.jpg", save_cut_short("JPEG")),
    "a progressive JPEG cut short": ("a.jpg", save_cut_short("JPEG", progressive=True)),
    "a PNG cut short": ("a.png", save_cut_short("PNG")),
    "a WebP cut short": ("a.webp", save_cut_short("WEBP", lossless=True)),
    "a HEIC cut short": ("a.heic", save_cut_short("HEIF")),
    "too many pixels": ("a.png", lambda path: write_bare_png(path, 40_000, 40_000)),
    "a link out of the folder": ("a.png", link_out),
    "a folder": ("a.jpg", Path.mkdir),
}
SOUND: dict[str, tuple[str, Callable[[Path], object]]] = {
    "a JPEG": ("a.jpg", save_as("JPEG")),
    "a progressive JPEG": ("a.jpg", save_as("JPEG", progressive=True)),
    "a PNG": ("a.png", save_as("PNG")),
    "a WebP": ("a.webp", save_as("WEBP")),
    "a HEIC": ("a.heic", save_as("HEIF")),
    "one pixel": ("a.png", lambda path: Image.new("RGB", (1, 1)).save(path)),
}


def ask(folder: Path, name: str, make: Callable[[Path], object]) -> PhotoRequest:
    folder.mkdir()
    make(folder / name)
    return request(folder / name)


@pytest.mark.parametrize("kind", BROKEN | SOUND)
def test_check_says_what_publishing_would(tmp_path: Path, kind: str) -> None:
    """The same rule, place and remedy for each photo that would be refused; nothing for one that would not."""
    wanted = ask(tmp_path / "photos", *(BROKEN | SOUND)[kind])
    found = list(find_broken([wanted], tmp_path / "never"))
    published = make_photos([wanted], tmp_path / "cache")[1]
    assert [(p.rule, p.place, p.help) for p in found] == [(p.rule, p.place, p.help) for p in published]
    assert bool(found) == (kind in BROKEN)
    assert not (tmp_path / "never").exists(), "nothing is made for a look"


def test_what_was_made_before_is_not_decoded_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A photo whose pictures are kept is known to be whole; one that was changed since is looked at."""
    monkeypatch.setattr("buildlog.photos.index.SETTLED_NS", 0)  # as if the file had lain there for a while
    path = save(tmp_path / "a.png")
    os.utime(path, (0, 0))
    make_photos([request(path)], tmp_path / "cache")
    seen: list[Path] = []
    monkeypatch.setattr("buildlog.photos.decode.look_through", seen.append)
    assert list(find_broken([request(path)], tmp_path / "cache")) == []
    assert seen == []
    save(path, "AA/BB")
    assert list(find_broken([request(path)], tmp_path / "cache")) == []
    assert seen == [path]


def test_check_and_publish_end_alike(tmp_path: Path) -> None:
    """On the command line: the same error from both, at the photo in its entry, and no site."""
    head = "---\ndate: 2024-05-18\ntitle: T\nphotos:\n  - {file: a.jpg, says: A}\n  - {file: b.mov, says: B}\n---\n"
    log = make_log(tmp_path / "log", {"2024-05-18-t.md": head})
    (log / "photos/2024-05-18-t").mkdir(parents=True)
    for name in ("a.jpg", "b.mov"):
        (log / "photos/2024-05-18-t" / name).touch()
    checked, published = run("check", log, "--as-of", DAY), run("publish", log, "--as-of", DAY)
    assert checked.exit_code == published.exit_code == 1
    assert checked.output.count("[broken-photo]") == 2
    assert checked.output == published.output.replace("open ", "")
    assert not (log / "site").exists()
    shutil.rmtree(log / "photos")
    assert run("check", log, "--as-of", DAY).exit_code == 0, "a picture that is not there is a warning"
