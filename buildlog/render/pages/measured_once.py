"""What was measured, as lists of single times show it: measured once, and out of limits the last time."""

from __future__ import annotations

import datetime

from buildlog.compute.measures.measures import MeasuredSet, MeasuredValue
from buildlog.frozen import frozen
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.measured_words import say_limits, say_spread, say_verdict, say_why
from buildlog.render.pieces import Link, When


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
