"""How long publishing a log's photos takes, as ratios to the hand-written loop of `floor_photos.py`; in what memory.

Run as `python -m tests.bench.bench_photos [--corpus FOLDER] [--rounds 3]`. Both sides run in turn, as whole processes
into fresh folders, so that a machine whose speed drifts does not move the ratios; the median of the pairs counts.
Goals: cold 1.05; nothing changed 0.10 s more than looking at every file; one entry of ten photos more 1.3; 150 MiB with
two workers; scaling alone SSIM 0.990 on average and 0.985 for each photo, against full decoding.
"""

from __future__ import annotations

import argparse
import os
import resource
import sys
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from tests.bench.floor_photos import look

TOP = Path(__file__).parent.parent.parent
FLOOR = str(TOP / "tests" / "bench" / "floor_photos.py")
RUN = ["-m", "tests.bench.bench_photos", "--publish"]
FOLDERS, EACH, NEW = 200, 10, 10
"A log of two thousand photos, and those of one entry more."


# ── the product's side ───────────────────────────────────────────────────────────────────────────────────────────


def publish(photos: Path, site: Path, cache: Path) -> None:
    """The photo part of publishing: what is asked for, made or found, compared and written."""
    from buildlog.output.write import write_site
    from buildlog.photos.publish import PhotoWork
    from buildlog.photos.recipe import PhotoRequest
    from buildlog.problems import Place
    from buildlog.render.pages.photos import PhotoFiles

    requests = []
    for folder in sorted(os.scandir(photos), key=lambda entry: entry.name):
        place = Place(f"entries/{folder.name}.md", 1)
        base = Path(folder.path)
        requests += [
            PhotoRequest(source=base / file, name=f"{folder.name}/{file}", hide=(), place=place)
            for file in sorted(os.listdir(folder.path))
        ]
    with PhotoWork(requests, cache) as work:
        sets, problems = work.finish()
    assert not problems, problems
    write_site(site, PhotoFiles(sets))


def fill_cache(photos: Path, cache: Path, base: Path) -> None:
    """As if every photo of the log had been published before; they all look like one, which nothing here depends on."""
    from buildlog.photos.cache import hash_file, keep, make_cache_key
    from buildlog.photos.index import Index
    from buildlog.photos.variants import develop

    developed = develop(base, ())
    cache.mkdir()
    # an hour later, as of files that are new just now nothing is noted
    with Index(cache, clock=lambda: time.time_ns() + 3600 * 10**9) as index:
        for path in sorted(photos.glob("*/*.jpg")):
            with path.open("rb") as file:
                digest = hash_file(file)
            keep(str(cache), index, make_cache_key(digest, ".jpg", ()), developed)
            index.note_digest(str(path), path.stat(), digest)


def make_log(photos: Path) -> None:
    """Two thousand small files of different content, an hour old."""
    old = time.time_ns() - 3600 * 10**9
    for n in range(FOLDERS):
        folder = photos / f"2024-01-01-entry-{n:03}"
        folder.mkdir(parents=True)
        for m in range(EACH):
            path = folder / f"IMG {n:03}{m:02}.jpg"
            path.write_bytes(b"%d %d" % (n, m))
            os.utime(path, ns=(old, old))


# ── measuring ────────────────────────────────────────────────────────────────────────────────────────────────────


# What measures is loaded where it is used: of the side that is measured, which is this module too, it is no part.


def run(command: Sequence[str]) -> tuple[float, float]:
    """Wall seconds and processor seconds of one process."""
    import subprocess

    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run([sys.executable, *command], check=True, cwd=TOP, env=os.environ | {"PYTHONPATH": str(TOP)})
    after, wall = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter() - start
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def time_call(call: Callable[[], object]) -> tuple[float, float]:
    """Wall seconds and processor seconds of one call."""
    wall, spent = time.perf_counter(), time.process_time()
    call()
    return time.perf_counter() - wall, time.process_time() - spent


