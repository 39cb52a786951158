"""Variants that were made before, so that nothing is done twice: plain files beside an index, never executed.

A key is made from the original's bytes and from everything that decides what is made of it; where the original lies and
what it is called is not among it. Files are exchanged whole and are there before the index tells of them; what the
index tells of a file that is not as it says counts as absent. Once a variant is there, it is never changed.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import threading
import time
from collections.abc import Iterator
from functools import lru_cache
from io import BufferedReader
from pathlib import Path
from typing import TYPE_CHECKING

from buildlog.frozen import frozen
from buildlog.photos.index import DAY_NS, CacheEntry, Index, StoredFile
from buildlog.photos.recipe import EDITION, FORMATS, RECIPE, SUFFIXES
from buildlog.read.numbers import Box
from buildlog.runs import is_running

if TYPE_CHECKING:
    from buildlog.photos.variants import Developed

# The whole recipe is in every key: when it changes, old pictures are no longer found, and need not be removed.
_RECIPE = repr(RECIPE)
NAME = re.compile(r"(?P<key>[0-9a-f]{64})-\d+\.[a-z]+")
"What a variant is called, see `locate`; one that is still being written bears more."
BEING_WRITTEN = re.compile(rf"{NAME.pattern}\.(?P<process>\d{{1,9}})-\d+")


def find_cache() -> Path:
    """The folder for variants, in the place that the system has for such things."""
    # here, as only commands that look for the cache need it
    from platformdirs import user_cache_path

    return user_cache_path("buildlog", appauthor=False) / "photos"


def hash_file(file: BufferedReader) -> str:
    """SHA-256 of an open file; it is read from its beginning again afterwards."""
    digest = hashlib.file_digest(file, "sha256").hexdigest()
    file.seek(0)
    return digest


def make_cache_key(digest: str, suffix: str, hide: tuple[Box, ...]) -> str:
    """The key of an original's hash and its hidden boxes, 64 hexadecimal digits.

    The formats that its suffix allows belong to it: a file under a wrong one is not found under the right one.
    """
    return hashlib.sha256((digest + _spell_work(suffix.lower(), hide, EDITION, _RECIPE)).encode()).hexdigest()


@lru_cache(maxsize=256)
def _spell_work(suffix: str, hide: tuple[Box, ...], *work: str) -> str:
    """Everything but the original that decides what is made of it; the same for most photos."""
    # numbers without trailing zeros: `0.5` and `0.50` hide the same, and need not be made twice
    return json.dumps([FORMATS[suffix], work, [[str(side.normalize()) for side in box] for box in hide]])


def locate(cache: str, key: str) -> str:
    """Where the variants of a key lie, but for what `name_variant` adds for each."""
    # 256 folders: some file systems slow down with tens of thousands of files in one
    return f"{cache}/{key[:2]}/{key}"


def name_variant(stored: StoredFile) -> str:
    """What tells the variants of one photo apart, in the cache and in the site; raises KeyError for no format."""
    return f"-{stored.edge}{SUFFIXES[stored.format]}"


def is_whole(cache: str, key: str, cached: CacheEntry) -> bool:
    """Whether every file of a cache entry is there, and as the entry has it."""
    try:
        stem = locate(cache, key)
        return all(is_stored(stem + name_variant(stored), stored.size, stored.mtime_ns) for stored in cached.files)
    except KeyError:  # a format that is none
        return False


def is_stored(path: str, size: int, mtime_ns: int) -> bool:
    """Whether a file is there and is the one that was stored: nothing ever changes one."""
    try:
        found = os.stat(path)
    except OSError:
        return False
    return found.st_size == size and found.st_mtime_ns == mtime_ns


def keep(cache: str, index: Index, key: str, developed: Developed) -> CacheEntry:
    """Put the variants under a key; where another run was faster, its files stay and are used."""
    # unlike any other run's or thread's, until the transaction decides whose files stay
    mine = f".{os.getpid()}-{threading.get_ident()}"
    files: list[tuple[str, StoredFile]] = []
    os.makedirs(f"{cache}/{key[:2]}", exist_ok=True)
    for left in _find_abandoned(Path(cache, key[:2]), key):
        left.unlink(missing_ok=True)
    for one in developed.encoded:
        stored = StoredFile(
            format=one.format, edge=one.edge, width=one.width, height=one.height, size=len(one.content), mtime_ns=0
        )
        path = locate(cache, key) + name_variant(stored)
        files.append((path, stored._replace(mtime_ns=_write(path + mine, one.content))))
    cached = CacheEntry(
        files=tuple(stored for _, stored in files),
        width=developed.width,
        height=developed.height,
        colour=developed.colour,
    )
    # renamed inside the transaction: of two runs that made the same photo, one sees the other's entry
    with index.writing() as connection:
        other = index.find_entry(connection, key)
        if other is not None and is_whole(cache, key, other):
            for path, _ in files:
                os.unlink(path + mine)
            return other
        for path, _ in files:
            os.replace(path + mine, path)
        index.keep_entry(connection, key, cached)
    return cached


def _write(path: str, content: bytes) -> int:
    """The file written; the time that it bears, in nanoseconds."""
    with open(path, "wb", buffering=0) as file:
        file.write(content)
    return os.stat(path).st_mtime_ns


# ── forgetting ───────────────────────────────────────────────────────────────────────────────────────────────────


@frozen
class Pruned:
    """What was dropped."""

    photos: int
    "how many were forgotten, with all that was made of them"
    files: int
    "how many were removed, those of no photo included"
    bytes: int
    "size of those files"

    def __str__(self) -> str:
        return f"photos cleared: {self.photos}, files removed: {self.files}, {self.bytes / 1e6:.1f} MB"


def prune_cache(cache: Path, *, days: int) -> Pruned:
    """Drop what no run has used for so many days, and files that nothing tells of; logs and sites are not touched.

    Which logs there are is known nowhere, so use alone decides: what is dropped is made again when it is asked for.
    """
    if not cache.is_dir():
        return Pruned(photos=0, files=0, bytes=0)
    with Index(cache) as index, index.writing() as connection:  # no run keeps anything new until this is done
        dropped = index.drop(connection, index.today() - days)
        known = index.list_keys(connection)
        sizes = [_remove(path) for path in _find_stray(cache, known)]
    return Pruned(photos=dropped, files=len(sizes), bytes=sum(sizes))


def _find_stray(cache: Path, known: frozenset[str]) -> Iterator[Path]:
    """Files of no known key; of what is none of ours only what is a day old, as a run may be writing it."""
    lately = time.time_ns() - DAY_NS
    for path in sorted(cache.glob("[0-9a-f][0-9a-f]/*")):
        ours = NAME.fullmatch(path.name)
        mine = BEING_WRITTEN.fullmatch(path.name)
        left = mine is not None and not is_running(int(mine["process"]))
        if ours["key"] not in known if ours else left or path.stat().st_mtime_ns < lately:
            yield path


def _find_abandoned(folder: Path, key: str = "") -> Iterator[Path]:
    """Files that runs were writing which are no longer at work, of one key or of all."""
    for path in folder.iterdir():
        mine = BEING_WRITTEN.fullmatch(path.name)
        if mine and mine["key"].startswith(key) and not is_running(int(mine["process"])):
            yield path


def _remove(path: Path) -> int:
    size = path.stat().st_size
    path.unlink()
    return size
