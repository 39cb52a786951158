"""The readings of the meter and its changes: those that matter in the service history, or all on pages of their own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping
from decimal import Decimal
from functools import partial
from typing import ClassVar

from buildlog.arithmetic import sum_exactly
from buildlog.compute.meter.readings import MeterReading, MeterStep
from buildlog.compute.quantities.units import convert_distance, show_decimal
from buildlog.frozen import frozen
from buildlog.render import meter_chart
from buildlog.render.axes import TickWords
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import evidence_of, list_legend
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.periods import MOST_ENDS, READINGS, WHOLE_READINGS, list_neighbours, name_periods, quarter_of
from buildlog.render.pieces import Evidence, Link, When
from buildlog.text import to_say


@frozen
class ReadingRow:
    """One reading of the meter."""

    when: When
    "no more exact than it is known"
    reading: str
    "as read: `112,530 mi`"
    total: str = ""
    "true total, where it differs from the reading"
    since: str = ""
    "distance since the reading before"
    note: str = ""
    "at a change of meter: `first reading of the new meter`"
    source: Link
    "the entry that it is in; else `before this log` or `at purchase`"
    evidence: Evidence | None = None
    "how the reading is backed"


@frozen
class ReadingsView:
    """What did the meter show in this period?"""

    TEMPLATE: ClassVar[str] = "readings.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`Readings, 2024`"
    before: Link | None = None
    "the period before; None: this is the first"
    after: Link | None = None
    "the one after; None: this is the last"
    readings: tuple[ReadingRow, ...] = ()
    "every one of it, oldest first"
    legend: tuple[Evidence, ...] = ()
    "what the letters of the evidence mean"


NOTES = {"old meter": to_say("last reading of the old meter"), "new meter": to_say("first reading of the new meter")}
"What is said of a reading at a change of meter."


def list_readings(context: PageContext) -> tuple[ReadingRow, ...]:
    """All of them; where they are many, those that matter."""
    readings = context.figures.meter.readings
    period_of = quarter_of if keeps_quarters(context) else str
    return tuple(
        _list_rows(context, range(len(readings)) if not _name_periods(context) else _pick(readings, period_of))
    )


def keeps_quarters(context: PageContext) -> bool:
    """Whether the ends of months would be too many, so that those of quarters are kept."""
    return len(_name_periods(context)) > MOST_ENDS


def _pick(readings: tuple[MeterReading, ...], period_of: Callable[[str], str] = str) -> Collection[int]:
    """What is no entry's own (the purchase, a change of meter, a service or paper that names one), and month ends.

    `period_of` makes of a month, `2024-05`, something longer. What an entry's own reading says of a service stands with
    that service.
    """
    ends = {period_of(_month_of(reading)): at for at, reading in enumerate(readings)}
    return sorted({0, *ends.values(), *(at for at, reading in enumerate(readings) if reading.source != "entry")})


def list_reading_pages(context: PageContext) -> dict[str, Link]:
    """The pages that have every reading, by period; none where the service history has them all."""
    return {
        period: Link(text=context.period(period), href=f"service/readings-{period}.html")
        for period in dict.fromkeys(_name_periods(context).values())
    }


def list_reading_makers(context: PageContext) -> dict[str, Callable[[], ReadingsView]]:
    """The same pages by their paths, with what makes them."""

    pages, periods = list_reading_pages(context), _name_periods(context)
    shown: dict[str, list[int]] = {period: [] for period in pages}
    for at, reading in enumerate(context.figures.meter.readings if pages else ()):
        shown[periods[_month_of(reading)]].append(at)
    return {link.href: partial(_make_readings, context, shown[at], at, pages) for at, link in pages.items()}


def _make_readings(
    context: PageContext, shown: Collection[int], period: str, pages: Mapping[str, Link]
) -> ReadingsView:
    before, after = list_neighbours(pages)[period]
    rows = tuple(_list_rows(context, shown))
    say = context.words.say
    title = say("%(what)s, %(period)s", what=say("Readings"), period=context.period(period))
    description = say("%(machine)s: every meter reading, %(title)s.", machine=context.title, title=title)
    return ReadingsView(
        frame=make_frame(context, pages[period].href, title, description),
        title=title,
        before=pages[before] if before else None,
        after=pages[after] if after else None,
        readings=rows,
        legend=list_legend(context, (row.evidence for row in rows)),
    )


def _name_periods(context: PageContext) -> dict[str, str]:
    readings = context.figures.meter.readings
    if len(readings) <= WHOLE_READINGS:
        return {}
    return name_periods(Counter(map(_month_of, readings)), READINGS)


def _month_of(reading: MeterReading) -> str:
    return reading.date.isoformat()[:7]


MOST_DRAWN = 120
"Readings on the drawing; of more those that the table keeps, and of those as many as the eye can tell apart."


def draw_readings(context: PageContext) -> tuple[str, ...]:
    """The readings as drawings, SVG: all of them, and where those since the purchase would be crowded there, these."""
    meter, acquired = context.figures.meter, context.figures.log.settings.acquired
    if meter.unit is None or not meter.readings:
        return ()
    at = list(range(len(meter.readings)) if len(meter.readings) <= MOST_DRAWN else _pick(meter.readings))
    drawn = [_draw(context, at, context.words.say("Meter readings"), "readings")]
    owned = [n for n in at if acquired and meter.readings[n].date >= acquired.date]
    if owned:
        first, bought, last = (meter.readings[n].date for n in (at[0], owned[0], at[-1]))
        if (last - bought) * CROWDED < last - first:
            drawn.append(_draw(context, owned, context.words.say("Readings since the purchase"), "readings-owned"))
    return tuple(filter(None, drawn))


CROWDED = 3
"Where the time since the purchase is less than so many parts of the whole, it is drawn once more by itself."


def _draw(context: PageContext, at: list[int], title: str, key: str) -> str:
    meter, words = context.figures.meter, context.words
    unit, last = meter.unit or "", meter.readings[at[-1]]
    # Every so many of them, and always what is at a change of meter.
    often = -(-len(at) // MOST_DRAWN)
    kept = [n for n in at if n in (at[0], at[-1]) or n % often == 0 or meter.readings[n].source in NOTES]
    drawn = _break_lines(context, [meter.readings[n] for n in kept])
    ends, total = words.measure(drawn[-1].shown, unit), context.distance(last.total)
    apart = to_say(
        "From %(first_day)s to %(last_day)s: the meter shows %(reading)s at the end, and the true total is %(total)s."
    )
    alike = to_say("From %(first_day)s to %(last_day)s: the meter shows %(reading)s at the end.")
    told = words.say(
        apart if any(one.shown != one.total for one in drawn) else alike,
        first_day=words.day(drawn[0].day),
        last_day=words.day(drawn[-1].day),
        reading=ends,
        total=total,
    )
    chart_words = meter_chart.Words(
        title=title,
        description=" ".join([told, words.say("The table has the same readings.")]),
        amount=lambda value: words.measure(value, unit),
        ticks=TickWords(start=words.axis_start, month=words.axis_month),
        shown=words.say("the meter shows %(reading)s", reading=ends),
        total=words.say("true total %(total)s", total=total),
        change=words.say("meter changed or set"),
    )
    return meter_chart.draw_meter(drawn, chart_words, key=key)


def _break_lines(context: PageContext, readings: list[MeterReading]) -> list[meter_chart.Reading]:
    """Each as it is drawn: what the meter shows is broken wherever the true total moves away from it, or towards it."""
    unit = context.figures.meter.unit or ""
    found: list[meter_chart.Reading] = []
    for reading in readings:
        shown = show_decimal(convert_distance(reading.value, reading.unit, unit))
        away = reading.total - shown
        # By a thousandth, to which what crosses a unit is rounded.
        new = bool(found) and abs(away - (found[-1].total - found[-1].shown)) > Decimal("0.002")
        new = new or reading.source == "new meter"
        found.append(
            meter_chart.Reading(first=reading.date, last=reading.latest, shown=shown, total=reading.total, new=new)
        )
    return found


def _list_rows(context: PageContext, shown: Collection[int]) -> Iterator[ReadingRow]:
    """Some of the readings by their places among all, each with what was driven since the one shown before it."""
    meter, done = context.figures.meter, min(shown, default=0)
    for at in shown:
        reading = meter.readings[at]
        rises = meter.rises[done + 1 : at + 1] if at > done else meter.rises[at : at + 1]
        yield ReadingRow(
            when=context.partial_text(reading.when),
            reading=context.words.measure(reading.value, reading.unit),
            total=context.distance(reading.total) if reading.total != reading.value else "",
            since=context.distance(_add_up(rises)),
            note=context.words.say(NOTES[reading.source]) if reading.source in NOTES else "",
            source=_link_source(context, reading),
            evidence=evidence_of(context, reading.place),
        )
        done = at


def _add_up(rises: tuple[Decimal | None, ...]) -> Decimal | None:
    """What they come to; None where one of them is not known."""
    known = [rise for rise in rises if rise is not None]
    return sum_exactly(known) if known and len(known) == len(rises) else None


def _link_source(context: PageContext, reading: MeterReading) -> Link:
    """The entry that a reading is in; for one that is in none, when it was taken.

    Never how it is backed: a reading from before the log may well have a paper, and its letter says so.
    """
    if reading.entry:
        return context.entry_link(reading.entry)
    if reading.source == "acquired":
        return Link(text=context.words.say("at purchase"))
    return Link(text=context.words.say("before this log"), href="service.html#inherited")


def say_step(context: PageContext, step: MeterStep) -> str:
    """`Meter changed: 600 h on the old one, 0 h on the new one, drums stuck.`"""
    say = context.words.say
    if step.kind == "rollover":
        return say("The meter went round past its last digit.")
    old, new = (context.words.measure(Decimal(text.split()[0]), text.split()[1]) for text in (step.old, step.new))
    # Both readings, so that a reader can work out the true total.
    if not step.why:
        return say("Meter changed: %(old)s on the old one, %(new)s on the new one.", old=old, new=new)
    why = context.owner_text(step.why)
    return say("Meter changed: %(old)s on the old one, %(new)s on the new one, %(why)s.", old=old, new=new, why=why)
