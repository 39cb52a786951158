"""Warranties, last days to send something back and to hand in an old unit: when they end, and who is told."""

from __future__ import annotations

import datetime

import pytest

from buildlog.compute.figures import Figures, compute_figures
from tests.support import log_of

ORDER = """date: 2024-01-31
bought:
  from: S
  ref: A1
  paid: 2024-01-31
  arrived: 2024-01-31
  return_by: 2024-03-10
  lines:
    - {part: pump, each: 100.00, core: 20.00, core_by: 2024-04-01, warranty: {months: 1}}
    - {part: seal, each: 10.00, warranty: {until: 2025-01-31}, return_by: 2024-02-14}
"""


def compute(*heads: str, day: str) -> Figures:
    return compute_figures(log_of(*heads), datetime.date.fromisoformat(day))


def list_deadlines(*heads: str, day: str) -> list[tuple[str, str, str, str]]:
    return [(d.name, d.kind, str(d.until), d.state) for d in compute(*heads, day=day).deadlines]


def test_each_ends_on_its_day() -> None:
    """A month from 31 January 2024 ends on 29 February; on its last day a thing is still due, a day later no more."""
    assert list_deadlines(ORDER, day="2024-02-10") == [
        ("Seal", "return", "2024-02-14", "due"),
        ("Pump", "warranty", "2024-02-29", "due"),
        ("Pump", "return", "2024-03-10", "due"),
        ("Pump", "core", "2024-04-01", "later"),
        ("Seal", "warranty", "2025-01-31", "later"),
    ]
    assert [one[1] for one in list_deadlines(ORDER, day="2024-02-29")] == ["warranty", "return", "core", "warranty"]
    assert [one[1] for one in list_deadlines(ORDER, day="2024-03-01")] == ["return", "core", "warranty"]


def test_a_core_that_is_late_is_still_owed() -> None:
    """Over by a day, until it has come back."""
    assert ("Pump", "core", "2024-04-01", "overdue") in list_deadlines(ORDER, day="2024-04-02")
    back = "date: 2024-04-03\nreturned: {ref: A1, part: pump, core: 20.00}"
    assert "core" not in [one[1] for one in list_deadlines(ORDER, back, day="2024-04-03")]


def test_months_count_from_the_last_parcel() -> None:
    """What is in the post has no warranty yet; work has one from the day of its order."""
    post = ORDER.replace("  arrived: 2024-01-31\n", "")
    assert [one[1] for one in list_deadlines(post, day="2024-02-10")] == ["return", "return", "core", "warranty"]
    came = "date: 2024-02-20\narrived: A1"
    assert ("Pump", "warranty", "2024-03-20", "due") in list_deadlines(post, came, day="2024-02-20")
    work = (
        "date: 2024-01-31\nbought: {from: S, lines: {what: Welding, each: 5.00, kind: labour, warranty: {months: 2}}}"
    )
    assert list_deadlines(work, day="2024-02-01") == [("Welding", "warranty", "2024-03-31", "later")]


def test_what_went_back_has_none() -> None:
    """A seal that is with the shop again has neither a warranty nor a last day."""
    back = "date: 2024-02-05\nreturned: {ref: A1, part: seal, qty: 1, refund: 10.00}"
    assert [one for one in list_deadlines(ORDER, back, day="2024-02-10") if one[0] == "Seal"] == []


def test_what_fails_within_its_warranty_is_said_so() -> None:
    """Removed with a reason on the last day: within; a day later, or without a reason: not."""
    fitted = "date: 2024-02-02\nfitted: pump"
    for day, why, found in (
        ("2024-02-29", ", why: leaks", 1),
        ("2024-03-01", ", why: leaks", 0),
        ("2024-02-29", "", 0),
    ):
        figures = compute(ORDER, fitted, f"date: {day}\nremoved: {{part: pump{why}}}", day="2024-06-01")
        assert len(figures.failures) == found, (day, why)
    figures = compute(ORDER, fitted, "date: 2024-02-29\nremoved: {part: pump, why: leaks}", day="2024-06-01")
    assert [(one.part, str(one.until), one.entry) for one in figures.failures] == [("pump", "2024-02-29", "e3")]


WRONG = {
    "neither": ("warranty: {}", "warranty-without-end"),
    "both": ("warranty: {months: 24, until: 2026-01-31}", "warranty-two-ends"),
    "over before it was ordered": ("warranty: {until: 2024-01-30}", "deadline-before-order"),
    "sent back before it was ordered": ("return_by: 2024-01-30", "deadline-before-order"),
    "a core that was not charged": ("core_by: 2024-05-01", "core-by-without-core"),
}


@pytest.mark.parametrize("name", WRONG)
def test_one_deadline_is_wrong(name: str) -> None:
    """One problem at its key, with a remedy."""
    written, rule = WRONG[name]
    order = f"date: 2024-01-31\nbought:\n  from: S\n  lines:\n    - {{part: seal, each: 10.00, {written}}}"
    [problem] = [problem for problem in compute(order, day="2024-02-01").problems if problem.severity == "error"]
    assert (problem.rule, problem.place.line) == (rule, 6)
    assert problem.help
