"""What is kept of a site, and frozen values as bytes and back: plain data alone, never executed.

A value is written as MessagePack, field by field, and read back by the annotations of its class: a field that is
missing or of another type makes it unreadable, and what is unreadable is worked out anew. Nothing is written for a
class by hand, so that a new key of a record needs nothing here.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cache
from itertools import islice
from pathlib import Path
from types import MappingProxyType
from typing import Any, cast

import msgspec

from buildlog.frozen import frozen
from buildlog.output.write import hash_content


def encode(value: Any) -> bytes:
    """A value of frozen classes, tuples, mappings and plain values."""
    return ENCODER.encode(value)


def decode(kind: Any, data: bytes) -> Any:
    """The value, of the class or annotation that it was written as; None where these bytes are none of it."""
    try:
        return find_decoder(kind).decode(data)
    except (msgspec.MsgspecError, ValueError, TypeError):
        return None


@cache
def find_decoder(kind: Any) -> msgspec.msgpack.Decoder[Any]:
    """Made once for each: it looks up the annotations of all classes that are in it."""
    return msgspec.msgpack.Decoder(kind)


def _open(value: Any) -> Any:
    if isinstance(value, MappingProxyType):
        return dict(value)
    raise TypeError(f"a {type(value).__name__} cannot be kept")


ENCODER = msgspec.msgpack.Encoder(enc_hook=_open)


@frozen
class KeptPage:
    """One file of a site."""

    digest: bytes
    "of its bytes"
    things: tuple[str, ...]
    "what it looked at, see `Watch`; of the files of the index that hold words, see `KeptIndex`"
    view: bytes | None = None
    "the digest of what its template was given; None: it has none, or it is not known"
    story: tuple[int, int] | None = None
    "from which byte to which it is its entry's story and nothing else; None: that is not known"


@frozen
class KeptTold:
    """An entry or standing page in the index of the search."""

    name: str
    "as stories are known by"
    said: str
    "the words that stand in no story, with a space between"
    story: bytes
    "the key of the story whose words were found with them"
    sign: bytes = b""
    "the digest of all that `said` is made of"


@frozen
class KeptIndex:
    """The files of the search that hold words: they are made together."""

    count: int
    "how many there are by first letters, and by last ones"
    things: tuple[str, ...]
    "what any of them looked at"
    told: tuple[KeptTold, ...]
    "in the order in which they are counted"


@frozen
class KeptSite:
    """The site that was last published from one folder into another."""

    key: bytes
    "of all that its pages share: figures, theme, seals"
    statics: Mapping[str, bytes]
    "the digest of each file of the theme and of the letters, by path"
    papers: frozenset[str]
    "named by records"
    pages: Mapping[str, KeptPage]
    "by path"
    index: KeptIndex
    "of the search"
    things: Mapping[str, bytes]
    "the digest of each thing that a page looked at"

    def read(self, out: Path | None, path: str) -> bytes | None:
        """A file as it was published, where it still lies there."""
        there = out / path if out else None
        if there is None or there.is_symlink() or not there.is_file():
            return None
        data = there.read_bytes()
        return data if path in self.pages and hash_content(data) == self.pages[path].digest else None


@frozen
class PackedSite:
    """The same in few bytes, but for its pages: each thing is named once, and goes by its number."""

    key: bytes
    "as in a `KeptSite`"
    statics: Mapping[str, bytes]
    "as in a `KeptSite`"
    papers: frozenset[str]
    "as in a `KeptSite`"
    index: KeptIndex
    "without its things"
    looked_at: bytes
    "the numbers of those"
    names: tuple[str, ...]
    "of things"
    digests: tuple[bytes, ...]
    "of the same, as they were"
    pages: int
    "how many there are"


@frozen
class PackedPages:
    """Some pages of it, in their order."""

    site: bytes
    "the digest of the packed site whose numbers they use: two that were written apart may be of two runs"
    pages: Mapping[str, tuple[KeptPage, bytes]]
    "without their things, and the numbers of those"


PACKED_TOGETHER = 500
"Pages: a long log has ten thousand, which look at things a hundred thousand times."


def pack_site(site: KeptSite) -> Iterator[bytes]:
    """What is kept of a site, in pieces, of which each is made when the one before is put away."""
    numbers = {thing: number for number, thing in enumerate(site.things)}

    def pack(things: Iterable[str]) -> bytes:
        return array("I", [numbers[thing] for thing in things]).tobytes()

    head = encode(
        PackedSite(
            key=site.key,
            statics=site.statics,
            papers=site.papers,
            index=replace(site.index, things=()),
            looked_at=pack(site.index.things),
            names=tuple(site.things),
            digests=tuple(site.things.values()),
            pages=len(site.pages),
        )
    )
    stamp = hash_content(head)
    yield head
    rest = iter(site.pages.items())
    while some := [*islice(rest, PACKED_TOGETHER)]:
        pages = {path: (replace(page, things=()), pack(page.things)) for path, page in some}
        yield encode(PackedPages(site=stamp, pages=pages))


def unpack_site(find: Callable[[int], bytes | None]) -> KeptSite | None:
    """The site whose pieces are found by their numbers; None where they are not those of one site."""
    head = find(0)
    packed = cast("PackedSite | None", decode(PackedSite, head)) if head else None
    if head is None or packed is None:
        return None
    stamp, names = hash_content(head), packed.names

    def unpack(numbers: bytes) -> tuple[str, ...]:
        return tuple([names[number] for number in array("I", numbers)])

    pages: dict[str, KeptPage] = {}
    try:
        for number in range(-(-packed.pages // PACKED_TOGETHER)):
            piece = find(number + 1)
            some = cast("PackedPages | None", decode(PackedPages, piece)) if piece else None
            if some is None or some.site != stamp:
                return None
            pages |= {path: replace(page, things=unpack(numbers)) for path, (page, numbers) in some.pages.items()}
        return KeptSite(
            key=packed.key,
            statics=packed.statics,
            papers=packed.papers,
            pages=pages,
            index=replace(packed.index, things=unpack(packed.looked_at)),
            things=dict(zip(names, packed.digests, strict=True)),
        )
    except (IndexError, ValueError):
        return None
