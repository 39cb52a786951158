"""From a log's files to its records: the stages of reading, in order, and all problems of a log in one run.

The disk is left to `files`, YAML to `yaml_tree`, keys and values to `bind`. Names are followed here, as far as one file
can tell: systems, service items, components, strip-downs, papers, photos. Parts, orders, faults and temporary measures
become known from entry to entry, so they are followed where their story is computed.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, MutableMapping
from contextlib import suppress
from dataclasses import replace
from itertools import groupby
from pathlib import Path

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, sort_problems, suggest, tell_some
from buildlog.read.bind import Binder, Named
from buildlog.read.files import LogFiles, gather_files
from buildlog.read.kinds import Unreadable, read_date
from buildlog.read.misfits import Hole
from buildlog.read.records import Entry, Log, Settings
from buildlog.read.salvage import read_yaml
from buildlog.text import count, name_some


def check_named(named: Iterable[Named], log: Log, holes: Iterable[Hole]) -> Iterator[Problem]:
    """A problem for each name that leads nowhere, with the nearest that would.

    A name that may stand in what could not be read of `log.yaml` is passed over.
    """
    known = _list_known(log.settings)
    # every word of them, as which ones are names cannot be known of lines that are no YAML
    unread = {
        word for hole in holes if hole.place.file == "log.yaml" for word in re.findall(r"[\w-]+", hole.text or "")
    }
    # a file at a time, so that a machine-made file of ten thousand slips leaves room for those of others
    for _, some in groupby(named, key=lambda each: each.place.file):
        yield from tell_some(_check_some(some, log, known, unread))


def _check_some(
    named: Iterable[Named], log: Log, known: Mapping[str, Collection[str]], unread: Collection[str]
) -> Iterator[Problem]:
    for each in named:
        # a paper is a file, while everything else that is named stands in `log.yaml`
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
        # a group is named after what drives it; where that is no component, the component it drives says so, once
        "suspect": set(settings.components) | groups,
        "strip-down": settings.strip_downs,
        "service item": settings.service,
    }


def _miss_paper(named: Named, papers: Collection[str]) -> Problem:
    help = suggest(named.name, papers)
    home = "there" if named.name.startswith("papers/") else "into `papers/`"
    help = help if help.startswith("did") else f"put the scan {home}, or remove `paper:` until you have it"
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
        # its name could not be read: that has been reported, and its stand-in is no file
        if photo.field_place("file") in places:
            continue
        if photo.file not in present:
            help = suggest(photo.file, present) or f"put it into `photos/{entry.name}/`"
            message = f"there is no picture `{photo.file}` in `photos/{entry.name}/`"
            yield Problem(
                rule="missing-photo", message=message, place=photo.field_place("file"), help=help, severity="warning"
            )
        elif not photo.says and photo.place not in wordless:
            message = f"the picture `{photo.file}` has no description for people who cannot see it"
            yield Problem(
                rule="photo-says-nothing", message=message, place=photo.place, help="add `says: …`", severity="warning"
            )
    left = sorted(set(present) - {photo.file for photo in entry.photos})
    lost = "\n".join(hole.text or "" for hole in unread)
    # anywhere in those lines: which of their words are file names cannot be known
    left = [name for name in left if name not in lost]
    if left:
        named = name_some([f"`{name}`" for name in left])
        message = f"{count(len(left), 'picture')} in `photos/{entry.name}/` not listed, so not published: {named}"
        help = f"write `- {{file: {left[0]}, says: …}}` under `photos:`"
        yield Problem(rule="unlisted-photo", message=message, place=entry.place, help=help, severity="warning")


def _check_photo_folders(log: Log, files: Collection[str]) -> Iterator[Problem]:
    for name in sorted(set(log.photos) - set(files)):
        message = f"there is no entry for the folder `photos/{name}/`, so its pictures are not published"
        near = suggest(name, files)
        help = near if near.startswith("did") else f"rename it to match its entry, or write `entries/{name}.md`"
        place = Place(f"photos/{name}")
        yield Problem(rule="stray-photos", message=message, place=place, help=help, severity="warning")


@frozen
class Reading:
    """What was read, and what is wrong with it."""

    log: Log | None
    "what could be read; None when nothing could of `log.yaml`. With an error, stand-ins are in it: see `misfits`"
    problems: tuple[Problem, ...]
    "of the files, of each text, and of names that lead nowhere; errors first"
    texts: Mapping[str, str]
    "every text by its path in the log, for quoting"
    holes: tuple[Hole, ...] = ()
    "what is written and could not be read"


@frozen
class TextReading:
    """What one text says by itself, before any name in it is followed."""

    record: Settings | Entry | None
    "None where nothing could be read of it"
    problems: tuple[Problem, ...]
    "what is wrong in it"
    holes: tuple[Hole, ...]
    "what could not be read of it"
    named: tuple[Named, ...]
    "names that should lead somewhere"


KeptReadings = MutableMapping[tuple[str, str], TextReading]
"What texts were found to say, by the path and the text: nothing else decides it. Only the last log's are kept."


def read_log(folder: Path, kept: KeptReadings | None = None) -> Reading:
    """The log in a folder. Reads files only; raises nothing for what an owner can get wrong."""
    files, problems = gather_files(folder)
    return read_files(files, problems, kept)


def read_files(files: LogFiles, found: Iterable[Problem] = (), kept: KeptReadings | None = None) -> Reading:
    """The log in texts that are read already; `found` are problems of the files themselves.

    A text that is in `kept` is not read again; afterwards exactly the texts of this log are in it.
    """
    settings, entries = _read_texts(files, {} if kept is None else kept)
    readings = [*([settings] if settings else []), *entries]
    problems = [*found, *(problem for reading in readings for problem in reading.problems)]
    holes = [hole for reading in readings for hole in reading.holes]
    log = None
    # without `log.yaml` every name would lead nowhere
    if settings is not None and isinstance(settings.record, Settings):
        records = [reading.record for reading in entries if isinstance(reading.record, Entry)]
        log = Log(
            settings=settings.record,
            # by name within a day: figures must not depend on the order in which a disk lists its files
            entries=tuple(sorted(records, key=lambda entry: (entry.date, entry.name))),
            papers=files.papers,
            photos=files.photos,
            folder=files.folder,
            spelt=files.spelt,
        )
        problems += check_named([name for reading in readings for name in reading.named], log, holes)
        problems += check_pictures(log, frozenset(name.removesuffix(".md") for name in files.entries), holes)
    return Reading(log=log, problems=sort_problems(problems), texts=files.texts(), holes=(*files.holes, *holes))


def _read_texts(files: LogFiles, kept: KeptReadings) -> tuple[TextReading | None, list[TextReading]]:
    """`log.yaml`, and the entries: all of them even where it cannot be read, to show their mistakes in the same run."""
    known = dict(kept)
    kept.clear()

    def read(path: str, text: str) -> TextReading:
        reading = kept[path, text] = known.get((path, text)) or _read_text(path, text)
        return reading

    settings = None if files.settings is None else read("log.yaml", files.settings)
    return settings, [read(f"entries/{name}", text) for name, text in files.entries.items()]


def _read_text(path: str, text: str) -> TextReading:
    # a binder of its own: what it gathers belongs to this text alone, and can be kept with it
    binder = Binder()
    record = _read_settings(text, binder) if path == "log.yaml" else _read_entry(path, text, binder)
    return TextReading(
        record=record, problems=tuple(binder.problems), holes=tuple(binder.holes), named=tuple(binder.named)
    )


def _read_settings(text: str, binder: Binder) -> Settings | None:
    node, found = read_yaml(text, "log.yaml")
    binder.problems += found
    if node is None:
        if not found:
            binder.problems.append(_nothing("log.yaml", "`log.yaml` is empty", "write `machine: {name: …}` and so on"))
        return None
    return binder.bind(Settings, node)


def _read_entry(file: str, text: str, binder: Binder) -> Entry | None:
    name = file.removeprefix("entries/").removesuffix(".md")
    head, body, body_line = split_front_matter(text)
    node = None
    if head is None:
        binder.problems.append(_explain_no_head(file, text))
    # before YAML and Markdown see it, whose time and memory grow with it
    elif too_long := [*_check_length(file, head, body, body_line)]:
        binder.problems += too_long
    else:
        node, found = read_yaml(head, file, first_line=2)
        binder.problems += found
        if node is None and not found:
            help = "write `date: 2024-05-18` between the `---`"
            binder.problems.append(_nothing(file, "the front matter is empty", help))
    if node is None:
        binder.note_gap(text if head is None else head, Place(file))
        return None
    before = len(binder.holes)
    entry = binder.bind(Entry, node, name=name, body=body, body_line=body_line)
    if entry is None:
        return None
    holes = binder.holes[before:]
    undated = [hole for hole in holes if hole.place in (entry.place, entry.field_place("date")) and "date" in hole.keys]
    day = _date_of_name(name)
    if not undated:
        binder.problems += _compare_date(entry)
    elif day is not None:
        # the name says the day: what hangs on it can be checked after all, so it is no longer a hole
        entry = replace(entry, date=day)
        binder.holes[before:] = holes = [hole for hole in holes if hole not in undated]
    return _settle_title(entry, binder, holes)


# Any year of four digits that `read_date` takes; not in front of a digit, as that would be another number.
NAME_DATE = re.compile(r"([12][0-9]{3}-[0-9]{2}-[0-9]{2})(?![0-9])")
"A date in front of an entry's file name."


def _date_of_name(name: str) -> datetime.date | None:
    match = NAME_DATE.match(name)
    with suppress(Unreadable):
        return read_date(match[1]) if match else None
    return None


def _compare_date(entry: Entry) -> Iterator[Problem]:
    """A warning where the file's name begins with another date than its entry has: one of the two is a slip."""
    match = NAME_DATE.match(entry.name)
    if match and match[1] != entry.date.isoformat():
        yield Problem(
            rule="name-date-differs",
            message=f"`date:` is `{entry.date}`, but the file name says `{match[1]}`",
            place=entry.field_place("date"),
            help=f"write `date: {match[1]}`, or rename the file to `{entry.date}{entry.name[10:]}.md`",
            severity="warning",
        )


