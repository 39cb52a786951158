"""What the pages tell of measurements: one set in its entry, every set of a thing side by side in the history."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from buildlog.reckon.measures.measures import MeasuredSet, MeasuredValue, MeasureSeries
from buildlog.site import measure_chart
from buildlog.site.pages.edition import Edition
from buildlog.site.pieces import Link
from buildlog.site.view_entry import MeasuredView, Reading
from buildlog.site.view_measures import MeasuredCell, MeasuredRow, MeasuredTime, OnceRow, SeriesView
from buildlog.site.words import MINUS, join_words
from buildlog.source.records import Limits, Measured

SPREAD = "spread (max − min)/max"
"The formula stands beside the number, as another ratio, min/max, is in use as well."

ONCE = Link(text="in the service history", href="service.html#measured-once")


def describe_measured(edition: Edition, record: Measured) -> MeasuredView:
    """One set, as its entry shows it."""
    one = edition.figures.measures.sets[record.place]
    return MeasuredView(
        what=edition.said(record.what),
        unit=edition.said(record.unit),
        values=tuple(_describe_value(edition, one, value) for value in one.values),
        verdict=", ".join(filter(None, [_say_verdict(one), _say_spread(edition, one)])),
        fails=one.verdict == "outside",
        limits=say_limits(edition, record.limits, record.unit),
        note=edition.said(record.note),
        all_times=edition.measured_times.get(record.place, ONCE),
    )


def _describe_value(edition: Edition, one: MeasuredSet, value: MeasuredValue) -> Reading:
    written = edition.gauged(value.value)
    return Reading(where=edition.said(value.where) or "value", value=written, outside=_why(edition, one, value))


def list_measures(edition: Edition) -> tuple[SeriesView, ...]:
    """Every thing that was measured at two or more times, in the order in which each was first."""
    return tuple(_describe_series(edition, series, key) for key, series in edition.repeated_measures.items())


def list_measured_once(edition: Edition) -> tuple[OnceRow, ...]:
    """Every thing that was measured at one time only, oldest first."""
    once = [series for series in edition.figures.measures.series if len(series.sets) == 1]
    return tuple(_describe_once(edition, series.what, series.sets[0]) for series in once)


def _describe_once(edition: Edition, what: str, one: MeasuredSet) -> OnceRow:
    spread = _say_spread(edition, one)
    return OnceRow(
        when=edition.when(one.date),
        entry=edition.entry_link(one.entry),
        what=edition.said(what),
        values=(*(_say_value(edition, one, value) for value in one.values), *([spread] if spread else [])),
        limits=say_limits(edition, one.record.limits, one.record.unit),
        verdict=_say_verdict(one),
        fails=one.verdict == "outside",
        note=edition.said(one.record.note),
    )


def _say_value(edition: Edition, one: MeasuredSet, value: MeasuredValue) -> str:
    """`hot 11.9 Ω, above 9`"""
    written = f"{edition.said(value.where)} {edition.gauged(value.value, one.record.unit)}".strip()
    return ", ".join(filter(None, [written, _why(edition, one, value)]))


def say_limits(edition: Edition, limits: Limits | None, unit: str | None) -> str:
    """`at least 24 bar, spread at most 10 %`"""
    if limits is None:
        return ""
    said = [*_name_limits(edition, limits, unit).values()]
    if limits.spread is not None:
        said.append(f"spread at most {edition.gauged(limits.spread)}\u00a0%")
    return ", ".join(said)


def _name_limits(edition: Edition, limits: Limits | None, unit: str | None) -> dict[str, str]:
    sides = {"min": ("at least", limits.min), "max": ("at most", limits.max)} if limits else {}
    return {side: f"{word} {edition.gauged(value, unit)}" for side, (word, value) in sides.items() if value is not None}


def _why(edition: Edition, one: MeasuredSet, value: MeasuredValue) -> str:
    """`below 24`"""
    if value.outside is None or one.limits is None:
        return ""
    limit = one.limits.min if value.outside == "below" else one.limits.max
    return f"{value.outside} {edition.gauged(limit)}" if limit is not None else ""


def _say_verdict(one: MeasuredSet) -> str:
    return {"within": "within limits", "outside": "outside limits", None: ""}[one.verdict]


def _say_spread(edition: Edition, one: MeasuredSet) -> str:
    """`spread (max − min)/max 10.5 %`; nothing where the owner sets it no limit, as it may mean nothing then."""
    if one.spread is None or one.limits is None or one.limits.spread is None:
        return ""
    return f"{SPREAD} {edition.gauged(one.spread)}\u00a0%"


def _describe_series(edition: Edition, series: MeasureSeries, key: str) -> SeriesView:
    has_spread = any(_say_spread(edition, one) for one in series.sets)
    times = tuple(_describe_time(edition, one) for one in series.sets)
    return SeriesView(
        key=key,
        what=edition.said(series.what),
        unit=edition.said(series.unit),
        times=times,
        rows=tuple(_list_rows(edition, series)),
        has_spread=has_spread,
        has_limits=any(time.limits for time in times),
        has_reading=any(time.reading for time in times),
        has_note=any(time.note for time in times),
        chart=_draw(edition, series, key),
    )


def _describe_time(edition: Edition, one: MeasuredSet) -> MeasuredTime:
    spread = f"{edition.gauged(one.spread)}\u00a0%" if one.spread is not None and _say_spread(edition, one) else ""
    return MeasuredTime(
        when=edition.when(one.date),
        entry=edition.entry_link(one.entry),
        reading=edition.reading_in(one.entry),
        spread=spread,
        spread_fails=one.spread_fails,
        limits=say_limits(edition, one.record.limits, one.record.unit),
        verdict=_say_verdict(one),
        fails=one.verdict == "outside",
        note=edition.said(one.record.note),
    )


def _list_rows(edition: Edition, series: MeasureSeries) -> Iterator[MeasuredRow]:
    changes = {trend.where: trend.change for trend in series.trends}
    for where in dict.fromkeys(value.where for one in series.sets for value in one.values):
        cells = tuple(_describe_cell(edition, series, one, where) for one in series.sets)
        change = _say_change(edition, changes[where]) if where in changes else ""
        yield MeasuredRow(where=edition.said(where) or "value", cells=cells, change=change)


def _describe_cell(edition: Edition, series: MeasureSeries, one: MeasuredSet, where: str) -> MeasuredCell:
    value = next((value for value in one.values if value.where == where), None)
    if value is None:
        return MeasuredCell()
    if one.record.unit == series.unit or not series.unit:
        return MeasuredCell(value=edition.gauged(value.value), outside=_why(edition, one, value))
    return MeasuredCell(
        value=edition.gauged(value.value, one.record.unit),
        also=edition.gauged(value.common, series.unit),
        outside=_why(edition, one, value),
    )


def _say_change(edition: Edition, change: Decimal) -> str:
    """`+4.7`, `−1`"""
    if not change:
        return "no change"
    return f"{'+' if change > 0 else MINUS}{edition.gauged(abs(change))}"


def _draw(edition: Edition, series: MeasureSeries, key: str) -> str:
    words, unit = edition.words, series.unit or None
    names = _name_limits(edition, series.limits, unit)
    least = (series.limits.min, names["min"]) if series.limits and series.limits.min is not None else None
    most = (series.limits.max, names["max"]) if series.limits and series.limits.max is not None else None
    return measure_chart.measure_chart(
        tuple(_list_lines(edition, series)),
        least=least,
        most=most,
        words=measure_chart.Words(
            title=edition.said(series.what),
            description=_describe_chart(edition, series, [*names.values()]),
            amount=lambda value: edition.quantity(value, unit),
            day=lambda day: f"{words.short_day(day)} {day.year}",
        ),
        key=f"measured-chart-{key}",
    )


def _list_lines(edition: Edition, series: MeasureSeries) -> Iterator[measure_chart.Line]:
    for where in dict.fromkeys(value.where for one in series.sets for value in one.values):
        dots = (
            measure_chart.Dot(day=one.date, value=value.common, outside=value.outside is not None)
            for one in series.sets
            for value in one.values
            if value.where == where
        )
        yield measure_chart.Line(where=edition.said(where), dots=tuple(dots))


def _describe_chart(edition: Edition, series: MeasureSeries, limits: list[str]) -> str:
    """The trends in words, for those who do not see the drawing."""
    words, sets = edition.words, series.sets
    moved = [
        " ".join(filter(None, [trend.where, f"from {edition.gauged(trend.first)} to {edition.gauged(trend.last)}"]))
        for trend in series.trends
    ]
    said = f"{words.day(sets[0].date)} to {words.day(sets[-1].date)}: {'; '.join(moved)}. "
    return said + (f"Allowed: {join_words(limits)}. " if limits else "") + "The table has the same figures."
