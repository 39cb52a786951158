"""What will it still cost: what is wanted and not ordered yet, and what each system comes to with that?

A forecast is what is spent, what is committed and what is wanted. What an order closes is no longer wanted: it is
committed or spent then, at its own price.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from buildlog.compute.costs.lines import is_placed
from buildlog.compute.costs.purchases import Purchase
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.parts.names import plain_name
from buildlog.compute.parts.numbers import only_system
from buildlog.compute.plans import find_worded, name_worded, report_which
from buildlog.compute.quantities.money import Money, round_to_minor_unit, sum_money
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, suggest
from buildlog.read.records import Entry, Log, Wanted
from buildlog.text import fold_words

WantedState = Literal["open", "ordered", "unwanted", "wanted again"]


@frozen
class WantedFigures:
    """One thing that is wanted, or was, as of a day."""

    part: str | None
    "the part's key; None: it is not kept track of"
    what: str
    "as shown"
    qty: Decimal
    "how many, or how much"
    about: Money | None
    "what it will cost, in the home currency; None: not stated, and counted as nothing"
    system: str | None
    "key of a system; None: the owner names none"
    supplier: str | None
    "as written"
    since: datetime.date | None
    "the day of its entry; None: it stands in `log.yaml`"
    entry: str | None
    "name of its entry; None: it stands in `log.yaml`"
    place: Place
    "where it is written"
    state: WantedState
    "`wanted again`: a later one for the same thing counts in its place"
    ended_in: str | None
    "name of the entry that has the order, the word `unwanted`, or the later one; None: it is open"


@frozen
class ForecastRow:
    """What one system will come to; home currency."""

    system: str | None
    "key of the system; None: what names none"
    spent: Money
    "paid less come back"
    committed: Money
    "ordered and not paid"
    wanted: Money
    "not ordered yet"
    forecast: Money
    "all three"
    budget: Money | None
    "as written in `log.yaml`; None: it has none"


@frozen
class BudgetRow:
    """One system's plan and what has become of it; home currency."""

    system: str | None
    "key of the system; None: all of the budget together"
    budget: Money
    "as written in `log.yaml`"
    spent: Money
    "paid less come back"
    committed: Money
    "ordered and not paid"
    wanted: Money
    "not ordered yet"
    left: Money
    "budget less spent and committed; below zero: over"
    forecast: Money
    "spent, committed and wanted"


@frozen
class SpendingPlan:
    """What is wanted, and what everything comes to with it."""

    wanted: tuple[WantedFigures, ...]
    "in the order in which they were wanted, `log.yaml` first; those that ended too"
    wanted_by_entry: Mapping[str, tuple[WantedFigures, ...]]
    "those that stand in each entry, by its name"
    wanted_sum: Money
    "of those that are open"
    unpriced: int
    "how many of those say nothing of what they will cost"
    by_system: tuple[ForecastRow, ...]
    "in the order of `log.yaml`, then what names no system; none where nothing is spent, ordered or wanted for it"
    forecast: Money
    "spent, committed and wanted"
    budget: tuple[BudgetRow, ...]
    "in the order of the budget"
    budget_total: BudgetRow | None
    "all rows together; None: no budget"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day"

    def list_open(self) -> tuple[WantedFigures, ...]:
        """What is wanted and not ordered yet."""
        return tuple(item for item in self.wanted if item.state == "open")


Sums = Mapping[str | None, Money]
"Amounts by system."


def plan_spending(
    story: PartStory, purchases: Iterable[Purchase], as_of: datetime.date, *, spent: Sums, committed: Sums
) -> SpendingPlan:
    """What is wanted as of a day, and the forecast of each system; `spent` and `committed` are of the same day."""
    log, currency = story.log, story.log.settings.money.currency
    wishes = _Wishes(story, [purchase for purchase in purchases if is_placed(purchase, as_of)])
    wishes.walk()
    wanted = tuple(_describe(story, wish) for wish in wishes.all)
    left = [item for item in wanted if item.state == "open"]
    by_entry: dict[str, list[WantedFigures]] = {}
    for item in wanted:
        if item.entry is not None:
            by_entry.setdefault(item.entry, []).append(item)
    asked: dict[str | None, list[Money]] = {}
    for item in left:
        if item.about is not None:
            asked.setdefault(item.system, []).append(item.about)
    by_wish = {system: sum_money(amounts, currency) for system, amounts in asked.items()}
    rows = tuple(_list_rows(log, spent, committed, by_wish))
    budget = tuple(_list_budget(log, spent, committed, by_wish))
    return SpendingPlan(
        wanted=wanted,
        wanted_by_entry={entry: tuple(some) for entry, some in by_entry.items()},
        wanted_sum=sum_money(by_wish.values(), currency),
        unpriced=sum(item.about is None for item in left),
        by_system=rows,
        forecast=sum_money((row.forecast for row in rows), currency),
        budget=budget,
        budget_total=_sum_budget(budget, currency) if budget else None,
        problems=tuple(wishes.problems),
    )


