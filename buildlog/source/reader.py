"""From a log's files to its records: the stages of reading, in order, and all problems of a log in one run.

The disk is left to `files`, YAML to `yaml_tree`, keys and values to `bind`, names to `names`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, sort_problems
from buildlog.source.bind import bind_record
from buildlog.source.files import LogFiles, gather_files
from buildlog.source.names import check_names
from buildlog.source.records import Entry, Log, Settings
from buildlog.source.yaml_tree import read_yaml


@frozen
class Reading:
    """What was read, and what is wrong with it."""

    log: Log | None
    "what could be read; None when `log.yaml` could not"
    problems: tuple[Problem, ...]
    texts: Mapping[str, str]
    "every text by its path in the log, for quoting"


def read_log(folder: Path) -> Reading:
    """The log in a folder. Reads files only; raises nothing for what an owner can get wrong."""
    files, problems = gather_files(folder)
    return read_files(files, problems)


def read_files(files: LogFiles, found: Iterable[Problem] = ()) -> Reading:
    """The log in texts that are read already; `found` are problems of the files themselves."""
    problems = list(found)
    settings = None if files.settings is None else _read_settings(files.settings, problems)
    entries = [_read_entry(name, text, problems) for name, text in files.entries.items()]
    log = None
    if settings is not None:
        ordered = tuple(sorted((e for e in entries if e is not None), key=lambda e: (e.date, e.name)))
        log = Log(settings=settings, entries=ordered, papers=files.papers, photos=files.photos, folder=files.folder)
        problems += check_names(log, frozenset(name.removesuffix(".md") for name in files.entries))
    return Reading(log=log, problems=sort_problems(problems), texts=files.texts())


def _read_settings(text: str, problems: list[Problem]) -> Settings | None:
    node, found = read_yaml(text, "log.yaml")
    problems += found
    if node is None:
        if not found:
            problems.append(_nothing("log.yaml", "`log.yaml` is empty", "write `machine: {name: …}` and so on"))
        return None
    return bind_record(Settings, node, problems)


def _read_entry(file_name: str, text: str, problems: list[Problem]) -> Entry | None:
    file = f"entries/{file_name}"
    head, body, body_line = split_front_matter(text)
    if head is None:
        problems.append(_explain_no_head(file, text))
        return None
    if too_long := [*_check_length(file, head, body, body_line)]:
        problems += too_long
        return None
    node, found = read_yaml(head, file, first_line=2)
    problems += found
    if node is None:
        if not found:
            problems.append(_nothing(file, "the front matter is empty", "write `date: 2024-05-18` between the `---`"))
        return None
    entry = bind_record(Entry, node, problems, name=file_name.removesuffix(".md"), body=body, body_line=body_line)
    return None if entry is None else _settle_title(entry, problems)


LONGEST_HEAD = 200_000
"Characters of a front matter: one of a whole winter has a tenth."
LONGEST_STORY = 200_000
"Characters of a story: thirty thousand words, of which an evening fills a fiftieth."


def _check_length(file: str, head: str, body: str, body_line: int) -> Iterator[Problem]:
    """What nobody has written in one evening is not read: some of it would take minutes, or all the memory."""
    for what, text, most, line in (("front matter", head, LONGEST_HEAD, 2), ("story", body, LONGEST_STORY, body_line)):
        if len(text) > most:
            message = f"the {what} has {len(text)} characters, more than the {most} that are read"
            help = "split it into several entries, and put what is no story, as a table of readings, into `papers/`"
            yield Problem(rule="too-large", message=message, place=Place(file, line), help=help)


FENCE = re.compile(r"^---[ \t]*(?:\n|\Z)", re.MULTILINE)


def split_front_matter(text: str) -> tuple[str | None, str, int]:
    """The YAML between the two `---` lines, the story after it, and the line at which the story starts.

    None, the whole text and line 1 where there are no two such lines, the first at the top.
    """
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


def _settle_title(entry: Entry, problems: list[Problem]) -> Entry:
    """The entry with its title, which may stand as the first heading of the story instead."""
    if entry.title:
        return entry
    blank = len(entry.body) - len(entry.body.lstrip("\n"))
    row, end, rest = entry.body[blank:].partition("\n")
    title = row.removeprefix("# ").strip(" \t#")
    if not row.startswith("# ") or not title:
        help = "write `title: …`, or start the story with `# Title`"
        problems.append(_nothing(entry.place.file, "this entry has no title", help))
        return entry
    return replace(entry, title=title, body=rest, body_line=entry.body_line + blank + len(end))


def _nothing(file: str, message: str, help: str) -> Problem:
    return Problem(rule="missing-part", message=message, place=Place(file), help=help)
