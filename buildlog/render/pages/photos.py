"""Published photos as pages show them: addresses, sizes, words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Generic, TypeVar, Union

from buildlog.arithmetic import round_to_whole
from buildlog.frozen import frozen
from buildlog.output.write import Content
from buildlog.photos.recipe import PhotoRequest, PhotoSet, Variant
from buildlog.render.catalogue import IN_ENGLISH, Catalogue
from buildlog.render.marks import mark_owner_text
from buildlog.render.pieces import PhotoView, Shape, Source

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures
    from buildlog.read.records import Entry, PagePhoto, Photo, StandingPage

Told = Union["Entry", "StandingPage"]
"What has photos: an entry, or a standing page; no two have one name."

Value = TypeVar("Value")


# A page waits for its own photos; a dict would wait for all of them before the first page.
class LazyMapping(Mapping[str, Value], Generic[Value]):
    """A mapping whose names are known and whose values are made once each, in the order in which they are asked for."""

    def __init__(self, names: Iterable[str], make: Callable[[str], Value]) -> None:
        self._names = dict.fromkeys(names)
        self._make = make
        self._made: dict[str, Value] = {}

    def __getitem__(self, name: str) -> Value:
        if name not in self._made:
            if name not in self._names:
                raise KeyError(name)
            self._made[name] = self._make(name)
        return self._made[name]

    def __contains__(self, name: object) -> bool:
        return name in self._names  # the library's would make the value first

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)


class PassingMapping(LazyMapping[Value]):
    """A mapping whose values are made each time: for what is asked for once, and would only be held."""

    def __getitem__(self, name: str) -> Value:
        if name not in self._names:
            raise KeyError(name)
        return self._make(name)


PATH = "theme/tones.css"
"In the site, beside the theme's own sheets."
# At most 512 classes, and so one small sheet. The exact colour of each photo would need an inline style, which the
# content security policy forbids.
STEPS = 8
"Of each channel: a placeholder is off by at most 18 of 255."


@lru_cache(maxsize=4096)
def name_tone(colour: str) -> str:
    """The class of a colour `#rrggbb`."""
    channels = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return "tone-" + "".join(str(round_to_whole(channel * (STEPS - 1) / 255)) for channel in channels)


def write_tones(tones: Iterable[str]) -> bytes:
    """The style sheet for these classes, each once and in order."""
    return "".join(f".{tone}{{{_style(tone)}}}\n" for tone in sorted(set(tones))).encode()


def _style(tone: str) -> str:
    levels = [round_to_whole(int(step) * 255 / (STEPS - 1)) for step in tone.removeprefix("tone-")]
    ink = "#000" if _lightness(levels) > 0.179 else "#fff"  # where black and white are equally far away
    return f"background-color:#{bytes(levels).hex()};color:{ink}"


def _lightness(levels: Iterable[int]) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    linear = [level / 255 / 12.92 if level <= 10 else ((level / 255 + 0.055) / 1.055) ** 2.4 for level in levels]
    return sum(weight * value for weight, value in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@frozen
class PublishedPhoto:
    """One photo with the owner's words for it."""

    says: str
    "what it shows, as it goes into a page"
    variants: PhotoSet
    "every size and format of it, the widest first"

    def at_top(self) -> PhotoView:
        """As a page at the top of the site shows it."""
        return self._show("")

    def below(self) -> PhotoView:
        """As a page one folder down shows it."""
        return self._show("../")

    def small(self, root: str) -> PhotoView:
        """As one of many: nothing of it is larger than it is shown."""
        # Variants come widest first.
        least = {variant.format: root + variant.path for variant in self.variants.variants}
        return self._view(src=least.pop("image/jpeg"), sources=least)

    def _show(self, root: str) -> PhotoView:
        # Variants come widest first, and a dict keeps the order: modern formats lead, as they alone have the widest.
        by_format: dict[str, list[Variant]] = {}
        for variant in self.variants.variants:
            by_format.setdefault(variant.format, []).append(variant)
        plain = by_format.pop("image/jpeg")
        return self._view(
            src=root + plain[0].path,
            srcset=_list_widths(plain, root) if len(plain) > 1 else "",
            sources={kind: _list_widths(group, root) for kind, group in by_format.items()},
            full=root + self.variants.variants[0].path,
        )

    def _view(self, *, src: str, sources: Mapping[str, str], srcset: str = "", full: str = "") -> PhotoView:
        """By the addresses of its variants: what every browser can show is the `img` itself, not one of its sources."""
        widest = self.variants.variants[0]
        return PhotoView(
            src=src,
            srcset=srcset,
            sources=tuple([Source(type=kind, srcset=addresses) for kind, addresses in sources.items()]),
            width=widest.width,
            height=widest.height,
            # The owner writes one text for a photo, and it serves as both.
            alt=self.says,
            caption=self.says,
            full=full,
            tone=name_tone(self.variants.colour),
            shape=name_shape(widest),
        )


WIDE_PX = 1200
"Pixels that a photo needs to fill the width of a page: some three quarters of it on a large screen."


def name_shape(widest: Variant) -> Shape:
    """What keeps a photo from filling a page's width, by its widest variant."""
    if widest.height > widest.width:
        return "upright" if widest.height >= WIDE_PX else "small"
    if widest.width < WIDE_PX:
        return "small"
    return "panorama" if widest.width > 3 * widest.height else ""


Photos = Mapping[str, Mapping[str, PublishedPhoto]]
"Published photos by the name of their entry or page, then by file name, in the order in which that lists them."