def _list_rows(log: Log, spent: Sums, committed: Sums, wanted: Sums) -> Iterator[ForecastRow]:
    currency = log.settings.money.currency
    zero, budget = Money(Decimal(0), currency), log.settings.money.budget
    moved = (*spent, *committed, *wanted)
    # A key that `log.yaml` does not know is an error, and stands here all the same: no sum may lose a line.
    systems: dict[str | None, None] = dict.fromkeys((*log.settings.systems, *(key for key in moved if key), None))
    for system in systems:
        if system in moved:
            row = spent.get(system, zero), committed.get(system, zero), wanted.get(system, zero)
            yield ForecastRow(
                system=system,
                spent=row[0],
                committed=row[1],
                wanted=row[2],
                forecast=row[0] + row[1] + row[2],
                budget=Money(budget[system], currency) if system is not None and system in budget else None,
            )


def _list_budget(log: Log, spent: Sums, committed: Sums, wanted: Sums) -> Iterator[BudgetRow]:
    currency = log.settings.money.currency
    zero = Money(Decimal(0), currency)
    for system, amount in log.settings.money.budget.items():
        sums = (spent.get(system, zero), committed.get(system, zero), wanted.get(system, zero))
        yield _make_budget_row(system, Money(amount, currency), *sums)


def _make_budget_row(system: str | None, budget: Money, spent: Money, committed: Money, wanted: Money) -> BudgetRow:
    # What is ordered will be paid: counted as free, it would be spent twice. What is wanted may still be left.
    return BudgetRow(
        system=system,
        budget=budget,
        spent=spent,
        committed=committed,
        wanted=wanted,
        left=budget - spent - committed,
        forecast=spent + committed + wanted,
    )


def _sum_budget(rows: tuple[BudgetRow, ...], currency: str) -> BudgetRow:
    return _make_budget_row(
        None,
        sum_money((row.budget for row in rows), currency),
        sum_money((row.spent for row in rows), currency),
        sum_money((row.committed for row in rows), currency),
        sum_money((row.wanted for row in rows), currency),
    )


# ── what is wanted ───────────────────────────────────────────────────────────────────────────────────────────────


@dataclass
class _Wish:
    """One wish on its way through the log."""

    record: Wanted
    "as the owner wrote it"
    entry: Entry | None
    "that it stands in; None: in `log.yaml`"
    key: str
    "what an order has to be of, to close it"
    # What `find_worded` looks at: `unwanted: [brake-hose]` means a part by its short name, a thing by its words.
    what: str
    "as shown"
    name: str | None
    "the part's short name, as written"
    state: WantedState = "open"
    "see `WantedFigures.state`"
    ended_in: str | None = None
    "see `WantedFigures.ended_in`"


