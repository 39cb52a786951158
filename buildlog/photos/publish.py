"""All photos of a log as published pictures: from the cache where they were made before, else on all cores.

The work begins at once and goes on while others use the time; who needs a photo waits for that one. What decodes is
loaded only when there is something to decode. `check` asks here, without making anything, which photos would fail.
"""

from __future__ import annotations

import contextlib
import gc
import os
import queue
import struct
import threading
import warnings
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager, ExitStack, contextmanager, nullcontext
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from buildlog.photos.cache import hash_file, is_whole, keep, make_cache_key
from buildlog.photos.held import Held, MadePhotos, OneAhead, Onlooker, Shelf, spell_stem
from buildlog.photos.index import NAME, CacheEntry, Index, stat_key
from buildlog.photos.recipe import MEDIA_TYPES, RECIPE, SUFFIXES, PhotoRequest, PhotoSet, Variant
from buildlog.problems import Problem

if TYPE_CHECKING:
    from buildlog.photos.decode import BrokenPhoto


TICK_S = 0.2
"Seconds after which a wait looks up: one without end could not be interrupted on every system."

Tell = Callable[[int, int], None]
"Is called with the photos made so far and the number that there are to make."
LOOKED_UP = 1_000
"Photos that are looked up together: what is known of all of a long log, side by side, would take a lot of memory."


Outcome = Held | Problem | BaseException


