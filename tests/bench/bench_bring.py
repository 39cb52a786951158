"""How long bringing in a phone's pictures takes, as a ratio to a loop that hashes and copies them, and no more.

With `--receipts 20000` instead: how long a spreadsheet of so many receipts takes, each of one line, eleven a day, in
processor seconds of the whole command, and the peak of memory. The goals are ten seconds and 300 MiB.

Run as `python -m tests.bench.bench_bring [--photos 1400] [--days 60] [--rounds 3]`. The pictures are twelve of 12
megapixels over and over, each with a clock of its own in its head, so that no two are one; one in twenty is of a burst,
one in fifty is there twice. The whole command counts: reading the log, the plan, checking it, copying, writing. The two
run in turn on a warm disk cache; wall and processor time of each pair are told, and the peak of memory. The goal is 1.5
or less of work.
"""

from __future__ import annotations

import argparse
import datetime
import hashlib
import os
import random
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from PIL import Image

from tests.bench.make_photos import make_photos

GOAL = 1.5
KINDS = 12
FIRST = datetime.datetime(2024, 3, 1, 9, 0)
LOG = "machine: {name: Bench}\nmoney: {currency: GBP}\nsite: {id: bench}\n"


def make_phone(folder: Path, photos: int, days: int) -> None:
    """The pictures of a phone, in folders of a thousand."""
    chance = random.Random(1)
    kinds = [strip_head(path.read_bytes()) for path in make_photos(folder.parent / "kinds", KINDS)]
    now = FIRST
    for n in range(photos):
        day = FIRST + datetime.timedelta(days=n * days // photos)
        burst = chance.random() < 0.05
        now = now + datetime.timedelta(seconds=2) if burst else max(day, now + datetime.timedelta(minutes=7))
        path = folder / f"{100 + n // 1000}APPLE" / f"IMG_{n:04}.JPG"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(put_head(kinds[n % KINDS], now, chance.randbytes(chance.randrange(60_000))))
        if n % 50 == 49:
            shutil.copyfile(path, path.with_name(f"IMG_{n:04}_copy.JPG"))


def strip_head(data: bytes) -> bytes:
    """A JPEG without its Exif segment (ISO/IEC 10918-1, B.1.1.4)."""
    at = 2
    while data[at : at + 2] in (b"\xff\xe0", b"\xff\xe1"):
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return data[at:]


def put_head(rest: bytes, clock: datetime.datetime, comment: bytes) -> bytes:
    """The JPEG with a clock and a comment in its head, so that hardly two are of one size."""
    exif = Image.Exif()
    exif.get_ifd(0x8769).update({0x9003: f"{clock:%Y:%m:%d %H:%M:%S}", 0x9011: "+01:00"})
    segment = exif.tobytes()
    told = b"".join(
        mark + (len(part) + 2).to_bytes(2, "big") + part
        for mark, part in ((b"\xff\xe1", segment), (b"\xff\xfe", comment))
    )
    return b"\xff\xd8" + told + rest


def hash_and_copy(phone: Path, out: Path) -> None:
    """The floor."""
    for path in sorted(phone.rglob("*.JPG")):
        with path.open("rb") as file:
            hashlib.file_digest(file, "sha256")
        target = out / path.relative_to(phone)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, target)


def bring(phone: Path, log: Path) -> float:
    """The whole command in a process of its own; says how many MiB it took."""
    (log / "entries").mkdir(parents=True)
    (log / "log.yaml").write_text(LOG)
    command = [sys.executable, "-m", "buildlog", "bring", str(phone), "--log", str(log), "--yes"]
    # compiled modules are kept, as they are where a program is installed
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment)
    _, status, used = os.wait4(running.pid, 0)
    running.returncode = os.waitstatus_to_exitcode(status)
    assert running.returncode == 0
    return used.ru_maxrss / 1024


def bring_receipts(top: Path, receipts: int, rounds: int) -> None:
    """Prints what a spreadsheet of so many receipts takes."""
    day = datetime.date(2019, 1, 1)
    rows = [
        f"{day + datetime.timedelta(days=n // 11)},Seller {n % 40},R-{n},Part {n % 700},2,6.10,12.20\n"
        for n in range(receipts - 1)  # the row of the headings counts
    ]
    (top / "drawer").mkdir()
    (top / "drawer" / "r.csv").write_text(
        "Date,Supplier,Receipt,Item,Qty,Each,Total\n" + "".join(rows), encoding="utf-8"
    )
    for _ in range(rounds):
        before = sum(os.times()[2:4])
        peak = bring(top / "drawer", top / "log")
        work, entries = sum(os.times()[2:4]) - before, len(list((top / "log" / "entries").iterdir()))
        print(f"{receipts} receipts in {entries} entries: {work:.2f} s of work, peak memory {peak:.0f} MiB")
        shutil.rmtree(top / "log")


def clock(call: Callable[[], object]) -> tuple[float, float]:
    """Wall seconds, and processor seconds of this process and of those it started."""
    start, before = time.perf_counter(), sum(os.times()[:4])
    call()
    return time.perf_counter() - start, sum(os.times()[:4]) - before


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--photos", type=int, default=1400)
    parser.add_argument("--days", type=int, default=60)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--receipts", type=int)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as top:
        if asked.receipts:
            bring_receipts(Path(top), asked.receipts, asked.rounds)
            return
        phone, out, log = Path(top) / "phone", Path(top) / "out", Path(top) / "log"
        make_phone(phone, asked.photos, asked.days)
        walls, works, peaks = [], [], list[float]()
        for _ in range(asked.rounds):
            floor, ours = clock(lambda: hash_and_copy(phone, out)), clock(lambda: peaks.append(bring(phone, log)))
            taken = len(list(log.glob("photos/*/*")))
            walls.append(ours[0] / floor[0])
            works.append(ours[1] / floor[1])
            print(
                f"  floor {floor[0]:.2f} s ({floor[1]:.2f} s of work), bring {ours[0]:.2f} s ({ours[1]:.2f} s of work)"
            )
            shutil.rmtree(out)
            shutil.rmtree(log)
        print(f"{taken} of {asked.photos} pictures and their doubles taken, peak memory {max(peaks):.0f} MiB")
        for name, ratios in (("wall", walls), ("work", works)):
            low, middle, high = min(ratios), statistics.median(ratios), max(ratios)
            print(f"{name}: {middle:.2f} ({low:.2f} to {high:.2f}), goal {GOAL}")


if __name__ == "__main__":
    main()
