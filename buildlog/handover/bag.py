"""How files become a bag that anybody can check: BagIt 1.0 (RFC 8493) with SHA-256, as a folder or a zip.

The bag is written under another name beside its place, which says that it is unfinished, and appears there whole or not
at all. A zip of the same files has the same bytes on every system: stored, in order, with one time and one set of
permissions. What goes into a bag is left to `pack`, reading one to `unpack`.
"""

from __future__ import annotations

import datetime
import hashlib
import io
import os
import re
import shutil
import stat
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path, PurePosixPath
from typing import BinaryIO, Protocol
from zipfile import ZIP_STORED, ZipFile, ZipInfo

from buildlog.paths import fold_name, is_device, is_plain
from buildlog.record.rules import LONGEST_PART, LONGEST_SUFFIX
from buildlog.record.seals import Digest
from buildlog.runs import is_running
from buildlog.text import keep_ascii

PAYLOAD = "data/"
"RFC 8493, section 2.1.2: everything that is handed over stands below it."
DECLARATION = "bagit.txt"
DECLARED = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
"RFC 8493, section 2.1.1: exactly these two lines, no BOM."
INFO = "bag-info.txt"
MANIFEST = "manifest-sha256.txt"
TAG_MANIFEST = "tagmanifest-sha256.txt"
START_PAGE = "START-HERE.html"
"Beside the payload, where it is seen first: a tag file of our own (RFC 8493, section 2.2.4)."
TAG_FILES = (DECLARATION, INFO, MANIFEST, START_PAGE, TAG_MANIFEST)

CHUNK = 1 << 20
ZIP_TIME = (1980, 1, 1, 0, 0, 0)
"The earliest time that a zip can tell (APPNOTE 4.4.6): one for all files, so that the same files make the same bytes."
FILE_MODE = stat.S_IFREG | 0o644


class BagRefused(Exception):
    """The bag cannot be written there; nothing was."""

    def __init__(self, message: str, help: str) -> None:
        super().__init__(message)
        self.message = message
        self.help = help


def name_files(paths: Iterable[str]) -> dict[str, str]:
    """A name in the bag for each path: letters, digits, `.`, `_`, `-`, `/` alone, no two that differ only in case.

    Accents are dropped, other signs become `-`, and what would meet an earlier name gets a number. Depends on the set
    of paths alone.
    """
    wanted = {path: "/".join(map(_simplify, path.split("/"))) for path in paths}
    taken = {fold_name(str(folder)) for name in wanted.values() for folder in PurePosixPath(name).parents}
    names: dict[str, str] = {}
    used: Counter[str] = Counter()  # names tried for those that simplify alike: none of them is free again
    for path in sorted(wanted, key=lambda path: (wanted[path] != path, path)):  # what can stay as it is comes first
        alike = fold_name(wanted[path])
        for name in _number(wanted[path], used[alike]):
            used[alike] += 1
            if fold_name(name) not in taken:
                names[path] = name
                break
        taken.add(fold_name(names[path]))
    return names


def is_plain_name(name: str) -> bool:
    """Whether a path may stand in a bag as it is: it stays inside, and means one file everywhere."""
    return is_plain(name) and all(len(part) <= LONGEST_PART for part in name.split("/"))


def _simplify(part: str) -> str:
    if is_plain_name(part):
        return part
    stem, _, suffix = part.rpartition(".") if "." in part.strip(".") else (part, "", "")
    kind = _keep_plain(suffix)[:LONGEST_SUFFIX]
    plain = _keep_plain(stem)[: LONGEST_PART - LONGEST_SUFFIX - 10].strip("-.") or "file"
    plain = f"{plain}.{kind}" if kind else plain
    return f"x-{plain}" if is_device(plain) else plain


def _keep_plain(text: str) -> str:
    """The letters and digits of a text, accents dropped, with `-` for what stood between them."""
    return re.sub(r"[^A-Za-z0-9._]+", "-", keep_ascii(text)).strip("-.")


def _number(name: str, skip: int = 0) -> Iterator[str]:
    """The name, then with `-2`, `-3` before its suffix; the first `skip` of them are left out."""
    if not skip:
        yield name
    folder, slash, file = name.rpartition("/")
    stem, dot, suffix = file.rpartition(".") if "." in file.strip(".") else (file, "", "")
    for number in range(max(2, skip + 1), 1_000_000):
        yield f"{folder}{slash}{stem or suffix}-{number}{dot}{suffix}"


class Sink(Protocol):
    """Where the files of a bag go."""

    def store(self, name: str, source: BinaryIO, size: int) -> Digest:
        """Write one file below the bag's top, and say what was written."""

    def close(self) -> None:
        """No more files come, or the bag is given up: nothing of it stays open."""


