"""In what state is each fault: what can it still be, what was checked, what did it cost?

The story of each fault is read by `faults.stories`; where to look next is for `check_order`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from buildlog.arithmetic import sum_exactly
from buildlog.compute.costs.lines import CostLine
from buildlog.compute.costs.totals import CostFigures
from buildlog.compute.faults.steps import STATES, CheckFigures, FaultState, FixFigures, SightingFigures, SuspectFigures
from buildlog.compute.faults.stories import FaultStory, follow_faults
from buildlog.compute.parts.names import plain_name
from buildlog.compute.quantities.money import Money
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Entry, Log


@frozen
class FaultFigures:
    """One fault as of a day."""

    key: str
    "the owner's short name for it"
    name: str
    "the symptom, as first named; else the key in plain words"
    state: FaultState
    "how far it is on the day"
    suspects: tuple[SuspectFigures, ...]
    "in the order in which they were first suspected"
    left: tuple[str, ...]
    "keys of the suspects that are not cleared, the one found faulty among them, in the same order"
    checks: tuple[CheckFigures, ...]
    "in the order of the log"
    cause: str | None
    "key of the component found faulty; None while it is not known"
    cause_name: str | None
    "the same as shown"
    fixes: tuple[FixFigures, ...]
    "in the order of the log, those that did not hold included"
    sightings: tuple[SightingFigures, ...]
    "the times that it was seen again"
    opened: datetime.date
    "the day of the entry that first names it"
    opened_in: str
    "name of the entry that first names it"
    closed: datetime.date | None
    "the day of the proof; None: not proved"
    closed_in: str | None
    "name of the entry with the proof; None: not proved"
    days_open: int
    "days up to the proof, or to the day asked for; those between a proof and the next sighting left out"
    entries: tuple[str, ...]
    "names of the entries that touch it, in order: that name, check, fix, see it, or buy for it"
    parts_cost: Money
    "what was paid for it less what came back; home currency"
    cost_lines: tuple[CostLine, ...]
    "the lines that make it"
    check_hours: Decimal
    "stated hours of its checks; part of the own hours of their entries, never on top of them"
    checks_without_hours: int
    "how many checks do not state their hours, and so are in no total"
    place: Place
    "where it is first written of"


@frozen
class FaultLink:
    """One fault in one entry, with the way to the other entries about it."""

    fault: str
    "key"
    name: str
    "its symptom, as shown"
    before: FaultState | None
    "its state before the entry; None: this is the first that names it"
    after: FaultState | None
    "its state after the entry; None: no entry has named it yet, and this one only buys for it"
    previous: str | None
    "name of the entry before about the same fault; None: this is the first"
    next: str | None
    "name of the entry after about the same fault; None: this is the last"


@frozen
class FaultsFigures:
    """Every fault as of a day."""

    faults: tuple[FaultFigures, ...]
    "those not closed first, by state then by the day opened; then the closed ones, closed last first"
    by_entry: Mapping[str, tuple[FaultLink, ...]]
    "the faults that each entry touches, by entry name; entries that touch none are left out"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day"


def compute_faults(log: Log, as_of: datetime.date, *, costs: CostFigures) -> FaultsFigures:
    """Every fault of a log as it stood on a day, with what `costs` of that day say was bought for it.

    Raises nothing for what an owner can get wrong: that is in `problems`.
    """
    stories, problems = follow_faults(log)
    touched = _list_touching(stories, log.entries)
    nothing = Money(Decimal(0), costs.currency)
    spent = {total.key: (total.amount, total.lines) for total in costs.by_fault}
    faults = [
        _describe(story, touched[key], spent.get(key, (nothing, ())), as_of=as_of) for key, story in stories.items()
    ]
    return FaultsFigures(
        faults=tuple(sorted(faults, key=_rank)),
        by_entry=_link_entries(stories, touched, log.entries),
        problems=problems,
    )


def _rank(fault: FaultFigures) -> tuple[int, int, str]:
    # The key last, so that two faults of one day come in the same order on every page.
    if fault.closed is not None:
        return len(STATES), -fault.closed.toordinal(), fault.key
    return STATES.index(fault.state), fault.opened.toordinal(), fault.key


def _list_touching(stories: Mapping[str, FaultStory], entries: Sequence[Entry]) -> Mapping[str, tuple[str, ...]]:
    """Names of the entries that mention each fault, or buy for it, in order."""
    order = {entry.name: number for number, entry in enumerate(entries)}
    touching = {key: set(story.states) for key, story in stories.items()}
    for entry in entries:
        for line in (line for bought in entry.bought for line in bought.lines):
            # A purchase for a fault that no entry names is a problem, and is reported as one.
            if line.fault in touching:
                touching[line.fault].add(entry.name)
    return {key: tuple(sorted(names, key=order.__getitem__)) for key, names in touching.items()}


def _describe(
    story: FaultStory, entries: tuple[str, ...], spent: tuple[Money, tuple[CostLine, ...]], *, as_of: datetime.date
) -> FaultFigures:
    # A proof counts while its fix holds: seen again, the fault is open whatever was proved before.
    proof = story.fix if story.state == "proved" else None
    hours = [check.hours for check in story.checks]
    return FaultFigures(
        key=story.key,
        name=story.name or plain_name(story.key),
        state=story.state,
        suspects=tuple(story.suspects.values()),
        left=story.left,
        checks=tuple(story.checks),
        cause=story.cause,
        cause_name=story.suspects[story.cause].name if story.cause else None,
        fixes=tuple(story.fixes),
        sightings=tuple(story.sightings),
        opened=story.opened.date,
        opened_in=story.opened.name,
        closed=proof.proved_on if proof else None,
        closed_in=proof.proved_in if proof else None,
        days_open=_count_days(story, as_of),
        entries=entries,
        parts_cost=spent[0],
        cost_lines=spent[1],
        # Beside the own hours of the entries and never on top of them: they are the same hours.
        check_hours=sum_exactly(stated for stated in hours if stated is not None),
        checks_without_hours=hours.count(None),
        place=story.place,
    )


def _count_days(story: FaultStory, as_of: datetime.date) -> int:
    """Days between the first sign and the last proof, or the day asked for, less those that it seemed to be gone."""
    days, since = 0, story.opened.date
    for fix in story.fixes:
        # Only after a proof did it seem gone. A fix that was never proved left the fault open until it was seen again.
        if fix.proved_on is not None and fix.failed_on is not None:
            days += (fix.proved_on - since).days
            since = fix.failed_on
    proof = story.fix.proved_on if story.fix else None
    return days + ((proof or as_of) - since).days


def _link_entries(
    stories: Mapping[str, FaultStory], touched: Mapping[str, tuple[str, ...]], entries: Sequence[Entry]
) -> Mapping[str, tuple[FaultLink, ...]]:
    links: dict[str, list[FaultLink]] = {}
    for key, story in stories.items():
        for link, name in zip(_link(story, touched[key]), touched[key], strict=True):
            links.setdefault(name, []).append(link)
    return {entry.name: tuple(links[entry.name]) for entry in entries if entry.name in links}


def _link(story: FaultStory, names: tuple[str, ...]) -> Iterator[FaultLink]:
    before: FaultState | None = None
    for previous, name, then in zip((None, *names), names, (*names[1:], None), strict=False):
        # An entry that only buys for the fault changes nothing about it.
        after = story.states.get(name, before)
        yield FaultLink(
            fault=story.key,
            name=story.name or plain_name(story.key),
            before=before,
            after=after,
            previous=previous,
            next=then,
        )
        before = after
