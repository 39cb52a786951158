"""What is held of a published photo from first to last, in few bytes; and its pictures, shown before all are made.

A long log has twenty thousand photos, each with four pictures, every one of which has two paths.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple, Protocol

from buildlog.photos.cache import locate
from buildlog.photos.index import CacheEntry
from buildlog.photos.recipe import MEDIA_TYPES, SUFFIXES, PhotoSet, Variant

if TYPE_CHECKING:
    from buildlog.photos.variants import Encoded

NAME_DIGITS = 16
"""Digits of a photo's key by which it is published.

A camera's file name can hold a person's name, a place or a time. The key is made from what is in the picture file, so
that an address stays when the file is renamed or listed elsewhere in its entry, and never comes to show another one."""


def spell_stem(name: str, key: str) -> str:
    """How the paths of a photo's pictures begin in the site: in the folder of their entry, under our own name."""
    return f"photos/{name.partition('/')[0]}/{key[:NAME_DIGITS]}"


class Held(NamedTuple):
    """A photo that lies in the cache, in few bytes: the pictures of a long log are held from first to last."""

    key: bytes
    "see `make_cache_key`"
    shape: Shape
    "shared by all photos of one size"
    measures: bytes
    "size and time of each picture, eight bytes each"
    colour: str
    "mean colour"


Shape = tuple[int, int, tuple[tuple[str, int, int, int], ...]]
"Width and height of a photo; of each of its pictures format, long edge, width, height."


class Shelf:
    """The photos of one cache, put into few bytes and taken out again."""

    def __init__(self, folder: str) -> None:
        self._folder = folder
        self._shapes: dict[Shape, Shape] = {}

    def hold(self, key: str, cached: CacheEntry) -> Held:
        """A photo as its cache entry has it; raises TypeError and `struct.error` for an entry that is none."""
        pictures = tuple((one.format, one.edge, one.width, one.height) for one in cached.files)
        measures = [measure for one in cached.files for measure in (one.size, one.mtime_ns)]
        shape = cached.width, cached.height, pictures
        packed = struct.pack(f"{len(measures)}q", *measures)
        return Held(bytes.fromhex(key), self._shapes.setdefault(shape, shape), packed, cached.colour)

    def open_up(self, name: str, held: Held) -> PhotoSet:
        """The variants as they are published: in the folder of their entry, under our own name, never the owner's."""
        return _open_up(self._folder, name, held)


@lru_cache(maxsize=500)  # as a page asks for each of its photos a dozen times
def _open_up(folder: str, name: str, held: Held) -> PhotoSet:
    key, (width, height, pictures) = held.key.hex(), held.shape
    path, stored = spell_stem(name, key), locate(folder, key)
    measures = iter(struct.unpack(f"{2 * len(pictures)}q", held.measures))
    variants = [  # by position, which is twice as fast: a log has ten thousands
        Variant(
            path + (end := f"-{edge}{SUFFIXES[format]}"),
            across,
            down,
            MEDIA_TYPES[format],
            stored + end,
            next(measures),
            next(measures),
        )
        for format, edge, across, down in pictures
    ]
    return PhotoSet(variants=tuple(variants), width=width, height=height, colour=held.colour)


class MadePhotos(Mapping[str, PhotoSet]):
    """Published photos by the names of their requests, each put together when it is asked for."""

    def __init__(self, names: Sequence[str], find: Callable[[str], PhotoSet]) -> None:
        self._names, self._find = dict.fromkeys(names), find

    def __getitem__(self, name: str) -> PhotoSet:
        if name not in self._names:
            raise KeyError(name)
        return self._find(name)

    def __contains__(self, name: object) -> bool:
        return name in self._names  # the library's would put it together first

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)


class Onlooker(Protocol):
    """Whoever shows pictures before their photo is made, by their paths in the site."""

    def is_wanted(self, path: str) -> bool:
        """Whether somebody waits for that picture just now; asked in another thread."""

    def show(self, path: str, content: bytes) -> None:
        """Take up a picture that is made, and not kept yet; called in another thread."""


class OneAhead:
    """An onlooker of one photo."""

    def __init__(self, onlooker: Onlooker, stem: str) -> None:
        self._onlooker, self._stem = onlooker, stem

    def is_wanted(self, edge: int, format: str) -> bool:
        return self._onlooker.is_wanted(f"{self._stem}-{edge}{SUFFIXES[format]}")

    def show(self, picture: Encoded) -> None:
        self._onlooker.show(f"{self._stem}-{picture.edge}{SUFFIXES[picture.format]}", picture.content)
