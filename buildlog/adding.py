"""Adding to an entry that is there: a second go at the bench, or photos that came later.

The owner's text stays as it is, letter for letter; lines are only put between. Whether that gave what was meant is
asked of the reader, and where it did not, nothing is written.
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path

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


def add_to_text(text: str, *, heading: str = "", photos: Sequence[str] = (), hints: Sequence[str] = ()) -> str:
    """An entry's text with a heading at the end of its story, photos at the end of its list, and hints of new keys.

    Raises `CannotAdd` where its photos are written so that none can be put behind them.
    """
    lines = text.split("\n")
    fences = [at for at, line in enumerate(lines) if FENCE.fullmatch(line.removeprefix("\ufeff"))][:2]
    if len(fences) < 2:
        raise CannotAdd("it has no front matter; `buildlog check` says what is wrong")
    end = "\r" if lines[fences[1]].endswith("\r") else ""
    head = [line.removesuffix("\r") for line in lines[fences[0] + 1 : fences[1]]]
    known = {match[1] for line in head if (match := KEY.match(line))}
    made = [*_add_photos(head, photos), *_pick_hints(hints, known)] if photos else [*head, *_pick_hints(hints, known)]
    story = "\n".join(lines[fences[1] + 1 :])
    if heading:
        blank = f"{end}\n"
        story = f"{story.rstrip()}{blank if story.strip() else ''}{blank}## {heading}{blank}"
    added = "\n".join([*lines[: fences[0] + 1], *(f"{line}{end}" for line in made), lines[fences[1]], story])
    _check(text, added, photos)
    return added


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


def _add_photos(head: list[str], photos: Sequence[str]) -> list[str]:
    at = next((n for n, line in enumerate(head) if line.startswith("photos:")), None)
    if at is None:
        return [*head, "photos:", *(line for file in photos for line in list_photo(file))]
    value, comment = re.fullmatch(r"photos:\s*(.*?)(\s+#.*)?", head[at]).groups()  # type: ignore[union-attr]  # `.*?` takes any line
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
        new = [line for file in photos for line in list_photo(file, indent)]
        return [*head[: last + 1], *new, *head[last + 1 :]]
    if value.startswith("[") and value.endswith("]"):
        items = [value[1:-1].strip().rstrip(","), *(f"{{file: {write_text(file)}}}" for file in photos)]
        return [*head[:at], f"photos: [{', '.join(filter(None, items))}]{comment}", *head[at + 1 :]]
    new = [line for file in photos for line in list_photo(file)]
    return [*head[:at], "photos:", f"  - {value}{comment}", *new, *head[at + 1 :]]


def _check(before: str, after: str, photos: Sequence[str]) -> None:
    """Ask the reader whether the entry has the photos besides its own, and no mistake that it did not have."""
    (old, old_errors), (new, new_errors) = _read(before), _read(after)
    if old is None or new is None:
        raise CannotAdd("it cannot be read; `buildlog check` says what is wrong")
    wanted = [*(photo.file for photo in old.photos), *photos]
    if [photo.file for photo in new.photos] != wanted or new_errors > old_errors:
        raise CannotAdd("nothing fits behind its `photos:` as they are; write each on a line of its own, `- file: …`")


def _read(text: str) -> tuple[Entry | None, int]:
    """The entry, as far as it can be read, and how many errors are in it by itself or for want of its log."""
    settings = "machine: {name: M}\nmoney: {currency: GBP}\n"
    entry = text.removeprefix("\ufeff").replace("\r\n", "\n")
    reading = read_files(LogFiles(settings=settings, entries={"e.md": entry}))
    errors = sum(problem.severity == "error" for problem in reading.problems)
    return reading.log.entries[0] if reading.log and reading.log.entries else None, errors


def write_over(path: Path, text: str) -> None:
    """Put a text in the place of a file, whole or not at all."""
    beside = path.with_name(f".{path.name}.new")
    # Bytes, as a text would get other line ends on some systems.
    beside.write_bytes(text.encode())
    os.chmod(beside, path.stat().st_mode & 0o777)
    os.replace(beside, path)
