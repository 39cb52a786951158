"""How long sealing ten thousand files takes, as a ratio to hashing them in the same threads and doing nothing else.

Run as `python -m tests.bench.bench_seal [--files 10000] [--kilobytes 100] [--rounds 5]`. The floor opens, reads and
hashes each file with the raw library, in as many threads as there are cores. Three cases: nothing sealed yet, nothing
changed since, a hundred files changed. The two run in turn on a warm disk cache; the median of the pairs counts. The
goal is 1.2 or less.
"""

from __future__ import annotations

import argparse
import datetime
import hashlib
import os
import random
import shutil
import statistics
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from buildlog.record.sealing import seal_log

GOAL = 1.2
PER_FOLDER = 50
DAY = datetime.date(2024, 5, 18)


def make_log(folder: Path, files: int, kilobytes: int) -> list[Path]:
    """A log of a few texts and many photos of random bytes, of half to one and a half of that size."""
    chance = random.Random(1)
    paths = []
    (folder / "log.yaml").write_text("machine: {name: Bench}\n")
    for number in range(files):
        path = folder / f"photos/{number // PER_FOLDER:04d}/{number:05d}.jpg"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(chance.randbytes(int(kilobytes * 1000 * (0.5 + chance.random()))))
        paths.append(path)
    return paths


def hash_all(paths: list[Path]) -> None:
    """The floor: every file opened, read and hashed."""
    with ThreadPoolExecutor(max_workers=os.cpu_count()) as pool:
        batches = [paths[at : at + 32] for at in range(0, len(paths), 32)]
        list(pool.map(lambda batch: [hash_one(path) for path in batch], batches))


def hash_one(path: Path) -> bytes:
    total = hashlib.sha256()
    with open(path, "rb", buffering=0) as file:
        while data := file.read(1 << 20):
            total.update(data)
    return total.digest()


def clock(call: Callable[[], object]) -> tuple[float, float]:
    """Wall seconds and processor seconds; the latter tell more on a machine that has other work."""
    start, spent = time.perf_counter(), time.process_time()
    call()
    return time.perf_counter() - start, time.process_time() - spent


def compare(
    name: str, paths: list[Path], rounds: int, seal: Callable[[int], object], reset: Callable[[int], None]
) -> None:
    """Print the ratio of sealing to hashing over some rounds, each after a reset that is not counted."""
    pairs = []
    for turn in range(rounds + 1):  # the first turn warms the disk and is not counted
        reset(turn)
        pairs.append((clock(lambda: seal(turn)), clock(lambda: hash_all(paths))))  # noqa: B023 — called at once
    for at, unit in ((0, "wall"), (1, "processor")):
        ratios = [ours[at] / floor[at] for ours, floor in pairs[1:]]
        ours, floor = (statistics.median(pair[side][at] for pair in pairs[1:]) for side in (0, 1))
        middle, spread = statistics.median(ratios), f"{min(ratios):.2f} to {max(ratios):.2f}"
        print(f"{name:18} {unit:9}: {ours:.3f} s over {floor:.3f} s, ratio {middle:.2f} ({spread}), goal {GOAL}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--files", type=int, default=10_000)
    parser.add_argument("--kilobytes", type=int, default=100)
    parser.add_argument("--rounds", type=int, default=5)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        log = Path(name)
        paths = make_log(log, arguments.files, arguments.kilobytes)
        print(f"{arguments.files} files of about {arguments.kilobytes} kB, {os.cpu_count()} cores")

        def seal(turn: int) -> None:
            done = seal_log(log, date=DAY, reason="bench")
            assert done.problems == () and done.seal, done.problems

        def change(turn: int) -> None:
            for path in paths[:: max(1, len(paths) // 100)]:
                path.write_bytes(path.read_bytes()[:-1] + bytes([turn + 1]))

        drop = lambda turn: shutil.rmtree(log / "seals", ignore_errors=True)  # noqa: E731 — one word for one use
        compare("first seal", paths, arguments.rounds, seal, drop)
        compare("nothing changed", paths, arguments.rounds, seal, lambda turn: None)
        compare("a hundred changed", paths, arguments.rounds, seal, change)


if __name__ == "__main__":
    main()
