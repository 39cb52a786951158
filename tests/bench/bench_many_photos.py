"""What thousands of photos cost: made for the first time, and looked at again when none has changed.

Run as `python -m tests.bench.bench_many_photos [--photos 2000 20000]`. The photos are small (320 × 240), each with
bytes of its own, so that what is paid for each file shows, and not what its pixels take. Prints the processor time of
the photo stage and of writing, workers included, and the most memory that one process took.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

TOP = Path(__file__).parent.parent.parent
EACH = 10
"Photos of an entry."


def make_small(folder: Path, photos: int) -> None:
    """So many small photos, ten a folder; noise that differs from one to the next."""
    draw = np.random.default_rng(1)
    ground = draw.integers(0, 255, (24, 32, 3), dtype=np.uint8)
    whole = np.asarray(Image.fromarray(ground).resize((320, 240), Image.Resampling.BICUBIC))
    for n in range(photos):
        home = folder / f"2024-05-18-entry-{n // EACH}"
        home.mkdir(parents=True, exist_ok=True)
        picture = whole.copy()
        # Its number in black and white blocks, which no compression makes alike.
        for bit in range(20):
            picture[:8, 8 * bit : 8 * bit + 8] = 255 * (n >> bit & 1)
        Image.fromarray(picture).save(home / f"{n % EACH}.jpg", quality=90)


def measure(top: Path) -> tuple[float, float]:
    """Seconds of processor of one run over a folder's photos, children included, and MiB of its largest process."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    run = "from tests.bench.bench_photos import publish; from pathlib import Path; p = Path({!r}); "
    code = (run + "publish(p / 'photos', p / 'site', p / 'cache')").format(str(top))
    shown = "; import resource as r; print(max(r.getrusage(w).ru_maxrss for w in (r.RUSAGE_SELF, r.RUSAGE_CHILDREN)))"
    done = subprocess.run([sys.executable, "-c", code + shown], check=True, capture_output=True, text=True, cwd=TOP)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return spent, int(done.stdout.split()[-1]) / 1024


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=int, nargs="*", default=[2000, 20_000])
    for photos in parser.parse_args().photos:
        with tempfile.TemporaryDirectory() as name:
            top = Path(name)
            make_small(top / "photos", photos)
            for what in ("made for the first time", "unchanged", "unchanged"):
                spent, memory = measure(top)
                row = f"{spent:8.2f} s of processor, {1000 * spent / photos:6.3f} ms each, {memory:4.0f} MiB"
                print(f"{photos:>7} photos, {what:23} {row}", flush=True)
            weight = sum(path.stat().st_size for path in (top / "cache").rglob("*") if path.is_file())
            files = sum(len(names) for _, _, names in os.walk(top / "cache"))
            print(f"{photos:>7} photos: the cache has {files} files, {weight / 2**20:.0f} MiB", flush=True)


if __name__ == "__main__":
    main()
