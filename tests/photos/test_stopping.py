"""A run at a terminal: it tells how far it is, stops when told to, and leaves what the next run can use."""

from __future__ import annotations

import os
import pty
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from PIL import Image

from tests.test_cli import HEAD, make_log

TOP = Path(__file__).parents[2]
PHOTOS = 24
STOPPED_S = 1.0


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A log whose photos take some seconds to make."""
    names = [f"{n:02}.jpg" for n in range(PHOTOS)]
    listed = ", ".join(f"{{file: {name}, says: a bench}}" for name in names)
    log = make_log(tmp_path / "log", {"2024-06-01-bench.md": f"{HEAD}photos: [{listed}]\n---\nWork.\n"})
    folder = log / "photos" / "2024-06-01-bench"
    folder.mkdir(parents=True)
    Image.effect_noise((4000, 3000), 80).convert("RGB").save(folder / "base.jpg", quality=80)
    content = (folder / "base.jpg").read_bytes()
    (folder / "base.jpg").unlink()
    for n, name in enumerate(names):
        (folder / name).write_bytes(content + b"%d" % n)  # what follows a JPEG's end makes it another file
    return log


def start(log: Path, cache: Path, **streams: int) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "buildlog", "publish", str(log), "--out", str(cache.parent / "site")]
    environment = os.environ | {"XDG_CACHE_HOME": str(cache), "COLUMNS": "80"}
    return subprocess.Popen(command, cwd=TOP, env=environment, **streams)  # type: ignore[call-overload, no-any-return]


def read_until(terminal: int, words: bytes) -> None:
    """Follow the line until it says this; not every number is shown, as it changes ten times a second at most."""
    seen = b""
    while not re.search(words, seen):
        seen += os.read(terminal, 4096)


def interrupt(log: Path, cache: Path) -> float:
    """Publish at a terminal, press Ctrl-C once a few photos are made, and say how many seconds it took to stop."""
    terminal, inside = pty.openpty()
    run = start(log, cache, stdout=subprocess.PIPE, stderr=inside)
    os.close(inside)
    try:
        read_until(terminal, b"photos: 0 of 24")
        read_until(terminal, b"photos: ([3-9]|1[0-9]) of 24")
        began = time.monotonic()
        run.send_signal(signal.SIGINT)
        run.communicate(timeout=60)
        return time.monotonic() - began
    finally:
        run.kill()
        run.wait()
        os.close(terminal)


def test_stopping_is_quick_and_loses_little(log: Path, tmp_path: Path) -> None:
    """Ctrl-C ends the run within a second, nothing is published, and what was made is not made again.

    A busy machine may delay one attempt, so the quickest of three counts.
    """
    took = []
    for n in range(3):
        cache = tmp_path / str(n) / "cache"
        cache.mkdir(parents=True)
        took.append(interrupt(log, cache))
        assert not (cache.parent / "site").exists()
        if took[-1] <= STOPPED_S:
            break
    assert min(took) <= STOPPED_S, took
    made = {path.name[:64] for path in cache.glob("buildlog/photos/??/*.webp")}
    assert 3 <= len(made) < PHOTOS
    times = {path: path.stat().st_mtime_ns for path in cache.glob("buildlog/photos/??/*.webp")}
    run = start(log, cache, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    told, complained = run.communicate(timeout=120)
    assert (run.returncode, complained) == (0, b""), "and it is quiet in a pipe"
    assert b"files written" in told
    kept = [path for path, time_ns in times.items() if path.exists() and path.stat().st_mtime_ns == time_ns]
    assert len(kept) >= 3 * len(made) - 2 * (os.cpu_count() or 1)
    assert len({path.name[:64] for path in cache.glob("buildlog/photos/??/*.webp")}) == PHOTOS
