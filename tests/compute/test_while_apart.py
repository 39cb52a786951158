"""While it is apart: what is within reach, what that saves, what the shelf lacks, and what was closed up undone."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from buildlog.compute.figures import Figures, compute_figures
from buildlog.compute.while_apart import ApartFigures, compute_apart
from buildlog.problems import Problem
from tests.compute.fault_logs import BASE
from tests.support import log_of

PLAN = """
components:
  pump: {name: Lift pump, reached_by: cover, check_hours: 0.3}
  banjo: {reached_by: cover}
  pickup: {reached_by: tank}
  solenoid: {reached_by: tray}
  hose: {}
  filter-seat: {reached_by: cover}
  sender: {reached_by: tank}
strip_downs:
  tray: {name: Tray off, hours: 1}
  cover: {name: Pump cover off, hours: 1.5, after: [tray]}
  tank: {name: Tank down, hours: 4}
service:
  filter: {name: Filter, every: {months: 24}, covers: [filter-seat, hose]}
  strainer: {name: Strainer, every: {months: 24}, covers: [filter-seat, sender]}
  oil: {name: Oil, every: {months: 12}}
"""
FAULT = "date: 2024-05-01\nfaults: {fault: hot, name: Hot, suspects: [pump, banjo, pickup, hose]}"


def figures_of(*heads: str, as_of: str = "2024-12-01") -> Figures:
    return compute_figures(log_of(*heads, settings=BASE + PLAN), date.fromisoformat(as_of))


def apart_of(*heads: str, planned: tuple[str, ...] = (), as_of: str = "2024-12-01") -> ApartFigures:
    return compute_apart(figures_of(*heads, as_of=as_of), planned)


def things(apart: ApartFigures) -> list[tuple[str, str]]:
    return [(thing.kind, thing.key) for thing in apart.reach]


def warnings(*heads: str, as_of: str = "2024-12-01") -> list[Problem]:
    """What is told to have been closed up undone; nothing else may be wrong."""
    found = figures_of(*heads, as_of=as_of).problems
    assert {problem.rule for problem in found} <= {"refitted-over-work"}
    return list(found)


DONE = """date: 2024-01-10
serviced:
  - {item: filter, looked_at: [filter-seat, hose]}
  - {item: strainer, looked_at: [filter-seat, sender]}
  - oil"""


def test_suspects_behind_what_is_planned() -> None:
    """Behind tray and cover lie pump and banjo: the pickup does not, and the hose lies open anyway."""
    apart = apart_of(DONE, FAULT, planned=("cover",))
    assert things(apart) == [("suspect", "pump"), ("suspect", "banjo")]
    pump = apart.reach[0]
    assert (pump.name, pump.fault, pump.fault_name, pump.hours, pump.needs) == (
        "Lift pump", "hot", "Hot", Decimal("0.3"), ("tray", "cover"),
    )  # fmt: skip
    assert [(opening.key, opening.asked) for opening in apart.openings] == [("tray", False), ("cover", True)]
    assert apart.hours_to_open == Decimal("2.5")


def test_what_is_off_needs_no_plan() -> None:
    """Asked of nothing, it speaks of what entries say is off; that costs nothing more to open."""
    apart = apart_of(DONE, FAULT, "date: 2024-06-01\nstripped: [tray]")
    assert (things(apart), apart.hours_to_open) == ([], 0)
    assert (apart.openings[0].key, apart.openings[0].off_since) == ("tray", date(2024, 6, 1))
    more = apart_of(DONE, FAULT, "date: 2024-06-01\nstripped: [tray]", planned=("cover",))
    assert (things(more), more.hours_to_open) == ([("suspect", "pump"), ("suspect", "banjo")], Decimal("1.5"))


def test_nothing_off_and_nothing_planned() -> None:
    """Closed up there is nothing to tell."""
    apart = apart_of(DONE, FAULT)
    assert (apart.openings, apart.reach, apart.saved_hours, apart.missing) == ((), (), 0, ())


def test_an_unknown_strip_down_is_our_own_fault() -> None:
    """Whoever asks has looked the name up before."""
    with pytest.raises(KeyError, match="bonnet"):
        apart_of(FAULT, planned=("bonnet",))


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        (["checks: {fault: hot, did: Dry, clears: [banjo]}"], [("suspect", "pump")]),
        (["checks: {fault: hot, did: Cracked, cause: pump}"], [("cause", "pump")]),
        (["checks: {fault: hot, did: Cracked, cause: pump}", "fixed: {fault: hot, how: New}"], [("fix", "pump")]),
        (["checks: {fault: hot, did: Cracked, cause: pump}", "fixed: {fault: hot, how: New, proved: Yes}"], []),
        (["fixed: {fault: hot, how: Cleaned}"], []),
    ],
)
def test_what_a_fault_asks_for(more: list[str], expected: list[tuple[str, str]]) -> None:
    """Suspects while the cause is not known, then the cause, then the fix until its proof, then nothing."""
    heads = [f"date: 2024-05-0{n}\n{act}" for n, act in enumerate(more, 2)]
    assert things(apart_of(DONE, FAULT, *heads, planned=("cover",))) == expected


@pytest.mark.parametrize(
    ("as_of", "expected"),
    [("2025-01-09", []), ("2025-01-10", [("service", "filter")]), ("2026-03-01", [("service", "filter")])],
)
def test_a_service_item_that_is_due_within_a_year(as_of: str, expected: list[tuple[str, str]]) -> None:
    """Done on 2024-01-10 every 24 months: due on 2026-01-10, so worth doing from 2025-01-10 on."""
    apart = apart_of(DONE, planned=("cover",), as_of=as_of)
    assert things(apart) == expected
    assert [thing.due_on for thing in apart.reach] == [date(2026, 1, 10)] * len(expected)


def test_a_service_item_lies_open_where_all_that_it_covers_does() -> None:
    """The strainer covers what is behind the cover and behind the tank; the filter's other half lies open anyway."""
    assert things(apart_of("date: 2024-01-10", planned=("cover",))) == [("service", "filter")]
    both = apart_of("date: 2024-01-10", planned=("cover", "tank"))
    assert things(both) == [("service", "filter"), ("service", "strainer")]
    assert both.reach[1].needs == ("tray", "cover", "tank")
    assert both.reach[1].state == "history unknown"


