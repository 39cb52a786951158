"""What is asked of a bag, in which order, and how an answer is told: holds, fails, or cannot be checked.

What has to be known beside an answer is told as notes. The questions stand here once, for `verify`, for the page that
checks in a browser and for the guide.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field, replace
from typing import Any, Literal

from buildlog.frozen import frozen
from buildlog.record.rules import MOST_NAMED, WORDS, name_rule, say, say_day
from buildlog.text import agree

State = Literal["holds", "fails", "cannot be checked"]
STATES: tuple[State, ...] = ("holds", "fails", "cannot be checked")

QUESTIONS = {
    "files": "files as packed",
    "sealed": "files as sealed",
    "seals": "chain of seals",
    "stamps": "time stamps",
    "signatures": "signatures",
    "totals": "costs, parts, faults",
    "service": "service status",
    "meter": "meter",
    "identity": "identity",
    "evidence": "evidence",
    "pages": "pages of the site",
    "withheld": "what is withheld",
}
"Each question by its key, as shown, in the order in which they are asked and numbered."
FIRST = frozenset(
    """
    sealed-before-its-day stamp-long-after
    last-not-signed last-not-stamped not-vouched another-key entries-left-out figures-older other-program own-theme
    pages-say-other
    """.split()
)
"Rules of notes that are told before all answers: what a buyer has to know before *holds* is read."
CAUTION = (
    "This says whether a record is whole and agrees with itself. It is not an inspection, a warranty or a valuation: "
    "what the owner wrote may still be wrong."
)


@frozen
class Flaw:
    """One way in which something does not hold."""

    rule: str
    "stable kebab-case name of what is wrong"
    message: str
    "lower case, no full stop"
    file: str = ""
    "in which file of the bag, from its top"

    def __str__(self) -> str:
        return f"{self.file}: {self.message}" if self.file else self.message


@frozen
class Finding:
    """The answer to one question."""

    key: str
    "of the question"
    state: State
    "cannot be checked: nothing that was seen proves it, and nothing speaks against it"
    says: str
    "what holds, or why it cannot be checked; with flaws, how many there are"
    flaws: tuple[Flaw, ...] = ()
    "those that are told; with one, it fails"
    notes: tuple[Flaw, ...] = ()
    "what does not fail, and has to be known beside the answer"
    absent: bool = False
    "with *cannot be checked*: there is nothing of the kind, or its owner openly withheld it: nothing was left undone"
    part: str = ""
    "with *cannot be checked*: what of the question is left, where the rest holds; empty: all of it"
    asks: tuple[Flaw, ...] | None = None
    "what the figures that were worked out for it give reason to ask the seller; None: none were"

    @property
    def number(self) -> int:
        """The question's number, from 1."""
        # By the order of the list, so that no number stands in two places.
        return list(QUESTIONS).index(self.key) + 1


def tell(words: str, file: str = "", **values: object) -> Flaw:
    """A flaw in the words of a rule, see `WORDS`."""
    return Flaw(rule=name_rule(words), message=say(words, **values), file=file)


def hold(key: str, says: str) -> Finding:
    """That it holds."""
    return Finding(key=key, state="holds", says=says)


def leave_open(key: str, why: str, *, part: str = "") -> Finding:
    """That it cannot be checked, or a part of it."""
    return Finding(key=key, state="cannot be checked", says=why, part=part)


def lack(key: str, why: str) -> Finding:
    """That it cannot be checked, as the record has nothing of the kind, or its owner openly withheld it."""
    return Finding(key=key, state="cannot be checked", says=why, absent=True)


def judge(key: str, flaws: Iterable[Flaw], says: str) -> Finding:
    """That it fails with these flaws, or holds when there is none."""
    found = tuple(flaws)
    if not found:
        return hold(key, says)
    # A stranger's bag may have a hundred thousand flaws; how many there are is told all the same.
    named = found[:MOST_NAMED]
    count = say("fails more" if len(found) > len(named) else "fails", flaws=len(found), named=len(named))
    return Finding(key=key, state="fails", says=count, flaws=named)


