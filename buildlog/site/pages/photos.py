"""Published photos as pages show them: addresses, sizes, words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING

from buildlog.frozen import frozen
from buildlog.photos.records import PhotoRequest, PhotoSet, Variant
from buildlog.site.lazily import Lazily
from buildlog.site.output import Content
from buildlog.site.pieces import PhotoView, Source
from buildlog.site.said import mark_said, speaks_english
from buildlog.site.tones import PATH, name_tone, write_tones

if TYPE_CHECKING:
    from buildlog.reckon.figures import Figures
    from buildlog.source.records import Entry, Photo


@frozen
class PublishedPhoto:
    """One photo with what the owner says of it."""

    says: str
    "what it shows, as it goes into a page"
    variants: PhotoSet

    def at_top(self) -> PhotoView:
        """As a page at the top of the site shows it."""
        return self._show("")

    def below(self) -> PhotoView:
        """As a page one folder down shows it."""
        return self._show("../")

    def _show(self, root: str) -> PhotoView:
        by_format: dict[str, list[Variant]] = {}
        for variant in self.variants.variants:
            by_format.setdefault(variant.format, []).append(variant)
        plain = by_format.pop("image/jpeg")
        widest = self.variants.variants[0]
        return PhotoView(
            src=root + plain[0].path,
            srcset=_list_widths(plain, root) if len(plain) > 1 else "",
            sources=tuple(Source(type=kind, srcset=_list_widths(group, root)) for kind, group in by_format.items()),
            width=widest.width,
            height=widest.height,
            alt=self.says,
            caption=self.says,
            full=root + widest.path,
            tone=name_tone(self.variants.colour),
        )


Photos = Mapping[str, Mapping[str, PublishedPhoto]]
"Published photos by entry name, then by file name, in the order in which the entry lists them."


def request_photos(figures: Figures) -> tuple[PhotoRequest, ...]:
    """What the photo stage is asked for: every photo that an entry lists and that is there."""
    if figures.log.folder is None:
        return ()
    return tuple(
        PhotoRequest(source=figures.log.locate(path), name=name, hide=photo.hide, place=photo.place)
        for path, name, photo in list_published(figures)
    )


def list_published(figures: Figures) -> Iterator[tuple[str, str, Photo]]:
    """Each photo that is published: its path in the log, its name in the site, and what the owner says of it."""
    for entry in figures.entries:
        for photo, name in _name_photos(figures, entry):
            yield f"photos/{entry.name}/{photo.file}", name, photo


def view_photos(figures: Figures, find: Callable[[str], PhotoSet | None]) -> Photos:
    """The photos that were made, by entry and file; `find` waits for one by the name of its request."""
    entries = {entry.name: entry for entry in figures.entries if entry.photos}
    mark = str if speaks_english(figures.log.settings.site.language) else mark_said

    def view(entry: str) -> dict[str, PublishedPhoto]:
        found = [(photo, find(name)) for photo, name in _name_photos(figures, entries[entry])]
        return {photo.file: PublishedPhoto(says=mark(photo.says or ""), variants=made) for photo, made in found if made}

    return Lazily(entries, view)


def list_photo_files(photo_sets: Mapping[str, PhotoSet]) -> dict[str, Content]:
    """What the photos add to the site: their variants, and the sheet of the colours that stand there first."""
    files: dict[str, Content] = {variant.path: variant for made in photo_sets.values() for variant in made.variants}
    return files | {PATH: write_tones(name_tone(made.colour) for made in photo_sets.values())}


def _name_photos(figures: Figures, entry: Entry) -> Iterator[tuple[Photo, str]]:
    present = figures.log.photos.get(entry.name, ())
    for file, photo in {photo.file: photo for photo in entry.photos}.items():
        if file in present:
            yield photo, f"{entry.name}/{file}"


def _list_widths(variants: list[Variant], root: str) -> str:
    return ", ".join(f"{root}{variant.path} {variant.width}w" for variant in variants)
