"""Whether a zip can be read in one way only: which files it has, by which names, with which bytes (APPNOTE 6.3.10).

Programs find the files of a zip in three ways: by the list at its end, by going along the members from the first byte,
or by searching for the last record. A zip is laid out well when all of them find the same. What is in the files is left
to `unpack`.
"""

from __future__ import annotations

import os
import struct
from collections.abc import Iterable
from typing import BinaryIO
from zipfile import ZipInfo

from buildlog.record.rules import LARGEST_DIRECTORY


class BadLayout(Exception):
    """Two programs may find two different things in this zip."""

    def __init__(self, words: str, file: str = "", **values: object) -> None:
        super().__init__(words)
        self.words = words
        "key of what is told, see `WORDS`"
        self.file = file
        "the member that it is about, by its own name"
        self.values = values


END = struct.Struct("<4s4H2LH")
END64_PLACE = struct.Struct("<4sLQL")
END64 = struct.Struct("<4sQ2H2L4Q")


def find_list(file: BinaryIO) -> tuple[int, int, int]:
    """The zip's size, how many members it lists and where the list starts, when its last record is at its very end.

    APPNOTE 4.3.14 to 4.3.16. Nothing may stand behind it, and the record for large zips stands right in front of it: a
    comment, a second zip glued on, a record elsewhere is where two readers find two different lists of files.
    """
    size = file.seek(0, os.SEEK_END)
    stop = size - END.size
    raw = _read_at(file, stop, END.size)
    if len(raw) < END.size or raw[:4] != b"PK\5\6" or raw[-2:] != b"\0\0":
        raise BadLayout("zip-end")
    *disks, here, count, directory, offset = plain = END.unpack(raw)[1:7]
    place = _read_at(file, stop - END64_PLACE.size, END64_PLACE.size)
    if place[:4] == b"PK\6\7":
        stop -= END64_PLACE.size + END64.size
        whole = _read_at(file, stop, END64.size)
        if END64_PLACE.unpack(place)[1:] != (0, stop, 1) or whole[:4] != b"PK\6\6":
            raise BadLayout("zip-end")
        length, _, _, *large = END64.unpack(whole)[1:]
        if length != END64.size - 12 or not all(map(_agree, plain, large, MOST_PLAIN)):
            raise BadLayout("zip-broken")
        *disks, here, count, directory, offset = large
    # Before the list is read: it is the one part of a zip that has to be in memory whole.
    if directory > min(size, LARGEST_DIRECTORY):
        raise BadLayout("too-many-files:directory")
    if any(disks) or here != count or directory + offset > stop:
        raise BadLayout("zip-broken")
    if directory + offset < stop:
        raise BadLayout("zip-gap")
    return size, count, offset


MOST_PLAIN = (0xFFFF, 0xFFFF, 0xFFFF, 0xFFFF, 0xFFFFFFFF, 0xFFFFFFFF)
"What the plain end of a zip says for disks, counts, size and place of its list where the end for large zips says it."


def _agree(plain: int, large: int, most: int) -> bool:
    """Whether both ends of a large zip say the same: a reader may know the plain one alone."""
    return plain in (large, most)


def _read_at(file: BinaryIO, at: int, length: int) -> bytes:
    if not 0 <= at < 1 << 62:
        return b""
    file.seek(at)
    return file.read(length)


LOCAL = struct.Struct("<4s5H3L2H")
"A member's own header (APPNOTE 4.3.7)."
LARGE, OTHER_NAME = 0x0001, 0x7075
"Extra fields of sizes beyond 32 bits (APPNOTE 4.5.3) and of a name in Unicode (4.6.9)."
STREAMED = 0x0008
"Flag of a member whose sizes stand behind it (APPNOTE 4.3.9)."
LONGEST_BEHIND = 24
"Bytes of what stands behind such a member, at most."
SAME_FLAGS = 0x2849
"Flags that decide how a member is read: encrypted, streamed, strongly encrypted, name in UTF-8, header masked."


