"""Stories as HTML, kept by their text, their photos, and where the links in them led."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import partial
from typing import Any, cast

from buildlog.frozen import frozen
from buildlog.kept.store import Store, hash_parts
from buildlog.kept.values import decode, encode
from buildlog.kept.watched import ALL, Watch, WatchedMapping
from buildlog.read.records import StandingPage
from buildlog.render.markdown import Story
from buildlog.render.marks import remove_marks
from buildlog.render.pages.photos import LazyMapping, Told
from buildlog.render.stacked import stack_tables
from buildlog.render.stories import StoryLinks, list_links


@frozen
class StoredStory:
    """A story as it was rendered, and what it was asked of other pages meanwhile."""

    story: Story
    "as it came out"
    links: tuple[tuple[str, bytes], ...] = ()
    "the names that were looked for among pages, each with the digest of what was found"


class HeldStory:
    """Stands for a story, and asks for its long texts anew each time: of a long log they take a lot of memory."""

    __slots__ = ("_digests", "_find", "lead", "photos", "problems")

    def __init__(self, story: Story, find: Callable[[], Story]) -> None:
        self.lead, self.photos, self.problems, self._find = story.lead, story.photos, story.problems, find
        # At once, so that nobody has to ask for the text only to know whether it is another one.
        self._digests = {name: hash_parts(encode(getattr(story, name))) for name in LONG}

    def __getattr__(self, name: str) -> Any:
        if name not in LONG:
            raise AttributeError(name)
        return getattr(self._find(), name)

    def find_digest(self, field: str) -> bytes:
        """By what a field is known to be the same."""
        return self._digests.get(field) or hash_parts(encode(getattr(self, field)))


LONG = ("html", "words")
"The fields of a story that hold all of it."
RECENT = 8
"Stories that are held with all their texts: those that a page in the making shows."
STORY_WORDS = "story words "
"What the index of the search looks at of each story, by the name that a watch has for it."
Render = Callable[[Told, StoryLinks], Story]
"Renders a story, given where links may lead."
Mark = Callable[[str], object]
"Everything by which photos stand in the story of that name: what they are called, and how they are shown."


class StoredStories(Mapping[str, Story]):
    """The story of each entry and page, rendered when it is asked for and was not rendered before."""

    def __init__(self, store: Store, told: Mapping[str, Told], render: Render, mark: Mark) -> None:
        self._store = store
        self._told = told
        self._links = list_links(told.values())
        self._render, self._mark = render, mark
        # At once, where no photo has to be waited for.
        self._keys = LazyMapping(told, self._make_key)
        self._rows = store.find([self._keys[name] for name, each in told.items() if not each.photos])
        self._stories = LazyMapping(told, self._hold)
        self._recent: dict[str, Story] = {}

    def find_key(self, name: str) -> bytes:
        """By what a story of now is found in later runs, see `find_before`."""
        return self._keys[name]

    def find_before(self, key: bytes) -> Story | None:
        """A story as it was in an earlier run, where it is there still; where its links lead now is not asked."""
        data = self._store.find_one(key)
        stored = cast("StoredStory | None", decode(StoredStory, data)) if data else None
        return stored.story if stored else None

    def _make_key(self, name: str) -> bytes:
        told = self._told[name]
        place = f"{told.place.file} {told.body_line}"
        return self._store.make_key("story", place, told.body, encode(self._mark(told.name)))

    def find_digest(self, name: str, field: str) -> bytes:
        """By what a field of a story is known to be the same."""
        story: object = self._stories[name]
        return story.find_digest(field) if isinstance(story, HeldStory) else hash_parts(encode(getattr(story, field)))

    def _hold(self, name: str) -> Story:
        story = self._find_recent(name)
        # Where nothing is kept, a story would have to be rendered each time.
        return story if self._store.trouble else cast(Story, HeldStory(story, partial(self._find_recent, name)))

    def _find_recent(self, name: str) -> Story:
        story = self._recent.get(name)
        if story is None:
            story = self._recent[name] = self._find(name)
            if len(self._recent) > RECENT:
                del self._recent[next(iter(self._recent))]
        return story

    def _find(self, name: str) -> Story:
        told = self._told[name]
        whose = "page" if isinstance(told, StandingPage) else "entry"
        key = self._keys[name]
        data = self._rows.pop(key, None) or self._store.find_one(key)
        kept = cast("StoredStory | None", decode(StoredStory, data)) if data else None
        if kept and all(self._find_link(whose, link) == digest for link, digest in kept.links):
            return kept.story
        watch = Watch()
        story = self._render(told, {whose: WatchedMapping("link", self._links[whose], watch)})
        links = tuple(thing.partition(" ")[2] for thing in watch.list_noted())
        stored = StoredStory(story=story, links=tuple((link, self._find_link(whose, link)) for link in links))
        self._store.keep({key: encode(stored)})
        return story

    def _find_link(self, whose: str, name: str) -> bytes:
        links = self._links[whose]
        return hash_parts(encode(list(links.items()) if name == ALL else links.get(name)))

    def __getitem__(self, name: str) -> Story:
        return self._stories[name]

    def __contains__(self, name: object) -> bool:
        return name in self._told  # the library's would make it first

    def __iter__(self) -> Iterator[str]:
        return iter(self._told)

    def __len__(self) -> int:
        return len(self._told)


def spell_story(html: str) -> bytes | None:
    """A story as it stands on the page of its entry, as the program's own themes put it there, or None.

    What is done to a finished page does the same to each part of it, as long as no table is half in it, and nothing is
    marked as the owner's: the page has a mark around all of a story.
    """
    if not html.startswith("<") or not html.endswith(">\n") or remove_marks(html) != html:
        return None
    return stack_tables(html).encode()
