"""Whether the figures in a bag follow from its entries: the log read and computed again, question by question.

6.  totals       every figure of `figures.json` that no other question has      `figures_json`
7.  service      `service` and `due`
8.  meter        `meter`; a total that falls is an error of the log, and fails here
9.  identity     `identity`; whether log and list speak of the same machine
10. evidence     `evidence`
11. pages        `remake_pages`, where no error of the log forbids it

Numbers as in `verify`. A log in a bag is a stranger's. It is read by the same readers as every log, which run nothing
that stands in one. How long that may take, and in how much memory, is bounded by `run_apart`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import BinaryIO, TypeVar

from buildlog.compute.evidence.claims import LEVEL_WORDS
from buildlog.compute.figures import Figures
from buildlog.compute.service.due_status import say_counts
from buildlog.frozen import frozen
from buildlog.handover.asks import ask_of_figures
from buildlog.handover.bag import PAYLOAD
from buildlog.handover.figures_json import FORMAT, GROUPS, Compared, compare_figures, list_figures
from buildlog.handover.findings import Finding, Flaw, hold, judge, lack, leave_open, note, tell
from buildlog.handover.handed_log import name_machine, read_handed
from buildlog.handover.hashed_bag import HashedBag, unpack_bag
from buildlog.handover.manifest import FIGURES, LIST, LOG, Handover, find_day, is_text
from buildlog.handover.remake_pages import answer_pages, make_pages
from buildlog.handover.remarks import Sealed, name_some, remark_dates
from buildlog.handover.unpack import Refused, tame
from buildlog.handover.verify import RECOMPUTED, read_seals
from buildlog.problems import Problem
from buildlog.record.rules import LARGEST_FIGURES
from buildlog.record.seal_check import check_seals
from buildlog.stages import Run
from buildlog.text import count

T = TypeVar("T")
STOPPED = "this program does not hand over a log with this error, and cannot work anything out from it"


def attempt(work: Callable[[], T]) -> T | None:
    """What the work comes to, or None where a fault of ours ended it. Raises `Refused` and `MemoryError`."""
    try:
        return work()
    except (MemoryError, Refused):
        raise
    except Exception:  # whatever it is, the answer has a sentence for it
        return None


def fail_stopped(key: str, file: str) -> Finding:
    """That a question fails because the program stopped at a file."""
    return judge(key, [Flaw(rule="cannot-be-read", message=STOPPED, file=file)], "")


def find_stopper(entries: Sequence[str], stops: Callable[[Sequence[str]], bool]) -> str:
    """The entry at which work stops that goes well without it; `log.yaml` where it stops without any, or with none.

    `stops` is asked about the first so many entries: each question halves what is left, so that a thousand entries take
    ten.
    """
    # Asked of none and of all first: halving only leads somewhere between a log that goes well and one that does not.
    if stops(()) or not stops(entries):
        return "log.yaml"
    good, bad = 0, len(entries)
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (good, middle) if stops(entries[:middle]) else (middle, bad)
    return entries[bad - 1]


LARGEST_LOG = 200_000_000
"Bytes of all entries together: 2,000 of 20 kilobytes are 40 million."


def recheck(packed: BinaryIO, handover: Handover, *, unhurried: bool = False) -> Mapping[str, Finding]:
    """The answers to the questions in `RECOMPUTED`, computed in this process. Raises `MemoryError`."""
    return {finding.key: finding for finding in recheck_each(unpack_bag(packed), handover, unhurried=unhurried)}


def recheck_each(bag: HashedBag, handover: Handover, *, unhurried: bool = False) -> Iterator[Finding]:
    """The same, each as soon as it is known; `unhurried` with all pictures. Raises `MemoryError`."""
    try:
        log = _gather_log(bag, handover)
    except Refused as why:
        yield from _tell_refused(why)
        return
    # A stranger could look for a log at which this program stops. It then fails all that it would have been asked, as
    # none is ever handed over: whoever packs one computes with it first.
    handed = attempt(log.read)
    if handed is None:
        yield from (fail_stopped(key, log.find_stopper()) for key in RECOMPUTED)
    elif handed.figures is None:
        yield from _tell_unreadable(handed, handover)
    else:
        yield from _answer(bag, handover, log, handed=handed, unhurried=unhurried)


def _tell_refused(why: Refused) -> Iterator[Finding]:
    """What is too large was not looked at; what is there and cannot be read fails all that rests on it."""
    flaw = Flaw(rule="cannot-be-read", message=why.message, file=why.file)
    for key in RECOMPUTED:
        yield leave_open(key, f"{why.file}: {why.message}") if why.rule == "too-large" else judge(key, [flaw], "")


@frozen
class _LogBytes:
    """The log in a bag, not yet read."""

    handover: Handover
    "what the bag's list says of it"
    texts: Mapping[str, bytes]
    "`log.yaml` and the entries by path in the log"
    paths: frozenset[str]
    "of all files of the log, withheld ones too"
    format: int
    "of the figures beside it, as far as it can be told; today's else"

    def read(self, entries: Sequence[str] | None = None) -> Run:
        """The log read and computed; with `entries`, these alone."""
        kept = {p: raw for p, raw in self.texts.items() if entries is None or p in entries or p == "log.yaml"}
        paths = self.paths - (self.texts.keys() - kept.keys())
        return read_handed(kept, paths, self.handover.as_of, format=self.format)

    def find_stopper(self, then: Callable[[Run], object] = lambda handed: handed) -> str:
        """In which file of the bag the entry stands at which reading it, and what is done `then`, stops."""
        entries = sorted(path for path in self.texts if path != "log.yaml")
        path = find_stopper(entries, lambda some: attempt(lambda: then(self.read(some)) or True) is None)
        return f"{PAYLOAD}{LOG}{self.handover.bag_name(path)}"


def _gather_log(bag: HashedBag, handover: Handover) -> _LogBytes:
    start = PAYLOAD + LOG
    paths = {handover.owner_path(name.removeprefix(start)): name for name in bag.sizes if name.startswith(start)}
    texts = {path: name for path, name in paths.items() if is_text(path)}
    # Before any of them is in memory; each is at most as large as the bag says.
    if sum(bag.sizes[name] for name in texts.values()) > LARGEST_LOG:
        raise Refused("too-large", f"the entries have more than {LARGEST_LOG} bytes, so they are not read", start)
    # Withheld files count as being there: entries speak of them, and a name without a file would be an error of the
    # log.
    held = {one.path for one in handover.withheld}
    read = {path: bag.read(name, LARGEST_LOG) for path, name in texts.items()}
    return _LogBytes(handover=handover, texts=read, paths=frozenset({*paths, *held}), format=_find_format(bag))


def _find_format(bag: HashedBag) -> int:
    """The format of the figures in a bag, from their text alone; today's where it cannot be told."""
    try:
        # Canonical JSON has its keys in order, and no other object of the file has these two beside each other.
        found = re.search(rb'"format":([0-9]{1,4}),"identity":', bag.read(PAYLOAD + FIGURES, LARGEST_FIGURES))
    except (Refused, KeyError):
        return FORMAT
    return int(found[1]) if found else FORMAT


