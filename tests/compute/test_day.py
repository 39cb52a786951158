"""As of a day is the log as it stood on it: an entry counts from its own day on, with everything that it tells."""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from hypothesis import event, given

from buildlog.answers.forms import Answer
from buildlog.answers.ledger import answer_costs, answer_due, answer_next, answer_parts
from buildlog.answers.work import answer_apart, answer_faults
from buildlog.compute.figures import ANSWERS, Figures, compute_figures
from buildlog.handover.figures_json import find_difference, write_figures
from buildlog.read.records import Log
from tests.random_logs import logs, moments

QUESTIONS: dict[str, Callable[[Figures], Answer]] = {
    "costs": answer_costs,
    "parts": answer_parts,
    "due": answer_due,
    "faults": answer_faults,
    "next": answer_next,
    "apart": lambda figures: answer_apart(figures, ()),
    "apart, planned": lambda figures: answer_apart(figures, ("wheel",)),
}


def cut_off(log: Log, day: datetime.date) -> Log:
    """The log whose owner stopped on a day."""
    return replace(log, entries=tuple(entry for entry in log.entries if entry.date <= day))


def list_all(figures: Figures) -> dict[str, Any]:
    """Every figure that is kept, and every answer of every question, by its name."""
    asked = {name: {"text": ask(figures).as_text(), "data": ask(figures).data} for name, ask in QUESTIONS.items()}
    return {"figures": json.loads(write_figures(figures)), **asked}


def drop_problems(figures: Figures, log: Log) -> Figures:
    """The figures alone: neither what is wrong nor the log that they were asked of."""
    answers = {name: replace(getattr(figures, name), problems=()) for name in ANSWERS}
    return replace(figures, log=log, problems=(), **answers)


@given(log=logs, day=moments)
def test_every_figure_is_that_of_the_log_cut_off_after_the_day(log: Log, day: datetime.date) -> None:
    """No question knows of an entry written later: costs, shelf, post, names, meter, service, faults, evidence."""
    short = cut_off(log, day)
    event("later entries" if len(short.entries) < len(log.entries) else "nothing later")
    whole, then = compute_figures(log, day), compute_figures(short, day)
    assert find_difference(list_all(whole), list_all(then)) == ""
    assert drop_problems(whole, log) == drop_problems(then, log)


@given(log=logs, day=moments)
def test_what_is_wrong_is_reported_whatever_the_day(log: Log, day: datetime.date) -> None:
    """As of an earlier day every problem of the whole log is reported, and no other: later entries do not hide them."""
    last = max((entry.date for entry in log.entries), default=day)
    early, late = compute_figures(log, min(day, last)), compute_figures(log, last)
    assert sorted(early.problems, key=str) == sorted(late.problems, key=str)
