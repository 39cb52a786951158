"""Whether a store gives back what it was given or nothing, whatever became of its file, and never stops a run."""

from __future__ import annotations

import os
import sqlite3
import stat
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from buildlog.cli import main
from buildlog.kept import store as store_module
from buildlog.kept.store import DAY_NS, NAME, Store, forget_kept, hash_parts, hash_program
from tests.killing import read_tree
from tests.preview.logs import DAY, make_log

VALUES = {hash_parts("a", str(n)): b"value %d " % n * 200 for n in range(50)}
Damage = Callable[[Path], object]


def fill(folder: Path, values: dict[bytes, bytes] = VALUES, *, days: int = 0) -> None:
    store = open_store(folder, days=days)
    store.keep(values)
    store.close()


def open_store(folder: Path, *, days: int = 0) -> Store:
    return Store(folder, b"program", clock=lambda: time.time_ns() + days * DAY_NS)


def read(folder: Path, *, days: int = 0) -> dict[bytes, bytes]:
    store = open_store(folder, days=days)
    found = store.find(VALUES)
    store.close()
    assert store.trouble == ""
    return found


def change(statement: str) -> Damage:
    def damage(file: Path) -> None:
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(statement)

    return damage


def test_what_was_kept_is_found_again_and_nothing_else(tmp_path: Path) -> None:
    fill(tmp_path)
    assert read(tmp_path) == VALUES
    assert open_store(tmp_path).find([hash_parts("b")]) == {}
    assert open_store(tmp_path).make_key("x", "y") != Store(tmp_path, b"other").make_key("x", "y")


def test_parts_do_not_run_into_each_other() -> None:
    """`ab`, `c` and `a`, `bc` are two things."""
    assert len({hash_parts("ab", "c"), hash_parts("a", "bc"), hash_parts("abc"), hash_parts("abc", "")}) == 4


