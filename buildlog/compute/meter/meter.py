"""What does the meter say, can it be right, and what may be stated about it?

The readings and their true totals come from `readings`, daily use from `use`. The legal category of the total is the
owner's statement (49 CFR 580.5(e)) and is never inferred; what contradicts it is a warning.
"""

from __future__ import annotations

import datetime
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import pairwise

from buildlog.compute.meter.readings import (
    PLAUSIBLE_PER_DAY,
    MeterReading,
    MeterStep,
    MeterStory,
    follow_readings,
)
from buildlog.compute.meter.use import DailyUse, Pause, check_pauses, compute_use, forecast_date, list_pauses
from buildlog.compute.quantities.units import convert_distance, show_decimal
from buildlog.frozen import frozen
from buildlog.problems import Problem, Wording
from buildlog.read.records import ROAD_KINDS, Log, Machine
from buildlog.spans import say_in_english, say_span
from buildlog.text import to_say


@frozen
class MeterFigures:
    """The meter as of a day."""

    unit: str | None
    "unit of every total: `mi`, `km` or `h`; None where the log names no meter"
    readings: tuple[MeterReading, ...]
    "up to the day, in the order of time"
    dated: tuple[MeterReading, ...]
    "those of them whose day is known"
    rises: tuple[Decimal | None, ...]
    "by how much each total is above the one before; None for the first, and where which came first is not known"
    latest: MeterReading | None
    "the last reading whose day is known; None: there is none"
    steps: tuple[MeterStep, ...]
    "changes of meter and rollovers up to the day"
    offset: Decimal
    "true total less what the meter shows now"
    owned: Decimal | None
    "use since the machine was acquired; None where the first or the last total is not known"
    use: DailyUse
    "daily use as of the day, an estimate"
    pauses: tuple[Pause, ...]
    "times laid up, first and last day; one that has no end ends in the year 9999"
    statement: str | None
    "the owner's, on what the total is: `actual`, `exceeds mechanical limits`, `not actual`, `exempt`; None: not stated"
    problems: tuple[Problem, ...]
    "of the whole log, whatever day it is asked for"


def compute_meter(log: Log, as_of: datetime.date) -> MeterFigures:
    """The meter's readings, totals, use and statement as of a day, and every problem with them."""
    story = follow_readings(log)
    readings = tuple(reading for reading in story.readings if reading.date <= as_of)
    steps = tuple(step for step in story.steps if step.date <= as_of)
    pauses = list_pauses(log.settings.laid_up)
    # A reading known to the year alone is no latest one, and no start: it could be of any day of it.
    dated = tuple(reading for reading in readings if reading.date == reading.latest)
    meter = log.settings.machine.meter
    return MeterFigures(
        unit=story.unit,
        readings=readings,
        dated=dated,
        rises=tuple(_list_rises(readings)),
        latest=dated[-1] if dated else None,
        steps=steps,
        offset=steps[-1].offset if steps else Decimal(0),
        owned=_compute_owned(log, dated),
        use=compute_use(readings, as_of, pauses),
        pauses=pauses,
        statement=meter.statement if meter else None,
        problems=(
            *_check_story(story),
            *_check_statement(log.settings.machine, story),
            *check_pauses(log.settings.laid_up),
        ),
    )


def find_reading(meter: MeterFigures, day: datetime.date) -> MeterReading | None:
    """The last reading on or before a day among those whose day is known; its own date shows how near it is."""
    index = bisect_right(meter.dated, day, key=lambda reading: reading.date)
    return meter.dated[index - 1] if index else None


def shows_total(reading: MeterReading, unit: str | None) -> bool:
    """Whether a reading is its true total, in whatever unit it was read; `unit` is that of the totals."""
    return reading.total == show_decimal(convert_distance(reading.value, reading.unit, unit or reading.unit))


def find_total(meter: MeterFigures, day: datetime.date) -> Decimal | None:
    """The true total on a day: that of the last reading on or before it, so never more than it was."""
    # Not interpolated: between two readings nobody knows when it was driven, and an interval counted from too low a
    # total comes due early and never late.
    reading = find_reading(meter, day)
    return reading.total if reading else None


def forecast_total(meter: MeterFigures, total: Decimal) -> datetime.date | None:
    """The day on which a total will be reached at today's use, an estimate; None where there is no forecast."""
    if meter.latest is None:
        return None
    return forecast_date(meter.latest, total, use=meter.use, pauses=meter.pauses)


def _list_rises(readings: Sequence[MeterReading]) -> Iterator[Decimal | None]:
    for before, reading in zip((None, *readings), readings, strict=False):
        # A reading of 2004 may be before or after one of 12 June 2004: a difference would be between the wrong two.
        sure = before is not None and before.latest <= reading.date
        yield reading.total - before.total if before is not None and sure else None