class BagWriter:
    """Takes the payload file by file and notes what the manifests must say."""

    def __init__(self, sink: Sink, *, day: datetime.date, info: Mapping[str, str]) -> None:
        self._sink = sink
        self._day = day
        self._info = info
        self._payload: dict[str, Digest] = {}
        self._tags: dict[str, Digest] = {}
        self._write_tag(DECLARATION, DECLARED)

    def add(self, name: str, content: bytes | os.PathLike[str]) -> Digest:
        """Write one file below `data/`. Raises `ValueError` for a name that no bag may have, or that is there."""
        # A fault of ours, as names come from `name_files` or from the site: no problem that an owner could mend.
        if not is_plain_name(name) or name in self._payload:
            raise ValueError(name)
        if isinstance(content, bytes):
            digest = self._sink.store(PAYLOAD + name, io.BytesIO(content), len(content))
        else:
            with open(content, "rb") as source:
                digest = self._sink.store(PAYLOAD + name, source, os.fstat(source.fileno()).st_size)
        self._payload[name] = digest
        return digest

    def add_start(self, content: bytes) -> None:
        """Write the page that a reader opens first, beside `data/`."""
        self._write_tag(START_PAGE, content)

    def finish(self) -> None:
        """Write what checks the payload (RFC 8493, sections 2.1.3, 2.2.1 and 2.2.2)."""
        self._write_tag(MANIFEST, list_checksums({PAYLOAD + name: digest for name, digest in self._payload.items()}))
        octets = sum(digest.size for digest in self._payload.values())
        lines = {
            **self._info,
            "Bagging-Date": self._day.isoformat(),
            "Payload-Oxum": f"{octets}.{len(self._payload)}",
        }
        self._write_tag(INFO, "".join(f"{key}: {value}\n" for key, value in lines.items()).encode())
        # Last, and listed nowhere: it lists the others (RFC 8493, section 2.2.1).
        self._sink.store(TAG_MANIFEST, io.BytesIO(tags := list_checksums(self._tags)), len(tags))

    def _write_tag(self, name: str, content: bytes) -> None:
        self._tags[name] = self._sink.store(name, io.BytesIO(content), len(content))


def list_checksums(digests: Mapping[str, Digest]) -> bytes:
    """A manifest: the checksum, two spaces, the name, so that `sha256sum -c` reads it as well (GNU coreutils)."""
    return "".join(f"{digest.sha256}  {name}\n" for name, digest in sorted(digests.items())).encode()


@contextmanager
def write_bag(out: Path, *, top: str, day: datetime.date, info: Mapping[str, str]) -> Iterator[BagWriter]:
    """A writer for a bag that stands at `out` when the block ends well, and leaves nothing when it does not.

    `out` is a zip when it ends in `.zip`, with all files below a folder `top`; else a folder. `info` are lines of
    bag-info.txt. Raises `BagRefused` when something is there already, and `OSError` when the disk fails.
    """
    if os.path.lexists(out):
        raise BagRefused(f"`{out}` already exists and has been left alone", "choose another name, or move it away")
    if not out.parent.is_dir():
        raise BagRefused(f"there is no folder `{out.parent}`", "make it first, or choose another place")
    # Beside the place where it shall stand: moving it there is then one step, and what a killed run leaves tells by its
    # name what it is.
    temporary = out.with_name(f"{out.name}.{os.getpid()}.unfinished")
    _clean_up(out)
    try:
        sink: Sink = _ZipSink(temporary, top) if is_zip_name(out) else _FolderSink(temporary)
        with closing(sink):  # before it is moved or removed: Windows does neither with an open file
            writer = BagWriter(sink, day=day, info=info)
            yield writer
            writer.finish()
        _move(temporary, out)
    finally:
        _drop(temporary)


def _drop(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


def _clean_up(out: Path) -> None:
    """Remove what killed runs left of a bag at this place: the whole of a private record."""
    for path in out.parent.iterdir():
        number = path.name.removeprefix(f"{out.name}.").removesuffix(".unfinished")
        if path.name == f"{out.name}.{number}.unfinished" and number.isdecimal() and not is_running(int(number)):
            _drop(path)


def is_zip_name(out: Path) -> bool:
    """Whether a bag at this path is a zip."""
    return out.suffix.lower() == ".zip"


def _move(temporary: Path, out: Path) -> None:
    """Put the bag in its place; something that came there in the meantime is not replaced."""
    if os.path.lexists(out):
        raise BagRefused(
            f"`{out}` has appeared meanwhile and has been left alone", "choose another name, or move it away"
        )
    os.rename(temporary, out)


def copy_and_hash(source: BinaryIO, target: BinaryIO) -> Digest:
    """Copy one file, and say what it holds."""
    total, size = hashlib.sha256(), 0
    while chunk := source.read(CHUNK):
        total.update(chunk)
        size += len(chunk)
        target.write(chunk)
    return Digest(size=size, sha256=total.hexdigest())


class _FolderSink:
    def __init__(self, folder: Path) -> None:
        self._folder = folder
        folder.mkdir()

    def store(self, name: str, source: BinaryIO, size: int) -> Digest:
        path = self._folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with open(path, "xb") as target:
            return copy_and_hash(source, target)

    def close(self) -> None:
        """Every file was closed by itself."""


class _ZipSink:
    def __init__(self, path: Path, top: str) -> None:
        # Stored as it is: photos do not get smaller, and Deflate makes other bytes with another zlib, while the same
        # log and day shall make the same zip.
        self._zip = ZipFile(path, "x", compression=ZIP_STORED, allowZip64=True)
        self._top = top

    def store(self, name: str, source: BinaryIO, size: int) -> Digest:
        info = ZipInfo(f"{self._top}/{name}", ZIP_TIME)
        # Fixed, and not those of this machine, for the same reason.
        info.create_system, info.external_attr, info.file_size = 3, FILE_MODE << 16, size
        with self._zip.open(info, "w", force_zip64=size >= 1 << 31) as target:
            return copy_and_hash(source, target)  # type: ignore[arg-type]  # a writer of bytes, typed more narrowly

    def close(self) -> None:
        self._zip.close()
