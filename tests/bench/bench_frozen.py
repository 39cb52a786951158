"""What `buildlog/frozen.py` saves of a whole command, beside the standard library's dataclass in its place.

Run as `python -m tests.bench.bench_frozen [--pairs 41] [--entries 200]`. Two copies of the package differ in that
module alone; every command runs in both in turn, as a process of its own, with its pictures and compiled modules
already in a cache, on the example and on a log of so many entries, of which one order is changed each time. A ratio
below 1 is a gain. Processor time counts: on a shared machine the wall clock says what the neighbours do.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.make_log import make_log

TOP = Path(__file__).parent.parent.parent
PLAIN = """

def frozen(cls):
    return dataclass(frozen=True, slots=True, kw_only=True)(cls)

def frozen_pair(cls):
    return dataclass(frozen=True, slots=True)(cls)

settle = object.__setattr__
"""
COMMANDS = (
    ("publish", "example_project"),
    ("costs", "example_project"),
    ("publish", "log"),
    ("costs", "log"),
    ("--help",),
)


def make_copy(folder: Path, entries: int, *, plain: bool) -> Path:
    """The package with the example and a log beside it; with the standard library's classes if asked."""
    hidden = shutil.ignore_patterns("__pycache__", "site")
    for name in ("buildlog", "themes", "example_project"):
        shutil.copytree(TOP / name, folder / name, ignore=hidden)
    make_log(folder / "log", entries)
    if plain:
        with (folder / "buildlog" / "frozen.py").open("a", encoding="utf-8") as module:
            module.write(PLAIN)
    return folder


def time_process(copy: Path, command: tuple[str, ...]) -> tuple[float, float]:
    """Processor seconds and wall seconds of one command in one copy."""
    environment = os.environ | {"PYTHONPATH": str(copy), "XDG_CACHE_HOME": str(copy / "cache")}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # an installed program finds its modules compiled
    change_order(copy / "log")
    start = time.perf_counter()
    process = subprocess.Popen([sys.executable, "-m", "buildlog", *command], cwd=copy, env=environment, **QUIET)
    _, status, use = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"{' '.join(command)} ended with {process.returncode}")
    return use.ru_utime + use.ru_stime, time.perf_counter() - start


def change_order(log: Path) -> None:
    """Another carriage on the order of the last entry, so that nothing that hangs on orders is known already."""
    path = max((log / "entries").iterdir())
    text = path.read_text(encoding="utf-8")
    path.write_text(
        re.sub("carriage: [0-9.]+", f"carriage: {time.time_ns() % 10**6 / 100:.2f}", text), encoding="utf-8"
    )


QUIET = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}


def compare(own: Path, plain: Path, command: tuple[str, ...], pairs: int) -> None:
    """Print the median of the pairs' ratios, with the middle half of them."""
    times: dict[Path, list[tuple[float, float]]] = {own: [], plain: []}
    for turn in range(-1, pairs):  # the first turn fills the caches and is not counted
        for copy in (own, plain) if turn % 2 else (plain, own):
            spent = time_process(copy, command)
            if turn >= 0:
                times[copy].append(spent)
    for at, unit in enumerate(("processor", "wall")):
        ratios = [ours[at] / theirs[at] for ours, theirs in zip(times[own], times[plain], strict=True)]
        low, middle, high = statistics.quantiles(ratios, n=4)
        seconds = [statistics.median(spent[at] for spent in times[copy]) for copy in (own, plain)]
        print(
            f"{' '.join(command):24} {unit:9} {seconds[0]:.3f} s over {seconds[1]:.3f} s, "
            f"ratio {middle:.2f} ({low:.2f} to {high:.2f})"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=41)
    parser.add_argument("--entries", type=int, default=200)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        own, plain = (make_copy(Path(name) / kind, given.entries, plain=kind == "plain") for kind in ("own", "plain"))
        for command in COMMANDS:
            compare(own, plain, command, given.pairs)


if __name__ == "__main__":
    main()
