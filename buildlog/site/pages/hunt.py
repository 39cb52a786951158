"""One fault's hunt in readers' words: what is known of each suspect, what happened in order, where to look next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from buildlog.reckon.faults.faults import FaultFigures
from buildlog.reckon.faults.look_next import LookFigures, LookStep
from buildlog.reckon.faults.steps import CheckFigures, FaultState, FixFigures, SightingFigures, SuspectFigures
from buildlog.site.pages.costs import describe_lines
from buildlog.site.pages.edition import Edition
from buildlog.site.pieces import Fact, FaultMark, Sum
from buildlog.site.view_faults import FaultView, LookRow, LookView, StoryRow, SuspectRow
from buildlog.site.words import count, join_words
from buildlog.source.records import Entry

MARKS: dict[FaultState, FaultMark] = {
    "open": "open",
    "narrowed": "narrowed",
    "cause known": "known",
    "fixed, not proved": "unproved",
    "proved": "proved",
}
"The theme's names of the states."


def describe_fault(edition: Edition, fault: FaultFigures, look: LookFigures | None) -> FaultView:
    """The finished story of one fault."""
    suspects = [(suspect, _describe_suspect(edition, suspect)) for suspect in fault.suspects]
    return FaultView(
        key=fault.key,
        name=edition.said(fault.name),
        state=MARKS[fault.state],
        state_text=say_state(fault),
        facts=tuple(_list_facts(edition, fault)),
        now=_say_now(fault),
        cause=next((row for suspect, row in suspects if suspect.key == fault.cause), None),
        left=tuple(row for suspect, row in suspects if suspect.key in fault.left and suspect.key != fault.cause),
        cleared=tuple(row for suspect, row in suspects if suspect.key not in fault.left),
        look=_describe_look(edition, look) if look else None,
        story=tuple(row for name in fault.entries for row in _list_rows(edition, fault, edition.entries[name])),
        cost=_sum_cost(edition, fault),
        entries=tuple(edition.entry_link(name) for name in fault.entries),
    )


def say_state(fault: FaultFigures) -> str:
    """`open, 3 suspects`, `narrowed, 2 of 11 left`; a fix without a proof never reads as closed."""
    if fault.state not in ("open", "narrowed"):
        return fault.state
    word = "came back" if any(fix.failed_on for fix in fault.fixes) else fault.state
    left, of = len(fault.left), len(fault.suspects)
    if not of:
        return f"{word}, no suspect named"
    return f"{word}, {count(of, 'suspect')}" if left == of else f"{word}, {left} of {of} left"


def _say_now(fault: FaultFigures) -> str:
    if fault.state == "cause known":
        return "The cause is known. It waits for its fix."
    if fault.state == "fixed, not proved":
        return "A fix is in, and nothing has proved it yet: until then the fault counts as open."
    if fault.state != "proved" and not fault.suspects:
        return "No suspect has been named yet."
    if fault.state != "proved" and not fault.left:
        return "Every suspect is cleared and no cause is known: something is missing from the list of suspects."
    return ""


def _list_facts(edition: Edition, fault: FaultFigures) -> Iterator[Fact]:
    yield Fact(name="open for" if fault.closed else "open", value=count(fault.days_open, "day"))
    if fault.checks:
        yield Fact(name="checks", value=str(len(fault.checks)))
    if fault.check_hours:
        missing = fault.checks_without_hours
        note = f"and {count(missing, 'check')} without stated hours" if missing else ""
        yield Fact(name="checking", value=edition.words.hours(fault.check_hours), note=note)
    cost = edition.money(fault.parts_cost) if fault.parts_cost else ""
    if cost:
        yield Fact(name="cost", value=cost)


def _sum_cost(edition: Edition, fault: FaultFigures) -> Sum | None:
    amount = edition.money(fault.parts_cost)
    if not amount or not fault.cost_lines:
        return None
    return Sum(name="Bought for it", amount=amount, lines=describe_lines(edition, fault.cost_lines))


def _describe_suspect(edition: Edition, suspect: SuspectFigures) -> SuspectRow:
    return SuspectRow(
        name=edition.said(suspect.name),
        verdict=suspect.verdict,
        note=f"driven by {edition.component_name(suspect.group)}" if suspect.group else "",
        by=edition.said(suspect.judged_by),
        when=edition.when(suspect.judged_on) if suspect.judged_on else None,
        entry=edition.entry_link(suspect.judged_in) if suspect.judged_in else None,
    )


# ---------------------------------------------------------------------------------------------------- the story


def _list_rows(edition: Edition, fault: FaultFigures, entry: Entry) -> Iterator[StoryRow]:
    """What one entry tells of a fault, in the order in which it counts."""
    yield from (_tell_sighting(edition, seen) for seen in fault.sightings if seen.entry == entry.name)
    yield from _tell_named(edition, fault, entry)
    yield from (_tell_check(edition, check) for check in fault.checks if check.entry == entry.name)
    yield from _tell_bought(edition, fault, entry)
    for fix in fault.fixes:
        if fix.entry == entry.name:
            yield _tell_fix(edition, fault, fix)
        if fix.proved_in == entry.name != fix.entry and fix.proved_on:
            link = edition.entry_link(entry.name)
            yield StoryRow(when=edition.when(fix.proved_on), did="Proved", what=edition.said(fix.proved), entry=link)


def _tell_named(edition: Edition, fault: FaultFigures, entry: Entry) -> Iterator[StoryRow]:
    first = entry.name == fault.opened_in
    suspects = [key for named in entry.faults if named.fault == fault.key for key in named.suspects]
    if first or suspects:
        yield StoryRow(
            when=edition.when(entry.date),
            did="Named" if first else "Suspected",
            what=say_names(edition, suspects) if suspects else "no suspect yet",
            entry=edition.entry_link(entry.name),
        )


def say_names(edition: Edition, keys: Iterable[str]) -> str:
    """Components by name; one that drives others with all that it drives."""
    groups = {component.driven_by for component in edition.figures.log.settings.components.values()}
    return ", ".join(edition.component_name(key) + (" and what it drives" if key in groups else "") for key in keys)


def _tell_bought(edition: Edition, fault: FaultFigures, entry: Entry) -> Iterator[StoryRow]:
    names = edition.figures.parts.story.names.lines
    lines = [line for order in entry.bought for line in order.lines if line.fault == fault.key]
    if lines:
        parts = [names.get(line.place) for line in lines]
        what = [
            edition.part_link(part).text if part else edition.said(line.name or line.what) or "a line"
            for line, part in zip(lines, parts, strict=True)
        ]
        yield StoryRow(
            when=edition.when(entry.date),
            did="Bought for it",
            what=join_words(what),
            entry=edition.entry_link(entry.name),
        )


def _tell_sighting(edition: Edition, seen: SightingFigures) -> StoryRow:
    return StoryRow(
        when=edition.when(seen.date),
        did="Seen again",
        what=edition.said(seen.note),
        found=("the fix before it did not hold",) if seen.reopened else (),
        entry=edition.entry_link(seen.entry),
    )


def _tell_check(edition: Edition, check: CheckFigures) -> StoryRow:
    cleared = join_words([edition.component_name(key) for key in check.clears])
    found = (
        f"cleared {cleared}" if cleared else "",
        f"the cause: {edition.component_name(check.cause)}" if check.cause else "",
    )
    return StoryRow(
        when=edition.when(check.date),
        did="Checked",
        what=edition.said(check.did),
        found=tuple(filter(None, found)) or ("cleared nothing",),
        left=f"{check.left} left",
        hours=edition.words.hours(check.hours) if check.hours is not None else "",
        entry=edition.entry_link(check.entry),
    )


def _tell_fix(edition: Edition, fault: FaultFigures, fix: FixFigures) -> StoryRow:
    return StoryRow(
        when=edition.when(fix.date),
        did="Fixed",
        what=edition.said(fix.how) or "how is not written",
        found=tuple(_list_fates(edition, fault, fix)),
        entry=edition.entry_link(fix.entry),
    )


def _list_fates(edition: Edition, fault: FaultFigures, fix: FixFigures) -> Iterator[str]:
    proved_at_once = fix.proved_in == fix.entry
    if proved_at_once:
        yield f"proved: {edition.said(fix.proved)}"
    if fix.failed_on or not proved_at_once:
        yield say_fate(edition, fault, fix)


def say_fate(edition: Edition, fault: FaultFigures, fix: FixFigures) -> str:
    """What became of a fix after the entry that made it, or proved it."""
    if fix.failed_on:
        return f"did not hold: seen again on {edition.words.day(fix.failed_on)}"
    if fix.proved_on:
        return f"proved on {edition.words.day(fix.proved_on)}"
    return "not proved yet" if fix == fault.fixes[-1] else "not proved, another fix followed"


# ---------------------------------------------------------------------------------------------------- what is next


def _describe_look(edition: Edition, look: LookFigures) -> LookView:
    return LookView(
        rows=tuple(_describe_step(edition, look, step) for step in look.steps),
        expected=edition.words.hours(look.expected_hours) if look.steps else "",
        notes=tuple(_list_limits(edition, look)),
    )


def _describe_step(edition: Edition, look: LookFigures, step: LookStep) -> LookRow:
    words = edition.words
    likely, chances = words.number(step.likely), words.number(look.chances)
    way = ", then ".join(map(edition.said, step.takes_off_names))
    return LookRow(
        name=edition.said(step.name),
        reason=f"clears {likely} of {chances} chances for {words.hours(step.hours)}",
        first=f"of which {words.hours(step.strip_hours)} to get there: {way}" if way else "",
        so_far=words.hours(step.hours_so_far),
    )


def _list_limits(edition: Edition, look: LookFigures) -> Iterator[str]:
    if not look.exact:
        yield (
            "A better order may exist: the strip-downs depend on each other in more ways than can all be tried. "
            "This is the best of those that were."
        )
    if look.no_hours:
        names = join_words([edition.component_name(key) for key in look.no_hours])
        yield f"Not in the order, as no hours are stated for the check: {names}."
