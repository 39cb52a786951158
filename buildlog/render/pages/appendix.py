"""What makes the service history an appendix for a buyer: the statement about the meter, gaps, unknowns, the seal.

The foot of its printed sheets, with machine, day and seal, is made here for the record page as well."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from buildlog.compute.meter.meter import is_odometer
from buildlog.frozen import frozen
from buildlog.render.language import remove_marks
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import HeadLink
from buildlog.render.pages.front import list_identity
from buildlog.render.pages.meter_readings import say_step
from buildlog.render.pieces import Evidence, Link, State, When


@frozen
class DoneRow:
    """One time a service item was done, or a stretch in which it was not."""

    when: When | None
    "None for a gap"
    gap: str = ""
    "the gap in words, in place of everything else: `31 months and 14,200 mi without it; the interval is …`"
    reading: str = ""
    "of the meter then: `87,412 mi`; empty: not noted"
    who: str = ""
    "`the owner`, a workshop's name, `not known`"
    parts: tuple[Link, ...] = ()
    "by name and number"
    note: str = ""
    "fluid, quantity, findings"
    timing: str = ""
    "`12 days late`, `600 mi early`, `first on record`"
    late: bool = False
    "whether either limit was passed before it was done"
    evidence: Evidence | None = None
    "None for a gap"
    entry: Link | None = None
    "None for what an earlier owner hands down"


@frozen
class ItemView:
    """One service item and its history."""

    key: str
    "its anchor is `item-KEY`"
    name: str
    "`Engine oil and filter`"
    interval: str
    "`every 24 months or 12,000 mi, whichever comes first`"
    state: State
    "chooses the mark"
    state_text: str
    "`overdue by 41 days`"
    covers: tuple[str, ...] = ()
    "components to look at at the same time"
    rows: tuple[DoneRow, ...] = ()
    "oldest first; empty: never done on record; where there are many, the latest and every gap"
    pages: tuple[Link, ...] = ()
    "the pages that have every time, where there are many; else empty"


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
    "actual": "to the best of the owner’s knowledge the odometer reading reflects the actual mileage.",
    "exceeds mechanical limits": "to the best of the owner’s knowledge the odometer reading reflects the amount of "
    "mileage in excess of its mechanical limits.",
    "not actual": "the odometer reading is NOT the actual mileage. WARNING – ODOMETER DISCREPANCY.",
    "exempt": "no statement about the odometer is required for this machine.",
}
"The certifications of 49 CFR 580.5(e), as appendix B to part 580 words them; exemption by 49 CFR 580.17."
# The disclosure itself is a form that both sides sign; only its wording is used here.
RULE = "The categories are those of 49 CFR 580.5. This page is not a disclosure under that rule."

PLAIN_STATEMENTS = {
    "actual": "as far as the owner knows, the meter shows {whole}.",
    "exceeds mechanical limits": "the meter has gone round past its last digit, so it shows less than {whole}.",
    "not actual": "the meter does not show {whole}.",
    "exempt": "no statement about the meter is required for this machine.",
}
"The same for whatever is no road vehicle; our own words."


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
    if is_odometer(machine):
        return f"The owner states: {STATEMENTS[meter.statement]}"
    whole = "every hour the machine has run" if meter.unit == "h" else "the whole distance the machine has covered"
    return " ".join(
        [f"The owner states: {PLAIN_STATEMENTS[meter.statement].format(whole=whole)}", *_list_known(context)]
    )


def say_rule(context: PageContext) -> str:
    """The law whose categories the statement uses; nothing where it uses none."""
    statutory = context.figures.meter.statement and is_odometer(context.figures.log.settings.machine)
    return RULE if statutory else ""


def _list_known(context: PageContext) -> Iterator[str]:
    """What the record knows of a meter that shows something else than the true total, a sentence each."""
    meter = context.figures.meter
    # A meter that shows the true total needs no explaining.
    if not meter.offset or meter.latest is None:
        return
    yield from (say_step(context, step) for step in meter.steps)
    yield f"By this record it is {context.distance(meter.latest.total)} in all."


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
    figures = context.figures
    # Chosen by hand: what buyers ask about first. A log cannot list everything that it does not hold.
    acquired = figures.log.settings.acquired
    if acquired:
        day = context.words.day(acquired.date)
        yield f"What was done before {day}, apart from what is under “Before this log”."
    if not list_identity(context):
        yield "Which machine this is: no identification number is shown."
    # Without any reading the next sentence says more.
    if figures.meter.latest and not figures.meter.statement:
        yield "Whether the meter shows all of its use: the owner has made no statement about it."
    if not figures.meter.readings:
        yield "How far or how long it has run: no readings have been noted."
    never = [context.owner_text(item.name) for item in figures.service.items if not item.last]
    yield from (f"{name}: when it was last done, if ever." for name in never)


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
PATH = "theme/seal.css"
LINK = HeadLink(rel="stylesheet", href=PATH)
LONGEST = 60
"Characters of the machine's name that fit beside the rest."


def write_seal_sheet(context: PageContext) -> bytes:
    """The style sheet."""
    # On every sheet, as sheets get separated.
    seal = describe_seal(context)
    sealed = remove_marks(f"seal {seal.number} of {seal.when.text}: {seal.code}" if seal else "not sealed")
    name = context.figures.log.settings.machine.name[:LONGEST]
    as_of = remove_marks(context.words.day(context.figures.as_of))
    return (
        "@page {\n"
        f"  @bottom-left {{\n    content: {_quote(f'{name}, as of {as_of}')};\n  }}\n\n"
        f"  @bottom-center {{\n    content: {_quote(sealed)};\n  }}\n"
        "}\n"
    ).encode()


def _quote(text: str) -> str:
    """A string of CSS (CSS Syntax Level 3, section 4.3.5): what could end it is written by its number."""
    # `<` as well, so that no file of the site holds markup that somebody put into a name.
    return (
        '"' + "".join(char if char.isprintable() and char not in '"\\<' else f"\\{ord(char):x} " for char in text) + '"'
    )
