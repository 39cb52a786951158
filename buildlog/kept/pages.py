"""Pages that were made before, known again by what they looked at while they were made.

Of a page only a digest is kept: what it was made into lies in the site's folder. Where that folder has other bytes, the
page is made once more.
"""

from __future__ import annotations

import os
import re
import tempfile
import weakref
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import IO

from buildlog.compute.figures import Figures
from buildlog.kept.store import Store, hash_folders, hash_parts
from buildlog.kept.stories import StoredStories
from buildlog.kept.values import KeptIndex, KeptPage, KeptSite, KeptTold, encode, pack_site, unpack_site
from buildlog.kept.watched import Watch, WatchedMapping, WatchedStories, spell_photo, watch_photos
from buildlog.output.write import Content, Foreseen, hash_content, make_content
from buildlog.photos.card import Card
from buildlog.photos.recipe import PhotoSet
from buildlog.problems import Problem
from buildlog.record.published import PublishedRecord
from buildlog.render.language import remove_marks
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.entry import EntryView
from buildlog.render.pages.photos import Photos, Told, list_told, view_photos
from buildlog.render.pages.standing import tell_story
from buildlog.render.render import (
    View,
    blame_template,
    list_found,
    list_page_makers,
    list_problems,
    list_story_photos,
    make_words,
    name_papers,
    render_view,
)
from buildlog.render.said import Names
from buildlog.render.search import FOLDER as SEARCH
from buildlog.render.search import Change, FindKnown, SearchIndex, change_words, list_story_words
from buildlog.render.stacked import stack_tables
from buildlog.render.theme import OWN_FOLDER, Theme

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

    def make_context(self, record: PublishedRecord) -> PageContext:
        """What every page is made from, which notes what it is asked for."""
        entries = WatchedMapping("sealed", record.entries, self._watch)
        return PageContext(
            figures=self._figures,
            words=make_words(self._figures, self._theme),
            stories=WatchedStories(self.stories, self.stories.find_digest, self._watch),
            photos=self._photos,
            record=replace(record, entries=entries),
            draw=self._draw,
        )

    def make(
        self, key: bytes, record: PublishedRecord, before: KeptSite | None, out: Path | None
    ) -> tuple[dict[str, Content], KeptSite]:
        """Every file of the site but the photos, those foreseen that are as they were; and what is kept of them."""
        context = self.make_context(record)
        makers = _Makers(context, self._theme, self._watch, self._own, before)
        same = before if before is not None and before.key == key else None
        named = same.papers if same else name_papers(self._figures)
        files: dict[str, Content] = dict(list_found(self._theme, self._figures, named))
        pages: dict[str, KeptPage] = {}
        words: list[str] = []
        for path in same.pages if same else makers.list_paths():
            if WORDS.fullmatch(path):
                words.append(path)
            else:
                files[path], pages[path] = self._find_page(makers, path, same, out) or makers.make(path)
        made, of_words, index = self._find_index(makers, words, before, same is not None, out) or self._make_index(
            makers, words
        )
        files |= made
        pages |= of_words
        looked_at = {thing for page in pages.values() for thing in page.things}.union(index.things)
        things = {thing: self._watch.find_digest(thing) for thing in sorted(looked_at)}
        makers.let_go()
        return files, KeptSite(key=key, papers=frozenset(named), pages=pages, index=index, things=things)

    def _list_changed(self, site: KeptSite, things: Iterable[str]) -> list[str]:
        return [thing for thing in things if self._watch.find_digest(thing) != site.things.get(thing)]

    def _find_page(
        self, makers: _Makers, path: str, same: KeptSite | None, out: Path | None
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
        self, makers: _Makers, paths: Iterable[str], before: KeptSite | None, same: bool, out: Path | None
    ) -> tuple[dict[str, Content], dict[str, KeptPage], KeptIndex] | None:
        """The words of the search, of which a few entries have others; the same ones are counted in it as before."""
        if before is None:
            return None
        index = before.index if same else makers.read_said(before.index)
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
        self, makers: _Makers, paths: Iterable[str]
    ) -> tuple[dict[str, Content], dict[str, KeptPage], KeptIndex]:
        """The words of the search, from all stories."""
        files: dict[str, Content] = {}
        pages: dict[str, KeptPage] = {}
        things: dict[str, None] = {}
        for path in paths:
            files[path], page = makers.make(path)
            pages[path] = replace(page, things=())
            things |= dict.fromkeys(page.things)
        told = tuple(replace(each, story=self.stories.find_key(each.name)) for each in makers.list_told())
        return files, pages, KeptIndex(count=makers.index.count, things=tuple(things), told=told)


WORDS = re.compile(rf"{SEARCH}/(words|ends)-[0-9]+\.js")
STORY_WORDS = "story words "
"What the index looks at of each story."
MOST = 100
"Stories with other words, of which it takes less to change the index than to make it."


def spell_story(html: str) -> bytes | None:
    """A story as it stands on the page of its entry, as the program's own themes put it there, or None.

    What is done to a finished page does the same to each part of it, as long as no table is half in it, and nothing is
    marked as the owner's: the page has a mark around all of a story.
    """
    if not html.startswith("<") or not html.endswith(">\n") or remove_marks(html) != html:
        return None
    return stack_tables(html).encode()