def object_to(finding: Finding, flaws: Iterable[Flaw]) -> Finding:
    """The same answer, failing with these flaws too; what it tells of already is not told again."""
    told = {(one.rule, one.file) for one in finding.flaws}
    more = [one for one in flaws if (one.rule, one.file) not in told]
    if not more or len(finding.flaws) >= MOST_NAMED:
        return finding
    return replace(judge(finding.key, (*finding.flaws, *more), ""), notes=finding.notes, asks=finding.asks)


def note(finding: Finding, notes: Iterable[Flaw]) -> Finding:
    """The same answer with more notes, no more of one rule than are named."""
    told = [*finding.notes]
    for one in notes:
        # Bounded for each rule, so that many harmless notes cannot crowd out the one that matters.
        if sum(other.rule == one.rule for other in told) < MOST_NAMED:
            told.append(one)
    return replace(finding, notes=tuple(told))


# ── in plain words ───────────────────────────────────────────────────────────────────────────────────────────────

OF_FILES = ("files", "sealed", "seals", "withheld")
"Questions that fail where something is other than it was packed or sealed."
GONE = tuple(
    """
    missing page-missing sealed-missing seal-missing leaves-missing leaves-cut-short leaf-cut no-bag no-list
    """.split()
)
"Rules by which something is missing."
NEVER_TRUE = ("date-impossible", "info-differs", "oxum", "names-wrong")
"Rules of the same questions by which nothing need be changed: it can never have been true, or follows from another."
NO_RECORD = ("no-bag", "no-list")
"Both together: this is another folder than that of a record."
FIGURED = ("totals", "service", "meter", "identity", "evidence")
"Questions that are answered by working the figures out again."


@frozen
class Verdict:
    """All answers in one sentence of everyday words, that is true whatever lies in a bag."""

    rule: str
    "which of the sentences"
    says: str
    "with a capital and no full stop"


def judge_all(findings: Mapping[str, Finding], last: datetime.date | None) -> Verdict:
    """The verdict over answers by their key; `last` is the day of the last seal."""
    # Each case before those that it would make untrue; the page decides in the same order (`check_page/verdict.js`).
    failing = [one for one in findings.values() if one.state == "fails"]
    flaws = [flaw for one in failing for flaw in one.flaws]
    rules = {flaw.rule for flaw in flaws}
    if "sealed" in findings and findings["sealed"].says == say("refused open"):
        return _decide("refused", why=str(findings["files"].flaws[0]))
    if rules.issuperset(NO_RECORD):
        return _decide("no record")
    if "code-unknown" in rules:
        return _decide("other")
    if not failing:
        return _decide("holds", day=say_day(last)) if last else _decide("unsealed")
    missing = bool(rules.intersection(GONE))
    files = {flaw.rule for one in failing if one.key in OF_FILES for flaw in one.flaws}
    changed = bool(files.difference(GONE, NEVER_TRUE))
    if missing:
        return _decide("both" if changed else "missing")
    return _decide("changed" if changed else "contradicts")


def _decide(rule: str, **values: object) -> Verdict:
    return Verdict(rule=rule.replace(" ", "-"), says=say(f"verdict {rule}", **values))


def list_checked(findings: Iterable[Finding]) -> Iterator[tuple[State, str]]:
    """What was checked, as sentences of everyday words, and in one more what was not."""
    left: dict[str, None] = {}
    for one in findings:
        if one.state == "cannot be checked" and not one.absent:
            # In one line together: eight that say the same would be read as eight alarms.
            left[f"plain open {one.part or ('figures' if one.key in FIGURED else one.key)}"] = None
            if one.part:
                yield "holds", say(f"plain {one.key} {one.part}")
            continue
        none = one.key == "withheld" and one.says == say("withheld none")
        words = f"plain {one.key} {'none' if none else 'absent' if one.absent else one.state}"
        if words in WORDS:
            yield one.state, say(words)
    if what := "; ".join(say(key) for key in left if key in WORDS):
        yield "cannot be checked", say("plain open", what=what)


SHORT_STATES: Mapping[State, str] = {"holds": "yes", "fails": "no", "cannot be checked": "open"}
"How a state is told beside a sentence of everyday words."


