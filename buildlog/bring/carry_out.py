"""How a plan gets onto the disk: each file appears whole or not at all, and no new one replaces another.

Papers and pictures come first, entries last: whatever is cut off in between leaves no entry that names what is not
there. An entry that gets pictures is exchanged whole, if it still is what it was when the plan was made. The same plan,
made again after a run that was stopped, finds what was copied and goes on.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from pathlib import Path

from buildlog.adding import write_over
from buildlog.bring.plan import Plan
from buildlog.photos.intake import copy_whole, move_whole


def carry_out(plan: Plan, log: Path) -> Iterator[Path]:
    """Each file of a plan as soon as it stands in the log's folder.

    Raises FileExistsError where a name has been given away since the plan was made, or an entry was edited.
    """
    for copy in plan.copies:
        path = log / copy.path
        path.parent.mkdir(parents=True, exist_ok=True)
        copy_whole(copy.source, path)
        yield path
    for entry in plan.entries:
        path = log / entry.path
        path.parent.mkdir(parents=True, exist_ok=True)
        _write_whole(path, entry.text)
        yield path
    for grown in plan.grown:
        path = plan.log.locate(grown.path)
        if path.read_bytes() != grown.before.encode():
            raise FileExistsError(errno.EEXIST, "was edited meanwhile: bring the same in once more", str(path))
        write_over(path, grown.text)
        yield path


def _write_whole(path: Path, text: str) -> None:
    """A new text file, LF on every system, as seals are of bytes."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}")  # a hidden name is no entry of the log
    try:
        with temporary.open("w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        move_whole(temporary, path)
    finally:
        temporary.unlink(missing_ok=True)
