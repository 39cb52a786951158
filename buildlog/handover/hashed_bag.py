"""A bag that was read through once: each file's checksum, and nothing believed later that has another.

1. Every file is read from its first byte to its last, its size and checksum noted: `read_through`.
2. What is judged by what it says is kept on the way, while there is room for it: `MOST_KEPT`.
3. What is made again here is not read for that: the checksum of what is made is compared, `HashedBag.has`.
4. Anything else is read again where it lies, and refused where its bytes are no longer those of 1: `HashedBag.read`.
5. Whoever computes is given 1 and 2 as one file of ours, which may go to another process: `HashedBag.pack`.

Whoever can write to a folder or zip while it is checked could otherwise show one file to the question about checksums
and another to the question about costs. So the photos alone are read a second time, to be made into pictures: together
they may be gigabytes, which memory cannot hold and a temporary disk need not. Pages and pictures are read a second time
only where they differ from what is made here, to tell in what, or where nothing could be made.
"""

from __future__ import annotations

import hashlib
import json
import os
import struct
import zlib
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import BinaryIO, Protocol

from buildlog.frozen import frozen
from buildlog.handover.bag import CHUNK, INFO, MANIFEST, PAYLOAD, TAG_MANIFEST
from buildlog.handover.manifest import FIGURES, LIST, LOG, SEALS, SIGNERS, is_text
from buildlog.handover.unpack import Bag, Place, Refused, open_bag, open_plain, reading, refuse
from buildlog.record.attest import LARGEST_REPLY
from buildlog.record.rules import (
    LARGEST_FIGURES,
    LARGEST_INFO,
    LARGEST_LEAVES,
    LARGEST_LIST,
    LARGEST_MANIFEST,
    LARGEST_SEAL,
    LARGEST_SIGNERS,
)
from buildlog.record.seals import BESIDE_NAME, LEAVES_FILE, SEAL_NAME, Digest

MOST_KEPT = 100_000_000
"""Bytes that are kept of all files together, in the order of their names; 2,000 entries and their figures: 30 million.

They are in memory once, as what is packed goes into a file; where that lies in memory as well (tmpfs), twice.
"""
MOST_KEPT_OF = {
    MANIFEST: LARGEST_MANIFEST,
    TAG_MANIFEST: LARGEST_MANIFEST,
    INFO: LARGEST_INFO,
    PAYLOAD + LIST: LARGEST_LIST,
    PAYLOAD + FIGURES: LARGEST_FIGURES,
    PAYLOAD + SIGNERS: LARGEST_SIGNERS,
    PAYLOAD + SEALS + LEAVES_FILE: LARGEST_LEAVES,
}
"How much of a file is kept: as much as is looked at, and one byte more, by which one that is too large is known."


class Again(Protocol):
    """A way to a bag's files after they were read through."""

    def list_chunks(self, name: str) -> Iterator[bytes]:
        """One file's bytes, a part at a time. Raises whatever `reading` turns into `Refused`."""


@frozen
class OnDisk:
    """Where a bag lies."""

    path: str
    "absolute, of the folder or the zip"
    places: Mapping[str, Place] | None
    "where the zip has each file; None: it is a folder"

    def list_chunks(self, name: str) -> Iterator[bytes]:
        """One file's bytes; each call opens a handle of its own, as several threads read at a time."""
        if self.places is None:
            with open_plain(os.path.join(self.path, name)) as file:
                yield from iter(lambda: file.read(CHUNK), b"")
        else:
            with open(self.path, "rb") as file:  # through a link, too: it is the path that somebody typed
                yield from _read_member(file, self.places[name])


LOCAL_HEADER = struct.Struct("<26x2H")
"Of a member's own header, the lengths of the two fields that stand between it and the bytes (APPNOTE 4.3.7)."


def _read_member(file: BinaryIO, place: Place) -> Iterator[bytes]:
    """A zip member's bytes. Its name and CRC are not looked at: what counts is that the checksum is as before."""
    file.seek(place.offset)
    file.seek(sum(LOCAL_HEADER.unpack(file.read(LOCAL_HEADER.size))), os.SEEK_CUR)
    packed, left = iter(lambda: file.read(CHUNK), b""), place.size
    for chunk in _inflate(packed) if place.deflated else packed:
        yield chunk[:left]  # no more than the list says, as `zipfile` has it
        left -= len(chunk)
        if left <= 0:
            return


def _inflate(packed: Iterable[bytes]) -> Iterator[bytes]:
    """What bytes that were packed by Deflate are; what stands behind their end is left alone."""
    inflate = zlib.decompressobj(-zlib.MAX_WBITS)
    for data in packed:
        rest = data
        while rest and not inflate.eof:  # a chunk may be a thousand when it is unpacked: never more than one at once
            yield inflate.decompress(rest, CHUNK)
            rest = inflate.unconsumed_tail
    yield inflate.flush()


