"""What stays from one save to the next, and by what it is known that it may: always by what it was made of.

Nothing here is told what changed. A text stays read as long as it is the same text, figures stay as long as all that
they are computed from is the same, a story as long as its words and the names that it may mention are, a photo as long
as its file is. So a change that nobody told of, or told of wrongly, can only cost time.

Photos are made when a page shows them, and not before; a page does not wait for them, its pictures do. One that is not
made yet is foreseen: its head tells its size and its bytes its address, so that the page is the one that will be
published but for the colour that stands in the photo's place. Once it is made, the page is made again.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from buildlog.compute.as_of import cut_to_day
from buildlog.compute.figures import Figures, compute_figures
from buildlog.kept.store import hash_folders
from buildlog.photos.decode import BrokenPhoto
from buildlog.photos.index import stat_key
from buildlog.photos.publish import PhotoWork, foresee_photo, report_broken
from buildlog.photos.recipe import PhotoRequest, PhotoSet, Variant
from buildlog.problems import Problem
from buildlog.read.reader import KeptReadings, read_log
from buildlog.read.records import Entry, Log
from buildlog.render.catalogue import Catalogue
from buildlog.render.language import Words
from buildlog.render.markdown import Story
from buildlog.render.pages.photos import STEPS, Told, list_told, request_photos, write_tones
from buildlog.render.render import make_words
from buildlog.render.stories import list_links, tell_story
from buildlog.render.theme import OWN_FOLDER, Theme, find_themes
from buildlog.stages import Run, keep_figures, keep_reading, load_site_theme

AnyRun = TypeVar("AnyRun", bound=Run)


class KeptFigures:
    """Reading and computing, each done again only for what is not as it was."""

    def __init__(self) -> None:
        self._readings = KeptReadings()
        self._bare: dict[str, tuple[str, Entry]] = {}
        self._log: Log | None = None
        self._figures: Figures | None = None

    def read(self, run: AnyRun) -> AnyRun:
        """What the stage of that name does; entries of days to come are no problem here, but shown as drafts."""
        return keep_reading(run, read_log(run.folder, self._readings)) if run.folder else run

    def compute(self, run: AnyRun) -> AnyRun:
        """What the stage of that name does."""
        if run.reading is None or run.reading.log is None:
            return run
        log = run.reading.log
        bare = self._strip(log, run.reading.texts)
        known = self._figures
        if known is None or self._log is None or known.as_of != run.as_of or not is_same(bare, self._log):
            known = self._figures = compute_figures(bare, run.as_of)
            self._log = bare
        return keep_figures(run, _join(known, log))

    def _strip(self, log: Log, texts: Mapping[str, str]) -> Log:
        """The log without its stories, of which no figure is made; each entry is the one of before where it can be."""
        # By the text above the story and not by equal records: those of two entries may be equal and stand elsewhere.
        before, self._bare = self._bare, {}
        for entry in log.entries:
            text = texts[entry.place.file]
            head = text[: len(text) - len(entry.body)]
            kept = before.get(entry.name)
            bare = kept[1] if kept and kept[0] == head else replace(entry, body="")
            self._bare[entry.name] = head, bare
        return replace(log, entries=tuple(self._bare[entry.name][1] for entry in log.entries))


def _join(figures: Figures, log: Log) -> Figures:
    """The figures with the stories and pages of the log, of which none is computed."""
    day = figures.as_of
    return replace(figures, log=log, entries=cut_to_day(log, day).entries, pages=log.list_pages(day))


def is_same(one: Log, other: Log) -> bool:
    """Whether two logs are made of the very same records and files."""
    return (
        one.settings is other.settings
        and len(one.entries) == len(other.entries)
        and all(entry is kept for entry, kept in zip(one.entries, other.entries, strict=True))
        and (one.papers, one.photos, one.spelt) == (other.papers, other.photos, other.spelt)
    )


class KeptStories:
    """Stories as lists of entries need them: their first words, and what is wrong in them; no photo is made for one."""

    def __init__(self) -> None:
        self._figures: Figures | None = None
        self._told: tuple[Told, ...] = ()
        self._links = list_links(())
        self._kept: dict[str, tuple[object, Story]] = {}

    def begin(self, figures: Figures) -> None:
        """Take up the entries and standing pages of a state of the log, and forget all others."""
        self._figures, self._told = figures, (*figures.log.entries, *figures.log.pages)
        links = list_links(list_told(figures))
        known = {each.name for each in self._told}
        # A link from any story may lead to one that has come, or has gone.
        self._kept = {name: kept for name, kept in self._kept.items() if name in known} if links == self._links else {}
        self._links = links

    def is_known(self, told: Told) -> bool:
        """Whether the story has been rendered as it is now."""
        kept = self._kept.get(told.name)
        return kept is not None and kept[0] == self._sign(told)

    def render(self, told: Told) -> Story:
        """The story with nothing in the place of its photos; what is told of it is what is told of the whole one."""
        assert self._figures is not None
        if not self.is_known(told):
            shows = dict.fromkeys(self._figures.log.photos.get(told.name, ()), lambda alt: "")
            # A draft will be published behind all entries that are there now.
            links = self._links if told.date is None or told.date <= self._figures.as_of else list_links(self._told)
            self._kept[told.name] = self._sign(told), tell_story(told, shows, links)
        return self._kept[told.name][1]

    def list_problems(self) -> Iterator[Problem]:
        """What is wrong in the stories that were rendered as they are now."""
        for told in self._told:
            if self.is_known(told):
                yield from self._kept[told.name][1].problems

    def _sign(self, told: Told) -> object:
        """By what a story is known to be the one that was rendered."""
        assert self._figures is not None
        return told.body, told.body_line, self._figures.log.photos.get(told.name, ()), type(told)


class KeptTheme:
    """The theme with its templates compiled, as long as no byte of any theme, or of the log's own, is another."""

    def __init__(self) -> None:
        self._digest = b""
        self._loaded: tuple[Theme | None, tuple[Problem, ...]] = (None, ())

    def load(self, figures: Figures) -> tuple[Theme | None, tuple[Problem, ...]]:
        """The theme that `log.yaml` names, or None and why it will not do."""
        site, folder = figures.log.settings.site, figures.log.folder
        folders = [find_themes(), *([folder / OWN_FOLDER] if folder else [])]
        # The place is that of the name in `log.yaml`, which a problem points at.
        digest = hash_folders(folders, f"{site.theme} {site.field_place('theme')} {site.language}")
        if digest != self._digest:
            self._loaded, self._digest = load_site_theme(figures), digest
        return self._loaded


