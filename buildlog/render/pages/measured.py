"""Measurements on pages: one set in its entry, every set of a thing side by side in the service history."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from buildlog.compute.measures.measures import MeasuredSet, MeasuredValue, MeasureSeries
from buildlog.frozen import frozen
from buildlog.read.records import Measured
from buildlog.render import measure_chart
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.measured_words import (
    name_limits,
    say_change,
    say_limits,
    say_percent,
    say_slope,
    say_spread,
    say_verdict,
    say_why,
)
from buildlog.render.pages.periods import LATEST_TIMES, WHOLE_SERIES, split_times
from buildlog.render.pieces import Link, When
from buildlog.text import to_say


@frozen
class Reading:
    """One value off a gauge."""

    where: str
    "the place, as in `front-left`; `value` where there is one only"
    value: str
    "with every decimal that was written"
    outside: str = ""
    "why it is out of limits: `below 24`; empty: within, or no limits stated"


@frozen
class MeasuredView:
    """One set of values off a gauge."""

    what: str
    "as the owner calls it: `Compression, cold`"
    unit: str = ""
    "of all its values; empty: none"
    values: tuple[Reading, ...]
    "in the order written"
    verdict: str = ""
    "`within limits`, `spread 12 %, limit 10 %`; empty: no limits stated"
    fails: bool = False
    "whether a limit is broken, of a value or of the spread"
    limits: str = ""
    "`at least 24 bar, spread at most 10 %`"
    note: str = ""
    "in the owner's words"
    all_times: Link
    "leads to the same thing in the service history: `2 times, side by side`"


@frozen
class MeasuredTime:
    """One set of values: a column of the table."""

    when: When
    "the entry's day"
    entry: Link
    "the entry that states it"
    reading: str = ""
    "of the meter, then"
    spread: str = ""
    "`10.5 %`; empty where no set of the series has a limit for it"
    spread_fails: bool = False
    "whether the spread is above its limit"
    limits: str = ""
    "`at least 20 bar, spread at most 15 %`"
    verdict: str = ""
    "`within limits`, `outside limits`; empty: no limits stated"
    fails: bool = False
    "whether a limit is broken, of a value or of the spread"
    note: str = ""
    "in the owner's words"


@frozen
class MeasuredCell:
    """One value of one place at one time."""

    value: str = ""
    "with its unit where that is not the table's; empty: not measured then"
    also: str = ""
    "the same in the table's unit, where it was read in another"
    outside: str = ""
    "why it is out of limits: `below 24`"


@frozen
class MeasuredRow:
    """One place: a row of the table."""

    where: str
    "the place, as in `front-left`; `value` where there is one only"
    cells: tuple[MeasuredCell, ...]
    "one for each time"
    change: str = ""
    "from first to last: `+4.7`, `−1`, `no change`; empty where it was measured once"
    slope: str = ""
    "`−0.9 a year over 4 measurements`; empty: too few times to say"


@frozen
class SeriesView:
    """What was measured of one thing at two or more times."""

    key: str
    "its anchor is `measured-KEY`"
    what: str
    "as the owner calls it: `Compression, cold`"
    unit: str = ""
    "of the table and the chart, as last written; empty: none"
    times: tuple[MeasuredTime, ...]
    "oldest first"
    rows: tuple[MeasuredRow, ...]
    "in the order in which places were first written"
    # Rows that would be empty in every column are left out, and templates do not compute.
    has_spread: bool = False
    "whether the table has a row for it"
    has_limits: bool = False
    "whether the table has rows for limits and verdict"
    has_reading: bool = False
    "whether the table has a row for the meter"
    has_note: bool = False
    "whether the table has a row for notes"
    forecasts: tuple[str, ...] = ()
    "what runs towards a limit, a sentence each"
    chart: str = ""
    "SVG, already safe; empty where there are fewer than three days"
    said: str = ""
    "the first and the last values in a sentence, where there is no drawing"
    pages: tuple[Link, ...] = ()
    "the pages that have every time, where there are many; else empty"


def lead_to_times(context: PageContext, record: Measured) -> Link:
    """Where the service history has it: every time that it was measured, or the only one."""
    once = Link(text=context.words.say("in the service history"), href="service.html#measured-once")
    return context.measured_times.get(record.place, once)


def describe_measured(context: PageContext, record: Measured) -> MeasuredView:
    """One set, as its entry shows it."""
    one = context.figures.measures.sets[record.place]
    return MeasuredView(
        what=context.owner_text(record.what),
        unit=context.owner_text(record.unit),
        values=tuple(_describe_value(context, one, value) for value in one.values),
        verdict=", ".join(filter(None, [say_verdict(context, one), say_spread(context, one)])),
        fails=one.verdict == "outside",
        limits=say_limits(context, record.limits, record.unit),
        note=context.owner_text(record.note),
        all_times=lead_to_times(context, record),
    )


def _describe_value(context: PageContext, one: MeasuredSet, value: MeasuredValue) -> Reading:
    written = context.gauged(value.value)
    return Reading(where=_name_place(context, value.where), value=written, outside=say_why(context, one, value))


def _name_place(context: PageContext, where: str) -> str:
    # TRANSLATORS: stands for the name of a place where a thing was measured in one place only
    return context.owner_text(where) or context.words.say("Value")


def list_measures(context: PageContext) -> tuple[SeriesView, ...]:
    """Every thing that was measured at two or more times, in the order in which each was first."""
    return tuple(
        replace(
            describe_series(context, replace(series, sets=_pick(series.sets)), key),
            pages=tuple(list_series_pages(context, key).values()),
        )
        for key, series in context.repeated_measures.items()
    )


def _pick(sets: tuple[MeasuredSet, ...]) -> tuple[MeasuredSet, ...]:
    """All of them; where they are many, the first, the last of each year, the latest, and the latest out of limits."""
    if len(sets) <= WHOLE_SERIES:
        return sets
    ends = {one.date.year: at for at, one in enumerate(sets)}
    outside = [at for at, one in enumerate(sets) if one.verdict == "outside"]
    latest = range(len(sets) - LATEST_TIMES, len(sets))
    return tuple(sets[at] for at in sorted({0, *ends.values(), *outside[-LATEST_TIMES:], *latest}))


def list_series_pages(context: PageContext, key: str) -> dict[str, Link]:
    """The pages that have every time that one thing was measured, by period; none where they are few."""
    return {
        period: Link(text=context.period(period), href=f"service/measured-{key}-{period}.html")
        for period in split_sets(context.repeated_measures[key])
    }


def split_sets(series: MeasureSeries) -> dict[str, list[MeasuredSet]]:
    """Every time that one thing was measured, by the period whose page has it; empty where none has."""
    return split_times(series.sets, lambda one: one.date)


def describe_series(context: PageContext, series: MeasureSeries, key: str, *, draw: bool = True) -> SeriesView:
    """A series as a table, and as a drawing of what it has from first to last."""
    has_spread = any(say_spread(context, one) for one in series.sets)
    times = tuple(_describe_time(context, one) for one in series.sets)
    return SeriesView(
        key=key,
        what=context.owner_text(series.what),
        unit=context.owner_text(series.unit),
        times=times,
        rows=tuple(_list_rows(context, series)),
        has_spread=has_spread,
        has_limits=any(time.limits for time in times),
        has_reading=any(time.reading for time in times),
        has_note=any(time.note for time in times),
        forecasts=tuple(_list_forecasts(context, series)) if draw else (),
        chart=_draw(context, series, key) if draw else "",
        said=_say_values(context, series) if draw and len(series.sets) == 2 else "",
    )


def _describe_time(context: PageContext, one: MeasuredSet) -> MeasuredTime:
    spread = say_percent(context, one.spread) if one.spread is not None and say_spread(context, one) else ""
    return MeasuredTime(
        when=context.when(one.date),
        entry=context.entry_link(one.entry),
        reading=context.reading_in(one.entry),
        spread=spread,
        spread_fails=one.spread_fails,
        limits=say_limits(context, one.record.limits, one.record.unit),
        verdict=say_verdict(context, one),
        fails=one.verdict == "outside",
        note=context.owner_text(one.record.note),
    )


def _list_rows(context: PageContext, series: MeasureSeries) -> Iterator[MeasuredRow]:
    # A place that was measured once has no change.
    changes = {trend.where: trend for trend in series.trends}
    for where in dict.fromkeys(value.where for one in series.sets for value in one.values):
        cells = tuple(_describe_cell(context, series, one, where) for one in series.sets)
        trend = changes.get(where)
        yield MeasuredRow(
            where=_name_place(context, where),
            cells=cells,
            change=say_change(context, trend.change) if trend else "",
            slope=say_slope(context, trend) if trend else "",
        )


def _describe_cell(context: PageContext, series: MeasureSeries, one: MeasuredSet, where: str) -> MeasuredCell:
    value = next((value for value in one.values if value.where == where), None)
    if value is None:
        return MeasuredCell()
    # What was read off the gauge is never replaced: the converted value, which can be compared, stands beside it.
    if one.record.unit == series.unit or not series.unit:
        return MeasuredCell(value=context.gauged(value.value), outside=say_why(context, one, value))
    return MeasuredCell(
        value=context.gauged(value.value, one.record.unit),
        also=context.gauged(value.common, series.unit),
        outside=say_why(context, one, value),
    )


def _list_forecasts(context: PageContext, series: MeasureSeries) -> Iterator[str]:
    for trend in series.trends:
        if trend.reached is None or trend.limit is None:
            continue
        where = context.owner_text(trend.where or series.what)
        limit = context.gauged(trend.limit, series.unit or None)
        words, month = context.words, context.words.month(trend.reached)
        told = words.say_count(
            "%(where)s: at this rate it reaches %(limit)s about %(month)s. A forecast from the "
            "median slope of %(number)s measurement.",
            "%(where)s: at this rate it reaches %(limit)s about %(month)s. A forecast from the "
            "median slope of %(number)s measurements.",
            trend.slope_times, where=where, limit=limit, month=month,
        )  # fmt: skip
        past = words.say("That date has passed, and nothing has been measured since.")
        yield f"{told} {past}" if trend.reached <= context.figures.as_of else told


def _draw(context: PageContext, series: MeasureSeries, key: str) -> str:
    words, unit = context.words, series.unit or None
    # The latest limits alone, since one drawing shows one pair; each set is judged by its own.
    names = name_limits(context, series.limits, unit)
    least = (series.limits.min, names["min"]) if series.limits and series.limits.min is not None else None
    most = (series.limits.max, names["max"]) if series.limits and series.limits.max is not None else None
    return measure_chart.measure_chart(
        tuple(_list_lines(context, series)),
        least=least,
        most=most,
        words=measure_chart.Words(
            title=context.owner_text(series.what),
            description=_describe_chart(context, series, [*names.values()]),
            amount=lambda value: context.quantity(value, unit),
            # TRANSLATORS: a day on a drawing, as short as it can be: 16 Dec 2023
            day=lambda day: words.say("%(day)s %(year)s", day=words.short_day(day), year=day.year),
        ),
        key=f"measured-chart-{key}",
    )


def _say_values(context: PageContext, series: MeasureSeries) -> str:
    """`24 bar on 3 May 2024, 22 bar on 8 June 2024.`; place by place where there are several."""
    say, gauged, unit = context.words.say, context.gauged, series.unit or None
    days = {key: context.words.day(series.sets[at].date) for key, at in (("first_day", 0), ("last_day", -1))}
    if len(series.trends) > 1:
        each = [
            say(
                "%(where)s %(first)s, then %(last)s",
                where=context.owner_text(trend.where), first=gauged(trend.first), last=gauged(trend.last),
            )
            for trend in series.trends
        ]  # fmt: skip
        values = "; ".join(each)
        if not unit:
            return say("On %(first_day)s and on %(last_day)s: %(values)s.", values=values, **days)
        unit = context.owner_text(unit)
        return say("On %(first_day)s and on %(last_day)s, in %(unit)s: %(values)s.", values=values, unit=unit, **days)
    for trend in series.trends:
        first = f"{context.owner_text(trend.where)} {gauged(trend.first, unit)}".strip()
        last = gauged(trend.last, unit)
        return say("%(first)s on %(first_day)s, %(last)s on %(last_day)s.", first=first, last=last, **days)
    return ""


def _list_lines(context: PageContext, series: MeasureSeries) -> Iterator[measure_chart.Line]:
    for where in dict.fromkeys(value.where for one in series.sets for value in one.values):
        dots = (
            measure_chart.Dot(day=one.date, value=value.common, outside=value.outside is not None)
            for one in series.sets
            for value in one.values
            if value.where == where
        )
        yield measure_chart.Line(where=context.owner_text(where), dots=tuple(dots))


def _describe_chart(context: PageContext, series: MeasureSeries, limits: list[str]) -> str:
    """The trends in words, for those who do not see the drawing."""
    words, sets = context.words, series.sets
    # First and last only: the table has every value.
    here, there = to_say("from %(first)s to %(last)s"), to_say("%(where)s from %(first)s to %(last)s")
    moved = [
        words.say(
            there if trend.where else here,
            where=trend.where, first=context.gauged(trend.first), last=context.gauged(trend.last),
        )
        for trend in series.trends
    ]  # fmt: skip
    days = {"first_day": words.day(sets[0].date), "last_day": words.day(sets[-1].date)}
    sentences = [words.say("%(first_day)s to %(last_day)s: %(values)s.", values="; ".join(moved), **days)]
    if limits:
        sentences.append(words.say("Limits: %(limits)s.", limits=words.join(limits)))
    return " ".join([*sentences, words.say("The table has the same figures.")])
