"""What was on the machine when, how old it is, and what was never on it."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest

from buildlog.compute.parts.fittings import Fitting, as_fitted, list_fittings
from buildlog.compute.parts.part_history import compute_parts
from buildlog.problems import Problem
from tests.support import log_of

DAY = datetime.date(2024, 12, 31)
ORDER = """
    date: 2024-01-01
    bought: {from: Shop, arrived: 2024-01-02, lines: [
      {part: plug, qty: 20, each: 5, for: fuel, spec: equivalent}, {part: hose, qty: 9, each: 5, spec: used},
      {part: bolt, qty: 8, each: 1, single_use: true}]}
"""


def total_at(day: datetime.date) -> Decimal | None:
    """A meter that goes 10 a day from 1 January 2024, and is unknown before."""
    return Decimal((day - datetime.date(2024, 1, 1)).days * 10) if day.year >= 2024 else None


def fittings_of(*heads: str, as_of: datetime.date = DAY) -> tuple[Fitting, ...]:
    figures = compute_parts(log_of(ORDER, *heads), as_of)
    assert figures.problems == ()
    return list_fittings(figures.story, figures.spans, as_of=as_of, total_at=total_at)


def rows_of(*heads: str, as_of: datetime.date = DAY) -> list[tuple[str, str | None, int, str | None]]:
    """Key, position, quantity and end of each fitting."""
    fittings = fittings_of(*heads, as_of=as_of)
    return [(f.key, f.at, int(f.qty), f.until.isoformat()[5:] if f.until else None) for f in fittings]


def problems_of(*heads: str) -> tuple[Problem, ...]:
    return compute_parts(log_of(ORDER, *heads), DAY).problems


def test_a_fitting_has_its_age_in_days_and_distance() -> None:
    """2 March to 1 June 2024: 29 + 30 + 31 + 1 = 91 days, at 10 a day 910; readings are those of the entries."""
    (fitting,) = fittings_of(
        "date: 2024-03-02\nreading: 100\nfitted: {part: plug, at: 1, instead_of: original, note: dry}",
        "date: 2024-06-01\nreading: 200\nremoved: {part: plug, at: 1, why: cracked}",
    )
    assert (fitting.age_days, fitting.distance) == (91, Decimal(910))
    assert (fitting.fitted_in, fitting.removed_in, fitting.ended) == ("e2", "e3", "removed")
    assert (fitting.why, fitting.fate, fitting.note) == ("cracked", "scrapped", "dry")
    assert (fitting.replaces, fitting.earlier, fitting.planned) == ("original", None, False)
    assert fitting.start_reading is not None and fitting.start_reading.value == 100
    assert fitting.end_reading is not None and fitting.end_reading.value == 200


def test_an_open_fitting_ages_until_the_day_asked_for() -> None:
    """2 to 12 March: 10 days, 100 on the meter, though it comes off in June."""
    (fitting,) = fittings_of(
        "date: 2024-03-02\nfitted: plug", "date: 2024-06-01\nremoved: plug", as_of=datetime.date(2024, 3, 12)
    )
    assert (fitting.until, fitting.age_days, fitting.distance) == (None, 10, Decimal(100))


def test_a_distance_is_unknown_where_a_total_is() -> None:
    """No guess stands in for a reading that is missing."""
    old = ORDER.replace("2024-01-0", "2023-01-0")
    figures = compute_parts(log_of(old, "date: 2023-03-02\nfitted: plug"), DAY)
    (fitting,) = list_fittings(figures.story, figures.spans, as_of=DAY, total_at=total_at)
    assert (fitting.distance, fitting.age_days) == (None, 29 + 30 + 31 + 30 + 31 + 31 + 30 + 31 + 30 + 31 + 366)


def test_spec_and_system_come_from_the_fitting_then_the_order() -> None:
    """What was written where it was fitted counts before what was written where it was bought."""
    plain, own, hose = fittings_of(
        "date: 2024-03-02\nsystems: [brakes]\nfitted: [{part: plug}, {part: plug, spec: upgraded, for: brakes}, hose]"
    )
    assert (plain.spec, plain.system) == ("equivalent", "fuel")
    assert (own.spec, own.system) == ("upgraded", "brakes")
    assert (hose.spec, hose.system) == ("used", "brakes")  # the entry is about one system only


@pytest.mark.parametrize("at", ["Left of  block", "left of block"])
def test_a_removal_closes_the_same_position(at: str) -> None:
    """Capitals and spacing of a position do not matter."""
    assert rows_of(
        "date: 2024-03-01\nfitted: [{part: plug, at: right of block}, {part: plug, at: left of block}]",
        f"date: 2024-04-01\nremoved: {{part: plug, at: {at}}}",
    ) == [("plug", "right of block", 1, None), ("plug", "left of block", 1, "04-01")]


def test_a_removal_without_a_position_closes_the_oldest() -> None:
    """Fitted on 1 and 2 March, one removed: the one of the 1st, whatever its position."""
    assert rows_of(
        "date: 2024-03-01\nfitted: {part: plug, at: 2}", "date: 2024-03-02\nfitted: plug",
        "date: 2024-04-01\nremoved: plug",
    ) == [("plug", "2", 1, "04-01"), ("plug", None, 1, None)]  # fmt: skip


def test_a_removal_takes_the_stated_position_before_an_unstated_one() -> None:
    """An unstated position does not contradict: it is closed where nothing else can be meant."""
    fitted = "date: 2024-03-01\nfitted: [{part: plug}, {part: plug, at: 3}]"
    removed = "date: 2024-04-01\nremoved: [{part: plug, at: 3}]"
    assert rows_of(fitted, removed) == [("plug", None, 1, None), ("plug", "3", 1, "04-01")]
    again = "date: 2024-04-02\nremoved: [{part: plug, at: 3}]"
    assert rows_of(fitted, removed, again) == [("plug", None, 1, "04-02"), ("plug", "3", 1, "04-01")]


def test_some_of_several_come_off() -> None:
    """Four in, one out: one fitting of 1 that ended, one of 3 that did not; before the day it is one of 4."""
    heads = ("date: 2024-03-01\nfitted: {part: plug, qty: 4}", "date: 2024-04-01\nremoved: plug")
    assert rows_of(*heads) == [("plug", None, 1, "04-01"), ("plug", None, 3, None)]
    assert rows_of(*heads, as_of=datetime.date(2024, 3, 31)) == [("plug", None, 4, None)]


def test_a_removal_closes_several_fittings() -> None:
    """Three off, of fittings of 2 and 2: the whole older one and half of the younger."""
    assert rows_of(
        "date: 2024-03-01\nfitted: {part: plug, qty: 2}", "date: 2024-03-02\nfitted: {part: plug, qty: 2}",
        "date: 2024-04-01\nremoved: {part: plug, qty: 3}",
    ) == [("plug", None, 2, "04-01"), ("plug", None, 1, "04-01"), ("plug", None, 1, None)]  # fmt: skip


def test_what_comes_off_was_on_before_that_day() -> None:
    """In one entry the old one comes off and a new one of the same part goes on, however they are listed."""
    assert rows_of(
        "date: 2024-03-01\nfitted: plug", "date: 2024-04-01\nfitted: plug\nremoved: plug"
    ) == [("plug", None, 1, "04-01"), ("plug", None, 1, None)]  # fmt: skip


def test_a_part_that_was_tried_comes_off_the_same_day() -> None:
    """Nothing of it was on before, so the day's own fitting is meant."""
    assert rows_of("date: 2024-03-01\nfitted: plug\nremoved: {part: plug, fate: kept}") == [("plug", None, 1, "03-01")]