LONGEST_HEAD = 200_000
"Characters of a front matter: one of a whole winter has a tenth."
LONGEST_STORY = 200_000
"Characters of a story: thirty thousand words, of which an evening fills a fiftieth."


def _check_length(file: str, head: str, body: str, body_line: int) -> Iterator[Problem]:
    """What nobody has written in one evening is not read: some of it would take minutes, or all the memory."""
    for what, text, most, line in (("front matter", head, LONGEST_HEAD, 2), ("story", body, LONGEST_STORY, body_line)):
        if len(text) > most:
            message = f"the {what} has {len(text)} characters; the limit is {most}"
            help = (
                "split it into several entries, and put anything that is not a story, such as a table of readings, "
                "into `papers/`"
            )
            yield Problem(rule="too-large", message=message, place=Place(file, line), help=help)


FENCE = re.compile(r"^---[ \t]*(?:\n|\Z)", re.MULTILINE)


def split_front_matter(text: str) -> tuple[str | None, str, int]:
    """The YAML between the two `---` lines, the story after it, and the line at which the story starts.

    None, the whole text and line 1 where there are no two such lines, the first at the top.
    """
    # the first two alone: a rule in the story is written `---` as well
    first = FENCE.match(text)
    second = FENCE.search(text, first.end()) if first else None
    if first is None or second is None:
        return None, text, 1
    return text[first.end() : second.start()], text[second.end() :], text.count("\n", 0, second.end()) + 1


