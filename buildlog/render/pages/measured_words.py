"""What is said of measurements in few words: limits, spread, how values change; and what takes a row and no chart."""

from __future__ import annotations

import datetime
from decimal import Decimal

from buildlog.compute.measures.measures import MeasuredSet, MeasuredValue
from buildlog.compute.measures.trends import Trend, round_counting
from buildlog.frozen import frozen
from buildlog.read.records import Limits
from buildlog.render.language import MINUS
from buildlog.render.pages.context import PageContext
from buildlog.render.pieces import Link, When
from buildlog.spans import DAYS_IN_A_YEAR


def say_limits(context: PageContext, limits: Limits | None, unit: str | None) -> str:
    """`at least 24 bar, spread at most 10 %`"""
    if limits is None:
        return ""
    phrases = [*name_limits(context, limits, unit).values()]
    if limits.spread is not None:
        # TRANSLATORS: the difference between the greatest and the least of some values
        phrases.append(context.words.say("spread at most %(value)s", value=say_percent(context, limits.spread)))
    return ", ".join(phrases)


def name_limits(context: PageContext, limits: Limits | None, unit: str | None) -> dict[str, str]:
    """`at least 24 bar` as `min`, `at most 30 bar` as `max`; without what is not stated."""
    say, names = context.words.say, dict[str, str]()
    # "At least", "at most": a value exactly at its limit is within.
    if limits and limits.min is not None:
        names["min"] = say("at least %(value)s", value=context.gauged(limits.min, unit))
    if limits and limits.max is not None:
        names["max"] = say("at most %(value)s", value=context.gauged(limits.max, unit))
    return names


def say_percent(context: PageContext, value: Decimal) -> str:
    """`10.5 %`"""
    return f"{context.gauged(value)}\u00a0%"


def say_why(context: PageContext, one: MeasuredSet, value: MeasuredValue) -> str:
    """`below 24`"""
    # In words, so that colour is never the only sign.
    if value.outside is None or one.limits is None:
        return ""
    say = context.words.say
    if value.outside == "below":
        return say("below %(limit)s", limit=context.gauged(one.limits.min)) if one.limits.min is not None else ""
    return say("above %(limit)s", limit=context.gauged(one.limits.max)) if one.limits.max is not None else ""


def say_verdict(context: PageContext, one: MeasuredSet) -> str:
    """`within limits`, or nothing where no limits are stated."""
    if one.verdict is None:
        return ""
    say = context.words.say
    return say("within limits") if one.verdict == "within" else say("outside limits")


def say_spread(context: PageContext, one: MeasuredSet) -> str:
    """`spread (max − min)/max 10.5 %`; nothing where the owner sets it no limit, as it may mean nothing then."""
    if one.spread is None or one.limits is None or one.limits.spread is None:
        return ""
    # The formula stands beside the number, as another ratio, min/max, is in use as well.
    return context.words.say("spread (max − min)/max %(value)s", value=say_percent(context, one.spread))


def say_slope(context: PageContext, trend: Trend) -> str:
    """`−0.9 a year over 4 measurements`; nothing where there are too few."""
    if trend.slope is None:
        return ""
    # By the year, as wear is spoken of; one that is flat says so.
    a_year = round_counting(trend.slope * DAYS_IN_A_YEAR, 0) if trend.slope else Decimal(0)
    say_count, times = context.words.say_count, trend.slope_times
    if not a_year:
        return say_count("level over %(number)s measurement", "level over %(number)s measurements", times)
    change = say_change(context, a_year)
    # TRANSLATORS: how a value changes, by how many measurements: −0.9 a year over 4 measurements
    return say_count(
        "%(change)s a year over %(number)s measurement",
        "%(change)s a year over %(number)s measurements",
        times,
        change=change,
    )


def say_change(context: PageContext, change: Decimal) -> str:
    """`+4.7`, `−1`"""
    if not change:
        return context.words.say("no change")
    return f"{'+' if change > 0 else MINUS}{context.gauged(abs(change))}"


@frozen
class OnceRow:
    """Something that was measured at one time only."""

    when: When
    "the entry's day"
    entry: Link
    "the entry that states it"
    what: str
    "as the owner calls it"
    values: tuple[str, ...]
    "`front-left 2.2 bar`, `14.6 mm`, `hot 11.9 Ω, above 9`"
    limits: str = ""
    "`at least 20 bar`; empty: none stated"
    verdict: str = ""
    "empty: no limits stated"
    fails: bool = False
    "whether a limit is broken, of a value or of the spread"
    note: str = ""
    "in the owner's words"


def list_measured_once(context: PageContext) -> tuple[OnceRow, ...]:
    """Every thing that was measured at one time only, oldest first."""
    once = [series for series in context.figures.measures.series if len(series.sets) == 1]
    return tuple(describe_once(context, series.what, series.sets[0]) for series in once)


def describe_once(context: PageContext, what: str, one: MeasuredSet) -> OnceRow:
    """One set in a single row."""
    spread = say_spread(context, one)
    return OnceRow(
        when=context.when(one.date),
        entry=context.entry_link(one.entry),
        what=context.owner_text(what),
        values=(*(_say_value(context, one, value) for value in one.values), *([spread] if spread else [])),
        limits=say_limits(context, one.record.limits, one.record.unit),
        verdict=say_verdict(context, one),
        fails=one.verdict == "outside",
        note=context.owner_text(one.record.note),
    )


def _say_value(context: PageContext, one: MeasuredSet, value: MeasuredValue) -> str:
    """`hot 11.9 Ω, above 9`"""
    written = f"{context.owner_text(value.where)} {context.gauged(value.value, one.record.unit)}".strip()
    return ", ".join(filter(None, [written, say_why(context, one, value)]))


def list_outside(context: PageContext) -> tuple[OnceRow, ...]:
    """What was out of its limits when it was last measured, the latest first."""
    last = [(series.what, series.sets[-1]) for series in context.figures.measures.series]
    outside = [(what, one) for what, one in last if one.verdict == "outside"]
    return tuple(describe_once(context, what, one) for what, one in sorted(outside, key=_day_of, reverse=True))


def _day_of(named: tuple[str, MeasuredSet]) -> datetime.date:
    return named[1].date