def test_a_temporary_repair_behind_a_strip_down() -> None:
    """It is listed until it is made good; one that names no strip-down lies open anyway."""
    heads = (DONE, "date: 2024-05-01\ntemporary: [{name: bracket, what: Wire, behind: tray}, {name: rope, what: Rope}]")
    assert things(apart_of(*heads, planned=("cover",))) == [("temporary", "bracket")]
    assert things(apart_of(*heads, "date: 2024-05-02\nmade_good: bracket", planned=("cover",))) == []


BUY = "date: 2024-05-02\nbought: {{from: Shop, paid: 2024-05-02, arrived: 2024-05-02, lines: [{}]}}"


def test_a_part_on_the_shelf_for_what_lies_open() -> None:
    """A part that is called as the component is waits for it; other parts wait for nothing that is known."""
    buy = BUY.format("{part: banjo, each: 2, qty: 2}, {part: wiper, each: 9}")
    apart = apart_of(DONE, buy, planned=("cover",))
    assert things(apart) == [("shelf", "banjo")]
    assert apart.reach[0].qty == 2
    assert things(apart_of(DONE, buy, "date: 2024-05-03\nfitted: {part: banjo, qty: 2}", planned=("cover",))) == []


def test_hours_saved() -> None:
    """The fault needs tray and cover, 2.5 h, the filter too, the bracket the tray, 1 h: 6 h apart, 2.5 h together."""
    bracket = "date: 2024-05-01\ntemporary: {name: bracket, what: Wire, behind: tray}"
    apart = apart_of("date: 2024-01-10", FAULT, bracket, planned=("cover",))
    assert things(apart) == [("suspect", "pump"), ("suspect", "banjo"), ("service", "filter"), ("temporary", "bracket")]
    assert (apart.separate_hours, apart.together_hours, apart.saved_hours) == (6, Decimal("2.5"), Decimal("3.5"))