def _explain_no_head(file: str, text: str) -> Problem:
    if not text.strip():
        return _nothing(file, "this file is empty", f"start with three lines: {THREE_LINES}")
    if FENCE.match(text):
        return _nothing(file, "the front matter has no end", "put a line `---` below its last key")
    if text.lstrip().startswith("---"):
        return _nothing(file, "the front matter does not start on the first line", "make `---` the whole first line")
    return _nothing(file, "no front matter: the first line is not `---`", f"start with three lines: {THREE_LINES}")


THREE_LINES = "`---`, `date: 2024-05-18`, `---`"


def _settle_title(entry: Entry, binder: Binder, holes: Iterable[Hole]) -> Entry:
    """The entry with its title, which may stand as the first heading of the story instead."""
    if entry.title:
        return entry
    blank = len(entry.body) - len(entry.body.lstrip("\n"))
    row, end, rest = entry.body[blank:].partition("\n")
    title = row.removeprefix("# ").strip(" \t#")
    if not row.startswith("# ") or not title:
        if not any("title" in hole.keys for hole in holes):
            help = "write `title: …`, or start the story with `# Title`"
            binder.problems.append(_nothing(entry.place.file, "this entry has no title", help))
        return entry
    # the story goes on below its heading, which the page sets above it; places in it keep their lines
    return replace(entry, title=title, body=rest, body_line=entry.body_line + blank + len(end))


def _nothing(file: str, message: str, help: str) -> Problem:
    return Problem(rule="missing-part", message=message, place=Place(file), help=help)