@frozen
class Report:
    """Every answer about one bag."""

    findings: tuple[Finding, ...]
    "one for each question, in their order"
    about: str = field(default="")
    "which machine and day the bag says that it is about"
    last: datetime.date | None = None
    "day of the last seal; None: never sealed"
    code: str = ""
    "what became of a short code that somebody kept, in a sentence"
    asks: tuple[Flaw, ...] = ()
    "what to ask the seller, one question each"
    asks_stated: bool = False
    "whether questions follow from figures that were not worked out here"

    @property
    def verdict(self) -> Verdict:
        """All of it in one sentence."""
        return judge_all({one.key: one for one in self.findings}, self.last)

    @property
    def checked(self) -> tuple[tuple[State, str], ...]:
        """What was checked, in plain words; nothing where nothing could be looked at."""
        looked = self.verdict.rule not in ("refused", "no-record")
        return tuple(list_checked(self.findings)) if looked else ()

    @property
    def failed(self) -> bool:
        """Whether anything fails."""
        return any(finding.state == "fails" for finding in self.findings)

    @property
    def unchecked(self) -> tuple[str, ...]:
        """Questions about something that is here and was not checked to its end, whatever the reason."""
        return tuple(one.key for one in self.findings if one.state == "cannot be checked" and not one.absent)

    @property
    def incomplete(self) -> bool:
        """Whether a reader must not take *nothing fails* for *all is well*."""
        return bool(self.unchecked or self.first)

    @property
    def first(self) -> tuple[Flaw, ...]:
        """What has to be known before the answers are read."""
        return tuple(one for finding in self.findings for one in finding.notes if one.rule in FIRST)

    def as_text(self) -> str:
        """The verdict, what was checked and what to ask in plain words; below it the numbered list."""
        rows = [*self._tell_plainly(), f"In detail: {self.about}" if self.about else "In detail:", ""]
        for finding in self.findings:
            title = QUESTIONS[finding.key]
            rows.append(f"{finding.number:2}. {finding.state:17}  {title}: {finding.says}")
            rows += [f"{'':23}{flaw}" for flaw in finding.flaws]
            rows += [f"{'':23}note: {one}" for one in finding.notes if one.rule not in FIRST]
        counts = [(sum(f.state == state for f in self.findings), state) for state in STATES]
        rows += ["", ", ".join(f"{count} {_agree(count, state)}" for count, state in counts if count)]
        if self.unchecked:
            rows.append(f"here, and not checked to the end: {', '.join(QUESTIONS[key] for key in self.unchecked)}")
        rows.append(CAUTION)
        return "".join(f"{row}\n" for row in rows)

    def _tell_plainly(self) -> Iterator[str]:
        """What is read before the details, by somebody who knows none of their words."""
        yield f"{self.verdict.says}."
        yield from filter(None, [self.code and f"{self.code}."])
        if self.first:
            yield f"{say('verdict first')}."
        yield ""
        # Above all answers: whoever reads "holds" first may read no further.
        if self.first:
            yield from (*(f"read this first: {one}" for one in self.first), "")
        if self.checked:
            yield from ("Checked:", *(f"  {SHORT_STATES[state]:5} {says}" for state, says in self.checked), "")
            yield "What to ask the seller:"
            yield from (f"  - {one.message}" for one in self.asks)
            yield from filter(None, [not self.asks and f"  {say('ask none')}."])
            yield from filter(None, [self.asks_stated and f"  {say('ask stated')}."])
            yield ""

    def as_json(self) -> str:
        """The same as data, with one line end at the end."""
        data = [
            {
                "number": finding.number,
                "question": finding.key,
                "state": finding.state,
                "says": finding.says,
                "flaws": [_list_flaw(one) for one in finding.flaws],
                "notes": [_list_flaw(one) for one in finding.notes],
            }
            for finding in self.findings
        ]
        whole: dict[str, Any] = {
            "verdict": {"rule": self.verdict.rule, "says": self.verdict.says},
            "code": self.code,
            "checked": [{"state": state, "says": says} for state, says in self.checked],
            "ask": [{"rule": one.rule, "says": one.message} for one in self.asks],
            "about": self.about,
            "failed": self.failed,
            "incomplete": self.incomplete,
            "first": [_list_flaw(one) for one in self.first],
            "findings": data,
        }
        return json.dumps(whole, indent=2) + "\n"


def _list_flaw(one: Flaw) -> dict[str, str]:
    return {"rule": one.rule, "file": one.file, "message": one.message}


def _agree(count: int, state: State) -> str:
    return agree(count, state, {"holds": "hold", "fails": "fail"}.get(state, state))