DAMAGES: dict[str, Damage] = {
    "half": lambda file: os.truncate(file, file.stat().st_size // 2),
    "a little": lambda file: os.truncate(file, 100),
    "empty": lambda file: os.truncate(file, 0),
    "rubbish": lambda file: file.write_bytes(b"no file of ours " * 5000),
    "a byte": lambda file: file.write_bytes(file.read_bytes().replace(b"value 7 ", b"value 8 ", 1)),
    "values": change("UPDATE kept SET value = substr(value, 2)"),
    "other values": change("UPDATE kept SET value = (SELECT value FROM kept LIMIT 1)"),
    "numbers": change("UPDATE kept SET value = 1, sum = 2"),
    "other keys": change("UPDATE kept SET key = key || x'00'"),
    "other table": change("ALTER TABLE kept RENAME TO other"),
    "other columns": change("ALTER TABLE kept RENAME COLUMN sum TO total"),
    "version": change("PRAGMA user_version=77"),
}


@pytest.mark.parametrize("name", DAMAGES)
def test_a_damaged_file_gives_nothing_wrong_and_is_made_anew(name: str, tmp_path: Path) -> None:
    """In silence: what is found then is as it was given, and the next run finds what this one kept."""
    fill(tmp_path)
    DAMAGES[name](tmp_path / NAME)
    found = read(tmp_path)
    assert found.items() <= VALUES.items()
    assert found != VALUES
    fill(tmp_path)
    fill(tmp_path)  # a fault that only shows on writing took the first along
    assert read(tmp_path) == VALUES


def test_what_no_run_has_used_for_long_goes(tmp_path: Path) -> None:
    few = dict(list(VALUES.items())[:10])
    fill(tmp_path)
    store = open_store(tmp_path, days=60)
    assert store.find(few) == few
    store.close()
    fill(tmp_path, {hash_parts("new"): b""}, days=100)
    assert read(tmp_path, days=100) == few


def test_whoever_looks_for_what_is_old_does_not_read_the_file(tmp_path: Path) -> None:
    """Each run looks, and the file may have a hundred megabytes: what is old is found by an index of its days alone."""
    fill(tmp_path)
    with closing(sqlite3.connect(tmp_path / NAME)) as connection:
        rows = connection.execute("EXPLAIN QUERY PLAN DELETE FROM kept WHERE used < 1 OR used > 2").fetchall()
    told = [row[-1] for row in rows]
    assert any("by_use" in each for each in told)
    assert not any(each.startswith("SCAN") for each in told)


def test_the_file_does_not_grow_without_bound(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was not used for longest goes first, down to three quarters; what is new stays."""
    monkeypatch.setattr(store_module, "LARGEST", 200_000)
    size = 0
    for day in range(30):
        fill(tmp_path, {hash_parts(str(day), str(n)): os.urandom(2000) for n in range(20)}, days=day)
        size = max(size, (tmp_path / NAME).stat().st_size)
    assert size < 300_000
    kept = open_store(tmp_path, days=29).find([hash_parts("29", str(n)) for n in range(20)])
    assert len(kept) == 20
    assert open_store(tmp_path, days=29).find([hash_parts("3", str(n)) for n in range(20)]) == {}


def test_it_can_be_removed(tmp_path: Path) -> None:
    fill(tmp_path)
    assert forget_kept(tmp_path) > 10_000
    assert list(tmp_path.iterdir()) == []
    assert forget_kept(tmp_path) == 0


def test_another_program_is_known_by_its_files(tmp_path: Path) -> None:
    """Code, a theme, a file more or less, another place; of a change of just now nothing is known yet."""

    def later() -> int:
        return time.time_ns() + 10 * store_module.SETTLED_NS

    package = tmp_path / "one/buildlog"
    package.mkdir(parents=True)
    (package / "a.py").write_text("x = 1")
    assert hash_program(package) is None
    known = [hash_program(package, clock=later)]
    (package / "a.py").write_text("x = 2")
    known.append(hash_program(package, clock=later))
    (package.parent / "themes").mkdir()
    (package.parent / "themes/page.html").write_text("<p>")
    known.append(hash_program(package, clock=later))
    (tmp_path / "one").rename(tmp_path / "two")
    known.append(hash_program(tmp_path / "two/buildlog", clock=later))
    assert len({*known, None}) == 5
    assert hash_program(tmp_path / "two/buildlog", clock=later) == known[-1]


# ── a whole publish beside a cache that cannot be used ───────────────────────────────────────────────────────────


def publish(log: Path, out: Path) -> Result:
    return CliRunner().invoke(main, ["publish", str(log), "--out", str(out), "--as-of", str(DAY)])


def own_by_another(cache: Path, patch: pytest.MonkeyPatch) -> None:
    patch.setattr(os, "geteuid", lambda: 4711)


def no_folder(cache: Path, patch: pytest.MonkeyPatch) -> None:
    """As where the folder may not be made: a file stands in its place."""
    cache.write_text("in the way")


def read_only(cache: Path, patch: pytest.MonkeyPatch) -> None:
    """As SQLite says it: permissions bind no test that is run by root."""
    _refuse(cache, patch, "attempt to write a readonly database")


def full(cache: Path, patch: pytest.MonkeyPatch) -> None:
    _refuse(cache, patch, "database or disk is full")


def no_locks(cache: Path, patch: pytest.MonkeyPatch) -> None:
    """As on some drives over a network."""
    _refuse(cache, patch, "disk I/O error")


def _refuse(cache: Path, patch: pytest.MonkeyPatch, message: str) -> None:
    connect = sqlite3.connect

    def refuse(file: Path, **named: Any) -> sqlite3.Connection:
        if Path(file).is_relative_to(cache):
            raise sqlite3.OperationalError(message)
        return connect(file, **named)

    patch.setattr(sqlite3, "connect", refuse)


@pytest.mark.parametrize("trouble", [own_by_another, no_folder, read_only, full, no_locks])
def test_publish_works_without_a_cache_and_says_one_sentence(
    trouble: Callable[[Path, pytest.MonkeyPatch], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same site, photos too."""
    monkeypatch.setattr(store_module, "find_program", lambda: b"program")
    log, cache = make_log(tmp_path / "log"), tmp_path / "cache"
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "first"))
    assert publish(log, tmp_path / "as always").exit_code == 0
    monkeypatch.setenv("XDG_CACHE_HOME", str(cache))
    if trouble is own_by_another:
        assert publish(log, tmp_path / "other").stderr == ""
    trouble(cache, monkeypatch)
    for _ in range(2):
        result = publish(log, tmp_path / "site")
        assert (result.exit_code, result.exception) == (0, None)
        assert len(result.stderr.splitlines()) == 1, result.stderr
        assert "not kept for the next run, so this one may take longer: " in result.stderr
    assert read_tree(tmp_path / "site") == read_tree(tmp_path / "as always")
    assert read_tree(tmp_path / "site")


def test_a_file_that_another_run_holds_is_waited_for_and_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not for long, and nothing is lost but time."""
    monkeypatch.setattr(store_module, "PATIENCE_S", 0.05)
    fill(tmp_path)
    with closing(sqlite3.connect(tmp_path / NAME, isolation_level=None)) as connection:
        connection.execute("BEGIN EXCLUSIVE")
        store = open_store(tmp_path)
        assert store.find(VALUES) == {}
        store.keep({hash_parts("x"): b"x"})
        store.close()
        assert "locked" in store.trouble
        connection.execute("ROLLBACK")
    assert read(tmp_path) == VALUES


def test_the_file_is_the_owners_alone(tmp_path: Path) -> None:
    """It holds what the log says, which need not be public."""
    fill(tmp_path / "cache")
    assert stat.S_IMODE((tmp_path / "cache").stat().st_mode) & 0o077 == 0
