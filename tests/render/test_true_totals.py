"""Wherever a reading is shown that is not the true total, the true total stands beside it."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.answers.ledger import answer_due
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.front import make_front
from buildlog.render.pages.timeline import list_milestones
from buildlog.render.render import make_views
from tests.render.editions import edition_of

SETTINGS = """
machine: {name: The Sedge, kind: road vehicle, meter: {unit: mi, digits: 6STATEMENT}}
money: {currency: GBP}
systems: {fuel: Fuel}
service: {oil: {name: Oil, every: {months: 6, distance: 3000}}, grease: {name: Grease, every: {distance: 1000}}}
acquired: {date: 2024-01-01, reading: 87412}
"""
FIRST = "date: 2024-02-01\nreading: 87413\nmilestone: First start\nserviced: [oil, grease]"
CHANGED = "date: 2024-03-01\nreading: 41260\nmeter_changed: {old: 87416, new: 41260}"
DRIVEN = """
date: 2024-05-01
reading: 41262
milestone: First drive
bought: {from: A, arrived: 2024-05-01, lines: [{part: belt, each: 5.00, for: fuel}]}
fitted: belt
serviced: [{item: oil, reading: 41261}]
measured: {what: Gap, unit: mm, value: 0.4}
tightened: {what: Nuts, to: 50 N·m, recheck: 50 mi}
"""
AGAIN = "date: 2024-06-01\nreading: 41300\nmeasured: {what: Gap, unit: mm, value: 0.5}"
OFFSET = 87416 - 41260


def sedge_of(*heads: str, statement: str = "") -> PageContext:
    settings = SETTINGS.replace("STATEMENT", f", statement: {statement}" if statement else "")
    return edition_of(*heads, settings=settings, as_of="2024-12-01")


def list_pieces(value: Any) -> Iterator[str]:
    """The words of each small value of a page, joined as they stand together: of a fact, of a row, of a margin."""
    if dataclasses.is_dataclass(value):
        fields = [getattr(value, field.name) for field in dataclasses.fields(value)]
        yield " ".join(field for field in fields if isinstance(field, str))
        value = [field for field in fields if not isinstance(field, str)]
    if isinstance(value, tuple | list):
        for item in value:
            yield from ([item] if isinstance(item, str) else list_pieces(item))


def list_shown(text: str) -> set[int]:
    return {int(number.replace(",", "")) for number in re.findall(r"(?<![\d,])(\d{1,3}(?:,\d{3})*)\u00a0mi", text)}


def test_every_reading_of_the_new_meter_has_its_total_beside_it() -> None:
    """Every page: where 41,260 to 41,300 of the new meter stands, 87,416 to 87,456 stands with it, in one row."""
    context = sedge_of(FIRST, CHANGED, DRIVEN, AGAIN)
    seen = set()
    for view in make_views(context):
        for piece in list_pieces(view):
            for reading in list_shown(piece) & {41260, 41261, 41262, 41300}:
                assert reading + OFFSET in list_shown(piece), (view.frame.path, piece)
                seen.add((view.frame.path, reading))
    assert {("index.html", 41300), ("timeline.html", 41262), ("entries/e3.html", 41261)} <= seen
    assert {("service.html", 41300), ("service.html", 41261), ("parts.html", 41262), ("entries/e2.html", 41260)} <= seen


def test_milestones_do_not_fall() -> None:
    """87,413, then a changed meter that shows 41,262: the second milestone is at 87,418 in all."""
    assert [each.reading for each in list_milestones(sedge_of(FIRST, CHANGED, DRIVEN))] == [
        "87,413\u00a0mi", "87,418\u00a0mi in all (meter\u00a041,262\u00a0mi)",
    ]  # fmt: skip


@given(st.lists(st.tuples(st.integers(0, 900), st.booleans()), min_size=1, max_size=6), st.integers(0, 90_000))
def test_the_first_figure_of_a_milestone_never_falls(moves: list[tuple[int, bool]], new: int) -> None:
    """However often the meter is changed, and whatever the new one shows: the totals that are shown rise."""
    shown, heads, day = 87412, [], date(2024, 1, 2)
    for rise, changed in moves:
        day += timedelta(days=1)
        change = f"\nmeter_changed: {{old: {shown}, new: {new}, reading_of: new}}" if changed else ""
        shown = (new if changed else shown) + rise
        heads.append(f"date: {day}\nreading: {shown}\nmilestone: M{change}")
    texts = [each.reading for each in list_milestones(sedge_of(*heads))]
    totals = [int(text.split("\u00a0")[0].replace(",", "")) for text in texts]
    assert totals == sorted(totals)
    assert totals[-1] == 87412 + sum(rise for rise, _ in moves)


def meter_fact(context: PageContext) -> tuple[str, str, str]:
    (fact,) = (fact for fact in make_front(context).key_figures if fact.name == "Meter")
    return fact.name, fact.value, fact.note


@pytest.mark.parametrize("statement", ["", "not actual"])
def test_the_front_page_shows_the_true_total(statement: str) -> None:
    """The head was changed: the machine has run 87,418 mi, and the meter's 41,262 is said to be the meter's."""
    assert meter_fact(sedge_of(FIRST, CHANGED, DRIVEN, statement=statement)) == (
        "Meter", "87,418\u00a0mi in all", "the meter shows 41,262\u00a0mi, 1 May 2024",
    )  # fmt: skip


def test_the_front_page_passes_on_what_the_owner_states() -> None:
    """Where no change is on record and the owner states that the meter shows not the whole, the front page says so."""
    name, value, note = meter_fact(sedge_of(FIRST, statement="not actual"))
    said = "1 February 2024, which the owner says is not the full total"
    assert (name, value, note) == ("Meter", "87,413\u00a0mi", said)
    assert meter_fact(sedge_of(FIRST, statement="actual"))[2] == "1 February 2024"


def test_a_rollover_is_a_total_too() -> None:
    """Five drums that passed 99,999: 120 on the meter is 100,120 in all, and the entry says what follows."""
    settings = "machine: {name: M, meter: {unit: km, digits: 5}}\nmoney: {currency: GBP}"
    rolled = "date: 2024-02-02\nreading: 120\nrollover: true"
    context = edition_of("date: 2024-02-01\nreading: 99990", rolled, settings=settings)
    view = next(view for view in make_views(context) if view.frame.path == "entries/e2.html")
    assert view.margin.reading == "100,120\u00a0km in all (meter\u00a0120\u00a0km)"  # type: ignore[union-attr]
    meter = (
        "The meter went round past its last digit. "
        "From here on the meter shows 100,000\u00a0km less than the true total."
    )
    assert view.meter == meter  # type: ignore[union-attr]


def test_another_unit_is_no_other_total() -> None:
    """A reading in kilometres on a meter in miles, never changed: as it was read, and nothing more."""
    settings = "machine: {name: M, meter: {unit: mi}}\nmoney: {currency: GBP}"
    context = edition_of("date: 2024-02-01\nreading: 69924 km\nmilestone: M", settings=settings)
    assert list_milestones(context)[0].reading == "69,924\u00a0km"


def test_due_says_both() -> None:
    """Oil at 87,417 of the new meter and 3,000 on: due at 90,417 mi, when the meter will show 44,261."""
    due = answer_due(sedge_of(FIRST, CHANGED, DRIVEN).figures)
    assert "90417 mi (meter 44261)" in {row[3] for row in due.tables[0].rows}
