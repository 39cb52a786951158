"""What one run takes from those before it, and leaves for the next: what texts say, figures' problems, answers.

What a text says is kept by its path and its bytes. Figures are computed when somebody asks for one: of what is kept,
only their problems are told at once. Stories and pages are left to `stories` and `pages`.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import fields, replace
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from buildlog.compute.as_of import cut_to_day
from buildlog.kept.store import Store, hash_parts, keeping_store
from buildlog.kept.values import decode, encode
from buildlog.problems import Problem
from buildlog.read.bind import Named
from buildlog.read.files import PAGES
from buildlog.read.misfits import Hole
from buildlog.read.reader import KeptReadings, TextReading
from buildlog.read.records import Entry, Log, Settings, StandingPage

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures
    from buildlog.kept.pages import FindPhoto
    from buildlog.output.write import Content
    from buildlog.photos.card import Card
    from buildlog.record.published import PublishedRecord
    from buildlog.render.markdown import Story
    from buildlog.render.stories import StoryPhotos
    from buildlog.render.theme import Theme

Around = tuple[tuple[Problem, ...], tuple[Hole, ...], tuple[Named, ...]]
"What is told of a text beside its record."
READINGS = {
    "log.yaml": tuple[Settings | None, Around],
    PAGES: tuple[StandingPage | None, Around],
    "entries": tuple[Entry | None, Around],
}
"By the first part of a path, as no value says of which class it is."
SIGN_BYTES = len(hash_parts())
READ_TOGETHER = 100
"Texts whose readings are taken out of the store at one time."


class StoredReadings(KeptReadings):
    """Readings in a store, by path and text; of the last log no text is held, and no reading but by who asked."""

    def __init__(self, store: Store) -> None:
        super().__init__()
        self._store = store
        self._signs: dict[str, bytes] = {}
        self._asked: tuple[Mapping[str, str], dict[str, bytes]] = {}, {}

    @property
    def signs(self) -> Mapping[str, bytes]:
        """What each text of the last log says but for its story, as a digest by path: no figure is made of more."""
        return self._signs

    def find(self, texts: Mapping[str, str]) -> dict[str, TextReading]:
        """What is known of some texts, by their paths."""
        self._signs, self._asked = {}, (texts, self._make_keys(texts))
        found: dict[str, TextReading] = {}
        rest = iter(self._asked[1].items())
        # Some at a time, as what is kept of a whole log takes as much memory again as what is made of it.
        while some := [*islice(rest, READ_TOGETHER)]:
            rows = self._store.find([key for _, key in some])
            for path, key in some:
                reading = _read_row(path, rows[key][SIGN_BYTES:]) if key in rows else None
                if reading is not None:
                    found[path], self._signs[path] = reading, rows[key][:SIGN_BYTES]
        return found

    def keep(self, texts: Mapping[str, str], readings: Mapping[str, TextReading]) -> None:
        """Take up what all texts of a log say: those that `find` was last asked for."""
        asked, keys = self._asked
        if asked is not texts:
            keys, self._signs = self._make_keys(texts), {}
        self._asked = {}, {}
        for path, reading in readings.items():
            if path not in self._signs:
                self._signs[path] = self._write(keys[path], reading)

    def _write(self, key: bytes, reading: TextReading) -> bytes:
        around = reading.problems, reading.holes, reading.named
        record = reading.record
        bare = replace(record, body="") if isinstance(record, Entry | StandingPage) else record
        sign = hash_parts(encode((bare, around)))
        self._store.keep({key: sign + encode((record, around))})
        return sign

    def _make_keys(self, texts: Mapping[str, str]) -> dict[str, bytes]:
        return {path: self._store.make_key("reading", path, text) for path, text in texts.items()}


def _read_row(path: str, data: bytes) -> TextReading | None:
    kept = decode(READINGS[path.partition("/")[0]], data)
    if kept is None:
        return None
    record, (problems, holes, named) = kept
    return TextReading(record=record, problems=problems, holes=holes, named=named)


class DeferredFigures:
    """Stands for the figures of a log; those that take time are computed together when the first is asked for."""

    DEFERRED = True

    def __init__(self, log: Log, as_of: datetime.date, problems: tuple[Problem, ...]) -> None:
        self.log, self.as_of, self.problems = log, as_of, problems
        self.entries, self.pages = cut_to_day(log, as_of).entries, log.list_pages(as_of)

    def __getattr__(self, name: str) -> Any:
        # Only now: it knows every question, and to load all of them takes a while.
        from buildlog.compute.figures import Figures, compute_figures

        if name not in (each.name for each in fields(Figures)):
            raise AttributeError(name)
        computed = compute_figures(self.log, self.as_of)
        for each in fields(Figures):
            setattr(self, each.name, getattr(computed, each.name))
        return getattr(self, name)


def find_figures_key(store: Store, readings: StoredReadings, log: Log, as_of: datetime.date) -> bytes:
    """The key of all that is computed from a log as of a day: no story is among it."""
    signs = [part for path, sign in sorted(readings.signs.items()) for part in (path, sign)]
    around = sorted(log.papers), dict(log.photos), dict(log.spelt)
    return store.make_key("figures", as_of.isoformat(), encode(around), *signs)


def find_figures(store: Store, key: bytes, log: Log, as_of: datetime.date) -> Figures:
    """The figures, not computed yet where their problems are known."""
    data = store.find_one(key)
    problems = cast("tuple[Problem, ...] | None", decode(tuple[Problem, ...], data)) if data else None
    if problems is not None:
        return cast("Figures", DeferredFigures(log, as_of, problems))
    from buildlog.compute.figures import compute_figures

    figures = compute_figures(log, as_of)
    store.keep({key: encode(figures.problems)})
    return figures


class Work:
    """The work of earlier runs over any log of this user."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self.readings = StoredReadings(self.store)
        self._figures_key = b""

    def compute(self, log: Log, as_of: datetime.date) -> Figures:
        """The figures of the log that was last read, computed only where something is asked of them."""
        self._figures_key = find_figures_key(self.store, self.readings, log, as_of)
        return find_figures(self.store, self._figures_key, log, as_of)

    def find_answer(self, question: str) -> bytes | None:
        """What was answered to a question before, over the same figures."""
        return self.store.find_one(self.store.make_key("answer", self._figures_key, question))

    def keep_answer(self, question: str, answer: bytes) -> None:
        self.store.keep({self.store.make_key("answer", self._figures_key, question): answer})

    def check_stories(self, figures: Figures, shows: StoryPhotos) -> Mapping[str, Story]:
        """What `render_stories` tries: each story, with its photos marked up in whatever way."""
        from buildlog.kept.stories import StoredStories
        from buildlog.render.pages.photos import list_told
        from buildlog.render.stories import tell_story

        return StoredStories(
            self.store,
            {each.name: each for each in list_told(figures)},
            lambda told, links: tell_story(told, shows.get(told.name, {}), links),
            lambda name: ("tried", tuple(shows.get(name, ()))),
        )

    def render(
        self,
        figures: Figures,
        theme: Theme,
        find_photo: FindPhoto,
        *,
        record: PublishedRecord,
        draw: Callable[[Card], bytes],
        out: Path | None,
    ) -> tuple[dict[str, Content], tuple[Problem, ...]]:
        """What `render_site` gives for the figures last computed, with what `out` holds already."""
        from buildlog.kept.pages import SitePages, render_kept

        pages = SitePages(self.store, figures, theme, find_photo, draw)
        return render_kept(self.store, pages, figures, self._figures_key, record, out)

    @property
    def trouble(self) -> str:
        """Why nothing is kept, in one sentence; empty: nothing is wrong."""
        return self.store.trouble


@contextmanager
def keeping_work(anew: bool = False) -> Iterator[Work | None]:
    """The work of earlier runs, and what this one adds to it, however it ends; None where all is to be made anew."""
    with keeping_store(anew) as store:
        yield Work(store) if store else None
