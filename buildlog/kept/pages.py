"""Pages that were made before, known again by what they looked at while they were made.

Of a page only a digest is kept: what it was made into lies in the site's folder. Where that folder has other bytes, the
page is made once more.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from buildlog.kept.store import Store, hash_folders, hash_parts
from buildlog.kept.stories import STORY_WORDS, StoredStories, spell_story
from buildlog.kept.values import KeptIndex, KeptPage, KeptSite, KeptTold, encode, pack_site, unpack_site
from buildlog.kept.watched import Watch, WatchedMapping, WatchedStories, spell_photo, watch_photos
from buildlog.output.write import Content, Foreseen, hash_content
from buildlog.photos.recipe import PhotoSet
from buildlog.problems import Problem
from buildlog.record.published import PublishedRecord
from buildlog.render.found import list_paper_files, name_papers, read_statics
from buildlog.render.pages.photos import Photos, list_told, view_photos
from buildlog.render.search_files import FOLDER as SEARCH
from buildlog.render.search_files import Change, change_words, list_story_words
from buildlog.render.stories import list_problems, list_story_photos, tell_story
from buildlog.render.theme import OWN_FOLDER, Theme, blame_template

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures
    from buildlog.kept.makers import Makers
    from buildlog.photos.card import Card

FindPhoto = Callable[[str], PhotoSet | None]


class SitePages:
    """The pages of a site, made where they are not as they were."""

    def __init__(
        self, store: Store, figures: Figures, theme: Theme, find_photo: FindPhoto, draw: Callable[[Card], bytes]
    ) -> None:
        self._store, self._figures, self._theme, self._draw = store, figures, theme, draw
        self._watch = Watch()
        folder = figures.log.folder
        self._own = hash_folders([folder / OWN_FOLDER] if folder else [], theme.name)
        photos = view_photos(figures, watch_photos(find_photo, self._watch), theme.catalogue)
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

    def _prepare(self, record: PublishedRecord, before: KeptSite | None) -> Callable[[], Makers]:
        """What makes pages, ready to be set up; what they look at is watched from now on."""
        entries = WatchedMapping("sealed", record.entries, self._watch)
        stories = WatchedStories(self.stories, self.stories.find_digest, self._watch)

        def set_up() -> Makers:
            from buildlog.kept.makers import Makers
            from buildlog.render.pages.context import PageContext
            from buildlog.render.render import make_words

            context = PageContext(
                figures=self._figures,
                words=make_words(self._figures, self._theme),
                stories=stories,
                photos=self._photos,
                record=replace(record, entries=entries),
                draw=self._draw,
            )
            return Makers(context, self._theme, self._watch, self._own, before)

        return set_up

    def _find_statics(self, same: KeptSite | None) -> tuple[Mapping[str, Content], Mapping[str, bytes]]:
        """The theme's files and the letters, with their digests: read only where what decides them is not the same."""
        if same is None:
            statics = read_statics(self._theme, self._figures)
            return statics, {path: hash_content(content) for path, content in statics.items()}
        read = cache(lambda: read_statics(self._theme, self._figures))

        def foresee(path: str, digest: bytes) -> Foreseen:
            return Foreseen(digest=digest, remake=lambda: read()[path])

        return {path: foresee(path, digest) for path, digest in same.statics.items()}, same.statics

    def make(
        self, key: bytes, record: PublishedRecord, before: KeptSite | None, out: Path | None
    ) -> tuple[dict[str, Content], KeptSite]:
        """Every file of the site but the photos, those foreseen that are as they were; and what is kept of them."""
        makers = LateMakers(self._prepare(record, before))
        same = before if before is not None and before.key == key else None
        named = same.papers if same else name_papers(self._figures)
        found, statics = self._find_statics(same)
        files: dict[str, Content] = {**found, **list_paper_files(self._figures, named)}
        pages: dict[str, KeptPage] = {}
        words: list[str] = []
        for path in same.pages if same else makers.get().list_paths():
            if WORDS.fullmatch(path):
                words.append(path)
            else:
                files[path], pages[path] = self._find_page(makers, path, same, out) or makers.get().make(path)
        made, of_words, index = self._find_index(makers, words, before, same is not None, out) or self._make_index(
            makers, words
        )
        files |= made
        pages |= of_words
        looked_at = {thing for page in pages.values() for thing in page.things}.union(index.things)
        things = {thing: self._watch.find_digest(thing) for thing in sorted(looked_at)}
        makers.let_go()
        return files, KeptSite(
            key=key, statics=statics, papers=frozenset(named), pages=pages, index=index, things=things
        )

    def _list_changed(self, site: KeptSite, things: Iterable[str]) -> list[str]:
        return [thing for thing in things if self._watch.find_digest(thing) != site.things.get(thing)]

    def _find_page(
        self, makers: LateMakers, path: str, same: KeptSite | None, out: Path | None
    ) -> tuple[Content, KeptPage] | None:
        """A page of a site with which it shares all that pages share, as it was, or but for its story."""
        if same is None:
            return None
        kept = same.pages[path]
        changed = self._list_changed(same, kept.things)
        if not changed:
            return Foreseen(digest=kept.digest, remake=makers.defer(path)), kept
        name = changed[0].removeprefix("story html ")
        if len(changed) > 1 or name == changed[0] or kept.story is None:
            return None
        story = spell_story(self.stories[name].html)
        data = same.read(out, path) if story else None
        if story is None or data is None:
            return None
        start, end = kept.story
        content = data[:start] + story + data[end:]
        return content, replace(kept, digest=hash_content(content), view=None, story=(start, start + len(story)))

    def _find_index(
        self, makers: LateMakers, paths: Iterable[str], before: KeptSite | None, same: bool, out: Path | None
    ) -> tuple[dict[str, Content], dict[str, KeptPage], KeptIndex] | None:
        """The words of the search, of which a few entries have others; the same ones are counted in it as before."""
        if before is None:
            return None
        index = before.index if same else makers.get().read_said(before.index)
        if index is None or (
            same and any(not one.startswith(STORY_WORDS) for one in self._list_changed(before, index.things))
        ):
            return None
        changes: list[Change] = []
        told: list[KeptTold] = []
        for number, (one, was) in enumerate(zip(index.told, before.index.told, strict=True)):
            thing = STORY_WORDS + one.name
            digest = before.things.get(thing)
            if one.said == was.said and self._watch.find_digest(thing) == digest:
                told.append(replace(one, story=was.story))
                continue
            story = self.stories.find_before(was.story)
            if story is None or hash_parts(encode(story.words)) != digest or len(changes) == MOST:
                return None
            old = list_story_words(story).union(was.said.split())
            now = list_story_words(self.stories[one.name]).union(one.said.split())
            changes.append((number, old - now, now - old))
            told.append(replace(one, story=self.stories.find_key(one.name)))
        made = change_words(index.count, changes, lambda path: before.read(out, path))
        if made is None:
            return None
        files: dict[str, Content] = {}
        pages: dict[str, KeptPage] = {}
        for path in paths:
            kept = before.pages[path]
            pages[path] = replace(kept, digest=hash_content(made[path])) if path in made else kept
            files[path] = made.get(path) or Foreseen(digest=kept.digest, remake=makers.defer(path))
        return files, pages, replace(index, told=tuple(told))

    def _make_index(
        self, makers: LateMakers, paths: Iterable[str]
    ) -> tuple[dict[str, Content], dict[str, KeptPage], KeptIndex]:
        """The words of the search, from all stories."""
        files: dict[str, Content] = {}
        pages: dict[str, KeptPage] = {}
        things: dict[str, None] = {}
        for path in paths:
            files[path], page = makers.get().make(path)
            pages[path] = replace(page, things=())
            things |= dict.fromkeys(page.things)
        told = tuple(replace(each, story=self.stories.find_key(each.name)) for each in makers.get().list_told())
        return files, pages, KeptIndex(count=makers.get().index.count, things=tuple(things), told=told)


