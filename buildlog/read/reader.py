"""From a log's files to its records: the stages of reading, in order, and all problems of a log in one run.

The disk is left to `files`, YAML to `yaml_tree`, keys and values to `bind`. Names are followed here, as far as one file
can tell: systems, service items, components, strip-downs, papers, photos. Parts, orders, faults and temporary repairs
become known from entry to entry, so they are followed where their story is computed.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from itertools import groupby
from pathlib import Path
from typing import TypeVar

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, sort_problems, suggest, tell_some
from buildlog.read.bind import Binder, Named
from buildlog.read.entry import StandingPage
from buildlog.read.files import PAGES, LogFiles, gather_files
from buildlog.read.kinds import Unreadable, read_date
from buildlog.read.misfits import Hole
from buildlog.read.names import check_pictures, check_renames
from buildlog.read.records import Entry, Log, Settings
from buildlog.read.salvage import read_yaml
from buildlog.read.yaml_tree import Mapping as Tree


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
        "list": settings.lists,
    }


def _miss_paper(named: Named, papers: Collection[str]) -> Problem:
    help = suggest(named.name, papers)
    home = "there" if named.name.startswith("papers/") else "into `papers/`"
    help = help if help.startswith("did") else f"put the scan {home}, or remove `paper:` until you have it"
    message = f"there is no file `{named.name}` among the papers"
    return Problem(rule="missing-paper", message=message, place=named.place, help=help)


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

    record: Settings | Entry | StandingPage | None
    "None where nothing could be read of it"
    problems: tuple[Problem, ...]
    "what is wrong in it"
    holes: tuple[Hole, ...]
    "what could not be read of it"
    named: tuple[Named, ...]
    "names that should lead somewhere"


class KeptReadings:
    """What texts were found to say, by path and text: nothing else decides it. Only the last log's are kept."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[str, TextReading]] = {}

    def find(self, texts: Mapping[str, str]) -> dict[str, TextReading]:
        """What is known of some texts, by their paths."""
        kept = ((path, text, self._kept.get(path, ("", None))) for path, text in texts.items())
        return {path: reading for path, text, (read, reading) in kept if reading is not None and read == text}

    def keep(self, texts: Mapping[str, str], readings: Mapping[str, TextReading]) -> None:
        """Take up what all texts of a log say, and forget all others."""
        self._kept = {path: (text, readings[path]) for path, text in texts.items()}


def read_log(folder: Path, kept: KeptReadings | None = None) -> Reading:
    """The log in a folder. Reads files only; raises nothing for what an owner can get wrong."""
    files, problems = gather_files(folder)
    return read_files(files, problems, kept)


def read_files(files: LogFiles, found: Iterable[Problem] = (), kept: KeptReadings | None = None) -> Reading:
    """The log in texts that are read already; `found` are problems of the files themselves.

    A text that is in `kept` is not read again; afterwards exactly the texts of this log are in it.
    """
    texts = {} if files.settings is None else {"log.yaml": files.settings}
    texts |= {f"entries/{name}": text for name, text in files.entries.items()}
    texts |= {f"{PAGES}/{name}": text for name, text in files.pages.items()}
    known = kept.find(texts) if kept else {}
    # All of them, even where `log.yaml` cannot be read, to show every mistake at once.
    read = {path: known.get(path) or _read_text(path, text) for path, text in texts.items()}
    if kept:
        kept.keep(texts, read)
    readings = list(read.values())
    settings = read.pop("log.yaml", None)
    told = list(read.values())
    problems = [*found, *(problem for reading in readings for problem in reading.problems)]
    holes = [hole for reading in readings for hole in reading.holes]
    log = None
    # without `log.yaml` every name would lead nowhere
    if settings is not None and isinstance(settings.record, Settings):
        records = [reading.record for reading in told if isinstance(reading.record, Entry)]
        pages = [reading.record for reading in told if isinstance(reading.record, StandingPage)]
        log = Log(
            settings=settings.record,
            # by name within a day: figures must not depend on the order in which a disk lists its files
            entries=tuple(sorted(records, key=lambda entry: (entry.date, entry.name))),
            pages=tuple(sorted(pages, key=lambda page: (page.order is None, page.order or 0, page.name))),
            papers=files.papers,
            photos=files.photos,
            folder=files.folder,
            spelt=files.spelt,
        )
        problems += check_named([name for reading in readings for name in reading.named], log, holes)
        names = frozenset(name.removesuffix(".md") for name in (*files.entries, *files.pages))
        problems += check_renames(log.entries, frozenset(name.removesuffix(".md") for name in files.entries))
        problems += check_pictures(log, names, holes)
    return Reading(log=log, problems=sort_problems(problems), texts=files.texts(), holes=(*files.holes, *holes))