def test_a_part_for_a_suspect_is_no_visit_of_its_own() -> None:
    """The pump that lies ready goes in on the visit for its fault: nothing is saved."""
    apart = apart_of(DONE, FAULT, BUY.format("{part: pump, each: 90}"), planned=("cover",))
    assert ("shelf", "pump") in things(apart)
    assert apart.saved_hours == 0


def test_a_part_for_a_service_item_or_a_repair_is_no_visit_of_its_own() -> None:
    """What the filter covers and what a temporary repair stands in for lie ready: two visits of 2.5 h and not four."""
    clip = "date: 2024-05-01\ntemporary: {name: banjo, what: Wire, behind: cover}"
    buy = BUY.format("{part: filter-seat, each: 9}, {part: banjo, each: 2}")
    apart = apart_of("date: 2024-01-10", clip, buy, planned=("cover",))
    assert things(apart) == [
        ("service", "filter"),
        ("temporary", "banjo"),
        ("shelf", "filter-seat"),
        ("shelf", "banjo"),
    ]
    assert (apart.separate_hours, apart.together_hours, apart.saved_hours) == (5, Decimal("2.5"), Decimal("2.5"))


def test_a_part_that_went_in_last_time_is_no_visit_of_its_own() -> None:
    """The filter took a banjo last time; the one that lies ready goes in with the next filter."""
    heads = (
        BUY.format("{part: banjo, each: 2, qty: 2}"),
        "date: 2024-05-03\nserviced: {item: filter, parts: [banjo], looked_at: [filter-seat, hose]}\nfitted: banjo",
    )
    apart = apart_of(*heads, planned=("cover",), as_of="2025-06-01")
    assert things(apart) == [("service", "filter"), ("shelf", "banjo")]
    assert apart.saved_hours == 0


def test_the_shelf_lacks_what_a_repair_stands_in_for() -> None:
    """A temporary repair that has a part's name waits for that part; one with a name of its own for none."""
    clip = "date: 2024-05-01\ntemporary: {name: plug, what: Old plug left in, behind: tray}"
    post = BUY.format("{part: plug, name: Filler plug, number: P 1, each: 9}").replace(", arrived: 2024-05-02", "")
    (missing,) = apart_of(DONE, clip, post, planned=("tray",)).missing
    assert (missing.part, missing.name, missing.number, missing.why) == (
        "plug",
        "Filler plug",
        "P 1",
        ("temporary plug",),
    )
    assert (missing.wanted, missing.shelf, missing.lacks, missing.in_the_post) == (1, 0, 1, 1)
    assert not apart_of(DONE, clip, BUY.format("{part: plug, each: 9}"), planned=("tray",)).missing
    assert not apart_of(DONE, clip, planned=("tray",)).missing
    assert not apart_of(DONE, clip, post, planned=("tank",)).missing


def test_the_shelf_lacks_what_went_in_last_time() -> None:
    """The filter took 2 seals last time: with 1 on the shelf and 3 in the post 1 is lacking."""
    lines = "{part: seal, number: S 1, each: 2, qty: 3}"
    heads = (
        BUY.format(lines),
        "date: 2024-05-03\nserviced: {item: filter, parts: [seal], looked_at: [filter-seat, hose]}\n"
        "fitted: {part: seal, qty: 2}",
        BUY.format(lines).replace(", arrived: 2024-05-02", "").replace("2024-05-02", "2024-05-04"),
    )
    (missing,) = apart_of(*heads, planned=("cover",), as_of="2025-06-01").missing
    assert (missing.part, missing.number, missing.why) == ("seal", "S 1", ("service filter",))
    assert (missing.wanted, missing.shelf, missing.lacks, missing.in_the_post) == (2, 1, 1, 3)