def _tell_unreadable(handed: Run, handover: Handover) -> Iterator[Finding]:
    """The answers where `log.yaml` cannot be read: what is wrong with it, and that nothing can be computed for it."""
    flaws = list(_tell_problems(handed.problems, handover))
    yield judge("totals", flaws, "")
    message = "it cannot be read (see above), and nothing can be worked out without it"
    flaw = Flaw(rule="cannot-be-read", message=message, file=flaws[0].file if flaws else PAYLOAD + LOG)
    yield from (judge(key, [flaw], "") for key in RECOMPUTED if key != "totals")


def _answer(bag: HashedBag, handover: Handover, log: _LogBytes, *, handed: Run, unhurried: bool) -> Iterator[Finding]:
    """Questions 6 to 11."""
    compared = attempt(lambda: compare_figures(bag, _get_figures(handed), made_by=handover.made_by))
    answers = compared and attempt(lambda: list(_answer_figures(bag, handover, handed, compared=compared)))
    yield from answers or (fail_stopped(key, PAYLOAD + FIGURES) for key in ("totals", *GROUPS))
    # No log with an error is handed over, so an error came later, or by other rules: see `Compared.excuses`.
    wrong = next(_tell_problems(handed.problems, handover), None)
    if wrong:
        yield _refuse_pages(wrong, compared)
        return
    pages = attempt(lambda: answer_pages(bag, handover, _get_figures(handed), unhurried=unhurried))
    yield pages or fail_stopped("pages", log.find_stopper(lambda some: _try_pages(bag, handover, some)))


def _refuse_pages(wrong: Flaw, compared: Compared | None) -> Finding:
    """Why no page can be made again of a log in which something is wrong."""
    if compared and compared.excuses(wrong):
        return leave_open("pages", compared.explain(str(wrong)))
    message = f"no pages can be made while this is wrong in the log: {wrong.message}"
    return judge("pages", [Flaw(rule=wrong.rule, message=message, file=wrong.file)], "")


def _try_pages(bag: HashedBag, handover: Handover, handed: Run) -> None:
    """Make the pages, where no error forbids it."""
    if handed.figures and not any(_tell_problems(handed.problems, handover)):
        make_pages(bag, handover, handed.figures)


def _get_figures(handed: Run) -> Figures:
    assert handed.figures is not None
    return handed.figures


def _answer_figures(bag: HashedBag, handover: Handover, handed: Run, *, compared: Compared) -> Iterator[Finding]:
    """Questions 6 to 10."""
    figures = _get_figures(handed)
    own = {key: _list_own(figures, key) for key in GROUPS}
    others = [problem for problem in handed.problems if not any(problem in found for found in own.values())]
    for key in ("totals", *GROUPS):
        # Those that were held back as follow-ons of another problem are no flaws.
        told = [problem for problem in own[key] if problem in handed.problems] if key in own else others
        flaws = list(_tell_problems(told, handover))
        flaws += _check_machine(figures, handover) if key == "identity" else []
        finding = compared.object_to(key, flaws) or TELL[key](figures, handover)
        if key == "totals":
            # Of what was worked out here, and not of the file: figures forged to hide a question hide none.
            asks = ask_of_figures(list_figures(figures))
            finding = replace(note(finding, _remark_days(bag, figures, handover)), asks=asks)
        yield finding


