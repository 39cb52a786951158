"""Is there what an entry names: its pictures, the other one of before and after, the entry that an old name leads to?

What is told is a picture that is not there, one that nobody lists, one without words; pairs of before and after, and
the cover, are followed from entry to entry. An entry that was renamed says which names it had before: they lead on to
it, and cannot have been another entry's as well.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from buildlog.problems import Place, Problem, suggest, tell_some
from buildlog.read.misfits import Hole
from buildlog.read.records import Entry, Log, StandingPage, list_old_names
from buildlog.text import count, name_some


def check_renames(entries: Iterable[Entry], files: Collection[str]) -> Iterator[Problem]:
    """An error for each old name whose address has to be another's; `files` are the names of all entries there are."""
    told: dict[str, Entry] = {}
    for entry in entries:
        for name in entry.was:
            place, before = entry.field_place("was", name), told.get(name)
            if name == entry.name:
                message = f"`{name}` is what this entry is called now, so there is no old address to lead on from"
                yield Problem(rule="renamed", message=message, place=place, help="remove it from `was:`")
            elif name in files:
                message = f"there is an entry `{name}`, so its address cannot lead on to another one"
                help = "remove it from `was:`, or rename that entry"
                yield Problem(rule="renamed", message=message, place=place, help=help)
            elif before is not None:
                where = "twice here" if before is entry else "in two entries, and an old address leads on to one"
                help = "write it once" if before is entry else "leave it in the one that was called so"
                also = () if before is entry else (before.field_place("was", name),)
                message = f"`{name}` is under `was:` {where}"
                yield Problem(rule="renamed", message=message, place=place, help=help, also=also)
            told.setdefault(name, entry)


def check_pictures(log: Log, files: Collection[str], holes: Iterable[Hole]) -> Iterator[Problem]:
    """A warning for each picture that is named and not there, or there and not named, or without words.

    `files` are the names of all entries and standing pages on disk, those that could not be read included. What may
    stand in a hole is passed over.
    """
    unread: dict[str, list[Hole]] = {}
    for hole in holes:
        unread.setdefault(hole.place.file, []).append(hole)
    both: tuple[Entry | StandingPage, ...] = (*log.entries, *log.pages)
    old = {name: entry.name for name, entry in list_old_names(log.entries).items()}
    # of an entry whose folder was forgotten: that is told of the folder, once
    behind = {new: log.photos.get(name, ()) for name, new in old.items() if name not in files}
    for told in both:
        present, lines = log.photos.get(told.name, ()), unread.get(told.place.file, ())
        yield from tell_some(_check_photos(told, present, lines, behind.get(told.name, ())))
    yield from _check_photo_folders(log, files, old)
    # While an entry cannot be read, nobody knows which pictures it lists.
    if not any(hole.text is None or hole.keys & {"photos", "file", "after", "cover"} for hole in holes):
        yield from tell_some(_check_pairs(log))
        yield from _check_cover(log)


def _check_photos(
    told: Entry | StandingPage, present: Collection[str], unread: Collection[Hole], behind: Collection[str]
) -> Iterator[Problem]:
    places = {hole.place for hole in unread}
    wordless = {hole.owner for hole in unread if "says" in hole.keys}
    for photo in told.photos:
        # its name could not be read: that has been reported, and its stand-in is no file
        if photo.file in behind or (places and photo.field_place("file") in places):
            continue
        if photo.file not in present:
            help = suggest(photo.file, present) or f"put it into `photos/{told.name}/`"
            message = f"there is no picture `{photo.file}` in `photos/{told.name}/`"
            yield Problem(
                rule="missing-photo", message=message, place=photo.field_place("file"), help=help, severity="warning"
            )
        elif not photo.says and photo.place not in wordless:
            message = f"the picture `{photo.file}` has no description for people who cannot see it"
            yield Problem(
                rule="photo-says-nothing", message=message, place=photo.place, help="add `says: …`", severity="warning"
            )
    left = sorted(set(present) - {photo.file for photo in told.photos})
    lost = "\n".join(hole.text or "" for hole in unread)
    # anywhere in those lines: which of their words are file names cannot be known
    left = [name for name in left if name not in lost]
    if left:
        named = name_some([f"`{name}`" for name in left])
        message = f"{count(len(left), 'picture')} in `photos/{told.name}/` not listed, so not published: {named}"
        help = f"write `- {{file: {left[0]}, says: …}}` under `photos:`"
        yield Problem(rule="unlisted-photo", message=message, place=told.place, help=help, severity="warning")


def _list_photos(log: Log) -> dict[str, Entry | StandingPage]:
    """What every photo that is published belongs to, by `ENTRY/FILE`."""
    both: tuple[Entry | StandingPage, ...] = (*log.entries, *log.pages)
    return {
        f"{told.name}/{photo.file}": told
        for told in both
        for photo in told.photos
        if photo.file in log.photos.get(told.name, ())
    }


def _check_pairs(log: Log) -> Iterator[Problem]:
    """A warning for each picture of afterwards that is none: the pair is not shown, and each picture is."""
    paired = [(entry, photo) for entry in log.entries for photo in entry.photos if photo.after is not None]
    known = _list_photos(log) if paired else {}
    for entry, photo in paired:
        home, file = log.name_photo(str(photo.after), entry.name)
        later, own = known.get(f"{home}/{file}"), f"{entry.name}/{photo.file}"
        message = help = ""
        if f"{home}/{file}" == own:
            message = f"`{file}` is said to show the same as itself afterwards"
            help = "name the later picture, or remove `after:`"
        elif later is None:
            message = f"there is no picture `{photo.after}` among those that are published, so it is no pair"
            near = suggest(f"{home}/{file}", known)
            help = near if near.startswith("did") else f"list it under `photos:` in `{home}.md`, or correct its name"
        elif later.date is not None and later.date < entry.date:
            message = f"`{photo.after}` is of {later.date}, before `{photo.file}` of {entry.date}"
            help = f"remove `after:` here, and write `after: {own}` beside the earlier picture"
        if message:
            place = photo.field_place("after")
            yield Problem(rule="no-pair", message=message, place=place, help=help, severity="warning")


def _check_cover(log: Log) -> Iterator[Problem]:
    site = log.settings.site
    if site.cover is None:
        return
    (home, file), known = log.name_photo(site.cover), _list_photos(log)
    if f"{home}/{file}" in known:
        return
    message = f"the cover `{site.cover}` is not among the pictures that are published, so there is none"
    near = suggest(site.cover, known)
    help = near if near.startswith("did") else "write `ENTRY/FILE`, of a picture that its entry lists"
    if file in log.photos.get(home, ()):
        help = f"list it under `photos:` in `{home}.md`"
    yield Problem(rule="no-cover", message=message, place=site.field_place("cover"), help=help, severity="warning")


def _check_photo_folders(log: Log, files: Collection[str], old: Mapping[str, str]) -> Iterator[Problem]:
    for name in sorted(set(log.photos) - set(files)):
        message = f"there is no entry for the folder `photos/{name}/`, so its pictures are not published"
        near = suggest(name, files)
        help = near if near.startswith("did") else f"rename it to match its entry, or write `entries/{name}.md`"
        if new := old.get(name):
            message = f"the entry `{name}` is called `{new}` now, so the pictures in `photos/{name}/` are not published"
            help = f"move them into `photos/{new}/`" if new in log.photos else f"rename the folder to `photos/{new}/`"
        place = Place(f"photos/{name}")
        yield Problem(rule="stray-photos", message=message, place=place, help=help, severity="warning")
