"""How a plan gets onto the disk: each file appears whole or not at all, and no new one replaces another.

Papers and pictures come first, entries last: whatever is cut off in between leaves no entry that names what is not
there. An entry that gets pictures is exchanged whole, if it still is what it was when the plan was made. The same plan,
made again after a run that was stopped, finds what was copied and goes on.
"""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path

from buildlog.adding import write_over
from buildlog.bring.plan import Plan
from buildlog.photos.intake import copy_whole, move_whole
from buildlog.runs import is_running

HALF = re.compile(r"\.(?P<name>.+)\.(?P<process>\d{1,9})")
"How a file is called while it is written: hidden, and by the number of the run."


def carry_out(plan: Plan, log: Path) -> Iterator[Path]:
    """Each file of a plan as soon as it stands in the log's folder.

    Raises FileExistsError where a name has been given away since the plan was made, or an entry was edited.
    """
    paths = [log / one.path for one in plan.copies] + [log / entry.path for entry in plan.entries]
    _sweep({path.parent for path in paths}, {path.name for path in paths})
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
            raise FileExistsError(errno.EEXIST, "was edited in the meantime: bring the same in again", str(path))
        write_over(path, grown.text)
        yield path


def _sweep(folders: Iterable[Path], names: Collection[str]) -> None:
    """Remove what a run that was killed left half written beside files that are there, or that are written now."""
    for folder in folders:
        for path in folder.glob(".*"):
            left = HALF.fullmatch(path.name)
            known = left is not None and (left["name"] in names or (folder / left["name"]).is_file())
            if left and known and not is_running(int(left["process"])):
                path.unlink(missing_ok=True)


def _write_whole(path: Path, text: str) -> None:
    """A new text file, LF on every system, as seals are of bytes."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}")  # a hidden name is no entry of the log
    try:
        with temporary.open("w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        move_whole(temporary, path)
    finally:
        temporary.unlink(missing_ok=True)
