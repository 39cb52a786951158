"""What makes the pages of a site, and notes by what each may be known to be as it was.

Apart from `pages.py`, which asks for it where something has to be made: it loads the modules of all pages.
"""

from __future__ import annotations

import os
import tempfile
import weakref
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import partial
from typing import IO

from buildlog.kept.store import hash_parts
from buildlog.kept.stories import STORY_WORDS, spell_story
from buildlog.kept.values import KeptIndex, KeptPage, KeptSite, KeptTold, encode
from buildlog.kept.watched import Watch
from buildlog.output.write import Content, Foreseen, hash_content, make_content
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.entry import EntryView
from buildlog.render.pages.photos import Told
from buildlog.render.render import View, list_page_makers, render_view
from buildlog.render.said import Names
from buildlog.render.search import FindKnown, SearchIndex
from buildlog.render.theme import Theme


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


class Makers:
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

    def remake(self, path: str) -> bytes:
        """A page, after all: what lies in the site's folder is not what it was."""
        content = make_content(self._list()[path]())
        assert isinstance(content, bytes)
        return content

    def defer(self, path: str) -> Callable[[], bytes]:
        """What makes a page later, if at all."""
        self._is_deferred = True
        return partial(self.remake, path)