def _compute_owned(log: Log, dated: Sequence[MeterReading]) -> Decimal | None:
    start = next((reading for reading in dated if reading.source == "acquired"), None)
    return dated[-1].total - start.total if start else None


def _check_story(story: MeterStory) -> Iterator[Problem]:
    yield from story.problems
    # Two by two, so that one slip is one problem, and not one at every later reading.
    for before, after in _pair_readings(story.readings):
        if after.total < before.total:
            yield _report_fall(before, after)
        elif story.unit is not None and after.total - before.total > _most(before, after, story.unit):
            yield _report_jump(before, after, story.unit)


def _pair_readings(readings: Sequence[MeterReading]) -> Iterator[tuple[MeterReading, MeterReading]]:
    """Every two readings of which the one is surely before the other and none that is known to the day is between.

    A reading known to the year alone is paired with the last before its first day and the first after its last day.
    """
    known = [reading for reading in readings if reading.date == reading.latest]
    yield from pairwise(known)
    for vague in readings:
        if vague.date != vague.latest:
            before = [reading for reading in known if reading.date <= vague.date]
            after = [reading for reading in known if reading.date > vague.latest]
            others = [r for r in readings if r.date != r.latest and r.date > vague.latest]
            yield from ((before[-1], vague),) if before else ()
            yield from ((vague, other) for other in (*after[:1], *others[:1]))


def _most(before: MeterReading, after: MeterReading, unit: str) -> int:
    # Two readings of one day may be a whole day's drive apart, and a vague date has to be taken at its widest.
    return PLAUSIBLE_PER_DAY[unit] * max(1, (after.latest - before.date).days)


def _report_fall(before: MeterReading, after: MeterReading) -> Problem:
    message = f"the meter falls from {_show(before)} to {_show(after)}"
    if before.total != before.value or after.total != after.value:
        message += f", in true totals from `{before.total}` to `{after.total}`"
    return Problem(
        rule="meter-falls",
        message=message,
        place=after.place,
        help="correct the wrong one, or add `rollover: true` or `meter_changed: {old: …, new: …}`",
        also=(before.place,),
    )


def _report_jump(before: MeterReading, after: MeterReading, unit: str) -> Problem:
    rise = after.total - before.total
    days = max(1, (after.latest - before.date).days)
    wording = Wording(
        text=to_say("the meter rises by `%(rise)s` in %(span)s, to `%(reading)s` on %(day)s"),
        places=(("rise", f"{rise} {unit}"), ("reading", f"{after.value} {after.unit}"), ("day", after.when)),
        days=days,
    )
    return Problem(
        rule="meter-jumps",
        message=wording.fill(say_in_english, say_span),
        wording=wording,
        place=after.place,
        help=f"check both readings: more than {PLAUSIBLE_PER_DAY[unit]} {unit} a day is not plausible",
        severity="warning",
        also=(before.place,),
    )


def _show(reading: MeterReading) -> str:
    return f"`{reading.value} {reading.unit}` on {reading.when}"


def is_odometer(machine: Machine) -> bool:
    """Whether the law on odometers is about the meter: it belongs to a road vehicle, and counts distance."""
    return machine.kind in ROAD_KINDS and machine.meter is not None and machine.meter.unit != "h"


def _check_statement(machine: Machine, story: MeterStory) -> Iterator[Problem]:
    """A warning where the meter is stated to show the actual total and its own record says that it cannot."""
    meter = machine.meter
    # Only `actual` can be contradicted: the other two already say that the total is not what is shown.
    if meter is None or meter.statement != "actual" or not story.steps or story.steps[-1].offset == 0:
        return
    # Proposed, never set: 49 CFR 580.5(e) makes it the transferor's to state, and only they know what was done.
    step = story.steps[-1]
    better = "exceeds mechanical limits" if step.kind == "rollover" else "not actual"
    less = to_say("the meter is stated to show the actual total, but shows `%(distance)s` less")
    more = to_say("the meter is stated to show the actual total, but shows `%(distance)s` more")
    distance = ("distance", f"{abs(step.offset)} {story.unit}")
    wording = Wording(text=more if step.offset < 0 else less, places=(distance,))
    law = " (49 CFR 580.5)" if is_odometer(machine) else ""
    yield Problem(
        rule="meter-statement",
        message=wording.fill(say_in_english, say_span),
        wording=wording,
        place=meter.field_place("statement"),
        help=f"`statement: {better}` may be the right statement{law}; the decision is yours",
        severity="warning",
        also=(step.place,),
    )
