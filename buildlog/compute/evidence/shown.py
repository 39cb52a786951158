"""Does everything that a photo is said to show exist, and does its entry tell of it? Else evidence is lost unseen."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from buildlog.compute.evidence.claims import METER
from buildlog.problems import Problem, suggest
from buildlog.read.records import Check, Entry, Fault, Fix, Log, Photo, Removed, Returned, Scrapped, SeenAgain, Sold


def check_shown(log: Log, parts: Collection[str]) -> Iterator[Problem]:
    """An error for each name in `shows` that leads nowhere, a warning for each that its own entry does not speak of.

    `parts` are all keys and numbers by which a part can be named.
    """
    faults = {fault.fault for entry in log.entries for fault in entry.faults}
    known = {METER, *parts, *faults, *log.settings.service, *log.settings.components}
    for entry in log.entries:
        told = None
        for photo in entry.photos:
            for name in photo.shows:
                told = told or _list_told(entry)
                if name not in known:
                    yield _tell_unknown(photo, name, told | {METER}, known)
                elif name not in told:
                    yield _tell_elsewhere(photo, name)


def _list_told(entry: Entry) -> frozenset[str]:
    """Everything that a photo of this entry can show."""
    readings = (entry.reading, entry.meter_changed, *(done.reading for done in entry.serviced))
    gone: tuple[Removed | Sold | Scrapped | Returned, ...] = (
        *entry.removed, *entry.sold, *entry.scrapped, *entry.returned
    )  # fmt: skip
    hunt: tuple[Fault | Check | Fix | SeenAgain, ...] = (
        *entry.faults, *entry.checks, *entry.fixed, *entry.seen_again
    )  # fmt: skip
    names = (
        *(line.part for order in entry.bought for line in order.lines),
        *(name for fitted in entry.fitted for name in (fitted.part, fitted.instead_of)),
        *(record.part for record in gone),
        *(tightened.part for tightened in entry.tightened),
        *(name for done in entry.serviced for name in (done.item, *done.parts, *done.looked_at)),
        *(record.fault for record in hunt),
        *(name for fault in entry.faults for name in fault.suspects),
        *(name for check in entry.checks for name in (*check.clears, check.cause)),
    )
    return frozenset(filter(None, names)) | ({METER} if any(readings) else frozenset())


def _tell_unknown(photo: Photo, name: str, near: Collection[str], known: Collection[str]) -> Problem:
    here = suggest(name, near)
    help = here if here.startswith("did") else suggest(name, known)
    return Problem(
        rule="unknown-shown",
        message=f"`{photo.file}` shows `{name}`, which is no part, service item or fault of this log",
        place=photo.field_place("shows", name),
        help=help or here or "name what it backs, or take `shows:` out: `says:` tells what is to be seen",
    )


def _tell_elsewhere(photo: Photo, name: str) -> Problem:
    message = f"`{photo.file}` shows `{name}`, and its entry says nothing of it: the picture backs nothing"
    return Problem(
        rule="shows-elsewhere",
        message=message,
        place=photo.field_place("shows", name),
        help="list it in the entry that tells of it, or name here what it backs",
        severity="warning",
    )
