"""What is in a bag that came from a stranger, a folder or a zip, and how it is read without harm.

Nothing is unpacked, followed or run: names and sizes are looked at first, against the bounds in `rules`, and files are
then read where they lie, each up to a bound. A name that no bag of ours has, a link, a device, an encrypted or
overlapping zip member refuses the whole. Whether the bag is a whole and true one is left to `verify`.
"""

from __future__ import annotations

import os
import stat
import struct
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, NamedTuple, Protocol
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from buildlog.handover.bag import DECLARATION, is_plain_name
from buildlog.handover.zip_layout import BadLayout, check_names, check_tiles, find_list
from buildlog.paths import fold_name
from buildlog.record.rules import (
    DEEPEST_NAME,
    LEAST_SUSPECT,
    LONGEST_NAME,
    MOST_ADDED,
    MOST_FILES,
    MOST_FOLDERS,
    MOST_RATIO,
    name_rule,
    say,
)
from buildlog.text import replace_unprintable


class Refused(Exception):
    """This is no bag that will be looked into."""

    def __init__(self, rule: str, message: str, file: str = "") -> None:
        super().__init__(message)
        self.rule = rule
        "stable kebab-case name of what is wrong"
        self.message = message
        "lower case, no full stop"
        self.file = file
        "the file or name that it is about, shown so that no terminal obeys it"


def refuse(words: str, file: str = "", **values: object) -> Refused:
    """A refusal in the words of a rule, see `WORDS`."""
    return Refused(name_rule(words), say(words, **values), file)


class Place(NamedTuple):
    """Where a zip has one file."""

    offset: int
    "of its local header, bytes from the start"
    size: int
    "bytes that it gives, as the zip's list says"
    deflated: bool
    "packed by Deflate; else stored as it is"


class Bag(Protocol):
    """The files of a bag, by name from its top."""

    sizes: Mapping[str, int]
    "bytes of each file"
    places: Mapping[str, Place] | None
    "where a zip has each file; None: a folder, which has them under their names"

    def open(self, name: str) -> BinaryIO:
        """One file's bytes, from the first on; raises `Refused` when it cannot be read."""


@contextmanager
def open_bag(path: Path) -> Iterator[Bag]:
    """The bag in a folder or a zip. Raises `Refused`, for anything at all that may lie there."""
    # Through a link, too: it is the path that somebody typed, and not a name of the bag's.
    if path.is_dir():
        yield _FolderBag(path)
        return
    try:
        with open(path, "rb") as file:
            yield _ZipBag(file)
    except OSError as error:
        raise refuse("unreadable", why=error.strerror or error) from None


@contextmanager
def reading(name: str) -> Iterator[None]:
    """Turn whatever reading a stranger's file raises into `Refused`."""
    try:
        yield
    except (OSError, BadZipFile, zlib.error, EOFError, struct.error, RuntimeError, NotImplementedError) as error:
        said = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        words = said.split("\n")[0][:100] or "its bytes make no sense"
        raise refuse("unreadable", name, why=tame(words)) from None


LONGEST_WORDS = 200
"Characters of a stranger's words that are told at once: two or three lines of a terminal."


def tame(text: str) -> str:
    """A stranger's words as they are told, each sign that is not plainly seen as `?`, and no more than a few lines.

    The page that checks says the same (`findings.js`), so that a name reads alike in both.
    """
    return replace_unprintable(text, "?")[:LONGEST_WORDS]


def _check_name(name: str) -> str:
    """The name, when a bag may have it; raises `Refused`."""
    if len(name) > LONGEST_NAME or name.count("/") >= DEEPEST_NAME:
        raise refuse("name-too-long", tame(name))
    if not is_plain_name(name):
        raise refuse("name-unsafe", tame(name))
    return name


def _check_names(names: Iterator[str]) -> None:
    """Refuse names that are one file on some system."""
    seen: dict[str, str] = {}
    for name in names:
        other = seen.setdefault(fold_name(name), name)
        if other is not name:
            raise refuse("names-collide", name, other=other)


def _check_count(count: int) -> None:
    if count > MOST_FILES:
        raise refuse("too-many-files", most=MOST_FILES)


def _check_growth(size: int, stored: int) -> None:
    """Refuse files that would be far larger than what lies on the disk, packed in a zip or full of holes."""
    # The smaller of two bounds, as either alone lets through too much: a ratio much of a large zip, a difference much
    # of a small one.
    if size > max(min(MOST_RATIO * stored, stored + MOST_ADDED), LEAST_SUSPECT):
        raise refuse("zip-bomb")


# ── a folder ─────────────────────────────────────────────────────────────────────────────────────────────────────


class _FolderBag:
    places: Mapping[str, Place] | None = None

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.sizes: Mapping[str, int] = dict(self._walk())
        _check_names(iter(self.sizes))

    def _walk(self) -> Iterator[tuple[str, int]]:
        """Every file and its size, no link entered; refuses what is neither a file nor a folder."""
        waiting, folders, files, size, stored = [""], 0, 0, 0, 0
        while waiting:
            base = waiting.pop()
            for item in self._list(base):
                name = _check_name(base + item.name)
                with reading(name):  # a folder that can be listed need not let anybody search it
                    # A link could lead to any file of whoever runs this, and its content would be told in the answers.
                    mode = item.stat(follow_symlinks=False)
                if stat.S_ISDIR(mode.st_mode):
                    waiting.append(f"{name}/")
                    folders += 1
                elif stat.S_ISREG(mode.st_mode):
                    files += 1
                    size += mode.st_size
                    # A file full of holes takes no place on the disk, and an hour to be read.
                    stored += max(getattr(mode, "st_blocks", mode.st_size) * BLOCK, min(mode.st_size, PAGE))
                    yield name, mode.st_size
                else:
                    raise refuse("not-a-file", name)
                _check_count(files)
                if folders > MOST_FOLDERS:
                    raise refuse("too-many-files:folders", most=MOST_FOLDERS)
        _check_growth(size, stored)

    def _list(self, base: str) -> Iterator[os.DirEntry[str]]:
        try:
            with os.scandir(self._folder / base) as found:
                yield from found
        except OSError as error:
            raise refuse("unreadable", base, why=error.strerror) from None

    def open(self, name: str) -> BinaryIO:
        with reading(name):
            return open_plain(self._folder / name)


