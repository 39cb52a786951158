"""Published photos as pages show them: addresses, sizes, words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from buildlog.photos.names import name_photos
from buildlog.photos.records import PhotoRequest, PhotoSet, Variant
from buildlog.reckon.figures import Figures
from buildlog.site.pieces import PhotoView, Source
from buildlog.source.records import Entry, Photo


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedPhoto:
    """One photo with what the owner says of it."""

    photo: Photo
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
            alt=self.photo.says or "",
            caption=self.photo.says or "",
            full=root + widest.path,
        )


Photos = Mapping[str, Mapping[str, PublishedPhoto]]
"Published photos by entry name, then by file name, in the order in which the entry lists them."


def request_photos(figures: Figures) -> tuple[PhotoRequest, ...]:
    """What the photo stage is asked for: every photo that an entry lists and that is there."""
    folder = figures.log.folder
    if folder is None:
        return ()
    return tuple(
        PhotoRequest(source=folder / "photos" / entry.name / photo.file, name=name, hide=photo.hide, place=photo.place)
        for entry in figures.entries
        for photo, name in _name_photos(figures, entry)
    )


def view_photos(figures: Figures, photo_sets: Mapping[str, PhotoSet]) -> Photos:
    """The photos that were made, by entry and file; `photo_sets` is by the names of the requests."""
    return {
        entry.name: {
            photo.file: PublishedPhoto(photo=photo, variants=photo_sets[name])
            for photo, name in _name_photos(figures, entry)
            if name in photo_sets
        }
        for entry in figures.entries
        if entry.photos
    }


def _name_photos(figures: Figures, entry: Entry) -> Iterator[tuple[Photo, str]]:
    present = figures.log.photos.get(entry.name, ())
    stems = name_photos(present)
    for file, photo in {photo.file: photo for photo in entry.photos}.items():
        if file in stems:
            yield photo, f"{entry.name}/{stems[file]}"


def _list_widths(variants: list[Variant], root: str) -> str:
    return ", ".join(f"{root}{variant.path} {variant.width}w" for variant in variants)
