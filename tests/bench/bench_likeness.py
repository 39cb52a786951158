"""How far apart pictures of one photo lie that honest programs made, and pictures of another: where the bound belongs.

    python -m tests.bench.bench_likeness FOLDER…

reads every picture below the folders (without one, those that scikit-image ships and those of the example), encodes
each as `buildlog publish` does and in other ways, and prints the unlikeness (`photos.likeness`) at its largest for what
is the same, and at its smallest for what is not.
"""

from __future__ import annotations

import io
import itertools
import random
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import skimage.data
from PIL import Image, ImageFilter

from buildlog.handover.remake_pictures import MOST_UNLIKE, measure_unlikeness
from buildlog.photos.decode import fit
from buildlog.photos.recipe import RECIPE

HONEST: dict[str, tuple[str, dict[str, Any]]] = {
    "WebP 78, method 0": ("WEBP", {"quality": 78, "method": 0}),
    "WebP 78, method 6": ("WEBP", {"quality": 78, "method": 6}),
    "WebP 70, method 4": ("WEBP", {"quality": 70, "method": 4}),
    "WebP 50, method 4": ("WEBP", {"quality": 50, "method": 4}),
    "JPEG 80, progressive": ("JPEG", {"quality": 80, "progressive": True}),
    "JPEG 80, colour whole": ("JPEG", {"quality": 80, "subsampling": 0}),
    "JPEG 70": ("JPEG", {"quality": 70}),
    "AVIF 53": ("AVIF", {"quality": 53, "speed": 9}),
}
SMEARED = 32
"Pixels of the edge of what is smeared over, as if to hide it."


def encode(image: Image.Image, format: str, options: dict[str, Any]) -> Image.Image:
    content = io.BytesIO()
    image.save(content, format, **options)
    return Image.open(content).convert("RGB")


def smear(image: Image.Image, chance: random.Random) -> Image.Image:
    """A square somewhere, blurred until nothing in it can be made out."""
    left, top = (chance.randrange(side - SMEARED) for side in image.size)
    box = (left, top, left + SMEARED, top + SMEARED)
    changed = image.copy()
    changed.paste(image.filter(ImageFilter.GaussianBlur(SMEARED)).crop(box), box)
    return changed


def find_pictures(folders: list[Path]) -> Iterator[tuple[str, Image.Image]]:
    for path in sorted(path for folder in folders for path in folder.rglob("*") if path.is_file()):
        if path.suffix.lower() in (".png", ".jpg", ".jpeg") and "chess" not in path.name:
            with Image.open(path) as image:
                if image.mode in ("RGB", "RGBA", "L") and min(image.size) > 200:
                    yield path.name, image.convert("RGB")


def main(folders: list[Path]) -> None:
    pictures = [*find_pictures(folders)]
    honest: list[tuple[int, str]] = []
    smeared: list[int] = []
    foreign: list[int] = []
    for line in RECIPE:
        made = {}
        for name, image in pictures:
            scaled = image.resize(fit(image.size, line.edge), Image.Resampling.LANCZOS)
            made[name] = encode(scaled, line.format, dict(line.options))
            for way, (format, options) in HONEST.items():
                honest.append((measure_unlikeness(encode(scaled, format, options), made[name]), f"{name}: {way}"))
            for scaling in (Image.Resampling.BICUBIC, Image.Resampling.BILINEAR):
                other = encode(image.resize(scaled.size, scaling), line.format, dict(line.options))
                honest.append((measure_unlikeness(other, made[name]), f"{name}: {scaling.name.lower()}"))
            for seed in range(20):
                changed = encode(smear(scaled, random.Random(seed)), line.format, dict(line.options))
                smeared.append(measure_unlikeness(changed, made[name]))
        for one, other in itertools.combinations(made.values(), 2):
            foreign.append(measure_unlikeness(one, other.resize(one.size)))
    smeared.sort()
    print(f"{len(pictures)} pictures, {len(RECIPE)} sizes; bound {MOST_UNLIKE}")
    print("the same, largest:", ", ".join(f"{far} ({name})" for far, name in sorted(honest, reverse=True)[:5]))
    print(f"another picture, smallest: {min(foreign)}")
    print(f"{SMEARED} pixels smeared over: half above {smeared[len(smeared) // 2]}, found", end=" ")
    print(f"{sum(far > MOST_UNLIKE for far in smeared) / len(smeared):.0%}")


if __name__ == "__main__":
    shipped = Path(skimage.data.__file__).parent
    main([*map(Path, sys.argv[1:])] or [shipped, Path(__file__).parent.parent.parent / "example_project/photos"])