def check_tiles(file: BinaryIO, infos: list[ZipInfo], stop: int) -> None:
    """Refuse a zip whose members, as they lie, are not just those of the list, one after the other from the first byte.

    A reader that goes along the members, one that trusts the list, and one that searches for the list find the same
    files then, by the same names.
    """
    ordered = sorted(infos, key=lambda info: info.header_offset)
    ends = [*(info.header_offset for info in ordered[1:]), stop]
    # A program that unpacks itself has bytes in front of its zip; a bag has none, and a reader that starts there would
    # see them.
    if (ordered[0].header_offset if ordered else stop) != 0:
        raise BadLayout("zip-gap")
    for info, end in zip(ordered, ends, strict=False):
        data = _check_header(file, info)
        if data + info.compress_size > stop:
            raise BadLayout("zip-broken:size")
        if data + info.compress_size > end:
            raise BadLayout("zip-overlap", info.filename)
        # One byte more than can stand there, by which more is known without reading it all.
        behind = _read_at(file, data + info.compress_size, min(end - data - info.compress_size, LONGEST_BEHIND + 1))
        if behind and not (info.flag_bits & STREAMED and behind in _list_descriptors(info)):
            raise BadLayout("zip-gap")


def _check_header(file: BinaryIO, info: ZipInfo) -> int:
    """Where a member's bytes start, when its own header says what the list says of it."""
    name = info.orig_filename
    head = _read_at(file, info.header_offset, LOCAL.size)
    if len(head) < LOCAL.size or head[:4] != b"PK\3\4":
        raise BadLayout("unreadable", name, why="its own header is damaged")
    _, _, flags, method, _, _, *said, length, more = LOCAL.unpack(head)
    if file.read(length) != name.encode("utf-8", "replace"):
        raise BadLayout("unreadable", name, why="its own header names another file")
    crc, packed, size = _enlarge(said, _check_extra(file.read(more), name))
    meant = (info.CRC, info.compress_size, info.file_size)
    # A program that wrote as it went knew no sizes yet: all three are then 0, and stand behind the member.
    streamed = bool(info.flag_bits & STREAMED)  # then what was not known yet is 0, as with `zip - | …`
    fits = all(one == other or (streamed and not one) for one, other in zip((crc, packed, size), meant, strict=True))
    if method != info.compress_type or (flags ^ info.flag_bits) & SAME_FLAGS or not fits:
        raise BadLayout("zip-member:header", name)
    start: int = info.header_offset + LOCAL.size + length + more
    return start


def check_names(infos: Iterable[ZipInfo]) -> None:
    """Refuse members that the list gives a second name."""
    for info in infos:
        _check_extra(info.extra, info.orig_filename)


def _check_extra(extra: bytes, name: str) -> bytes:
    """The field of large sizes among a member's extra fields; refuses a second name."""
    found, at = b"", 0
    while at + 4 <= len(extra):
        kind, length = struct.unpack_from("<HH", extra, at)
        if at + 4 + length > len(extra):
            raise BadLayout("zip-broken")
        # Some readers would unpack it under that name, and others under the one that was checked.
        if kind == OTHER_NAME:
            raise BadLayout("zip-member:name", name)
        found = extra[at + 4 : at + 4 + length] if kind == LARGE else found
        at += 4 + length
    return found


def _enlarge(said: list[int], large: bytes) -> tuple[int, int, int]:
    """CRC, packed and whole size of a member's own header, where its extra field has the sizes."""
    crc, packed, size = said
    numbers = [int.from_bytes(large[at : at + 8], "little") for at in range(0, len(large) - 7, 8)]
    size = numbers.pop(0) if size == 0xFFFFFFFF and numbers else size
    return crc, numbers.pop(0) if packed == 0xFFFFFFFF and numbers else packed, size


def _list_descriptors(info: ZipInfo) -> set[bytes]:
    """What may stand behind a streamed member: its CRC and sizes, in 32 or 64 bits, with or without a mark."""
    try:
        short = struct.pack("<3L", info.CRC, info.compress_size, info.file_size)
    # Too large for 32 bits: only the long form can stand there.
    except struct.error:
        short = b"?"
    long = struct.pack("<L2Q", info.CRC, info.compress_size, info.file_size)
    return {mark + one for mark in (b"", b"PK\7\10") for one in (short, long)}
