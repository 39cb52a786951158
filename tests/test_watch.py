"""How a run is followed: whose time is whose, by a clock that stands where the test sets it, and what is shown when."""

from __future__ import annotations

import pytest

from buildlog.runs import Watch


class Clock:
    """A clock that goes on only when it is told to."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def test_times_of_stages_in_their_order() -> None:
    """A line for each: its name, its seconds to the hundredth, what it had to do; time between them is nobody's."""
    clock = Clock()
    watch = Watch(clock=clock)
    with watch.stage("read"):
        clock.now += 0.08
        watch.note("read", "42 entries")
    clock.now += 5
    with watch.stage("compute"):
        clock.now += 123.456
    assert watch.list_times() == ["read       0.08 s  42 entries", "compute  123.46 s"]


def test_waiting_is_the_time_of_what_is_waited_for() -> None:
    """Photos took 0.5 s to begin and pages waited 1.5 s for them: 2 s, and of the 3 s of rendering 1.5 are its own."""
    clock = Clock()
    watch = Watch(clock=clock)
    with watch.stage("photos"):
        clock.now += 0.5
    with watch.stage("render"):
        clock.now += 1
        with watch.spending("photos"):
            clock.now += 1.5
        clock.now += 0.5
    assert watch.list_times() == ["photos     2.00 s", "render     1.50 s"]


def test_a_stage_that_fails_has_its_time() -> None:
    """What went before a fault is told too: it says how far the run came."""
    clock = Clock()
    watch = Watch(clock=clock)
    with pytest.raises(LookupError), watch.stage("render"), watch.spending("photos"):
        clock.now += 2
        raise LookupError
    with watch.stage("output"):
        clock.now += 1
    assert watch.list_times() == ["render     0.00 s", "photos     2.00 s", "output     1.00 s"]


def test_what_is_counted_is_shown_until_all_is_done() -> None:
    """Photos are made while pages are rendered: as long as some are left they are shown, then the stage at work."""
    shown: list[tuple[str, int, int]] = []
    watch = Watch(lambda *what: shown.append(what), clock=Clock())
    with watch.stage("photos"):
        watch.tell("photos", 0, 2)
    with watch.stage("render"):
        watch.tell("photos", 1, 2)
        with watch.spending("photos"):
            watch.tell("photos", 2, 2)
    watch.rest()
    assert shown == [
        ("photos", 0, 0), ("photos", 0, 2), ("photos", 0, 2), ("photos", 1, 2), ("render", 0, 0), ("", 0, 0),
    ]  # fmt: skip


def test_nothing_is_shown_of_a_run_that_failed() -> None:
    """Photos that were never finished are not shown again when another run begins."""
    shown: list[tuple[str, int, int]] = []
    watch = Watch(lambda *what: shown.append(what), clock=Clock())
    with pytest.raises(LookupError), watch.stage("photos"):
        watch.tell("photos", 1, 2)
        raise LookupError
    watch.rest()
    with watch.stage("read"):
        pass
    assert shown[-2:] == [("", 0, 0), ("read", 0, 0)]