def test_the_shelf_lacks_the_faulty_part() -> None:
    """A cause needs a part of its name; where none was ever bought the component stands for it."""
    cause = "date: 2024-05-03\nchecks: {fault: hot, did: Cracked, cause: pump}"
    (missing,) = apart_of(DONE, FAULT, cause, planned=("cover",)).missing
    assert (missing.part, missing.name, missing.lacks, missing.why) == ("pump", "Lift pump", 1, ("cause pump",))
    assert not apart_of(DONE, FAULT, BUY.format("{part: pump, each: 90}"), cause, planned=("cover",)).missing


def test_the_shelf_lacks_what_is_single_use() -> None:
    """Two washers went in when tray and cover went back: they are wanted once, though both strip-downs ask."""
    heads = (
        DONE,
        "date: 2024-05-01\nstripped: [tray, cover]",
        BUY.format("{part: washer, each: 1, qty: 3, single_use: true}, {part: bolt, each: 1}"),
        "date: 2024-05-03\nfitted: [{part: washer, qty: 2}, bolt]\nrefitted: [tray, cover]",
    )
    (missing,) = apart_of(*heads, planned=("cover",)).missing
    assert (missing.part, missing.wanted, missing.shelf, missing.lacks) == ("washer", 2, 1, 1)
    assert missing.why == ("single use tray", "single use cover")


def test_the_shelf_lacks_a_single_use_part_behind_it() -> None:
    """A single-use part that is called as a component behind the cover must be new again: as many as sit there."""
    buy = BUY.format("{part: banjo, each: 1, qty: 2, single_use: true}")
    (missing,) = apart_of(DONE, buy, "date: 2024-05-03\nfitted: {part: banjo, qty: 2}", planned=("cover",)).missing
    assert (missing.part, missing.wanted, missing.lacks, missing.why) == ("banjo", 2, 2, ("single use cover",))
    assert not apart_of(DONE, buy, "date: 2024-05-03\nfitted: {part: banjo, qty: 2}", planned=("tank",)).missing


OFF, BACK = "date: 2024-06-01\nstripped: [tray, cover]", "date: 2024-06-09\nrefitted: [tray, cover]"


def test_closed_up_with_suspects_inside() -> None:
    """Pump and banjo were suspects when the cover went back, and are: one warning at the cover, none at the tray."""
    (warning,) = warnings(DONE, FAULT, OFF, BACK)
    assert (warning.severity, warning.place.file) == ("warning", "entries/e4.md")
    assert warning.message == (
        "`cover` went back on 2024-06-09 with work left behind it: suspect `pump` of `hot`, suspect `banjo` of `hot`"
    )


def test_a_long_list_is_cut() -> None:
    """Seven faults, each with the pump left behind the cover: five are named, and two more are counted."""
    faults = [f"date: 2024-05-01\nfaults: {{fault: f{n}, name: N, suspects: pump}}" for n in range(7)]
    (warning,) = warnings(DONE, *faults, OFF, BACK)
    assert warning.message.count("suspect `pump` of ") == 5
    assert warning.message.endswith(" and 2 more")


@pytest.mark.parametrize(
    "more",
    [
        ["date: 2024-06-08\nchecks: {fault: hot, did: Dry, clears: [banjo, pump]}", BACK],  # done while it was off
        [BACK, "date: 2024-07-01\nchecks: {fault: hot, did: Dry, clears: [banjo, pump]}"],  # done since
        [BACK, "date: 2024-07-01\nstripped: [tray, cover]"],  # off again: there is time yet
        ["date: 2024-06-09\ntitle: Not yet"],  # still off
    ],
)
def test_no_warning_about_what_is_done_or_lies_open(more: list[str]) -> None:
    """What was done in time, or since, or can be done now, is no warning."""
    assert warnings(DONE, FAULT, OFF, *more) == []


