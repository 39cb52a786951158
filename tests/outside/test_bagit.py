"""Bags by RFC 8493: judged by the reference library `bagit`, by `sha256sum`, and by the worked bag of the standard."""

from __future__ import annotations

import datetime
import subprocess
import zipfile
from pathlib import Path

import bagit
import pytest

from buildlog.handover.bag import write_bag
from tests.record.bags import hand, write_sealed

pytestmark = pytest.mark.outside

SUMS = (
    "sha256sum --quiet --strict -c tagmanifest-sha256.txt",
    "sha256sum --quiet --strict -c manifest-sha256.txt",
)


@pytest.fixture(scope="module")
def handed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small sealed log, handed over as a folder."""
    folder = tmp_path_factory.mktemp("handed")
    hand(write_sealed(folder / "log"), folder / "bag", "papers/loan.pdf")
    return folder / "bag"


def test_the_reference_library_finds_the_bag_valid(handed: Path) -> None:
    """`bagit` 1.9: complete, every checksum right, version 1.0 (RFC 8493, section 3)."""
    bag = bagit.Bag(str(handed))
    assert bag.validate()
    assert bag.version_info == (1, 0)
    assert bag.info["Bagging-Date"] == "2024-11-30"
    assert sorted(bag.algorithms) == ["sha256"]


def test_the_reference_library_finds_an_unpacked_zip_valid(handed: Path, tmp_path: Path) -> None:
    """RFC 8493 says nothing of zips but that one folder holds the bag; it is named after the machine and the day."""
    hand(write_sealed(tmp_path / "log"), tmp_path / "bag.zip")
    with zipfile.ZipFile(tmp_path / "bag.zip") as archive:
        assert archive.testzip() is None
        archive.extractall(tmp_path / "out")
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["Old-Tom-2024-11-30"]
    assert bagit.Bag(str(tmp_path / "out/Old-Tom-2024-11-30")).validate()


@pytest.mark.parametrize("command", SUMS)
def test_sha256sum_passes(handed: Path, command: str) -> None:
    """GNU coreutils read a manifest with two spaces as their own: silence and exit code 0."""
    done = subprocess.run(command, shell=True, cwd=handed, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_the_worked_bag(tmp_path: Path) -> None:
    """6 + 0 + 5 octets in 3 files: Payload-Oxum 11.3; the sum as `sha256sum` prints it (coreutils 9.1)."""
    with write_bag(tmp_path / "bag", top="bag", day=datetime.date(2024, 11, 30), info={}) as bag:
        for name, data in (("a.txt", b"hello\n"), ("empty.bin", b""), ("photos/cafe.txt", b"12345")):
            bag.add(name, data)
    read = bagit.Bag(str(tmp_path / "bag"))
    assert read.validate()
    assert read.info["Payload-Oxum"] == "11.3"
    assert read.entries["data/a.txt"] == {"sha256": "5891b5b522d5df086d0ff0b110fbd9d21bb4fc7163af34d08286a2e846f6be03"}
    # of no bytes, FIPS 180-4
    assert read.entries["data/empty.bin"]["sha256"].startswith("e3b0c44298fc1c149afbf4c8996fb92427ae41e4")


@pytest.mark.parametrize("change", ["append", "edit", "add", "remove"])
def test_the_reference_library_would_find_a_change(handed: Path, tmp_path: Path, change: str) -> None:
    """That it finds our bags valid means something: it does not find these."""
    subprocess.run(["cp", "-r", str(handed), str(tmp_path / "bag")], check=True)
    target = tmp_path / "bag/data/log/log.yaml"
    data = target.read_bytes()
    if change == "remove":
        target.unlink()
    elif change == "add":
        target.with_name("more.yaml").write_bytes(b"more")
    else:
        target.write_bytes(data + b"x" if change == "append" else data[:-1] + b" ")
    assert not bagit.Bag(str(tmp_path / "bag")).is_valid()