def _read_text(path: str, text: str) -> TextReading:
    # a binder of its own: what it gathers belongs to this text alone, and can be kept with it
    binder = Binder()
    reads = {"log.yaml": _read_settings, PAGES: _read_page}.get(path.partition("/")[0], _read_entry)
    record = reads(path, text, binder)
    return TextReading(
        record=record, problems=tuple(binder.problems), holes=tuple(binder.holes), named=tuple(binder.named)
    )


def _read_settings(file: str, text: str, binder: Binder) -> Settings | None:
    node, found = read_yaml(text, file)
    binder.problems += found
    if node is None:
        if not found:
            binder.problems.append(_nothing(file, "`log.yaml` is empty", "write `machine: {name: …}` and so on"))
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


def _read_page(file: str, text: str, binder: Binder) -> StandingPage | None:
    """A standing page, whose front matter may be left out as long as nothing but a heading has to be said."""
    name = file.removeprefix(f"{PAGES}/").removesuffix(".md")
    head, body, body_line = split_front_matter(text)
    if not text.strip():
        binder.problems.append(_nothing(file, "this file is empty", "start with `# Title`, or delete the file"))
        return None
    if head is None and text.lstrip().startswith("---"):
        binder.problems.append(_explain_no_head(file, text))
        return None
    if too_long := [*_check_length(file, head or "", body, body_line)]:
        binder.problems += too_long
        return None
    node, found = read_yaml(head or "", file, first_line=2)
    binder.problems += found
    before = len(binder.holes)
    if node is None:
        node = Tree((), Place(file), False)
    page = binder.bind(StandingPage, node, name=name, body=body, body_line=body_line)
    page = page and _settle_title(page, binder, binder.holes[before:])
    if page and page.title and not (page.body.strip() or page.photos or page.papers or binder.holes[before:]):
        help = "write below its title, or list `photos:` or `papers:`"
        binder.problems.append(_nothing(file, "there is nothing on this page but its title", help))
    return page


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
    is_page = file.startswith(f"{PAGES}/")
    parts = "several pages" if is_page else "several entries"
    words = "text" if is_page else "story"
    for what, text, most, line in (("front matter", head, LONGEST_HEAD, 2), (words, body, LONGEST_STORY, body_line)):
        if len(text) > most:
            message = f"the {what} has {len(text)} characters; the limit is {most}"
            help = (
                f"split it into {parts}, and put anything that is not a {words}, such as a table of readings, "
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


AnyTold = TypeVar("AnyTold", bound=Entry | StandingPage)
"What has a title and a text."


def _settle_title(entry: AnyTold, binder: Binder, holes: Iterable[Hole]) -> AnyTold:
    """The entry or page with its title, which may stand as the first heading of the text instead."""
    if entry.title:
        return entry
    blank = len(entry.body) - len(entry.body.lstrip("\n"))
    row, end, rest = entry.body[blank:].partition("\n")
    title = row.removeprefix("# ").strip(" \t#")
    if not row.startswith("# ") or not title:
        if not any("title" in hole.keys for hole in holes):
            what, words = ("entry", "story") if isinstance(entry, Entry) else ("page", "text")
            help = f"write `title: …`, or start the {words} with `# Title`"
            binder.problems.append(_nothing(entry.place.file, f"this {what} has no title", help))
        return entry
    # the story goes on below its heading, which the page sets above it; places in it keep their lines
    return replace(entry, title=title, body=rest, body_line=entry.body_line + blank + len(end))


def _nothing(file: str, message: str, help: str) -> Problem:
    return Problem(rule="missing-part", message=message, place=Place(file), help=help)
