"""What work costs that follows a change: each row of the table of goals, by whole processes, with its spread.

Run as `python -m tests.bench.bench_kept [--entries 200 2000] [--photos 0] [--rounds 5]`. A row is the real command: its
time on the wall, its processor time, and the most memory that it held; median, with the least and the most behind it.
Before each row the log is published once, so that what is kept is there. In the same round each row is also run with
`--from-scratch`, once, and the ratio of processor times is told, which a busy machine moves little. `--photos 10` lists
ten photos for each entry, all of one picture by hard links, which the cache knows after the first publish.
"""

from __future__ import annotations

import argparse
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.bench.make_log import make_log

TOP = Path(__file__).parent.parent.parent
QUESTIONS = ("costs", "parts", "due", "faults", "check")
GOALS = {200: {"nothing": 0.25, "words": 0.35}, 2000: {"nothing": 0.25, "words": 1.0, "order": 1.5, "question": 0.8}}
"Seconds on two quiet cores."


class Bench:
    """One log, published with a cache of its own."""

    def __init__(self, folder: Path, entries: int, photos: int) -> None:
        self.log, self.folder, self.entries = folder / "log", folder, entries
        self.day = str(make_log(self.log, entries))
        if photos:
            from tests.bench.bench_preview import add_photos

            add_photos(self.log, photos)
        self.names = sorted((self.log / "entries").iterdir())
        self.turn = 0

    def run(self, command: str, *more: str) -> tuple[float, float, float]:
        """Seconds on the wall, processor seconds, and MiB, of a whole process."""
        environment = os.environ | {"PYTHONPATH": str(TOP), "XDG_CACHE_HOME": str(self.folder / "cache")}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)  # as on any machine, what was compiled once stays so
        given = [sys.executable, "-m", "buildlog", command, str(self.log), "--as-of", self.day, *more]
        start = time.perf_counter()
        process = subprocess.Popen(given, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment)
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        assert process.returncode == 0, given
        return time.perf_counter() - start, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024

    def edit(self, pattern: str, new: str, number: int = -1) -> None:
        """Change one entry, the last or another one."""
        self.turn += 1
        path = self.names[number]
        text = path.read_text(encoding="utf-8")
        path.write_text(re.sub(pattern, new.format(self.turn), text, count=1), encoding="utf-8")

    def list_edits(self) -> dict[str, Callable[[], None]]:
        """What is done to the log before each row."""
        middle = self.entries // 2
        return {
            "nothing": lambda: None,
            "words": lambda: self.edit(r"\Z", "Round number {} it was.\n", middle),
            "order": lambda: self.edit(r"carriage: [0-9.]+", "carriage: {}.90"),
            "order midway": lambda: self.edit(r"carriage: [0-9.]+", "carriage: {}.90", middle),
        }


def show(name: str, rows: list[tuple[float, float, float]], anew: list[float], goal: float | None) -> None:
    """One line of the table."""
    walls, used, memory = zip(*rows, strict=True)
    spread = [f"{statistics.median(some):6.2f} s ({min(some):.2f} to {max(some):.2f})" for some in (walls, used)]
    ratio = statistics.median(used) / statistics.median(anew)
    told = f"goal {goal:.2f} s" if goal else ""
    print(f"  {name:14} wall {spread[0]}, processor {spread[1]}, {max(memory):4.0f} MiB, {ratio:.2f} of anew  {told}")


def measure(entries: int, photos: int, rounds: int) -> None:
    """Print the table for a log of so many entries with so many photos each."""
    goals = GOALS.get(entries, {})
    print(f"{entries} entries, {entries * photos} photos")
    with tempfile.TemporaryDirectory() as name:
        bench = Bench(Path(name), entries, photos)
        time.sleep(2.5)  # of files that are new just now a look tells nothing
        cold = bench.run("publish")
        show("cold", [cold], [cold[1]], None)
        for row, edit in bench.list_edits().items():
            kept, anew = [], []
            bench.run("publish")
            for _ in range(rounds):
                if row == "nothing":
                    time.sleep(2.5)
                edit()
                kept.append(bench.run("publish"))
            if not photos:  # all of them would be made again
                anew.append(bench.run("publish", "--from-scratch")[1])
            show(row, kept, anew or [cold[1]], goals.get(row.split()[0]))
        for question in QUESTIONS:
            kept = []
            bench.run(question)
            for _ in range(rounds):
                bench.list_edits()["words"]()
                kept.append(bench.run(question))
            show(f"{question}, words", kept, [bench.run(question, "--from-scratch")[1]], goals.get("question"))
            kept = []
            for _ in range(rounds):
                bench.list_edits()["order"]()
                kept.append(bench.run(question))
            show(f"{question}, order", kept, [bench.run(question, "--from-scratch")[1]], goals.get("question"))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, nargs="+", default=[200, 2000])
    parser.add_argument("--photos", type=int, default=0, help="for each entry")
    parser.add_argument("--rounds", type=int, default=5)
    arguments = parser.parse_args()
    for entries in arguments.entries:
        measure(entries, arguments.photos, arguments.rounds)


if __name__ == "__main__":
    main()
