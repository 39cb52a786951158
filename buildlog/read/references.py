"""Whether every name in the log leads somewhere: systems, service items, components, strip-downs, papers, photos.

Parts, orders, faults and temporary measures are made known by entries in the order of time, so they are followed
where their story is computed.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from buildlog.problems import Place, Problem, suggest, tell_some
from buildlog.read.bind import Named
from buildlog.read.holes import Hole
from buildlog.read.records import Entry, Log, Settings


def check_named(named: Iterable[Named], log: Log, holes: Iterable[Hole]) -> Iterator[Problem]:
    """A problem for each name that leads nowhere, with the nearest that would.

    A name that may stand in what could not be read of `log.yaml` is passed over.
    """
    known = _list_known(log.settings)
    unread = {
        word for hole in holes if hole.place.file == "log.yaml" for word in re.findall(r"[\w-]+", hole.text or "")
    }
    for _, some in groupby(named, key=lambda each: each.place.file):
        yield from tell_some(_check_some(some, log, known, unread))


def _check_some(
    named: Iterable[Named], log: Log, known: Mapping[str, Collection[str]], unread: Collection[str]
) -> Iterator[Problem]:
    for each in named:
        if each.to == "paper":
            if each.name not in log.papers:
                yield _miss_paper(each, log.papers)
        elif each.name not in known[each.to] and each.name not in unread:
            what = "component" if each.to == "suspect" else each.to
            yield Problem(
                rule=f"unknown-{what.replace(' ', '-')}",
                message=f"there is no {what} `{each.name}` in `log.yaml`",
                place=each.place,
                help=suggest(each.name, known[each.to]) or "add it to `log.yaml`, or correct it here",
            )


def _list_known(settings: Settings) -> Mapping[str, Collection[str]]:
    groups = {component.driven_by for component in settings.components.values() if component.driven_by}
    return {
        "system": settings.systems,
        "component": settings.components,
        "suspect": set(settings.components) | groups,
        "strip-down": settings.strip_downs,
        "service item": settings.service,
    }


def _miss_paper(named: Named, papers: Collection[str]) -> Problem:
    help = suggest(named.name, papers)
    home = "there" if named.name.startswith("papers/") else "into `papers/`"
    help = help if help.startswith("did") else f"put the scan {home}, or take `paper:` out until you have it"
    message = f"there is no file `{named.name}` among the papers"
    return Problem(rule="missing-paper", message=message, place=named.place, help=help)


def check_pictures(log: Log, files: Collection[str], holes: Iterable[Hole]) -> Iterator[Problem]:
    """A warning for each picture that is named and not there, or there and not named, or without words.

    `files` are the names of all entries on disk, those that could not be read included. What may stand in a hole is
    passed over.
    """
    unread: dict[str, list[Hole]] = {}
    for hole in holes:
        unread.setdefault(hole.place.file, []).append(hole)
    for entry in log.entries:
        yield from tell_some(_check_photos(entry, log.photos.get(entry.name, ()), unread.get(entry.place.file, ())))
    yield from _check_photo_folders(log, files)


def _check_photos(entry: Entry, present: Collection[str], unread: Collection[Hole]) -> Iterator[Problem]:
    places = {hole.place for hole in unread}
    wordless = {hole.owner for hole in unread if "says" in hole.keys}
    for photo in entry.photos:
        if photo.field_place("file") in places:
            continue
        if photo.file not in present:
            help = suggest(photo.file, present) or f"put it into `photos/{entry.name}/`"
            message = f"there is no picture `{photo.file}` in `photos/{entry.name}/`"
            yield Problem(
                rule="missing-photo", message=message, place=photo.field_place("file"), help=help, severity="warning"
            )
        elif not photo.says and photo.place not in wordless:
            message = f"the picture `{photo.file}` has no words for those who cannot see it"
            yield Problem(
                rule="photo-says-nothing", message=message, place=photo.place, help="add `says: …`", severity="warning"
            )
    left = sorted(set(present) - {photo.file for photo in entry.photos})
    lost = "\n".join(hole.text or "" for hole in unread)
    left = [name for name in left if name not in lost]
    if left:
        message = (
            f"{_count(left, 'picture')} in `photos/{entry.name}/` not listed, so not published: {_name_some(left)}"
        )
        help = f"write `- {{file: {left[0]}, says: …}}` under `photos:`"
        yield Problem(rule="unlisted-photo", message=message, place=entry.place, help=help, severity="warning")


def _check_photo_folders(log: Log, files: Collection[str]) -> Iterator[Problem]:
    for name in sorted(set(log.photos) - set(files)):
        message = f"there is no entry for the folder `photos/{name}/`, so its pictures are not published"
        near = suggest(name, files)
        help = near if near.startswith("did") else f"name it as its entry is, or write `entries/{name}.md`"
        place = Place(f"photos/{name}")
        yield Problem(rule="stray-photos", message=message, place=place, help=help, severity="warning")


def _count(names: Sequence[str], what: str) -> str:
    return f"{len(names)} {what}{'s' if len(names) > 1 else ''}"


MOST_NAMED = 5
"Names that one message lists."


def _name_some(names: Sequence[str]) -> str:
    shown = ", ".join(f"`{name}`" for name in names[:MOST_NAMED])
    return shown + (f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else "")
