"""What will be done with foreign files: which entries are written, what is copied, what is left, and why?

A plan is made of everything together and writes nothing. Entries are made as an owner would type them, then read and
computed together with the log, as `check` would: one that would break the log is told and left out. Nothing that is
there is changed: what was brought before, or was typed already, is known by its mark, its number or its content.
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import field, replace
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

from buildlog.adding import CannotAdd, add_to_text
from buildlog.bring.bills import (
    Bill,
    compare,
    drop_known,
    drop_unrated,
    mark_refunds,
    title_day,
    write_marks,
    write_order,
    write_refund,
)
from buildlog.bring.drawer import Sentence, open_drawer
from buildlog.bring.paper_files import PaperCopy, file_papers
from buildlog.bring.payments import Match, match_payments
from buildlog.bring.pictures import PICTURES, DayPictures, PicturePlan, plan_pictures
from buildlog.bring.sources import Left
from buildlog.compute.costs.orders import land_order
from buildlog.compute.figures import compute_figures
from buildlog.compute.quantities.money import Money
from buildlog.drafts import name_entry, write_text
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, has_errors, sort_problems
from buildlog.read.files import LogFiles, gather_files
from buildlog.read.reader import read_files
from buildlog.read.records import Log, Order
from buildlog.text import count

TRIES = 4
"How often the log is read again without the entries that would break it."


class Copy(NamedTuple):
    """One file that is copied into the log."""

    source: Path
    "where it lies"
    path: str
    "its path in the log"


@frozen
class NewEntry:
    """One entry that is written."""

    name: str
    "its file's name without `.md`"
    day: datetime.date
    "its date"
    title: str
    "what it is called"
    text: str
    "the whole file"
    bills: tuple[Bill, ...] = ()
    "the orders in it, in this order"
    totals: tuple[Money, ...] = ()
    "what each of them comes to, as the figures have it, in its own currency"
    paid: tuple[Match, ...] = ()
    "the payments in it"
    photos: int = 0
    "how many pictures it lists"

    @property
    def path(self) -> str:
        return f"entries/{self.name}.md"


@frozen
class Grown:
    """One entry that is there, and gets pictures of its day."""

    name: str
    "its file's name without `.md`"
    before: str
    "the whole file as it is, its line ends included"
    text: str
    "the whole file as it will be: the same, with lines put in"
    photos: tuple[str, ...]
    "file names of the pictures that it lists then and does not list yet"

    @property
    def path(self) -> str:
        return f"entries/{self.name}.md"


@frozen
class Plan:
    """Everything that will be done, and everything that will not."""

    log: Log
    "as it is"
    entries: tuple[NewEntry, ...] = ()
    "in order of day"
    grown: tuple[Grown, ...] = ()
    "entries that are there and are added to"
    copies: tuple[Copy, ...] = ()
    "what is copied before the entries are written"
    left: tuple[Left, ...] = ()
    "what becomes of no entry, and why"
    said: tuple[Sentence, ...] = ()
    "how files were read"
    problems: tuple[Problem, ...] = ()
    "of all sources, and of what the log would be with the entries"
    mappings: Mapping[str, str] = field(default_factory=dict)
    "by source, what settles the columns of each spreadsheet as they were read"

    @property
    def empty(self) -> bool:
        """Whether there is nothing to write."""
        return not self.entries and not self.copies and not self.grown

    def texts(self) -> dict[str, str]:
        """The entries by path."""
        return {each.path: each.text for each in self.entries} | {each.path: each.text for each in self.grown}


@frozen
class Wish:
    """What was asked for."""

    sources: tuple[Path, ...]
    "files and folders, as they were named"
    mapping: str | None = None
    "text of a mapping for every spreadsheet among them"
    rates: Mapping[str, Decimal] = field(default_factory=dict)
    "home currency for one of each other currency"


def make_plan(wish: Wish, log: Log, as_of: datetime.date) -> Plan:
    """The plan for all sources together; raises OSError where one cannot be listed."""
    drawer = open_drawer(wish.sources, wish.mapping, home=log.settings.money.currency, rates=wish.rates)
    bills, known = drop_known(drawer.bills, log)
    bills, unrated = drop_unrated(bills, log.settings.money.currency)
    bills = mark_refunds(bills, log)
    # papers first: an order that is brought in at the same time gets its own
    papers = file_papers(bills, drawer.papers, drawer.pictures, log)
    matches = match_payments(drawer.payments, papers.bills, log)
    days = _sort_by_day(matches.bills, matches.matches, log)
    pictures = plan_pictures(papers.pictures, log, {day: made.name for day, made in days.items()})
    plan = Plan(
        log=log,
        left=(*drawer.left, *known, *papers.left, *matches.left, *pictures.left),
        said=drawer.said,
        problems=sort_problems((*drawer.problems, *unrated, *pictures.problems)),
        mappings=drawer.mappings,
    )
    days |= {day: _Day(day, (), (), shown.entry) for day, shown in pictures.drafts.items() if day not in days}
    entries = [_write_entry(days[day], pictures.drafts.get(day), papers.copies) for day in sorted(days)]
    grown, lost = _grow_entries(pictures, log)
    plan = replace(plan, problems=sort_problems((*plan.problems, *lost)))
    return _check(plan, _Made(tuple(entries), grown), papers.copies, pictures, as_of)


# ── entries ──────────────────────────────────────────────────────────────────────────────────────────────────────


class _Day(NamedTuple):
    """What one entry is about."""

    day: datetime.date
    "its date"
    bills: tuple[Bill, ...]
    "of that day"
    matches: tuple[Match, ...]
    "payments of that day"
    name: str
    "of the entry"

    @property
    def title(self) -> str:
        if self.bills:
            return title_day(self.bills)
        names = list(dict.fromkeys(match.supplier for match in self.matches))
        return PICTURES if not names else f"Paid {names[0]}" if len(names) == 1 else f"Paid {len(names)} suppliers"


def _sort_by_day(bills: Iterable[Bill], matches: Iterable[Match], log: Log) -> dict[datetime.date, _Day]:
    """One entry for each day that has a bill or a payment."""
    by_day: dict[datetime.date, tuple[list[Bill], list[Match]]] = defaultdict(lambda: ([], []))
    for bill in bills:
        by_day[bill.day][0].append(bill)
    for match in matches:
        by_day[match.payment.day][1].append(match)
    days = {day: _Day(day, tuple(some), tuple(paid), "") for day, (some, paid) in by_day.items()}
    return {day: made._replace(name=name_entry(log, made.title, day)) for day, made in days.items()}


def _write_entry(made: _Day, shown: DayPictures | None, papers: Mapping[Path, PaperCopy]) -> NewEntry:
    """The entry of one day, with its bills, its payments and its pictures."""
    day, bills, matches, title = made.day, made.bills, made.matches, made.title
    origins = [*(bill.origin for bill in bills), *(match.payment.origin for match in matches)]
    origins += [shown.origin] if shown else []
    rows = [f"date: {day}", f"title: {write_text(title)}", *write_marks(origins)]
    kept = {
        bill.origin.mark: papers[bill.paper.path].path for bill in bills if bill.paper and bill.paper.path in papers
    }
    if orders := [bill for bill in bills if bill.refunds is None]:
        rows.append("bought:")
        rows += [row for bill in orders for row in write_order(bill, kept.get(bill.origin.mark))]
    if refunds := [bill for bill in bills if bill.refunds is not None]:
        rows.append("returned:")
        rows += [f"  - {write_refund(bill, kept.get(bill.origin.mark))}" for bill in refunds]
    if matches:
        rows.append("paid:")
        rows += [f"  - {match.write()}" for match in matches]
    if shown:
        rows.append("photos:  # after `says:`, what each shows, also for people who cannot see it")
        rows += [row for name in shown.names for row in (f"  - file: {write_text(name)}", "    says:")]
    return NewEntry(
        name=made.name,
        day=day,
        title=title,
        text="\n".join(["---", *rows, "---", "", ""]),
        bills=bills,
        paid=matches,
        photos=len(shown.names) if shown else 0,
    )


def _grow_entries(pictures: PicturePlan, log: Log) -> tuple[tuple[Grown, ...], list[Problem]]:
    """The entries that get pictures, each as it will be; a problem for each that nothing can be put into."""
    grown, problems = [], []
    for shown in pictures.into:
        path = f"entries/{shown.entry}.md"
        before = log.locate(path).read_bytes().decode()
        _, mark = write_marks([shown.origin])
        try:
            text = add_to_text(before, photos=shown.names, marks=[mark.removeprefix("  - ")])
        except CannotAdd as why:
            message = f"{count(len(shown.names), 'picture')} of its day cannot be put into this entry, and stay out"
            problems.append(Problem(rule="cannot-list", message=message, place=Place(path), help=str(why)))
        else:
            grown.append(Grown(name=shown.entry, before=before, text=text, photos=shown.names))
    return tuple(grown), problems


# ── checked ──────────────────────────────────────────────────────────────────────────────────────────────────────


class _Made(NamedTuple):
    """What is written, as long as the log can take it."""

    new: tuple[NewEntry, ...]
    "entries"
    grown: tuple[Grown, ...]
    "entries that are there"

    def texts(self) -> dict[str, str]:
        """By file name, as reading the log takes them."""
        new = {f"{entry.name}.md": entry.text for entry in self.new}
        return new | {f"{entry.name}.md": _take_text(entry.text) for entry in self.grown}

    def without(self, paths: Collection[str]) -> _Made:
        """What is left without the files of some paths, if that is less."""
        new = tuple(entry for entry in self.new if entry.path not in paths)
        grown = tuple(entry for entry in self.grown if entry.path not in paths)
        # an error that an entry makes elsewhere, as by a number that stands there too, has no culprit that is known
        return _Made(new, grown) if len(new) + len(grown) < len(self.new) + len(self.grown) else _Made((), ())


def _check(
    plan: Plan,
    kept: _Made,
    papers: Mapping[Path, PaperCopy],
    pictures: PicturePlan,
    as_of: datetime.date,
) -> Plan:
    """The plan with the entries that the log can take, their totals, and what `check` would say of them."""
    assert plan.log.folder is not None
    files, _ = gather_files(plan.log.folder)
    before = {_fold(problem) for problem in _find_problems(files, as_of)[1]}
    problems = list(plan.problems)
    for _ in range(TRIES):
        copies = _list_copies(kept, papers, pictures)
        log, found, totals = _find_problems(_add(files, kept, copies), as_of)
        new = [problem for problem in found if _fold(problem) not in before]
        broken = {problem.place.file for problem in new if problem.severity == "error"}
        if not broken:
            break
        problems += [_soften(problem) for problem in new if problem.severity == "error"]
        kept = kept.without(broken)
    else:
        kept, copies, log, new = _Made((), ()), [], plan.log, []
    orders, home = {entry.name: entry.bought for entry in log.entries}, log.settings.money.currency
    entries = [
        replace(entry, totals=tuple(_list_totals(entry.bills, orders[entry.name], totals, home))) for entry in kept.new
    ]
    warned = [problem for problem in new if problem.rule != "photo-says-nothing"]
    return replace(
        plan,
        entries=tuple(entries),
        grown=kept.grown,
        copies=tuple(copies),
        problems=sort_problems((*problems, *warned, *_find_differences(entries))),
    )


def _fold(problem: Problem) -> tuple[str, str]:
    return problem.rule, problem.message


def _soften(problem: Problem) -> Problem:
    return replace(problem, message=f"{problem.message}; so this entry is not written")


def _find_problems(files: LogFiles, as_of: datetime.date) -> tuple[Log, list[Problem], dict[Place, Money]]:
    """A log, what is wrong with it, and what its orders of that day and before come to, by place."""
    reading = read_files(files)
    assert reading.log is not None, "the log was read before"
    found, totals = list(reading.problems), {}
    if not has_errors(found):
        figures = compute_figures(reading.log, as_of)
        found += figures.problems
        totals = {each.landed.order.place: each.landed.total for each in figures.costs.purchases}
    return reading.log, found, totals


def _add(files: LogFiles, made: _Made, copies: Iterable[Copy]) -> LogFiles:
    """The log's files as they will be."""
    papers, photos = set(files.papers), {name: list(names) for name, names in files.photos.items()}
    for copy in copies:
        top, _, rest = copy.path.partition("/")
        if top == "papers":
            papers.add(copy.path)
        else:
            folder, _, name = rest.partition("/")
            photos.setdefault(folder, []).append(name)
    return replace(
        files,
        entries={**files.entries, **made.texts()},
        papers=frozenset(papers),
        photos={name: tuple(names) for name, names in photos.items()},
    )


