"""Zips that would harm a reader or mean two things, each by the name of its defect, with the rule that refuses it.

They are written byte by byte (APPNOTE 6.3.10), since no library writes what is wrong with them. Around each defect
stands a small whole bag, so that nothing else fails.
"""

from __future__ import annotations

import hashlib
import struct
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field, replace

STORED, DEFLATED = 0, 8
FILE, LINK, FIFO, DEVICE, FOLDER = 0o100644, 0o120777, 0o010644, 0o060644, 0o040755


@dataclass(frozen=True)
class Member:
    """One file of a zip; what is None is as it must be."""

    name: bytes
    data: bytes = b""
    method: int = STORED
    flags: int = 0
    mode: int = FILE
    crc: int | None = None
    size: int | None = None
    "bytes that the list of files declares"
    packed: int | None = None
    own_name: bytes | None = None
    "the name in its own header"
    own_mark: bytes = b"PK\3\4"
    offset: int | None = None
    "where the list says that it starts"
    extra: bytes = b""
    "the list's extra field"
    own_extra: bytes = b""
    note: bytes = b""
    disk: int = 0
    made_by: int = 3
    "the system whose attributes these are: 3 is Unix, 0 MS-DOS"
    raw: bytes | None = None
    "packed bytes, where they are not those of the data"


def pack(data: bytes) -> bytes:
    """Deflated without a header (RFC 1951)."""
    squeezer = zlib.compressobj(9, zlib.DEFLATED, -15)
    return squeezer.compress(data) + squeezer.flush()


@dataclass(frozen=True)
class Shape:
    """A whole zip."""

    members: tuple[Member, ...]
    prefix: bytes = b""
    between: bytes = b""
    "bytes between the last file and the list"
    comment: bytes = b""
    comment_length: int | None = None
    tail: bytes = b""
    count: int | None = None
    size: int | None = None
    "of the list, as the end says"
    offset: int | None = None
    disk: int = 0
    end64: bool = False
    wrong64: dict[str, int] = field(default_factory=dict)
    place64: int | None = None


def build(shape: Shape) -> bytes:
    """The bytes of a zip."""
    body, entries = bytearray(shape.prefix), []
    for one in shape.members:
        raw = one.raw if one.raw is not None else pack(one.data) if one.method == DEFLATED else one.data
        crc = zlib.crc32(one.data) if one.crc is None else one.crc
        packed, size = (
            (len(raw) if one.packed is None else one.packed),
            (len(one.data) if one.size is None else one.size),
        )
        own, at = (one.name if one.own_name is None else one.own_name), len(body)
        common = struct.pack(
            "<HHHHHLLL", 20, one.flags, one.method, 0, 0x21, crc, packed & 0xFFFFFFFF, size & 0xFFFFFFFF
        )
        body += one.own_mark + common + struct.pack("<HH", len(own), len(one.own_extra)) + own + one.own_extra + raw
        lengths = struct.pack("<HHH", len(one.name), len(one.extra), len(one.note))
        place = at if one.offset is None else one.offset
        rest = struct.pack("<HHLL", one.disk, 0, one.mode << 16, place)
        head = b"PK\1\2" + struct.pack("<BB", 20, one.made_by) + common + lengths + rest
        entries.append(head + one.name + one.extra + one.note)
    body += shape.between
    start, directory = len(body), b"".join(entries)
    count = len(entries) if shape.count is None else shape.count
    size = len(directory) if shape.size is None else shape.size
    offset = start if shape.offset is None else shape.offset
    body += directory
    if shape.end64:
        values = {"count": count, "size": size, "offset": offset} | shape.wrong64
        at = len(body)
        body += b"PK\6\6" + struct.pack(
            "<QHHLLQQQQ", 44, 45, 45, 0, 0, values["count"], values["count"], values["size"], values["offset"]
        )
        body += b"PK\6\7" + struct.pack("<LQL", 0, at if shape.place64 is None else shape.place64, 1)
        count, size, offset = 0xFFFF, 0xFFFFFFFF, 0xFFFFFFFF
    length = len(shape.comment) if shape.comment_length is None else shape.comment_length
    end = struct.pack("<HHHHLLH", shape.disk, shape.disk, count, count, size, offset, length)
    return bytes(body + b"PK\5\6" + end + shape.comment + shape.tail)