class PhotoWork:
    """Photos being made; use it in a `with`, which ends the work when it is left early.

    Threads are enough: Pillow lets go of the interpreter while it decodes, scales and encodes. Results are taken up,
    and `tell` is called, only in the thread that waits.
    """

    def __init__(
        self,
        requests: Iterable[PhotoRequest],
        cache: Path | None,
        *,
        tell: Tell | None = None,
        waiting: Callable[[], AbstractContextManager[None]] = nullcontext,
        onlooker: Onlooker | None = None,
    ) -> None:
        """Nothing is done before the `with`; no two requests may share a name. All waiting is done inside `waiting`.

        Without a cache everything is made anew, into a folder that goes when the work is closed. `onlooker` sees each
        picture as soon as it is made.
        """
        self._requests: Iterable[PhotoRequest] = requests
        self._names: list[str] = []
        self._cache = cache
        self._folder = ""
        self._tell = tell or (lambda done, total: None)
        self._waiting = waiting
        self._onlooker = onlooker
        self._left: deque[PhotoRequest] = deque()
        self._taking = threading.Lock()
        self._outcomes: dict[str, Outcome] = {}
        self._made: queue.SimpleQueue[tuple[str, Outcome]] = queue.SimpleQueue()
        self._stop = threading.Event()
        self._total = 0
        self._done = 0
        self.trouble = ""
        "why nothing is kept of this work; empty: it is"

    def __enter__(self) -> PhotoWork:
        return self.begin()

    def __exit__(self, *_: object) -> None:
        self.close()

    def begin(self) -> PhotoWork:
        """What the `with` does first, for who cannot stand in one. Raises OSError when the cache cannot be used."""
        with ExitStack() as stack:
            if next(iter(self._requests), None) is None:
                self._open = stack.pop_all()
                return self
            cache = self._cache or Path(stack.enter_context(_passing_folder()))
            self._folder = str(cache)
            self._shelf = Shelf(self._folder)
            self._index = stack.enter_context(Index(cache))
            # before the pool, on one thread: an unchanged log is done here, and nothing that decodes is even loaded
            with _collecting_later():
                left = self._look_up()
            self._requests = ()  # of those that are made nothing is asked any more
            self._total = len(left)
            if left:
                stack.enter_context(warnings.catch_warnings())
                warnings.filterwarnings("ignore", module="PIL|pillow_heif")  # what they say of broken metadata
                workers = os.cpu_count() or 1
                pool = ThreadPoolExecutor(max_workers=workers, thread_name_prefix="photo")
                stack.callback(pool.shutdown, cancel_futures=True)
                # callbacks run in reverse: the work is told to stop before the pool waits for it
                stack.callback(self._stop.set)
                self._tell(0, self._total)
                # Each worker takes one photo after the other: a task for each would be ten thousands of them.
                self._left.extend(left)
                for _ in range(min(workers, len(left))):
                    pool.submit(self._run)
            self._open = stack.pop_all()
        return self

    def close(self) -> None:
        """End the work: a photo that is being made is left at its next step, and no other is begun."""
        self._open.close()

    @property
    def kept(self) -> int:
        """How many photos were made before."""
        return len(self._names) - self._total

    def hurry(self, name: str) -> None:
        """Have the photo of that request made next, if it is still to be made."""
        with self._taking:
            for at, request in enumerate(self._left):
                if request.name == name:
                    del self._left[at]
                    self._left.appendleft(request)
                    break

    # ── for those who need the photos ────────────────────────────────────────────────────────────────────────────

    def is_ready(self, names: Iterable[str]) -> bool:
        """Whether nobody would have to wait for any of these."""
        # taken up here and not in the pool, so that no other thread writes what this one reads
        while not self._made.empty():
            self._take()
        return all(name in self._outcomes for name in names)

    def wait_for(self, name: str) -> PhotoSet | None:
        """The photo of that request, as soon as it is made; None when it is broken. Raises OSError, see `begin`."""
        outcome = self._wait_for(name)
        return self._shelf.open_up(name, outcome) if isinstance(outcome, Held) else None

    def finish(self) -> tuple[MadePhotos, tuple[Problem, ...]]:
        """All photos by name, and a problem for each that is broken, in the order of the requests."""
        found = [self._wait_for(name) for name in self._names]
        made = [name for name, outcome in zip(self._names, found, strict=True) if isinstance(outcome, Held)]
        return MadePhotos(made, self._put_together), tuple(each for each in found if isinstance(each, Problem))

    def _wait_for(self, name: str) -> Outcome:
        if name not in self._outcomes:
            with self._waiting():
                while name not in self._outcomes:
                    self._take()
        return self._outcomes[name]

    def _put_together(self, name: str) -> PhotoSet:
        outcome = self._outcomes[name]
        assert isinstance(outcome, Held)
        return self._shelf.open_up(name, outcome)

    def _take(self) -> None:
        """Wait for the next result, and take it up."""
        try:
            name, outcome = self._made.get(timeout=TICK_S)
        except queue.Empty:
            if self._stop.is_set():  # nobody makes it any more: who waits on would wait for ever
                raise RuntimeError("the work on photos was ended before this one was made") from None
            return
        if isinstance(outcome, BaseException):
            raise outcome
        self._outcomes[name] = outcome
        self._done += 1
        self._tell(self._done, self._total)

    # ── what was made before ─────────────────────────────────────────────────────────────────────────────────────

    def _look_up(self) -> list[PhotoRequest]:
        """Take up every photo whose file is known and whose variants are there; the others are left."""
        rest = iter(self._requests)
        left: list[PhotoRequest] = []
        while some := [*islice(rest, LOOKED_UP)]:
            keys = self._find_keys(some)
            cached = self._index.find_entries(frozenset(keys.values()))
            for name, key in keys.items():
                # what is kept of it may be damaged: a value of another type is none
                with contextlib.suppress(TypeError, struct.error):
                    if key in cached and is_whole(self._folder, key, cached[key]):
                        self._outcomes[name] = self._shelf.hold(key, cached[key])
            self._names += (request.name for request in some)
            left += (request for request in some if request.name not in self._outcomes)
        return left

    def _find_keys(self, requests: Sequence[PhotoRequest]) -> dict[str, str]:
        """The keys of files that are known, by the names of their requests.

        A link never is known, as what it leads to may change.
        """
        paths = {request.name: _spell(request.source) for request in requests}
        known = self._index.find_digests(paths.values())
        keys = {}
        for request in requests:
            *told, digest = known.get(paths[request.name], ("",))
            # a file that is gone, or of no suffix of ours, is unknown: it gets its problem where it would be made
            with contextlib.suppress(OSError, KeyError):
                if digest and tuple(told) == stat_key(os.lstat(paths[request.name])):
                    keys[request.name] = make_cache_key(digest, os.path.splitext(paths[request.name])[1], request.hide)
        return keys

    # ── what is made now, in the pool ────────────────────────────────────────────────────────────────────────────

    def _run(self) -> None:
        while not self._stop.is_set():
            with self._taking:
                if not self._left:
                    return
                request = self._left.popleft()
            try:
                outcome: Outcome = self._make(request)
            except BaseException as error:  # raised again where somebody waits
                outcome = error
            self._made.put((request.name, outcome))

    def _make(self, request: PhotoRequest) -> Outcome:
        from buildlog.photos.decode import BrokenPhoto

        try:
            key, cached = self._develop(request)
        except BrokenPhoto as broken:
            return report_broken(request, broken)
        return self._shelf.hold(key, cached)

    def _develop(self, request: PhotoRequest) -> tuple[str, CacheEntry]:
        """What is made of the file as it is now: found by its content, or made."""
        from buildlog.photos.decode import BrokenPhoto, open_file
        from buildlog.photos.variants import develop

        # one open file for hash and pixels: a path could lead to another file in between
        with open_file(request.source) as file:
            found = os.fstat(file.fileno())
            digest = hash_file(file)
            key = make_cache_key(digest, request.source.suffix, request.hide)
            cached = self._index.find_entries((key,)).get(key)
            if cached is None or not is_whole(self._folder, key, cached):
                ahead = OneAhead(self._onlooker, spell_stem(request.name, key)) if self._onlooker else None
                developed = develop(request.source, request.hide, file=file, go_on=self._go_on, ahead=ahead)
                # still being copied: what was made belongs neither to the old nor to the new content
                if _is_changed(found, os.fstat(file.fileno())):
                    raise BrokenPhoto("was changed while it was being read", "publish again when it is all there")
                cached = keep(self._folder, self._index, key, developed)
        # what a link leads to may change without the link's own time telling
        if not request.source.is_symlink():
            self._index.note_digest(_spell(request.source), found, digest)
        return key, cached

    def _go_on(self) -> None:
        if self._stop.is_set():
            raise InterruptedError("the run was stopped")