class HashedBag:
    """A bag's files by name from its top: what they came to, and their bytes where those are still the same."""

    def __init__(
        self,
        sizes: Mapping[str, int],
        digests: Mapping[str, Digest],
        *,
        damaged: Mapping[str, Refused],
        kept: Mapping[str, bytes],
        again: Again,
    ) -> None:
        self.sizes = sizes
        "bytes of each file, as the folder or the zip's list says"
        self.digests = digests
        "of each file that could be read to its end"
        self.damaged = damaged
        "why each other file could not"
        self._kept = kept
        self._again = again

    def read(self, name: str, most: int) -> bytes:
        """A whole file. Raises `Refused` where it has more than so many bytes, and `KeyError` where there is none."""
        if self.sizes[name] > most:
            raise refuse("too-large", name, size=self.sizes[name], most=most)
        return self.read_start(name, most)

    def read_start(self, name: str, most: int) -> bytes:
        """The first bytes of a file, and one more than there may be. Raises `Refused` where it cannot be read."""
        # Not tried again: what could not be read once has no checksum to be believed by.
        if name in self.damaged:
            raise self.damaged[name]
        wanted = min(self.sizes[name], most + 1)
        kept = self._kept.get(name, b"")
        return kept[:wanted] if len(kept) >= wanted else self._read_again(name, wanted)

    def has(self, name: str, content: bytes) -> bool:
        """Whether a file has just these bytes. It is not read for that: its checksum was found of all of it."""
        found = self.digests.get(name)
        size = len(content)
        return found is not None and found.size == size and found == Digest(size=size, sha256=hash_bytes(content))

    def _read_again(self, name: str, wanted: int) -> bytes:
        """To the end, however little is wanted: no checksum tells of a part."""
        with reading(name):
            digest, start = hash_chunks(self._again.list_chunks(name), self.sizes[name], keep=wanted)
        # It fails and is not left open: whoever can make a bag change while it is checked shall gain nothing by it.
        if digest != self.digests[name]:
            raise Refused("changed-meanwhile", CHANGED, name)
        return start

    def pack(self, target: BinaryIO) -> None:
        """Write what was found and kept of the payload: a line of JSON, and behind it the bytes of the files kept."""
        assert isinstance(self._again, OnDisk)
        # What stands beside the payload says nothing of the log, and is judged by now.
        kept = {name: content for name, content in self._kept.items() if name.startswith(PAYLOAD)}
        head = {
            "path": self._again.path,
            "places": self._again.places and dict(self._again.places),
            "sizes": self.sizes,
            "digests": {name: digest.sha256 for name, digest in self.digests.items()},
            "damaged": {name: [why.rule, why.message] for name, why in self.damaged.items()},
            "kept": {name: len(content) for name, content in kept.items()},
        }
        target.write(json.dumps(head).encode() + b"\n")
        for content in kept.values():
            target.write(content)


def hash_bytes(content: bytes) -> str:
    """The SHA-256 of some bytes, hexadecimal."""
    return hashlib.sha256(content).hexdigest()


CHANGED = "it was changed while the bag was being checked: check the bag again"


def unpack_bag(packed: BinaryIO) -> HashedBag:
    """What `pack` wrote. It comes from this very program, and is believed as it stands."""
    head = json.loads(packed.readline())
    sizes, places = head["sizes"], head["places"]
    return HashedBag(
        sizes,
        {name: Digest(size=sizes[name], sha256=found) for name, found in head["digests"].items()},
        damaged={name: Refused(rule, message, name) for name, (rule, message) in head["damaged"].items()},
        kept={name: packed.read(length) for name, length in head["kept"].items()},
        again=OnDisk(path=head["path"], places=places and {name: Place._make(at) for name, at in places.items()}),
    )


def read_through(path: Path) -> HashedBag:
    """The bag in a folder or a zip, every file read once. Raises `Refused`, for anything at all that may lie there."""
    with open_bag(path) as bag:
        return hash_bag(bag, OnDisk(path=os.path.abspath(path), places=bag.places))


def hash_bag(bag: Bag, again: Again) -> HashedBag:
    """An open bag read through, and how to come by its files when it is closed."""
    digests: dict[str, Digest] = {}
    damaged: dict[str, Refused] = {}
    kept: dict[str, bytes] = {}
    left = MOST_KEPT
    for name in sorted(bag.sizes):
        keep = min(bag.sizes[name], _count_kept(name))
        # All that is wanted of it or nothing; what does not fit is read again when it is asked for.
        keep = keep if keep <= left else 0
        try:
            digests[name], start = _hash_file(bag, name, keep)
        except Refused as why:
            damaged[name] = why
            continue
        if keep:
            kept[name] = start
            left -= keep
    return HashedBag(bag.sizes, digests, damaged=damaged, kept=kept, again=again)


def _count_kept(name: str) -> int:
    """How many bytes of a file are kept at most."""
    inside = name.removeprefix(PAYLOAD + SEALS)
    if name.startswith(PAYLOAD + LOG) and is_text(name.removeprefix(PAYLOAD + LOG)):
        return MOST_KEPT
    if SEAL_NAME.fullmatch(inside):
        return LARGEST_SEAL + 1
    if BESIDE_NAME.fullmatch(inside):
        return LARGEST_REPLY + 1
    # Everything else is compared by its checksum, or too large to be kept.
    return MOST_KEPT_OF.get(name, -1) + 1


def _hash_file(bag: Bag, name: str, keep: int) -> tuple[Digest, bytes]:
    with reading(name), bag.open(name) as file:
        digest, start = hash_chunks(iter(lambda: file.read(CHUNK), b""), bag.sizes[name], keep=keep)
        if digest.size != bag.sizes[name]:
            raise EOFError(TOO_EARLY)
    return digest, start


TOO_EARLY = "it ends too early"


def hash_chunks(chunks: Iterable[bytes], size: int, *, keep: int) -> tuple[Digest, bytes]:
    """A file's size and checksum, and its first bytes. Reading ends soon behind `size`: a file may grow without end."""
    total, read, start = hashlib.sha256(), 0, bytearray()
    for chunk in chunks:
        total.update(chunk)
        # Kept in the same go as it is hashed: read a second time, it could be other bytes.
        start += chunk[: max(0, keep - read)]
        read += len(chunk)
        if read > size:
            break
    return Digest(size=read, sha256=total.hexdigest()), bytes(start)