class KeptWords:
    """What writes dates and amounts, with all it has written before, as long as language and words are the same."""

    def __init__(self) -> None:
        self._made_for: tuple[str, Catalogue] | None = None
        self._words: Words | None = None

    def find(self, figures: Figures, theme: Theme) -> Words:
        made_for = figures.log.settings.site.language, theme.catalogue
        if self._words is None or made_for != self._made_for:
            self._made_for, self._words = made_for, make_words(figures, theme)
        return self._words


Made = tuple[PhotoSet | None, tuple[Problem, ...]]
"A photo as it is published, or None, and what is wrong with it."
PATIENCE_S = 120.0
"Seconds that a picture is waited for by whoever asks for it."


class Pictures:
    """The photos that pages have shown so far, for as long as their files are as they were."""

    def __init__(self, cache: Callable[[], Path], on_made: Callable[[], None]) -> None:
        """`on_made` is called, in another thread, when photos are there that a page has shown as foreseen."""
        self._cache = cache
        self._on_made = on_made
        self._news = threading.Condition()
        self._made: dict[str, tuple[object, Made]] = {}
        self._variants: dict[str, Variant] = {}
        self._coming: dict[str, str] = {}
        self._early: dict[str, bytes] = {}
        self._waited: list[str] = []
        self._works: dict[PhotoWork, threading.Thread] = {}
        self._asked: set[str] = set()

    def begin(self) -> None:
        """Take up another state of the log: each photo is looked at once more when it is asked for."""
        self._asked = set()

    def find(self, figures: Figures, name: str) -> PhotoSet | None:
        """The photo of that request, made or foreseen; None where it is broken or cannot be made."""
        if name not in self._asked:
            self._take([each for each in list_requests(figures, [name.partition("/")[0]]) if each.name == name])
        return self._made[name][1][0]

    def make(self, figures: Figures, names: Collection[str]) -> None:
        """Begin to make all photos of some entries or pages that are not made yet, on all processors."""
        self._take([each for each in list_requests(figures, names) if each.name not in self._asked])

    def wait_for(self, path: str) -> Variant | bytes | None:
        """The picture at a path of the site, as soon as it is made; None where there is none.

        What is waited for is made first: its photo before others, and of that photo this picture.
        """
        with self._news:
            self._waited.append(path)
            if path not in self._variants and path in self._coming:
                for work in [*self._works]:
                    work.hurry(self._coming[path])
            self._news.wait_for(lambda: self._is_there(path) or path not in self._coming, PATIENCE_S)
            self._waited.remove(path)
            return self._variants.get(path) or self._early.get(path)

    def _is_there(self, path: str) -> bool:
        return path in self._variants or path in self._early

    # ── what is told while a photo is being made, see `Onlooker` ─────────────────────────────────────────────────

    def is_wanted(self, path: str) -> bool:
        return path in self._waited

    def show(self, path: str, content: bytes) -> None:
        with self._news:
            self._early[path] = content
            self._news.notify_all()

    # ── what pages ask ───────────────────────────────────────────────────────────────────────────────────────────

    def list_problems(self) -> Iterator[Problem]:
        """What is wrong with the photos that were asked for."""
        for name in self._asked:
            yield from self._made[name][1][1]

    def settle(self) -> None:
        """Wait until all that was begun is made."""
        for thread in [*self._works.values()]:
            thread.join()

    def close(self) -> None:
        """Make nothing more."""
        for work in [*self._works]:
            work.close()
        self.settle()

    # ── making ───────────────────────────────────────────────────────────────────────────────────────────────────

    def _take(self, requests: Sequence[PhotoRequest]) -> None:
        signs = {request.name: _sign(request) for request in requests}
        left = [each for each in requests if self._made.get(each.name, (None,))[0] != signs[each.name]]
        try:
            unmade = self._begin(left, signs) if left else []
        except OSError as error:  # a disk without room: pages are shown all the same, and say so
            for each in left:
                self._keep(each, signs[each.name], (None, (_tell(each, error),)))
            unmade = []
        for each in unmade:
            try:
                self._keep(each, signs[each.name], (foresee_photo(each), ()))
            except BrokenPhoto as broken:
                self._keep(each, signs[each.name], (None, (report_broken(each, broken),)))
        self._asked |= {request.name for request in requests}

    def _begin(self, requests: Sequence[PhotoRequest], signs: dict[str, object]) -> list[PhotoRequest]:
        """Take up the photos that were made before, and begin to make the others, which are given back."""
        work = PhotoWork(requests, self._cache(), onlooker=self).begin()
        # One that has proved broken already is told of with those to come, which alone are asked what was wrong.
        ready = {each.name: work.wait_for(each.name) for each in requests if work.is_ready([each.name])}
        unmade = [each for each in requests if ready.get(each.name) is None]
        for each in requests:
            if ready.get(each.name) is not None:
                self._keep(each, signs[each.name], (ready[each.name], ()))
        if not unmade:
            work.close()
            return []
        thread = threading.Thread(target=self._finish, args=(work, unmade, signs), daemon=True)
        self._works[work] = thread
        thread.start()
        return unmade

    def _finish(self, work: PhotoWork, requests: Sequence[PhotoRequest], signs: dict[str, object]) -> None:
        """Take up each photo when it is made, until all are; then say so."""
        outcomes: dict[str, Made] = {}
        try:
            for each in requests:
                outcomes[each.name] = made = (work.wait_for(each.name), ())
                self._show(made[0])
            _, broken = work.finish()
            told = {problem.place: problem for problem in broken}
            outcomes |= {each.name: (None, (told[each.place],)) for each in requests if each.place in told}
        except OSError as error:
            outcomes |= {each.name: (None, (_tell(each, error),)) for each in requests if each.name not in outcomes}
        except RuntimeError:  # ended before all were made
            outcomes = {}
        finally:
            work.close()
        for each in requests:
            if each.name in outcomes:
                self._keep(each, signs[each.name], outcomes[each.name])
        with self._news:
            self._early = {path: made for path, made in self._early.items() if self._coming.get(path) not in signs}
            self._coming = {path: name for path, name in self._coming.items() if name not in signs}
            self._news.notify_all()
        if outcomes:
            self._on_made()
        # Last, as whoever settles wants the pages to be made anew as well.
        del self._works[work]

    def _keep(self, request: PhotoRequest, sign: object, made: Made) -> None:
        with self._news:
            before = self._made.get(request.name)
            foreseen = made[0] is not None and not made[0].variants[0].stored
            # It may have been made while it was foreseen.
            if foreseen and before and before[0] == sign and not _is_foreseen(before[1]):
                return
            self._made[request.name] = sign, made
            if foreseen and made[0]:
                self._coming |= {variant.path: request.name for variant in made[0].variants}
        if not foreseen:
            self._show(made[0])

    def _show(self, made: PhotoSet | None) -> None:
        with self._news:
            for variant in made.variants if made else ():
                self._variants[variant.path] = variant
                self._early.pop(variant.path, None)
            self._news.notify_all()


def _is_foreseen(made: Made) -> bool:
    return made[0] is not None and not made[0].variants[0].stored


def list_requests(figures: Figures, names: Collection[str]) -> tuple[PhotoRequest, ...]:
    """What the photo stage would be asked for of some entries or pages."""
    return request_photos(figures, [each for each in list_told(figures) if each.name in names])


def _tell(request: PhotoRequest, error: OSError) -> Problem:
    words = error.strerror or str(error)
    message = f"`{request.source.name}` cannot be shown: {words}"
    help = "make room on the disk, or check that the cache folder can be written to"
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
