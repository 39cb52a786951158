"""One fault's hunt in readers' words: what is known of each suspect, and what happened in order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Literal

from buildlog.compute.faults.check_order import CheckOrder
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
from buildlog.render.language import Words
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.cost_tables import describe_lines
from buildlog.render.pages.hunt_drawn import ThreadsView, draw_threads
from buildlog.render.pages.hunt_next import CheckOrderView, describe_look
from buildlog.render.pieces import Fact, FaultMark, Link, Sum, When


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
        state_text=say_state(context.words, fault),
        facts=tuple(_list_facts(context, fault)),
        now=_say_now(context.words, fault),
        cause=next((row for suspect, row in suspects if suspect.key == fault.cause), None),
        # The cause was never cleared, and so counts as left; it has its own place on the page.
        left=tuple(row for suspect, row in suspects if suspect.key in fault.left and suspect.key != fault.cause),
        cleared=tuple(row for suspect, row in suspects if suspect.key not in fault.left),
        narrowed=draw_threads(context, fault),
        look=describe_look(context, look) if look else None,
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


def say_state(words: Words, fault: FaultFigures) -> str:
    """`open, 3 suspects`, `narrowed, 2 of 11 left`; a fix without a proof never reads as closed."""
    if fault.state not in ("open", "narrowed"):
        return words.say(STATE_WORDS[fault.state])
    # Open again after a fix is worse news than open, and a reader should see it at once.
    again = any(fix.failed_on for fix in fault.fixes)
    # TRANSLATORS: of a fault that was fixed
    state = words.say("came back") if again else words.say(STATE_WORDS[fault.state])
    left, of = len(fault.left), len(fault.suspects)
    if not of:
        return words.say("%(state)s, no suspects yet", state=state)
    if left == of:
        return words.say_count("%(state)s, %(number)s suspect", "%(state)s, %(number)s suspects", of, state=state)
    return words.say_count(
        "%(state)s, %(number)s of %(all)s left", "%(state)s, %(number)s of %(all)s left", left, state=state, all=of
    )


def _say_now(words: Words, fault: FaultFigures) -> str:
    if fault.state == "cause known":
        return words.say("The cause is known, but not fixed yet.")
    if fault.state == "fixed, not proved":
        return words.say("A fix is in, but nothing has confirmed it yet. Until then the fault counts as open.")
    if fault.state != "proved" and not fault.suspects:
        return words.say("No suspects have been named yet.")
    # A dead end: something was cleared by mistake, or was never suspected.
    if fault.state != "proved" and not fault.left:
        return words.say(
            "Every suspect has been cleared and the cause is still unknown: "
            "something is missing from the list of suspects."
        )
    return ""


def _list_facts(context: PageContext, fault: FaultFigures) -> Iterator[Fact]:
    words = context.words
    # TRANSLATORS: how long a fault was open, or is: the time stands beside it
    yield Fact(name=words.say("open for") if fault.closed else words.say("open"), value=words.span(fault.days_open))
    if fault.checks:
        yield Fact(name=words.say("checks"), value=str(len(fault.checks)))
    if fault.check_hours:
        # Without the note, the hours would be taken for all the time that went into it.
        missing = words.say_count(
            "plus %(number)s check with no time given",
            "plus %(number)s checks with no time given",
            fault.checks_without_hours,
        )
        note = missing if fault.checks_without_hours else ""
        # TRANSLATORS: hours spent on checks
        yield Fact(name=words.say("checking"), value=words.hours(fault.check_hours), note=note)
    cost = context.total_money(fault.parts_cost, fault.cost_lines) if fault.parts_cost else ""
    if cost:
        yield Fact(name=words.say("cost"), value=cost)


def _sum_cost(context: PageContext, fault: FaultFigures) -> Sum | None:
    amount = context.total_money(fault.parts_cost, fault.cost_lines)
    if not amount or not fault.cost_lines:
        return None
    return Sum(name=context.words.say("Bought for it"), amount=amount, lines=describe_lines(context, fault.cost_lines))


def _describe_suspect(context: PageContext, suspect: SuspectFigures) -> SuspectRow:
    words = context.words
    return SuspectRow(
        name=context.owner_text(suspect.name),
        verdict=suspect.verdict,
        note=words.say("driven by %(name)s", name=context.component_name(suspect.group)) if suspect.group else "",
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
            yield StoryRow(
                when=context.when(fix.proved_on),
                did=context.words.say("Confirmed"),
                what=context.owner_text(fix.proved),
                entry=context.entry_link(entry.name),
            )


def _describe_named(context: PageContext, fault: FaultFigures, entry: Entry) -> Iterator[StoryRow]:
    first = entry.name == fault.opened_in
    suspects = [key for named in entry.faults if named.fault == fault.key for key in named.suspects]
    if first or suspects:
        say = context.words.say
        yield StoryRow(
            when=context.when(entry.date),
            did=say("Fault reported") if first else say("Suspected"),
            what=say_names(context, suspects) if suspects else say("no suspects yet"),
            entry=context.entry_link(entry.name),
        )


def say_names(context: PageContext, keys: Iterable[str]) -> str:
    """Components by name; one that drives others with all that it drives."""
    # A suspected shaft stands for all that it drives, which its own name does not say.
    groups = {component.driven_by for component in context.figures.log.settings.components.values()}
    names = [(key, context.component_name(key)) for key in keys]
    say = context.words.say
    # TRANSLATORS: a shaft or belt that may be faulty, and what it turns
    return ", ".join(say("%(name)s and what it drives", name=name) if key in groups else name for key, name in names)


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
            did=context.words.say("Bought for it"),
            what=context.words.join(what),
            entry=context.entry_link(entry.name),
        )


def _describe_sighting(context: PageContext, seen: SightingFigures) -> StoryRow:
    return StoryRow(
        when=context.when(seen.date),
        did=context.words.say("Seen again"),
        what=context.owner_text(seen.note),
        found=(context.words.say("the last fix did not hold"),) if seen.reopened else (),
        entry=context.entry_link(seen.entry),
    )


def _describe_check(context: PageContext, check: CheckFigures) -> StoryRow:
    words = context.words
    cleared = words.join([context.component_name(key) for key in check.clears])
    found = (
        words.say("cleared %(names)s", names=cleared) if cleared else "",
        words.say("the cause: %(name)s", name=context.component_name(check.cause)) if check.cause else "",
    )
    return StoryRow(
        when=context.when(check.date),
        did=words.say("Checked"),
        what=context.owner_text(check.did),
        # Worth a line as well: it need not be done again.
        found=tuple(filter(None, found)) or (words.say("cleared nothing"),),
        # TRANSLATORS: suspects that nothing has cleared
        left=words.say_count("%(number)s left", "%(number)s left", check.left),
        hours=words.hours(check.hours) if check.hours is not None else "",
        entry=context.entry_link(check.entry),
    )


def _describe_fix(context: PageContext, fault: FaultFigures, fix: FixFigures) -> StoryRow:
    return StoryRow(
        when=context.when(fix.date),
        did=context.words.say("Fixed"),
        what=context.owner_text(fix.how) or context.words.say("no details given"),
        found=tuple(_list_outcomes(context, fault, fix)),
        entry=context.entry_link(fix.entry),
    )


def _list_outcomes(context: PageContext, fault: FaultFigures, fix: FixFigures) -> Iterator[str]:
    proved_at_once = fix.proved_in == fix.entry
    if proved_at_once:
        yield context.words.say("confirmed: %(proof)s", proof=context.owner_text(fix.proved))
    if fix.failed_on or not proved_at_once:
        yield say_outcome(context, fault, fix)


def say_outcome(context: PageContext, fault: FaultFigures, fix: FixFigures) -> str:
    """What became of a fix after the entry that made it, or proved it."""
    words = context.words
    # Before the proof: what was confirmed and came back was not fixed.
    if fix.failed_on:
        return words.say("did not hold: seen again on %(day)s", day=words.day(fix.failed_on))
    if fix.proved_on:
        return words.say("confirmed on %(day)s", day=words.day(fix.proved_on))
    # A proof is always of the last fix.
    if fix == fault.fixes[-1]:
        return words.say("not confirmed yet")
    return words.say("not confirmed; another fix followed")
