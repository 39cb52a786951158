"""Pages that were made before, known again by what they looked at while they were made.

Of a page only a digest is kept: what it was made into lies in the site's folder. Where that folder has other bytes, the
page is made once more.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import cast

from buildlog.compute.figures import Figures
from buildlog.frozen import frozen
from buildlog.kept.store import Store, hash_content, hash_folders, hash_parts
from buildlog.kept.stories import StoredStories
from buildlog.kept.values import decode, encode
from buildlog.kept.watched import Watch, WatchedMapping, WatchedStories, spell_photo, watch_photos
from buildlog.output.write import Content, Foreseen
from buildlog.photos.card import Card
from buildlog.photos.recipe import PhotoSet
from buildlog.problems import Problem
from buildlog.record.published import PublishedRecord
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.photos import Photos, list_told, view_photos
from buildlog.render.pages.standing import tell_story
from buildlog.render.render import (
    blame_template,
    list_found,
    list_page_makers,
    list_problems,
    list_story_photos,
    make_words,
    name_papers,
)
from buildlog.render.search import FOLDER as SEARCH
from buildlog.render.theme import OWN_FOLDER, Theme

FindPhoto = Callable[[str], PhotoSet | None]


@frozen
class KeptPage:
    """One file of a site."""

    digest: bytes
    "of its bytes"
    things: tuple[str, ...]
    "what it looked at, see `Watch`"


@frozen
class KeptSite:
    """The site that was last published from one folder into another."""

    key: bytes
    "of all that its pages share: figures, theme, seals"
    papers: frozenset[str]
    "named by records"
    pages: Mapping[str, KeptPage]
    "by path"
    things: Mapping[str, bytes]
    "the digest of each thing that a page looked at"


class SitePages:
    """The pages of a site, made where they are not as they were."""

    def __init__(
        self, store: Store, figures: Figures, theme: Theme, find_photo: FindPhoto, draw: Callable[[Card], bytes]
    ) -> None:
        self._store, self._figures, self._theme, self._draw = store, figures, theme, draw
        self._watch = Watch()
        folder = figures.log.folder
        self._own = hash_folders([folder / OWN_FOLDER] if folder else [], theme.name)
        photos = view_photos(figures, watch_photos(find_photo, self._watch))
        self._photos = photos
        shows = list_story_photos(photos, theme)
        told = {each.name: each for each in list_told(figures)}
        self.stories = StoredStories(
            store,
            told,
            lambda each, links: tell_story(each, shows.get(each.name, {}), links),
            lambda name: self._mark(photos, name),
        )

    def _mark(self, photos: Photos, name: str) -> object:
        """How photos stand in a story: their names and words, and by the theme's template."""
        found = photos[name].items() if name in photos else ()
        marked = [(file, photo.says, spell_photo(photo.variants)) for file, photo in found]
        return (marked, self._own) if marked else None

    def find_key(self, figures_key: bytes, record: PublishedRecord) -> bytes:
        """The key of all that pages share."""
        return hash_parts(figures_key, self._own, encode(replace(record, entries={})))

    def make_context(self, record: PublishedRecord) -> PageContext:
        """What every page is made from, which notes what it is asked for."""
        entries = WatchedMapping("sealed", record.entries, self._watch)
        return PageContext(
            figures=self._figures,
            words=make_words(self._figures),
            stories=WatchedStories(self.stories, self._watch),
            photos=self._photos,
            record=replace(record, entries=entries),
            draw=self._draw,
        )

    def make(self, key: bytes, record: PublishedRecord, before: KeptSite | None) -> tuple[dict[str, Content], KeptSite]:
        """Every file of the site but the photos, those foreseen that are as they were; and what is kept of them."""
        context = self.make_context(record)
        makers = _Makers(context, self._theme, self._watch)
        same = before if before is not None and before.key == key else None
        named = same.papers if same else name_papers(self._figures)
        files: dict[str, Content] = dict(list_found(self._theme, self._figures, named))
        pages: dict[str, KeptPage] = {}
        for path in same.pages if same else makers.list_paths():
            kept = same.pages[path] if same else None
            if same and kept and self._is_same(same, kept):
                files[path], pages[path] = Foreseen(digest=kept.digest, remake=makers.defer(path)), kept
            else:
                content, seen = makers.make(path)
                files[path], pages[path] = content, KeptPage(digest=hash_content(content), things=seen)
        pages = _join_search(pages)
        looked_at = {thing for page in pages.values() for thing in page.things}
        things = {thing: self._watch.find_digest(thing) for thing in sorted(looked_at)}
        return files, KeptSite(key=key, papers=frozenset(named), pages=pages, things=things)

    def _is_same(self, site: KeptSite, page: KeptPage) -> bool:
        return all(self._watch.find_digest(thing) == site.things.get(thing) for thing in page.things)


def _join_search(pages: Mapping[str, KeptPage]) -> dict[str, KeptPage]:
    """The files of the search index are made together, so that each has looked at what any of them has."""
    mine = [path for path in pages if path.startswith(f"{SEARCH}/")]
    things = tuple(sorted({thing for path in mine for thing in pages[path].things}))
    return {**pages, **{path: replace(pages[path], things=things) for path in mine}}


class _Makers:
    """What makes each page, listed when the first one is made: that asks for figures."""

    def __init__(self, context: PageContext, theme: Theme, watch: Watch) -> None:
        self._context, self._theme, self._watch = context, theme, watch
        self._makers: Mapping[str, Callable[[], bytes]] | None = None
        self._common: tuple[str, ...] = ()

    def _list(self) -> Mapping[str, Callable[[], bytes]]:
        if self._makers is None:
            self._watch.listen()
            self._makers = list_page_makers(self._context, self._theme)
            # What was looked at to find out which pages there are, each of them has looked at.
            self._common = self._watch.list_noted()
        return self._makers

    def list_paths(self) -> Iterable[str]:
        return self._list()

    def make(self, path: str) -> tuple[bytes, tuple[str, ...]]:
        """A page, and all that it looked at."""
        makers = self._list()
        self._watch.listen()
        content = makers[path]()
        return content, tuple(dict.fromkeys((*self._common, *self._watch.list_noted())))

    def defer(self, path: str) -> Callable[[], bytes]:
        """What makes a page later, if at all."""

        def make() -> bytes:
            return self._list()[path]()

        return make


def render_kept(
    store: Store,
    pages: SitePages,
    figures: Figures,
    key: bytes,
    record: PublishedRecord,
    out: Path | None,
) -> tuple[dict[str, Content], tuple[Problem, ...]]:
    """What `render_site` gives, with what is kept of the site that was published into the same folder before."""
    slot = store.make_key("site", os.path.realpath(figures.log.folder or ""), os.path.realpath(out or ""))
    data = store.find_one(slot)
    before = cast("KeptSite | None", decode(KeptSite, data)) if data else None
    try:
        files, site = pages.make(pages.find_key(key, record), record, before)
    except Exception as error:  # a template can fail in every way; what is not the owner's is ours and goes on
        return {}, (blame_template(error, figures),)
    if site != before:
        store.keep({slot: encode(site)})
    return files, list_problems(pages.stories)