def test_instead_of_closes_what_nobody_took_off() -> None:
    """At the same position, as scrapped; the part's life tells it as taken off."""
    heads = (
        "date: 2024-03-01\nfitted: [{part: plug, at: 1}, {part: plug, at: 2}]",
        "date: 2024-04-01\nfitted: {part: hose, at: 2, instead_of: plug}",
    )
    assert rows_of(*heads) == [("plug", "1", 1, None), ("plug", "2", 1, "04-01"), ("hose", "2", 1, None)]
    _, closed, hose = fittings_of(*heads)
    assert (closed.ended, closed.why, closed.fate) == ("replaced", "replaced by Hose", "scrapped")
    assert (hose.replaces, hose.earlier) == ("plug", "plug")
    plug = compute_parts(log_of(ORDER, *heads), DAY).parts[0]
    assert [(e.kind, e.at) for e in plug.life[2:]] == [("fitted", "1"), ("fitted", "2"), ("removed", "2")]
    assert (plug.on_machine, plug.removed, plug.shelf) == (1, 0, 18)


def test_instead_of_closes_nothing_where_the_removal_was_written() -> None:
    """Of two plugs one was taken off and replaced: the other stays on."""
    assert rows_of(
        "date: 2024-03-01\nfitted: {part: plug, qty: 2}",
        "date: 2024-04-01\nremoved: plug\nfitted: {part: plug, instead_of: plug}",
    ) == [("plug", None, 1, "04-01"), ("plug", None, 1, None), ("plug", None, 1, None)]


