"""Writing a site: whole or visibly unfinished, never somebody else's files, the same again costs nothing."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import tempfile
import types
from pathlib import Path

import pytest

from buildlog.output.write import MANIFEST, MARKER, OutputRefused, WriteReport, write_site

OLD = {
    "index.html": b"old",
    "entries/a.html": b"a",
    "entries/b.html": b"b",
    "photos/b/x-640.webp": b"x",
    "feed.xml": b"f",
}
NEW = {"index.html": b"new", "entries/a.html": b"a", "entries/c.html": b"c", "theme/look.css": b"l", "feed.xml": b"g"}


def read(out: Path) -> dict[str, bytes]:
    """Every file of a folder, our own two lists left out."""
    files = {path.relative_to(out).as_posix(): path.read_bytes() for path in out.rglob("*") if path.is_file()}
    return {name: content for name, content in files.items() if name not in (MANIFEST, MARKER)}


def put(folder: Path, files: dict[str, bytes]) -> Path:
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return folder


def stamps(out: Path) -> dict[str, tuple[int, int]]:
    return {str(path): (path.stat().st_ino, path.stat().st_mtime_ns) for path in out.rglob("*")}


# ── what is written ──────────────────────────────────────────────────────────────────────────────────────────────


def test_first_run_writes_everything(tmp_path: Path) -> None:
    """The folder holds the files and the list of them, and no marker."""
    report = write_site(tmp_path / "site", OLD)
    assert read(tmp_path / "site") == OLD
    assert not (tmp_path / "site" / MARKER).exists()
    assert (tmp_path / "site" / MANIFEST).read_text().partition("\n\n")[2].splitlines() == sorted(OLD)
    assert (report.unchanged, report.removed) == ((), ())


def test_what_others_point_to_comes_first(tmp_path: Path) -> None:
    """Pictures and styles are there before pages, entries before lists, and the ways in come last."""
    names = ["index.html", "feed.xml", "costs.html", "entries/a.html", "theme/x.css", "photos/a/y.webp", "sitemap.xml"]
    report = write_site(tmp_path / "site", dict.fromkeys(names, b""))
    assert report.written == (
        "photos/a/y.webp", "theme/x.css", "entries/a.html", "costs.html", "feed.xml", "index.html", "sitemap.xml",
    )  # fmt: skip


def test_second_run_changes_what_changed(tmp_path: Path) -> None:
    """Only what differs is written, only what an earlier run wrote is removed, with the folders left empty."""
    out = tmp_path / "site"
    write_site(out, OLD)
    report = write_site(out, NEW)
    assert read(out) == NEW
    assert report == WriteReport(
        written=("theme/look.css", "entries/c.html", "feed.xml", "index.html"),
        unchanged=("entries/a.html",),
        removed=("entries/b.html", "photos/b/x-640.webp"),
    )
    assert str(report) == "files written: 4, unchanged: 1, removed: 2"
    assert not (out / "photos").exists()


def test_same_again_touches_nothing(tmp_path: Path) -> None:
    """A run with nothing new leaves every file and folder as it was, their times included."""
    out = tmp_path / "site"
    write_site(out, OLD)
    before = stamps(out)
    assert write_site(out, OLD).written == ()
    assert stamps(out) == before


def test_damaged_file_is_mended(tmp_path: Path) -> None:
    """A published file that was changed or lost since is written again."""
    out = tmp_path / "site"
    write_site(out, OLD)
    (out / "index.html").write_bytes(b"oLd")
    (out / "entries/a.html").unlink()
    assert write_site(out, OLD).written == ("entries/a.html", "index.html")
    assert read(out) == OLD


def test_copies_are_known_by_size_and_time(tmp_path: Path) -> None:
    """A file that is copied keeps the time of its source, by which the next run knows it; a lost time is no harm."""
    source = tmp_path / "cached"
    source.write_bytes(b"picture")
    os.utime(source, ns=(1, 1_700_000_000_123_456_700))
    out = tmp_path / "site"
    write_site(out, {"photos/x.webp": source})
    assert (out / "photos/x.webp").stat().st_mtime_ns == source.stat().st_mtime_ns
    os.utime(out / "photos/x.webp")
    assert write_site(out, {"photos/x.webp": source}).written == ()
    source.write_bytes(b"another")
    assert write_site(out, {"photos/x.webp": source}).written == ("photos/x.webp",)
    assert (out / "photos/x.webp").read_bytes() == b"another"


def test_copy_shares_nothing_with_its_source(tmp_path: Path) -> None:
    """Changing a published picture does not change the cache that it came from."""
    source = put(tmp_path, {"cached": b"picture"}) / "cached"
    write_site(tmp_path / "site", {"x.webp": source})
    (tmp_path / "site/x.webp").write_bytes(b"scribble")
    assert source.read_bytes() == b"picture"


# ── somebody else's files ────────────────────────────────────────────────────────────────────────────────────────


def test_files_of_others_stay(tmp_path: Path) -> None:
    """What the owner put beside the site stays, in folders of ours as well."""
    out = tmp_path / "site"
    write_site(out, OLD)
    put(out, {"CNAME": b"mine", "photos/b/mine.jpg": b"mine", ".well-known/x": b"mine"})
    write_site(out, NEW)
    assert read(out) == NEW | {"CNAME": b"mine", "photos/b/mine.jpg": b"mine", ".well-known/x": b"mine"}


def test_hidden_files_make_no_folder_foreign(tmp_path: Path) -> None:
    """A fresh checkout for publishing holds `.git` and nothing else."""
    out = put(tmp_path / "site", {".git/HEAD": b"ref"})
    write_site(out, OLD)
    assert read(out) == OLD | {".git/HEAD": b"ref"}


def test_a_home_folder_is_not_taken_for_an_empty_one(tmp_path: Path) -> None:
    """One that holds hidden files alone, as a new user's, is somebody's own."""
    home = put(tmp_path / "home", {".profile": b"mine", ".ssh/id": b"mine"})
    with pytest.raises(OutputRefused, match="contains files that are not part of a site"):
        write_site(home, OLD)
    assert read(home) == {".profile": b"mine", ".ssh/id": b"mine"}


def test_an_owners_file_that_the_list_names_is_not_removed(tmp_path: Path) -> None:
    """Whatever came into the list: no site has such files, so none is ours to take away."""
    out = tmp_path / "site"
    write_site(out, OLD)
    mine = {"taxes.pdf": b"mine", "photos/b/raw.nef": b"mine", "letters/one.html": b"mine", "CNAME": b"mine"}
    put(out, mine)
    with open(out / MANIFEST, "a", encoding="utf-8") as file:
        file.write("".join(f"{name}\n" for name in mine))
    write_site(out, NEW)
    assert read(out) == NEW | mine


def test_two_runs_never_write_into_one_folder_at_once(tmp_path: Path) -> None:
    """The second is told so in one sentence and writes nothing; when the first has died, the folder is free."""
    fcntl = pytest.importorskip("fcntl", reason="folders are locked by POSIX systems alone")
    out = tmp_path / "site"
    write_site(out, OLD)
    other = os.open(out, os.O_RDONLY)
    fcntl.flock(other, fcntl.LOCK_EX)
    with pytest.raises(OutputRefused, match=r"^another run is publishing into `[^`]+` just now$"):
        write_site(out, NEW)
    assert read(out) == OLD
    os.close(other)
    write_site(out, NEW)
    assert read(out) == NEW


def test_a_folder_is_held_on_windows_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file among the temporary ones is locked for it, by `msvcrt`, until the run ends; another folder has another.

    With a module of that name that does as its documentation says: on Windows itself this was never run.
    """
    held: set[int] = set()

    def lock(handle: int, mode: int, size: int) -> None:
        assert (mode, size) == (3, 1)
        file = os.fstat(handle).st_ino
        if file in held:
            raise OSError(errno.EACCES, "Permission denied")  # what `msvcrt.locking` raises where it is locked
        held.add(file)

    monkeypatch.setitem(sys.modules, "fcntl", None)
    monkeypatch.setitem(sys.modules, "msvcrt", types.SimpleNamespace(locking=lock, LK_NBLCK=3))
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    out = tmp_path / "site"
    write_site(out, OLD)
    with pytest.raises(OutputRefused, match=r"^another run is publishing into `[^`]+` just now$"):
        write_site(out, NEW)
    assert read(out) == OLD
    write_site(tmp_path / "other", NEW)
    assert len(held) == len([*tmp_path.glob("buildlog-*.lock")]) == 2
    held.clear()  # the run has ended
    write_site(out, NEW)
    assert read(out) == NEW


