"""A bag is a stranger's: whatever a folder or zip may hold, one clear refusal, within bounds, and nothing written."""

from __future__ import annotations

import hashlib
import io
import os
import struct
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.handover import unpack, zip_layout
from buildlog.handover.hashed_bag import HashedBag, read_through
from buildlog.handover.unpack import Refused, open_bag, tame
from tests.record.bags import load, states, verify, write_zip

SOUND = {"bagit.txt": b"BagIt-Version: 1.0\n", "data/a.txt": b"hello\n"}
NAMES = [
    "../a", "a/../../b", "/etc/a", "C:/a", "C:\\a", "..\\a", "a\\b", "data/a:b", "data/CON", "data/aux.txt",
    "data/lpt1", "data/a ", "data/a.", "data/a\x00b", "data/a\nb", "data/é", "data/\u202ex", "data//a", "data/./a",
    "data/*", "~/a b", "data/" + "x" * 300, "/".join("a" * 30),
]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_a_name_that_leaves_or_means_two_things_is_refused(tmp_path: Path, name: str) -> None:
    """Path escapes, drive letters, devices, control characters, whatever is no plain name: by name, not by luck."""
    path = tmp_path / "bag.zip"
    with zipfile.ZipFile(path, "w") as archive:
        info = zipfile.ZipInfo("x")
        info.filename = f"bag/{name}"  # set here, as the constructor mends some names
        archive.writestr(info, b"x")
    assert refuse(path) in ("name-unsafe", "name-too-long")


def refuse(path: Path) -> str:
    """The rule by which a bag is refused."""
    with pytest.raises(Refused) as caught, open_bag(path):
        pass
    assert caught.value.message
    assert caught.value.file.isprintable()
    return caught.value.rule


@pytest.mark.parametrize("names", [["data/a", "data/A"], ["data/a", "data/a"], ["DATA/a", "data/a"]])
def test_names_that_are_one_file_somewhere_are_refused(tmp_path: Path, names: list[str]) -> None:
    """RFC 8493, section 6.1.1: names that differ only in case; and one name twice, of which readers see either."""
    path = tmp_path / "bag.zip"
    with pytest.warns(UserWarning) if len({*names}) == 1 else open(os.devnull), zipfile.ZipFile(path, "w") as archive:
        for name in names:
            archive.writestr(f"bag/{name}", name)
    assert refuse(path) == "names-collide"


def test_links_and_devices_are_refused(tmp_path: Path) -> None:
    """A link in a folder, a pipe in a folder, a link in a zip: none is opened."""
    for make in (lambda at: at.symlink_to("/etc/passwd"), lambda at: at.symlink_to("."), os.mkfifo):
        folder = tmp_path / f"bag{len(list(tmp_path.iterdir()))}"
        (folder / "data").mkdir(parents=True)
        make(folder / "data/a")
        assert refuse(folder) == "not-a-file"
    for mode in (0o120777, 0o010644, 0o060644, 0o040755):
        info = zipfile.ZipInfo("bag/data/a")
        info.external_attr = mode << 16
        with zipfile.ZipFile(tmp_path / "bag.zip", "w") as archive:
            archive.writestr(info, "/etc/passwd")
        assert refuse(tmp_path / "bag.zip") == "not-a-file"


def test_a_folder_member_that_holds_bytes_is_refused(tmp_path: Path) -> None:
    """A name that ends in `/` is a folder for one reader and a file for another."""
    info = zipfile.ZipInfo("bag/data/")
    with zipfile.ZipFile(tmp_path / "bag.zip", "w") as archive:
        archive.writestr(info, b"hidden")
    assert refuse(tmp_path / "bag.zip") == "zip-member"