def test_a_removal_long_before_answers_for_instead_of() -> None:
    """Off in April, replaced in May: the second plug is not closed for it; a second replacement closes it."""
    heads = (
        "date: 2024-03-01\nfitted: {part: plug, qty: 2}", "date: 2024-04-01\nremoved: plug",
        "date: 2024-05-01\nfitted: {part: hose, instead_of: plug}",
    )  # fmt: skip
    assert rows_of(*heads)[:2] == [("plug", None, 1, "04-01"), ("plug", None, 1, None)]
    again = "date: 2024-06-01\nfitted: {part: hose, instead_of: plug}"
    assert rows_of(*heads, again)[:2] == [("plug", None, 1, "04-01"), ("plug", None, 1, "06-01")]


def test_the_machines_own_part_is_fitted_again() -> None:
    """It came off without a fitting, goes back from the shelf, and comes off once more."""
    out = "removed: {part: original, name: Bracket, fate: kept, for: brakes}"
    (fitting,) = fittings_of(
        f"date: 2024-03-01\n{out}",
        "date: 2024-04-01\nfitted: {part: original, name: bracket}",
        f"date: 2024-05-01\n{out}",
    )
    assert (fitting.key, fitting.name, fitting.spec) == ("original-bracket", "Bracket", "original")
    assert (fitting.system, fitting.until, fitting.earlier) == ("brakes", datetime.date(2024, 5, 1), None)


def test_taking_off_what_was_never_on_is_an_error() -> None:
    """A part of the log's that is not on the machine; an original needs no fitting."""
    (problem,) = problems_of("date: 2024-03-01\nremoved: plug")
    assert problem.message == "`plug` comes off on 2024-03-01, but none is fitted at that time"
    assert problem.help == (
        "say where it went on, under `fitted:`; if the machine came with it, write `{part: original, name: Plug}`"
    )
    (problem,) = problems_of(
        "date: 2024-02-01\nfitted: {part: plug, qty: 2}", "date: 2024-03-01\nremoved: {part: plug, qty: 3}"
    )
    assert problem.message == "`plug` comes off on 2024-03-01, but 2 of 3 are fitted"
    (problem,) = problems_of(
        "date: 2024-02-01\nfitted: {part: plug, at: 1}", "date: 2024-03-01\nremoved: {part: plug, at: 2}"
    )
    assert problem.message == "`plug` comes off on 2024-03-01, but none is fitted at `2` at that time"


def test_replacing_what_was_never_on_is_an_error() -> None:
    """The machine's own is meant, most of the time."""
    (problem,) = problems_of("date: 2024-03-01\nfitted: {part: hose, instead_of: plug}")
    assert problem.message == "`hose` is fitted instead of `plug`, which was never fitted in this log"
    assert problem.help == "instead_of: original"
    own = "removed: {part: original, name: Pipe}\nfitted: {part: hose, instead_of: original-pipe}"
    assert problems_of(f"date: 2024-03-01\n{own}") == ()


