"""Entries that were renamed: where an old name leads to, and which names cannot have been another entry's old ones."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from buildlog.problems import Problem
from buildlog.read.entry import Entry


def list_old_names(entries: Iterable[Entry]) -> dict[str, Entry]:
    """The entry that had each old name."""
    return {name: entry for entry in entries for name in entry.was}


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