def list_checksums(files: dict[str, bytes]) -> bytes:
    return "".join(f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in sorted(files.items())).encode()


def whole_bag(payload: dict[str, bytes] | None = None) -> dict[str, bytes]:
    """The files of a small bag of which every sum is right."""
    payload = payload or {
        "data/a.txt": b"hello, this is the first file\n" * 9,
        "data/b.txt": b"and this the second\n" * 9,
    }
    oxum = f"Payload-Oxum: {sum(map(len, payload.values()))}.{len(payload)}\n"
    tags = {
        "bagit.txt": b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
        "bag-info.txt": oxum.encode(),
        "manifest-sha256.txt": list_checksums(payload),
    }
    return payload | tags | {"tagmanifest-sha256.txt": list_checksums(tags)}


def members(*more: Member, top: bytes = b"bag/", method: int = STORED) -> tuple[Member, ...]:
    """The small bag, and what comes behind it."""
    own = (Member(top + name.encode(), data, method=method) for name, data in sorted(whole_bag().items()))
    return (*own, *more)


def change(what: bytes, **values: object) -> tuple[Member, ...]:
    """The small bag with one file, deflated, described otherwise."""
    return tuple(replace(one, **values) if what in one.name else one for one in members(method=DEFLATED))  # type: ignore[arg-type]


def named(name: bytes, **values: object) -> Shape:
    """The small bag and a file with a name."""
    return Shape(members(Member(b"bag/" + name, b"x", **values)))  # type: ignore[arg-type]


def zip64(*values: int) -> bytes:
    """The extra field of large sizes (APPNOTE 4.5.3)."""
    return struct.pack(f"<HH{len(values)}Q", 1, 8 * len(values), *values)


def find_offset(shape: Shape, name: bytes) -> int:
    return build(shape).index(b"PK\3\4", max(0, build(shape).index(name) - 30))


def overlap() -> Shape:
    shape = Shape(members(Member(b"bag/data/c", b"x" * 99), Member(b"bag/data/d", b"x" * 99)))
    at = find_offset(shape, b"bag/data/c")
    return Shape(tuple(replace(one, offset=at) if one.name == b"bag/data/d" else one for one in shape.members))


def retold(name: bytes, at: int, told: bytes) -> bytes:
    """The small bag with other bytes in one file's own header."""
    made = build(Shape(members(method=DEFLATED)))
    start = made.index(b"bag/data/" + name) - 30 + at
    return made[:start] + told + made[start + len(told) :]


def repacked(at: int, told: bytes) -> bytes:
    """The small bag with both ends, and other bytes in the plain one, counted from behind."""
    made = build(Shape(members(), end64=True))
    return made[: len(made) + at] + told + made[len(made) + at + len(told) :]


def nested() -> bytes:
    inner = build(Shape(tuple(Member(b"%d" % n, bytes(100_000), method=DEFLATED) for n in range(50))))
    return inner


def streamed(*, marked: bool, wrong: int = 0, large: bool = False, known: bool = False) -> Shape | bytes:
    """The small bag with sizes behind each file, as a program writes them that cannot go back (APPNOTE 4.3.9)."""
    made = []
    for one in members(method=DEFLATED):
        raw = pack(one.data)
        sizes = struct.pack("<LQQ" if large else "<LLL", zlib.crc32(one.data) + wrong, len(raw), len(one.data))
        behind = (b"PK\7\10" if marked else b"") + sizes
        made.append(replace(one, flags=8, raw=raw + behind, packed=len(raw)))
    shape = Shape(tuple(made))
    if not known:
        return shape
    data = bytearray(build(shape))
    for one in made:  # CRC and packed size are not known yet, as `zip - | cat` writes them
        at = data.index(one.name) - 30
        data[at + 14 : at + 22] = bytes(8)
    return bytes(data)


def twice_named(**values: bytes) -> Shape:
    """The small bag, one file of which has another name in Unicode (APPNOTE 4.6.9)."""
    return Shape(change(b"a.txt", **values))


OTHER_NAME = struct.pack("<HHBL", 0x7075, 5 + 10, 1, zlib.crc32(b"bag/data/a.txt")) + b"data/z.txt"
LARGE_A = zip64(len(whole_bag()["data/a.txt"]))
A = pack(whole_bag()["data/a.txt"])
Make = Callable[[], Shape | bytes]
BAD_NAME, TOO_LONG, COLLIDES, NO_FILE, MEMBER = (
    "name-unsafe",
    "name-too-long",
    "names-collide",
    "not-a-file",
    "zip-member",
)

