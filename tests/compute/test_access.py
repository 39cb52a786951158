"""What is fitted only for now: since when, for how long, until what; and names that are used wrongly."""

from __future__ import annotations

from datetime import date

from buildlog.compute.access import TemporaryFigures
from buildlog.compute.figures import compute_figures
from buildlog.problems import Problem
from tests.support import log_of

STRAP = "date: 2024-05-01\ntemporary: {name: strap, what: A webbing strap, until: the clamp is bent straight}"
WIRE = "date: 2024-05-03\ntemporary: {name: wire, what: A loop of wire}"
GOOD = "date: 2024-05-11\nmade_good: strap"


def repairs_of(*heads: str, as_of: str = "2024-06-01") -> tuple[TemporaryFigures, ...]:
    figures = compute_figures(log_of(*heads), date.fromisoformat(as_of))
    assert figures.problems == ()
    return figures.temporary


def problems_of(*heads: str) -> list[Problem]:
    return list(compute_figures(log_of(*heads), date(2024, 6, 1)).problems)


def test_a_repair_is_temporary_until_it_is_made_good() -> None:
    """Ten days from 1 to 11 May; the other one is 29 days old on 1 June (3 May to 1 June)."""
    strap, wire = repairs_of(STRAP, WIRE, GOOD)
    assert (strap.key, strap.what, strap.until) == ("strap", "A webbing strap", "the clamp is bent straight")
    assert (strap.since, strap.entry, strap.made_good, strap.made_good_in, strap.days) == (
        date(2024, 5, 1), "e1", date(2024, 5, 11), "e3", 10,
    )  # fmt: skip
    assert (wire.until, wire.made_good, wire.made_good_in, wire.days) == (None, None, None, 29)


def test_as_of_a_day_before_its_end_it_is_still_there() -> None:
    """On 10 May the strap is nine days old and open; on 2 May the wire is not there."""
    strap, wire = repairs_of(STRAP, WIRE, GOOD, as_of="2024-05-10")
    assert (strap.made_good, strap.days, wire.days) == (None, 9, 7)
    assert [repair.key for repair in repairs_of(STRAP, WIRE, GOOD, as_of="2024-05-02")] == ["strap"]


def test_a_name_is_free_again_once_it_is_made_good() -> None:
    """Two straps, one after the other: each with its own days."""
    again = STRAP.replace("05-01", "05-20")
    assert [(m.since.day, m.days) for m in repairs_of(STRAP, GOOD, again)] == [(1, 10), (20, 12)]


def test_an_end_without_a_beginning_is_an_error() -> None:
    """One error at the name itself, with the one that was meant; also where it was made good before."""
    (problem,) = problems_of(STRAP, "date: 2024-05-11\nmade_good: [strap, starp]", WIRE.replace("wire", "starp-2"))
    assert (problem.rule, problem.severity) == ("nothing-to-make-good", "error")
    assert problem.message == "there is no open temporary repair `starp` on 2024-05-11"
    assert problem.place is not None
    assert (problem.place.file, problem.place.line, problem.place.column) == ("entries/e2.md", 3, 20)
    (meant,) = problems_of(STRAP, "date: 2024-05-11\nmade_good: starp")
    assert meant.help == "did you mean `strap`?"
    assert [each.rule for each in problems_of(STRAP, GOOD, GOOD.replace("11", "12"))] == ["nothing-to-make-good"]


def test_a_name_that_is_open_already_is_an_error() -> None:
    """One error that names both places."""
    (problem,) = problems_of(STRAP, STRAP.replace("05-01", "05-20"))
    assert (problem.rule, problem.severity) == ("temporary-twice", "error")
    assert problem.place is not None
    assert (problem.place.file, [place.file for place in problem.also]) == ("entries/e2.md", ["entries/e1.md"])


def test_problems_are_of_the_whole_log() -> None:
    """As of a day before the slip it is reported all the same, as every other problem is."""
    late = (STRAP, "date: 2024-05-20\nmade_good: nothing")
    assert len(compute_figures(log_of(*late), date(2024, 5, 2)).problems) == 1
    rework = (STRAP, GOOD, STRAP.replace("05-01", "05-20"))
    assert compute_figures(log_of(*rework), date(2024, 5, 5)).problems == ()
