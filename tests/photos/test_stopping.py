"""A run at a terminal: it tells how far it is, stops when told to, and leaves what the next run can use."""

from __future__ import annotations

import contextlib
import os
import pty
import re
import signal
import subprocess
import sys
from itertools import groupby
from pathlib import Path

import pyte
import pytest
from PIL import Image

from buildlog.stages import STAGES
from tests.test_cli import HEAD, make_log

TOP = Path(__file__).parents[2]
PHOTOS = 8
MADE = 3
WORKERS = 2

# Each worker says when it begins a photo that takes for ever unless it is told to end; all before it are made and kept.
PUBLISH = """
import itertools, os, signal, sys, time
from buildlog.photos import variants
from buildlog.cli import main
develop, made = variants.develop, itertools.count()

def develop_some(source, hide, *, go_on, **named):
    if next(made) < int(sys.argv[1]):
        return develop(source, hide, go_on=go_on, **named)
    print("for ever", flush=True)
    while True:
        go_on()
        time.sleep(0.001)

os.cpu_count = lambda: 2
signal.signal(signal.SIGINT, signal.default_int_handler)  # what a shell starts in the background ignores Ctrl-C
variants.develop = develop_some
main(sys.argv[2:])
"""


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A log with photos of which none is another one's double."""
    names = [f"{n:02}.jpg" for n in range(PHOTOS)]
    listed = ", ".join(f"{{file: {name}, says: a bench}}" for name in names)
    log = make_log(tmp_path / "log", {"2024-06-01-bench.md": f"{HEAD}photos: [{listed}]\n---\nWork.\n"})
    folder = log / "photos" / "2024-06-01-bench"
    folder.mkdir(parents=True)
    for name in names:
        Image.effect_noise((640, 480), 80).convert("RGB").save(folder / name, quality=80)
    return log


def publish(log: Path, *, forever_after: int, **streams: int) -> subprocess.Popen[bytes]:
    out = log.parent / "site"
    command = [sys.executable, "-c", PUBLISH, str(forever_after), "publish", str(log), "--out", str(out)]
    environment = os.environ | {"XDG_CACHE_HOME": str(log.parent / "cache"), "COLUMNS": "80"}
    return subprocess.Popen(command, cwd=TOP, env=environment, **streams)  # type: ignore[call-overload, no-any-return]


def interrupt(log: Path) -> tuple[int, bytes]:
    """Publish at a terminal and press Ctrl-C when every worker is in a photo without end: exit code, what was told."""
    terminal, inside = pty.openpty()
    with publish(log, forever_after=MADE, stdout=subprocess.PIPE, stderr=inside) as run:
        os.close(inside)
        assert run.stdout is not None
        for _ in range(WORKERS):
            assert run.stdout.readline() == b"for ever\n"
        run.send_signal(signal.SIGINT)
        code = run.wait()
    told = read_all(terminal)
    return code, told


def read_all(terminal: int) -> bytes:
    """What was written to a terminal that nobody writes to any more."""
    told = b""
    with contextlib.suppress(OSError):  # EIO: all that there was is read
        while more := os.read(terminal, 65536):
            told += more
    os.close(terminal)
    return told


def show(told: bytes) -> list[str]:
    """What is left on the terminal: its rows that are not empty."""
    screen = pyte.Screen(80, 24)
    pyte.ByteStream(screen).feed(told)
    return [row.rstrip() for row in screen.display if row.strip()]


def list_variants(log: Path) -> dict[Path, int]:
    """The pictures in the cache, and when each was written."""
    return {path: path.stat().st_mtime_ns for path in (log.parent / "cache").glob("buildlog/photos/??/*.webp")}


def test_stopping_ends_the_work_and_loses_little(log: Path) -> None:
    """Ctrl-C ends a run in the midst of its photos, nothing is published, and what was made is not made again."""
    code, told = interrupt(log)
    assert code == 1
    assert b"photos  [" in told and f" 0/{PHOTOS}".encode() in told
    assert show(told) == ["Aborted!"]
    assert not (log.parent / "site").exists()
    made = list_variants(log)
    assert len({path.name[:64] for path in made}) == MADE
    with publish(log, forever_after=PHOTOS, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as run:
        out, complained = run.communicate()
    assert (run.returncode, complained) == (0, b""), "and it is quiet in a pipe"
    assert b"files written" in out
    after = list_variants(log)
    assert made.items() <= after.items()
    assert len({path.name[:64] for path in after}) == PHOTOS


def test_each_stage_is_shown_while_it_is_at_work_and_nothing_is_left(log: Path) -> None:
    """Every stage in its order, each photo that is waited for, and in the end an empty terminal."""
    terminal, inside = pty.openpty()
    with publish(log, forever_after=PHOTOS, stdout=subprocess.DEVNULL, stderr=inside) as run:
        assert run.wait() == 0
    os.close(inside)
    told = read_all(terminal)
    shown = re.findall(rb"\r\x1b\[\?25l(\w+)(?:  \[.{24}\]  ([0-9]+)/([0-9]+))?", told)
    names = [name.decode() for name, *_ in shown]
    assert [name for name, _ in groupby(names)] == [name for name, _ in STAGES]
    counted = [(int(done), int(total)) for _, done, total in shown if total]
    assert counted == [(done, PHOTOS) for done in range(PHOTOS)], "once the last is made no photo is waited for"
    assert show(told) == []