NAMES: dict[str, tuple[str, bytes]] = {
    "a way out": (BAD_NAME, b"../a"),
    "a way out in the middle": (BAD_NAME, b"data/../../a"),
    "an absolute name": (BAD_NAME, b"/etc/passwd"),
    "two slashes": (BAD_NAME, b"data//a"),
    "a dot as a folder": (BAD_NAME, b"data/./a"),
    "a drive letter": (BAD_NAME, b"C:/a"),
    "a drive letter with a backslash": (BAD_NAME, b"C:\\a"),
    "a backslash": (BAD_NAME, b"data\\a"),
    "a way out by backslashes": (BAD_NAME, b"..\\..\\a"),
    "a share of a network": (BAD_NAME, b"\\\\host\\share\\a"),
    "a stream of another file": (BAD_NAME, b"data/a.txt:hidden"),
    "a device": (BAD_NAME, b"data/CON"),
    "a device with a suffix": (BAD_NAME, b"data/aux.txt"),
    "a numbered device": (BAD_NAME, b"data/lpt1.a.b"),
    "a space at the end": (BAD_NAME, b"data/a "),
    "a dot at the end": (BAD_NAME, b"data/a."),
    "a byte zero": (BAD_NAME, b"data/a\0.txt"),
    "a line end": (BAD_NAME, b"data/a\nb"),
    "an escape sequence of a terminal": (BAD_NAME, b"data/\x1b[2J"),
    "a star": (BAD_NAME, b"data/*"),
    "a dash in front of a tilde": (BAD_NAME, b"~/-rf"),
    "letters of code page 437": (BAD_NAME, b"data/\x81ber.txt"),
    "letters that are no UTF-8": (BAD_NAME, b"data/\xff\xfe"),
    "a part that is too long": (BAD_NAME, b"data/" + b"x" * 121),
    "a name that is too long": (TOO_LONG, b"data/" + b"/".join([b"x" * 110] * 10)),
    "too many folders": (TOO_LONG, b"data/" + b"a/" * 11 + b"a"),
    "another name in capitals": (COLLIDES, b"data/A.TXT"),
    "the same name again": (COLLIDES, b"data/a.txt"),
    "a folder in capitals": (COLLIDES, b"DATA/a.txt"),
}
UTF8 = 0x800
"Flag of a name in UTF-8 (APPNOTE 4.4.4, bit 11)."
TWINS = ("data/\u00e9.txt", "data/e\u0301.txt", "data/\u212a.txt", "data/\u202ea.txt", "data/\uff0e\uff0e/a")

