"""The cache: nothing is done twice, what is not whole is never used, and what nobody uses can be dropped."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from buildlog.cli import main
from buildlog.photos import cache as cache_module
from buildlog.photos import index as index_module
from buildlog.photos import publish, variants
from buildlog.photos.cache import NAME as VARIANT
from buildlog.photos.cache import Pruned, find_cache, prune_cache
from buildlog.photos.index import DAY_NS, NAME, Index, stat_key
from buildlog.photos.publish import PhotoWork, make_photos
from buildlog.photos.recipe import PhotoSet
from tests.photos.pictures import BOX, make_one, request, save


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    return tmp_path / "cache"


def refuse_work(*_: object, **__: object) -> None:
    """Stands for developing where nothing may be developed."""
    raise AssertionError("done twice")


@pytest.fixture(autouse=True)
def settled(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every file as if it had lain there for a while: its times would tell of a change."""
    monkeypatch.setattr(index_module, "SETTLED_NS", 0)


def settle(path: Path) -> Path:
    """The file with a time that is another than that of the next change."""
    old = time.time_ns() - 20 * 10**9
    os.utime(path, ns=(old, old))
    return path


# ── nothing twice ────────────────────────────────────────────────────────────────────────────────────────────────


def test_second_run_does_nothing(tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was made once is found again, whatever the original is called and wherever it lies now."""
    source = save(tmp_path / "x.jpg")
    first = make_one(source, cache)
    monkeypatch.setattr(variants, "develop", refuse_work)
    assert make_one(source, cache) == first
    (tmp_path / "moved").mkdir()
    moved = make_one(source.rename(tmp_path / "moved/renamed.JPEG"), cache)
    assert moved == first


def test_unchanged_photo_costs_a_stat(tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Path, size, time and inode as they were: the file is not opened, and no pool is started."""
    source = settle(save(tmp_path / "x.jpg"))
    first = make_one(source, cache)
    monkeypatch.setattr(publish, "hash_file", refuse_work)
    monkeypatch.setattr(publish, "ThreadPoolExecutor", refuse_work)
    assert make_one(source, cache) == first


def test_moved_photo_costs_a_hash(tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A copy, a new name, a new place: its content is hashed once, and by the next run it is known there."""
    make_one(settle(save(tmp_path / "x.jpg")), cache)
    monkeypatch.setattr(variants, "develop", refuse_work)
    moved = (tmp_path / "x.jpg").rename(tmp_path / "y.jpg")
    make_one(moved, cache)
    monkeypatch.setattr(publish, "hash_file", refuse_work)
    make_one(moved, cache)


@pytest.mark.parametrize("change", ["size", "time", "file", "bytes alone"])
def test_changed_file_is_looked_into(change: str, tmp_path: Path, cache: Path) -> None:
    """A file that differs in any of what is remembered is hashed again."""
    source, other = settle(save(tmp_path / "x.png", "AB")), settle(save(tmp_path / "other.png", "AC"))
    for path in (source, other):
        path.write_bytes(path.read_bytes().ljust(5000, b"\0"))  # what follows a PNG's end is nothing to its picture
        os.utime(path, ns=(10**18, 10**18))
    first = make_one(source, cache)
    if change == "file":
        os.replace(other, source)
    else:
        source.write_bytes(other.read_bytes() + (b"\0" if change == "size" else b""))
        os.utime(source, ns=(10**18, 10**18 + (change == "time")))
    assert make_one(source, cache) != first


def test_file_that_is_too_new_is_not_remembered(tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that is newer than its time can tell may change and keep it, so it is hashed once more."""
    monkeypatch.setattr(index_module, "SETTLED_NS", 3600 * 10**9)  # a busy machine is slow, and not by an hour
    source = save(tmp_path / "x.png")
    make_one(source, cache)
    monkeypatch.setattr(publish, "hash_file", refuse_work)
    with pytest.raises(AssertionError, match="done twice"):
        make_one(source, cache)


@pytest.mark.parametrize("change", ["box", "pixel", "recipe", "edition"])
def test_what_decides_the_picture_decides_the_key(change: str, tmp_path: Path, cache: Path) -> None:
    """Another box, another original, another recipe or another way to carry it out finds nothing of the old."""
    source = save(tmp_path / "x.png")
    before = {variant.file for variant in make_one(source, cache).variants}
    with pytest.MonkeyPatch.context() as patch:
        if change == "recipe":
            patch.setattr(cache_module, "_RECIPE", "another")
        elif change == "edition":
            patch.setattr(cache_module, "EDITION", "another")
        elif change == "pixel":
            save(source, "AB/CE")
        after = {variant.file for variant in make_one(source, cache, (BOX,) if change == "box" else ()).variants}
    assert not before & after


def test_link_is_looked_into_each_time(tmp_path: Path, cache: Path) -> None:
    """What a link leads to can change while the link does not."""
    one, two = settle(save(tmp_path / "one.png", "AB")), settle(save(tmp_path / "two.png", "CD"))
    link = tmp_path / "x.png"
    link.symlink_to(one)
    first = make_one(link, cache)
    link.unlink()
    link.symlink_to(two)
    assert make_one(link, cache) != first


# ── nothing that is not whole ────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("damage", ["cut", "gone", "other time", "note cut", "note hostile", "no index", "bad index"])
def test_damaged_cache_is_mended(damage: str, tmp_path: Path, cache: Path) -> None:
    """What is not whole counts as absent and is made again."""
    source = settle(save(tmp_path / "x.png"))
    first = make_one(source, cache)
    contents = [variant.file.read_bytes() for variant in first.variants]
    file = first.variants[0].file
    match damage:
        case "cut":
            file.write_bytes(contents[0][:-1])
        case "gone":
            first.variants[-1].file.unlink()
        case "other time":
            file.write_bytes(b"\0" * len(contents[0]))
        case "note cut":
            change_notes(cache, "substr(note, 1, length(note) - 5)")
        case "note hostile":
            change_notes(cache, "replace(note, 'WEBP', '../../../etc/passwd')")
        case "no index":
            (cache / NAME).unlink()
        case "bad index":
            (cache / NAME).write_bytes(b"no index at all " * 1000)
    assert [variant.file.read_bytes() for variant in make_one(source, cache).variants] == contents


def change_notes(cache: Path, to: str) -> None:
    connection = sqlite3.connect(cache / NAME)
    connection.execute(f"UPDATE made SET note = {to}")
    connection.commit()
    connection.close()


def test_index_damaged_within_is_told_and_taken_away(tmp_path: Path, cache: Path) -> None:
    """Damage that shows only in use ends the run with a word on what to do, and the next one starts afresh."""
    requests = [request(settle(save(tmp_path / f"{n}.png", rows)), f"e/{n}") for n, rows in enumerate(["AB", "CD"])]
    make_photos(requests, cache)
    content = bytearray((cache / NAME).read_bytes())
    content[4096:] = b"\xff" * (len(content) - 4096)
    (cache / NAME).write_bytes(content)
    with pytest.raises(OSError, match="damaged and has been removed: run again"):
        make_photos(requests, cache)
    assert len(make_photos(requests, cache)[0]) == 2


def test_index_of_another_edition_is_begun_anew(tmp_path: Path, cache: Path) -> None:
    """Tables of an older or newer version are dropped, not misread."""
    source = save(tmp_path / "x.png")
    first = make_one(source, cache)
    connection = sqlite3.connect(cache / NAME)
    connection.execute("PRAGMA user_version=99")
    connection.close()
    again = make_one(source, cache)
    assert [variant.path for variant in again.variants] == [variant.path for variant in first.variants]


TOP = Path(__file__).parents[2]
MAKE = """
import sys
from pathlib import Path
from tests.photos.pictures import request
from buildlog.photos.publish import make_photos
from tests.killing import count_events, die_at
folder, cache, at = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
requests = [request(path, f"e/{path.stem}") for path in sorted(folder.iterdir())]
count = count_events()
if at:
    die_at(at)
make_photos(requests, cache)
print(count())
"""


def make_apart(folder: Path, cache: Path, *, die_at: int = 0) -> subprocess.Popen[str]:
    """A run over all photos of a folder, which is killed at an event, or ends by saying how many it met."""
    command = [sys.executable, "-c", MAKE, str(folder), str(cache), str(die_at)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, cwd=TOP, text=True)


def test_killed_runs_leave_nothing_half_made(tmp_path: Path) -> None:
    """Killed at whatever event, a run leaves a cache that never gives a variant that is not the whole one."""
    folder = tmp_path / "photos"
    folder.mkdir()
    for n, rows in enumerate(["AB", "CD", "EF", "FA", "BC", "DE", "AC", "BD"]):
        settle(save(folder / f"{n}.png", rows, 700))
    requests = [request(path, f"e/{path.stem}") for path in sorted(folder.iterdir())]
    whole, _ = make_photos(requests, tmp_path / "other")
    contents = {name: [variant.file.read_bytes() for variant in made.variants] for name, made in whole.items()}
    events = int(make_apart(folder, tmp_path / "third").communicate()[0])
    for part in range(1, 8):
        cache = tmp_path / str(part)
        run = make_apart(folder, cache, die_at=events * part // 8)
        run.communicate()
        assert run.returncode == -signal.SIGKILL, part
        with PhotoWork(requests, cache) as work:
            ready = [name for name in contents if work.is_ready([name])]
            for name in ready:
                made = work.wait_for(name)
                assert made is not None
                assert [variant.file.read_bytes() for variant in made.variants] == contents[name]
        made_now, _ = make_photos(requests, cache)
        assert {n: [v.file.read_bytes() for v in made.variants] for n, made in made_now.items()} == contents
        assert [path.name for path in cache.glob("??/*") if not VARIANT.fullmatch(path.name)] == []


def test_two_runs_share_a_cache(tmp_path: Path, cache: Path) -> None:
    """Four at once make the same files, none sees half of one, and no file is exchanged once it is there."""
    requests = [request(save(tmp_path / f"{n}.png", rows), f"e/{n}") for n, rows in enumerate(["AB", "CD", "EF", "AB"])]
    results: list[dict[str, PhotoSet]] = []

    def run() -> None:
        results.append(make_photos(requests, cache)[0])

    threads = [threading.Thread(target=run) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(results) == 4 and all(result == results[0] for result in results)
    for made in results[0].values():
        assert all(variant.file.stat().st_mtime_ns == variant.mtime_ns for variant in made.variants)
    files = [path for path in cache.rglob("*") if path.is_file() and path.parent != cache]
    assert {path.suffix for path in files} == {".webp", ".jpg"} and len(files) == 3 * 2


def test_two_processes_share_a_cache(tmp_path: Path, cache: Path) -> None:
    """Two runs of the program at the same time both end well, and the cache is whole."""
    folder = tmp_path / "photos"
    folder.mkdir()
    for n, rows in enumerate(["AB", "CD", "EF", "FA"]):
        save(folder / f"{n}.png", rows, 300)
    runs = [make_apart(folder, cache) for _ in range(2)]
    assert all(int(run.communicate()[0]) for run in runs)
    assert [run.returncode for run in runs] == [0, 0]
    with PhotoWork([request(path, path.stem) for path in folder.iterdir()], cache) as work:
        assert all(work.wait_for(path.stem) for path in folder.iterdir())


def test_file_that_changes_while_it_is_read(tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is made of half the old file and half the new one is not kept."""
    source = save(tmp_path / "x.png")
    develop = variants.develop

    def develop_and_change(*given: object, **named: object) -> object:
        made = develop(*given, **named)  # type: ignore[arg-type]  # handed on as they came
        with source.open("ab") as file:
            file.write(b"more")
        return made

    monkeypatch.setattr(variants, "develop", develop_and_change)
    photos, problems = make_photos([request(source)], cache)
    assert not photos and [problem.message for problem in problems] == ["`x.png` was changed while it was being read"]
    assert not list(cache.glob("*/*"))


# ── forgetting ───────────────────────────────────────────────────────────────────────────────────────────────────


def age(cache: Path, days: int) -> None:
    """As if the last use of everything were so many days ago."""
    connection = sqlite3.connect(cache / NAME)
    connection.execute("UPDATE made SET used = used - ?", (days,))
    connection.commit()
    connection.close()


def test_what_is_not_used_is_dropped(tmp_path: Path, cache: Path) -> None:
    """Used within the days: kept. Not: its files go, and its original is still published, from the start."""
    old, new = settle(save(tmp_path / "old.png", "AB")), settle(save(tmp_path / "new.png", "CD"))
    gone, kept = make_one(old, cache), make_one(new, cache)
    age(cache, 90)
    make_one(new, cache)  # used today
    size = sum(variant.size for variant in gone.variants)
    assert prune_cache(cache, days=90) == Pruned(photos=1, files=len(gone.variants), bytes=size)
    assert not any(variant.file.exists() for variant in gone.variants)
    assert all(variant.file.exists() for variant in kept.variants)
    assert [v.path for v in make_one(old, cache).variants] == [v.path for v in gone.variants]


def test_what_is_used_within_the_days_is_kept(tmp_path: Path, cache: Path) -> None:
    """The 89th day is within ninety."""
    made = make_one(save(tmp_path / "x.png"), cache)
    age(cache, 89)
    assert prune_cache(cache, days=90) == Pruned(photos=0, files=0, bytes=0)
    assert all(variant.file.exists() for variant in made.variants)


def test_leavings_of_killed_runs_are_dropped(tmp_path: Path, cache: Path) -> None:
    """Half-written files go at once where their run is not at work any more; else once they are a day old."""
    made = make_one(save(tmp_path / "x.png"), cache)
    name = made.variants[0].file
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    half, fresh, dead = (name.with_name(f"{name.name}.{run}-456") for run in (os.getppid(), os.getpid(), ended.pid))
    for path in (half, fresh, dead):
        path.write_bytes(b"half")
    os.utime(half, ns=(0, time.time_ns() - DAY_NS - 10**9))
    assert prune_cache(cache, days=90) == Pruned(photos=0, files=2, bytes=8)
    assert fresh.exists() and not half.exists() and not dead.exists() and name.exists()


def test_originals_that_are_gone_are_forgotten(tmp_path: Path, cache: Path) -> None:
    """The index does not grow for ever by photos that were moved."""
    source = settle(save(tmp_path / "x.png"))
    make_one(source, cache)
    found = source.stat()
    with Index(cache) as index:
        assert index.find_digests([str(source)])[str(source)][:4] == stat_key(found)
    source.unlink()
    prune_cache(cache, days=90)
    with Index(cache) as index:
        assert index.find_digests([str(source)]) == {}


def test_the_command_forgets(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`buildlog forget-photos` drops from the user's own cache, and says how much."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    made = make_one(save(tmp_path / "x.png"), find_cache())
    age(find_cache(), 30)
    (tmp_path / "buildlog/kept").mkdir()
    (tmp_path / "buildlog/kept/work.sqlite").write_bytes(bytes(2_000_000))
    first = CliRunner().invoke(main, ["forget-photos"])
    assert first.output == "photos cleared: 0, files removed: 0, 0.0 MB\nkept work cleared: 2.0 MB\n"
    told = CliRunner().invoke(main, ["forget-photos", "--days", "30"])
    size = sum(variant.size for variant in made.variants) / 1e6
    assert (told.exit_code, told.output) == (
        0,
        f"photos cleared: 1, files removed: 2, {size:.1f} MB\nkept work cleared: 0.0 MB\n",
    )


def test_nothing_to_forget(tmp_path: Path) -> None:
    """Where there is no cache, none is made."""
    assert str(prune_cache(tmp_path / "none", days=1)) == "photos cleared: 0, files removed: 0, 0.0 MB"
    assert not (tmp_path / "none").exists()


def test_where_the_cache_is(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """$XDG_CACHE_HOME, else ~/.cache (XDG Base Directory Specification 0.8), as platformdirs finds it."""
    if sys.platform != "linux":
        pytest.skip("the specification is for Linux and its kin; elsewhere the system's own place is taken")
    monkeypatch.setenv("HOME", str(tmp_path))
    for value, base in (("/var/x", Path("/var/x")), ("", tmp_path / ".cache")):
        monkeypatch.setenv("XDG_CACHE_HOME", value)
        assert find_cache() == base / "buildlog/photos"
