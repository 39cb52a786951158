"""The work on an entry's page: its fasteners with what they were tightened to, its faults and how each hunt goes on."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.compute.faults.faults import FaultLink
from buildlog.compute.faults.steps import STATE_WORDS
from buildlog.compute.measures.tightening import Stage, TightenedFigures
from buildlog.compute.quantities.units import Unit
from buildlog.compute.service.rechecks import RecheckDone, RecheckFigures
from buildlog.frozen import frozen
from buildlog.read.records import Entry, Fix, Tightened
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.hunt import say_names, say_outcome
from buildlog.render.pages.open_work import say_due_state
from buildlog.render.pieces import Evidence, Link


@frozen
class TightenedRow:
    """A fastener tightened to a stated value."""

    what: str
    "the fastener, as the owner calls it"
    qty: str = ""
    "empty for one"
    to: str
    "as the owner wrote it"
    also: tuple[str, ...] = ()
    "the same in other units: `16.2 lbf·ft`"
    method: str = ""
    "how it was tightened, in the owner's words"
    recheck: str = ""
    "`check again after 50 mi: overdue by 12 mi`, `checked again after 70 days and 190 mi, 140 mi late`"
    rechecked: Link | None = None
    "the entry that did"


def describe_tightened(context: PageContext, record: Tightened) -> TightenedRow:
    """One fastener, as its entry shows it."""
    figures = context.figures.tightening.tightened[record.place]
    done = figures.rechecked
    return TightenedRow(
        what=context.owner_text(record.what),
        qty="" if record.qty == 1 else context.quantity(record.qty),
        # As written, with the conversions beside it: they never replace what the owner read in a manual.
        to=context.owner_text(record.to),
        also=tuple(say_stages(context, figures.stages, unit) for unit in figures.equivalents),
        method=context.owner_text(record.method),
        recheck=_say_recheck(context, figures),
        rechecked=context.entry_link(done.entry) if done else None,
    )


def say_stages(context: PageContext, stages: tuple[Stage, ...], unit: Unit) -> str:
    """`14.8 lbf·ft + 60° + 30°`: angles and words as they are written."""
    # Angles and words have no other unit: those stages stand as they were written.
    return " + ".join(_say_stage(context, stage, unit) for stage in stages)


def _say_stage(context: PageContext, stage: Stage, unit: Unit) -> str:
    numbers = stage.join.join(context.words.written(number) for number in stage.to_unit(unit))
    return f"{numbers}\u00a0{unit.name}" if numbers else context.owner_text(stage.written)


def _say_recheck(context: PageContext, figures: TightenedFigures) -> str:
    if figures.rechecked:
        return _say_done(context, figures.rechecked)
    return _say_open(context, figures.recheck) if figures.recheck else ""


def _say_open(context: PageContext, recheck: RecheckFigures) -> str:
    """`check again after 50 mi: overdue by 12 mi`"""
    after, words = recheck.after, context.words
    if after.unit == "days":
        span = words.say_count("%(number)s day", "%(number)s days", int(after.value))
    else:
        span = words.measure(after.value, after.unit)
    return words.say("check again after %(span)s: %(state)s", span=span, state=say_due_state(context, recheck))


def _say_done(context: PageContext, done: RecheckDone) -> str:
    """`checked again after 70 days and 190 mi, 140 mi late`"""
    words = context.words
    spans = words.join([words.span(done.days), *([context.distance(done.distance)] if done.distance else [])])
    # A recheck is due by days or by distance, so at most one of the two is late.
    late = context.words.span(done.days_late) if done.days_late and done.days_late > 0 else ""
    if done.distance_late is not None and done.distance_late > 0:
        late = context.distance(done.distance_late)
    if late:
        return words.say("checked again after %(spans)s, %(late)s late", spans=spans, late=late)
    return words.say("checked again after %(spans)s", spans=spans)


@frozen
class Act:
    """One thing done: a part fitted or removed, a check, a temporary repair."""

    what: Link
    "leads to the part, the fault or the service item"
    qty: str = ""
    "empty for one"
    notes: tuple[str, ...] = ()
    "where, instead of what, why, what became of it, spec, hours: each a few words"
    evidence: Evidence | None = None
    "None: it claims nothing that could be backed"


@frozen
class FaultNeighbours:
    """One fault that an entry touches, with the way to its neighbours in the same hunt."""

    fault: Link
    "leads to `faults.html#fault-KEY`"
    state: str = ""
    "`narrowed`, as of this entry; `open, then narrowed` where the entry changed it"
    before: Link | None = None
    "the entry before about the same fault"
    after: Link | None = None
    "the entry after"


def list_named(context: PageContext, entry: Entry) -> Iterator[Act]:
    """The faults that the entry opens, or saw again."""
    say = context.words.say
    for fault in entry.faults:
        # Those that this entry names; what became of them is on the faults page.
        suspects = say_names(context, fault.suspects)
        told = say("suspects: %(names)s", names=suspects) if suspects else ""
        yield Act(what=context.fault_link(fault.fault), notes=(told,) if told else ())
    for again in entry.seen_again:
        note = say("seen again: %(note)s", note=context.owner_text(again.note)) if again.note else say("seen again")
        yield Act(what=context.fault_link(again.fault), notes=(note,))


def list_checks(context: PageContext, entry: Entry) -> Iterator[Act]:
    """The checks that were done, each leading to its hunt."""
    say = context.words.say
    for check in entry.checks:
        cleared = say_names(context, check.clears)
        notes = (
            say("clears %(names)s", names=cleared) if cleared else "",
            say("cause: %(name)s", name=context.component_name(check.cause)) if check.cause else "",
            context.words.hours(check.hours) if check.hours else "",
        )
        yield Act(what=context.fault_link(check.fault, check.did), notes=tuple(filter(None, notes)))


def list_fixed(context: PageContext, entry: Entry) -> Iterator[Act]:
    """The fixes and proofs; a fix that is not proved by the site's day, or did not hold, says so."""
    for fix in entry.fixed:
        proof = context.words.say("confirmed: %(proof)s", proof=context.owner_text(fix.proved)) if fix.proved else ""
        notes = (context.owner_text(fix.how), proof, _find_outcome(context, entry, fix))
        yield Act(what=context.fault_link(fix.fault), notes=tuple(filter(None, notes)))


