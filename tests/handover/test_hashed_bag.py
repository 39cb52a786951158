"""A bag is read once, and what was read is what is judged: whatever becomes of the folder or zip in the meantime."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import BinaryIO

import pytest

import buildlog
from buildlog.handover import hashed_bag
from buildlog.handover.findings import Finding
from buildlog.handover.hashed_bag import HashedBag, read_through, unpack_bag
from buildlog.handover.manifest import Handover
from buildlog.handover.recompute import recheck
from buildlog.handover.run_apart import recheck_apart
from buildlog.handover.unpack import Refused
from buildlog.handover.verify import verify_bag
from tests.record.bags import hand, load, write_sealed, write_zip

PHOTO = "data/log/photos/2024-05-18-lift-pump/IMG-1.jpg"
TEXT = "data/log/entries/2024-05-18-lift-pump.md"
WATCH = """\
import os, sys
log = os.open(os.environ["WATCH_LOG"], os.O_WRONLY | os.O_APPEND | os.O_CREAT)
def watch(event, given):
    if event in ("open", "os.scandir") and isinstance(given[0], str) and given[0].startswith(os.environ["WATCH_TOP"]):
        os.write(log, f"{os.getpid()}\\t{event}\\t{given[0]}\\n".encode())
sys.addaudithook(watch)
"""
"Loaded by every Python that is started with it on its path: notes which files are opened, and which folders listed."


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sealed log, handed over as a folder."""
    top = tmp_path_factory.mktemp("read")
    hand(write_sealed(top / "log"), top / "bag")
    return top / "bag"


@pytest.fixture(scope="module")
def sound(folder: Path) -> dict[str, bytes]:
    return load(folder)


def pack(bag: HashedBag) -> bytes:
    packed = io.BytesIO()
    bag.pack(packed)
    return packed.getvalue()


def watch_verify(path: Path, scratch: Path) -> list[Counter[tuple[str, str]]]:
    """What each process of one `verify` opened and listed below a path, by name, the first process first."""
    (scratch / "watch").mkdir()
    (scratch / "watch/sitecustomize.py").write_text(WATCH)
    log = scratch / "log.txt"
    package = str(Path(buildlog.__file__).parent.parent)
    paths = os.pathsep.join([str(scratch / "watch"), package])
    settings = {**os.environ, "PYTHONPATH": paths, "WATCH_LOG": str(log), "WATCH_TOP": str(path)}
    command = [sys.executable, "-m", "buildlog", "verify", str(path)]
    done = subprocess.run(command, env=settings, capture_output=True, check=False)
    assert done.returncode == 0, done
    found: dict[str, Counter[tuple[str, str]]] = {}
    for line in log.read_text().splitlines():
        process, event, name = line.split("\t")
        found.setdefault(process, Counter())[event, name.removeprefix(f"{path}/")] += 1
    return [*found.values()]


def test_each_process_opens_each_file_once(folder: Path, sound: Mapping[str, bytes], tmp_path: Path) -> None:
    """Watched from outside: `verify` opens every file once; the process that computes lists nothing and opens photos
    alone, which are too much to be kept."""
    first, second = watch_verify(folder, tmp_path)
    assert {name: count for (event, name), count in first.items() if event == "open"} == dict.fromkeys(sound, 1)
    assert {count for (event, _), count in first.items() if event == "os.scandir"} == {1}
    assert second == Counter({("open", PHOTO): 1})


def test_a_zip_is_opened_once(sound: Mapping[str, bytes], tmp_path: Path) -> None:
    """And once more for its one photo, at the place that is known: its list of files is not read again."""
    path = write_zip(tmp_path / "bag.zip", sound)
    assert [[*seen.items()] for seen in watch_verify(path, tmp_path)] == [[(("open", str(path)), 1)]] * 2


