"""One SQLite file of what earlier runs worked out, asked by key: a key is made of all that decides a value.

So nothing in it is ever out of date, only unused. Values are plain bytes with a checksum over key and value, and are
never executed. The file may be damaged, locked, full, somebody else's or gone at any time: what it does not give is
worked out again, what it does not take is lost, and a run is told one sentence of it at most.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sqlite3
import sys
import time
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path

EDITION = 2
"Changes with the table, and with what any value means that is kept in it."
NAME = "work.sqlite"
TABLE = (
    "CREATE TABLE kept (key BLOB PRIMARY KEY, value BLOB, sum BLOB, used INTEGER)",
    "CREATE INDEX by_use ON kept (used)",  # without it, whoever looks for what is old reads the whole file
)
PATIENCE_S = 2.0
"Seconds to wait for another run that is writing: it writes once, at its end."
AT_ONCE = 500
"Keys in one question: SQLite takes at most 999 values in older builds."
DAY_NS = 86_400 * 10**9
SETTLED_NS = 2 * 10**9
"Nanoseconds after which a file's time tells of a change: the coarsest clock of a file system ticks every two seconds."
LONGEST_UNUSED = 90
"Days after which a value is dropped that no run has used."
LARGEST = 400_000_000
"Bytes of the file; beyond that, what was not used for longest goes. A log of 2,000 entries takes a tenth."
MOST_HELD = 1_000_000
"Bytes of new values that are held in memory; beyond that they are written, as each is true by itself."
KEY_BYTES, SUM_BYTES = 20, 12


def find_kept() -> Path:
    """The folder of the file, in the place that the system has for such things."""
    from platformdirs import user_cache_path

    return user_cache_path("buildlog", appauthor=False) / "kept"


def hash_parts(*parts: str | bytes) -> bytes:
    """A digest of some texts and bytes, in which none runs into the next."""
    pieces: list[bytes] = []
    for part in parts:
        data = part.encode("utf-8", "surrogatepass") if isinstance(part, str) else part
        pieces += (len(data).to_bytes(8, "big"), data)
    return hashlib.blake2b(b"".join(pieces), digest_size=KEY_BYTES).digest()


def hash_folders(folders: Iterable[Path], word: str) -> bytes:
    """A checksum over every file below some folders: names, bytes, and where links lead."""
    found = hashlib.blake2b(word.encode())
    for folder in folders:
        for base, names, files in os.walk(folder):
            names.sort()
            for name in sorted([*files, *(name for name in names if os.path.islink(os.path.join(base, name)))]):
                path = Path(base, name)
                data = os.fsencode(os.readlink(path)) if path.is_symlink() else path.read_bytes()
                found.update(f"{path}\0{path.is_symlink()}\0{len(data)}\0".encode("utf-8", "surrogateescape") + data)
    return found.digest()


def hash_program(package: Path, *, clock: Callable[[], int] = time.time_ns) -> bytes | None:
    """A digest of the program, its themes and the libraries beside it; None where it is being changed just now.

    By the stat of its own files: another checkout, and another version in the same place, have other ones. Of libraries
    their versions count, as their installers leave them: a library that is edited in place is not noticed.
    """
    told, newest = [sys.version, str(package), str(EDITION)], 0
    themes = package.parent / "themes"
    for top in (package, *([themes] if themes.is_dir() else [])):
        for base, folders, names in os.walk(top):
            folders[:] = sorted(name for name in folders if name != "__pycache__")
            for name in sorted(names):
                found = os.stat(f"{base}/{name}")
                newest = max(newest, found.st_mtime_ns, found.st_ctime_ns)
                told.append(f"{base}/{name} {found.st_size} {found.st_mtime_ns} {found.st_ctime_ns} {found.st_ino}")
    for path in dict.fromkeys(sys.path):
        if path.endswith("-packages"):
            with contextlib.suppress(OSError):
                told += sorted(name for name in os.listdir(path) if name.endswith((".dist-info", ".egg-info")))
    return hash_parts(*told) if clock() - newest > SETTLED_NS else None


class Store:
    """The file of one user, opened when it is first asked; to be closed, which writes."""

    def __init__(self, folder: Path, program: bytes, *, clock: Callable[[], int] = time.time_ns) -> None:
        """`program` is part of every key, see `hash_program`."""
        self._file = folder / NAME
        self._program = program
        self._clock = clock
        self._connection: sqlite3.Connection | None = None
        self._usable = True
        self._new: dict[bytes, bytes] = {}
        self._held = 0
        self._late: set[bytes] = set()
        self.trouble = ""
        "why nothing is kept, for whoever wonders that it takes so long; empty: nothing is wrong"

    def make_key(self, kind: str, *parts: str | bytes) -> bytes:
        """The key of a value of this kind that these parts decide, and this program."""
        return hash_parts(self._program, kind, *parts)

    def find(self, keys: Collection[bytes]) -> dict[bytes, bytes]:
        """The values that are kept, by key, each as it was given."""
        found = {key: self._new[key] for key in keys if key in self._new}
        wanted = [key for key in keys if key not in found]
        with self._guarded() as connection:
            for at in range(0, len(wanted), AT_ONCE):
                found |= self._find_some(connection, wanted[at : at + AT_ONCE]) if connection else {}
        return found

    def find_one(self, key: bytes) -> bytes | None:
        return self.find((key,)).get(key)

    def keep(self, values: Mapping[bytes, bytes]) -> None:
        """Have these written, when the store is closed at the latest."""
        self._new |= values
        self._held += sum(map(len, values.values()))
        if self._held > MOST_HELD:
            with self._guarded() as connection:
                if connection:
                    self._write(connection)
            self._new, self._held = {}, 0

    def close(self) -> None:
        """Write what is new, and drop what is not used any more."""
        if self._new or self._late:
            with self._guarded() as connection:
                if connection:
                    self._write(connection, last=True)
        if self._connection is not None:
            self._connection.close()
        self._connection, self._usable = None, False

    def _find_some(self, connection: sqlite3.Connection, keys: list[bytes]) -> dict[bytes, bytes]:
        ask = f"SELECT key, value, sum, used FROM kept WHERE key IN ({','.join('?' * len(keys))})"
        today = self._clock() // DAY_NS
        found = {}
        for key, value, told, used in connection.execute(ask, keys):
            # Anybody may have written into the file: what is of another type or does not add up counts as absent.
            if isinstance(value, bytes) and isinstance(key, bytes) and told == _add_up(key, value):
                found[key] = value
                if used != today:
                    self._late.add(key)
        return found

    def _write(self, connection: sqlite3.Connection, *, last: bool = False) -> None:
        """In one transaction."""
        today = self._clock() // DAY_NS
        connection.execute("BEGIN IMMEDIATE")
        try:
            rows = ((key, value, _add_up(key, value), today) for key, value in self._new.items())
            connection.executemany("INSERT OR REPLACE INTO kept VALUES (?, ?, ?, ?)", rows)
            connection.executemany("UPDATE kept SET used = ? WHERE key = ?", ((today, key) for key in self._late))
            if last:
                connection.execute("DELETE FROM kept WHERE used < ? OR used > ?", (today - LONGEST_UNUSED, today + 1))
                _bound(connection)
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
            raise
        connection.execute("COMMIT")

    # ── the file, which may be anything ──────────────────────────────────────────────────────────────────────────

    @contextlib.contextmanager
    def _guarded(self) -> Iterator[sqlite3.Connection | None]:
        """The open file, or None; whatever goes wrong with it ends its use and not the run."""
        connection = None
        try:
            if self._usable and self._connection is None:
                self._connection = self._open()
            connection = self._connection if self._usable else None
        except (sqlite3.Error, OSError) as error:
            self._give_up(error)
        try:
            yield connection
        except (sqlite3.Error, OSError) as error:
            self._give_up(error)

    def _open(self) -> sqlite3.Connection:
        self._file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        # What somebody else left there could not be executed, but would be believed.
        for path in (self._file.parent, self._file):
            if hasattr(os, "geteuid") and os.path.lexists(path) and os.stat(path).st_uid != os.geteuid():
                raise PermissionError(f"`{path}` belongs to somebody else")
        try:
            return self._open_as_it_is()
        except sqlite3.OperationalError:
            raise
        except sqlite3.DatabaseError:  # damaged, or no such file at all: it is only ever a help
            self._discard()
            return self._open_as_it_is()

    def _open_as_it_is(self) -> sqlite3.Connection:
        connection = sqlite3.connect(self._file, timeout=PATIENCE_S, isolation_level=None)
        connection.text_factory = bytes  # where somebody left a text, whatever bytes it has
        try:
            # No log beside it, which needs memory that all share: file systems over a network have none.
            connection.execute("PRAGMA journal_mode=TRUNCATE")
            # A few hundred kilobytes of it in memory: values are asked for by key, and hardly any twice.
            connection.execute("PRAGMA cache_size=-500")
            # A power cut may damage the file, which then is made anew; a killed run cannot.
            connection.execute("PRAGMA synchronous=OFF")
            if connection.execute("PRAGMA user_version").fetchone()[0] != EDITION:
                connection.execute("BEGIN IMMEDIATE")
                connection.execute("DROP TABLE IF EXISTS kept")
                for statement in TABLE:
                    connection.execute(statement)
                connection.execute(f"PRAGMA user_version={EDITION}")
                connection.execute("COMMIT")
            connection.execute("SELECT key, value, sum, used FROM kept LIMIT 1").fetchone()
        except BaseException:
            connection.close()
            raise
        return connection

    def _give_up(self, error: Exception) -> None:
        self._usable = False
        if self._connection is not None:
            with contextlib.suppress(sqlite3.Error):
                self._connection.close()
            self._connection = None
        damaged = isinstance(error, sqlite3.DatabaseError) and not isinstance(error, sqlite3.OperationalError)
        if damaged or "no such" in str(error):
            with contextlib.suppress(OSError):
                self._discard()
                return
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        self.trouble = f"work is not kept for the next run, so this one may take longer: {self._file}: {reason}"

    def _discard(self) -> None:
        for suffix in ("-journal", "-wal", "-shm", ""):
            self._file.with_name(NAME + suffix).unlink(missing_ok=True)


@contextlib.contextmanager
def keeping_store(anew: bool = False) -> Iterator[Store | None]:
    """The store of this user, closed at the end, however that comes; None where nothing in it is to be believed."""
    program = None if anew else find_program()
    if program is None:
        yield None
        return
    store = Store(find_kept(), program)
    try:
        yield store
    finally:
        store.close()


@cache
def find_program() -> bytes | None:
    """What this program is known by, see `hash_program`; None while it is being changed."""
    return hash_program(Path(__file__).parent.parent)


def _add_up(key: bytes, value: bytes) -> bytes:
    return hashlib.blake2b(value, digest_size=SUM_BYTES, key=key).digest()


def _bound(connection: sqlite3.Connection) -> None:
    """Drop what was not used for longest, down to three quarters, where the file has grown too large."""
    pages, free, size = (
        connection.execute(f"PRAGMA {name}").fetchone()[0] for name in ("page_count", "freelist_count", "page_size")
    )
    taken = (pages - free) * size
    if taken <= LARGEST:
        return
    lengths = connection.execute("SELECT rowid, length(value) FROM kept ORDER BY used, rowid").fetchall()
    # By shares of the whole, as a value takes more of the file than its own length.
    left = sum(length for _, length in lengths) * (taken - LARGEST * 3 // 4) // taken
    gone = []
    for row, length in lengths:
        if left <= 0:
            break
        gone.append((row,))
        left -= length
    connection.executemany("DELETE FROM kept WHERE rowid = ?", gone)


def forget_kept(folder: Path) -> int:
    """Remove the file; says how many bytes it had."""
    file, size = folder / NAME, 0
    for suffix in ("-journal", "-wal", "-shm", ""):
        with contextlib.suppress(FileNotFoundError):
            path = file.with_name(NAME + suffix)
            size += path.stat().st_size
            path.unlink()
    return size