@pytest.mark.parametrize(
    "before",
    [
        {"letter.txt": b"mine"},
        {"entries/a.html": b"mine"},
        {MANIFEST: b"a list of mine\n\nletter.txt\n", "letter.txt": b"mine"},
        {MARKER: b"my own note"},
    ],
    ids=["a file", "in a folder", "a list that is not ours", "a marker that is not ours"],
)
def test_refuses_a_folder_that_is_not_ours(before: dict[str, bytes], tmp_path: Path) -> None:
    """A folder with anything in it that no run of ours put there is left as it is."""
    out = put(tmp_path / "site", before)
    seen = stamps(out)
    with pytest.raises(OutputRefused, match=r"not part of (a|this) site"):
        write_site(out, NEW)
    assert stamps(out) == seen


def test_refuses_to_replace_a_file_of_others(tmp_path: Path) -> None:
    """An owner's file where a new page should go stops the run before anything is written; an equal one does not."""
    out = tmp_path / "site"
    write_site(out, OLD)
    put(out, {"theme/look.css": b"mine"})
    with pytest.raises(OutputRefused, match="is in the way"):
        write_site(out, NEW)
    assert read(out) == OLD | {"theme/look.css": b"mine"}
    put(out, {"theme/look.css": b"l"})
    write_site(out, NEW)
    assert read(out) == NEW


