"""The site as it would be published now, in memory: each page made when it is asked for, the last good one kept.

One thread follows the log and calls `refresh`; any thread may ask for a page. While the log has errors, pages stay as
they were, and say what is wrong.
"""

from __future__ import annotations

import datetime
import secrets
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property
from pathlib import Path

from buildlog.compute.figures import Figures, compute_figures
from buildlog.frozen import frozen
from buildlog.output.write import Content
from buildlog.photos.cache import find_cache
from buildlog.preview.kept import KeptFigures, KeptStories, KeptTheme, KeptWords, Pictures, write_all_tones
from buildlog.preview.notice import Draft, Notice
from buildlog.problems import Problem, sort_problems
from buildlog.read.records import Log
from buildlog.record.published import PublishedRecord
from buildlog.render.addresses import entry_href, page_href
from buildlog.render.fitness import check_fitness
from buildlog.render.markdown import Story
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.photos import PATH as TONES
from buildlog.render.pages.photos import Told, list_told
from buildlog.render.pages.pictures import list_shown
from buildlog.render.render import Makers, list_entry_makers, list_makers, make_context
from buildlog.render.theme import Theme, blame_template
from buildlog.stages import Run, read_record, run_stages

EMPTY = """\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>{title}</title>
</head>
<body>
<main>
<h1>{title}</h1>
<p><a href="/">The front page</a></p>
</main>
</body>
</html>
"""
NOTHING_HERE = EMPTY.format(title="There is no such page").encode()
NOTHING_YET = EMPTY.format(title="Nothing can be shown yet").encode()
MOST_KEPT = 50
"Pages of an earlier state that are kept, for when a template of the owner's fails."


class PageStories(Mapping[str, Story]):
    """Each story as a page needs it: whole on the page of its own, elsewhere without its photos."""

    def __init__(self, whole: Mapping[str, Story], plain: Callable[[str], Story]) -> None:
        self._whole = whole
        self._plain = plain
        self.shown = ""

    def __getitem__(self, name: str) -> Story:
        if name not in self._whole:
            raise KeyError(name)
        return self._whole[name] if name == self.shown else self._plain(name)

    def __iter__(self) -> Iterator[str]:
        return iter(self._whole)

    def __len__(self) -> int:
        return len(self._whole)


class AllMakers(Mapping[str, Callable[[], Content]]):
    """What makes each file; those that are no entry's page are listed once one of them is asked for.

    It is mostly an entry that is looked at while it is written, and to list the others, in a log of 2,000 entries, took
    half the time from a save of words to its page.
    """

    def __init__(self, entries: Makers, list_all: Callable[[], Makers]) -> None:
        self._entries = entries
        self._list_all = list_all

    @cached_property
    def _all(self) -> Makers:
        return self._list_all()

    def __getitem__(self, path: str) -> Callable[[], Content]:
        return self._entries[path] if path in self._entries else self._all[path]

    def __iter__(self) -> Iterator[str]:
        return iter(self._all)

    def __len__(self) -> int:
        return len(self._all)


@frozen
class Pages:
    """Every file of one state of the log, none of them made yet."""

    figures: Figures
    "of the day, or for drafts of the last entry's day"
    theme: Theme
    "whose templates make them"
    record: PublishedRecord
    "what they tell of the seals"
    stories: PageStories
    "is told whose page is made"
    context: PageContext
    "what they are made from"
    makers: Makers
    "what makes each file, by its path in the site"


@frozen
class PreviewRun(Run):
    """A run that goes as far as pages that can be made."""

    pages: Pages | None = None
    "made under the name of render; None where an error is left"


@frozen
class Answer:
    """One file of the site as it is asked for."""

    content: Content
    "its bytes, or where they lie"
    notice: Notice | None = None
    "what is told on it; None: it is no page"
    found: bool = True
    "whether the site has it"


def _leave_photos(run: PreviewRun) -> PreviewRun:
    """What the stage of photos does here: nothing, as each is made when a page shows it."""
    return replace(run)


