"""What was measured, is it within its limits, and how has it moved since the time before?

Sets of one `what` make a series. Limits are the ones that the owner took from the maker's figures: none is built in,
and a set without limits gets no verdict. Spread is (max − min)/max; the other ratio in use, min/max, is 1 less it.
How much of one unit is another is for `quantities.units`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any, Literal, TypeVar

from buildlog.arithmetic import EXACT, divide, round_half_up
from buildlog.compute.measures.trends import MOST_PLACES, Point, Trend, follow_place, subtract
from buildlog.compute.quantities.units import (
    KIND_WORDS,
    Unit,
    convert,
    convert_as_written,
    explain_ambiguous,
    find_unit,
)
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Amount, Entry, Limits, Log, Measured
from buildlog.text import fold_words


def sort_series(records: Sequence[Measured]) -> tuple[tuple[Measured, ...], ...]:
    """The records that can be compared with each other, in the order of the first of each."""
    groups: dict[tuple[str, str], list[Measured]] = {}
    for record in records:
        # By kind of unit and not by unit, so that a new gauge in bar goes on with the series of the old one in psi.
        groups.setdefault((fold_words(record.what), _name_measure(record)), []).append(record)
    return tuple(tuple(group) for group in groups.values())


def check_units(records: Sequence[Measured]) -> Iterator[Problem]:
    """One problem for each record whose unit cannot be compared with that of the first record of the same thing."""
    first: dict[str, Measured] = {}
    for record in records:
        # Each against the first, not the one before: of two units that take turns, only the odd ones are reported.
        before = first.setdefault(fold_words(record.what), record)
        if _name_measure(before) != _name_measure(record):
            yield _report_unit(before, record)


def _name_measure(record: Measured) -> str:
    """What values are compared by: the kind of the unit, else the unit as written."""
    # Capitals of an unknown unit count: between m and M may lie a factor of a thousand million.
    unit = find_unit(record.unit) if record.unit else None
    return unit.kind if unit else f"as written: {' '.join((record.unit or '').split())}"


def _report_unit(before: Measured, record: Measured) -> Problem:
    here, there = (f"`{r.unit}`" if r.unit else "no unit" for r in (record, before))
    unit, other = (find_unit(r.unit) if r.unit else None for r in (record, before))
    places: dict[str, Any] = {"place": record.field_place("unit"), "also": (before.field_place("unit"),)}
    if unit and other:
        message = f"`{record.what}` is measured in {here}, {KIND_WORDS[unit.kind]}, but was in {there}"
        help = f"use a unit of the same kind as {there}, or give one of the two a different name"
        return Problem(rule="unit-kind", message=message, help=help, **places)
    message = f"`{record.what}` is measured in {here}, but was in {there}: the two cannot be compared"
    # A gallon is fine as long as all are gallons: only what has to be converted needs to know which.
    for vague in (record, before):
        if vague.unit and explain_ambiguous(vague.unit):
            message = f"`{vague.unit}` can mean more than one unit, and `{record.what}` needs converting"
            help = explain_ambiguous(vague.unit)
            return Problem(rule="unit-ambiguous", message=message, help=help, place=vague.field_place("unit"))
    # A warning, as either may be right; a pressure against a temperature, above, can only be a slip.
    help = "use the same unit in both, or give one of the two a different name"
    return Problem(rule="units-apart", message=message, help=help, severity="warning", **places)


Number = TypeVar("Number", Decimal, Fraction)
Outside = Literal["below", "above"]
Verdict = Literal["within", "outside"]


@frozen
class MeasuredValue:
    """One value off a gauge."""

    where: str
    "the owner's name of the place; empty where there is no more than one"
    value: Decimal
    "as written"
    common: Decimal
    "in the unit of its series, to the precision of what was written"
    outside: Outside | None
    "on which side of its own set's limits; None: within them, or there is none"
    change: Decimal | None
    "since the set before that has the same place, in the series' unit, as `Trend.change`; None: there is none"


@frozen
class MeasuredSet:
    """The values of one time."""

    record: Measured
    "as the owner wrote it"
    entry: str
    "name of its entry"
    date: datetime.date
    "the day of its entry"
    reading: Amount | None
    "the meter's, in the same entry; None: the entry has none"
    values: tuple[MeasuredValue, ...]
    "in the owner's order"
    limits: Limits | None
    "None where none are written, or those written contradict each other, which is a problem"
    spread: Decimal | None
    """(max − min)/max in percent, half up to a tenth, or to as many places as show on which side of its limit it is;
    None for fewer than two values, and where one is below zero or none is above"""
    spread_fails: bool
    "whether the spread is above its limit; False also where either is missing"
    verdict: Verdict | None
    "of the whole set; None where no limit says anything about it"


@frozen
class MeasureSeries:
    """Every set of one thing that was measured, in values that can be compared."""

    what: str
    "as it was written last"
    unit: str
    "of `common`, of the limits and of the trend: as it was written last; empty where none was"
    limits: Limits | None
    "those of the last set; None where it has none"
    sets: tuple[MeasuredSet, ...]
    "oldest first"
    trends: tuple[Trend, ...]
    "by place, in their order; empty for a single set"


@frozen
class MeasureFigures:
    """Everything that was measured by a day."""

    series: tuple[MeasureSeries, ...]
    "in the order in which each was first measured"
    sets: Mapping[Place, MeasuredSet]
    "by the place of the record"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day"


def compute_measures(log: Log) -> MeasureFigures:
    """Every series of measurements, judged by their limits, and every problem with one."""
    entries = {record.place: entry for entry in log.entries for record in entry.measured}
    records = [record for entry in log.entries for record in entry.measured]
    series = tuple(_make_series(group, entries) for group in sort_series(records))
    problems = [problem for record in records for problem in _check_record(record)]
    return MeasureFigures(
        series=series,
        sets={each.record.place: each for one in series for each in one.sets},
        problems=(*problems, *check_units(records)),
    )


def list_values(record: Measured) -> Mapping[str, Decimal]:
    """The values of a record by place; the one value of a record without places has an empty name."""
    return record.values or ({"": record.value} if record.value is not None else {})


def compute_spread(values: tuple[Decimal, ...]) -> Fraction | None:
    """(max − min)/max, exactly; None for fewer than two values, and where one is below zero or none is above.

    Makers limit it as "lowest at least 75 % of highest", which is a spread of at most 25 %. Of the pressures before and
    behind a leak it is the loss (p_in − p_cylinder)/p_in of the differential-pressure test in FAA AC 43.13-1B.
    """
    # A share of the largest says nothing across zero, as with temperatures.
    if len(values) < 2 or (low := min(values)) < 0 or (high := max(values)) == 0:
        return None
    return divide(EXACT.subtract(high, low), high)


def _make_series(records: tuple[Measured, ...], entries: Mapping[Place, Entry]) -> MeasureSeries:
    last = records[-1]
    unit = _find_own(last)  # of the gauge that the owner has in hand now
    sets: list[MeasuredSet] = []
    points: dict[str, list[Point]] = {}
    for record in records:
        # Limits the wrong way round would put every value outside; they judge nothing until they are mended.
        limits = record.limits if record.limits and not _is_reversed(record.limits) else None
        entry, own, values = entries[record.place], _find_own(record), list[MeasuredValue]()
        for where, value in list_values(record).items():
            before = points.setdefault(where, [])
            before.append(_place_point(value, entry.date, own, unit))
            values.append(
                MeasuredValue(
                    where=where,
                    value=value,
                    common=before[-1].shown,
                    # As written, in its own unit: no conversion can move a value across its limit.
                    outside=_find_side(value, limits),
                    change=subtract(*before[-2:]) if len(before) > 1 else None,
                )
            )
        sets.append(_judge(record, entry, tuple(values), limits))
    trends = tuple(follow_place(where, some, sets[-1].limits) for where, some in points.items() if len(some) > 1)
    return MeasureSeries(what=last.what, unit=last.unit or "", limits=sets[-1].limits, sets=tuple(sets), trends=trends)


def _find_own(record: Measured) -> Unit | None:
    return find_unit(record.unit) if record.unit else None


def _place_point(value: Decimal, date: datetime.date, own: Unit | None, common: Unit | None) -> Point:
    if own is None or common is None or own is common:
        return Point(date=date, shown=value, exact=value)
    # Kept exactly beside what is shown: of 14 psi, 15 psi and 1.00 bar the difference as shown is 0.03 bar, and the
    # true one 0.0347.
    return Point(date=date, shown=convert_as_written(value, own, common), exact=convert(value, own, common))


def _judge(record: Measured, entry: Entry, values: tuple[MeasuredValue, ...], limits: Limits | None) -> MeasuredSet:
    spread = compute_spread(tuple(value.value for value in values))
    percent = None if spread is None else spread * 100
    most = limits.spread if limits else None
    fails = percent is not None and most is not None and percent > Fraction(most)
    return MeasuredSet(
        record=record,
        entry=entry.name,
        date=entry.date,
        reading=entry.reading,
        values=values,
        limits=limits,
        spread=None if percent is None else _round_spread(percent, most),
        spread_fails=fails,
        verdict=_find_verdict(values, limits, judged=spread is not None, fails=fails),
    )


def _find_side(value: Decimal, limits: Limits | None) -> Outside | None:
    if limits and limits.min is not None and value < limits.min:
        return "below"
    return "above" if limits and limits.max is not None and value > limits.max else None


def _find_verdict(
    values: tuple[MeasuredValue, ...], limits: Limits | None, *, judged: bool, fails: bool
) -> Verdict | None:
    """The verdict on a set; `judged`: it has a spread."""
    # No verdict is not `within`: a set that nothing can be said of must not be shown as good.
    if limits is None or not values:
        return None
    if limits.min is None and limits.max is None and (limits.spread is None or not judged):
        return None
    return "outside" if fails or any(value.outside for value in values) else "within"


def _round_spread(percent: Fraction, most: Decimal | None) -> Decimal:
    """Half up to a tenth; to more places where it would else be on the other side of its limit, or on it."""
    side = 0 if most is None else _side(percent, Fraction(most))
    for places in range(1, MOST_PLACES):
        # A spread of 25.04 % must not be shown as 25.0 % and fail a limit of 25 %.
        rounded = round_half_up(percent, places)
        if most is None or _side(rounded, most) == side:
            return rounded
    return round_half_up(percent, MOST_PLACES)


def _side(percent: Number, most: Number) -> int:
    """-1, 0 or 1: below it, on it, above it."""
    return (percent > most) - (percent < most)


def _is_reversed(limits: Limits) -> bool:
    return limits.min is not None and limits.max is not None and limits.min > limits.max


def _check_record(record: Measured) -> Iterator[Problem]:
    limits = record.limits
    if limits and _is_reversed(limits):
        yield Problem(
            rule="limits-reversed",
            message=f"the minimum for `{record.what}`, `{limits.min:f}`, is above the maximum, `{limits.max:f}`",
            place=limits.field_place("min"),
            help=f"write `limits: {{min: {limits.max:f}, max: {limits.min:f}}}` if they were swapped",
            also=(limits.field_place("max"),),
        )
    if record.values and record.value is not None:
        message = f"`{record.what}` has both `value` and `values`"
        help = "move the single value into `values:`, with a name for where it was taken"
        yield Problem(rule="measured-twice", message=message, place=record.field_place("value"), help=help)
    if not list_values(record):
        message, help = f"`{record.what}` has no value", "write `value: 2.4`, or `values: {left: 2.4, right: 2.5}`"
        yield Problem(rule="measured-nothing", message=message, place=record.place, help=help, severity="warning")
