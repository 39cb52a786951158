"""What did the owner mean to do, and what has become of it: the `next:` items, and the lists that entries tick?

An item is named by its words, by as many of them in a row as only it has, or by its short name. Nothing is ever done or
ticked but by an entry that says so. What is wanted is money, and for `costs.plan`.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, Protocol, TypeVar

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, suggest
from buildlog.read.records import Checklist, Entry, ListItem, Log, LogRecord, Planned, Ticked
from buildlog.text import fold_words, join_words, name_some

PlanState = Literal["open", "done", "dropped"]


@frozen
class PlanItem:
    """One `next:` item as of a day."""

    name: str | None
    "the owner's short name for it; None: it has none"
    what: str
    "in the owner's words"
    entry: str
    "name of the entry that first says it"
    since: datetime.date
    "the day of that entry"
    place: Place
    "where it is first written"
    state: PlanState
    "`open` until an entry says otherwise"
    ended: datetime.date | None
    "the day on which it was done or dropped; None: it is open"
    ended_in: str | None
    "name of the entry that says so"
    days: int
    "until it ended, or until the day asked for"


@frozen
class TickItem:
    """One item of a list as of a day."""

    name: str | None
    "the owner's short name for it; None: it has none"
    what: str
    "in the owner's words"
    caution: str | None
    "what can hurt somebody; None: nothing is stated"
    system: str | None
    "key of the system that it is about; None: not stated"
    ticked: datetime.date | None
    "the day on which it was last ticked; None: it never was"
    ticked_in: str | None
    "name of the entry that ticks it"
    note: str | None
    "what that entry says beside it"
    worked_on: datetime.date | None
    "the first day after that on which its system was worked on; None: it was not, or no system is stated"
    worked_in: str | None
    "name of that entry"


@frozen
class ListFigures:
    """One list and what is missing."""

    key: str
    "the owner's short name for it"
    name: str
    "as shown"
    items: tuple[TickItem, ...]
    "in the owner's order"
    ticked: int
    "how many are ticked, those with later work among them"
    missing: int
    "how many are not"
    place: Place
    "where it is written"


@frozen
class PlanFigures:
    """What is still to be done as of a day, and what was."""

    kept: bool
    """Whether any entry says what became of an item; until one does, nobody knows which of the older ones still
    stand, and pages show what the last entry says"""
    items: tuple[PlanItem, ...]
    "oldest first"
    ended_by_entry: Mapping[str, tuple[PlanItem, ...]]
    "what each entry says is done or dropped, by its name"
    lists: tuple[ListFigures, ...]
    "in the order of `log.yaml`"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day"

    def list_open(self) -> tuple[PlanItem, ...]:
        """The items that nothing has become of yet, oldest first."""
        return tuple(item for item in self.items if item.state == "open")


def compute_plans(log: Log, as_of: datetime.date) -> PlanFigures:
    """The items and lists of a log as it stood on a day, and every word in it that leads to none of them."""
    stories, problems = _follow_items(log)
    items = tuple(_describe(story, as_of) for story in stories)
    ended: dict[str, list[PlanItem]] = {}
    for item in items:
        if item.ended_in is not None:
            ended.setdefault(item.ended_in, []).append(item)
    ticks, tick_problems = _follow_ticks(log)
    return PlanFigures(
        kept=any(entry.done or entry.dropped for entry in log.entries),
        items=items,
        ended_by_entry={entry: tuple(some) for entry, some in ended.items()},
        lists=tuple(_describe_list(log, key, checklist, ticks) for key, checklist in log.settings.lists.items()),
        problems=(*problems, *_check_lists(log.settings.lists), *tick_problems),
    )


# ── named by their words ─────────────────────────────────────────────────────────────────────────────────────────


class Worded(Protocol):
    """Something that an owner names by its words."""

    @property
    def what(self) -> str: ...

    @property
    def name(self) -> str | None: ...


W = TypeVar("W", bound=Worded)


def find_worded(words: str, items: Iterable[W]) -> list[W]:
    """What some words may mean: by its short name; else by all of its words; else by some of them, in a row.

    More than one where the words do not tell them apart.
    """
    items = list(items)
    folded = fold_words(words)
    exact = [item for item in items if item.name == words] or [
        item for item in items if fold_words(item.what) == folded
    ]
    run = _list_words(words)
    # Whole words in a row: "cap" is not in "capacitor", and "order cap" is not in "order the cap".
    return exact or ([item for item in items if f" {run} " in f" {_list_words(item.what)} "] if run else [])


def _list_words(text: str) -> str:
    return " ".join(re.findall(r"\w+", text.casefold()))


def name_worded(items: Iterable[Worded]) -> list[str]:
    """Every name by which each of some things can be meant, for a "did you mean"."""
    return [name for item in items for name in (item.name, item.what) if name]


def report_which(rule: str, words: str, found: Sequence[LogRecord], whats: Sequence[str], place: Place) -> Problem:
    """The problem that words mean more than one of the things found."""
    named = join_words([f"`{what}`" for what in whats]) if len(whats) <= 3 else name_some([f"`{w}`" for w in whats], 3)
    return Problem(
        rule=rule,
        message=f"`{words}` may mean any of {len(whats)}: {named}",
        place=place,
        help="write more of its words, as many as only the one you mean has, or its `name:`",
        also=tuple(record.place for record in found[:3]),
    )


# ── next ─────────────────────────────────────────────────────────────────────────────────────────────────────────


@dataclass
class _Story:
    """One item on its way through the log."""

    record: Planned
    "as the owner first wrote it"
    begun: Entry
    "the entry that first says it"
    what: str
    "see `PlanItem.what`"
    name: str | None
    "see `PlanItem.name`; it may come later, when the item is said again"
    state: PlanState = "open"
    "see `PlanItem.state`"
    ended: Entry | None = None
    "the entry that says that it is done or dropped"


@dataclass
class _Items:
    """Walks a log once, entry by entry; keeps the problems that it meets."""

    stories: list[_Story] = field(default_factory=list)
    "every item, oldest first"
    # So that a long log's are found without looking through all of them.
    open: dict[str, _Story] = field(default_factory=dict)
    "those that are open, by their words"
    named: dict[str, _Story] = field(default_factory=dict)
    "the last one of each short name, open or not"
    problems: list[Problem] = field(default_factory=list)
    "what is wrong with them"

    def end(self, entry: Entry, key: Literal["done", "dropped"], words: str) -> None:
        """Take note that an entry says that something is done, or will not be."""
        place = entry.field_place(key, words)
        exact = self.open.get(fold_words(words))
        found = [exact] if exact else find_worded(words, self.open.values())
        if len(found) == 1:
            story = self.open.pop(fold_words(found[0].what))
            story.state, story.ended = key, entry
        elif found:
            records = [story.record for story in found]
            self.problems.append(report_which("next-which", words, records, [each.what for each in found], place))
        else:
            self.problems.append(self._report_none(entry, words, place))

    def _report_none(self, entry: Entry, words: str, place: Place) -> Problem:
        ended = find_worded(words, (story for story in self.stories if story.ended is not None))
        if ended and (last := ended[-1]).ended is not None:
            return Problem(
                rule="next-ended",
                message=f"`{last.what}` was {last.state} already, on {last.ended.date}",
                place=place,
                help="remove it here; if it is needed again, say so under `next:` first",
                also=(last.ended.field_place(last.state),),
            )
        return Problem(
            rule="next-not-open",
            message=f"no earlier entry has `{words}` under `next:`",
            place=place,
            help=suggest(words, name_worded(self.open.values())) or "write it as it is under `next:`",
        )

    def add(self, entry: Entry, planned: Planned) -> None:
        """Take note of what comes next; what is open already is not there twice."""
        folded = fold_words(planned.what)
        if folded in self.open:
            # Said again, as owners did before an item stayed open by itself: it is the same one.
            story = self.open[folded]
            if story.name is None and planned.name is not None:
                story.name, self.named[planned.name] = planned.name, story
            return
        taken = self.named.get(planned.name or "")
        if taken is not None and taken.state == "open":
            self.problems.append(_report_taken(planned, taken.record))
            return
        story = _Story(record=planned, begun=entry, what=planned.what, name=planned.name)
        self.open[folded] = story
        if planned.name is not None:
            self.named[planned.name] = story
        self.stories.append(story)


def _report_taken(planned: Planned, first: Planned) -> Problem:
    return Problem(
        rule="next-name-twice",
        message=f"there is already an open item `{planned.name}`: `{first.what}`",
        place=planned.place,
        help=f"end the first one with `done: [{planned.name}]`, or give this one a different name",
        also=(first.place,),
    )


def _follow_items(log: Log) -> tuple[list[_Story], list[Problem]]:
    items = _Items()
    for entry in log.entries:
        # What an entry ends was said earlier; what it says comes next stands open after it, so that a job which comes
        # round again can be ended and begun in one evening.
        for words in entry.done:
            items.end(entry, "done", words)
        for words in entry.dropped:
            items.end(entry, "dropped", words)
        for planned in entry.next:
            items.add(entry, planned)
    return items.stories, items.problems


def _describe(story: _Story, as_of: datetime.date) -> PlanItem:
    ended = story.ended
    return PlanItem(
        name=story.name,
        what=story.what,
        entry=story.begun.name,
        since=story.begun.date,
        place=story.record.place,
        state=story.state,
        ended=ended.date if ended else None,
        ended_in=ended.name if ended else None,
        days=((ended.date if ended else as_of) - story.begun.date).days,
    )


# ── lists ────────────────────────────────────────────────────────────────────────────────────────────────────────

Ticks = Mapping[Place, tuple[Entry, Ticked]]
"The last tick of each item of a list, by the item's place."


def _follow_ticks(log: Log) -> tuple[Ticks, list[Problem]]:
    ticks: dict[Place, tuple[Entry, Ticked]] = {}
    problems: list[Problem] = []
    for entry in log.entries:
        for ticked in entry.ticked:
            checklist = log.settings.lists.get(ticked.list)
            # A list that is not there is told where names are followed.
            for words in ticked.items if checklist else ():
                items = checklist.items if checklist else ()
                found = find_worded(words, items)
                if len(found) == 1:
                    ticks[found[0].place] = entry, ticked
                else:
                    problems.append(_report_tick(ticked, words, found, items))
    return ticks, problems


def _report_tick(ticked: Ticked, words: str, found: Sequence[ListItem], items: Sequence[ListItem]) -> Problem:
    place = ticked.field_place("items", words)
    if found:
        return report_which("tick-which", words, found, [item.what for item in found], place)
    return Problem(
        rule="tick-not-on-list",
        message=f"the list `{ticked.list}` has no item `{words}`",
        place=place,
        help=suggest(words, name_worded(items)) or "write it as it is in `log.yaml`",
    )


def _describe_list(log: Log, key: str, checklist: Checklist, ticks: Ticks) -> ListFigures:
    items = tuple(_describe_tick(log, item, ticks.get(item.place)) for item in checklist.items)
    ticked = sum(item.ticked is not None for item in items)
    counts = {"ticked": ticked, "missing": len(items) - ticked}
    return ListFigures(key=key, name=checklist.name, items=items, place=checklist.place, **counts)


def _describe_tick(log: Log, item: ListItem, tick: tuple[Entry, Ticked] | None) -> TickItem:
    entry = tick[0] if tick else None
    # The tick stays: what the owner looked at was right then. Whether it still is, only the owner can say.
    worked = next(_list_work_since(log, item, entry), None) if entry else None
    return TickItem(
        name=item.name,
        what=item.what,
        caution=item.caution,
        system=item.system,
        ticked=entry.date if entry else None,
        ticked_in=entry.name if entry else None,
        note=tick[1].note if tick else None,
        worked_on=worked.date if worked else None,
        worked_in=worked.name if worked else None,
    )


def _list_work_since(log: Log, item: ListItem, ticked: Entry) -> Iterator[Entry]:
    after = False
    for entry in log.entries:
        if after and item.system is not None and item.system in entry.systems:
            yield entry
        after = after or entry is ticked


def _check_lists(lists: Mapping[str, Checklist]) -> Iterator[Problem]:
    names: dict[str, Checklist] = {}
    for checklist in lists.values():
        first = names.setdefault(fold_words(checklist.name), checklist)
        if first is not checklist:
            message = f"two lists are called `{checklist.name}`"
            help = "give one of them a different name, or make one list of the two"
            place, also = checklist.field_place("name"), (first.field_place("name"),)
            yield Problem(rule="list-name-twice", message=message, place=place, help=help, also=also)
        if not checklist.items:
            message = f"the list `{checklist.name}` has no items, so nothing can be ticked"
            help = "write `items: [Oil up to the mark, …]`"
            yield Problem(rule="list-empty", message=message, place=checklist.place, help=help, severity="warning")
        yield from _check_items(checklist)


def _check_items(checklist: Checklist) -> Iterator[Problem]:
    known: dict[str, ListItem] = {}
    for item in checklist.items:
        for name in filter(None, (item.name, fold_words(item.what))):
            first = known.setdefault(name, item)
            if first is not item:
                message = f"the list `{checklist.name}` has two items `{item.name or item.what}`"
                help = "remove one of them, or give it other words"
                yield Problem(rule="list-item-twice", message=message, place=item.place, help=help, also=(first.place,))
                break
