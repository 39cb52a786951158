"""Photos made when a page shows them, and not before: of a page's entry all at once, of any other one by one."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

from buildlog.compute.figures import Figures
from buildlog.photos.index import stat_key
from buildlog.photos.publish import make_photos
from buildlog.photos.recipe import PhotoRequest, PhotoSet, Variant
from buildlog.problems import Problem
from buildlog.render.pages.photos import STEPS, request_photos, write_tones

Made = tuple[PhotoSet | None, tuple[Problem, ...]]
"A photo as it is published, or None, and what is wrong with it."


class Pictures:
    """The photos that pages have shown so far, for as long as their files are as they were."""

    def __init__(self, cache: Callable[[], Path]) -> None:
        self._cache = cache
        self._made: dict[str, tuple[object, Made]] = {}
        self._asked: set[str] = set()
        self.variants: dict[str, Variant] = {}
        "every picture that a page may ask for, by its path in the site"

    def begin(self) -> None:
        """Take up another state of the log: each photo is looked at once more when it is asked for."""
        self._asked = set()

    def find(self, figures: Figures, name: str) -> PhotoSet | None:
        """The photo of that request, made if need be; None where it is broken or cannot be made."""
        if name not in self._asked:
            self._take([each for each in list_requests(figures, name.partition("/")[0]) if each.name == name])
        return self._made[name][1][0]

    def make(self, figures: Figures, entry: str) -> None:
        """All photos of an entry that are not made yet, on all processors."""
        self._take([each for each in list_requests(figures, entry) if each.name not in self._asked])

    def list_problems(self) -> Iterator[Problem]:
        """What is wrong with the photos that were asked for."""
        for name in self._asked:
            yield from self._made[name][1][1]

    def _take(self, requests: Sequence[PhotoRequest]) -> None:
        signs = {request.name: _sign(request) for request in requests}
        left = [each for each in requests if self._made.get(each.name, (None,))[0] != signs[each.name]]
        for name, made in self._work(left).items() if left else ():
            self._made[name] = signs[name], made
        for request in requests:
            self._asked.add(request.name)
            made_set, _ = self._made[request.name][1]
            self.variants |= {variant.path: variant for variant in (made_set.variants if made_set else ())}

    def _work(self, requests: list[PhotoRequest]) -> Mapping[str, Made]:
        try:
            made, broken = make_photos(requests, self._cache())
        except OSError as error:  # a disk without room: pages are shown all the same, and say so
            words = error.strerror or str(error)
            return {each.name: (None, (_tell(each, words),)) for each in requests}
        told = {problem.place: problem for problem in broken}
        return {
            each.name: (made.get(each.name), (told[each.place],) if each.place in told else ()) for each in requests
        }


def list_requests(figures: Figures, entry: str) -> tuple[PhotoRequest, ...]:
    """What the photo stage would be asked for of one entry."""
    return request_photos(figures, [each for each in figures.entries if each.name == entry])


def _tell(request: PhotoRequest, words: str) -> Problem:
    message = f"`{request.source.name}` cannot be shown: {words}"
    help = "make room on the disk, or see to it that the cache's folder can be written"
    return Problem(rule="photo-not-made", message=message, place=request.place, help=help, severity="warning")


def _sign(request: PhotoRequest) -> object:
    """By what it is known that a photo need not be looked at again; a place belongs to it, as problems point there."""
    try:
        found = stat_key(os.stat(request.source))
    except OSError:  # what is wrong with it is told where it would be made
        return object()
    return found, request.hide, request.place


def write_all_tones() -> bytes:
    """The sheet of every colour that may stand in a photo's place: which ones do is not known before all are made."""
    steps = range(STEPS)
    return write_tones(f"tone-{red}{green}{blue}" for red in steps for green in steps for blue in steps)