def test_no_warning_about_what_came_later() -> None:
    """A fault that shows itself after the cover went back was not closed up."""
    assert warnings(DONE, OFF, BACK, FAULT.replace("05-01", "06-10")) == []
    assert warnings(DONE, OFF, f"{BACK}\n" + FAULT.split("\n")[1]) == []


def test_closed_up_by_what_stands_in_front() -> None:
    """The tray goes back while the cover is still off: the pump behind both is closed up, and by the tray."""
    found = figures_of(DONE, FAULT, OFF, "date: 2024-06-09\nrefitted: [tray]").problems
    assert [problem.message.split(" with ")[0] for problem in found if problem.rule == "refitted-over-work"] == [
        "`tray` went back on 2024-06-09"
    ]
    again = figures_of(DONE, FAULT, OFF, BACK, "date: 2024-07-01\nstripped: tray\nrefitted: tray").problems
    assert [problem.message.split(" with ")[0] for problem in again] == ["`cover` went back on 2024-06-09"]


def test_closed_up_with_service_due() -> None:
    """The filter was due on 2026-01-10: closed up a day before gives no warning, on the day it does, until done."""
    heads = [DONE, "date: 2026-01-05\nstripped: [tray, cover]"]
    assert warnings(*heads, "date: 2026-01-09\nrefitted: [tray, cover]", as_of="2026-02-01") == []
    late = [*heads, "date: 2026-01-10\nrefitted: [tray, cover]"]
    (warning,) = warnings(*late, as_of="2026-02-01")
    assert warning.message.endswith("behind it: service item `filter`")
    done = "date: 2026-01-20\nserviced: {item: filter, looked_at: [filter-seat, hose]}"
    assert warnings(*late, done, as_of="2026-02-01") == []


def test_closed_up_over_a_temporary_repair() -> None:
    """A temporary repair that was to be made good behind the tray is a warning after the tray went back."""
    wire = "date: 2024-05-01\ntemporary: {name: bracket, what: Wire, behind: tray}"
    (warning,) = warnings(DONE, wire, OFF, BACK)
    assert warning.message == "`tray` went back on 2024-06-09 with work left behind it: temporary repair `bracket`"


def test_what_was_closed_up_is_reported_whatever_the_day() -> None:
    """Problems are of the whole log: as of the day before the cover went back, the warning is told all the same."""
    assert warnings(DONE, FAULT, OFF, BACK, as_of="2024-06-08") == warnings(DONE, FAULT, OFF, BACK) != []


def test_the_check_order_knows_what_is_off() -> None:
    """With the tray and cover off the pump costs its 0.3 h alone; a fault with a known cause has no place to look."""
    heads = (DONE, "date: 2024-05-01\nfaults: {fault: hot, name: Hot, suspects: [pump]}")
    assert figures_of(*heads).next_checks["hot"].expected_hours == Decimal("2.8")
    assert figures_of(*heads, OFF).next_checks["hot"].expected_hours == Decimal("0.3")
    assert (
        figures_of(*heads, OFF, "date: 2024-06-02\nchecks: {fault: hot, did: Cracked, cause: pump}").next_checks == {}
    )


def test_the_check_order_knows_what_went_back_in_front() -> None:
    """Tray and cover off, the tray back on: the pump costs the tray's hour again, in every question about it."""
    heads = (DONE, "date: 2024-05-01\nfaults: {fault: hot, name: Hot, suspects: [pump]}", OFF)
    back = (*heads, "date: 2024-06-09\nrefitted: [tray]")
    assert figures_of(*back).next_checks["hot"].expected_hours == Decimal("1.3")
    assert figures_of(*back).next_checks["hot"].steps[0].takes_off == ("tray",)
    assert things(apart_of(*back)) == []
    planned = apart_of(*back, planned=("cover",))
    assert (planned.hours_to_open, [opening.key for opening in planned.openings]) == (1, ["tray", "cover"])
    assert things(planned) == [("suspect", "pump")]
