"""What a page looks at while it is made: noted by name, so that it is made again once one of them is another.

A thing has a name and, at any time, a digest. What pages are given is the same as ever, and notes what is asked of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Generic, TypeVar, cast

from buildlog.kept.store import hash_parts
from buildlog.kept.values import encode
from buildlog.photos.recipe import PhotoSet
from buildlog.render.markdown import Story

Value = TypeVar("Value")
ALL = "*"
"Stands for all names of a mapping, in their order."


class Watch:
    """The things that were asked for since somebody began to listen, and what finds the digest of each."""

    def __init__(self) -> None:
        self._finders: dict[str, Callable[[str], bytes]] = {}
        self._digests: dict[str, bytes] = {}
        self._noted: dict[str, None] = {}
        self._names: dict[str, str] = {}

    def tell(self, kind: str, find: Callable[[str], bytes]) -> None:
        """Have the digests of things of this kind found by a function of their names."""
        self._finders[kind] = find

    def note(self, kind: str, name: str) -> None:
        thing = f"{kind} {name}"
        # One text for all pages that look at the thing: of a long log there are a hundred thousand looks.
        self._noted[self._names.setdefault(thing, thing)] = None

    def listen(self) -> None:
        """Forget what was noted so far."""
        self._noted = {}

    def list_noted(self) -> tuple[str, ...]:
        return tuple(self._noted)

    def find_digest(self, thing: str) -> bytes:
        """The digest of a thing as it is now, found once."""
        digest = self._digests.get(thing)
        if digest is None:
            kind, _, name = thing.partition(" ")
            # A kind that is not known is of another time: no digest is empty, so what looked at it is made again.
            digest = self._digests[thing] = self._finders[kind](name) if kind in self._finders else b""
        return digest


class WatchedMapping(Mapping[str, Value], Generic[Value]):
    """A mapping that notes which of its names were asked for; whoever goes through them has asked for all."""

    def __init__(self, kind: str, values: Mapping[str, Value], watch: Watch) -> None:
        self._kind, self._values, self._watch = kind, values, watch
        watch.tell(kind, self._find_digest)

    def _find_digest(self, name: str) -> bytes:
        told = dict(self._values) if name == ALL else {name: self._values[name]} if name in self._values else {}
        return hash_parts(encode([*told.items()]))

    def __getitem__(self, name: str) -> Value:
        self._watch.note(self._kind, name)
        return self._values[name]

    def __contains__(self, name: object) -> bool:
        self._watch.note(self._kind, str(name))
        return name in self._values

    def __bool__(self) -> bool:
        return True  # the library's would ask for its length, and so for all names

    def __iter__(self) -> Iterator[str]:
        self._watch.note(self._kind, ALL)
        return iter(self._values)

    def __len__(self) -> int:
        self._watch.note(self._kind, ALL)
        return len(self._values)


class WatchedStory:
    """Stands for a story, and notes which of its fields were asked for: a list needs its first words, not all of it."""

    __slots__ = ("_note", "_story")

    def __init__(self, story: Story, note: Callable[[str], None]) -> None:
        self._story, self._note = story, note

    def __getattr__(self, name: str) -> Any:
        self._note(name)
        return getattr(self._story, name)


class WatchedStories(Mapping[str, Story]):
    """Stories by name; which there are is not noted, as it is for whoever made them to know."""

    def __init__(self, stories: Mapping[str, Story], find_digest: Callable[[str, str], bytes], watch: Watch) -> None:
        """`find_digest` finds that of a field, by the name of a story and of the field."""
        self._stories, self._watch, self._digest = stories, watch, find_digest
        watch.tell("story", self._find_digest)

    def _find_digest(self, thing: str) -> bytes:
        field, _, name = thing.partition(" ")
        return self._digest(name, field) if name in self._stories else b""

    def __getitem__(self, name: str) -> Story:
        watched = WatchedStory(self._stories[name], lambda field: self._watch.note("story", f"{field} {name}"))
        return cast(Story, watched)

    def __iter__(self) -> Iterator[str]:
        return iter(self._stories)

    def __len__(self) -> int:
        return len(self._stories)


def watch_photos(find: Callable[[str], PhotoSet | None], watch: Watch) -> Callable[[str], PhotoSet | None]:
    """What finds a published photo by its name, and notes it."""

    def find_noted(name: str) -> PhotoSet | None:
        watch.note("photo", name)
        return find(name)

    watch.tell("photo", lambda name: hash_parts(spell_photo(find(name))))
    return find_noted


def spell_photo(made: PhotoSet | None) -> bytes:
    """All that a page says of a photo; where its files lie in the cache is not among it."""
    if made is None:
        return b"broken"
    shown = [(one.path, one.width, one.height, one.format) for one in made.variants]
    return encode((shown, made.width, made.height, made.colour))
