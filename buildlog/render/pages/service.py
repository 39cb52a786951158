"""The service history, the appendix for a buyer: what each item needs, the meter's statement, gaps, unknowns, seal.

The foot of its printed sheets, with machine, day and seal, is made here for the record page as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import ClassVar

from buildlog.arithmetic import round_half_up
from buildlog.compute.meter.meter import is_odometer
from buildlog.compute.meter.use import say_no_forecast
from buildlog.frozen import frozen
from buildlog.render.marks import remove_marks
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import CoverageRow, EvidenceGap, list_coverage, list_evidence_gaps, list_levels
from buildlog.render.pages.frame import Frame, HeadLink, make_frame
from buildlog.render.pages.front import list_identity, say_model
from buildlog.render.pages.measured import SeriesView, list_measures
from buildlog.render.pages.measured_words import OnceRow, list_measured_once
from buildlog.render.pages.meter_readings import (
    ReadingRow,
    draw_readings,
    keeps_quarters,
    list_reading_pages,
    list_readings,
    say_step,
)
from buildlog.render.pages.open_work import (
    count_temporary,
    list_due,
    list_open_faults,
    list_temporary,
    say_rest,
)
from buildlog.render.pages.periods import MOST_OPEN
from buildlog.render.pages.service_items import InheritedRow, ItemView, describe_item, list_inherited
from buildlog.render.pages.tightening import list_tightening
from buildlog.render.pieces import DueRow, Evidence, Fact, FaultRow, Link, TemporaryRow, When
from buildlog.text import to_say


@frozen
class ServiceGap:
    """A stretch in which a service item was left undone for longer than its interval."""

    item: Link
    "leads to its history, further up on the same page"
    says: str
    "the gap in words, as in its history"


@frozen
class SealLine:
    """The latest seal, in short."""

    when: When
    "the seal's own date: the owner's word unless `stamped`"
    code: str
    "what people note of the root"
    number: str
    "`3`: counted from 1"
    stamped: bool
    "whether a time stamp lies beside it"


STATEMENTS = {
    # TRANSLATORS: words of a law of the United States, 49 CFR 580.5(e), in a sentence of ours
    "actual": to_say(
        "The owner states: to the best of the owner’s knowledge the odometer reading reflects the actual mileage."
    ),
    "exceeds mechanical limits": to_say(
        "The owner states: to the best of the owner’s knowledge the odometer reading reflects the amount of mileage in "
        "excess of its mechanical limits."
    ),
    "not actual": to_say(
        "The owner states: the odometer reading is NOT the actual mileage. WARNING – ODOMETER DISCREPANCY."
    ),
    "exempt": to_say("The owner states: no statement about the odometer is required for this machine."),
}
"The certifications of 49 CFR 580.5(e), as appendix B to part 580 words them; exemption by 49 CFR 580.17."
# The disclosure itself is a form that both sides sign; only its wording is used here.
RULE = to_say("The categories are those of 49 CFR 580.5. This page is not a disclosure under that rule.")

HOUR_STATEMENTS = {
    "actual": to_say("The owner states: as far as the owner knows, the meter shows every hour the machine has run."),
    "exceeds mechanical limits": to_say(
        "The owner states: the meter has gone round past its last digit, so it shows less than every hour the machine "
        "has run."
    ),
    "not actual": to_say("The owner states: the meter does not show every hour the machine has run."),
    "exempt": to_say("The owner states: no statement about the meter is required for this machine."),
}
"The same for a meter of hours; our own words."
DISTANCE_STATEMENTS = {
    "actual": to_say(
        "The owner states: as far as the owner knows, the meter shows the whole distance the machine has covered."
    ),
    "exceeds mechanical limits": to_say(
        "The owner states: the meter has gone round past its last digit, so it shows less than the whole distance the "
        "machine has covered."
    ),
    "not actual": to_say("The owner states: the meter does not show the whole distance the machine has covered."),
    "exempt": HOUR_STATEMENTS["exempt"],
}
"The same for the distance of whatever is no road vehicle; our own words."


def say_statement(context: PageContext) -> str:
    """The owner's statement about the meter; nothing where none was made.

    Of a road vehicle's odometer in the words of its legal category. Of any other meter in plain words, with what the
    record knows of it.
    """
    meter, machine = context.figures.meter, context.figures.log.settings.machine
    # Never concluded from the readings: only the owner can state it, and the page says where that was not done.
    if meter.statement is None:
        return ""
    # Only a road vehicle's is an odometer, and the regulation's words would make one of any other.
    say = context.words.say
    if is_odometer(machine):
        return say(STATEMENTS[meter.statement])
    plain = HOUR_STATEMENTS if meter.unit == "h" else DISTANCE_STATEMENTS
    return " ".join([say(plain[meter.statement]), *_list_known(context)])


def say_rule(context: PageContext) -> str:
    """The law whose categories the statement uses; nothing where it uses none."""
    statutory = context.figures.meter.statement and is_odometer(context.figures.log.settings.machine)
    return context.words.say(RULE) if statutory else ""


def _list_known(context: PageContext) -> Iterator[str]:
    """What the record knows of a meter that shows something else than the true total, a sentence each."""
    meter = context.figures.meter
    # A meter that shows the true total needs no explaining.
    if not meter.offset or meter.latest is None:
        return
    yield from (say_step(context, step) for step in meter.steps)
    yield context.words.say("By this record the true total is %(total)s.", total=context.distance(meter.latest.total))


def list_service_gaps(items: Iterable[ItemView]) -> tuple[ServiceGap, ...]:
    """Every stretch in which a service item was left undone for longer than its interval."""
    return tuple(
        ServiceGap(item=Link(text=item.name, href=f"service.html#item-{item.key}"), says=row.gap)
        for item in items
        for row in item.rows
        if row.gap
    )


def list_unknowns(context: PageContext) -> tuple[str, ...]:
    """What a buyer may look for and the record does not know, a sentence each."""
    return tuple(_list_unknowns(context))


def _list_unknowns(context: PageContext) -> Iterator[str]:
    figures, say = context.figures, context.words.say
    # Chosen by hand: what buyers ask about first. A log cannot list everything that it does not hold.
    acquired = figures.log.settings.acquired
    if acquired:
        day = context.words.day(acquired.date)
        yield say("What was done before %(day)s, apart from what is under “Before this log”.", day=day)
    if not list_identity(context):
        yield say("Which machine this is: no identification number is shown.")
    # Without any reading the next sentence says more.
    if figures.meter.latest and not figures.meter.statement:
        yield say("Whether the meter shows all of its use: the owner has made no statement about it.")
    if not figures.meter.readings:
        yield say("How far or how long it has run: no readings have been noted.")
    never = [context.owner_text(item.name) for item in figures.service.items if not item.last]
    yield from (say("%(job)s: when it was last done, if ever.", job=name) for name in never)


def describe_seal(context: PageContext) -> SealLine | None:
    """The latest seal, which the printed pages carry; None where there is none, or where the seals do not hold."""
    record = context.record
    # A code on paper looks like proof: none is printed where the seals do not hold.
    if not record.seals or record.failures:
        return None
    last = record.seals[-1]
    return SealLine(
        when=context.when(last.date),
        code=last.code,
        number=str(last.number),
        stamped=bool(last.stamp and last.stamp.time),
    )


# A file of its own: only a style sheet can write into the margin of a printed page, and the content security policy
# allows no style inside the page.
SEAL_SHEET = "theme/seal.css"
LINK = HeadLink(rel="stylesheet", href=SEAL_SHEET, media="print")
LONGEST = 60
"Characters of the machine's name that fit beside the rest."


def write_seal_sheet(context: PageContext) -> bytes:
    """The style sheet."""
    # On every sheet, as sheets get separated.
    seal = describe_seal(context)
    say, sealed = context.words.say, context.words.say("not sealed")
    if seal:
        sealed = say("seal %(number)s of %(day)s: %(code)s", number=seal.number, day=seal.when.text, code=seal.code)
    name = context.figures.log.settings.machine.name[:LONGEST]
    head = say("%(machine)s, as of %(day)s", machine=name, day=context.words.day(context.figures.as_of))
    return (
        "@page {\n"
        f"  @bottom-left {{\n    content: {_quote(remove_marks(head))};\n  }}\n\n"
        f"  @bottom-center {{\n    content: {_quote(remove_marks(sealed))};\n  }}\n"
        "}\n"
    ).encode()


def _quote(text: str) -> str:
    """A string of CSS (CSS Syntax Level 3, section 4.3.5): what could end it is written by its number."""
    # `<` as well, so that no file of the site holds markup that somebody put into a name.
    return (
        '"' + "".join(char if char.isprintable() and char not in '"\\<' else f"\\{ord(char):x} " for char in text) + '"'
    )


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
    meter_charts: tuple[str, ...] = ()
    "the readings as SVG, already safe; empty: too few to draw"
    readings: tuple[ReadingRow, ...] = ()
    "oldest first; where there are many, those that matter"
    all_readings: tuple[Link, ...] = ()
    "the pages that have every one, where there are many; else empty"
    keeps_quarters: bool = False
    "whether of entries' readings the last of each quarter are shown; else, where there are many, of each month"
    due: tuple[DueRow, ...] = ()
    "every item, and fasteners to be checked again: overdue, due, unknown, later"
    sheet: Link | None = None
    "the tightening sheet; None: nothing was tightened"
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
    more_faults: Link | None = None
    "`and 1,800 more`, leading to all of them; None: these are all"
    more_temporary: Link | None = None
    "the same of temporary repairs"
    inherited: tuple[InheritedRow, ...] = ()
    "what was done before this log, oldest first"
    coverage: tuple[CoverageRow, ...] = ()
    "how claims are backed, kind by kind; empty: nothing is claimed"
    legend: tuple[Evidence, ...] = ()
    "every level of evidence: what the letters mean, and the columns of the coverage"
    gaps: tuple[EvidenceGap, ...] = ()
    "largest first; oldest first, where amounts are closed"
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
    say = context.words.say
    description = say(
        "Service history of %(machine)s: what was done when, on what evidence, what is due.", machine=context.title
    )
    items = tuple(describe_item(context, by_key[key]) for key in figures.log.settings.service)
    frame = make_frame(context, "service.html", say("Service history"), description, dated=True)
    return ServiceView(
        frame=replace(frame, links=(*frame.links, LINK)),
        machine=context.owner_text(figures.log.settings.machine.name),
        model=say_model(context),
        identity=list_identity(context),
        acquired=tuple(_list_acquired(context)),
        statement=say_statement(context),
        statement_rule=say_rule(context),
        meter=tuple(_list_meter(context)),
        meter_charts=draw_readings(context),
        readings=list_readings(context),
        all_readings=tuple(list_reading_pages(context).values()),
        keeps_quarters=keeps_quarters(context),
        due=list_due(context),
        sheet=next(list_tightening(context), None),
        items=items,
        measures=list_measures(context),
        measured_once=list_measured_once(context),
        faults=list_open_faults(context)[:MOST_OPEN],
        more_faults=say_rest(context, len(list_open_faults(context)), MOST_OPEN, "faults.html#open"),
        temporary=list_temporary(context, context.figures.temporary)[:MOST_OPEN],
        more_temporary=say_rest(context, count_temporary(context), MOST_OPEN, "faults.html#temporary"),
        inherited=tuple(list_inherited(context)),
        coverage=list_coverage(context),
        legend=list_levels(context),
        gaps=list_evidence_gaps(context),
        warnings=tuple(_list_warnings(context)),
        service_gaps=list_service_gaps(items),
        unknowns=list_unknowns(context),
        seal=describe_seal(context),
    )


def _list_warnings(context: PageContext) -> Iterator[str]:
    """Warnings about the record that a buyer sees as well."""
    # Most are slips for the owner to put right; those with a wording bear on how far the record can be relied on.
    for problem in context.figures.problems:
        if problem.wording:
            yield problem.wording.fill(context.words.say, context.words.span)


def _list_acquired(context: PageContext) -> Iterator[Fact]:
    acquired, say = context.figures.log.settings.acquired, context.words.say
    if acquired is None:
        return
    yield Fact(name=say("Acquired"), value=context.words.day(acquired.date))
    if acquired.reading:
        yield Fact(name=_name_meter_at_purchase(context), value=context.reading_at(acquired.field_place("reading")))
    if acquired.condition:
        yield Fact(name=say("Condition at purchase"), value=context.owner_text(acquired.condition))


def _list_meter(context: PageContext) -> Iterator[Fact]:
    meter, words, say = context.figures.meter, context.words, context.words.say
    if meter.latest is None or meter.unit is None:
        return
    latest = meter.latest
    yield Fact(name=say("Latest reading"), value=context.show_reading(latest), note=words.day(latest.date))
    if meter.owned is not None:
        yield Fact(name=say("Since acquired"), value=context.distance(meter.owned))
    use = meter.use
    # With the reason: without a word it would look like a machine that is never used.
    if use.per_day is None:
        note = say_no_forecast(use.readings, use.days, say, words.say_count)
        yield Fact(name=say("Daily use"), value=say("no forecast"), note=note)
    else:
        note = words.say_count(
            "an estimate from %(number)s reading, not counting days laid up",
            "an estimate from %(number)s readings, not counting days laid up",
            use.readings,
        )
        yield Fact(name=say("Daily use"), value=words.measure(round_half_up(use.per_day, 1), meter.unit), note=note)


def _name_meter_at_purchase(context: PageContext) -> str:
    # Hours are not read off an odometer.
    meter, say = context.figures.log.settings.machine.meter, context.words.say
    return say("Hours at purchase") if meter is not None and meter.unit == "h" else say("Odometer at purchase")
