"""What stays from one save to the next, and by what it is known that it may: always by what it was made of.

Nothing here is told what changed. A text stays read as long as it is the same text, figures stay as long as all that
they are computed from is the same, a story as long as its words and the names that it may mention are. So a change that
nobody told of, or told of wrongly, can only cost time.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TypeVar

from buildlog.compute.figures import Figures, compute_figures, cut_to_day
from buildlog.kept.store import hash_folders
from buildlog.problems import Problem
from buildlog.read.reader import KeptReadings, read_log
from buildlog.read.records import Entry, Log
from buildlog.render.language import Words
from buildlog.render.markdown import Story
from buildlog.render.pages.photos import Told, list_told
from buildlog.render.pages.standing import list_links, tell_story
from buildlog.render.render import make_words
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
        digest = hash_folders(folders, f"{site.theme} {site.field_place('theme')}")
        if digest != self._digest:
            self._loaded, self._digest = load_site_theme(figures), digest
        return self._loaded


class KeptWords:
    """What writes dates and amounts, with all that it has written before, as long as the language is the same."""

    def __init__(self) -> None:
        self._language = ""
        self._words: Words | None = None

    def find(self, figures: Figures) -> Words:
        language = figures.log.settings.site.language
        if self._words is None or language != self._language:
            self._language, self._words = language, make_words(figures)
        return self._words
