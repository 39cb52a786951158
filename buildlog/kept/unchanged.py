"""Whether anything was changed since a log was last published into a folder: by a look at every file, not at content.

A file is taken for the same as long as its size, both its times and its inode are. One that was new when it was looked
at could change again without any of these telling: its content is looked at too. A log with a link in it is always
published in full, as a link does not tell what becomes of what it leads to.

Of published pictures only the folders are looked at: that one was replaced, added or taken away shows there. One that
something else wrote over in its place is seen by the next publish that has anything to do, and with `--from-scratch`.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import stat
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from buildlog.kept.store import SETTLED_NS, Store, hash_parts

if TYPE_CHECKING:
    from buildlog.output.write import Content

LOG_FOLDERS = ("entries", "pages", "papers", "photos", "seals", "theme")
"Where a log has its files, beside `log.yaml`."
PICTURES = "photos"
"Of a site: the folder of published pictures."
MOST_NEW = 50_000_000
"Bytes of new files whose content is looked at: with more, the next publish is one in full."

Row = tuple[str, int, int, int, int]
"A file's path, size, both times in nanoseconds, and inode."


class _CannotTell(Exception):
    """Something is there of which a look says nothing."""


class Look:
    """One look at a log and at the folder that it is published into, before anything is done."""

    def __init__(
        self, store: Store, log: Path, out: Path, options: tuple[str, ...], *, clock: Callable[[], int] = time.time_ns
    ) -> None:
        """`options` are all else that decides what is published, the day among it."""
        self.store, self._log, self._out, self._clock = store, os.path.realpath(log), os.path.realpath(out), clock
        self._slot = store.make_key("published", self._log, self._out, *options)
        self._time = clock()
        self._read: bytes | None = None
        self._new: dict[str, str] = {}
        with contextlib.suppress(OSError, _CannotTell):
            # As a digest: a log may have a hundred thousand files, and publishing goes on for long.
            self._read, new = self._take_in(_list_log(self._log))
            self._new = self._hash_new(new)

    def find(self) -> dict[str, Any] | None:
        """What was told when this was published last, where nothing has changed since; else None."""
        data = self.store.find_one(self._slot) if self._read is not None else None
        if data is None or self._read is None:
            return None
        try:
            kept: dict[str, Any] = json.loads(data)
            there, new = self._take_in(_list_site(self._out))
            if kept["files"] != hash_parts(self._read, there).hex():
                return None
            if any(_hash_file(path) != digest for path, digest in kept["new"].items()):
                return None
            told: dict[str, Any] = kept["told"]
        except (OSError, _CannotTell, ValueError, KeyError, TypeError, AttributeError):
            return None
        if kept["new"]:  # looked at once more, so that next time their times tell of a change
            self._keep(there, {path: kept["new"][path] for path, *_ in new if path in kept["new"]}, told)
        return told

    def keep(self, files: Mapping[str, Content], told: Mapping[str, Any]) -> None:
        """Remember how everything lies, and what was told; called while no other run can write into the folder.

        `files` are what was to be written, by path in the site.
        """
        if self._read is None:
            return
        try:
            there, rows = self._take_in(_list_site(self._out))
        except (OSError, _CannotTell):
            return
        # What was to be written, and not what is there by now; of all else, what is there.
        paths = {path: path[len(self._out) + 1 :].replace(os.sep, "/") for path, *_ in rows}
        new = {path: _hash_content(files[name]) if name in files else _hash_file(path) for path, name in paths.items()}
        self._keep(there, new, told)

    def _keep(self, there: bytes, new: Mapping[str, str], told: Mapping[str, Any]) -> None:
        assert self._read is not None
        value = {"files": hash_parts(self._read, there).hex(), "new": {**self._new, **new}, "told": told}
        self.store.keep({self._slot: json.dumps(value).encode()})

    def _take_in(self, rows: Iterable[Row]) -> tuple[bytes, list[Row]]:
        """A digest of how all files lie, and those so new that their times may not tell of a change."""
        digest, new = hashlib.blake2b(), []
        # Before the first look: what is changed while they are looked at counts as new.
        settled = self._clock() - SETTLED_NS
        for row in rows:
            digest.update(repr(row).encode())
            if row[2] >= settled or row[3] >= settled:
                new.append(row)
        return digest.digest(), new

    def _hash_new(self, rows: list[Row]) -> dict[str, str]:
        if sum(size for _, size, *_ in rows) > MOST_NEW:
            raise _CannotTell
        return {path: _hash_file(path) for path in sorted(path for path, *_ in rows)}


def _hash_content(content: Content) -> str:
    if isinstance(content, bytes):
        return _hash(content)
    return _hash_file(os.fspath(content)) if isinstance(content, os.PathLike) else content.digest.hex()


def _hash_file(path: str) -> str:
    """By what the content of a file is known again, or of a folder what is in it."""
    if os.path.isdir(path):
        return _hash(repr(sorted(_row(*one[:2]) for one in _scan(path))).encode())
    with open(path, "rb", buffering=0) as file:
        return _hash(file.read())


def _hash(content: bytes) -> str:
    # Loaded where content has to be looked at: mostly it has not, and then this takes longer than all else.
    from buildlog.output.write import hash_content

    return hash_content(content).hex()


def _list_log(log: str) -> Iterator[Row]:
    found = os.lstat(f"{log}/log.yaml")
    if not stat.S_ISREG(found.st_mode):
        raise _CannotTell
    yield _row(f"{log}/log.yaml", found)
    for folder in LOG_FOLDERS:
        yield from _walk(f"{log}/{folder}")


def _list_site(out: str) -> Iterator[Row]:
    for path, found, is_folder in sorted(_scan(out)):
        name = path.rpartition("/")[2]
        if name.startswith("."):  # of version control and the like
            continue
        if not is_folder:
            yield _row(path, found)
        elif name == PICTURES:
            yield _folder_row(path, found)
            for inner, inside, deeper in sorted(_scan(path)):
                yield _folder_row(inner, inside) if deeper else _row(inner, inside)
        else:
            yield from _walk(path)


def _walk(folder: str) -> Iterator[Row]:
    """Every file below a folder, and every folder, as an empty one may be told of too."""
    if not os.path.lexists(folder):
        return
    for path, found, is_folder in sorted(_scan(folder)):
        if is_folder:
            yield path, -1, 0, 0, 0
            yield from _walk(path)
        else:
            yield _row(path, found)


def _scan(folder: str) -> list[tuple[str, os.stat_result, bool]]:
    if os.path.islink(folder):
        raise _CannotTell
    with os.scandir(folder) as items:
        found = [(item.path, item.stat(follow_symlinks=False)) for item in items]
    if any(stat.S_ISLNK(one.st_mode) for _, one in found):
        raise _CannotTell
    return [(path, one, stat.S_ISDIR(one.st_mode)) for path, one in found]


def _row(path: str, found: os.stat_result) -> Row:
    return path, found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino


def _folder_row(path: str, found: os.stat_result) -> Row:
    return path, -1, found.st_mtime_ns, found.st_ctime_ns, found.st_ino
