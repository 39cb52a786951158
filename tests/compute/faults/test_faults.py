"""The story of a fault: its states, what is left, what contradicts itself, and what it cost."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from buildlog.compute.faults.faults import FaultFigures
from buildlog.problems import Problem
from tests.compute.fault_logs import figure_faults
from tests.support import gbp

PLAN = """
components:
  pump: {name: Lift pump, check_hours: 0.3}
  hose: {}
  head: {}
  output: {name: Transfer box output}
  front-shaft: {driven_by: output}
  rear-shaft: {driven_by: output}
"""
OPENED = "date: 2024-05-01\nfaults: {fault: hot, name: Will not start hot, suspects: [pump, hose, head]}"
CLEARED = "date: 2024-05-02\nchecks: {fault: hot, did: Clear hose, clears: [hose], hours: 0.5}"
CAUSE = "date: 2024-05-03\nchecks: {fault: hot, did: On the bench, cause: pump}"
FIXED = "date: 2024-05-04\nfixed: {fault: hot, how: New pump}"
PROVED = "date: 2024-05-06\nfixed: {fault: hot, proved: Three hot starts}"
AGAIN = "date: 2024-06-01\nseen_again: {fault: hot, note: After a tow}"


def fault_of(*heads: str, as_of: str = "2025-01-01") -> FaultFigures:
    (fault,) = figure_faults(*heads, plan=PLAN, as_of=as_of).faults
    return fault


def problem_of(*heads: str) -> Problem:
    """The one problem that entries have."""
    (problem,) = figure_faults(*heads, plan=PLAN).problems
    return problem


def verdicts(fault: FaultFigures) -> dict[str, str]:
    return {suspect.key: suspect.verdict for suspect in fault.suspects}


STORY = (OPENED, CLEARED, CAUSE, FIXED, PROVED, AGAIN)


@pytest.mark.parametrize(
    ("told", "state", "left", "closed"),
    [
        (1, "open", ("pump", "hose", "head"), None),
        (2, "narrowed", ("pump", "head"), None),
        (3, "cause known", ("pump", "head"), None),
        (4, "fixed, not proved", ("pump", "head"), None),
        (5, "proved", ("pump", "head"), date(2024, 5, 6)),
        (6, "narrowed", ("pump", "head"), None),
    ],
)
def test_states_follow_each_other(told: int, state: str, left: tuple[str, ...], closed: date | None) -> None:
    """Open, narrowed, cause known, fixed, proved; seen again it is open once more. Only a proof closes."""
    fault = fault_of(*STORY[:told])
    assert (fault.state, fault.left, fault.closed) == (state, left, closed)
    assert fault.state == "proved" or fault.closed is None


@pytest.mark.parametrize("told", range(1, 7))
def test_a_day_knows_nothing_of_later_entries(told: int) -> None:
    """The figures as of the day of an entry are those of a log that ends with it; problems are of the whole log."""
    day = STORY[told - 1].split("\n")[0].removeprefix("date: ")
    assert (
        figure_faults(*STORY, plan=PLAN, as_of=day).faults == figure_faults(*STORY[:told], plan=PLAN, as_of=day).faults
    )


def test_each_suspect_knows_what_judged_it() -> None:
    """A suspect says on which day, in which entry and by which check it was cleared or condemned."""
    pump, hose, head = fault_of(*STORY[:3]).suspects
    assert (hose.verdict, hose.judged_on, hose.judged_in, hose.judged_by) == (
        "cleared", date(2024, 5, 2), "e2", "Clear hose",
    )  # fmt: skip
    assert (pump.name, pump.verdict, pump.judged_in) == ("Lift pump", "condemned", "e3")
    assert (head.verdict, head.judged_on, head.since, head.entry) == ("left", None, date(2024, 5, 1), "e1")


def test_a_fix_and_its_proof_in_one_entry() -> None:
    """`how` and `proved` together close the fault on that day."""
    fault = fault_of(OPENED, "date: 2024-05-05\nfixed: {fault: hot, how: New pump, proved: Three hot starts}")
    assert (fault.state, fault.closed, fault.closed_in, fault.cause) == ("proved", date(2024, 5, 5), "e2", None)


def test_a_proof_in_a_later_entry_joins_its_fix() -> None:
    """`{fault, proved}` after a fix is the proof of it: one fix, told in two entries."""
    (fix,) = fault_of(*STORY[:5]).fixes
    assert (fix.entry, fix.how, fix.cause, fix.proved, fix.proved_in) == (
        "e4", "New pump", "pump", "Three hot starts", "e5",
    )  # fmt: skip


def test_seen_again_takes_the_cause_back() -> None:
    """A fix that did not hold: what was condemned is a suspect again, what was cleared stays cleared."""
    fault = fault_of(*STORY)
    assert (fault.cause, verdicts(fault)) == (None, {"pump": "left", "hose": "cleared", "head": "left"})
    assert fault.fixes[0].failed_on == date(2024, 6, 1)
    assert (fault.sightings[0].note, fault.sightings[0].reopened) == ("After a tow", True)


def test_days_between_a_proof_and_the_next_sighting_are_not_open() -> None:
    """1 to 6 May is 5 days, 1 June to 11 June another 10; the 26 days between are none."""
    assert fault_of(*STORY, as_of="2024-06-11").days_open == 15
    assert fault_of(*STORY[:5], as_of="2024-06-11").days_open == 5
    assert fault_of(*STORY[:4], as_of="2024-06-11").days_open == 41


def test_a_group_brings_its_members() -> None:
    """A component that drives others is suspected with all of them, and knows by what name they came."""
    fault = fault_of("date: 2024-05-01\nfaults: {fault: drumming, name: Drumming, suspects: [output, pump]}")
    assert [(suspect.key, suspect.group) for suspect in fault.suspects] == [
        ("output", None), ("front-shaft", "output"), ("rear-shaft", "output"), ("pump", None),
    ]  # fmt: skip


def test_one_check_clears_a_group() -> None:
    """A check that clears a group clears those of its members that are suspects, and no others."""
    whole = fault_of(
        "date: 2024-05-01\nfaults: {fault: drumming, name: Drumming, suspects: [output, pump]}",
        "date: 2024-05-02\nchecks: {fault: drumming, did: Both shafts off, clears: [output]}",
    )
    assert (whole.left, whole.checks[0].clears) == (("pump",), ("output", "front-shaft", "rear-shaft"))
    some = fault_of(
        "date: 2024-05-01\nfaults: {fault: drumming, name: Drumming, suspects: [front-shaft, pump]}",
        "date: 2024-05-02\nchecks: {fault: drumming, did: Both shafts off, clears: [output]}",
    )
    assert (some.checks[0].clears, [suspect.key for suspect in some.suspects]) == (
        ("front-shaft",),
        ["front-shaft", "pump"],
    )


def test_a_group_is_condemned_alone() -> None:
    """`cause: output` is the output, not what it drives."""
    fault = fault_of(
        "date: 2024-05-01\nfaults: {fault: drumming, name: Drumming, suspects: [output]}",
        "date: 2024-05-02\nchecks: {fault: drumming, did: Turned by hand, clears: [front-shaft], cause: output}",
    )
    assert verdicts(fault) == {"output": "condemned", "front-shaft": "cleared", "rear-shaft": "left"}
    assert (fault.cause, fault.cause_name) == ("output", "Transfer box output")


def test_a_check_may_find_what_nobody_suspected() -> None:
    """A cause that was on no list becomes a suspect, and is condemned."""
    fault = fault_of(OPENED, "date: 2024-05-02\nchecks: {fault: hot, did: Found by chance, cause: output}")
    assert (fault.cause, fault.left) == ("output", ("pump", "hose", "head", "output"))
    assert not figure_faults(OPENED, CAUSE, plan=PLAN).problems


def test_a_wrong_lead_gives_way() -> None:
    """Another cause puts the first one back among those left; to clear the cause does so too, and clears it."""
    other = "date: 2024-05-05\nchecks: {fault: hot, did: Cracked, cause: head}"
    assert verdicts(fault_of(OPENED, CAUSE, other)) == {"pump": "left", "hose": "left", "head": "condemned"}
    cleared = "date: 2024-05-05\nchecks: {fault: hot, did: Gauge was wrong, clears: [pump]}"
    fault = fault_of(OPENED, CAUSE, cleared)
    assert (fault.state, fault.cause, fault.left) == ("narrowed", None, ("hose", "head"))


def test_suspects_are_added_and_brought_back() -> None:
    """To name suspects of a known fault adds them; to name a cleared one makes it a suspect again."""
    fault = fault_of(OPENED, CLEARED, "date: 2024-05-03\nfaults: {fault: hot, suspects: [hose, output]}")
    assert fault.left == ("pump", "hose", "head", "output", "front-shaft", "rear-shaft")
    assert (fault.suspects[1].since, fault.suspects[1].entry) == (date(2024, 5, 3), "e3")


def test_money_and_hours_of_a_fault() -> None:
    """Bought for it: 2 × 12.50 + 3.00 = 28.00; checks 0.5 and 0.25 h stated, one not."""
    fault = fault_of(
        OPENED,
        CLEARED,
        "date: 2024-05-03\nhours: 6\nchecks:\n  - {fault: hot, did: A, hours: 0.25}\n  - {fault: hot, did: B}",
        "date: 2024-05-04\nbought: {from: Shop, paid: 2024-05-04, arrived: 2024-05-04, lines: ["
        "{part: seal, qty: 2, each: 12.50, fault: hot}, {what: Grease, each: 3.00, fault: hot}, {what: Rag, each: 9}]}",
    )
    assert (fault.parts_cost, len(fault.cost_lines)) == (gbp("28.00"), 2)
    assert (fault.check_hours, fault.checks_without_hours) == (Decimal("0.75"), 1)
    assert fault.entries == ("e1", "e2", "e3", "e4")


def test_entries_lead_to_each_other() -> None:
    """Each entry knows its faults, their state before and after, and the entries before and after about each."""
    figures = figure_faults(OPENED, "date: 2024-05-01\nhours: 1", CLEARED.replace("05-02", "05-03"), plan=PLAN)
    assert list(figures.by_entry) == ["e1", "e3"]
    (first,), (last,) = figures.by_entry.values()
    assert (first.before, first.after, first.previous, first.next) == (None, "open", None, "e3")
    assert (last.before, last.after, last.previous, last.next, last.name) == (
        "open", "narrowed", "e1", None, "Will not start hot",
    )  # fmt: skip


def test_open_faults_come_first() -> None:
    """By state, then by the day opened; the closed ones last."""
    figures = figure_faults(
        *STORY[:5],
        "date: 2024-07-02\nfaults: {fault: b, name: B}",
        "date: 2024-07-02\nfaults: {fault: a, name: A, suspects: [pump, hose]}",
        "date: 2024-07-03\nchecks: {fault: a, did: C, clears: pump}",
        plan=PLAN,
    )
    assert [(fault.key, fault.state) for fault in figures.faults] == [
        ("b", "open"),
        ("a", "narrowed"),
        ("hot", "proved"),
    ]


def test_the_whole_story_has_no_problem() -> None:
    """What is told in order contradicts nothing."""
    assert figure_faults(*STORY, plan=PLAN).problems == ()


@pytest.mark.parametrize(
    "act",
    [
        "checks: {fault: hto, did: Looked}",
        "fixed: {fault: hto, how: Hit it}",
        "seen_again: hto",
        "bought: {from: Shop, lines: {what: Hose, each: 1, fault: hto}}",
    ],
)
def test_a_fault_that_nobody_named(act: str) -> None:
    """An act on a fault that no entry names is an error, with the nearest name."""
    problem = problem_of(OPENED.replace("hot,", "hot-start,"), f"date: 2024-05-02\n{act.replace('hto', 'hot-strat')}")
    assert (problem.rule, problem.severity) == ("unknown-fault", "error")
    assert (problem.message, problem.help) == (
        "there is no fault `hot-strat` in any entry",
        "did you mean `hot-start`?",
    )


def test_a_fault_that_is_named_later() -> None:
    """An act before the entry that names its fault is an error that cites both places; buying early is none."""
    problem = problem_of(CLEARED.replace("05-02", "04-02"), OPENED)
    assert (problem.rule, problem.message) == ("unknown-fault", "there is no fault `hot` before this")
    assert [place.file for place in problem.also] == ["entries/e2.md"]
    assert not figure_faults(
        "date: 2024-04-01\nbought: {from: Shop, lines: {what: Hose, each: 1, fault: hot}}", OPENED, plan=PLAN
    ).problems


@pytest.mark.parametrize(
    ("act", "what"),
    [
        ("checks: {fault: hot, did: Looked}", "is checked"),
        ("fixed: {fault: hot, how: Hit it}", "is fixed"),
        ("faults: {fault: hot, suspects: [output]}", "has new suspects"),
    ],
)
def test_work_on_a_closed_fault(act: str, what: str) -> None:
    """After its proof a fault is worked on only once it was seen again."""
    late = f"date: 2024-06-02\n{act}"
    problem = problem_of(*STORY[:5], late)
    assert (problem.rule, problem.severity) == ("fault-closed", "warning")
    assert problem.message == f"`hot` {what} on 2024-06-02, but it was confirmed fixed on 2024-05-06"
    assert not figure_faults(*STORY, late, plan=PLAN).problems
    assert not figure_faults(*STORY[:5], f"{late}\nseen_again: hot", plan=PLAN).problems


def test_a_second_proof_is_welcome() -> None:
    """Proved once more is no contradiction, and the first proof's day stands."""
    more = "date: 2024-05-20\nfixed: {fault: hot, proved: Two weeks without}"
    assert not figure_faults(*STORY[:5], more, plan=PLAN).problems
    assert fault_of(*STORY[:5], more).closed == date(2024, 5, 6)


