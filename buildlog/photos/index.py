"""What is known of photos from earlier runs: which content lies where, and what was made of it. SQLite, read by key.

Nothing in it can be executed. It may vanish or be damaged at any time: what it does not know is found out again. Many
threads and runs may use one index; what is written is one short transaction each.
"""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
import threading
import time
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

from buildlog.frozen import frozen

NAME = "index.sqlite"
EDITION = 2
"Changes with the tables. In 1, originals were known without their ctime, and what was made of them was the same."
# Without row numbers, as every question is asked by path or key, which then is the table itself.
TABLES = """
CREATE TABLE original
    (path TEXT PRIMARY KEY, size INTEGER, mtime_ns INTEGER, ctime_ns INTEGER, inode INTEGER, digest TEXT) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS made (key TEXT PRIMARY KEY, note TEXT, used INTEGER) WITHOUT ROWID;
"""
SIGN = "size, mtime_ns, ctime_ns, inode"
"By what an original is known again, see `stat_key`."
PATIENCE_S = 30.0
"Seconds to wait for another run that is writing."
AT_ONCE = 500
"Keys in one question: SQLite takes at most 999 values in older builds."
DAY_NS = 86_400 * 10**9
SETTLED_NS = 2 * 10**9
"Nanoseconds after which a file's time tells of a change: the coarsest clock of a file system ticks every two seconds."


class StoredFile(NamedTuple):
    """One made picture as the cache keeps it."""

    format: str
    "Pillow's name"
    edge: int
    "its long edge, by which it is named"
    width: int
    "pixels"
    height: int
    "pixels"
    size: int
    "bytes"
    mtime_ns: int
    "when it was stored, in nanoseconds"


@frozen
class CacheEntry:
    """What was made under one key."""

    files: tuple[StoredFile, ...]
    "largest first, as the recipe has them"
    width: int
    "pixels of the upright original"
    height: int
    "pixels of the upright original"
    colour: str
    "`#rrggbb`"