@dataclass
class _Wishes:
    """Walks a log once, entry by entry; keeps the problems that it meets."""

    story: PartStory
    "what the log tells of its parts"
    placed: Sequence[Purchase]
    "the orders that were placed by the day"
    all: list[_Wish] = field(default_factory=list)
    "every wish, in the order in which it was made"
    open: dict[str, _Wish] = field(default_factory=dict)
    "those that nothing has closed yet, by their keys"
    problems: list[Problem] = field(default_factory=list)
    "what is wrong with them"

    def walk(self) -> None:
        """Follow every wish to the order that closes it, or to the end of the log."""
        log = self.story.log
        # A log that wants nothing is not gone through for orders.
        if not log.settings.wanted and not any(entry.wanted or entry.unwanted for entry in log.entries):
            return
        bought: dict[str, list[Purchase]] = {}
        for purchase in self.placed:
            bought.setdefault(purchase.entry.name, []).append(purchase)
        for record in log.settings.wanted:
            self._add(None, record, ())
        before: list[Purchase] = []
        for entry in log.entries:
            # What an entry no longer wants was wanted earlier; what it wants may be ordered in the same evening.
            for words in entry.unwanted:
                self._forget(entry, words)
            for record in entry.wanted:
                self._add(entry, record, before)
            for purchase in bought.get(entry.name, ()):
                self._close(purchase)
                before.append(purchase)

    def _add(self, entry: Entry | None, record: Wanted, before: Iterable[Purchase]) -> None:
        if record.part is None and record.what is None:
            self.problems.append(_report_nothing(record))
            return
        wish = _Wish(record, entry, self._find_key(record), what=self._name(record), name=record.part)
        if earlier := self.open.get(wish.key):
            # Said again, with what is known by now: the same thing is not wanted twice.
            earlier.state, earlier.ended_in = "wanted again", entry.name if entry else None
        self.open[wish.key] = wish
        self.all.append(wish)
        for purchase in before:
            # Entries of one day stand in the order of their names: which was written first, nobody knows.
            if record.since is not None or (entry is not None and purchase.entry.date == entry.date):
                self._close(purchase, only=wish)

    def _close(self, purchase: Purchase, only: _Wish | None = None) -> None:
        for line in purchase.landed.order.lines:
            part = self.story.names.lines.get(line.place)
            for key in ([part] if part else []) + [f" {fold_words(what)}" for what in (line.what, line.name) if what]:
                wish = self.open.get(key)
                if wish is None or (only is not None and wish is not only):
                    continue
                if wish.record.since is None or purchase.ordered >= wish.record.since:
                    wish.state, wish.ended_in = "ordered", purchase.entry.name
                    del self.open[key]

    def _forget(self, entry: Entry, words: str) -> None:
        key = self.story.names.keys.get(words)
        found = [self.open[key]] if key in self.open else find_worded(words, self.open.values())
        place = entry.field_place("unwanted", words)
        if len(found) == 1:
            found[0].state, found[0].ended_in = "unwanted", entry.name
            del self.open[found[0].key]
        elif found:
            records, whats = [wish.record for wish in found], [wish.what for wish in found]
            self.problems.append(report_which("unwanted-which", words, records, whats, place))
        else:
            self.problems.append(self._report_none(words, place))

    def _report_none(self, words: str, place: Place) -> Problem:
        ended = find_worded(words, (wish for wish in self.all if wish.state != "open"))
        if ended:
            last = ended[-1]
            message = f"`{last.what}` is not wanted any more: see entry `{last.ended_in}`"
            also = (last.record.place,)
            return Problem(rule="not-wanted", message=message, place=place, help="remove it here", also=also)
        return Problem(
            rule="not-wanted",
            message=f"nothing earlier says `{words}` under `wanted:`",
            place=place,
            help=suggest(words, name_worded(self.open.values())) or "write its part, or its words as under `wanted:`",
        )

    def _find_key(self, record: Wanted) -> str:
        # A blank in front: no short name begins with one, so that words are never taken for a part.
        words = f" {fold_words(record.what or '')}"
        return self.story.names.keys.get(record.part, record.part) if record.part else words

    def _name(self, record: Wanted) -> str:
        part = self.story.names.parts.get(self.story.names.keys.get(record.part, "")) if record.part else None
        return record.what or (part.name if part else plain_name(record.part or ""))


def _describe(story: PartStory, wish: _Wish) -> WantedFigures:
    record, currency = wish.record, story.log.settings.money.currency
    part = story.names.parts.get(wish.key)
    known = (part.system if part else None) or (only_system(wish.entry) if wish.entry else None)
    return WantedFigures(
        part=wish.key if record.part else None,
        what=wish.what,
        qty=record.qty,
        about=None if record.about is None else round_to_minor_unit(record.about, currency),
        system=record.system or known,
        supplier=record.supplier,
        since=wish.entry.date if wish.entry else None,
        entry=wish.entry.name if wish.entry else None,
        place=record.place,
        state=wish.state,
        ended_in=wish.ended_in,
    )


def _report_nothing(record: Wanted) -> Problem:
    return Problem(
        rule="wanted-nothing",
        message="this says neither which part is wanted nor what",
        place=record.place,
        help="add `part:` with its short name, or `what:` in words",
    )