def test_a_proof_before_its_fix() -> None:
    """A proof dated before the fix is a warning, and does not close the fault."""
    early = PROVED.replace("05-06", "05-03")
    problem = problem_of(OPENED, early, FIXED)
    assert (problem.rule, problem.severity, problem.place.file) == ("proof-before-fix", "warning", "entries/e2.md")
    assert fault_of(OPENED, early, FIXED).state == "fixed, not proved"


def test_a_proof_of_a_fix_that_did_not_hold() -> None:
    """Seen again and proved without a new fix: a warning that names the day and the place of that sighting."""
    problem = problem_of(*STORY, "date: 2024-06-09\nfixed: {fault: hot, proved: A week without}")
    assert problem.message == "`hot` is confirmed fixed on 2024-06-09, but nothing was done about it since 2024-06-01"
    assert (problem.rule, [place.file for place in problem.also]) == ("proof-before-fix", ["entries/e6.md"])


def test_a_suspect_cleared_twice() -> None:
    """To clear what is cleared is a warning; the first check stays the one that did it."""
    again = "date: 2024-05-03\nchecks: {fault: hot, did: Looked once more, clears: [hose]}"
    problem = problem_of(OPENED, CLEARED, again)
    assert (problem.rule, problem.severity) == ("cleared-twice", "warning")
    assert problem.message == "`hose` is cleared for `hot` on 2024-05-03, as it was on 2024-05-02"
    assert fault_of(OPENED, CLEARED, again).suspects[1].judged_by == "Clear hose"