SHAPES: dict[str, tuple[str, Make]] = {
    # what is well
    "stored": ("", lambda: Shape(members())),
    "deflated": ("", lambda: Shape(members(method=DEFLATED))),
    "without a folder around it": ("", lambda: Shape(members(top=b""))),
    "folders with entries of their own": (
        "",
        lambda: Shape((Member(b"bag/", mode=FOLDER), Member(b"bag/data/", mode=FOLDER), *members())),
    ),
    "an end for large zips": ("", lambda: Shape(members(), end64=True)),
    "notes beside names": ("", lambda: Shape(tuple(replace(one, note=b"hello") for one in members()))),
    "extra fields that nobody knows": (
        "",
        lambda: Shape(tuple(replace(one, extra=b"\xfe\xca\4\0abcd", own_extra=b"\xfe\xca\2\0ab") for one in members())),
    ),
    "attributes of another system": ("", lambda: Shape(tuple(replace(one, mode=0, made_by=0) for one in members()))),
    "bytes in front of it": ("zip-gap", lambda: Shape(members(), prefix=b"#!/bin/sh\n" * 9, offset=None)),
    # names
    **{f"a name: {name}": (rule, lambda raw=raw: named(raw)) for name, (rule, raw) in NAMES.items()},  # type: ignore[misc]
    **{f"a name in UTF-8: {name!a}": (BAD_NAME, lambda name=name: named(name.encode(), flags=UTF8)) for name in TWINS},  # type: ignore[misc]
    "a name that its own header has otherwise": (
        "unreadable",
        lambda: Shape(change(b"a.txt", own_name=b"bag/data/z.txt")),
    ),
    "two folders": ("no-bag", lambda: Shape((*members(), Member(b"other/a", b"x")))),
    # what is no file
    "a link": (NO_FILE, lambda: named(b"data/c", mode=LINK)),
    "a pipe": (NO_FILE, lambda: named(b"data/c", mode=FIFO)),
    "a device": (NO_FILE, lambda: named(b"data/c", mode=DEVICE)),
    "a file that says it is a folder": (NO_FILE, lambda: named(b"data/c", mode=FOLDER)),
    "this is a folder, but it has contents like a file": (MEMBER, lambda: named(b"data/c/")),
    "a folder that leads away": (BAD_NAME, lambda: Shape(members(Member(b"bag/../", mode=FOLDER)))),
    # how it is packed
    "an encrypted file": (MEMBER, lambda: Shape(change(b"a.txt", flags=1))),
    "a strongly encrypted file": (MEMBER, lambda: Shape(change(b"a.txt", flags=0x41))),
    **{
        f"method {number}": (MEMBER, lambda number=number: Shape(change(b"a.txt", method=number, raw=b"x")))
        for number in (1, 6, 9, 12, 14, 93, 95, 99)
    },  # type: ignore[misc]
    "a stream that is cut off": ("unreadable", lambda: Shape(change(b"a.txt", raw=pack(b"hello" * 99)[:9]))),
    "a stream that is none": ("unreadable", lambda: Shape(change(b"a.txt", raw=b"\xff" * 40))),
    "bytes behind the end of a stream": (
        "",
        lambda: Shape(change(b"a.txt", raw=pack(whole_bag()["data/a.txt"]) + b"more")),
    ),
    # what two programs would read in two ways
    "another name in Unicode": ("zip-member", lambda: twice_named(extra=OTHER_NAME)),
    "another name in Unicode, in its own header alone": ("zip-member", lambda: twice_named(own_extra=OTHER_NAME)),
    "bytes between two files": ("zip-gap", lambda: Shape(change(b"a.txt", raw=A + b"hidden", packed=len(A)))),
    "a file between two files": (
        "zip-gap",
        lambda: Shape(change(b"a.txt", raw=A + build(Shape(members()))[:200], packed=len(A))),
    ),
    "bytes in front of the list": ("zip-gap", lambda: Shape(members(), between=b"hidden")),
    "a second list in front of the list": ("zip-gap", lambda: Shape(members(), between=build(Shape(members()))[-60:])),
    "another method in its own header": ("zip-member", lambda: retold(b"a.txt", 8, b"\0\0")),
    "other flags in its own header": ("zip-member", lambda: retold(b"a.txt", 6, b"\0\x08")),
    "another CRC in its own header": ("zip-member", lambda: retold(b"a.txt", 14, b"\1\2\3\4")),
    "another size in its own header": ("zip-member", lambda: retold(b"a.txt", 22, b"\1\0\0\0")),
    "another count in the plain end": ("zip-broken", lambda: repacked(-12, b"\3\0\3\0")),
    "another place of the list in the plain end": ("zip-broken", lambda: repacked(-6, b"\1\0\0\0")),
    "sizes behind each file": ("", lambda: streamed(marked=True)),
    "sizes behind each file, without a mark": ("", lambda: streamed(marked=False)),
    "sizes of 64 bits behind each file": ("", lambda: streamed(marked=True, large=True)),
    "sizes behind each file, one in front": ("", lambda: streamed(marked=True, known=True)),
    "a wrong CRC behind each file": ("zip-gap", lambda: streamed(marked=True, wrong=-1)),
    # sizes and sums that lie
    "a wrong CRC": ("unreadable", lambda: Shape(change(b"a.txt", crc=1))),
    "more bytes declared than there are": ("unreadable", lambda: Shape(change(b"a.txt", size=9_000))),
    "fewer bytes declared than there are": ("unreadable", lambda: Shape(change(b"a.txt", size=5))),
    "no bytes declared where there are some": ("unreadable", lambda: Shape(change(b"a.txt", size=0))),
    "more packed bytes than the zip has": ("zip-broken", lambda: Shape(change(b"tagmanifest", packed=9_000_000))),
    "a start behind the end": ("zip-broken", lambda: Shape(change(b"tagmanifest", offset=9_000_000))),
    "a header that is none": ("unreadable", lambda: Shape(change(b"a.txt", own_mark=b"PK\7\7"))),
    "two names for the same bytes": ("zip-overlap", overlap),
    "a file inside another": ("zip-overlap", lambda: Shape(change(b"bagit.txt", offset=4))),
    # bombs
    "a bomb": ("zip-bomb", lambda: Shape(members(Member(b"bag/data/c", bytes(11_000_000), method=DEFLATED)))),
    "a bomb of many files": (
        "zip-bomb",
        lambda: Shape(members(*(Member(b"bag/data/%d" % n, bytes(1_100_000), method=DEFLATED) for n in range(10)))),
    ),
    "a bomb that declares little": (
        "unreadable",
        lambda: Shape(change(b"a.txt", raw=pack(bytes(30_000_000)), size=270)),
    ),
    "a bomb that declares four gigabytes": ("zip-bomb", lambda: Shape(change(b"a.txt", size=0xFFFFFFFE))),
    "a bomb that declares a number of 64 bits": (
        "zip-bomb",
        lambda: Shape(change(b"a.txt", size=0xFFFFFFFF, extra=zip64(1 << 62))),
    ),
    "zips in a zip": ("added", lambda: Shape(members(Member(b"bag/data/c.zip", nested())))),
    # the list of files and its end
    "nothing at all": ("zip-end", lambda: b""),
    "no zip": ("zip-end", lambda: b"%PDF-1.4 " * 99),
    "an empty list": ("no-bag", lambda: Shape(())),
    "a comment": ("zip-end", lambda: Shape(members(), comment=b"hello")),
    "a comment that is promised": ("zip-end", lambda: Shape(members(), comment_length=5)),
    "bytes behind it": ("zip-end", lambda: Shape(members(), tail=b"x")),
    "a second end behind it": ("zip-gap", lambda: Shape(members(), tail=b"PK\5\6" + bytes(18))),
    "a whole second zip behind it": (
        "zip-gap",
        lambda: build(Shape(members(Member(b"bag/data/c", b"x")))) + build(Shape(members())),
    ),
    "a count that is too small": ("zip-broken", lambda: Shape(members(), count=3)),
    "a count that is too large": ("zip-broken", lambda: Shape(members(), count=99)),
    "the last of several disks": ("zip-broken", lambda: Shape(members(), disk=1)),
    "a file on another disk": ("zip-broken", lambda: Shape(change(b"a.txt", disk=1))),
    "a name that says it is UTF-8 and is not": ("zip-broken", lambda: named(b"data/\xff", flags=UTF8)),
    "a list that is cut off": ("zip-gap", lambda: Shape(members(), size=200)),
    "a list that is larger than the zip": ("too-many-files", lambda: Shape(members(), size=9_000_000)),
    "a list that starts behind the end": ("zip-broken", lambda: Shape(members(), offset=9_000_000)),
    "a signature that is none in the list": (
        "zip-broken",
        lambda: build(Shape(members())).replace(b"PK\1\2", b"PK\1\3", 1),
    ),
    "an end for large zips that is elsewhere": ("zip-end", lambda: Shape(members(), end64=True, place64=0)),
    "an end for large zips far away": ("zip-end", lambda: Shape(members(), end64=True, place64=1 << 63)),
    "an end for large zips with a huge list": (
        "too-many-files",
        lambda: Shape(members(), end64=True, wrong64={"size": 1 << 62}),
    ),
    "an extra field that is cut off": (
        "zip-broken",
        lambda: Shape(change(b"a.txt", size=0xFFFFFFFF, extra=b"\1\0\4\0abcd")),
    ),
    "an extra field that is longer than it is": (
        "zip-broken",
        lambda: Shape(change(b"a.txt", extra=b"\1\0\xff\0abcd")),
    ),
    "sizes of 64 bits for a small file": (
        "",
        lambda: Shape(change(b"a.txt", size=0xFFFFFFFF, extra=LARGE_A, own_extra=LARGE_A)),
    ),
    "a hundred thousand files": (
        "added",
        lambda: Shape(members(*(Member(b"bag/data/%d" % n) for n in range(100_000))), end64=True),
    ),
}


def make(name: str) -> bytes:
    """The bytes of a shape."""
    made = SHAPES[name][1]()
    return made if isinstance(made, bytes) else build(made)
