"""One fault's hunt in readers' words: what is known of each suspect, what happened in order, where to look next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Literal

from buildlog.compute.faults.check_order import CheckOrder, CheckStep
from buildlog.compute.faults.faults import FaultFigures
from buildlog.compute.faults.steps import (
    STATE_WORDS,
    CheckFigures,
    FaultState,
    FixFigures,
    SightingFigures,
    SuspectFigures,
)
from buildlog.frozen import frozen
from buildlog.read.records import Entry
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.cost_tables import describe_lines
from buildlog.render.pages.hunt_drawn import Branch, ThreadsView, draw_threads, draw_tree
from buildlog.render.pieces import Fact, FaultMark, Link, Sum, When
from buildlog.text import count, join_words


@frozen
class SuspectRow:
    """One component that may cause a fault, and what is known of it."""

    name: str
    "`Lift pump`"
    verdict: Literal["left", "cleared", "condemned"]
    "`condemned`: it is the cause"
    note: str = ""
    "`driven by Fan belt`; empty: suspected by itself"
    by: str = ""
    "the check that cleared or condemned it, in its own words; empty: it is left"
    when: When | None = None
    "when that was"
    entry: Link | None = None
    "the entry with that check"


@frozen
class StoryRow:
    """One thing that happened in a hunt."""

    when: When
    "the entry's day"
    did: str
    "`Fault reported`, `Suspected`, `Bought for it`, `Checked`, `Fixed`, `Confirmed`, `Seen again`"
    what: str = ""
    "in the owner's words"
    found: tuple[str, ...] = ()
    "what followed from it: `cleared Return hose`, `cause: Lift pump`, `not confirmed yet`, `did not hold`"
    left: str = ""
    "suspects left after it: `4 left`"
    hours: str = ""
    "of a check; empty: none stated"
    entry: Link
    "the entry that it is in"


@frozen
class CheckRow:
    """One suspect to check, in the best order."""

    name: str
    "the suspect"
    reason: str
    "`3-in-11 likely, 0.1 h to check`"
    first: str = ""
    "`of which 2.2 h to get there: Battery and battery tray, then Pump side cover`; empty: nothing is in the way"
    so_far: str = ""
    "hours of this step and all before"


@frozen
class CheckOrderView:
    """Where to look next for one fault."""

    rows: tuple[CheckRow, ...] = ()
    "best first"
    expected: str = ""
    "`3.9 h`: the average time to find the cause; empty: no suspect can be ordered"
    tree: tuple[Branch, ...] = ()
    "what has to come off, with the suspects behind it in the same numbers; empty: nothing has to"
    notes: tuple[str, ...] = ()
    "its limits: there may be a better order; suspects without stated hours"


@frozen
class FaultView:
    """One fault and its whole story."""

    key: str
    "its anchor is `fault-KEY`"
    name: str
    "the symptom"
    state: FaultMark
    "chooses the mark"
    state_text: str
    "as `say_state` words it"
    facts: tuple[Fact, ...] = ()
    "for the margin: days, checks, their hours, cost; each a few characters"
    now: str = ""
    "what it waits for, one sentence; empty where `look` says it"
    cause: SuspectRow | None = None
    "the condemned component; None: not known"
    left: tuple[SuspectRow, ...] = ()
    "neither cleared nor condemned"
    cleared: tuple[SuspectRow, ...] = ()
    "ruled out by a check"
    narrowed: ThreadsView = ThreadsView()
    "the suspects as threads that end where they were cleared"
    look: CheckOrderView | None = None
    "None: the cause is known, or nothing is left"
    story: tuple[StoryRow, ...] = ()
    "oldest first"
    cost: Sum | None = None
    "what was bought for it, with its lines where prices are shown; None: nothing, or money is hidden"
    entries: tuple[Link, ...] = ()
    "those that touch it, in order"


MARKS: dict[FaultState, FaultMark] = {
    "open": "open",
    "narrowed": "narrowed",
    "cause known": "known",
    "fixed, not proved": "unproved",
    "proved": "proved",
}
"The theme's names of the states."


def describe_fault(context: PageContext, fault: FaultFigures, look: CheckOrder | None) -> FaultView:
    """The finished story of one fault."""
    # Sorted out here, so that templates only list them.
    suspects = [(suspect, _describe_suspect(context, suspect)) for suspect in fault.suspects]
    return FaultView(
        key=fault.key,
        name=context.owner_text(fault.name),
        state=MARKS[fault.state],
        state_text=say_state(fault),
        facts=tuple(_list_facts(context, fault)),
        now=_say_now(fault),
        cause=next((row for suspect, row in suspects if suspect.key == fault.cause), None),
        # The cause was never cleared, and so counts as left; it has its own place on the page.
        left=tuple(row for suspect, row in suspects if suspect.key in fault.left and suspect.key != fault.cause),
        cleared=tuple(row for suspect, row in suspects if suspect.key not in fault.left),
        narrowed=draw_threads(context, fault),
        look=_describe_look(context, look) if look else None,
        story=tuple(row for name in fault.entries for row in _list_rows(context, fault, context.entries[name])),
        cost=_sum_cost(context, fault),
        entries=tuple(context.entry_link(name) for name in fault.entries),
    )


MOST_DRAWN = 60
"Suspects that are drawn on a page of many faults, of some 250 bytes each; the lists have all of them."


def draw_some(faults: Iterable[FaultView]) -> list[FaultView]:
    """The same faults with drawings of those that come first, as far as the page may grow."""
    left, found = MOST_DRAWN, list[FaultView]()
    for fault in faults:
        drawn = len(fault.narrowed.threads) + (len(fault.look.rows) if fault.look and fault.look.tree else 0)
        left -= drawn
        if drawn and left < 0:
            look = replace(fault.look, tree=()) if fault.look else None
            found.append(replace(fault, narrowed=ThreadsView(), look=look))
        else:
            found.append(fault)
    return found


def say_state(fault: FaultFigures) -> str:
    """`open, 3 suspects`, `narrowed, 2 of 11 left`; a fix without a proof never reads as closed."""
    if fault.state not in ("open", "narrowed"):
        return STATE_WORDS[fault.state]
    # Open again after a fix is worse news than open, and a reader should see it at once.
    word = "came back" if any(fix.failed_on for fix in fault.fixes) else STATE_WORDS[fault.state]
    left, of = len(fault.left), len(fault.suspects)
    if not of:
        return f"{word}, no suspects yet"
    return f"{word}, {count(of, 'suspect')}" if left == of else f"{word}, {left} of {of} left"


def _say_now(fault: FaultFigures) -> str:
    if fault.state == "cause known":
        return "The cause is known, but not fixed yet."
    if fault.state == "fixed, not proved":
        return "A fix is in, but nothing has confirmed it yet. Until then the fault counts as open."
    if fault.state != "proved" and not fault.suspects:
        return "No suspects have been named yet."
    # A dead end: something was cleared by mistake, or was never suspected.
    if fault.state != "proved" and not fault.left:
        return (
            "Every suspect has been cleared and the cause is still unknown: "
            "something is missing from the list of suspects."
        )
    return ""


def _list_facts(context: PageContext, fault: FaultFigures) -> Iterator[Fact]:
    yield Fact(name="open for" if fault.closed else "open", value=context.words.span(fault.days_open))
    if fault.checks:
        yield Fact(name="checks", value=str(len(fault.checks)))
    if fault.check_hours:
        # Without the note, the hours would be taken for all the time that went into it.
        missing = fault.checks_without_hours
        note = f"and {count(missing, 'check')} without stated hours" if missing else ""
        yield Fact(name="checking", value=context.words.hours(fault.check_hours), note=note)
    cost = context.total_money(fault.parts_cost, fault.cost_lines) if fault.parts_cost else ""
    if cost:
        yield Fact(name="cost", value=cost)


def _sum_cost(context: PageContext, fault: FaultFigures) -> Sum | None:
    amount = context.total_money(fault.parts_cost, fault.cost_lines)
    if not amount or not fault.cost_lines:
        return None
    return Sum(name="Bought for it", amount=amount, lines=describe_lines(context, fault.cost_lines))


def _describe_suspect(context: PageContext, suspect: SuspectFigures) -> SuspectRow:
    return SuspectRow(
        name=context.owner_text(suspect.name),
        verdict=suspect.verdict,
        note=f"driven by {context.component_name(suspect.group)}" if suspect.group else "",
        by=context.owner_text(suspect.judged_by),
        when=context.when(suspect.judged_on) if suspect.judged_on else None,
        entry=context.entry_link(suspect.judged_in) if suspect.judged_in else None,
    )


# ---------------------------------------------------------------------------------------------------- the story


def _list_rows(context: PageContext, fault: FaultFigures, entry: Entry) -> Iterator[StoryRow]:
    """What one entry has on a fault, in the order in which it counts."""
    # Seen again comes first, as it does for the states: it reopens the fault that the rest of the day is about.
    yield from (_describe_sighting(context, seen) for seen in fault.sightings if seen.entry == entry.name)
    yield from _describe_named(context, fault, entry)
    yield from (_describe_check(context, check) for check in fault.checks if check.entry == entry.name)
    yield from _describe_bought(context, fault, entry)
    for fix in fault.fixes:
        if fix.entry == entry.name:
            yield _describe_fix(context, fault, fix)
        # A fix confirmed in its own entry says so itself.
        if fix.proved_in == entry.name != fix.entry and fix.proved_on:
            link = context.entry_link(entry.name)
            yield StoryRow(
                when=context.when(fix.proved_on), did="Confirmed", what=context.owner_text(fix.proved), entry=link
            )


def _describe_named(context: PageContext, fault: FaultFigures, entry: Entry) -> Iterator[StoryRow]:
    first = entry.name == fault.opened_in
    suspects = [key for named in entry.faults if named.fault == fault.key for key in named.suspects]
    if first or suspects:
        yield StoryRow(
            when=context.when(entry.date),
            did="Fault reported" if first else "Suspected",
            what=say_names(context, suspects) if suspects else "no suspects yet",
            entry=context.entry_link(entry.name),
        )


def say_names(context: PageContext, keys: Iterable[str]) -> str:
    """Components by name; one that drives others with all that it drives."""
    # A suspected shaft stands for all that it drives, which its own name does not say.
    groups = {component.driven_by for component in context.figures.log.settings.components.values()}
    return ", ".join(context.component_name(key) + (" and what it drives" if key in groups else "") for key in keys)


def _describe_bought(context: PageContext, fault: FaultFigures, entry: Entry) -> Iterator[StoryRow]:
    names = context.figures.parts.story.names.lines
    # Parts that did not help are listed too: they are part of what the fault cost.
    lines = [line for order in entry.bought for line in order.lines if line.fault == fault.key]
    if lines:
        parts = [names.get(line.place) for line in lines]
        what = [
            context.part_link(part).text if part else context.item_name(line.name or line.what or line.number)
            for line, part in zip(lines, parts, strict=True)
        ]
        yield StoryRow(
            when=context.when(entry.date),
            did="Bought for it",
            what=join_words(what),
            entry=context.entry_link(entry.name),
        )


def _describe_sighting(context: PageContext, seen: SightingFigures) -> StoryRow:
    return StoryRow(
        when=context.when(seen.date),
        did="Seen again",
        what=context.owner_text(seen.note),
        found=("the last fix did not hold",) if seen.reopened else (),
        entry=context.entry_link(seen.entry),
    )


def _describe_check(context: PageContext, check: CheckFigures) -> StoryRow:
    cleared = join_words([context.component_name(key) for key in check.clears])
    found = (
        f"cleared {cleared}" if cleared else "",
        f"the cause: {context.component_name(check.cause)}" if check.cause else "",
    )
    return StoryRow(
        when=context.when(check.date),
        did="Checked",
        what=context.owner_text(check.did),
        # Worth a line as well: it need not be done again.
        found=tuple(filter(None, found)) or ("cleared nothing",),
        left=f"{check.left} left",
        hours=context.words.hours(check.hours) if check.hours is not None else "",
        entry=context.entry_link(check.entry),
    )


def _describe_fix(context: PageContext, fault: FaultFigures, fix: FixFigures) -> StoryRow:
    return StoryRow(
        when=context.when(fix.date),
        did="Fixed",
        what=context.owner_text(fix.how) or "no details given",
        found=tuple(_list_outcomes(context, fault, fix)),
        entry=context.entry_link(fix.entry),
    )


def _list_outcomes(context: PageContext, fault: FaultFigures, fix: FixFigures) -> Iterator[str]:
    proved_at_once = fix.proved_in == fix.entry
    if proved_at_once:
        yield f"confirmed: {context.owner_text(fix.proved)}"
    if fix.failed_on or not proved_at_once:
        yield say_outcome(context, fault, fix)


def say_outcome(context: PageContext, fault: FaultFigures, fix: FixFigures) -> str:
    """What became of a fix after the entry that made it, or proved it."""
    # Before the proof: what was confirmed and came back was not fixed.
    if fix.failed_on:
        return f"did not hold: seen again on {context.words.day(fix.failed_on)}"
    if fix.proved_on:
        return f"confirmed on {context.words.day(fix.proved_on)}"
    # A proof is always of the last fix.
    return "not confirmed yet" if fix == fault.fixes[-1] else "not confirmed; another fix followed"


# ---------------------------------------------------------------------------------------------------- what is next


def _describe_look(context: PageContext, look: CheckOrder) -> CheckOrderView:
    return CheckOrderView(
        rows=tuple(_describe_step(context, look, step) for step in look.steps),
        expected=context.words.hours(look.about_hours) if look.steps else "",
        tree=draw_tree(context, look),
        notes=tuple(_list_limits(context, look)),
    )


def _describe_step(context: PageContext, look: CheckOrder, step: CheckStep) -> CheckRow:
    words = context.words
    # As `log.yaml` has them, no percentages: they are guesses, and a percentage would look measured.
    likely, chances = words.number(step.likely), words.number(look.chances)
    way = ", then ".join(map(context.owner_text, step.takes_off_names))
    return CheckRow(
        name=context.owner_text(step.name),
        reason=f"{likely}-in-{chances} likely, {words.hours(step.hours)} to check",
        first=f"of which {words.hours(step.strip_hours)} to get there: {way}" if way else "",
        so_far=words.hours(step.hours_so_far),
    )


def _list_limits(context: PageContext, look: CheckOrder) -> Iterator[str]:
    # Not an error, as the order is a good one; but the page never claims more than was found out.
    if not look.exact:
        yield (
            "There may be a better order: these strip-downs can be combined in too many ways to try them all. "
            "This is the best of those tried."
        )
    # Named, as a reader would otherwise believe that they were ruled out.
    if look.no_hours:
        names = join_words([context.component_name(key) for key in look.no_hours])
        yield f"Left out, because no time is given for the check: {names}."