def list_told(figures: Figures) -> tuple[Told, ...]:
    """All that is told on the site: its entries, then its standing pages."""
    return (*figures.entries, *figures.pages)


def request_photos(figures: Figures, told: Iterable[Told] | None = None) -> tuple[PhotoRequest, ...]:
    """What the photo stage is asked for: every photo that is listed and there; of these entries and pages alone."""
    # A log that was not read from a folder has no photos to publish.
    if figures.log.folder is None:
        return ()
    return tuple(
        PhotoRequest(source=figures.log.locate(path), name=name, hide=photo.hide, place=photo.place)
        for path, name, photo in list_published(figures, told)
    )


class PassingRequests(Iterable[PhotoRequest]):
    """The same of a whole log, each made anew whenever they are gone through: together they take a lot of memory."""

    def __init__(self, figures: Figures) -> None:
        self._figures = figures

    def __iter__(self) -> Iterator[PhotoRequest]:
        for told in list_told(self._figures):
            yield from request_photos(self._figures, (told,))


def list_published(
    figures: Figures, told: Iterable[Told] | None = None
) -> Iterator[tuple[str, str, Photo | PagePhoto]]:
    """Each photo that is published: its path in the log, its name in the site, and the record of it."""
    for each in list_told(figures) if told is None else told:
        for photo, name in _name_photos(figures, each):
            yield f"photos/{each.name}/{photo.file}", name, photo


def count_published(figures: Figures, told: Iterable[Told] | None = None) -> dict[str, int]:
    """How many photos of each entry, or of what is given, are published, by its name; of one without any nothing."""
    some = figures.entries if told is None else told
    found = {each.name: sum(1 for _ in _name_photos(figures, each)) for each in some if each.photos}
    return {name: number for name, number in found.items() if number}


class FoundPhotos(Mapping[str, PublishedPhoto]):
    """The photos of one entry or page, by file name, each sought when it is asked for; none that is broken."""

    # One by one, as a list of entries shows the first photo of each and need not wait for the others.
    def __init__(self, home: str, says: Mapping[str, str], find: Callable[[str], PhotoSet | None]) -> None:
        """`home` is the name of the entry or page, `says` has by file name what each photo shows."""
        self._home, self._says = home, says
        self._find = find

    def __getitem__(self, file: str) -> PublishedPhoto:
        says = self._says[file]
        made = self._find(f"{self._home}/{file}")
        if made is None:
            raise KeyError(file)
        return PublishedPhoto(says=says, variants=made)

    def __iter__(self) -> Iterator[str]:
        return (file for file in self._says if self._find(f"{self._home}/{file}"))

    def __len__(self) -> int:
        return sum(1 for _ in self)


def view_photos(figures: Figures, find: Callable[[str], PhotoSet | None], catalogue: Catalogue = IN_ENGLISH) -> Photos:
    """The photos that were made, by entry and file; `find` waits for one by the name of its request.

    `catalogue` has the words of the pages on which they stand.
    """
    told = {each.name: each for each in list_told(figures) if each.photos}
    mark = str if catalogue.speaks(figures.log.settings.site.language) else mark_owner_text

    def view(name: str) -> FoundPhotos:
        listed = _name_photos(figures, told[name])
        return FoundPhotos(name, {photo.file: mark(photo.says or "") for photo, _ in listed}, find)

    return LazyMapping(told, view)


class PhotoFiles(Mapping[str, Content]):
    """What the photos add to the site: their variants, and the sheet of the colours that stand there first.

    Each variant is put together when it is asked for, as a long log has a hundred thousand; which there are is known.
    """

    def __init__(self, photo_sets: Mapping[str, PhotoSet]) -> None:
        self._sets = photo_sets
        self._names: dict[str, list[str]] = {}
        self._home: tuple[str, Mapping[str, Variant]] = "", {}
        self._paths: dict[str, None] = {}
        tones = set()
        for name, made in photo_sets.items():
            self._names.setdefault(name.partition("/")[0], []).append(name)
            self._paths |= dict.fromkeys(variant.path for variant in made.variants)
            tones.add(name_tone(made.colour))
        self._paths[PATH] = None
        self._sheet = write_tones(tones)

    def _list_home(self, home: str) -> Mapping[str, Variant]:
        """The variants of one entry's photos; those asked for last are held, as who asks goes entry by entry."""
        if self._home[0] != home:
            made = (self._sets[name] for name in self._names[home])
            self._home = home, {variant.path: variant for each in made for variant in each.variants}
        return self._home[1]

    def __getitem__(self, path: str) -> Content:
        if path not in self._paths:
            raise KeyError(path)
        return self._sheet if path == PATH else self._list_home(path.split("/")[1])[path]

    def __contains__(self, path: object) -> bool:
        return path in self._paths  # the library's would put it together first

    def __iter__(self) -> Iterator[str]:
        return iter(self._paths)

    def __len__(self) -> int:
        return len(self._paths)


def _name_photos(figures: Figures, told: Told) -> Iterator[tuple[Photo | PagePhoto, str]]:
    present = figures.log.photos.get(told.name, ())
    # A file that is listed twice is one picture, with the words that were written last.
    for file, photo in {photo.file: photo for photo in told.photos}.items():
        # A listed file that is not there was reported when the log was read.
        if file in present:
            yield photo, f"{told.name}/{file}"


def _list_widths(variants: list[Variant], root: str) -> str:
    return ", ".join(f"{root}{variant.path} {variant.width}w" for variant in variants)
