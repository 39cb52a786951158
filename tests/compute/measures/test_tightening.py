"""What was tightened to what: stages, both units, what cannot be read, what is to be checked again and when."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from buildlog.compute.figures import compute_figures
from buildlog.compute.measures.tightening import NEWTON_METRE, POUND_FOOT, TighteningFigures, read_stages
from buildlog.compute.service.rechecks import RecheckDone, RecheckFigures
from tests.support import SETTINGS, log_of

MILES = SETTINGS.replace("unit: km", "unit: mi")


def tightening_of(*heads: str, settings: str = SETTINGS, as_of: str = "2025-01-01") -> TighteningFigures:
    return compute_figures(log_of(*heads, settings=settings), date.fromisoformat(as_of)).tightening


def numbers(text: str, unit: object = NEWTON_METRE) -> list[list[str]]:
    """The numbers of each stage of a text in one unit."""
    stages = read_stages(text)
    to = NEWTON_METRE if unit is NEWTON_METRE else POUND_FOOT
    return [[f"{number:f}" for number in stage.to_unit(to)] for stage in stages]


# ------------------------------------------------------------------- stages


def test_torques_and_angles_are_kept_apart() -> None:
    """Torque, then angle in separate steps: an angle has no torque, and two angles are not added up."""
    stages = read_stages("20 N·m + 60° + 30°")
    assert [(stage.written, stage.unit and stage.unit.kind) for stage in stages] == [
        ("20 N·m", "torque"),
        ("60°", "angle"),
        ("30°", "angle"),
    ]
    assert numbers("20 N·m + 60° + 30°", POUND_FOOT) == [["14.8"], [], []]  # 20 / 1.3558179 = 14.7512


@pytest.mark.parametrize(
    "text",
    [
        "22 N·m then 90°",
        "22 N·m, then 90 degrees",
        "22 Nm plus 90 deg",
        "22 N.m and then 1/4 turn",
        "22 newton metres; 90°",
        "first: 22 NM, second: 90°",
    ],
)
def test_ways_to_write_two_stages(text: str) -> None:
    """A torque and an angle in the ways that manuals and owners write them."""
    assert numbers(text) == [["22"], []]


def test_a_number_takes_the_unit_of_the_torque_after_it() -> None:
    """Three passes that share a unit are three torques; before an angle a number stays without one."""
    assert numbers("20, 40, 60 N·m") == [["20"], ["40"], ["60"]]
    assert numbers("20 + 60°") == [[], []]


@pytest.mark.parametrize("text", ["18-22 lbf·ft", "18–22 ft-lb", "18 to 22 lb-ft"])
def test_ranges(text: str) -> None:
    """Both ends are converted: 18 × 1.3558179 = 24.4 and 22 × 1.3558179 = 29.8, to whole N·m."""
    (stage,) = read_stages(text)
    assert (stage.join, numbers(text)) == ("–", [["24", "30"]])


def test_tolerance() -> None:
    """45 / 1.3558179 = 33.19 and 5 / 1.3558179 = 3.69, to the tenth."""
    (stage,) = read_stages("45 ± 5 N·m")
    assert (stage.join, numbers("45 ± 5 N·m", POUND_FOOT)) == (" ± ", [["33.2", "3.7"]])


def test_the_owner_s_own_equivalent_comes_first() -> None:
    """What stands in brackets behind is the same torque in the manual's own rounding, and is not computed again."""
    (figures,) = tightening_of("date: 2024-05-01\ntightened: {what: Nuts, to: 27 N·m (20 ft-lbs)}").tightened.values()
    assert numbers("27 N·m (20 ft-lbs)", POUND_FOOT) == [["20"]]
    assert (figures.equivalents, figures.stages[0].written) == ((), "27 N·m (20 ft-lbs)")


@pytest.mark.parametrize("text", ["20/40/60 N·m", "stage 1 at 20 N·m", "22,5 N·m", "", "M8 to 20 N·m"])
def test_not_understood_is_not_converted(text: str) -> None:
    """A text is read whole or not at all: nothing is picked out of what is not understood."""
    assert read_stages(text) == ()


@pytest.mark.parametrize("text", ["hand tight", "until it stops"])
def test_words_are_words(text: str) -> None:
    """Words are a stage without a torque."""
    assert numbers(text) == [[]]