class LateMakers:
    """What makes pages, set up when the first one has to be made: that loads every page's module, and Jinja."""

    def __init__(self, set_up: Callable[[], Makers]) -> None:
        self._set_up = set_up
        self._makers: Makers | None = None
        self._is_deferred = False

    def get(self) -> Makers:
        """Itself, set up."""
        if self._makers is None:
            self._makers = self._set_up()
        return self._makers

    def defer(self, path: str) -> Callable[[], bytes]:
        """What makes a page later, if at all."""
        self._is_deferred = True
        return lambda: self.get().remake(path)

    def let_go(self) -> None:
        """Where no page may have to be made later, let go of what makes them."""
        if self._makers and not self._is_deferred:
            self._makers.let_go()


WORDS = re.compile(rf"{SEARCH}/(words|ends)-[0-9]+\.js")
MOST = 100
"Stories with other words, of which it takes less to change the index than to make it."


def render_kept(
    store: Store,
    pages: SitePages,
    figures: Figures,
    key: bytes,
    record: PublishedRecord,
    out: Path | None,
) -> tuple[dict[str, Content], tuple[Problem, ...]]:
    """What `render_site` gives, with what is kept of the site that was published into the same folder before."""
    places = os.path.realpath(figures.log.folder or ""), os.path.realpath(out or "")

    def find_slot(number: int) -> bytes:
        return store.make_key("site", str(number), *places)

    before = unpack_site(lambda number: store.find_one(find_slot(number)))
    try:
        files, site = pages.make(pages.find_key(key, record), record, before, out)
    except Exception as error:  # a template can fail in every way; what is not the owner's is ours and goes on
        return {}, (blame_template(error, figures),)
    if site != before:
        for number, piece in enumerate(pack_site(site)):
            store.keep({find_slot(number): piece})
    return files, list_problems(pages.stories)