class Index:
    """The index of one cache; open it in a `with`."""

    def __init__(self, cache: Path, *, clock: Callable[[], int] = time.time_ns) -> None:
        self._file = cache / NAME
        self._clock = clock
        self._lock = threading.Lock()

    def __enter__(self) -> Index:
        """Raises OSError when the cache cannot be written."""
        self._file.parent.mkdir(parents=True, exist_ok=True)
        try:
            self._connection = self._open()
        # a full or read-only disk: deleting the index would help nothing
        except sqlite3.OperationalError as error:
            raise OSError(f"the cache of photos in {self._file.parent} cannot be used: {error}") from error
        except sqlite3.DatabaseError:  # damaged: it is only ever a help
            self._discard()
            self._connection = self._open()
        return self

    def __exit__(self, *_: object) -> None:
        self._connection.close()

    def _open(self) -> sqlite3.Connection:
        connection = sqlite3.connect(self._file, timeout=PATIENCE_S, isolation_level=None, check_same_thread=False)
        try:
            # readers do not wait for a writer, and a killed run leaves nothing to clean up
            connection.execute("PRAGMA journal_mode=WAL")
            connection.execute("PRAGMA synchronous=NORMAL")  # a power cut may cost the last entries, and nothing else
            self._make_tables(connection)
        except BaseException:
            connection.close()
            raise
        return connection

    def _make_tables(self, connection: sqlite3.Connection) -> None:
        if connection.execute("PRAGMA user_version").fetchone()[0] == EDITION:
            return
        connection.execute("BEGIN IMMEDIATE")
        # asked again inside the transaction: another run may have made them meanwhile
        edition = connection.execute("PRAGMA user_version").fetchone()[0]
        if edition != EDITION:
            for table in ("original",) if edition == 1 else ("original", "made"):
                connection.execute(f"DROP TABLE IF EXISTS {table}")
            for statement in TABLES.split(";"):
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version={EDITION}")
        connection.execute("COMMIT")

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction: whole or not at all, and no other run writes meanwhile. Raises OSError, see `_guard`."""
        with self._guard():
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield self._connection
            except BaseException:
                with contextlib.suppress(sqlite3.Error):
                    self._connection.execute("ROLLBACK")
                raise
            self._connection.execute("COMMIT")

    @contextmanager
    def _guard(self) -> Iterator[None]:
        """One thread at a time; raises OSError for a disk that fails, and for an index that is damaged, once."""
        # one connection for all threads: a question takes next to nothing beside decoding a photo
        with self._lock:
            try:
                yield
            except sqlite3.OperationalError as error:
                raise OSError(f"the index {self._file} cannot be used: {error}") from error
            except sqlite3.DatabaseError as error:
                self._discard()
                raise OSError(
                    f"the index {self._file} was damaged and has been removed: run again ({error})"
                ) from error

    def _discard(self) -> None:
        for suffix in ("", "-wal", "-shm"):
            self._file.with_name(NAME + suffix).unlink(missing_ok=True)

    # ── which content lies where ─────────────────────────────────────────────────────────────────────────────────

    def find_digests(self, paths: Collection[str]) -> dict[str, tuple[int, int, int, int, str]]:
        """What is known of some files, by path: its sign, see `stat_key`, and the hash."""
        found: dict[str, tuple[int, int, int, int, str]] = {}
        wanted = list(paths)
        with self._guard():
            for at in range(0, len(wanted), AT_ONCE):
                some = wanted[at : at + AT_ONCE]
                ask = f"SELECT path, {SIGN}, digest FROM original WHERE path IN ({','.join('?' * len(some))})"
                found |= {path: (*told, digest) for path, *told, digest in self._connection.execute(ask, some)}
        return found

    def note_digest(self, path: str, found: os.stat_result, digest: str) -> None:
        """Remember a hash; not of a file so new that its time would not tell of a change."""
        if 0 <= self._clock() - max(found.st_mtime_ns, found.st_ctime_ns) < SETTLED_NS:
            return
        with self.writing() as connection:
            connection.execute(
                "INSERT OR REPLACE INTO original VALUES (?, ?, ?, ?, ?, ?)",
                (path, *stat_key(found), digest),
            )

    # ── what was made of it ──────────────────────────────────────────────────────────────────────────────────────

    def find_entries(self, keys: Collection[str]) -> dict[str, CacheEntry]:
        """What was made, by key, where something was. That it is used is noted, once a day."""
        today = self.today()
        rows = self._read_rows(keys)
        # once a day, so that a run over an unchanged log writes nothing
        late = [(today, key) for key, (_, used) in rows.items() if used != today]
        if late:
            with self.writing() as connection:
                connection.executemany("UPDATE made SET used = ? WHERE key = ?", late)
            rows = self._read_rows(keys)  # another run may have dropped some meanwhile; now none does
        return _read_entries({key: text for key, (text, _) in rows.items()})

    def _read_rows(self, keys: Collection[str]) -> dict[str, tuple[str, int]]:
        found: dict[str, tuple[str, int]] = {}
        wanted = list(keys)
        with self._guard():
            for at in range(0, len(wanted), AT_ONCE):
                some = wanted[at : at + AT_ONCE]
                ask = f"SELECT key, note, used FROM made WHERE key IN ({','.join('?' * len(some))})"
                found |= {key: (note, used) for key, note, used in self._connection.execute(ask, some)}
        return found

    def find_entry(self, connection: sqlite3.Connection, key: str) -> CacheEntry | None:
        """What was made under a key, inside a transaction of `writing`."""
        row = connection.execute("SELECT note FROM made WHERE key = ?", (key,)).fetchone()
        return read_entry(row[0]) if row else None

    def keep_entry(self, connection: sqlite3.Connection, key: str, entry: CacheEntry) -> None:
        """Put an entry under a key, inside a transaction of `writing`."""
        connection.execute("INSERT OR REPLACE INTO made VALUES (?, ?, ?)", (key, _write_entry(entry), self.today()))

    def drop(self, connection: sqlite3.Connection, day: int) -> int:
        """Forget what was last used before or on that day, and originals that are gone; says how many were made."""
        paths = [row for row in connection.execute("SELECT path FROM original") if not os.path.lexists(row[0])]
        connection.executemany("DELETE FROM original WHERE path = ?", paths)
        return connection.execute("DELETE FROM made WHERE used <= ?", (day,)).rowcount

    def list_keys(self, connection: sqlite3.Connection) -> frozenset[str]:
        """Every key under which something was made."""
        return frozenset(key for (key,) in connection.execute("SELECT key FROM made"))

    def today(self) -> int:
        """Days since 1970."""
        return self._clock() // DAY_NS


def _read_entries(texts: Mapping[str, str]) -> dict[str, CacheEntry]:
    """Notes as they are kept, by key, those left out that are none; read as one text where all of them are whole."""
    # as one text, which for thousands of entries takes a fraction of the time; one damaged entry is found one by one
    try:
        told = json.loads(f"[{','.join(texts.values())}]")
        if len(told) != len(texts):
            raise ValueError("an entry holds more than one")
        return {key: _make_entry(value) for key, value in zip(texts, told, strict=True)}
    except (ValueError, TypeError):
        entries = {key: read_entry(text) for key, text in texts.items()}
        return {key: entry for key, entry in entries.items() if entry}


def read_entry(text: str) -> CacheEntry | None:
    """An entry as it is kept; None when it is none."""
    try:
        return _make_entry(json.loads(text))
    except (ValueError, TypeError):
        return None


def _make_entry(told: Any) -> CacheEntry:
    width, height, colour, files = told
    return CacheEntry(files=tuple(map(StoredFile._make, files)), width=width, height=height, colour=colour)


def _write_entry(entry: CacheEntry) -> str:
    return json.dumps([entry.width, entry.height, entry.colour, entry.files])


def stat_key(found: os.stat_result) -> tuple[int, int, int, int]:
    """By what a file is known again: size, times, and inode as SQLite can hold it, as some have all 64 bits.

    The second time is when anything of it was last changed, which nobody can set: the first is given back to files by
    what copies them.
    """
    inode = found.st_ino
    return found.st_size, found.st_mtime_ns, found.st_ctime_ns, inode - 2**64 if inode >= 2**63 else inode
