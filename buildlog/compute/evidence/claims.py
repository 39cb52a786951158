"""What does the log claim, and how is each claim backed?

Four levels, strongest first: *on paper* (the record itself names a paper), *in pictures* (a photo of the same entry
says in `shows` that it backs the thing), *stated* (the entry alone), *handed down* (an earlier owner says so). A level
tells what can be looked at; nothing here says that a claim is true. A photo said to show what nobody mentions is a
problem found here too: its evidence would be lost unseen. Adding the claims up is for `evidence.coverage`.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace
from typing import Literal

from buildlog.compute.quantities.money import Money
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, suggest
from buildlog.read.records import (
    Acquired,
    Amount,
    Check,
    Entry,
    Fault,
    Fix,
    Inherited,
    Log,
    Order,
    Photo,
    Removed,
    Returned,
    Scrapped,
    SeenAgain,
    Sold,
)
from buildlog.text import to_say

Level = Literal["on paper", "in pictures", "stated", "handed down"]
LEVELS: tuple[Level, ...] = ("on paper", "in pictures", "stated", "handed down")
"Strongest first."
LEVEL_WORDS: Mapping[Level, str] = {
    "on paper": to_say("on paper"),
    "in pictures": to_say("in pictures"),
    "stated": to_say("owner's word"),
    "handed down": to_say("previous owner's word"),
}
"What readers see for each level; the shorter names are those of the log and of `figures.json`."
ClaimKind = Literal["money", "fitting", "service", "reading", "fix", "history"]
KINDS: tuple[ClaimKind, ...] = ("money", "fitting", "service", "reading", "fix", "history")
METER = "meter"
"The word under `shows` for a photo that backs a reading."


@frozen
class Claim:
    """One thing that the log says, and how it is backed."""

    kind: ClaimKind
    "`history` is an inherited event that counts for no service item"
    date: datetime.date
    "of the entry; of an inherited event the first day that it can be of"
    when: str
    "the date as it is known: `1998`, `1998-06`, `1998-06-12`"
    what: str
    "what is claimed: supplier and ref, key of the part, service item or fault, the reading, the event"
    level: Level
    "how it is backed, by the strongest of what there is"
    paper: str | None
    "the paper that backs it; None where none does"
    entry: str | None
    "name of the entry; None in `log.yaml`"
    place: Place
    "the record, or the field of it, that makes the claim"
    amount: Money | None = None
    "home currency, zero or more; None where it is not about money or the amount is not known"


def list_claims(log: Log, amounts: Mapping[Place, Money]) -> Iterator[Claim]:
    """Every claim of a log: history and purchase first, then entry by entry.

    `amounts` gives the home amount of an order, return or sale by its record's place; its sign does not matter.
    """
    for event in log.settings.history:
        yield from _list_event(event)
    if log.settings.acquired is not None:
        yield from _list_purchase(log.settings.acquired)
    for entry in log.entries:
        yield from _list_money(entry, amounts)
        yield from _list_work(entry)
        yield from _list_readings(entry)


def find_level(entry: Entry, shown: str, paper: str | None) -> Level:
    """The level of a claim of an entry: by its record's own paper, else by a photo that `shows` the thing."""
    # The record's own paper only: one that lies beside it in the same entry may be about something else.
    if paper is not None:
        return "on paper"
    # And a photo only of what it is said to show: a picture taken that day may show anything.
    return "in pictures" if any(shown in photo.shows for photo in entry.photos) else "stated"


def find_inherited_level(event: Inherited) -> Level:
    """The level of an inherited event: what is not in the log as a file is handed down, whatever it once rested on."""
    # `evidence: on paper` without the file cannot be looked at, so it counts for no more than somebody's word.
    if event.paper is None:
        return "handed down"
    return "in pictures" if event.evidence == "in pictures" else "on paper"


def _list_event(event: Inherited) -> Iterator[Claim]:
    base = Claim(
        kind="history",
        date=event.date.earliest,
        when=event.date.text,
        what=event.what,
        level=find_inherited_level(event),
        paper=event.paper,
        entry=None,
        place=event.place,
    )
    # An event that did several items makes a claim for each, so that none of them lacks its own line.
    yield from (replace(base, kind="service", what=item) for item in event.serviced)
    if not event.serviced:
        yield base
    if event.reading is not None:
        yield replace(base, kind="reading", what=show_amount(event.reading), place=event.field_place("reading"))


def _list_purchase(acquired: Acquired) -> Iterator[Claim]:
    if acquired.reading is not None:
        yield Claim(
            kind="reading",
            date=acquired.date,
            when=acquired.date.isoformat(),
            what=show_amount(acquired.reading),
            # No pictures: photos belong to entries, and the purchase stands in `log.yaml`.
            level="stated" if acquired.paper is None else "on paper",
            paper=acquired.paper,
            entry=None,
            place=acquired.field_place("reading"),
        )


def _list_money(entry: Entry, amounts: Mapping[Place, Money]) -> Iterator[Claim]:
    records = [(order.place, _name_order(order), order.paper) for order in entry.bought]
    records += [(back.place, f"returned on {back.ref}", back.paper) for back in entry.returned]
    records += [(sold.place, f"sold {sold.part or sold.name or sold.what}", sold.paper) for sold in entry.sold]
    for place, what, paper in records:
        # A photo shows a thing, never what was paid for it: money is on paper or stated.
        level: Level = "stated" if paper is None else "on paper"
        amount = amounts.get(place)
        yield Claim(
            kind="money",
            date=entry.date,
            when=entry.date.isoformat(),
            what=what,
            level=level,
            paper=paper,
            entry=entry.name,
            place=place,
            amount=None if amount is None else abs(amount),
        )