def _check_machine(figures: Figures, handover: Handover) -> list[Flaw]:
    """Whether the bag's list and the log speak of the same machine."""
    name = name_machine(figures)
    if name == handover.machine:
        return []
    message = f"it calls the machine `{handover.machine}`, but `log.yaml` calls it `{name}`"
    return [Flaw(rule="machine-differs", message=tame(message), file=PAYLOAD + LIST)]


def _remark_days(bag: HashedBag, figures: Figures, handover: Handover) -> Iterator[Flaw]:
    """Entries of later days than the figures, or than their seal, whose files are named after no day or another one.

    Of those that are named after their day `remarks` tells, which reads no entry.
    """
    days = {f"entries/{entry.name}.md": entry.date for entry in figures.log.entries}
    hidden = {path: day for path, day in days.items() if find_day(path) != day}
    later = sorted(path for path, day in hidden.items() if day > handover.as_of)
    if later:
        values = {"day": handover.as_of, "last": max(hidden[path] for path in later), "names": name_some(later)}
        yield tell("entries-left-out", PAYLOAD + LIST, entries=len(later), **values)
    report = check_seals(read_seals(bag), {})
    yield from remark_dates(Sealed(seals=report.seals, leaves=report.leaves, beside={}), hidden.get)


def _list_own(figures: Figures, key: str) -> tuple[Problem, ...]:
    """The problems that are about one question alone."""
    found: tuple[Problem, ...] = getattr(figures, key).problems
    return found


def _tell_problems(problems: Iterable[Problem], handover: Handover) -> Iterator[Flaw]:
    """The errors among problems: no log with one is ever handed over."""
    for problem in problems:
        # Warnings are the owner's business, and no log is kept from being handed over by them.
        if problem.severity == "error":
            file = f"{PAYLOAD}{LOG}{handover.bag_name(problem.place.file)}:{problem.place.line}"
            yield Flaw(rule=problem.rule, message=tame(problem.message), file=tame(file))


# ── what holds ───────────────────────────────────────────────────────────────────────────────────────────────────


def _tell_totals(figures: Figures, handover: Handover) -> Finding:
    costs = figures.costs
    entries, lines = count(len(figures.entries), "entry", "entries"), count(len(costs.lines), "line")
    says = f"{entries}; spent {costs.spent} in {lines}"
    return hold("totals", says)


def _tell_service(figures: Figures, handover: Handover) -> Finding:
    if not figures.due:
        return lack("service", "no service intervals are set")
    return hold("service", say_counts(figures.due))


def _tell_meter(figures: Figures, handover: Handover) -> Finding:
    meter = figures.meter
    if not meter.readings:
        return lack("meter", "the log has no readings")
    declared = f", meter changes and rollovers declared: {len(meter.steps)}" if meter.steps else ""
    stated = f"the owner states `{meter.statement}`" if meter.statement else "the owner states nothing about the total"
    return hold("meter", f"{count(len(meter.readings), 'reading')}, no total falls{declared}; {stated}")


def _tell_identity(figures: Figures, handover: Handover) -> Finding:
    vin, hin = figures.identity.vin, figures.identity.hin
    if vin is None and hin is None:
        return lack("identity", "the log gives no VIN and no HIN: compare the numbers on the machine with the papers")
    if vin is None:
        return lack("identity", "a HIN has no check digit: compare it with the hull and the papers")
    if vin.check_digit != "holds":
        says = "the VIN's check digit does not agree, and outside North America it need not"
        return lack("identity", f"{says}: compare it with the machine and the papers")
    return hold(
        "identity", "the VIN's check digit agrees, which is weak evidence: compare it with the machine and the papers"
    )


def _tell_evidence(figures: Figures, handover: Handover) -> Finding:
    evidence = figures.evidence
    if not evidence.claims:
        return lack("evidence", "the log has nothing to back up yet")
    shares = ", ".join(f"{row.claims_percent:f} % {LEVEL_WORDS[row.level]}" for row in evidence.coverage if row.claims)
    away = {held.path for held in handover.withheld}
    unseen = sum(claim.paper in away for claim in evidence.claims)
    unseen_words = f"; on papers that are withheld: {unseen}" if unseen else ""
    return hold("evidence", f"{count(len(evidence.claims), 'claim')}: {shares}{unseen_words}")


TELL: Mapping[str, Callable[[Figures, Handover], Finding]] = {
    "totals": _tell_totals,
    "service": _tell_service,
    "meter": _tell_meter,
    "identity": _tell_identity,
    "evidence": _tell_evidence,
}
