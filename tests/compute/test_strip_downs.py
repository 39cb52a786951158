"""What must come off first, what is off on a day, and what came off more than once."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.figures import compute_figures
from buildlog.compute.strip_downs import StripDownFigures, StripDownsFigures, list_needs
from buildlog.compute.while_apart import compute_apart
from buildlog.problems import Problem
from tests.compute.fault_logs import BASE
from tests.support import log_of

PLAN = """
strip_downs:
  cover: {name: Pump cover off, hours: 1.5, after: [tray]}
  tray: {name: Tray off, hours: 1}
  engine: {name: Engine out, hours: 8, after: [cover, hood]}
  hood: {name: Hood off, hours: 0.4}
"""


def figures_of(*heads: str, plan: str = PLAN, as_of: str = "2025-01-01") -> StripDownsFigures:
    return compute_figures(log_of(*heads, settings=BASE + plan), date.fromisoformat(as_of)).strip_downs


def figure_of(key: str, *heads: str, as_of: str = "2025-01-01") -> StripDownFigures:
    return next(figure for figure in figures_of(*heads, as_of=as_of).strip_downs if figure.key == key)


def problem_of(*heads: str, plan: str = PLAN) -> Problem:
    """The one problem that entries have."""
    (problem,) = figures_of(*heads, plan=plan).problems
    return problem


def test_needs_come_in_an_order_in_which_they_can() -> None:
    """The engine needs the cover, the cover the tray: tray, cover, hood, 1 + 1.5 + 0.4 + 8 = 10.9 h in all."""
    engine = figure_of("engine")
    assert (engine.needs, engine.total_hours) == (("tray", "cover", "hood"), Decimal("10.9"))
    assert figure_of("tray").needs == ()


def test_what_several_need_is_counted_once() -> None:
    """The closure of several strip-downs names each once, and leaves out what is not known."""
    strip_downs = log_of("date: 2024-01-01", settings=BASE + PLAN).settings.strip_downs
    assert list_needs(strip_downs, ["engine", "cover", "tray", "bonnet"]) == ("tray", "cover", "hood", "engine")


def test_off_from_stripped_to_refitted() -> None:
    """A strip-down is off from the entry that strips it up to the one that refits it."""
    heads = ("date: 2024-05-01\nstripped: [cover, tray]", "date: 2024-05-09\nrefitted: [cover, tray]")
    assert figures_of(*heads, as_of="2024-04-30").off == ()
    assert figures_of(*heads, as_of="2024-05-08").off == ("tray", "cover")
    assert figures_of(*heads).off == ()
    cover = figure_of("cover", *heads, as_of="2024-05-08")
    assert (cover.off, cover.off_since, cover.off_in) == (True, date(2024, 5, 1), "e1")
    (visit,) = figure_of("cover", *heads).visits
    assert (visit.off_in, visit.back_on, visit.back_in, visit.implied) == ("e1", date(2024, 5, 9), "e2", False)
    assert not figures_of(*heads).problems


def test_off_and_on_in_one_entry() -> None:
    """What is stripped and refitted in one session is one visit, and on again after it."""
    figures = figures_of("date: 2024-05-01\nstripped: [tray]\nrefitted: [tray]")
    assert (figures.off, len(figures.strip_downs[1].visits), figures.problems) == ((), 1, ())


def test_what_must_come_off_first_is_off_as_well() -> None:
    """Nobody wrote that the tray came off; the cover did, so it had to, and it goes back with the cover."""
    off = ("date: 2024-05-01\nstripped: [cover]",)
    assert figures_of(*off).off == ("tray", "cover")
    assert figure_of("tray", *off).visits[0].implied
    back = (*off, "date: 2024-05-02\nrefitted: [cover]")
    assert (figures_of(*back).off, figures_of(*back).problems) == ((), ())
    assert figure_of("tray", *back).visits[0].back_in == "e2"


def test_what_was_implied_may_be_written_later() -> None:
    """To write later that the tray is off, or back together with the cover, is no contradiction."""
    heads = (
        "date: 2024-05-01\nstripped: cover",
        "date: 2024-05-02\nstripped: tray",
        "date: 2024-05-03\nrefitted: cover",
    )
    assert (figures_of(*heads).off, figures_of(*heads).problems) == (("tray",), ())
    assert not figures_of(heads[0], "date: 2024-05-03\nrefitted: [tray, cover]").problems


def test_a_strip_down_off_three_times() -> None:
    """Three times off: the tray's hour was spent twice more than needed; the cover's 1.5 h once more."""
    heads = [
        f"date: 2024-05-0{day}\nstripped: [{keys}]\nrefitted: [{keys}]"
        for day, keys in ((1, "tray, cover"), (2, "tray"), (3, "cover"))
    ]
    figures = figures_of(*heads)
    assert {figure.key: figure.again_hours for figure in figures.strip_downs if figure.again_hours} == {
        "tray": Decimal(2), "cover": Decimal("1.5"),
    }  # fmt: skip
    assert figures.again_hours == Decimal("3.5")


def test_stripped_twice() -> None:
    """What is off cannot come off: an error that cites both places."""
    problem = problem_of("date: 2024-05-01\nstripped: [tray]", "date: 2024-05-02\nstripped: [tray]")
    assert (problem.rule, problem.severity) == ("stripped-twice", "error")
    assert problem.message == "`tray` comes off on 2024-05-02, but it has been off since 2024-05-01"
    assert [(place.file, place.line) for place in (problem.place, *problem.also)] == [
        ("entries/e2.md", 3), ("entries/e1.md", 3),
    ]  # fmt: skip


def test_refitted_and_not_off() -> None:
    """What nobody took off cannot go back: an error."""
    problem = problem_of("date: 2024-05-02\nrefitted: [tray]")
    assert (problem.rule, problem.severity, problem.place.line) == ("refitted-not-off", "error", 3)
    assert problem.message == "`tray` goes back on 2024-05-02, but nothing says it came off"


def test_refitted_while_something_behind_it_is_off() -> None:
    """The tray over a pump without its cover is a warning; the entry may have forgotten the cover."""
    problem = problem_of("date: 2024-05-01\nstripped: [tray, cover]", "date: 2024-05-02\nrefitted: [tray]")
    assert (problem.rule, problem.severity) == ("refitted-before", "warning")
    assert problem.message == "`tray` goes back on 2024-05-02 while `cover` behind it is off"


@pytest.mark.parametrize(
    ("plan", "steps"),
    [
        ("a: {name: A, hours: 1, after: a}", "`a` before `a`"),
        ("a: {name: A, hours: 1, after: b}\n  b: {name: B, hours: 1, after: a}", "`a` before `b`, `b` before `a`"),
    ],
)
def test_strip_downs_in_a_circle(plan: str, steps: str) -> None:
    """Strip-downs that wait for each other are one error, with every place; the figures still come."""
    figures = figures_of("date: 2024-05-01\nstripped: a", plan=f"strip_downs:\n  {plan}\n")
    (problem,) = figures.problems
    assert (problem.rule, problem.severity, problem.place.file) == ("strip-down-circle", "error", "log.yaml")
    assert problem.message.endswith(f": {steps}")
    assert "a" in figures.off


def test_each_circle_is_reported_once() -> None:
    """Two circles are two errors; a diamond is none."""
    plan = "strip_downs:\n" + "".join(
        f"  {key}: {{name: N, hours: 1, after: [{after}]}}\n"
        for key, after in (
            ("a", "b"),
            ("b", "a"),
            ("c", "d"),
            ("d", "e"),
            ("e", "c"),
            ("f", "g, h"),
            ("g", "i"),
            ("h", "i"),
            ("i", ""),
        )
    )
    assert [problem.rule for problem in figures_of("date: 2024-05-01", plan=plan).problems] == ["strip-down-circle"] * 2


# ------------------------------------------------------------------- against a plain walk


NEEDS = {"cover": ["tray"], "tray": [], "engine": ["cover", "hood"], "hood": []}
HOURS = {"cover": Decimal("1.5"), "tray": Decimal(1), "engine": Decimal(8), "hood": Decimal("0.4")}
BEHIND = "components: {c-cover: {reached_by: cover, check_hours: 0.1}, c-tray: {reached_by: tray, check_hours: 0.1}, "
BEHIND += "c-engine: {reached_by: engine, check_hours: 0.1}, c-hood: {reached_by: hood, check_hours: 0.1}}"


def list_all_needs(key: str) -> set[str]:
    return {key}.union(*(list_all_needs(need) for need in NEEDS[key]))


@given(st.lists(st.tuples(st.booleans(), st.sampled_from(sorted(NEEDS))), max_size=12))
def test_reaching_costs_what_is_on(moves: list[tuple[bool, str]]) -> None:
    """Whatever came off and went back, in whatever order: to reach a thing costs the hours of all that is on before it.

    The plain walk names each move in full: what comes off takes all that it needs, and only itself goes back.
    """
    off: set[str] = set()
    heads = ["date: 2024-05-01\nfaults: {fault: f, name: F, suspects: [c-cover, c-tray, c-engine, c-hood]}"]
    for day, (strips, key) in enumerate(moves, 2):
        if strips is (key in off):
            continue
        named = sorted(list_all_needs(key) - off) if strips else [key]
        off = off.union(named) if strips else off - {key}
        heads.append(f"date: 2024-05-{day:02}\n{'stripped' if strips else 'refitted'}: [{', '.join(named)}]")
    figures = compute_figures(log_of(*heads, settings=f"{BASE}{BEHIND}{PLAN}"), date(2025, 1, 1))
    assert set(figures.strip_downs.off) == off
    for key in NEEDS:
        on = list_all_needs(key) - off
        assert compute_apart(figures, [key]).hours_to_open == sum(HOURS[each] for each in on)
        (first,) = (step for step in figures.next_checks["f"].steps if step.suspect == f"c-{key}")
        assert set(first.takes_off) <= on
    open_now = {thing.key for thing in compute_apart(figures).reach}
    assert open_now == {f"c-{key}" for key in NEEDS if not list_all_needs(key) - off}