def _find_outcome(context: PageContext, entry: Entry, written: Fix) -> str:
    """What became, later on, of a fix that the entry made or proved; empty where it holds as written."""
    # An old page that says "fixed" may be the first that a reader finds: it has to say what is known by now.
    fault = next(fault for fault in context.figures.faults.faults if fault.key == written.fault)
    mine = (fix for fix in fault.fixes if entry.name == (fix.proved_in if written.proved else fix.entry))
    fix = next(mine, None)
    return say_outcome(context, fault, fix) if fix and (fix.failed_on or not written.proved) else ""


def list_same_fault(context: PageContext, entry: Entry) -> Iterator[Act]:
    """The other entries about the faults that this one touches."""
    touched = {link.fault: link.name for link in _list_links(context, entry)}
    for fault in context.figures.faults.faults:
        for name in fault.entries if fault.key in touched else ():
            if name != entry.name:
                day = context.words.day(context.entries[name].date)
                # Names the fault only where there is more than one to tell apart.
                note = f"{day}, {context.owner_text(fault.name)}" if len(touched) > 1 else day
                yield Act(what=context.entry_link(name), notes=(note,))


def list_neighbours(context: PageContext, entry: Entry) -> Iterator[FaultNeighbours]:
    """The way to the neighbours in each hunt that has any."""
    for link in _list_links(context, entry):
        # A fault that this entry alone is about has no neighbours.
        if link.previous or link.next:
            yield FaultNeighbours(
                fault=context.fault_link(link.fault),
                state=_say_change(context, link),
                before=_link_entry(context, link.previous),
                after=_link_entry(context, link.next),
            )


def _list_links(context: PageContext, entry: Entry) -> tuple[FaultLink, ...]:
    return context.figures.faults.by_entry.get(entry.name, ())


def _say_change(context: PageContext, link: FaultLink) -> str:
    if link.after is None:
        return ""
    say = context.words.say
    # As of this entry, not of today, for whoever follows the hunt from entry to entry.
    if link.before is None or link.before == link.after:
        return say(STATE_WORDS[link.after])
    return say("%(before)s, then %(after)s", before=say(STATE_WORDS[link.before]), after=say(STATE_WORDS[link.after]))


def _link_entry(context: PageContext, name: str | None) -> Link | None:
    return context.entry_link(name) if name else None