def begin_work(
    requests: Iterable[PhotoRequest],
    cache: Path | None,
    *,
    tell: Tell,
    waiting: Callable[[], AbstractContextManager[None]],
) -> PhotoWork:
    """The work, begun; without a cache, or with one that cannot be used, all of it is done anew and nothing is kept.

    The requests are gone through more than once.
    """
    trouble = ""
    if cache is not None:
        try:
            return PhotoWork(requests, cache, tell=tell, waiting=waiting).begin()
        except OSError as error:
            reason = f"{error.filename}: {error.strerror}" if error.strerror else str(error)
            trouble = f"pictures are not kept for the next run, so this one may take longer: {reason}"
    work = PhotoWork(requests, None, tell=tell, waiting=waiting).begin()
    work.trouble = trouble
    return work


UNKNOWN_COLOUR = "#808080"
"Of a photo that was not decoded yet."


def foresee_photo(request: PhotoRequest) -> PhotoSet:
    """A photo as it will be published, but for its colour, from its bytes and its head; nothing is made for it.

    Its variants lie nowhere yet. Raises `BrokenPhoto` for what is seen to be none; what is cut short shows later.
    """
    from buildlog.photos.decode import find_upright_size, fit, open_file, open_photo

    with open_file(request.source) as file:
        key = make_cache_key(hash_file(file), request.source.suffix, request.hide)
        with open_photo(request.source, file=file) as image:
            width, height = find_upright_size(image)
    path = spell_stem(request.name, key)
    variants: dict[tuple[int, str], Variant] = {}
    for line in RECIPE:
        across, down = fit((width, height), line.edge)
        edge = max(across, down)
        named = f"{path}-{edge}{SUFFIXES[line.format]}"
        # as in `develop`: of a small original no size is there twice
        variants.setdefault(
            (edge, line.format), Variant(named, across, down, MEDIA_TYPES[line.format], stored="", size=0, mtime_ns=0)
        )
    return PhotoSet(variants=tuple(variants.values()), width=width, height=height, colour=UNKNOWN_COLOUR)


def report_broken(request: PhotoRequest, broken: BrokenPhoto) -> Problem:
    """What is told of a photo that cannot be published."""
    message = f"`{request.source.name}` {broken.message}"
    return Problem(rule="broken-photo", message=message, place=request.place, help=broken.help)


def list_unmade(requests: Sequence[PhotoRequest], cache: Path | None) -> list[PhotoRequest]:
    """The photos of which nothing is kept that was made before; all of them where the cache cannot be used."""
    # `check` must not make a cache where there is none
    if cache is None or not (cache / NAME).exists():
        return list(requests)
    work = PhotoWork(requests, cache)
    work._folder = str(cache)
    work._shelf = Shelf(work._folder)
    try:
        with Index(cache) as work._index:
            return work._look_up()
    except OSError:
        return list(requests)


def _passing_folder() -> AbstractContextManager[str]:
    from tempfile import TemporaryDirectory

    return TemporaryDirectory(prefix="buildlog-", ignore_cleanup_errors=True)


@contextmanager
def _collecting_later() -> Iterator[None]:
    """Nothing that is made in here is garbage: looking for some takes a tenth of the time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _spell(source: Path) -> str:
    """The path from the top, as the index knows it."""
    return os.path.abspath(source)


def _is_changed(before: os.stat_result, after: os.stat_result) -> bool:
    return (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns)


def make_photos(
    requests: Sequence[PhotoRequest], cache: Path, *, tell: Tell | None = None
) -> tuple[Mapping[str, PhotoSet], tuple[Problem, ...]]:
    """The photos by the names of their requests, and a problem for each one that is broken."""
    with PhotoWork(requests, cache, tell=tell) as work:
        return work.finish()


def find_broken(requests: Sequence[PhotoRequest], cache: Path | None) -> Iterator[Problem]:
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
        return report_broken(request, broken)
    return None
