"""What an entry's page says of faults: named, checked, fixed in it, and where each hunt goes on."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.reckon.faults.faults import FaultLink
from buildlog.site.pages.edition import Edition
from buildlog.site.pages.hunt import say_fate, say_names
from buildlog.site.pieces import Link
from buildlog.site.view_entry import Act, FaultTurn
from buildlog.source.records import Entry, Fix


def list_named(edition: Edition, entry: Entry) -> Iterator[Act]:
    """The faults that the entry opens, or saw again."""
    for fault in entry.faults:
        suspects = say_names(edition, fault.suspects)
        yield Act(what=edition.fault_link(fault.fault), notes=(f"suspects: {suspects}",) if suspects else ())
    for again in entry.seen_again:
        note = f"seen again: {edition.said(again.note)}" if again.note else "seen again"
        yield Act(what=edition.fault_link(again.fault), notes=(note,))


def list_checks(edition: Edition, entry: Entry) -> Iterator[Act]:
    """The checks that were done, each leading to its hunt."""
    for check in entry.checks:
        cleared = say_names(edition, check.clears)
        notes = (
            cleared and f"clears {cleared}",
            f"cause: {edition.component_name(check.cause)}" if check.cause else "",
            edition.words.hours(check.hours) if check.hours else "",
        )
        yield Act(what=edition.fault_link(check.fault, check.did), notes=tuple(filter(None, notes)))


def list_fixed(edition: Edition, entry: Entry) -> Iterator[Act]:
    """The fixes and proofs; a fix that is not proved by the site's day, or did not hold, says so."""
    for fix in entry.fixed:
        proof = f"proved: {edition.said(fix.proved)}" if fix.proved else ""
        notes = (edition.said(fix.how), proof, _find_fate(edition, entry, fix))
        yield Act(what=edition.fault_link(fix.fault), notes=tuple(filter(None, notes)))


def _find_fate(edition: Edition, entry: Entry, told: Fix) -> str:
    """What became, later on, of a fix that the entry made or proved; empty where it holds as told."""
    fault = next(fault for fault in edition.figures.faults.faults if fault.key == told.fault)
    mine = (fix for fix in fault.fixes if entry.name == (fix.proved_in if told.proved else fix.entry))
    fix = next(mine, None)
    return say_fate(edition, fault, fix) if fix and (fix.failed_on or not told.proved) else ""


def list_same_fault(edition: Edition, entry: Entry) -> Iterator[Act]:
    """The other entries about the faults that this one touches."""
    touched = {link.fault: link.name for link in _list_links(edition, entry)}
    for fault in edition.figures.faults.faults:
        for name in fault.entries if fault.key in touched else ():
            if name != entry.name:
                day = edition.words.day(edition.entries[name].date)
                note = f"{day}, {edition.said(fault.name)}" if len(touched) > 1 else day
                yield Act(what=edition.entry_link(name), notes=(note,))


def list_turns(edition: Edition, entry: Entry) -> Iterator[FaultTurn]:
    """The way to the neighbours in each hunt that has any."""
    for link in _list_links(edition, entry):
        if link.previous or link.next:
            yield FaultTurn(
                fault=edition.fault_link(link.fault),
                state=_say_change(link),
                before=_turn(edition, link.previous),
                after=_turn(edition, link.next),
            )


def _list_links(edition: Edition, entry: Entry) -> tuple[FaultLink, ...]:
    return edition.figures.faults.by_entry.get(entry.name, ())


def _say_change(link: FaultLink) -> str:
    if link.before is None or link.before == link.after:
        return link.after or ""
    return f"{link.before}, then {link.after}"


def _turn(edition: Edition, name: str | None) -> Link | None:
    return edition.entry_link(name) if name else None