class PreviewSite:
    """One log's site, kept up with its folder."""

    def __init__(self, folder: Path, day: Callable[[], datetime.date], cache: Callable[[], Path] = find_cache) -> None:
        """`day` says as of which day figures are wanted; nothing is read before the first `refresh`."""
        self.folder = folder
        self.find_day = day
        self._figures, self._theme, self._words = KeptFigures(), KeptTheme(), KeptWords()
        self._stories, self._pictures = KeptStories(), Pictures(cache, self._drop_made)
        self._doing: Mapping[str, Callable[[PreviewRun], PreviewRun]] = {
            "read": self._figures.read,
            "compute": self._figures.compute,
            "photos": _leave_photos,
            "render": self._prepare,
        }
        self._lock = threading.RLock()
        self._changed = threading.Condition()
        self._session, self._number, self._ended = secrets.token_hex(4), 0, False
        self._run = PreviewRun(folder=folder, as_of=day())
        self._pages: Pages | None = None
        self._draft_pages: Pages | None = None
        self._made: dict[str, Content] = {}
        self._last: dict[str, Content] = {}
        self._failures: dict[str, Problem] = {}
        self._unread: list[Told] = []
        self._note = ""

    # ── following the log ────────────────────────────────────────────────────────────────────────────────────────

    @property
    def as_of(self) -> datetime.date:
        """The day whose figures the pages have."""
        return self._run.as_of

    @property
    def log(self) -> Log | None:
        """The log as it was last found without an error."""
        return self._pages.figures.log if self._pages else None

    @property
    def version(self) -> str:
        """Another one for each state that pages may show, and after a restart too."""
        return f"{self._session}-{self._number}"

    def refresh(self) -> None:
        """Make the site one of the log as it is now; pages stay as they were where an error is left."""
        asked = PreviewRun(folder=self.folder, as_of=self.find_day())
        try:
            run = run_stages(asked, until="render", instead=self._doing)
        # A disk that fails, or a folder that goes while it is read: the next look may do better.
        except OSError as error:
            self.tell(f"The log cannot be read: {error.strerror or error}.")
            return
        with self._lock:
            self._run, self._note = run, ""
            self._pictures.begin()
            if run.pages is not None:
                # The newest last, so that they are kept.
                self._last = dict([*(self._last | self._made).items()][-MOST_KEPT:])
                self._pages, self._draft_pages, self._made, self._failures = run.pages, None, {}, {}
                self._stories.begin(run.pages.figures)
                self._unread = [*run.pages.figures.log.entries, *run.pages.figures.log.pages]
        self._announce()

    def tell(self, note: str) -> None:
        """Show one sentence on every page, until the next refresh."""
        with self._lock:
            self._note = note
        self._announce()

    def check_stories(self, seconds: float) -> None:
        """Look for problems in stories that no page has shown yet, for so long; called while nothing else is done."""
        end = time.monotonic() + seconds
        found = False
        while self._unread and time.monotonic() < end:
            with self._lock:
                told = self._unread.pop()
                found |= bool(not self._stories.is_known(told) and self._stories.render(told).problems)
        if found:
            self._announce()

    def wait(self, version: str, seconds: float) -> str:
        """The version, as soon as it is another one than this, or after so long."""
        with self._changed:
            self._changed.wait_for(lambda: self._ended or self.version != version, timeout=seconds)
        return self.version

    def end(self) -> None:
        """Let nobody wait any longer."""
        with self._changed:
            self._ended = True
            self._changed.notify_all()
        self._pictures.close()

    def settle(self) -> None:
        """Wait until the photos are made that pages have shown."""
        self._pictures.settle()

    @property
    def ended(self) -> bool:
        return self._ended

    def _drop_made(self) -> None:
        """Make pages anew: photos are there that were only foreseen, in stories that were rendered with them too."""
        with self._lock:
            self._made = {}
            self._pages, self._draft_pages = map(self._list_again, (self._pages, self._draft_pages))
        self._announce()

    def _list_again(self, pages: Pages | None) -> Pages | None:
        return pages and self._list_pages(pages.figures, pages.theme, pages.record)

    def _announce(self) -> None:
        with self._changed:
            self._number += 1
            self._changed.notify_all()

    def _prepare(self, run: PreviewRun) -> PreviewRun:
        """What the stage of rendering does here: everything up to the pages, of which none is made."""
        if run.figures is None or run.refused:
            return run
        figures = run.figures
        theme, unfit = self._theme.load(figures)
        record, seals = read_record(figures)
        run = replace(run, problems=run.join((*check_fitness(figures), *unfit, *seals)))
        if theme is None or run.refused:
            return run
        return replace(run, pages=self._list_pages(figures, theme, record))

    def _list_pages(self, figures: Figures, theme: Theme, record: PublishedRecord) -> Pages:
        told = {each.name: each for each in list_told(figures)}
        words, find = self._words.find(figures, theme), lambda name: self._pictures.find(figures, name)
        context = make_context(figures, theme, find, record=record, words=words)
        stories = PageStories(context.stories, lambda name: self._stories.render(told[name]))
        context = replace(context, stories=stories)
        makers = AllMakers(
            list_entry_makers(context, theme), lambda: {**list_makers(context, theme), TONES: write_all_tones}
        )
        return Pages(figures=figures, theme=theme, record=record, stories=stories, context=context, makers=makers)

    # ── answering ────────────────────────────────────────────────────────────────────────────────────────────────

    def answer(self, path: str) -> Answer:
        """The file at a path of the site; no path leads to the disk but those that the site itself has."""
        if path.startswith("photos/"):
            picture = self._find_picture(path)
            return Answer(content=picture or b"", found=picture is not None)
        with self._lock:
            pages = self._find_pages(path)
            content = None
            if pages is not None:
                content = self._made[path] if path in self._made else self._make(pages, path)
            found = content is not None
            if content is None:
                content = self._last.get(path, NOTHING_HERE if self._pages else NOTHING_YET)
            # A paper may be a page too, but none of ours: what is not made here is given on as it is.
            is_page = isinstance(content, bytes) and (path.endswith(".html") or not found)
            return Answer(content=content, notice=self._make_notice(path) if is_page else None, found=found)

    def _find_pages(self, path: str) -> Pages | None:
        """The pages among which there is one at that path: those to be published, or of drafts."""
        pages = self._pages
        if pages is None or path in pages.makers:
            return pages
        if path not in {draft.href for draft in self._list_drafts()}:
            return None
        if self._draft_pages is None:
            # As of the last draft's day: earlier it would not be in its own figures.
            log = pages.figures.log
            figures = compute_figures(log, max(entry.date for entry in log.entries))
            self._draft_pages = self._list_pages(figures, pages.theme, pages.record)
        return self._draft_pages

    def _make(self, pages: Pages, path: str) -> Content | None:
        """The file, made now; None where a template of the owner's fails."""
        own = (each.name for each in list_told(pages.figures) if path in (entry_href(each.name), page_href(each.name)))
        name = next(own, "")
        names = [name] if name else list_shown(pages.context, path) if path.startswith("pictures") else []
        if names:
            self._pictures.make(pages.figures, names)
        pages.stories.shown = name
        try:
            self._made[path] = pages.makers[path]()
        except Exception as error:  # a template can fail in every way; what is not the owner's is ours and goes on
            self._failures[path] = blame_template(error, pages.figures)
            return None
        return self._made[path]

    def _find_picture(self, path: str) -> Content | None:
        """A published picture, as soon as it is made; also one that no page has shown yet, as after a restart."""
        picture = self._pictures.wait_for(path)
        if picture is None:
            with self._lock:
                for pages in filter(None, (self._pages, self._draft_pages)):
                    self._pictures.make(pages.figures, [path.split("/")[1]])
            # Not while the lock is held: pages go on meanwhile.
            picture = self._pictures.wait_for(path)
        return picture

    def _make_notice(self, path: str) -> Notice:
        problems = (*self._run.problems, *self._stories.list_problems(), *self._pictures.list_problems())
        stale = path in self._failures or self._run.pages is None
        return Notice(
            problems=sort_problems((*problems, *self._failures.values())),
            texts=self._run.texts,
            drafts=self._list_drafts(),
            path=path,
            stale=stale,
            note=self._note,
        )

    def _list_drafts(self) -> tuple[Draft, ...]:
        if self._pages is None:
            return ()
        figures = self._pages.figures
        return tuple(
            Draft(title=entry.title, href=entry_href(entry.name), day=entry.date.isoformat())
            for entry in figures.log.entries[len(figures.entries) :]
        )
