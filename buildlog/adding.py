"""Adding to an entry that is there: a second go at the bench, or photos that came later.

The owner's text stays as it is, letter for letter; lines are only put between. Whether that gave what was meant is
asked of the reader, and where it did not, nothing is written.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from buildlog.drafts import list_photo, write_text
from buildlog.problems import suggest
from buildlog.read.files import LogFiles
from buildlog.read.reader import read_files
from buildlog.read.records import Entry, Log
from buildlog.text import name_some

FENCE = re.compile(r"---[ \t]*\r?")
"A line that begins or ends a front matter."
KEY = re.compile(r"#? ?([a-z_]+):")
"The key that a line of a front matter begins with, taken up or in a comment."


# Told by the command, which knows how the entry was named.
class CannotAdd(ValueError):
    """Why nothing was added; its text says what to do."""


def find_entry(log: Log, named: str) -> Entry:
    """The entry that is meant by its name, by its file's or by its day; raises `CannotAdd` where that is not one."""
    name = named.removeprefix("entries/").removesuffix(".md")
    found = [entry for entry in log.entries if entry.name == name]
    found = found or [entry for entry in log.entries if entry.date.isoformat() == name]
    if len(found) == 1:
        return found[0]
    if found:
        raise CannotAdd(f"{len(found)} entries are of that day: {name_some([f'`{entry.name}`' for entry in found])}")
    near = suggest(name, [entry.name for entry in log.entries])
    raise CannotAdd("there is no such entry" + (f"; {near}" if near else ""))


class _Item(NamedTuple):
    """Something that is put at the end of a list."""

    flow: str
    "how it stands within brackets"
    rows: tuple[str, ...]
    "how it stands on lines of its own, without their indent"


def add_to_text(
    text: str,
    *,
    heading: str = "",
    photos: Sequence[str] = (),
    hints: Sequence[str] = (),
    marks: Sequence[str] = (),
) -> str:
    """An entry's text with a heading at the end of its story, photos at the end of its list, and hints of new keys.

    `marks` are items of `brought_from:`, each a mapping on one line. Raises `CannotAdd` where a list is written so that
    nothing can be put behind what is in it.
    """
    lines = text.split("\n")
    fences = [at for at, line in enumerate(lines) if FENCE.fullmatch(line.removeprefix("\ufeff"))][:2]
    if len(fences) < 2:
        raise CannotAdd("it has no front matter; `buildlog check` says what is wrong")
    end = "\r" if lines[fences[1]].endswith("\r") else ""
    head = [line.removesuffix("\r") for line in lines[fences[0] + 1 : fences[1]]]
    known = {match[1] for line in head if (match := KEY.match(line))}
    made = _add_items(head, "photos", [_Item(f"{{file: {write_text(file)}}}", list_photo(file, "")) for file in photos])
    made = _add_items(made, "brought_from", [_Item(mark, (f"- {mark}",)) for mark in marks])
    made += _pick_hints(hints, known)
    rest = lines[fences[1] :]
    if heading:
        story, blank = "\n".join(rest[1:]), f"{end}\n"
        rest = [rest[0], f"{story.rstrip()}{blank if story.strip() else ''}{blank}## {heading}{blank}"]
    whole = _end_as_before(made, lines[fences[0] + 1 :], end)
    added = "\n".join([*lines[: fences[0] + 1], *whole, *rest])
    _check(text, added, photos, marks)
    return added


def _end_as_before(made: Sequence[str], before: Sequence[str], end: str) -> Iterator[str]:
    """Lines, each that stood there with the line end that it had, which may be another in every line."""
    left = list(before)
    for line in made:
        same_key = (match := KEY.match(line)) and left and left[0].startswith(match[0])
        if left and left[0].removesuffix("\r") == line:
            yield left.pop(0)
        else:
            yield line + ("\r" if same_key and left.pop(0).endswith("\r") else "" if same_key else end)


def _pick_hints(hints: Sequence[str], known: set[str]) -> list[str]:
    """The blocks of hints whose keys the entry does not have, neither taken up nor in a comment."""
    picked, keep = [], False
    for line in hints:
        match = KEY.match(line)
        keep = match[1] not in known if match else keep
        # A whole sentence belongs to no block: it stood there the first time.
        if keep and (match or line.startswith("#  ")):
            picked.append(line)
    return picked


def _add_items(head: list[str], key: str, items: Sequence[_Item]) -> list[str]:
    """A front matter with items at the end of one of its lists."""
    if not items:
        return head
    at = next((n for n, line in enumerate(head) if line.startswith(f"{key}:")), None)
    rows = [f"  {row}" for item in items for row in item.rows]
    if at is None:
        return [*head, f"{key}:", *rows]
    value, comment = re.fullmatch(rf"{key}:\s*(.*?)(\s+#.*)?", head[at]).groups()  # type: ignore[union-attr]  # `.*?` takes any line
    comment = comment or ""
    if not value or value.startswith("#"):
        last = at
        for n in range(at + 1, len(head)):
            if re.match(r"\s|-(\s|$)", head[n]):
                last = n
            elif head[n].strip() and not head[n].startswith("#"):
                break
        first = next((line for line in head[at + 1 : last + 1] if line.strip().startswith("-")), "  -")
        indent = first[: len(first) - len(first.lstrip())]
        rows = [f"{indent}{row}" for item in items for row in item.rows]
        return [*head[: last + 1], *rows, *head[last + 1 :]]
    if value.startswith("[") and value.endswith("]"):
        inside = [value[1:-1].strip().rstrip(","), *(item.flow for item in items)]
        return [*head[:at], f"{key}: [{', '.join(filter(None, inside))}]{comment}", *head[at + 1 :]]
    return [*head[:at], f"{key}:", f"  - {value}{comment}", *rows, *head[at + 1 :]]


def _check(before: str, after: str, photos: Sequence[str], marks: Sequence[str]) -> None:
    """Ask the reader whether the entry has all that was added besides its own, and no mistake that it did not have."""
    (old, old_errors), (new, new_errors) = _read(before), _read(after)
    if old is None or new is None:
        raise CannotAdd("it cannot be read; `buildlog check` says what is wrong")
    wanted = [*(photo.file for photo in old.photos), *photos]
    if [photo.file for photo in new.photos] != wanted or new_errors > old_errors:
        raise CannotAdd("nothing fits behind its `photos:` as they are; write each on a line of its own, `- file: …`")
    had, has = ([mark.digest for mark in entry.brought_from] for entry in (old, new))
    if has[: len(had)] != had or len(has) != len(had) + len(marks):
        raise CannotAdd("nothing fits behind its `brought_from:` as it is; write each on a line of its own, `- {…}`")


def _read(text: str) -> tuple[Entry | None, int]:
    """The entry, as far as it can be read, and how many errors are in it by itself or for want of its log."""
    settings = "machine: {name: M}\nmoney: {currency: GBP}\n"
    entry = text.removeprefix("\ufeff").replace("\r\n", "\n")
    reading = read_files(LogFiles(settings=settings, entries={"e.md": entry}))
    errors = sum(problem.severity == "error" for problem in reading.problems)
    return reading.log.entries[0] if reading.log and reading.log.entries else None, errors


def write_over(path: Path, text: str) -> None:
    """Put a text in the place of a file, whole or not at all."""
    path = path.resolve()  # where it is a link, what it leads to is exchanged, and the link stays
    beside = path.with_name(f".{path.name}.new")
    # Bytes, as a text would get other line ends on some systems.
    beside.write_bytes(text.encode())
    os.chmod(beside, path.stat().st_mode & 0o777)
    os.replace(beside, path)
