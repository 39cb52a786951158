"""The service history: the appendix that a buyer reads."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from buildlog.arithmetic import round_half_up
from buildlog.compute.evidence.claims import find_inherited_level
from buildlog.compute.service.items import ServiceItemFigures, ServiceRow
from buildlog.frozen import frozen
from buildlog.read.records import Inherited
from buildlog.render.pages.appendix import (
    LINK,
    DoneRow,
    ItemView,
    SealLine,
    ServiceGap,
    describe_seal,
    list_service_gaps,
    list_unknowns,
    say_rule,
    say_statement,
)
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import (
    CoverageRow,
    EvidenceGap,
    list_coverage,
    list_evidence_gaps,
    list_levels,
    show_level,
)
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.front import list_identity, say_model
from buildlog.render.pages.measured import OnceRow, SeriesView, list_measured_once, list_measures
from buildlog.render.pages.meter_readings import ReadingRow, list_reading_pages, list_readings
from buildlog.render.pages.open_work import STATES, list_due, list_open_faults, list_temporary, say_due_state
from buildlog.render.pages.periods import LATEST_TIMES, WHOLE_SERIES, name_dates
from buildlog.render.pieces import DueRow, Evidence, Fact, FaultRow, Link, TemporaryRow, When
from buildlog.text import agree, count, join_words


@frozen
class InheritedRow:
    """Something an earlier owner or a paper says."""

    when: When
    "no more exact than it is known"
    what: str
    "in the owner's words"
    reading: str = ""
    "of the meter then; empty: not noted"
    who: str = ""
    "empty: not known, or `what` names them"
    evidence: Evidence
    "on paper, or an earlier owner's word"


@frozen
class ServiceView:
    """What does the next owner need to know, and how far can it be relied upon?"""

    TEMPLATE: ClassVar[str] = "service.html"
    frame: Frame
    "what surrounds the page"
    machine: str
    "the owner's name for it"
    model: str = ""
    "`Fennick Drover, road vehicle, 1991`"
    identity: tuple[Fact, ...] = ()
    "its numbers, as far as they are public"
    acquired: tuple[Fact, ...] = ()
    "when, at what reading, in what condition"
    statement: str = ""
    "the owner's statement about the meter, in the words of the law where it is a road vehicle's; empty: none made"
    statement_rule: str = ""
    "the law whose words those are; empty: none"
    meter: tuple[Fact, ...] = ()
    "latest reading with the true total, use since acquired, daily use or why there is no forecast"
    readings: tuple[ReadingRow, ...] = ()
    "oldest first; where there are many, those that matter"
    all_readings: tuple[Link, ...] = ()
    "the pages that have every one, where there are many; else empty"
    due: tuple[DueRow, ...] = ()
    "every item, and fasteners to be checked again: overdue, due, unknown, later"
    items: tuple[ItemView, ...] = ()
    "in the owner's order"
    measures: tuple[SeriesView, ...] = ()
    "what was measured at two or more times, in the order of the first"
    measured_once: tuple[OnceRow, ...] = ()
    "oldest first"
    faults: tuple[FaultRow, ...] = ()
    "known and not confirmed fixed"
    temporary: tuple[TemporaryRow, ...] = ()
    "fitted only for now, and still there"
    inherited: tuple[InheritedRow, ...] = ()
    "what was done before this log, oldest first"
    coverage: tuple[CoverageRow, ...] = ()
    "how claims are backed, kind by kind; empty: nothing is claimed"
    legend: tuple[Evidence, ...] = ()
    "every level of evidence: what the letters mean, and the columns of the coverage"
    gaps: tuple[EvidenceGap, ...] = ()
    "largest first"
    warnings: tuple[str, ...] = ()
    "what the record itself cannot settle, a sentence each"
    service_gaps: tuple[ServiceGap, ...] = ()
    "item by item, oldest first"
    unknowns: tuple[str, ...] = ()
    "what the record does not know, a sentence each"
    seal: SealLine | None = None
    "the latest; None: nothing is sealed, or the seals do not hold"


def make_service(context: PageContext) -> ServiceView:
    """The finished page."""
    figures = context.figures
    by_key = {item.key: item for item in figures.service.items}
    description = f"Service history of {context.title}: what was done when, on what evidence, what is due."
    items = tuple(_describe_item(context, by_key[key]) for key in figures.log.settings.service)
    frame = make_frame(context, "service.html", "Service history", description)
    return ServiceView(
        frame=replace(frame, links=(*frame.links, LINK)),
        machine=context.owner_text(figures.log.settings.machine.name),
        model=say_model(context),
        identity=list_identity(context),
        acquired=tuple(_list_acquired(context)),
        statement=say_statement(context),
        statement_rule=say_rule(context),
        meter=tuple(_list_meter(context)),
        readings=list_readings(context),
        all_readings=tuple(list_reading_pages(context).values()),
        due=list_due(context),
        items=items,
        measures=list_measures(context),
        measured_once=list_measured_once(context),
        faults=list_open_faults(context),
        temporary=list_temporary(context, context.figures.temporary),
        inherited=tuple(_list_inherited(context)),
        coverage=list_coverage(context),
        legend=list_levels(context),
        gaps=list_evidence_gaps(context),
        warnings=tuple(problem.message for problem in figures.problems if problem.rule in READERS_WARNINGS),
        service_gaps=list_service_gaps(items),
        unknowns=list_unknowns(context),
        seal=describe_seal(context),
    )


# Other warnings are slips for the owner to put right. These bear on how far the record can be relied on.
READERS_WARNINGS = frozenset({"meter-jumps", "meter-statement", "paper-used-twice"})
"Warnings about the record that a buyer sees as well."


def _list_acquired(context: PageContext) -> Iterator[Fact]:
    acquired = context.figures.log.settings.acquired
    if acquired is None:
        return
    yield Fact(name="Acquired", value=context.words.day(acquired.date))
    if acquired.reading:
        yield Fact(name=_name_meter_at_purchase(context), value=context.reading_at(acquired.field_place("reading")))
    if acquired.condition:
        yield Fact(name="Condition at purchase", value=context.owner_text(acquired.condition))


def _list_meter(context: PageContext) -> Iterator[Fact]:
    meter, words = context.figures.meter, context.words
    if meter.latest is None or meter.unit is None:
        return
    latest = meter.latest
    yield Fact(name="Latest reading", value=context.show_reading(latest), note=words.day(latest.date))
    if meter.owned is not None:
        yield Fact(name="Since acquired", value=context.distance(meter.owned))
    use = meter.use
    # With the reason: without a word it would look like a machine that is never used.
    if use.per_day is None:
        yield Fact(name="Daily use", value="no forecast", note=use.reason)
    else:
        note = f"an estimate from {count(use.readings, 'reading')}, not counting days laid up"
        yield Fact(name="Daily use", value=words.measure(round_half_up(use.per_day, 1), meter.unit), note=note)


def _describe_item(context: PageContext, item: ServiceItemFigures) -> ItemView:
    covers = context.figures.log.settings.service[item.key].covers
    return ItemView(
        key=item.key,
        name=context.owner_text(item.name),
        interval=_say_interval(context, item),
        state=STATES[item.state],
        state_text=say_due_state(context, item),
        covers=tuple(context.component_name(key) for key in covers),
        rows=tuple(_describe_row(context, item, row) for row in _pick(item.rows)),
        pages=tuple(list_item_pages(context, item).values()),
    )


def _pick(rows: tuple[ServiceRow, ...]) -> tuple[ServiceRow, ...]:
    """All of them; where they are many, the latest and every gap."""
    kept = len(rows) - LATEST_TIMES if len(rows) > WHOLE_SERIES else 0
    return tuple(row for at, row in enumerate(rows) if at >= kept or row.kind == "gap")


def list_item_pages(context: PageContext, item: ServiceItemFigures) -> dict[str, Link]:
    """The pages that have every time that an item was done, by period; none where the service history has them all."""
    return {
        period: Link(text=context.period(period), href=f"service/item-{item.key}-{period}.html")
        for period in name_dates([_day_of(row) for row in item.rows])
    }


def describe_times(context: PageContext, item: ServiceItemFigures, period: str) -> tuple[DoneRow, ...]:
    """Every time of one period."""
    days = name_dates([_day_of(row) for row in item.rows])[period]
    return tuple(_describe_row(context, item, row) for row in item.rows if _day_of(row) in days)


def _day_of(row: ServiceRow) -> datetime.date:
    """When it was done; of a gap when that ended, or where it is still open began."""
    day = row.until or row.since
    assert day is not None, "a time has its day, and a gap has two ends, one at least known"
    return day


def _say_interval(context: PageContext, item: ServiceItemFigures) -> str:
    """`every 24 months or 12,000 mi, whichever comes first`"""
    limits = [count(item.months, "month")] if item.months else []
    limits += [context.distance(item.distance)] if item.distance else []
    # Listed all the same: its history is of use without a plan.
    if not limits:
        return "no interval set"
    return f"every {join_words(limits, 'or')}" + (", whichever comes first" if len(limits) > 1 else "")


def _describe_row(context: PageContext, item: ServiceItemFigures, row: ServiceRow) -> DoneRow:
    if row.kind == "gap" or row.time is None:
        return DoneRow(when=None, gap=_say_gap(context, item, row))
    time = row.time
    return DoneRow(
        when=context.partial_text(time.when),
        reading=context.show_reading(time.reading) if time.reading else "",
        # In an entry it was the owner unless somebody else is named; before the log it may have been anybody.
        who=context.doer(time.who) or ("the owner" if time.entry else "not known"),
        parts=tuple(
            context.part_link(part.key, " ".join(filter(None, [part.name, part.number]))) for part in time.parts
        ),
        note=", ".join(filter(None, map(context.owner_text, [time.what, time.note]))),
        timing=_say_timing(context, row),
        late=(row.days_late or 0) > 0 or (row.distance_late or Decimal(0)) > 0,
        evidence=show_level(context, time.level, time.paper),
        entry=context.entry_link(time.entry) if time.entry else None,
    )


def _say_gap(context: PageContext, item: ServiceItemFigures, row: ServiceRow) -> str:
    """`A gap of 16.8 years and 14,200 mi. The interval is …`"""
    # Both, as either may be the one that passed its limit.
    span = [_about(row.days_approximate) + _say_span(context, row.days)] if row.days else []
    span += [_about(row.distance_approximate) + context.distance(row.distance)] if row.distance else []
    gap = f"A gap of {join_words(span)}" + (" so far" if row.until is None else "")
    return f"{gap}. The interval is {_say_interval(context, item)}."


DAYS_IN_A_YEAR = Fraction("365.2425")
"The mean year of the calendar (ISO 8601: 146,097 days in 400 years)."


def _say_span(context: PageContext, days: int) -> str:
    """Days as people say them: `12 days`, `7 weeks`, `16.8 years`."""
    # Nobody counts in thousands of days. No months, which differ in length; whoever needs the days has both dates.
    if days < 28:
        return count(days, "day")
    if days < 365:
        return count(int(round_half_up(Fraction(days, 7), 0)), "week")
    years = round_half_up(days / DAYS_IN_A_YEAR, 1)
    return f"{context.words.number(years)} {agree(years, 'year', 'years')}"


def _name_meter_at_purchase(context: PageContext) -> str:
    # Hours are not read off an odometer.
    meter = context.figures.log.settings.machine.meter
    return "Hours at purchase" if meter is not None and meter.unit == "h" else "Odometer at purchase"


def _say_timing(context: PageContext, row: ServiceRow) -> str:
    """`12 days late`, `600 mi early`; by both limits where both apply."""
    # Not "on time": nobody knows what was done before.
    if row.since is None:
        return "first on record"
    phrases = []
    if row.days_late is not None:
        days = _say_late(_say_span(context, abs(row.days_late)), row.days_late)
        phrases.append(_about(row.days_approximate) + days)
    if row.distance_late is not None:
        distance = _say_late(context.distance(abs(row.distance_late)), row.distance_late)
        phrases.append(_about(row.distance_approximate) + distance)
    return ", ".join(phrases)


def _about(approximate: bool) -> str:
    return "about " if approximate else ""


def _say_late(amount: str, late: int | Decimal) -> str:
    # Days come as `int` and distances as `Decimal`, which decides the word for neither early nor late.
    return f"{amount} {'late' if late > 0 else 'early'}" if late else "on the day" if isinstance(late, int) else "at it"


def _list_inherited(context: PageContext) -> Iterator[InheritedRow]:
    # The owner may write it in any order.
    history = sorted(context.figures.log.settings.history, key=lambda event: event.date.earliest)
    for event in history:
        yield InheritedRow(
            when=context.partial(event.date),
            what=context.owner_text(event.what),
            reading=context.reading_at(event.field_place("reading")) if event.reading else "",
            who=context.doer(_name_doer(event)),
            evidence=show_level(context, find_inherited_level(event), event.paper),
        )


def _name_doer(event: Inherited) -> str:
    """Who did it, unless what was done names them already."""
    # "Brakes by Marsh, Marsh" would say it twice.
    return event.who if event.who and event.who.casefold() not in event.what.casefold() else ""
