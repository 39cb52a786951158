"""Which format shows a photo in the fewest bytes: each encoder's size and time, read off at equal picture quality.

Run as `python -m tests.bench.bench_photos_formats FOLDER` on photographs, each at least 1600 pixels wide or
high; the answer depends on them, so take real ones. Every photo is scaled to each size without loss, encoded at several
qualities, and compared with itself: SSIM (scikit-image: luma, Gaussian window of 1.5) and SSIMULACRA2 (90: not
to be told apart, 70: high, 50: medium). Sizes and times at equal quality are read off the straight line between the two
nearest encodings, photo by photo; the table shows their geometric mean over all photos. Times are processor time, so
that other work on the machine does not count.
"""

from __future__ import annotations

import argparse
import io
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image
from skimage.metrics import structural_similarity
from ssimulacra2 import compute_ssimulacra2

EDGES = (1600, 960, 480)
ENCODERS: dict[str, tuple[str, dict[str, Any], tuple[int, ...]]] = {
    "JPEG progressive": ("JPEG", {"progressive": True}, (45, 62, 76, 88)),
    "WebP method 2": ("WEBP", {"method": 2}, (45, 62, 76, 88)),
    "WebP method 4": ("WEBP", {"method": 4}, (45, 62, 76, 88)),
    "AVIF speed 9": ("AVIF", {"speed": 9, "max_threads": 1}, (38, 48, 58, 70)),
    "AVIF speed 8": ("AVIF", {"speed": 8, "max_threads": 1}, (38, 48, 58, 70)),
}
TARGETS = (("SSIMULACRA2", 65.0), ("SSIMULACRA2", 72.0), ("SSIMULACRA2", 78.0), ("SSIM", 0.94), ("SSIM", 0.96))


@dataclass(frozen=True, slots=True, kw_only=True)
class Encoding:
    """One picture encoded once."""

    quality: int
    size: int
    "bytes"
    seconds: float
    "processor time"
    scores: dict[str, float]
    "by the name of the measure"


def encode(image: Image.Image, encoder: str, quality: int) -> Encoding:
    """The picture through one encoder and back, with what that cost and what was lost."""
    form, options, _ = ENCODERS[encoder]
    content = io.BytesIO()
    began = time.process_time()
    image.save(content, form, quality=quality, **options)
    seconds = time.process_time() - began
    with Image.open(io.BytesIO(content.getvalue())) as shown:
        scores = {"SSIM": compare_luma(image, shown), "SSIMULACRA2": compare_all(image, content)}
    return Encoding(quality=quality, size=len(content.getvalue()), seconds=seconds, scores=scores)


def compare_luma(one: Image.Image, other: Image.Image) -> float:
    """SSIM of the luma, as Wang et al. 2004 measure it."""
    grey = [np.asarray(image.convert("RGB").convert("L")) for image in (one, other)]
    return float(structural_similarity(*grey, gaussian_weights=True, sigma=1.5, use_sample_covariance=False))


def compare_all(image: Image.Image, content: io.BytesIO) -> float:
    whole = io.BytesIO()
    image.save(whole, "PNG", compress_level=0)
    whole.seek(0)
    content.seek(0)
    return float(compute_ssimulacra2(whole, content))


def read_off(encodings: Sequence[Encoding], measure: str, target: float) -> tuple[float, float, float] | None:
    """Bytes, seconds and quality at which the measure reaches the target; None when that lies outside."""
    scores = [one.scores[measure] for one in encodings]
    if not min(scores) <= target <= max(scores):
        return None

    def at(value: Callable[[Encoding], float]) -> float:
        return float(np.interp(target, np.maximum.accumulate(scores), [value(one) for one in encodings]))

    return (
        float(np.exp(at(lambda one: float(np.log(one.size))))),
        at(lambda one: one.seconds),
        at(lambda one: one.quality),
    )


def measure_all(paths: Sequence[Path], edge: int, encoders: Sequence[str]) -> dict[str, list[list[Encoding]]]:
    """For each encoder the encodings of each photo, at one size."""
    found: dict[str, list[list[Encoding]]] = {name: [] for name in encoders}
    for path in paths:
        with Image.open(path) as image:
            small = image.convert("RGB")
        small.thumbnail((edge, edge), Image.Resampling.LANCZOS, reducing_gap=None)
        for name in encoders:
            found[name].append([encode(small, name, quality) for quality in ENCODERS[name][2]])
    return found


def show(edge: int, found: dict[str, list[list[Encoding]]]) -> None:
    """One table: bytes, seconds and quality at each target, over the photos where every encoder reaches it."""
    print(f"\n### {edge} pixels\n\n| at equal | photos | encoder | KB | of WebP | ms | quality (least to most) |")
    print("|---|---:|---|---:|---:|---:|---:|")
    for measure, target in TARGETS:
        read = {name: [read_off(one, measure, target) for one in photos] for name, photos in found.items()}
        shared = [n for n in range(len(next(iter(read.values())))) if all(values[n] for values in read.values())]
        if not shared:
            continue
        base = mean([read["WebP method 2"][n][0] for n in shared])  # type: ignore[index]  # shared ones are there
        for name, values in read.items():
            chosen = [value for n in shared if (value := values[n])]
            size = mean([value[0] for value in chosen])
            qualities = [value[2] for value in chosen]
            print(
                f"| {measure} {target:g} | {len(shared)} | {name} | {size / 1000:.1f} | {size / base:.2f} "
                f"| {1000 * float(np.mean([v[1] for v in chosen])):.0f} "
                f"| {np.median(qualities):.0f} ({min(qualities):.0f}-{max(qualities):.0f}) |",
                flush=True,
            )


def mean(values: Sequence[float]) -> float:
    """The geometric mean: every photo counts the same, however large its file."""
    return float(np.exp(np.mean(np.log(values))))


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--edges", type=int, nargs="+", default=EDGES)
    parser.add_argument("--encoders", nargs="+", choices=ENCODERS, default=list(ENCODERS))
    given = parser.parse_args()
    paths = sorted(path for path in given.folder.iterdir() if path.suffix in (".jpg", ".png"))
    for edge in given.edges:
        show(edge, measure_all(paths, edge, given.encoders))


if __name__ == "__main__":
    main()
