"""The preview from its start to Ctrl-C: one thread follows the log, others answer, and all of them end together.

When did something in the log change? That is told at once by the system where it can, and found by looking where it
cannot: drives in a network send no events for what others write there, and a system may have no more watches to give.
So beside events a look at names, sizes and times goes on, seldom enough to cost next to nothing.
"""

from __future__ import annotations

import gc
import os
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from watchfiles import watch

from buildlog.preview.serving import PreviewServer
from buildlog.preview.site import PreviewSite

STEP_MS = 10
"Milliseconds without another event after which changes are told: an editor's save is several events at once."
LONGEST_MS = 200
"Milliseconds after which they are told in any case, however many follow each other."
TICK_MS = 100
"Milliseconds after which somebody who waits is told that nothing changed, to do what there is to do meanwhile."
LOOK_S = 2.0
"Seconds between two looks at names, sizes and times."
LOOK_SHARE = 50
"A look happens at most every so many times as long as it takes: of a large log on a slow drive, less often."
PARTS = ("log.yaml", "entries", "pages", "photos", "papers", "seals", "theme")
"What belongs to a log; anything else in its folder, the site that was published among it, is no business of ours."


def follow(folder: Path, stop: threading.Event, tell: Callable[[str], None]) -> Iterator[bool]:
    """Yields True whenever something changed, and False now and then where nothing did, until `stop` is set.

    A folder that vanishes is a change, and one that comes back is followed again. `tell` gets a sentence where the
    system sends no events.
    """
    look = _Look(folder)
    told = False
    while not stop.is_set():
        try:
            for changed in _hear(folder, stop):
                yield changed or (look.is_due() and look.has_changed())
                if changed:
                    look.pass_over()
                if identify(folder) != look.folder:
                    break
        except OSError as error:
            if folder.is_dir() and not told:
                told = True
                tell(f"this system does not report changes here ({error}), so they are looked for every few seconds")
        if stop.wait(TICK_MS / 1000):
            return
        # Another folder of the same name, or none: what was watched is not it.
        changed = look.has_changed() if look.is_due() or identify(folder) != look.folder else False
        look.folder = identify(folder)
        yield changed


def _hear(folder: Path, stop: threading.Event) -> Iterator[bool]:
    """Whether events came, each time that some did or that it was quiet for a while. Raises OSError without any."""
    root = os.path.realpath(folder)
    for events in watch(
        root,
        watch_filter=lambda _, path: is_of_log(root, path),
        debounce=LONGEST_MS,
        step=STEP_MS,
        stop_event=stop,
        rust_timeout=TICK_MS,
        yield_on_timeout=True,
        raise_interrupt=False,
        force_polling=False,
        ignore_permission_denied=True,
    ):
        yield bool(events)


def is_of_log(root: str, path: str) -> bool:
    """Whether a path is one that the log is read from; the folder itself is. Hidden names are no part of a log."""
    inside = os.path.relpath(path, root).split(os.sep)
    return inside == ["."] or (inside[0] in PARTS and not any(part.startswith(".") for part in inside))


def identify(folder: Path) -> tuple[int, int] | None:
    """By what a folder is known to be the same one; None where there is none."""
    try:
        found = os.stat(folder)
    except OSError:
        return None
    return found.st_dev, found.st_ino


class _Look:
    """A look at the names, sizes and times of all files of a log, now and then."""

    def __init__(self, folder: Path) -> None:
        self._path = folder
        self._due = 0.0
        self.folder = identify(folder)
        self._seen = self._take()

    def is_due(self) -> bool:
        return time.monotonic() >= self._due

    def has_changed(self) -> bool:
        """Whether anything is other than at the last look."""
        before, self._seen = self._seen, self._take()
        return before != self._seen

    def pass_over(self) -> None:
        """Take what is there as seen: an event told of it, and what is saved at this moment sends another."""
        self._seen = self._take()

    def _take(self) -> int:
        begun = time.monotonic()
        # The hash alone is kept: a log may have ten thousands of photos.
        seen = hash(tuple(item for part in PARTS for item in _scan(f"{self._path}/{part}")))
        now = time.monotonic()
        self._due = now + max(LOOK_S, LOOK_SHARE * (now - begun))
        return seen


def _scan(path: str) -> Iterator[tuple[str, int, int, int]]:
    """Name, size, time and number of a file, or of all in a folder, through no link; nothing where nothing is."""
    try:
        found = os.lstat(path)
        yield path, found.st_size, found.st_mtime_ns, found.st_ino
        if os.path.isdir(path) and not os.path.islink(path):
            with os.scandir(path) as items:
                names = sorted(item.name for item in items if not item.name.startswith("."))
            for name in names:
                yield from _scan(f"{path}/{name}")
    except OSError:  # it went while it was looked at: the next look sees that
        return


IDLE_S = 0.02
"Seconds of every tick that are given to stories that no page has shown: a save waits no longer than that."


class Follower(threading.Thread):
    """Keeps a site up with its folder; what goes wrong in it, by our own fault, ends the preview."""

    def __init__(self, site: PreviewSite, tell: Callable[[str], None], on_failure: Callable[[], None]) -> None:
        super().__init__(name="follower", daemon=True)
        self._site = site
        self._tell = tell
        self._on_failure = on_failure
        self.stop = threading.Event()
        self.failure: BaseException | None = None

    def run(self) -> None:
        try:
            with searching_when_idle() as search:
                self._follow(search)
        except BaseException as error:
            self.failure = error
            self._on_failure()

    def _follow(self, search: Callable[[], None]) -> None:
        # What was saved between the first reading and the first word of a change is found by reading once more.
        heard = False
        for changed in follow(self._site.folder, self.stop, self._tell):
            if changed or not heard or self._site.as_of != self._site.find_day():
                self._site.refresh()
            else:
                self._site.check_stories(IDLE_S)
                search()
            heard = True


NEW_OBJECTS = 50_000
"How many more objects there have to be than at the last search before the next one is worth its time."


@contextmanager
def searching_when_idle() -> Iterator[Callable[[], None]]:
    """Inside, memory is searched for cycles only when what is given is called.

    Left to itself, the search comes in the middle of a save, when most is made, and looks through all figures several
    times: of 2,000 entries it took longer than computing them. What one search has left is alive, and is passed over by
    the next ones; figures and pages point one way, so that they go as soon as others have taken their place.
    """
    was = gc.isenabled()

    def search() -> None:
        if gc.get_count()[0] > NEW_OBJECTS:
            gc.collect()
            gc.freeze()

    gc.disable()
    try:
        yield search
    finally:
        gc.unfreeze()
        if was:
            gc.enable()


POLL_S = 0.1
"Seconds within which a server notices that it is to end."


def run_preview(
    site: PreviewSite, server: PreviewServer, tell: Callable[[str], None], *, others: Sequence[PreviewServer] = ()
) -> None:
    """Serve until Ctrl-C, or until something fails; everything that was begun has ended then.

    `others` serve the same site at other addresses meanwhile.
    """
    follower = Follower(site, tell, on_failure=server.shutdown)
    threads = [threading.Thread(target=each.serve_forever, args=(POLL_S,), daemon=True) for each in others]
    for thread in (*threads, follower):
        thread.start()
    try:
        with suppress(KeyboardInterrupt):
            server.serve_forever(POLL_S)
    finally:
        follower.stop.set()
        site.end()
        for each in others:
            each.shutdown()
        for each in (server, *others):
            each.server_close()
        for thread in (*threads, follower):
            thread.join()
    if follower.failure is not None:
        raise follower.failure