def test_list_with_paths_outside_removes_nothing(tmp_path: Path) -> None:
    """A list of files that somebody bent cannot make a run remove what lies outside the folder."""
    out = tmp_path / "site"
    write_site(out, OLD)
    put(tmp_path, {"letter.txt": b"mine"})
    with (out / MANIFEST).open("a") as bent:
        bent.write(f"../letter.txt\n{tmp_path}/letter.txt\n./../letter.txt\nentries/../../letter.txt\n")
    write_site(out, NEW)
    assert (tmp_path / "letter.txt").read_bytes() == b"mine"


def test_links_are_not_followed(tmp_path: Path) -> None:
    """A link is replaced where a file should be, refused where a folder should be, and never written through."""
    out, outside = tmp_path / "site", put(tmp_path / "outside", {"a.html": b"mine", "b.html": b"mine"})
    write_site(out, OLD)
    (out / "index.html").unlink()
    (out / "index.html").symlink_to(outside / "a.html")
    write_site(out, OLD)
    assert read(out) == OLD and not (out / "index.html").is_symlink()

    for name in ("a", "b"):
        (out / f"entries/{name}.html").unlink()
    (out / "entries").rmdir()
    (out / "entries").symlink_to(outside)
    with pytest.raises(OutputRefused, match="is not an ordinary folder"):
        write_site(out, OLD)
    write_site(out, {"index.html": b"old"})
    assert read(outside) == {"a.html": b"mine", "b.html": b"mine"}


# ── where it may go, and under what names ────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    "where", [".", "..", "entries", "photos/2024-05-18-pump", "Papers", "seals", "theme", "x/../entries"]
)
def test_refuses_to_write_over_the_log(where: str, tmp_path: Path) -> None:
    """No site is written over the log, around it, or among the owner's own files."""
    log = put(tmp_path / "logs/log", {"log.yaml": b"", "entries/a.md": b"a"})
    (log / "x").mkdir()
    with pytest.raises(OutputRefused, match="log"):
        write_site(log / where, OLD, log=log)
    assert read(log) == {"log.yaml": b"", "entries/a.md": b"a"}


