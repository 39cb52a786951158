"""What a photo is said to show: a name that leads nowhere, or that its entry says nothing of, backs nothing."""

from __future__ import annotations

from datetime import date

import pytest

from buildlog.compute.figures import compute_figures
from buildlog.problems import Problem
from tests.support import SETTINGS, log_of

SERVICE = SETTINGS + "service: {oil: {name: Oil, every: {months: 12}}}\ncomponents: {pump: {system: fuel}}\n"
BOUGHT = "date: 2024-03-01\nbought: {from: A, arrived: 2024-03-01, lines: {part: lift-pump, number: LP 44, each: 1}}"


def find(shows: str, more: str = "") -> list[Problem]:
    head = f"date: 2024-04-01\nphotos: {{file: a.jpg, says: A, shows: {shows}}}\n{more}"
    problems = compute_figures(log_of(BOUGHT, head, settings=SERVICE), date(2024, 5, 1)).problems
    return [problem for problem in problems if "show" in problem.rule]


@pytest.mark.parametrize(
    ("shows", "help"),
    [
        ("lift-pmp", "did you mean `lift-pump`?"),
        ("oyl", "did you mean `oil`?"),
        ("metre", "did you mean `meter`?"),
        ("[lift-pump, sump]", "did you mean `pump`?"),
        ("crack", "known here: `lift-pump`, `lp44`, `meter`, `oil`, `pump`"),
    ],
)
def test_a_name_that_leads_nowhere_is_an_error(shows: str, help: str) -> None:
    """The nearest is offered: a thing of its own entry first, else one of the log."""
    [problem] = find(shows, "fitted: lift-pump\nserviced: oil\nreading: 5")
    assert (problem.rule, problem.severity, problem.help) == ("unknown-shown", "error", help)
    assert problem.place.path.startswith("photos.shows")


@pytest.mark.parametrize("shows", ["lift-pump", "oil", "meter", "pump"])
def test_a_thing_that_its_entry_says_nothing_of_is_a_warning(shows: str) -> None:
    """It exists, and no claim of this entry is backed by it."""
    [problem] = find(shows)
    assert (problem.rule, problem.severity) == ("shows-elsewhere", "warning")
    assert f"`{shows}`" in problem.message


@pytest.mark.parametrize(
    ("shows", "more"),
    [
        ("lift-pump", "fitted: lift-pump"),
        ("oil", "serviced: oil"),
        ("meter", "reading: 5"),
        ("meter", "serviced: {item: oil, reading: 5}"),
        ("noise", "faults: {fault: noise, name: Noise, suspects: [pump]}"),
        ("pump", "faults: {fault: noise, name: Noise, suspects: [pump]}"),
    ],
)
def test_what_the_entry_mentions_can_be_shown(shows: str, more: str) -> None:
    """Parts, service items, faults and their suspects, and the meter."""
    assert find(shows, more) == []
