"""What one run takes from those before it, and leaves for the next."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from buildlog.kept.figures import find_figures, find_figures_key
from buildlog.kept.readings import StoredReadings
from buildlog.kept.store import Store, keeping_store

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures
    from buildlog.kept.pages import FindPhoto
    from buildlog.output.write import Content
    from buildlog.photos.card import Card
    from buildlog.problems import Problem
    from buildlog.read.records import Log
    from buildlog.record.published import PublishedRecord
    from buildlog.render.markdown import Story
    from buildlog.render.render import StoryPhotos
    from buildlog.render.theme import Theme


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
        from buildlog.render.pages.standing import tell_story

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
