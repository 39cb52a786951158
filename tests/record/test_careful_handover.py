"""A handover shows all that is closed in public: it stands nowhere by accident; what is withheld is withheld whole."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from buildlog.cli import main
from buildlog.handover.bag import BagRefused
from buildlog.handover.pack import hand_over
from buildlog.output.write import MANIFEST, MARKER, write_site
from tests.record.bags import DAY, draw_photo, hand, list_log, load, verify, write_log, write_sealed


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return write_sealed(tmp_path / "log")


def run(*arguments: str | Path) -> tuple[int, str]:
    done = CliRunner().invoke(main, [str(argument) for argument in arguments], prog_name="buildlog")
    return done.exit_code, done.output


# ── inside a site ────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("place", ["bag.zip", "photos/bag", "theme/bag.zip"])
@pytest.mark.parametrize("state", ["published", "half published"])
def test_no_bag_stands_inside_a_published_site(log: Path, tmp_path: Path, place: str, state: str) -> None:
    """Whoever uploads the folder would upload the whole private record."""
    site = tmp_path / "site"
    write_site(site, {"index.html": b"x", "photos/a.jpg": b"x", "theme/a.css": b"x"})
    if state == "half published":
        (site / MANIFEST).unlink()
        (site / MARKER).write_text(_read_marker())
    with pytest.raises(BagRefused, match="is in the published site"):
        hand_over(log, site / place, as_of=DAY)
    assert run("handover", log, "--out", site / place)[0] == 2
    assert not (site / place).exists()


def _read_marker() -> str:
    from buildlog.output.write import MARKER_TEXT

    return f"{MARKER_TEXT}\nindex.html\n"


def test_a_bag_beside_a_site_is_written(log: Path, tmp_path: Path) -> None:
    """A folder is no site because there is one in it."""
    write_site(tmp_path / "site", {"index.html": b"x"})
    hand(log, tmp_path / "bag.zip")


# ── what killed runs leave ───────────────────────────────────────────────────────────────────────────────────────


def find_dead_process() -> int:
    """The number of a process that has just ended."""
    done = subprocess.Popen([sys.executable, "-c", ""])
    done.wait()
    return done.pid


def test_what_a_killed_run_left_is_removed_by_the_next(log: Path, tmp_path: Path) -> None:
    """The half of a private record; what a run that is at work writes stays, and so does what is none of ours."""
    dead = find_dead_process()
    (tmp_path / f"bag.zip.{dead}.unfinished").write_bytes(b"half a record")
    (tmp_path / f"bag.{dead}.unfinished/data").mkdir(parents=True)
    (tmp_path / f"bag.zip.{os.getppid()}.unfinished").write_bytes(b"at work")
    (tmp_path / "bag.zip.old.unfinished").write_bytes(b"mine")
    hand(log, tmp_path / "bag.zip")
    hand(log, tmp_path / "bag")
    assert {path.name for path in tmp_path.iterdir()} == {
        "log", "bag", "bag.zip", "bag.zip.old.unfinished", f"bag.zip.{os.getppid()}.unfinished",
    }  # fmt: skip


LIMITED = """
import resource, sys
resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, resource.RLIM_INFINITY))
from buildlog.cli import main
main(["handover", *sys.argv[1:]])
"""


@pytest.mark.parametrize("name", ["bag.zip", "bag"])
def test_a_full_disk_is_told_in_one_sentence(log: Path, tmp_path: Path, name: str) -> None:
    """Exit code 1, no traceback, and nothing that stays; a file may not grow beyond 100 kB here, which is as good."""
    environment = os.environ | {"XDG_CACHE_HOME": str(tmp_path / "cache")}
    command = [sys.executable, "-c", LIMITED, str(log), "--out", str(tmp_path / name), "--as-of", str(DAY)]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.splitlines()[-1].endswith("cannot be read or written: File too large")
    assert "Traceback" not in done.stderr
    assert {path.name for path in tmp_path.iterdir()} <= {"log", "cache"}


# ── withheld whole ───────────────────────────────────────────────────────────────────────────────────────────────


def test_with_an_entry_its_photos_and_papers_are_withheld(tmp_path: Path) -> None:
    """The original, its pictures, and the order that this entry alone names; a paper that others name stays."""
    files = list_log()
    other = files["entries/2024-06-02-first-drive.md"].replace(b"reading: 112600", b"reading: 112600\nhours: 1")
    files["entries/2024-06-02-first-drive.md"] = other
    log = write_log(tmp_path / "log", files)
    handed = hand(log, tmp_path / "bag", "entries/2024-05-18-lift-pump.md")
    there = load(tmp_path / "bag")
    assert draw_photo() not in there.values()
    assert b"%PDF-1.4 order" not in there.values()
    assert b"%PDF-1.4 sale" in there.values()
    assert not [name for name in there if "2024-05-18" in name]
    assert handed.handover
    assert [held.path for held in handed.handover.withheld] == [
        "entries/2024-05-18-lift-pump.md", "papers/Rechnung Öl.pdf", "photos/2024-05-18-lift-pump/IMG 1.jpg",
    ]  # fmt: skip
    assert not verify(tmp_path / "bag").failed


def test_a_paper_that_another_entry_names_goes_along(tmp_path: Path) -> None:
    """Or that entry's claim would rest on nothing."""
    files = list_log()
    lines = "lines: [{what: a, each: 1.00}]"
    order = f"{{from: A, paid: 2024-06-02, arrived: 2024-06-02, paper: papers/Rechnung Öl.pdf, {lines}}}"
    named = f"date: 2024-06-02\nbought: {order}".encode()
    changed = files["entries/2024-06-02-first-drive.md"].replace(b"date: 2024-06-02", named)
    log = write_log(tmp_path / "log", files | {"entries/2024-06-02-first-drive.md": changed})
    hand(log, tmp_path / "bag", "entries/2024-05-18-lift-pump.md")
    assert b"%PDF-1.4 order" in load(tmp_path / "bag").values()


# ── words that a terminal would obey ─────────────────────────────────────────────────────────────────────────────


def test_names_are_echoed_without_escapes(log: Path, tmp_path: Path) -> None:
    """Of a place to write, of one that is taken, of a log."""
    evil = tmp_path / "\x1b[2Jbag"
    evil_log = tmp_path / "\x1b]0;log"
    log.rename(evil_log)
    for arguments in (
        ("handover", evil_log, "--out", evil),
        ("handover", evil_log, "--out", evil),
        ("handover", evil_log, "--out", tmp_path / "\x1b[1m/no/bag"),
        ("publish", evil_log, "--out", tmp_path / "\x1b[1msite"),
        ("check", tmp_path / "\x1b[2Jnone"),
        ("verify", tmp_path / "\x1b[2Jnone"),
        ("handover", evil_log, "--out", tmp_path / "a.zip", "--withhold", "\x1b[2J"),
    ):
        assert "\x1b" not in run(*arguments)[1], arguments


@pytest.mark.parametrize("sign", ["\u202e", "\u2066", "\u200b", "\x1b"])
def test_a_reason_has_no_signs_that_turn_words_round(log: Path, sign: str) -> None:
    """It stands in the record for good, and is shown to every reader."""
    (log / "papers/loan.pdf").write_bytes(b"%PDF-1.4 another")
    code, output = run("seal", log, "--reason", f"typing{sign} error", "--as-of", "2024-07-01")
    assert code == 1
    assert "that do not print" in output