def _take_text(text: str) -> str:
    """A text of a file as reading the log takes it."""
    return text.removeprefix("\ufeff").replace("\r\n", "\n")


def _list_copies(made: _Made, papers: Mapping[Path, PaperCopy], pictures: PicturePlan) -> list[Copy]:
    """What is copied: the papers of the entries that are written, other papers, and pictures."""
    named = {bill.paper.path for entry in made.new for bill in entry.bills if bill.paper}
    copies = [Copy(path, each.path) for path, each in papers.items() if not each.here and (each.alone or path in named)]
    listing = {entry.name for entry in made.new if entry.photos} | {entry.name for entry in made.grown}
    for shown in (*pictures.drafts.values(), *pictures.into):
        if shown.entry in listing:
            home = f"photos/{shown.entry}"
            copies += [Copy(take.source, f"{home}/{take.name}") for take in shown.takes if not take.here]
    return copies


def _list_totals(
    bills: Iterable[Bill], orders: Iterable[Order], totals: Mapping[Place, Money], home: str
) -> Iterator[Money]:
    """What each bill of an entry comes to, in the log with that entry: an order as the figures have it, or a refund."""
    left = iter(orders)
    for bill in bills:
        if bill.refunds is not None:
            yield Money(bill.gross or Decimal(0), bill.currency or home)
        else:
            order = next(left)
            yield totals.get(order.place) or land_order(order, home).total


def _find_differences(entries: Iterable[NewEntry]) -> Iterator[Problem]:
    """A warning for each bill that does not come to what its document says is to be paid, or contradicts itself."""
    for entry in entries:
        for bill, total in zip(entry.bills, entry.totals, strict=True):
            if bill.payable is not None:
                yield from compare(bill, bill.payable, total.amount - bill.prepaid)
