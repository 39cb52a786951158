"""From a log's files to its records: the stages of reading, in order, and all problems of a log in one run."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from buildlog.problems import Place, Problem, sort_problems
from buildlog.source.bind import bind_record
from buildlog.source.files import LogFiles, gather_files
from buildlog.source.names import check_names
from buildlog.source.records import Entry, Log, Settings
from buildlog.source.yaml_tree import read_yaml


@dataclass(frozen=True, slots=True, kw_only=True)
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
    if files is None:
        return Reading(log=None, problems=sort_problems(problems), texts={})
    return read_files(files, problems)


def read_files(files: LogFiles, found: list[Problem] | None = None) -> Reading:
    """The log in texts that are read already; `found` are problems of the files themselves."""
    problems = list(found or ())
    settings = _read_settings(files.settings, problems)
    entries = [_read_entry(name, text, problems) for name, text in files.entries.items()]
    log = None
    if settings is not None:
        ordered = sorted((e for e in entries if e is not None), key=lambda e: (e.date, e.name))
        log = Log(
            settings=settings, entries=tuple(ordered), papers=files.papers, photos=files.photos, folder=files.folder
        )
        problems += check_names(log)
    return Reading(log=log, problems=sort_problems(problems), texts=files.texts())


def _read_settings(text: str, problems: list[Problem]) -> Settings | None:
    node, found = read_yaml(text, "log.yaml")
    problems += found
    if node is None:
        if not found:
            problems.append(_nothing("log.yaml", "`log.yaml` is empty", "machine: {name: …}"))
        return None
    return bind_record(Settings, node, problems)


def _read_entry(file_name: str, text: str, problems: list[Problem]) -> Entry | None:
    file = f"entries/{file_name}"
    head, body, body_line = split_front_matter(text)
    if head is None:
        problems.append(
            _nothing(
                file,
                "no front matter: the first line is not `---`",
                "start with three lines: `---`, `date: 2024-05-18`, `---`",
            )
        )
        return None
    node, found = read_yaml(head, file, first_line=2)
    problems += found
    if node is None:
        if not found:
            problems.append(_nothing(file, "the front matter is empty", "date: 2024-05-18"))
        return None
    entry = bind_record(Entry, node, problems, name=file_name.removesuffix(".md"), body=body, body_line=body_line)
    return None if entry is None else _settle_title(entry, problems)


def split_front_matter(text: str) -> tuple[str | None, str, int]:
    """The YAML between the two `---` lines, the story after it, and the line at which the story starts."""
    match = re.match(r"---[ \t]*\n(.*?)^---[ \t]*(?:\n|\Z)", text, re.DOTALL | re.MULTILINE)
    if match is None:
        return None, text, 1
    return match[1], text[match.end() :], text.count("\n", 0, match.end()) + 1


def _settle_title(entry: Entry, problems: list[Problem]) -> Entry:
    """The entry with its title, which may stand as the first heading of the story instead."""
    if entry.title:
        return entry
    match = re.match(r"(\s*)# +(.+?) *#* *(?:\n|\Z)", entry.body)
    if match is None:
        problems.append(
            _nothing(entry.place.file, "this entry has no title", "add `title: …`, or start the story with `# Title`")
        )
        return entry
    rest = entry.body[match.end() :]
    return replace(entry, title=match[2], body=rest, body_line=entry.body_line + entry.body.count("\n", 0, match.end()))


def _nothing(file: str, message: str, help: str) -> Problem:
    return Problem(rule="missing-part", message=message, place=Place(file), help=help)