def test_what_was_cleared_before_it_came_back_may_be_checked_again() -> None:
    """After `seen_again` an old clearance may be renewed, or be wrong, without a warning."""
    assert not figure_faults(*STORY, "date: 2024-06-02\nchecks: {fault: hot, did: X, clears: hose}", plan=PLAN).problems
    assert not figure_faults(*STORY, "date: 2024-06-02\nchecks: {fault: hot, did: X, cause: hose}", plan=PLAN).problems


def test_a_group_of_which_some_was_cleared_before() -> None:
    """To clear the rest of a group by its name is no warning; to clear all of it again is."""
    opened = "date: 2024-05-01\nfaults: {fault: drumming, name: S, suspects: [output, pump]}"
    one = "date: 2024-05-02\nchecks: {fault: drumming, did: A, clears: [front-shaft]}"
    rest = "date: 2024-05-03\nchecks: {fault: drumming, did: B, clears: [output]}"
    assert not figure_faults(opened, one, rest, plan=PLAN).problems
    assert problem_of(opened, one, rest, rest.replace("05-03", "05-04")).rule == "cleared-twice"


def test_condemning_what_was_cleared() -> None:
    """A cause that was cleared is a warning; the later check is believed."""
    late = "date: 2024-05-03\nchecks: {fault: hot, did: Cracked after all, cause: hose}"
    problem = problem_of(OPENED, CLEARED, late)
    assert (problem.rule, problem.severity) == ("faulty-cleared", "warning")
    assert problem.message == "the check of 2024-05-03 finds `hose` faulty for `hot`, which was cleared on 2024-05-02"
    assert fault_of(OPENED, CLEARED, late).cause == "hose"