def test_as_fitted_is_every_open_fitting_by_system() -> None:
    """Systems in the order of `log.yaml`, what is in none last; as of March the hose is not on yet."""
    heads = (
        "date: 2024-03-01\nfitted: [hose, {part: plug, at: 1, for: brakes}, {part: plug, at: 2}]",
        "date: 2024-04-01\nremoved: {part: plug, at: 2}\nfitted: {part: hose, for: fuel}",
    )
    figures = compute_parts(log_of(ORDER, *heads), DAY)

    def on(date: datetime.date) -> list[tuple[str | None, list[tuple[str, str | None]]]]:
        groups = as_fitted(figures.story, figures.spans, on_date=date, total_at=total_at)
        return [(group.system, [(f.key, f.at) for f in group.fittings]) for group in groups]

    assert on(datetime.date(2024, 2, 28)) == []
    assert on(datetime.date(2024, 3, 31)) == [
        ("fuel", [("plug", "2")]), ("brakes", [("plug", "1")]), (None, [("hose", None)])
    ]  # fmt: skip
    assert on(DAY) == [("fuel", [("hose", None)]), ("brakes", [("plug", "1")]), (None, [("hose", None)])]


SERVICE = """
    machine: {name: Test machine}
    money: {currency: GBP}
    systems: {fuel: Fuel, brakes: Brakes}
    service: {oil: {name: Oil, every: {months: 12}}}
"""


def test_a_service_replaces_the_part_of_the_service_before() -> None:
    """Two services, each with a filter: one is on the machine, planned, and the first ended with the second."""
    heads = [f"date: 2024-0{month}-01\nserviced: {{item: oil, parts: plug, note: 15W-40}}" for month in (3, 9)]
    figures = compute_parts(log_of(ORDER, *heads, settings=SERVICE), DAY)
    first, second = list_fittings(figures.story, figures.spans, as_of=DAY, total_at=total_at)
    assert figures.problems == ()
    assert (first.until, second.until, second.planned) == (datetime.date(2024, 9, 1), None, True)
    assert second.note == "15W-40"


TIGHT = "tightened: {what: Pump bolts, qty: %s, to: 22 N·m + 90°, part: bolt}"


def test_a_single_use_part_tightened_again_is_a_warning() -> None:
    """Common practice: bolts tightened by angle are used once. Four fitted and tightened; tightened again in June."""
    first = f"date: 2024-03-01\nfitted: {{part: bolt, qty: 4}}\n{TIGHT % 4}"
    assert problems_of(first) == ()
    (warning,) = problems_of(first, f"date: 2024-06-01\n{TIGHT % 4}")
    assert (warning.rule, warning.severity) == ("single-use-again", "warning")
    assert warning.message == "`bolt` is single use: 8 tightened so far, but 4 new fitted"
    assert warning.place.file == "entries/e3.md"


def test_new_single_use_parts_are_no_warning() -> None:
    """New ones each time, or one set in two rows; the old ones put back are not new."""
    first = f"date: 2024-03-01\nfitted: {{part: bolt, qty: 4}}\n{TIGHT % 4}"
    off = "date: 2024-06-01\nremoved: {part: bolt, qty: 4, fate: %s}\n"
    assert problems_of(first, off % "scrapped" + "fitted: {part: bolt, qty: 4}\n" + TIGHT % 4) == ()
    assert (
        problems_of("date: 2024-03-01\nfitted: {part: bolt, qty: 4}\n" + TIGHT % 2, f"date: 2024-03-02\n{TIGHT % 2}")
        == ()
    )
    old = "fitted: {part: bolt, qty: 4, spec: used}\n" + TIGHT % 4
    assert [warning.rule for warning in problems_of(first, off % "kept" + old)] == ["single-use-again"]


def test_bolts_of_one_set_are_no_warning() -> None:
    """Bought and fitted as one set, tightened as eight bolts in one entry: more pieces, but not more often."""
    assert problems_of(f"date: 2024-03-01\nfitted: bolt\n{TIGHT % 8}") == ()