def test_no_file_of_a_zip_is_read_twice_by_one_process(
    sound: Mapping[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Counted where members are opened: in the first reading, and behind it."""
    seen: list[Counter[str]] = [Counter(), Counter()]
    plain, again = zipfile.ZipFile.open, hashed_bag.OnDisk.list_chunks

    def open_member(self: zipfile.ZipFile, name: zipfile.ZipInfo, *given: object, **named: object) -> object:
        seen[0][name.filename.removeprefix("bag/")] += 1
        return plain(self, name, *given, **named)  # type: ignore[arg-type]  # handed on as it comes

    def list_chunks(self: hashed_bag.OnDisk, name: str) -> object:
        seen[1][name] += 1
        return again(self, name)

    path = write_zip(tmp_path / "bag.zip", sound)
    monkeypatch.setattr(zipfile.ZipFile, "open", open_member)
    monkeypatch.setattr(hashed_bag.OnDisk, "list_chunks", list_chunks)
    assert not verify_bag(path, recheck).failed
    assert seen == [Counter([*sound]), Counter([PHOTO])]


# ── a bag that changes while it is checked ───────────────────────────────────────────────────────────────────────


def swap(change: Callable[[], object]) -> Callable[[BinaryIO, Handover], Mapping[str, Finding]]:
    """Computing as always, behind something that happens to the bag when all its checksums are known."""

    def recheck_late(packed: BinaryIO, handover: Handover) -> Mapping[str, Finding]:
        change()
        return recheck_apart(packed, handover)

    return recheck_late


def lay_out(sound: Mapping[str, bytes], top: Path) -> Path:
    for name, data in sound.items():
        (top / name).parent.mkdir(parents=True, exist_ok=True)
        (top / name).write_bytes(data)
    return top


def turn_bytes(path: Path, old: bytes) -> None:
    """Exchange some bytes of a file for others of the same length."""
    data = path.read_bytes()
    assert data.count(old) == 1
    path.write_bytes(data.replace(old, bytes(255 - byte for byte in old)))


@pytest.mark.parametrize("way", ["changed", "gone", "a link", "added"])
def test_what_was_read_is_what_is_judged(sound: Mapping[str, bytes], folder: Path, tmp_path: Path, way: str) -> None:
    """Whatever becomes of all files but photos changes no answer: they are not looked at again."""
    path = lay_out(sound, tmp_path / "bag")

    def change() -> None:
        for name in sound.keys() - {PHOTO}:
            if way == "added":
                (path / f"{name}.md").write_bytes(b"more")
                continue
            (path / name).unlink()
            if way == "changed":
                (path / name).write_bytes(b"other bytes")
            elif way == "a link":
                (path / name).symlink_to("/etc/passwd")

    assert verify_bag(path, swap(change)) == verify_bag(folder, recheck)


@pytest.mark.parametrize("packed", [False, True], ids=["folder", "zip"])
def test_a_photo_that_was_exchanged_is_not_believed(sound: Mapping[str, bytes], tmp_path: Path, packed: bool) -> None:
    """A photo is read twice; other bytes of the same length are refused, though they may well be a photo."""
    if packed:
        path = write_zip(tmp_path / "bag.zip", sound)
        report = verify_bag(path, swap(lambda: turn_bytes(path, sound[PHOTO])))
    else:
        path = lay_out(sound, tmp_path / "bag")
        report = verify_bag(path, swap(lambda: turn_bytes(path / PHOTO, sound[PHOTO])))
    states = {finding.key: finding.state for finding in report.findings}
    assert [key for key, state in states.items() if state == "fails"] == ["pages"]
    [flaw] = next(finding.flaws for finding in report.findings if finding.key == "pages")
    assert (flaw.rule, flaw.file, flaw.message) == ("photo-unreadable", PHOTO, hashed_bag.CHANGED)


def make_endless(path: Path) -> None:
    """A file of a terabyte that takes no place on the disk."""
    with open(path, "ab") as file:
        file.truncate(1 << 40)


ENDS: dict[str, Callable[[Path], object]] = {
    "grown": make_endless,
    "cut": lambda path: path.write_bytes(path.read_bytes()[:-1]),
    "gone": lambda path: path.unlink(),
    "a link": lambda path: (path.rename(path.parent / "x"), path.symlink_to(path.parent / "x")),
    "a pipe": lambda path: (path.unlink(), os.mkfifo(path)),
}


@pytest.mark.parametrize("way", ENDS)
def test_reading_again_ends(sound: Mapping[str, bytes], tmp_path: Path, way: str) -> None:
    """However a file was exchanged: it is refused by name, and no more of it read than there was."""
    path = lay_out(sound, tmp_path / "bag")
    bag = read_through(path)
    ENDS[way](path / PHOTO)
    with pytest.raises(Refused) as caught:
        bag.read(PHOTO, 1 << 20)
    assert caught.value.file == PHOTO


@pytest.mark.parametrize("name", [PHOTO, "data/site/costs.html"])
def test_a_file_that_is_damaged_in_its_zip_fails(sound: Mapping[str, bytes], tmp_path: Path, name: str) -> None:
    """A photo or a page that does not have the CRC that the zip tells: the questions about files and pages say so."""
    path = write_zip(tmp_path / "bag.zip", sound)
    turn_bytes(path, sound[name])
    states = {finding.key: finding.state for finding in verify_bag(path, recheck_apart).findings}
    assert states["files"] == states["pages"] == "fails"
    assert states["totals"] == "holds"


def test_a_record_that_changes_where_none_of_it_was_kept_fails(
    sound: Mapping[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A seal is read more than once when there is no room for it; exchanged or gone, it ends the check in a failure."""
    monkeypatch.setattr(hashed_bag, "MOST_KEPT", 0)
    path = lay_out(sound, tmp_path / "bag")
    report = verify_bag(path, swap(lambda: (path / "data/seals/0001.json").write_bytes(b"{}\n")))
    assert report.failed
    assert hashed_bag.CHANGED in report.as_text()


# ── room ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_bag_without_room_gets_the_same_answers(
    sound: Mapping[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where nothing is kept, everything is read again and believed by its checksum alone."""
    path = write_zip(tmp_path / "bag.zip", sound)
    wanted = verify_bag(path, recheck)
    monkeypatch.setattr(hashed_bag, "MOST_KEPT", 0)
    assert verify_bag(path, recheck_apart) == wanted
    bag = read_through(path)
    path.unlink()
    with pytest.raises(Refused, match=r"^it cannot be read: No such file or directory$"):
        bag.read(TEXT, 1 << 20)


def test_no_more_is_kept_than_there_is_room_for(
    folder: Path, sound: Mapping[str, bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    """All files together: what is handed to the other process is never more, beyond the list of names."""
    texts = sum(len(sound[name]) for name in sound if name.startswith("data/log/entries/"))
    most = len(sound["data/figures.json"]) + texts
    whole = len(pack(read_through(folder)))
    monkeypatch.setattr(hashed_bag, "MOST_KEPT", most)
    bag = read_through(folder)
    monkeypatch.setattr(hashed_bag, "MOST_KEPT", 0)
    assert most / 2 < len(pack(bag)) - len(pack(read_through(folder))) <= most < whole


def test_a_start_is_all_that_is_read_of_a_file_that_is_too_large(sound: Mapping[str, bytes], tmp_path: Path) -> None:
    """One byte more than there may be, kept or read again; a whole file that is too large is refused."""
    files = {**sound, "data/seals/0009.json": b"x" * 5000, "data/site/big.html": b"y" * 5000}
    bag = read_through(lay_out(files, tmp_path / "bag"))
    (tmp_path / "bag/data/seals/0009.json").unlink()
    assert bag.read_start("data/seals/0009.json", 1000) == b"x" * 1001
    assert bag.read_start("data/site/big.html", 1000) == b"y" * 1001
    with pytest.raises(Refused) as caught:
        bag.read("data/site/big.html", 4999)
    assert caught.value.rule == "too-large"


# ── zips, and the way to the other process ───────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
@pytest.mark.parametrize("size", [0, 1, hashed_bag.CHUNK, 3 * hashed_bag.CHUNK + 7])
def test_a_member_is_read_again_as_it_was(tmp_path: Path, method: int, size: int) -> None:
    """Behind a local header with more in it than the zip's list has; a megabyte that packs to a thousandth as well."""
    contents = [os.urandom(size), bytes(size)]
    with zipfile.ZipFile(tmp_path / "bag.zip", "w", method) as archive:
        for number, content in enumerate(contents):
            with archive.open(f"bag/data/{number}", "w", force_zip64=True) as file:
                file.write(content)
    bag = read_through(tmp_path / "bag.zip")
    for number, content in enumerate(contents):
        assert bag.read(f"data/{number}", size) == content


def test_a_member_that_goes_on_is_cut_as_the_first_reading_cut_it(tmp_path: Path) -> None:
    """A zip that tells of a file's first ten bytes alone, and of their CRC: the two ways to read see the same file."""
    content = bytes(range(200)) * 100
    path = tmp_path / "bag.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("bag/data/a", content)
    data = bytearray(path.read_bytes())
    for at, crc in ((data.index(b"PK\1\2"), 16), (0, 14)):  # in the list, and in the file's own header
        data[at + crc : at + crc + 4] = zlib.crc32(content[:10]).to_bytes(4, "little")
        data[at + crc + 8 : at + crc + 12] = (10).to_bytes(4, "little")
    path.write_bytes(data)
    assert read_through(path).read("data/a", 10) == content[:10]


def test_what_was_found_reaches_the_other_process_whole(sound: Mapping[str, bytes], tmp_path: Path) -> None:
    """Packed and unpacked it says the same: of a folder whose name is no UTF-8, and of a file that is damaged."""
    name = os.fsdecode(b"b\xe4g")
    bag = read_through(lay_out(sound, tmp_path / name))
    arrived = unpack_bag(io.BytesIO(pack(bag)))
    assert (arrived.sizes, arrived.digests) == (bag.sizes, bag.digests)
    assert all(arrived.read(one, 1 << 20) == data for one, data in sound.items())

    path = write_zip(tmp_path / "bag.zip", sound)
    turn_bytes(path, sound[PHOTO])
    bag = read_through(path)
    arrived = unpack_bag(io.BytesIO(pack(bag)))
    assert PHOTO not in arrived.digests
    for one in (bag, arrived):
        with pytest.raises(Refused) as caught:
            one.read(PHOTO, 1 << 20)
        assert (caught.value.rule, caught.value.file) == ("unreadable", PHOTO)
        assert caught.value.message == bag.damaged[PHOTO].message