def test_clearing_the_last_suspect() -> None:
    """No suspect left and no cause is a warning at the check that cleared the last, until there is one or the other."""
    rest = "date: 2024-05-03\nchecks: {fault: hot, did: Rest, clears: [pump, head]}"
    problem = problem_of(OPENED, CLEARED, rest)
    assert (problem.rule, problem.severity, problem.place.file) == ("nothing-left", "warning", "entries/e3.md")
    more = "date: 2024-05-04\nfaults: {fault: hot, suspects: [output]}"
    assert not figure_faults(OPENED, CLEARED, rest, more, plan=PLAN).problems
    found = "date: 2024-05-04\nchecks: {fault: hot, did: Found, cause: output}"
    assert not figure_faults(OPENED, CLEARED, rest, found, plan=PLAN).problems


def test_a_fault_without_a_name() -> None:
    """A symptom has to be named once, in whichever entry; until then its key is shown in plain words."""
    nameless = OPENED.replace(" name: Will not start hot,", "")
    problem = problem_of(nameless)
    assert (problem.rule, problem.severity) == ("fault-without-name", "warning")
    assert fault_of(nameless).name == "Hot"
    later = "date: 2024-05-02\nfaults: {fault: hot, name: Will not start hot}"
    assert not figure_faults(nameless, later, plan=PLAN).problems
    assert fault_of(nameless, later).name == "Will not start hot"
