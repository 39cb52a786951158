"""What do the entries say of each fault, step by step, and where do they contradict each other?

What follows for a day, in money, hours and links, is for `faults`.

Our own rules, where an owner could mean either. A component that drives others is a group: to suspect or clear its name
means the component and all that it drives directly; to find it faulty means the component alone. A check that names a
component nobody suspected makes it a suspect; one that clears a group clears those of its members that are suspects,
or, where none is, all. What is cleared stays cleared until it is suspected, checked or found faulty again. A fault
that is seen again has no cause any more: its fix did not hold, and what was found faulty is left.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from buildlog.compute.faults.steps import CheckFigures, FaultState, FixFigures, SightingFigures, SuspectFigures
from buildlog.compute.parts.names import plain_name
from buildlog.problems import Place, Problem, suggest
from buildlog.read.records import Check, Component, Entry, Fault, Fix, Line, Log, SeenAgain


def report_unknown(record: Line | Check | Fix | SeenAgain, key: str, named: Mapping[str, Place]) -> Problem:
    """A fault that was not named by then; `named` says where each fault of the log is first named."""
    later = named.get(key)
    near = suggest(key, named)
    help = near if near.startswith("did") else f"name it first: faults: {{fault: {key}, name: …}}"
    return Problem(
        rule="unknown-fault",
        message=f"there is no fault `{key}` " + ("before this" if later else "in any entry"),
        place=record.field_place("fault"),
        help="name it in an earlier entry, or correct one of the dates" if later else help,
        also=(later,) if later else (),
    )


def report_closed(proof: FixFigures, record: Fault | Check | Fix, entry: Entry, what: str) -> Problem:
    """Work on a fault whose fix is proved."""
    return Problem(
        rule="fault-closed",
        message=f"`{record.fault}` {what} on {entry.date}, but it was confirmed fixed on {proof.proved_on}",
        place=record.field_place("fault"),
        help=f"if it came back, write `seen_again: {record.fault}` first; otherwise name another fault",
        severity="warning",
        also=(proof.place,),
    )


def report_cleared_twice(suspect: SuspectFigures, check: Check, entry: Entry, name: str) -> Problem:
    """A suspect, or every suspect of a group, cleared once more."""
    return Problem(
        rule="cleared-twice",
        message=f"`{name}` is cleared for `{check.fault}` on {entry.date}, as it was on {suspect.judged_on}",
        place=check.field_place("clears", name),
        help="name what this check did clear; if it was suspected again, add that first under `faults:`",
        severity="warning",
    )


def report_condemned(suspect: SuspectFigures, check: Check, entry: Entry) -> Problem:
    """A suspect found faulty that was cleared."""
    cleared = f"which was cleared on {suspect.judged_on}"
    return Problem(
        rule="faulty-cleared",
        message=f"the check of {entry.date} finds `{suspect.key}` faulty for `{check.fault}`, {cleared}",
        place=check.field_place("cause"),
        help="if the earlier check was wrong, suspect it again first, under `faults:`",
        severity="warning",
    )


def report_early_proof(fix: Fix, entry: Entry, *, seen: SightingFigures | None) -> Problem:
    """A proof of what was not fixed by then, or not since it was seen again last."""
    when = f"since {seen.date}" if seen else "before then"
    return Problem(
        rule="proof-before-fix",
        message=f"`{fix.fault}` is confirmed fixed on {entry.date}, but nothing was done about it {when}",
        place=fix.field_place("proved"),
        help="add `how:` here, or correct the date of the entry that fixed it",
        severity="warning",
        also=(seen.place,) if seen else (),
    )


def report_nameless(key: str, place: Place) -> Problem:
    """A fault that no entry gives a name."""
    message, help = f"the fault `{key}` has no name", "add `name: …`, the symptom in your own words"
    return Problem(rule="fault-without-name", message=message, place=place, help=help, severity="warning")


def report_nothing_left(key: str, place: Place) -> Problem:
    """A fault of which everything is cleared and nothing found faulty."""
    return Problem(
        rule="nothing-left",
        message=f"every suspect of `{key}` is cleared, but no cause is known",
        place=place,
        help="add suspects under `faults:`, or `cause:` to the check that found it",
        severity="warning",
    )


# Not `@frozen`, as the figures made of it are: a story grows with every entry, and would be copied whole each time.
@dataclass(slots=True, kw_only=True)
class FaultStory:
    """One fault while its entries are read; afterwards it is only read."""

    key: str
    "the owner's short name for it"
    opened: Entry
    "the first entry that names it"
    place: Place
    "where that entry names it"
    name: str | None = None
    "the symptom, as first written; None: no entry gives one"
    suspects: dict[str, SuspectFigures] = field(default_factory=dict)
    "by key of the component, in the order in which they were first suspected"
    checks: list[CheckFigures] = field(default_factory=list)
    "in the order of the log"
    fixes: list[FixFigures] = field(default_factory=list)
    "in the order of the log, those that did not hold included"
    sightings: list[SightingFigures] = field(default_factory=list)
    "the times that it was seen again, in the order of the log"
    cause: str | None = None
    "key of the suspect found faulty; None while it is not known"
    states: dict[str, FaultState] = field(default_factory=dict)
    "the state after each entry that mentions it, by entry name, in order"
    emptied: Place | None = None
    "the check that cleared the last suspect, while no cause is known"
    fresh: set[str] = field(default_factory=set)
    "what was cleared since the fault was seen last; what was cleared before may be checked again"

    @property
    def left(self) -> tuple[str, ...]:
        """Keys of the suspects that are not cleared."""
        return tuple(key for key, suspect in self.suspects.items() if suspect.verdict != "cleared")

    @property
    def fix(self) -> FixFigures | None:
        """The latest fix, where it holds as far as is known."""
        return self.fixes[-1] if self.fixes and self.fixes[-1].failed_on is None else None

    @property
    def state(self) -> FaultState:
        """How far the fault is; a fix without a proof is never `proved`."""
        # The fix first: whoever fixed it without finding the cause has fixed it all the same.
        if self.fix is not None:
            return "proved" if self.fix.proved else "fixed, not proved"
        if self.cause is not None:
            return "cause known"
        return "narrowed" if len(self.left) < len(self.suspects) else "open"


def follow_faults(log: Log) -> tuple[Mapping[str, FaultStory], tuple[Problem, ...]]:
    """The story of each fault of a log, by its key, and every contradiction on the way."""
    follower = _Follower(log.settings.components, log.entries)
    for entry in log.entries:
        follower.follow(entry)
    return follower.stories, (*follower.problems, *_check_ends(follower.stories.values()))


class _Follower:
    """Goes through entries once; keeps the stories, and the problems that it meets."""

    def __init__(self, components: Mapping[str, Component], entries: Iterable[Entry]) -> None:
        self._components = components
        # Direct members only: our own rule. A check of one shaft says nothing of what hangs on the next one.
        self._groups: dict[str, list[str]] = {}
        for key, component in components.items():
            if component.driven_by is not None:
                self._groups.setdefault(component.driven_by, [component.driven_by]).append(key)
        # From all entries beforehand, so that a fault named too late is not taken for one that is named nowhere.
        self._named: dict[str, Place] = {}
        for fault in (fault for entry in entries for fault in entry.faults):
            self._named.setdefault(fault.fault, fault.place)
        self.stories: dict[str, FaultStory] = {}
        self.problems: list[Problem] = []

    def follow(self, entry: Entry) -> None:
        """Read an entry: what faults it names, which were seen again, then what was suspected, checked and fixed."""
        # In the order of a day's work, whatever the order of the keys: names, since the rest uses them; what was seen
        # again before new suspects, since a closed fault gets none; checks before the fix.
        for fault in entry.faults:
            story = FaultStory(key=fault.fault, opened=entry, place=fault.place)
            story = self.stories.setdefault(fault.fault, story)
            story.name = story.name or fault.name
        for seen in entry.seen_again:
            self._see_again(entry, seen)
        for fault in entry.faults:
            self._suspect(entry, self.stories[fault.fault], fault)
        for check in entry.checks:
            self._check(entry, check)
        for fix in entry.fixed:
            self._fix(entry, fix)
        for line in (line for order in entry.bought for line in order.lines):
            # Named anywhere will do: parts are ordered before anybody writes down what they are for.
            if line.fault is not None and line.fault not in self._named:
                self.problems.append(report_unknown(line, line.fault, self._named))

    def _suspect(self, entry: Entry, story: FaultStory, fault: Fault) -> None:
        if story.state == "proved" and fault.suspects:
            self.problems.append(report_closed(story.fixes[-1], fault, entry, "has new suspects"))
        for name in fault.suspects:
            for key in self._open_group(name):
                known = story.suspects.get(key)
                # One that is left keeps its first day: named once more, it is no newer a suspect.
                if known is None or known.verdict == "cleared":
                    self._add(story, entry, key, group=None if key == name else name)
                    story.emptied = None
        story.states[entry.name] = story.state

    def _see_again(self, entry: Entry, seen: SeenAgain) -> None:
        story = self._find(seen, seen.fault)
        if story is None:
            return
        reopened = story.fix is not None
        # What was clean before may have failed since: to clear it once more is a check, and no slip.
        story.fresh.clear()
        story.sightings.append(
            SightingFigures(date=entry.date, entry=entry.name, note=seen.note, reopened=reopened, place=seen.place)
        )
        if reopened:
            story.fixes[-1] = replace(story.fixes[-1], failed_on=entry.date)
            self._withdraw_cause(story)
        story.states[entry.name] = story.state

    def _check(self, entry: Entry, check: Check) -> None:
        story = self._find(check, check.fault)
        if story is None:
            return
        # A warning, as the check was made all the same: most likely `seen_again` was forgotten.
        if story.state == "proved":
            self.problems.append(report_closed(story.fixes[-1], check, entry, "is checked"))
        before = len(story.left)
        cleared = tuple(key for name in check.clears for key in self._clear(story, entry, check, name))
        if check.cause is not None:
            self._condemn(story, entry, check, check.cause)
        left = len(story.left)
        # Only the check that took the last suspect is to blame. Those after it, with nothing left to clear, are not.
        story.emptied = None if story.cause or left else check.place if before else story.emptied
        story.checks.append(
            CheckFigures(
                date=entry.date,
                entry=entry.name,
                did=check.did,
                named=check.clears,
                clears=tuple(dict.fromkeys(cleared)),
                cause=check.cause,
                hours=check.hours,
                left=left,
                place=check.place,
            )
        )
        story.states[entry.name] = story.state

    def _clear(self, story: FaultStory, entry: Entry, check: Check, name: str) -> tuple[str, ...]:
        """Clear what a name means, and say which components that are; what was cleared first stays so by that check."""
        members = self._open_group(name)
        keys = tuple(key for key in members if key in story.suspects) or members
        # Only where all of it was cleared before: naming a group to clear the rest of it is no repetition.
        if story.fresh.issuperset(keys):
            self.problems.append(report_cleared_twice(story.suspects[keys[0]], check, entry, name))
        for key in keys:
            if key not in story.suspects:
                self._add(story, entry, key, group=None if key == name else name)
            # The later check is believed: to clear the cause takes it back.
            if key == story.cause:
                self._withdraw_cause(story)
            # The first check that cleared it stays the one that did.
            if key not in story.fresh:
                self._judge(story, entry, check, key)
        story.fresh.update(keys)
        return keys

    def _condemn(self, story: FaultStory, entry: Entry, check: Check, key: str) -> None:
        if key not in story.suspects:
            self._add(story, entry, key, group=None)
        elif key in story.fresh:
            # Warned of and believed, like every later check: the earlier one may have been wrong.
            self.problems.append(report_condemned(story.suspects[key], check, entry))
        if story.cause != key:
            self._withdraw_cause(story)
        story.cause = key
        story.fresh.discard(key)
        self._judge(story, entry, check, key)

    def _judge(self, story: FaultStory, entry: Entry, check: Check, key: str) -> None:
        story.suspects[key] = replace(
            story.suspects[key],
            verdict="condemned" if key == story.cause else "cleared",
            judged_on=entry.date,
            judged_in=entry.name,
            judged_by=check.did,
        )

    def _withdraw_cause(self, story: FaultStory) -> None:
        if story.cause is not None:
            story.suspects[story.cause] = replace(
                story.suspects[story.cause], verdict="left", judged_on=None, judged_in=None, judged_by=None
            )
        story.cause = None

    def _fix(self, entry: Entry, fix: Fix) -> None:
        story = self._find(fix, fix.fault)
        if story is None:
            return
        # `{fault, proved}` without `how` is no second fix but the proof of the one before.
        last, proves_only = story.fix, fix.how is None and fix.proved is not None
        if proves_only and last is None:
            seen = story.sightings[-1] if story.fixes else None
            self.problems.append(report_early_proof(fix, entry, seen=seen))
        elif proves_only and last is not None:
            # Proved once more is welcome, and the day of the first proof stays.
            if last.proved is None:
                story.fixes[-1] = replace(last, proved=fix.proved, proved_on=entry.date, proved_in=entry.name)
        else:
            if last is not None and last.proved:
                self.problems.append(report_closed(last, fix, entry, "is fixed"))
            story.fixes.append(_make_fix(story, entry, fix))
        story.states[entry.name] = story.state

    def _add(self, story: FaultStory, entry: Entry, key: str, *, group: str | None) -> None:
        story.fresh.discard(key)
        component = self._components.get(key)
        story.suspects[key] = SuspectFigures(
            key=key,
            name=component.name if component and component.name else plain_name(key),
            group=group,
            since=entry.date,
            entry=entry.name,
            verdict="left",
            judged_on=None,
            judged_in=None,
            judged_by=None,
        )

    def _open_group(self, name: str) -> tuple[str, ...]:
        return tuple(self._groups.get(name, (name,)))

    def _find(self, record: Check | Fix | SeenAgain, key: str) -> FaultStory | None:
        story = self.stories.get(key)
        if story is None:
            self.problems.append(report_unknown(record, key, self._named))
        return story


def _make_fix(story: FaultStory, entry: Entry, fix: Fix) -> FixFigures:
    return FixFigures(
        date=entry.date,
        entry=entry.name,
        how=fix.how,
        cause=story.cause,
        proved=fix.proved,
        proved_on=entry.date if fix.proved else None,
        proved_in=entry.name if fix.proved else None,
        failed_on=None,
        place=fix.place,
    )


def _check_ends(stories: Iterable[FaultStory]) -> Iterator[Problem]:
    """Warnings that only the end of a story shows."""
    for story in stories:
        if story.name is None:
            yield report_nameless(story.key, story.place)
        if story.emptied is not None:
            yield report_nothing_left(story.key, story.emptied)
