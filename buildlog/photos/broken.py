"""Which photos could not be published, found without making anything of them."""

from __future__ import annotations

import os
import warnings
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from buildlog.photos.publish import list_unmade, tell_broken
from buildlog.photos.recipe import PhotoRequest
from buildlog.problems import Problem


def find_broken(requests: Sequence[PhotoRequest], cache: Path) -> Iterator[Problem]:
    """The error that publishing would end with, for each photo that it would refuse.

    A photo that was made before is known to be whole. Any other is read to its end, as one that was cut short is found
    in no other way, and decoded at an eighth of its size where its format allows it.
    """
    left = list_unmade(requests, cache)
    if not left:
        return
    with warnings.catch_warnings(), ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        warnings.filterwarnings("ignore", module="PIL|pillow_heif")  # what they say of broken metadata
        yield from filter(None, pool.map(_look_at, left))


def _look_at(request: PhotoRequest) -> Problem | None:
    from buildlog.photos.decode import BrokenPhoto, look_through

    try:
        look_through(request.source)
    except BrokenPhoto as broken:
        return tell_broken(request, broken)
    return None