def test_which_units_are_added() -> None:
    """N·m and lbf·ft, without the one that was written; nothing for an angle alone."""
    for text, expected in (
        ("22 N·m", [POUND_FOOT]),
        ("74 lbf·ft", [NEWTON_METRE]),
        ("3.0 kgf·m", [NEWTON_METRE, POUND_FOOT]),
        ("20 N·m + 3.0 kgf·m", [NEWTON_METRE, POUND_FOOT]),
        ("90°", []),
    ):
        (figures,) = tightening_of(f"date: 2024-05-01\ntightened: {{what: Nuts, to: {text}}}").tightened.values()
        assert list(figures.equivalents) == expected, text


@pytest.mark.parametrize("text", ["1" + " " * 50_000 + "x", "9" * 50_000, "1 " + "a " * 25_000, "1 N·m + " * 6_000])
def test_a_text_without_end_is_not_read(text: str) -> None:
    """A text of more than 200 characters is no manual's figure; it is let be at once, whatever it is made of."""
    assert read_stages(text) == ()
    assert numbers("22" + " " * 100 + "N·m") == [["22"]]


# ------------------------------------------------------------------- what is wrong with it


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("22 J", "`22 J` is an energy, but a fastener is tightened to a torque"),
        ("22 N", "`22 N` is a force, but a fastener is tightened to a torque"),
        ("20 lb", "`20 lb` is a mass, but a fastener is tightened to a torque"),
        ("90° + 5 bar", "`5 bar` is a pressure, but a fastener is tightened to a torque"),
    ],
)
def test_a_unit_of_the_wrong_kind(text: str, told: str) -> None:
    """Joule and newton metre have the same dimensions; a torque in joule is refused all the same. One error each."""
    (problem,) = tightening_of(f"date: 2024-05-01\ntightened: {{what: Nuts, to: {text}}}").problems
    assert (problem.rule, problem.severity, problem.message) == ("unit-kind", "error", told)
    assert (problem.place.line, problem.place.column) == (3, 29)  # at the text itself


@pytest.mark.parametrize(
    ("text", "rule", "help"),
    [
        ("35", "tightening-number", "write `35 N·m`, or whatever unit the manual uses"),
        ("20 + 60°", "tightening-number", "write `20 N·m`, or whatever unit the manual uses"),
        ('"22,5 N·m"', "tightening-number", "use a decimal point, as in `22.5 N·m`"),
        ("10 N·m (189 in-lb)", "torques-differ", "the first is 89 lbf·in"),  # 10 / 0.11298483 = 88.5
    ],
)
def test_warnings(text: str, rule: str, help: str) -> None:
    """No unit, a comma in a number, and two torques of one stage that are not the same, are warnings."""
    (problem,) = tightening_of(f"date: 2024-05-01\ntightened: {{what: Nuts, to: {text}}}").problems
    assert (problem.rule, problem.severity, problem.help) == (rule, "warning", help)


@pytest.mark.parametrize(
    "text", ["hand tight", "22 snails", "0.15 mm", "10 N·m (89 in-lb)", "1/4 turn", "20/40/60 N·m"]
)
def test_nothing_to_say(text: str) -> None:
    """Words, units that are not known, the stretch of a bolt and rounded equivalents are let be."""
    assert tightening_of(f"date: 2024-05-01\ntightened: {{what: Nuts, to: {text}}}").problems == ()


# ------------------------------------------------------------------- to be checked again

NUTS = "tightened: {what: Wheel nuts, to: 110 N·m, recheck: {after: 50 mi}}"
AGAIN = "tightened: {what: wheel  NUTS, to: 110 N·m}"


def recheck_of(*heads: str, settings: str = MILES, as_of: str = "2025-01-01") -> RecheckFigures:
    (recheck,) = tightening_of(*heads, settings=settings, as_of=as_of).rechecks
    return recheck


@pytest.mark.parametrize(
    ("now", "state", "left"),
    [("1047", "later", "3"), ("1047.5", "due", "2.5"), ("1050", "due", "0"), ("1050.1", "overdue", "-0.1")],
)
def test_due_after_a_distance(now: str, state: str, left: str) -> None:
    """50 mi after 1,000: due at 1,050 and a twentieth (2.5 mi) before, overdue above, as a service item is."""
    heads = (f"date: 2024-05-01\nreading: 1000\n{NUTS}", f"date: 2024-05-20\nreading: {now}")
    recheck = recheck_of(*heads, as_of="2024-05-20")
    assert (recheck.state, recheck.distance_left, recheck.due_reading) == (state, Decimal(left), 1050)
    assert (recheck.key, recheck.name, recheck.last_when) == (
        "recheck-wheel-nuts",
        "Wheel nuts: check again",
        "2024-05-01",
    )


