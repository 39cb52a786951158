"""The least that publishing a log's photos can take: a hand-written loop of Pillow, with no cache, check or profile.

Each JPEG is decoded at the reduced size that is still large enough, scaled once to the largest size, turned, scaled on
from size to size, and encoded in the product's own formats, qualities and sizes, on all cores. `--known` looks only at
names, sizes and times: of the photos that are there, and of as many published files.

Run as `python tests/bench/floor_photos.py OUT PHOTO…`, or with `--known PHOTOS SITE` before it.
"""

from __future__ import annotations

import argparse
import os
from pathlib import Path

EDGES = (1600, 960, 480)
SWAPPED = (5, 6, 7, 8)


def make(path: str, out: str) -> None:
    """The variants of one photo."""
    from PIL import Image

    turns = {2: 0, 3: 3, 4: 1, 5: 5, 6: 4, 7: 6, 8: 2}
    with Image.open(path) as image:
        orientation = image.getexif().get(0x0112, 1)
        scale = EDGES[0] / max(image.size)
        target = (round(image.width * scale), round(image.height * scale))
        image.draft("RGB", target)
        small = image.resize(target, Image.Resampling.LANCZOS)
    small.info = {}
    if orientation in turns:
        small = small.transpose(Image.Transpose(turns[orientation]))
    stem = os.path.join(out, os.path.basename(path).partition(".")[0])
    for edge in EDGES:
        if max(small.size) != edge:
            scale = edge / max(small.size)
            size = (round(small.width * scale), round(small.height * scale))
            small = small.resize(size, Image.Resampling.LANCZOS)
        small.save(f"{stem}-{edge}.webp", "WEBP", quality=78, method=2)
        if edge == 960:
            small.save(f"{stem}-{edge}.jpg", "JPEG", quality=80, progressive=True)


def look(photos: str, site: str) -> dict[str, tuple[int, int]]:
    """Size and time of every photo in the folders of a log, and of every file in the folders of its site."""
    found = {}
    for top in (photos, site):
        for folder in os.scandir(top):
            for file in os.scandir(folder.path):
                told = file.stat(follow_symlinks=False)
                found[file.path] = (told.st_size, told.st_mtime_ns)
    return found


def make_all(paths: list[str], out: str) -> None:
    from concurrent.futures import ThreadPoolExecutor

    Path(out).mkdir(parents=True)
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        list(pool.map(lambda path: make(path, out), paths))


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--known", nargs=2, metavar=("PHOTOS", "SITE"))
    parser.add_argument("out")
    parser.add_argument("photos", nargs="*")
    given = parser.parse_args()
    if given.known:
        look(*given.known)
    if given.photos:
        make_all(given.photos, given.out)


if __name__ == "__main__":
    main()