def measure_peak(command: Sequence[str]) -> float:
    """MiB that one process held at most."""
    import subprocess

    code = (
        "import resource, subprocess, sys; subprocess.run(sys.argv[1:], check=True, stdout=subprocess.DEVNULL); "
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    whole = [sys.executable, "-c", code, sys.executable, *command]
    done = subprocess.run(whole, check=True, cwd=TOP, env=os.environ | {"PYTHONPATH": str(TOP)}, capture_output=True)
    return int(done.stdout) / 1024


def tell(name: str, pairs: list[tuple[tuple[float, float], tuple[float, float]]], goal: float) -> None:
    import statistics

    for at, unit in ((0, "wall"), (1, "processor")):
        ratios = [ours[at] / floor[at] for ours, floor in pairs]
        seconds = [statistics.median(pair[side][at] for pair in pairs) for side in (0, 1)]
        print(
            f"{name}, {unit:9}: {seconds[0]:.3f} s over {seconds[1]:.3f} s, ratio {statistics.median(ratios):.2f} "
            f"({min(ratios):.2f} to {max(ratios):.2f}), goal {goal}",
            flush=True,
        )


def bench_cold(top: Path, corpus: list[Path], rounds: int) -> None:
    """All photos new: made, cached, copied into the site; against made and written once."""
    import shutil

    folder = top / "cold" / "2024-05-18-entry"
    folder.mkdir(parents=True)
    for path in corpus:
        os.link(path, folder / path.name) if folder.stat().st_dev == path.stat().st_dev else shutil.copy2(path, folder)
    photos = [str(path) for path in sorted(folder.iterdir())]
    pairs = []
    for turn in range(rounds):
        ours = [*RUN, str(folder.parent), str(top / f"cold-site{turn}"), str(top / f"cold-cache{turn}")]
        floor = [FLOOR, str(top / f"cold-floor{turn}"), *photos]
        pairs.append((run(ours), run(floor)))
        if turn:
            shutil.rmtree(top / f"cold-site{turn}")
            shutil.rmtree(top / f"cold-cache{turn}")
    tell(f"cold, {len(photos)} photos", pairs, 1.05)
    written = sum(path.stat().st_size for path in (top / "cold-floor0").iterdir())
    print(f"written: {written / len(photos) / 1000:.0f} KB a photo")
    ours = [*RUN, str(folder.parent), str(top / "peak-site"), str(top / "peak-cache")]
    print(f"peak memory, {os.cpu_count()} workers: {measure_peak(ours):.0f} MiB, goal 150", flush=True)


def bench_known(top: Path, corpus: list[Path], rounds: int) -> None:
    """Two thousand photos that were published before: nothing changed, and one entry more."""
    import statistics

    photos, site, cache = top / "known", top / "known-site", top / "known-cache"
    make_log(photos)
    fill_cache(photos, cache, corpus[0])
    publish(photos, site, cache)
    look_at_all = partial(look, str(photos), str(site / "photos"))
    turns = [(time_call(partial(publish, photos, site, cache)), time_call(look_at_all)) for _ in range(3 * rounds)]
    for at, unit in ((0, "wall"), (1, "processor")):
        more = [ours[at] - floor[at] for ours, floor in turns]
        ours, floor = (statistics.median(turn[side][at] for turn in turns) for side in (0, 1))
        print(
            f"nothing changed, {FOLDERS * EACH} photos, {unit:9}: {ours:.3f} s over {floor:.3f} s for a look at every "
            f"file, {statistics.median(more):.3f} s more ({min(more):.3f} to {max(more):.3f}), goal 0.10",
            flush=True,
        )
    pairs = []
    for turn in range(rounds):
        new = photos / f"2024-06-{turn + 1:02}-new"
        new.mkdir()
        for n, path in enumerate(corpus[:NEW]):
            with (new / f"{n}.jpg").open("wb") as file:
                file.write(path.read_bytes() + b"%d" % turn)  # what follows a JPEG's end makes it another file
        made = [str(path) for path in sorted(new.iterdir())]
        out = str(top / f"new-floor{turn}")
        look_too = ["--known", str(photos), str(site / "photos")]
        pairs.append((run([*RUN, str(photos), str(site), str(cache)]), run([FLOOR, *look_too, out, *made])))
    tell(f"{NEW} photos more", pairs, 1.3)
    peak = measure_peak([*RUN, str(photos), str(site), str(cache)])
    print(f"peak memory, nothing changed: {peak:.0f} MiB", flush=True)


def bench_likeness(corpus: list[Path]) -> None:
    """What scaling alone loses: reduced decoding and one size from the other, against full decoding and LANCZOS."""
    import statistics

    import numpy as np
    from PIL import Image, ImageOps
    from skimage.metrics import structural_similarity

    from buildlog.photos.decode import fit, read_upright

    found: dict[int, list[float]] = {}
    for path in corpus:
        ours = read_upright(path, (), edge=1600).image
        with Image.open(path) as image:
            whole = ImageOps.exif_transpose(image).convert("RGB")
        for edge in (1600, 960, 480):
            size = fit(whole.size, edge)
            ours = ours if ours.size == size else ours.resize(size, Image.Resampling.LANCZOS)
            pair = [np.asarray(one.convert("L")) for one in (ours, whole.resize(size, Image.Resampling.LANCZOS))]
            likeness: float = structural_similarity(  # type: ignore[no-untyped-call]  # it carries no types
                *pair, gaussian_weights=True, sigma=1.5, use_sample_covariance=False
            )
            found.setdefault(edge, []).append(float(likeness))
    for edge, values in found.items():
        print(
            f"scaling alone, {edge} px, {len(values)} photos: SSIM {statistics.mean(values):.4f} on average, "
            f"{min(values):.4f} at least; goals 0.990 and 0.985",
            flush=True,
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--publish", nargs=3, type=Path, metavar=("PHOTOS", "SITE", "CACHE"), help="used by itself")
    parser.add_argument("--corpus", type=Path, help="where the photos are made, or were; else a folder that goes again")
    parser.add_argument("--photos", type=int, default=40)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args()
    if given.publish:
        publish(*given.publish)
        return
    import tempfile

    from tests.bench.make_photos import make_photos  # the product's side, a process of its own, draws none

    with tempfile.TemporaryDirectory() as name:
        corpus = make_photos(given.corpus or Path(name) / "corpus", given.photos)
        bench_likeness(corpus[:10])
        bench_known(Path(name), corpus, given.rounds)
        bench_cold(Path(name), corpus, given.rounds)


if __name__ == "__main__":
    main()