def open_plain(path: str | os.PathLike[str]) -> BinaryIO:
    """A file to be read; raises `OSError` for a link."""
    return open(os.open(path, os.O_RDONLY | NO_LINK), "rb")


BLOCK = 512
"Bytes of what `st_blocks` counts, where a system counts it."
PAGE = 4096
"Bytes that a small file may have without a block of its own."
NO_LINK = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
"A file that was exchanged for a link or a pipe after it was looked at is not read."


# ── a zip ────────────────────────────────────────────────────────────────────────────────────────────────────────


class _ZipBag:
    def __init__(self, file: BinaryIO) -> None:
        # Before `ZipFile` sees it: that reads the whole list of files into memory, and looks for an end where we allow
        # none.
        with _laid_out():
            size, count, stop = find_list(file)
        try:
            self._zip = ZipFile(file)
        except (BadZipFile, OSError, ValueError, struct.error, NotImplementedError, UnicodeDecodeError, OverflowError):
            raise refuse("zip-broken") from None
        # The count at the end and the list have to agree: another reader may go by the other one.
        if len(self._zip.infolist()) != count or any(info.volume for info in self._zip.infolist()):
            raise refuse("zip-broken")
        with _laid_out():
            check_names(self._zip.infolist())
        infos = [info for info in self._zip.infolist() if not _is_folder(info)]
        _check_count(len(infos))
        for info in infos:
            _check_member(info)
        # By what the list declares, which is what can come: each file is read no further.
        _check_sizes(infos, size)
        with _laid_out():
            check_tiles(file, self._zip.infolist(), stop)
        top = _find_top(info.filename for info in infos)
        _check_names(info.filename for info in infos)
        self._members = {info.filename.removeprefix(top): info for info in infos}
        self.sizes: Mapping[str, int] = {name: info.file_size for name, info in self._members.items()}
        self.places: Mapping[str, Place] | None = {
            name: Place(info.header_offset, info.file_size, info.compress_type == ZIP_DEFLATED)
            for name, info in self._members.items()
        }

    def open(self, name: str) -> BinaryIO:
        with reading(name):
            return self._zip.open(self._members[name])  # type: ignore[return-value]  # a reader, typed more narrowly


@contextmanager
def _laid_out() -> Iterator[None]:
    """A zip that is laid out in a way that can be read in two ways is refused."""
    try:
        yield
    except BadLayout as why:
        raise refuse(why.words, tame(why.file), **why.values) from None


def _is_folder(info: ZipInfo) -> bool:
    """Whether a member only names a folder; refuses one that holds something or leads away."""
    if not info.orig_filename.endswith("/"):
        return False
    _check_name(info.orig_filename.rstrip("/"))
    if info.file_size or info.compress_size:
        raise refuse("zip-member:folder", tame(info.orig_filename))
    return True


def _check_member(info: ZipInfo) -> None:
    """Refuse what is no plain file that can be read as it is."""
    name = _check_name(info.orig_filename)  # `filename` is cut at a NUL, has other slashes turned, or another name
    kind = stat.S_IFMT(info.external_attr >> 16)
    if info.filename != name:
        raise refuse("name-unsafe", tame(name))
    # 0: whoever made the zip tells no mode, as programs of Windows do.
    if kind not in (0, stat.S_IFREG):
        raise refuse("not-a-file", name)
    # Bit 0: encrypted; bit 6: strongly (APPNOTE 4.4.4).
    if info.flag_bits & 0x41:
        raise refuse("zip-member:encrypted", name)
    # The two that every reader of zips has, the page that checks as well; Bzip2 and LZMA would need bounds of their
    # own.
    if info.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
        raise refuse("zip-member:method", name)


def _check_sizes(infos: list[ZipInfo], size: int) -> None:
    """Refuse a zip that would be far larger than it is, or that uses its bytes twice.

    Each member is read no further than its declared size, so that what is declared is what can come. Members that
    share bytes are how a small zip gets large without a high ratio (Fifield, A better zip bomb, WOOT 2019).
    """
    end = 0
    for info in sorted(infos, key=lambda info: info.header_offset):
        if info.header_offset < end:
            raise refuse("zip-overlap", info.filename)
        # A local header has 30 bytes at least (APPNOTE 4.3.7); its name and extra field are left out, which only allows
        # more.
        end = info.header_offset + 30 + info.compress_size
    if end > size:
        raise refuse("zip-broken:size")
    _check_growth(sum(info.file_size for info in infos), size)


def _find_top(names: Iterator[str]) -> str:
    """The one folder that everything in the zip stands in (RFC 8493 leaves its name open), or nothing."""
    tops = {name.partition("/")[0] if "/" in name else "" for name in names}
    if len(tops) == 1 and (top := tops.pop()):
        return f"{top}/"
    # Two folders could be two bags, and a reader would take the one that it is shown.
    if tops and "" not in tops and DECLARATION not in tops:
        raise refuse("no-bag:folders")
    return ""