@pytest.mark.parametrize(
    ("as_of", "state"),
    [("2024-05-29", "later"), ("2024-05-30", "due"), ("2024-05-31", "due"), ("2024-06-01", "overdue")],
)
def test_due_after_days(as_of: str, state: str) -> None:
    """30 days after 1 May is 31 May: due then and a twentieth (one whole day) before, overdue the day after."""
    recheck = recheck_of("date: 2024-05-01\ntightened: {what: Nuts, to: 9 N·m, recheck: 30 days}", as_of=as_of)
    assert (recheck.due_date, recheck.state) == (date(2024, 5, 31), state)


def test_distance_in_another_unit_than_the_meter() -> None:
    """100 km on a meter in miles: 100 / 1.609344 = 62.137 mi, to the thousandth."""
    head = "date: 2024-05-01\nreading: 1000\ntightened: {what: Nuts, to: 9 N·m, recheck: {after: 100 km}}"
    assert recheck_of(head).due_total == Decimal("1062.137")


def test_no_reading_no_due_status() -> None:
    """Without a reading at or before that day the limit cannot be computed: unknown, and never shown as fine."""
    assert recheck_of(f"date: 2024-05-01\n{NUTS}").state == "history unknown"


def test_done_when_the_same_is_tightened_again() -> None:
    """A later entry that tightens the same closes it: at 1,190 it was 190 − 50 = 140 mi late, after 70 days."""
    figures = tightening_of(
        f"date: 2024-06-01\nreading: 1000\n{NUTS}", f"date: 2024-08-10\nreading: 1190\n{AGAIN}", settings=MILES
    )
    first, second = figures.tightened.values()
    assert figures.rechecks == ()
    assert first.rechecked == RecheckDone(
        date=date(2024, 8, 10),
        entry="e2",
        days=70,
        distance=Decimal(190),
        days_late=None,
        distance_late=Decimal(140),
    )
    assert (first.recheck, second.recheck, second.rechecked) == (None, None, None)


def test_not_done_before_the_day_it_was_done() -> None:
    """As of a day before the second time, the first is open still."""
    heads = (f"date: 2024-06-01\nreading: 1000\n{NUTS}", f"date: 2024-08-10\nreading: 1190\n{AGAIN}")
    assert recheck_of(*heads, as_of="2024-08-09").entry == "e1"


def test_the_same_entry_and_other_fasteners_do_not_close_it() -> None:
    """Two stages in one entry are one tightening, and other fasteners are others."""
    heads = (
        "date: 2024-06-01\ntightened:\n  - {what: Nuts, to: 20 N·m, recheck: 30 days}\n  - {what: Nuts, to: 60 N·m}",
        "date: 2024-06-20\ntightened: {what: Bolts, to: 20 N·m}",
    )
    assert recheck_of(*heads).entry == "e1"


def test_each_time_may_ask_again() -> None:
    """The second time closes the first and opens its own."""
    again = "date: 2024-06-20\ntightened: {what: Nuts, to: 20 N·m, recheck: 60 days}"
    recheck = recheck_of("date: 2024-06-01\ntightened: {what: Nuts, to: 20 N·m, recheck: 30 days}", again)
    assert (recheck.entry, recheck.due_date) == ("e2", date(2024, 8, 19))  # 20 June + 60 days


def test_short_names_stay_apart() -> None:
    """Two names that come to the same short name get numbers, so that each can be asked for."""
    names = ["Nuts, left", "Nuts left", "Гайки", "Болты"]
    rows = "\n".join(f'  - {{what: "{name}", to: 20 N·m, recheck: 30 days}}' for name in names)
    keys = {recheck.what: recheck.key for recheck in tightening_of(f"date: 2024-06-01\ntightened:\n{rows}").rechecks}
    assert list(keys.values()) == ["recheck-nuts-left", "recheck-nuts-left-2", "recheck", "recheck-2"]


@pytest.mark.parametrize(
    ("after", "settings", "meter"),
    [("10 h", MILES, "the meter is in `mi`"), ("50 mi", "machine: {name: M}\nmoney: {currency: GBP}", "no meter")],
)
def test_what_the_meter_does_not_count(after: str, settings: str, meter: str) -> None:
    """A recheck by hours where the meter counts miles, or by miles where there is none, is one error at that place."""
    head = f"date: 2024-05-01\ntightened: {{what: Nuts, to: 9 N·m, recheck: {{after: {after}}}}}"
    (problem,) = tightening_of(head, settings=settings).problems
    assert (problem.rule, problem.severity, problem.place.column) == ("recheck-unit", "error", 53)
    assert meter in problem.message