class Spool:
    """Where pages lie until they are written, as all of them together would take a lot of memory.

    A file without a name, which the system removes with this process.
    """

    def __init__(self) -> None:
        self._file: IO[bytes] | None = None
        self._end = 0

    def lay(self, content: bytes) -> Foreseen:
        """A page laid there; where the disk takes nothing it stays in memory."""
        start, length = self._end, len(content)
        if not self._write(content):
            return Foreseen(digest=hash_content(content), remake=lambda: content, ready=True)
        self._end += length
        return Foreseen(digest=hash_content(content), remake=lambda: self._read(start, length), ready=True)

    def _write(self, content: bytes) -> bool:
        try:
            if self._file is None:
                self._file = tempfile.TemporaryFile(buffering=0)  # noqa: SIM115  # open until the last page is let go
                weakref.finalize(self, self._file.close)
            self._file.seek(self._end)
            return self._file.write(content) == len(content)
        except OSError:
            return False

    def _read(self, start: int, length: int) -> bytes:
        assert self._file
        self._file.seek(start)
        return self._file.read(length)


class _Makers:
    """What makes each page, listed when the first one is made: that asks for figures."""

    def __init__(self, context: PageContext, theme: Theme, watch: Watch, own: bytes, before: KeptSite | None) -> None:
        self._context, self._theme, self._watch, self._own = context, theme, watch, own
        self._before = before.pages if before else {}
        self._told = {each.name: each for each in before.index.told} if before else {}
        self._signs: dict[str, bytes] = {}
        self._makers: Mapping[str, Callable[[], Content]] | None = None
        self._common: tuple[str, ...] = ()
        self._page = KeptPage(digest=b"", things=())
        self._making = ""
        self._spool = Spool()
        self._is_deferred = False
        self.index = SearchIndex(context, self._know_said)

    def _list(self) -> Mapping[str, Callable[[], Content]]:
        if self._makers is None:
            self._watch.listen()
            self._makers = list_page_makers(self._context, self._theme, finish=self._finish, index=self.index)
            # What was looked at to find out which pages there are, each of them has looked at.
            self._common = self._watch.list_noted()
        return self._makers

    def list_paths(self) -> Iterable[str]:
        return self._list()

    def make(self, path: str) -> tuple[Foreseen, KeptPage]:
        """A page, and what is kept of it; foreseen where its template is given what it was given before."""
        makers = self._list()
        self._watch.listen()
        self._page, self._making = KeptPage(digest=b"", things=()), path
        content = makers[path]()
        self._making = ""
        assert not isinstance(content, os.PathLike)
        content = content if isinstance(content, Foreseen) else self._spool.lay(content)
        things = tuple(dict.fromkeys((*self._common, *self._watch.list_noted())))
        return content, replace(self._page, digest=content.digest, things=things)

    def _finish(self, view: View) -> Content:
        path = self._making
        if not path:
            return render_view(self._context, self._theme, view)
        sign = hash_parts(self._own, self._context.words_language, type(view).__name__, encode(view))
        kept = self._before.get(path)
        if kept and kept.view == sign:
            self._page = kept
            return Foreseen(digest=kept.digest, remake=self.defer(path))
        content = render_view(self._context, self._theme, view)
        story = self._find_story(view, content) if isinstance(view, EntryView) else None
        self._page = replace(self._page, view=sign, story=story)
        return content

    def _find_story(self, view: EntryView, content: bytes) -> tuple[int, int] | None:
        """Where a page holds its story, if that can be told."""
        story = spell_story(view.story) if len(self._theme.folders) == 1 else None
        start = content.find(story) if story else -1
        if story is None or start < 0 or content.rfind(story) != start:
            return None
        return start, start + len(story)

    def _know_said(self, names: Names) -> FindKnown:
        """What finds the words of before, where the record, its photos and all names are as they were."""
        shared = hash_parts(encode(names))

        def find(told: Told, photos: tuple[str, ...]) -> str | None:
            sign = self._signs[told.name] = hash_parts(shared, encode(told), encode(photos))
            before = self._told.get(told.name)
            return before.said if before and before.sign == sign else None

        return find

    def list_told(self) -> tuple[KeptTold, ...]:
        """What is counted in the index, with its words but for those of stories."""
        said = self.index.said.items()
        return tuple(KeptTold(name=name, said=words, story=b"", sign=self._signs[name]) for name, words in said)

    def read_said(self, before: KeptIndex) -> KeptIndex | None:
        """The index over the same entries and pages, as far as no story is needed for it; None where it has others."""
        self._list()
        self._watch.listen()
        told = self.list_told()
        if [each.name for each in told] != [each.name for each in before.told] or self.index.count != before.count:
            return None
        stories = (STORY_WORDS + each.name for each in told)
        things = dict.fromkeys((*self._common, *self._watch.list_noted(), *stories))
        return KeptIndex(count=before.count, things=tuple(things), told=told)

    def let_go(self) -> None:
        """Where no page may have to be made later, let go of what makes them: it holds all that pages share."""
        if not self._is_deferred:
            self._makers = None
            del self.index

    def defer(self, path: str) -> Callable[[], bytes]:
        """What makes a page later, if at all."""
        self._is_deferred = True

        def make() -> bytes:
            content = make_content(self._list()[path]())
            assert isinstance(content, bytes)
            return content

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