@pytest.mark.parametrize("kind", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_ways_of_packing_that_are_not_read(tmp_path: Path, kind: int) -> None:
    """Stored and deflated are what general tools write."""
    with zipfile.ZipFile(tmp_path / "bag.zip", "w", kind) as archive:
        archive.writestr("bag/data/a", b"x" * 100)
    assert refuse(tmp_path / "bag.zip") == "zip-member"


def test_an_encrypted_member_is_refused(tmp_path: Path) -> None:
    """Bit 0 of the general purpose flags (APPNOTE 4.4.4)."""
    data = bytearray(write_zip(tmp_path / "bag.zip", SOUND).read_bytes())
    data[data.index(b"PK\1\2") + 8] |= 1
    (tmp_path / "bag.zip").write_bytes(data)
    assert refuse(tmp_path / "bag.zip") == "zip-member"


def test_a_bomb_is_refused_before_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """64 megabytes of zeros pack to 64 kilobytes, a thousandth; refused by what it says of itself, and none is read."""
    path = tmp_path / "bag.zip"
    with (
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive,
        archive.open("bag/data/a", "w", force_zip64=True) as file,
    ):
        for _ in range(64):
            file.write(bytes(1 << 20))
    assert path.stat().st_size < 70_000
    monkeypatch.setattr(zipfile.ZipFile, "open", lambda *_, **__: pytest.fail("a file of it is read"))
    assert refuse(path) == "zip-bomb"


def test_a_member_gives_no_more_than_it_declares(tmp_path: Path) -> None:
    """A zip that says 10 bytes of what are ten million, in its list and in its own header: checksums differ."""
    path = tmp_path / "bag.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("bag/data/a", bytes(10_000_000))
    data = bytearray(path.read_bytes())
    at = data.index(b"PK\1\2")
    data[at + 24 : at + 28] = data[22:26] = struct.pack("<L", 10)
    path.write_bytes(data)
    assert read_through(path).damaged["data/a"].rule == "unreadable"


def test_members_that_share_bytes_are_refused(tmp_path: Path) -> None:
    """How 46 megabytes once became 4.5 petabytes without any high ratio (Fifield 2019): here two names, one file."""
    data = bytearray(write_zip(tmp_path / "bag.zip", {"data/a": b"x" * 1000, "data/b": b"x" * 1000}).read_bytes())
    second = data.rindex(b"PK\1\2")
    data[second + 42 : second + 46] = struct.pack("<L", 0)
    (tmp_path / "bag.zip").write_bytes(data)
    assert refuse(tmp_path / "bag.zip") == "zip-overlap"


@pytest.mark.parametrize("tail", [b"x", b"PK\5\6" + bytes(18)])
def test_nothing_may_stand_behind_the_end(tmp_path: Path, tail: bytes) -> None:
    """What is glued behind a zip is read by one reader and not by another; an empty zip behind it hides all of it."""
    path = write_zip(tmp_path / "bag.zip", SOUND)
    path.write_bytes(path.read_bytes() + tail)
    try:
        with open_bag(path) as bag:
            assert bag.sizes == {}
    except Refused as why:
        assert why.rule in ("zip-end", "zip-gap")


def test_a_comment_is_refused(tmp_path: Path) -> None:
    """A comment can hold a second end."""
    with zipfile.ZipFile(tmp_path / "bag.zip", "w") as archive:
        archive.comment = b"hello"
    assert refuse(tmp_path / "bag.zip") == "zip-end"
    path = write_zip(tmp_path / "other.zip", SOUND)
    path.write_bytes(path.read_bytes()[:-2] + b"\5\0")  # a comment that is promised and not there
    assert refuse(path) == "zip-end"


def test_a_directory_that_is_too_large_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Millions of empty members would fill the memory before anything is known: the list's size comes first."""
    path = write_zip(tmp_path / "bag.zip", {f"data/{n}": b"" for n in range(50)})
    monkeypatch.setattr(zip_layout, "LARGEST_DIRECTORY", 1000)
    assert refuse(path) == "too-many-files"


def test_a_hundred_thousand_files_give_one_verdict(tmp_path: Path) -> None:
    """In bounded memory, in a process of its own, and not all of them are named: 300 bytes of names and sums a file."""
    path = tmp_path / "bag.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for n in range(100_000):
            archive.writestr(f"bag/data/{n}", b"")
    bound = "import resource; resource.setrlimit(resource.RLIMIT_AS, (1 << 30, 1 << 30))"
    command = [sys.executable, "-c", f"{bound}; from buildlog.cli import main; main()", "verify", str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (3, "")
    assert len(done.stdout) < 6_000
    assert "100001 things do not hold, of which 5 are listed" in done.stdout


def test_too_many_files_are_not_looked_at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a zip and in a folder, and too many folders as well."""
    monkeypatch.setattr(unpack, "MOST_FILES", 10)
    assert refuse(write_zip(tmp_path / "bag.zip", {f"data/{n}": b"" for n in range(11)})) == "too-many-files"
    for n in range(11):
        (tmp_path / f"many/data/{n}").mkdir(parents=True)
    monkeypatch.setattr(unpack, "MOST_FOLDERS", 10)
    assert refuse(tmp_path / "many") == "too-many-files"


def test_a_file_is_read_up_to_a_bound(tmp_path: Path) -> None:
    """A gigabyte of JSON is refused by its size."""
    bag = read_through(write_zip(tmp_path / "bag.zip", SOUND))
    assert bag.read("data/a.txt", 6) == b"hello\n"
    with pytest.raises(Refused) as caught:
        bag.read("data/a.txt", 5)
    assert caught.value.rule == "too-large"


def test_a_file_that_was_exchanged_for_a_link_is_not_read(tmp_path: Path) -> None:
    """Between looking and reading somebody may act."""
    (tmp_path / "bag/data").mkdir(parents=True)
    (tmp_path / "bag/data/a").write_text("x")
    with open_bag(tmp_path / "bag") as bag:
        (tmp_path / "bag/data/a").unlink()
        (tmp_path / "bag/data/a").symlink_to("/etc/passwd")
        with pytest.raises(Refused):
            bag.open("data/a")


def test_a_zip_is_read_with_its_folder_or_without(tmp_path: Path) -> None:
    """Whoever packs a bag again may leave the folder out; two folders are no bag."""
    for top in ("bag/", ""):
        with open_bag(write_zip(tmp_path / "bag.zip", SOUND, top)) as bag:
            assert bag.sizes.keys() == SOUND.keys()
    assert refuse(write_zip(tmp_path / "bag.zip", {"a/x": b"", "b/y": b""}, "")) == "no-bag"


@given(st.binary(max_size=300))
def test_any_bytes_at_all_are_refused(data: bytes) -> None:
    """No bytes make the reader raise anything but `Refused`."""
    refuse_bytes(data)


@given(st.lists(st.tuples(st.integers(0, 10_000), st.integers(0, 255)), min_size=1, max_size=6))
def test_a_damaged_zip_is_refused_or_read(field_places: list[tuple[int, int]]) -> None:
    """A sound zip with some bytes changed: every file is read, or refused, and nothing else is raised."""
    data = bytearray(ZIP)
    for at, byte in field_places:
        data[at % len(data)] = byte
    refuse_bytes(bytes(data))


def make_zip() -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in SOUND.items():
            archive.writestr(f"bag/{name}", content * 20)
    return file.getvalue()


ZIP = make_zip()


def refuse_bytes(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bag.zip"
        path.write_bytes(data)
        try:
            read_all(read_through(path))
        except Refused as why:
            assert why.message


def read_all(bag: HashedBag) -> None:
    """As it was kept nowhere, each file is read again where it lies."""
    for name in bag.sizes:
        try:
            content = bag.read(name, 1000)
        except Refused as why:
            assert why.file == name
        else:
            assert hashlib.sha256(content).hexdigest() == bag.digests[name].sha256


def test_a_refused_bag_gives_twelve_answers(tmp_path: Path) -> None:
    """One thing fails, and is named; all else cannot be checked."""
    (tmp_path / "bag").mkdir()
    (tmp_path / "bag/link").symlink_to("/etc/passwd")
    report = verify(tmp_path / "bag")
    assert [*states(report).values()] == ["fails", *["cannot be checked"] * 11]
    assert str(report.findings[0].flaws[0]) == "link: this is a link or a device, not a file"
    assert report.failed


def test_words_of_a_stranger_are_tamed() -> None:
    """No terminal is told to do anything, and nothing is endless."""
    assert tame("a\x1b[2Jb\u202ec" + "x" * 500) == "a?[2Jb?c" + "x" * 192


def test_nothing_is_written_where_a_bag_lies(tmp_path: Path) -> None:
    """Reading leaves a folder as it was."""
    folder = tmp_path / "bag"
    (folder / "data").mkdir(parents=True)
    (folder / "data/a").write_text("x")
    before = load(tmp_path)
    verify(folder)
    assert load(tmp_path) == before