def _list_work(entry: Entry) -> Iterator[Claim]:
    for fitted in entry.fitted:
        level = find_level(entry, fitted.part, fitted.paper)
        yield _claim(entry, "fitting", fitted.part, level=level, place=fitted.place, paper=fitted.paper)
    for done in entry.serviced:
        level = find_level(entry, done.item, done.paper)
        yield _claim(entry, "service", done.item, level=level, place=done.place, paper=done.paper)
    for fix in entry.fixed:
        yield _claim(entry, "fix", fix.fault, level=find_level(entry, fix.fault, None), place=fix.place)


def _list_readings(entry: Entry) -> Iterator[Claim]:
    readings: list[tuple[str, str | None, Place]] = []
    if entry.reading is not None:
        # A reading has no paper of its own: an invoice that gives one is that of a service, below.
        readings.append((show_amount(entry.reading), None, entry.field_place("reading")))
    readings += [
        (show_amount(d.reading), d.paper, d.field_place("reading")) for d in entry.serviced if d.reading is not None
    ]
    if entry.meter_changed is not None:
        change = entry.meter_changed
        readings.append((f"{show_amount(change.old)}, then {show_amount(change.new)}", change.paper, change.place))
    for what, paper, place in readings:
        level = find_level(entry, METER, paper)
        yield _claim(entry, "reading", what, level=level, place=place, paper=paper)


def _claim(entry: Entry, kind: ClaimKind, what: str, *, level: Level, place: Place, paper: str | None = None) -> Claim:
    return Claim(
        kind=kind,
        date=entry.date,
        when=entry.date.isoformat(),
        what=what,
        level=level,
        paper=paper,
        entry=entry.name,
        place=place,
    )


def _name_order(order: Order) -> str:
    return order.supplier if order.ref is None else f"{order.supplier}, {order.ref}"


def show_amount(amount: Amount) -> str:
    """`99812 mi`, as it was written."""
    return f"{amount.value} {amount.unit}" if amount.unit else str(amount.value)


def check_shown(log: Log, parts: Collection[str]) -> Iterator[Problem]:
    """An error for each name in `shows` that leads nowhere, a warning for each that its own entry does not mention.

    `parts` are all keys and numbers by which a part can be named.
    """
    faults = {fault.fault for entry in log.entries for fault in entry.faults}
    known = {METER, *parts, *faults, *log.settings.service, *log.settings.components}
    for entry in log.entries:
        mentioned = None
        for photo in entry.photos:
            for name in photo.shows:
                # Listed when first needed: most photos back nothing, and most entries need no list.
                mentioned = mentioned or _list_mentioned(entry)
                # An unknown name is a slip, an error as everywhere. A known one may be about another day: a warning.
                if name not in known:
                    yield _report_unknown(photo, name, mentioned | {METER}, known)
                elif name not in mentioned:
                    yield _report_elsewhere(photo, name)


def _list_mentioned(entry: Entry) -> frozenset[str]:
    """Everything that a photo of this entry can show."""
    readings = (entry.reading, entry.meter_changed, *(done.reading for done in entry.serviced))
    gone: tuple[Removed | Sold | Scrapped | Returned, ...] = (
        *entry.removed, *entry.sold, *entry.scrapped, *entry.returned
    )  # fmt: skip
    about_faults: tuple[Fault | Check | Fix | SeenAgain, ...] = (
        *entry.faults, *entry.checks, *entry.fixed, *entry.seen_again
    )  # fmt: skip
    names = (
        *(line.part for order in entry.bought for line in order.lines),
        *(name for fitted in entry.fitted for name in (fitted.part, fitted.instead_of)),
        *(record.part for record in gone),
        *(tightened.part for tightened in entry.tightened),
        *(name for done in entry.serviced for name in (done.item, *done.parts, *done.looked_at)),
        *(record.fault for record in about_faults),
        *(name for fault in entry.faults for name in fault.suspects),
        *(name for check in entry.checks for name in (*check.clears, check.cause)),
    )
    return frozenset(filter(None, names)) | ({METER} if any(readings) else frozenset())


def _report_unknown(photo: Photo, name: str, near: Collection[str], known: Collection[str]) -> Problem:
    # A photo is about its own entry, so the name that was meant is sought there first.
    here = suggest(name, near)
    help = here if here.startswith("did") else suggest(name, known)
    return Problem(
        rule="unknown-shown",
        message=f"`{photo.file}` shows `{name}`, which is not a part, service item or fault in this log",
        place=photo.field_place("shows", name),
        help=help or here or "name what it backs up, or remove `shows:`; `says:` is for what can be seen in it",
    )


def _report_elsewhere(photo: Photo, name: str) -> Problem:
    message = f"`{photo.file}` shows `{name}`, but its entry does not mention that, so the picture backs nothing up"
    return Problem(
        rule="shows-elsewhere",
        message=message,
        place=photo.field_place("shows", name),
        help="list the picture in the entry that does, or name here what it backs up",
        severity="warning",
    )
