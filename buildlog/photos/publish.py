"""All photos of a log as published pictures: from the cache where they were made before, else on all cores."""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

from PIL import Image

from buildlog.photos.cache import SUFFIXES, KeptSet, find_kept, keep, make_key
from buildlog.photos.decode import BrokenPhoto, check_file
from buildlog.photos.records import PhotoRequest, PhotoSet, Variant
from buildlog.photos.variants import develop
from buildlog.problems import Problem

MEDIA_TYPES = {"WEBP": "image/webp", "JPEG": "image/jpeg"}


def make_photos(
    requests: Sequence[PhotoRequest], cache: Path, *, tell: Callable[[PhotoRequest], None] | None = None
) -> tuple[dict[str, PhotoSet], tuple[Problem, ...]]:
    """The photos by the names of their requests, and a problem for each one that is broken.

    Threads are enough: Pillow lets go of the interpreter while it decodes, scales and encodes. `tell` is called in the
    calling thread after each photo, in order.
    """
    photos: dict[str, PhotoSet] = {}
    problems: list[Problem] = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what Pillow says of broken metadata
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        with _make_pool() as pool:
            for request, made in [(request, pool.submit(_make, request, cache)) for request in requests]:
                found = _wait(made, pool)
                if isinstance(found, PhotoSet):
                    photos[request.name] = found
                else:
                    problems.append(found)
                if tell:
                    tell(request)
    return photos, tuple(problems)


def _make_pool() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(max_workers=os.cpu_count() or 1, thread_name_prefix="photo")


def _wait(made: Future[PhotoSet | Problem], pool: ThreadPoolExecutor) -> PhotoSet | Problem:
    """The result; when the run is stopped, photos that are not begun are not begun any more."""
    try:
        return made.result()
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        raise


def _make(request: PhotoRequest, cache: Path) -> PhotoSet | Problem:
    try:
        key = _read_key(request)
        kept = find_kept(cache, key) or keep(cache, key, develop(request.source, request.hide))
    except BrokenPhoto as broken:
        message = f"`{request.source.name}` {broken.message}"
        return Problem(rule="broken-photo", message=message, place=request.place, help=broken.help)
    return _place(request.name, kept)


def _read_key(request: PhotoRequest) -> str:
    check_file(request.source)
    try:
        return make_key(request.source, request.hide)
    except OSError as error:
        raise BrokenPhoto(f"cannot be read: {error.strerror}", "check who may read it") from error


def _place(name: str, kept: KeptSet) -> PhotoSet:
    variants = tuple(
        Variant(
            path=f"photos/{name}-{one.edge}{SUFFIXES[one.format]}",
            width=one.width,
            height=one.height,
            format=MEDIA_TYPES[one.format],
            file=one.file,
        )
        for one in kept.variants
    )
    return PhotoSet(variants=variants, width=kept.width, height=kept.height, colour=kept.colour)