@pytest.mark.parametrize("where", ["log/site", "log/site/deep", "site"])
def test_a_folder_of_its_own_will_do(where: str, tmp_path: Path) -> None:
    """Inside the log or beside it."""
    put(tmp_path / "log", {"log.yaml": b""})
    write_site(tmp_path / where, OLD, log=tmp_path / "log")
    assert read(tmp_path / where) == OLD


@pytest.mark.parametrize(
    "name",
    ["", "/etc/x", "../x", "a/../x", "a//x", "./x", "a/.", "a\\x", "C:x", "a/con", "NUL.html", "com1.txt", "x.", "x ",
     "a\n.html", "a\0", "x?.html", "é" * 128, "\ud800.html", ".unfinished-1", MARKER, MANIFEST, "Unfinished.TXT"],
)  # fmt: skip
def test_refuses_a_path(name: str, tmp_path: Path) -> None:
    """No path leaves the folder, is ours already, or cannot stand on a usual file system; nothing is written."""
    with pytest.raises(OutputRefused):
        write_site(tmp_path / "site", {"index.html": b"", name: b""})
    assert not (tmp_path / "site").exists()


@pytest.mark.parametrize(
    "pair", [("A.html", "a.html"), ("é.html", "e\u0301.html"), ("a", "a/b.html"), ("A/b.html", "a")]
)
def test_refuses_two_paths_in_one(pair: tuple[str, str], tmp_path: Path) -> None:
    """Two paths that some file system takes for one would overwrite each other there."""
    with pytest.raises(OutputRefused):
        write_site(tmp_path / "site", dict.fromkeys(pair, b""))


# ── a run that is killed ─────────────────────────────────────────────────────────────────────────────────────────

KILLED = """
import os, signal, sys
from pathlib import Path
from buildlog.output import write as output
from tests.output.test_output import NEW

left = int(sys.argv[2])

def count(name):
    real = getattr(os, name)
    def counted(*args, **kwargs):
        global left
        if not left:
            os.kill(os.getpid(), signal.SIGKILL)
        left -= 1
        return real(*args, **kwargs)
    setattr(os, name, counted)

count("replace")
count("unlink")
output.write_site(Path(sys.argv[1]), NEW)
"""


def test_killed_run_is_visible_and_finished_by_the_next(tmp_path: Path) -> None:
    """Killed before each of its steps in turn, a run leaves the old site, or a marker; the next run finishes it.

    Steps: marker, 4 files written, 2 removed, list, marker away: 9; the tenth run is not killed any more.
    """
    ends = []
    for step in range(10):
        out = tmp_path / str(step)
        write_site(out, OLD)
        command = [sys.executable, "-c", KILLED, str(out), str(step)]
        ends.append(subprocess.run(command, check=False, cwd=Path(__file__).parents[2]).returncode)
        left = {name: content for name, content in read(out).items() if "/.unfinished-" not in f"/{name}"}
        assert (out / MARKER).exists() == (1 <= step <= 8)
        assert (out / MARKER).exists() or left in (OLD, NEW)
        assert all(content in (OLD.get(name), NEW.get(name)) for name, content in left.items()), "a file is half"
        write_site(out, NEW)
        assert read(out) == NEW and not (out / MARKER).exists()
    assert ends == [-signal.SIGKILL] * 9 + [0]


def test_killed_run_leaves_nothing_behind_when_the_log_changes(tmp_path: Path) -> None:
    """Files that a killed run wrote and that are no longer wanted are known from the marker, and removed."""
    out = tmp_path / "site"
    write_site(out, OLD)
    subprocess.run([sys.executable, "-c", KILLED, str(out), "3"], check=False, cwd=Path(__file__).parents[2])
    assert (out / "theme/look.css").exists()
    write_site(out, OLD)
    assert read(out) == OLD


def test_failing_disk_leaves_the_marker(tmp_path: Path) -> None:
    """When a file cannot be copied on the way, the folder says so."""
    out = tmp_path / "site"
    write_site(out, OLD)
    with pytest.raises(IsADirectoryError):
        write_site(out, NEW | {"photos/x.webp": put(tmp_path / "no file", {"x": b""})})
    assert "Do not upload it" in (out / MARKER).read_text()
    write_site(out, OLD)
    assert read(out) == OLD
